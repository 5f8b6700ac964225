"""The family of cards: their sizes, four to a sheet, backs, office sheets, large type, batches with list and slips."""

import shutil
import subprocess
from dataclasses import replace
from datetime import timedelta
from io import BytesIO
from xml.etree import ElementTree

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from pypdf import PdfReader

from berths import cardforms
from berths.cards import back as backs
from berths.cards import layout as layouts
from berths.cards import pack, pdf, press, sheets
from berths.cards.card import CAUTIONS
from berths.cards.counting import A6, FOUR_BY_SIX, QUARTER_A4, QUARTER_LETTER
from berths.cards.office import large, office
from berths.models import Card, CardBatch
from berths.selectors.cards import arrivals, still_out, to_destroy
from berths.services import stays as stay_services
from berths.services.cards import How, destroy, print_batch, print_card
from berths.views import cards as card_views
from tests import cast as people
from tests.berths import cards

MM = 72 / 25.4
STOCKS = {"A6": A6, "4x6": FOUR_BY_SIX, "quarter A4": QUARTER_A4, "quarter Letter": QUARTER_LETTER}


def pages_of(data):
    return PdfReader(BytesIO(data)).pages


def words_of(page):
    return " ".join(page.extract_text().split())


def size_of(page):
    return float(page.mediabox.width) / MM, float(page.mediabox.height) / MM


@pytest.fixture
def boxes(tmp_path):
    """`boxes(data)`: of every page its words with their box from the upper left: x, y, x, y. [mm]"""
    if not shutil.which("pdftotext"):
        pytest.skip("pdftotext comes with poppler-utils")

    def read(data):
        (tmp_path / "cards.pdf").write_bytes(data)
        subprocess.run(["pdftotext", "-bbox", tmp_path / "cards.pdf", tmp_path / "cards.html"], check=True)
        tag = "{http://www.w3.org/1999/xhtml}"
        pages = ElementTree.parse(tmp_path / "cards.html").iter(f"{tag}page")
        return [
            [
                (w.text, *(float(w.get(k)) / MM for k in ("xMin", "yMin", "xMax", "yMax")))
                for w in page.iter(f"{tag}word")
            ]
            for page in pages
        ]

    return read


# --- one source, every stock ---


@pytest.mark.parametrize("stock", STOCKS)
@pytest.mark.parametrize("name", cards.EVERY)
def test_every_card_is_one_page_of_every_stock_with_its_first_five_rows(name, stock):
    card, stock = cards.EVERY[name](), STOCKS[stock]
    page, *more = pages_of(pdf.pdf(card, stock))
    assert not more and size_of(page) == pytest.approx((stock.width, stock.height), abs=0.05)
    assert len(layouts.lay_out(card, stock)[0].rows) >= min(5, len(card.rows))
    text = words_of(page)
    for words in (card.facts.berth, card.facts.boat[:20], card.bar, card.ordinal):
        assert words in text
    for row in card.rows[:5]:
        assert row.length in text


def test_a_card_of_four_by_six_inches_measures_that():
    assert (FOUR_BY_SIX.width / 25.4, FOUR_BY_SIX.height / 25.4) == pytest.approx((4, 6))


@pytest.mark.skipif(not shutil.which("pdffonts"), reason="pdffonts comes with poppler-utils")
def test_every_face_is_embedded_in_every_form(tmp_path):
    card = cards.slip_card()
    pages = [pdf.front(card), backs.back(card), *office(card, sheets.A4), large(card, sheets.LETTER)]
    pages += pack.listing([card], title="Arrivals", printed="17:55", stock=A6)
    pages += pack.slips([pack.Slip("B7/2", "Tin", "moved")], printed="17:55", stock=A6)
    pages += sheets.lay([(pdf.front(card, QUARTER_A4), None)], sheets.A4)
    path = tmp_path / "all.pdf"
    path.write_bytes(press.bind(pages))
    told = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True).stdout
    rows = told.splitlines()[2:]
    assert rows and all("+Card" in row and row.split()[-5] == "yes" for row in rows), told


# --- four to a sheet ---


@pytest.mark.parametrize("paper", [sheets.A4, sheets.LETTER], ids=lambda paper: paper.key)
def test_four_cards_lie_apart_on_the_sheet_and_no_mark_touches_one(paper):
    w, h = paper.stock.width, paper.stock.height
    spots = sheets.cells(paper)
    assert len(spots) == 4
    for x, y in spots:
        assert x >= 0 and y >= 0 and x + w <= paper.width + 1e-9 and y + h <= paper.height + 1e-9
        for (x0, y0), (x1, y1) in sheets.marks(paper):
            assert max(x0, x1) < x or min(x0, x1) > x + w or max(y0, y1) < y or min(y0, y1) > y + h
    assert len({round(x, 1) for x, _ in spots}) == len({round(y, 1) for _, y in spots}) == 2


def numbered(count):
    return [replace(cards.slip_card(), facts=cards.facts(berth=f"N{n}")) for n in range(1, count + 1)]


@pytest.mark.parametrize("paper", [sheets.A4, sheets.LETTER], ids=lambda paper: paper.key)
def test_the_cut_piles_laid_on_each_other_are_in_order(paper, boxes):
    """Six cards on two sheets: upper left 1, 2; upper right 3, 4; lower left 5, 6. All words inside their cell."""
    pieces = [(pdf.front(card, paper.stock), None) for card in numbered(6)]
    found = boxes(press.bind(sheets.lay(pieces, paper)))
    assert len(found) == 2
    piles = {}
    for words in found:
        for n, (x, y) in enumerate(sheets.cells(paper)):
            inside = [
                w
                for w in words
                if x <= w[1] and w[3] <= x + paper.stock.width and y <= w[2] and w[4] <= y + 140
            ]
            codes = [w[0] for w in inside if w[0] in {f"N{i}" for i in range(1, 7)}]
            piles.setdefault(n, []).extend(codes)
    assert [code for n in range(4) for code in piles[n]] == [f"N{i}" for i in range(1, 7)]


def test_no_word_of_four_cards_comes_nearer_to_a_cut_than_the_safe_edge(boxes):
    paper = sheets.A4
    pieces = [(pdf.front(card, paper.stock), None) for card in numbered(4)]
    (words,) = boxes(press.bind(sheets.lay(pieces, paper)))
    for word, x0, _, x1, _ in words:
        assert not (paper.width / 2 - 4.5 < x1 and x0 < paper.width / 2 + 4.5), word


def test_backs_lie_behind_their_fronts_when_the_sheet_is_turned_over_its_long_edge(boxes):
    paper = sheets.A4
    pieces = [(pdf.front(card, paper.stock), backs.back(card, paper.stock)) for card in numbered(2)]
    front, back = boxes(press.bind(sheets.lay(pieces, paper)))
    at = {word: x for word, x, *_ in front if word in ("N1", "N2")}
    behind = {word: x for word, x, *_ in back if word in ("N1", "N2")}
    assert (at["N1"] < 105 < behind["N1"] and at["N2"] < 105 < behind["N2"]) or at["N2"] > 105 > behind["N2"]


def test_single_cards_with_backs_come_front_and_back_in_turn_and_the_list_has_an_empty_back():
    card = cards.slip_card()
    pieces = [(page, None) for page in pack.listing([card], title="Arrivals", printed="17:55", stock=A6)]
    pieces.append((pdf.front(card), backs.back(card)))
    texts = [words_of(page) for page in pages_of(press.bind(sheets.lay(pieces, sheets.PAPERS["a6"])))]
    assert len(texts) == 4 and texts[1] == ""
    assert "Arrivals" in texts[0] and "Look again" in texts[2] and "Say it, and hear it back" in texts[3]


# --- the back ---


@pytest.mark.parametrize("stock", STOCKS)
@pytest.mark.parametrize("name", cards.EVERY)
def test_the_back_is_one_page_with_what_is_read_back_and_boxes_to_fill_in(name, stock):
    card, stock = cards.EVERY[name](), STOCKS[stock]
    (page,) = pages_of(press.bind([backs.back(card, stock)]))
    assert size_of(page) == pytest.approx((stock.width, stock.height), abs=0.05)
    text = words_of(page)
    for words in (*backs.BOXES, "old card, destroy it", card.bar, *CAUTIONS):
        assert words in text
    for line in card.lines[:5]:
        assert line.read_back in text


def test_lines_come_off_slack_first_and_the_one_that_works_hardest_last():
    card = cards.slip_card()
    assert backs.letting_go(card).startswith("6, 5, 4, 3, 1, 2 (the last on first; slack not known)")
    verdict = card.verdict.model_copy(
        update={
            "levels": [
                {
                    "level": z,
                    "moves": 1.0,
                    "lines": [{"id": f"L{n}", "slack_calm": 0.1 * n, "tension_max": 0} for n in range(1, 7)],
                }
                for z in (0.0, 2.0)
            ]
        }
    )
    verdict = type(verdict).model_validate(verdict.model_dump(by_alias=True))
    told = backs.letting_go(replace(card, verdict=verdict))
    assert told.startswith("6, 5, 4, 3, 1, 2 (slack lines first")  # line 2 works hardest
    assert backs.letting_go(cards.unworked_card()) == ""


# --- for the office, and in large type ---


@pytest.mark.parametrize("paper", [sheets.A4, sheets.LETTER], ids=lambda paper: paper.key)
def test_the_office_sheet_has_all_lines_and_every_flag_in_full(paper):
    card = cards.crowded_card()
    rows = [line.model_copy(update={"cut_length": 10.0 + line.order}) for line in card.verdict.lines]
    card = replace(card, verdict=card.verdict.model_copy(update={"lines": rows}))
    pages = pages_of(press.bind(office(card, paper)))
    assert size_of(pages[0]) == pytest.approx((paper.width, paper.height), abs=0.05)
    text = " ".join(words_of(page) for page in pages)
    for line in card.lines:
        assert line.read_back in text
        assert card.reader.length(10.0 + line.order, "cut") in text
    for flag in card.facts.flags:
        assert flag.do[1:] in text and flag.message[1:] in text
    assert card.bar in text and "old card, destroy it" in text and card.levels in text


@pytest.mark.parametrize("name", cards.EVERY)
def test_large_type_is_one_page_with_the_first_line_in_letters_read_from_a_step_away(name, boxes):
    card = cards.EVERY[name]()
    data = press.bind([large(card, sheets.LETTER)])
    (words,) = boxes(data)
    text = words_of(pages_of(data)[0])
    assert card.bar in text and card.facts.boat in text and "old card, destroy it" in text
    tall = {}
    for word, _, y0, _, y1 in words:
        tall[word] = max(tall.get(word, 0), y1 - y0)
    assert tall[card.facts.berth] > 30
    if card.first:
        assert tall["From"] > 10 and card.first.length in text
    assert not card.rows or card.rows[-1].read_back not in text


# --- batches ---


@pytest.fixture
def harbour(db):
    people.fix_clock(people.NOON)
    berths = [people.make_berth(kind="fixed", code=code) for code in ("C9", "C8", "C7")]
    for order, berth in enumerate(berths, start=100):
        berth.walking_order = order
        berth.save()
    names = ("Plum Halyard", "Tin Whistle", "Slow Biscuit")
    return [
        people.make_stay(
            vessel=people.make_vessel(name=name), berth=berth, arrive=people.NOON + timedelta(hours=n + 1)
        )
        for n, (name, berth) in enumerate(zip(names, berths, strict=True))
    ]


def printed(stays, by, how=None, **more):
    words = more.pop("words", "Arrivals Thu 14 Oct")
    return print_batch(
        stays=stays,
        by=by,
        address_of=lambda stay: f"https://haven.example/stays/{stay.pk}/card/",
        how=how or How(),
        words=words,
        **more,
    )


def test_a_batch_is_the_list_first_then_the_cards_in_walking_order(harbour, cast):
    batch, refused = printed(harbour, cast.hand)
    texts = [words_of(page) for page in pages_of(bytes(batch.pdf))]
    assert not refused and len(texts) == 4
    assert texts[0].startswith("Arrivals Thu 14 Oct 3 cards, in walking order")
    assert texts[0].index("C9") < texts[0].index("C8") < texts[0].index("C7")
    assert "due 13:00" in texts[0] and "STARBOARD side to" in texts[0]
    for code, text in zip(("C9", "C8", "C7"), texts[1:], strict=True):
        assert code in text and "1st card for this stay" in text


def test_each_card_of_a_batch_is_kept_as_it_was_printed(harbour, cast):
    first = print_card(stay=harbour[0], by=cast.hand, address="https://haven.example/")
    batch, _ = printed(harbour, cast.hand, How("card", "a4", back=True))
    kept = list(Card.objects.filter(batch=batch).order_by("stay__berth__walking_order"))
    assert [(card.berth_code, card.number) for card in kept] == [("C9", 2), ("C8", 1), ("C7", 1)]
    front, back = pages_of(bytes(kept[0].pdf))
    assert "2nd card for this stay" in words_of(front) and "C9" in words_of(back)
    first.refresh_from_db()
    assert first.superseded_why == "card 2 was printed"
    assert batch.paper == "A4, four cards to cut, back side too"


def test_office_sheets_and_large_type_take_whole_sheets(harbour, cast):
    for form, paper, width in (("office", "a6", 210.0), ("large", "4x6", 215.9)):
        batch, _ = printed(harbour[:1], cast.hand, How(form, paper))
        assert size_of(pages_of(bytes(batch.pdf))[-1])[0] == pytest.approx(width, abs=0.05)


def test_a_moved_and_a_cancelled_stay_get_a_slip_once(harbour, cast):
    printed(harbour, cast.hand)
    people.fix_clock(people.NOON + timedelta(minutes=10))
    stay_services.move_stay(
        stay=harbour[0], by=cast.harbourmaster, berth=people.make_berth(kind="fixed", code="C5")
    )
    stay_services.cancel_stay(stay=harbour[1], by=cast.harbourmaster, reason="went elsewhere")
    old = to_destroy(cast.hand)
    assert sorted(map(str, old)) == ["C8/1", "C9/1"]  # as it stands on the paper, not where she lies now
    harbour[0].refresh_from_db()
    batch, _ = printed([harbour[0]], cast.hand, old=old)
    text = " ".join(words_of(page) for page in pages_of(bytes(batch.pdf)))
    assert "Destroy card C9/1" in text and "Destroy card C8/1" in text and "moved; now at C5" in text
    people.fix_clock(people.NOON + timedelta(minutes=20))
    assert to_destroy(cast.hand) == []


def test_a_card_that_was_only_printed_again_needs_no_slip(harbour, cast):
    printed(harbour, cast.hand)
    people.fix_clock(people.NOON + timedelta(minutes=10))
    print_card(stay=harbour[0], by=cast.hand, address="https://haven.example/")
    assert to_destroy(cast.hand) == []


def test_an_empty_batch_is_refused_with_what_to_do(cast, db):
    with pytest.raises(ValidationError, match="Choose another day or pier"):
        printed([], cast.hand)


def test_a_number_that_went_to_somebody_else_makes_the_batch_anew(harbour, cast, monkeypatch):
    real, other = pdf.front, []

    def slow(card, stock):
        if not other:
            other.append(True)
            print_card(stay=harbour[0], by=cast.harbourmaster, address="https://haven.example/")
        return real(card, stock)

    monkeypatch.setattr(pdf, "front", slow)
    batch, _ = printed(harbour, cast.hand)
    assert CardBatch.objects.count() == 1
    assert sorted(Card.objects.filter(batch=batch).values_list("number", flat=True)) == [1, 1, 2]


def test_one_card_that_cannot_be_made_is_named_and_the_others_are_printed(harbour, cast, monkeypatch):
    real = pdf.front

    def narrow(card, stock):
        if card.facts.boat == "Tin Whistle":
            raise pdf.DoesNotFit("the card does not fit on one page")
        return real(card, stock)

    monkeypatch.setattr(pdf, "front", narrow)
    batch, refused = printed(harbour, cast.hand)
    assert len(refused) == 1 and "does not fit" in refused[0]
    assert batch.cards.count() == 2


def test_a_batch_and_its_cards_are_kept_by_the_database(harbour, cast):
    batch, _ = printed(harbour, cast.hand)
    batch.words = "something else"
    with pytest.raises(Exception, match="kept as written"):
        batch.save()


# --- the page ---


def test_arrivals_of_today_include_the_overdue_and_other_days_only_their_own(harbour, cast):
    today = people.NOON.date()
    assert [s.berth.code for s in arrivals(cast.hand, today)] == ["C9", "C8", "C7"]
    assert not arrivals(cast.hand, today + timedelta(days=1))
    people.fix_clock(people.NOON + timedelta(days=1))
    assert len(arrivals(cast.hand, today + timedelta(days=1))) == 3  # nobody came: they are still expected


def test_the_page_prints_without_a_script_and_leads_to_the_file(client, cast, harbour):
    client.force_login(cast.hand)
    html = client.get(reverse("berths:cards")).content.decode()
    assert "Plum Halyard" in html and "Print cards" in html
    given = {"what": "arrivals", "day": "2027-10-14", "form": "card", "paper": "letter", "back": "on"}
    given["day"] = people.NOON.date().isoformat()
    response = client.post(reverse("berths:cards"), given, follow=True)
    assert response["Content-Type"] == "application/pdf"
    assert size_of(pages_of(response.content)[0]) == pytest.approx((215.9, 279.4), abs=0.05)
    assert "Letter, four cards to cut, back side too" in client.get(reverse("berths:cards")).content.decode()


def test_what_is_missing_is_said_and_nothing_typed_is_lost(client, cast, harbour):
    client.force_login(cast.hand)
    given = {"what": "pier", "form": "large", "paper": "a4"}
    response = client.post(reverse("berths:cards"), given)
    html = response.content.decode()
    assert response.status_code == 422 and "Choose the pier" in html
    assert 'value="large" required id="id_form_2" checked' in html or "checked" in html
    response = client.post(reverse("berths:cards"), {**given, "what": "arrivals", "day": "someday"})
    assert "Write the day as 2027-10-15." in response.content.decode()


def test_a_pier_and_the_harbour_are_printed_with_all_who_lie_there(client, cast, harbour):
    client.force_login(cast.hand)
    pier = harbour[0].berth.pier
    for given in ({"what": "pier", "pier": pier.pk}, {"what": "harbour"}):
        client.post(reverse("berths:cards"), {**given, "form": "card", "paper": "a6"})
    assert CardBatch.objects.count() == 2
    assert CardBatch.objects.first().cards.count() == 3


def test_a_holder_prints_no_batch_and_sees_none(client, cast, harbour):
    batch, _ = printed(harbour, cast.hand)
    client.force_login(cast.holder)
    assert client.get(reverse("berths:cards")).status_code == 403
    assert client.get(reverse("berths:cards-batch", args=[batch.pk])).status_code == 403


def test_the_page_takes_a_fixed_number_of_queries(client, cast, harbour, django_assert_max_num_queries):
    printed(harbour, cast.hand)
    client.force_login(cast.hand)
    with django_assert_max_num_queries(14):
        client.get(reverse("berths:cards"))


def test_one_card_is_printed_in_the_form_that_was_chosen(client, cast, harbour):
    client.force_login(cast.hand)
    url = reverse("berths:card-pdf", args=[harbour[0].pk])
    response = client.post(url, {"on": "card 4x6", "back": "on"}, follow=True)
    assert [size_of(page)[0] for page in pages_of(response.content)] == pytest.approx([101.6] * 2, abs=0.05)
    response = client.post(url, {"on": "large letter"}, follow=True)
    assert size_of(pages_of(response.content)[0])[0] == pytest.approx(215.9, abs=0.05)


# --- old cards ---


@pytest.fixture
def two_old(harbour, cast):
    """A moved boat's card and a cancelled one's."""
    printed(harbour, cast.hand)
    people.fix_clock(people.NOON + timedelta(minutes=10))
    there = people.make_berth(kind="fixed", code="C5")
    stay_services.move_stay(stay=harbour[0], by=cast.harbourmaster, berth=there)
    stay_services.cancel_stay(stay=harbour[1], by=cast.harbourmaster, reason="went elsewhere")
    return Card.objects.filter(superseded__isnull=False).order_by("berth_code")


def test_old_cards_stay_on_the_list_after_a_batch_until_somebody_tells_that_they_are_destroyed(cast, two_old):
    people.fix_clock(people.NOON + timedelta(minutes=20))
    printed([], cast.hand, old=to_destroy(cast.hand))
    assert to_destroy(cast.hand) == []
    assert sorted(map(str, still_out(cast.hand))) == ["C8/1", "C9/1"]
    destroy(card=two_old[0], by=cast.hand)
    assert [str(card) for card in still_out(cast.hand)] == ["C9/1"]


def test_told_twice_keeps_the_first_time(cast, two_old):
    first = destroy(card=two_old[0], by=cast.hand).destroyed
    people.fix_clock(people.NOON + timedelta(hours=2))
    assert destroy(card=two_old[0], by=cast.hand).destroyed == first


def test_the_card_that_counts_is_not_to_be_destroyed(client, cast, harbour):
    printed(harbour, cast.hand)
    card = Card.objects.first()
    client.force_login(cast.hand)
    answer = client.post(reverse("berths:card-destroyed", args=[card.pk]), follow=True)
    assert "is the one that counts" in answer.content.decode()
    card.refresh_from_db()
    assert card.destroyed is None


def test_the_day_lists_cards_still_to_be_destroyed_and_the_page_of_cards_takes_the_word(
    client, cast, two_old
):
    client.force_login(cast.hand)
    day = client.get("/").content.decode()
    assert "C8/1" in day and "C9/1" in day
    answer = client.post(reverse("berths:card-destroyed", args=[two_old[0].pk]), follow=True)
    assert "kept, that it is destroyed" in answer.content.decode()
    day = client.get("/").content.decode()
    assert "C8/1" not in day and "C9/1" in day


def test_the_harbour_prints_in_pieces_whose_size_and_time_are_told(client, cast, harbour, monkeypatch):
    monkeypatch.setattr(cardforms, "AT_ONCE_MOST", 2)
    monkeypatch.setattr(card_views, "AT_ONCE_MOST", 2)
    client.force_login(cast.hand)
    html = client.get(reverse("berths:cards")).content.decode()
    assert "part 1 of 2: 2 cards, about 1 s" in html and "part 2 of 2: 1 card, about 1 s" in html
    for what in ("harbour", "harbour 2"):
        client.post(reverse("berths:cards"), {"what": what, "form": "card", "paper": "a6"})
    batches = list(CardBatch.objects.order_by("id"))
    assert [batch.cards.count() for batch in batches] == [2, 1]
    assert batches[1].words == "The harbour, C7 to C7"
