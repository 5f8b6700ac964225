"""The tie-up card: its words, its one page of paper, its page for the phone, and the printing of it."""

import logging
import shutil
import subprocess
from dataclasses import replace
from datetime import date, timedelta
from io import BytesIO
from xml.etree import ElementTree

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from pypdf import PdfReader

from berths.cards import layout as layouts
from berths.cards import pdf, press
from berths.cards.card import CAUTIONS, ONE_CAUTION, compose
from berths.cards.facts import Turn, _look_again, card_of, lies, reader_of
from berths.cards.words import Reader, bow_words, deck_words, say_lines, where_words
from berths.models import Card, Forecast, Recheck
from berths.services.cards import print_card
from berths.tieup import scenario as wanted
from berths.tieup.verdict import Fenders
from tests import cast as people
from tests.berths import cards, tieups
from vessels.models import Owner

MM = 72 / 25.4
ADDRESS = "https://haven.example/stays/1/card/"


def pages_of(data):
    return PdfReader(BytesIO(data)).pages


def text_of(data):
    return " ".join(" ".join(page.extract_text() for page in pages_of(data)).split())


@pytest.fixture(params=cards.EVERY)
def any_card(request):
    return cards.EVERY[request.param]()


@pytest.fixture
def no_printer_warning(caplog):
    """WeasyPrint only logs what it leaves out: a missing letter, a rule it does not know, an address."""
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        yield
    assert not [r.getMessage() for r in caplog.records if r.name.startswith("weasyprint")]


# --- words ---


def said(scenario=None, answer=None, reader=None, **words):
    return say_lines(
        scenario or tieups.slip(), answer or tieups.slip_answer(), reader or cards.READER, **words
    )


def test_no_spring_is_ever_said_by_a_bare_name():
    for line in said():
        assert "spring" not in line.sentence and "spring" not in line.read_back and "spring" not in line.row
        assert line.long_sentence.startswith(
            ("Spring: from her", "Stern line: from her", "Bow line: from her")
        )


def test_a_line_is_said_by_where_it_starts_runs_and_ends_and_what_it_stops():
    spring, stern, *_ = said(marks={"WH-044": "one band"})
    assert spring.sentence == (
        "From the starboard midships cleat, runs FORWARD to pile P4, 7.20 m (WH-044, one band): stops her "
        "going back."
    )
    assert stern.long_sentence == (
        "Stern line: from her port stern cleat, runs AFT, crossing, to jetty cleat D2, behind her starboard "
        "quarter. 3.80 m. Stops her going ahead."
    )
    assert stern.read_back == "“Port stern cleat, running aft, crossing, to jetty cleat D2.”"


def test_words_and_units_are_the_readers():
    american = said(reader=Reader(units="ft", words="us"))
    assert american[0].to == "piling P4" and american[1].to == "dock cleat D2"
    assert american[0].length == "23 ft 7 in"  # 7.20 m is 23 ft 7.46 in
    assert said(tieups.alongside("floating"), tieups.alongside_answer())[0].to == "pontoon cleat C1"
    assert said(tieups.alongside(), tieups.alongside_answer(), kind="quay")[0].to == "quay cleat C1"


def test_two_fittings_in_one_place_are_told_apart():
    fittings = [
        {"id": name, "x": x, "y": 1.4, "z": 1.0}
        for name, x in (("a", 4.0), ("b", 5.5), ("c", 7.0), ("d", 10.5))
    ]
    boat = tieups.slip(boat=tieups.boat(fittings=fittings)).boat
    assert [deck_words(boat, name) for name in "abcd"] == [
        "port midships cleat, 1st from aft",
        "port midships cleat, 2nd from aft",
        "port midships cleat, 3rd from aft",
        "port bow cleat",
    ]


def test_where_a_fastening_is_as_seen_from_her():
    """Stern-in her port side is at y > 0; turned round, bow-in, the same cleat is off her bow on the other side."""
    stern_in = tieups.slip()
    bow_in = tieups.slip(boat=tieups.boat(heading_deg=180))
    assert where_words(stern_in, "D1") == "behind her port quarter"
    assert where_words(bow_in, "D1") == "off her starboard bow"
    assert where_words(stern_in, "P2") == "beside her starboard side, amidships"


def test_the_harbours_own_words_for_a_place_are_used_when_they_say_more_than_its_name():
    told = {line.to: line.where for line in said(said={"P4": "pile 4", "D2": "the cleat by the ladder"})}
    assert told["jetty cleat D2"] == "the cleat by the ladder"
    assert told["pile P4"] == "off her starboard bow"


@pytest.mark.parametrize(
    ("kind", "heading", "words"),
    [
        ("slip", 0, "BOW out, away from you"),
        ("slip", 180, "BOW in, toward you"),
        ("fixed", 0, "BOW to the right"),
        ("fixed", 180, "BOW to the left"),
    ],
)
def test_where_her_bow_points_for_one_who_stands_on_the_dock(kind, heading, words):
    make = tieups.slip if kind == "slip" else tieups.alongside
    assert bow_words(make(boat=tieups.boat(heading_deg=heading)))[0] == words


def test_which_side_lies_at_the_dock_follows_from_how_she_lies():
    """Alongside the water is at y > 0, so with her bow to the right her starboard side is at the face."""
    assert lies(tieups.alongside()) == "starboard"
    assert lies(tieups.alongside(boat=tieups.boat(y=1.95, heading_deg=180))) == "port"
    assert lies(tieups.slip()) == "stern"
    assert lies(tieups.slip(boat=tieups.boat(heading_deg=180))) == "bow"


def test_times_carry_their_day_when_it_is_not_today_and_are_told_to_five_minutes():
    reader, today = cards.READER, date(2027, 10, 14)
    low = tieups.NOON + timedelta(hours=12, minutes=38)
    assert reader.time(low, today=today, to=5) == "Fri 05:40"
    assert reader.time(tieups.NOON, today=today) == "17:00"
    midnight = tieups.NOON + timedelta(hours=6, minutes=58)  # 23:58 is nearer to midnight, and then to Friday
    assert reader.time(midnight, today=today, to=5) == "Fri 00:00"
    assert Reader(clock="12").time(tieups.NOON, today=today) == "4:00 p.m."


# --- what the card says ---


def test_the_answer_that_is_not_holds_stands_across_the_head():
    stop = cards.flag("stop", "touches", level=0.41)
    assert cards.slip_card().bar == ""
    assert cards.slip_card(flags=(stop,)).bar == "DOES NOT HOLD at low water: see A"
    assert cards.slip_card(flags=(stop, cards.flag("stop", "rides over", level=2.9))).bar == (
        "DOES NOT HOLD: see A and B"
    )
    assert cards.holed_card().bar == "NOT KNOWN: depth, surge"
    assert cards.unworked_card().bar == "NOT WORKED OUT"
    assert cards.slip_card(stale="her draft changed").bar == "OUT OF DATE: work it out again"
    assert (
        cards.slip_card(holds_until=cards.NOW - timedelta(hours=1)).bar == "OUT OF DATE: it held until 16:55"
    )


def test_what_would_be_a_mere_note_is_no_answer_across_the_head():
    unmeasured = cards.flag("not_known", "never measured here", code="length_differs")
    unmeasured.minor = True
    card = cards.slip_card(flags=(unmeasured,))
    assert card.bar == "" and card.unknown == ()


def test_a_verdict_that_does_not_hold_says_so_even_without_a_flag():
    answer = tieups.answer(tieups.slip_lines(), answer="does_not_hold")
    assert compose(cards.facts(), tieups.slip(), answer, cards.READER).bar == "DOES NOT HOLD"
    answer = tieups.answer(tieups.slip_lines(), answer="not_known")
    assert compose(cards.facts(), tieups.slip(), answer, cards.READER).bar == "NOT KNOWN"


def test_a_card_tells_on_which_side_of_which_level_she_hangs_or_is_held_down():
    told = "above 3.00 m from Fri 11:40 she is held down while the water rises over her deck"
    held = cards.flag("stop", f"{told}: 9.0 kN down at 3.08 m (line 2)", code="hangs_her", level=3.0)
    (warning,) = cards.slip_card(flags=(held,)).warnings
    assert warning.sentence == f"A{told[1:]}."


def test_at_most_three_warnings_and_the_rest_is_counted():
    card = cards.crowded_card()
    assert [(w.letter, w.word) for w in card.warnings] == [("A", "STOP"), ("B", "STOP"), ("C", "FIX")]
    assert card.more == ("1 fix", "2 notes")
    assert card.unknown == ("strength of D1", "strength of D2", "surge")


def test_warnings_name_lines_by_their_number_on_the_card():
    _, b, c = cards.crowded_card().warnings
    assert b.sentence == "Line 1 is retired: known bad rope holds a boat."
    assert c.sentence.startswith("Line 2, 3.80 m, comes bar-tight")


def test_no_tension_stands_on_a_card():
    flags = (
        cards.flag("stop", "line L2 (stern port to D2) may part above 32 kn: 12.3 kN where 8.0 kN may be used",
                   code="line_weak", place="L2", do="thicker"),
        cards.flag("stop", "D2 takes 19.1 kN (low); 8 kN of its 12 kN may be used", code="fastening_out", place="D2"),
        cards.flag("stop", "below 0.9 m she hangs: 4.1 kN up", code="hangs_her", level=0.9, do="ease 4 kN"),
    )  # fmt: skip
    card = cards.slip_card(flags=flags)
    assert [w.sentence for w in card.warnings] == [
        "Line 2 may part.",
        "D2 may pull out.",
        "Below 0.9 m she hangs.",
    ]
    assert "kN" not in text_of(pdf.pdf(card))


def test_what_is_not_known_is_said_where_the_number_would_stand():
    text = text_of(pdf.pdf(cards.holed_card()))
    for words in ("side to: not known", "Fenders: not known", "Not known: depth, surge", "water not known"):
        assert words.replace(" ", "") in text.replace(" ", "")
    assert text.count("not known") >= 8 and text.count("not set") == 2
    assert "m under" not in text


def test_fenders_that_are_asked_for_stand_where_hers_would():
    """Hers are not recorded: how many, how thick, how far from rail and water, and the board."""
    wanted = Fenders(number=4, diameter=0.21, low=0.1, high=0.7, below_rail=0.4, board=True, side="starboard")
    scenario = tieups.alongside("floating", boat=tieups.boat(fenders=None))
    answer = tieups.alongside_answer().model_copy(update={"fenders": wanted})
    card = compose(cards.facts(), scenario, answer, cards.READER)
    told = "4 of 0.21 m; tops 0.40 m under the rail, feet 0.10 m above water; board across two, outside them"
    assert card.fenders == told


def test_gear_nobody_recorded_is_to_be_looked_for():
    """The lines may be right and still cross a drive that nobody told of."""
    told = "see that no line crosses a drive, outboard, rudder or ladder"
    answer = tieups.alongside_answer()
    for zones, there in ((None, True), ([], False)):
        scenario = tieups.alongside("floating", boat=tieups.boat(zones=zones))
        card = compose(cards.facts(), scenario, answer, cards.READER)
        assert (told in card.gear) is there


def test_a_berth_that_is_not_worked_out_leaves_room_for_a_name():
    card = cards.unworked_card()
    assert card.no_lines == "No tie-up worked out for this kind of berth: made fast by judgement of"
    text = text_of(pdf.pdf(card))
    assert "made fast by judgement of" in text and "Copper Thimble" in text and "NOT WORKED OUT" in text


def test_lengths_on_a_card_are_working_lengths_to_five_centimetres():
    answer = tieups.answer(
        [tieups.line(1, "stern", "stern_port", "D2", "aft", "going ahead", length=3.83, cut_length=6.1)]
    )
    card = compose(cards.facts(), tieups.slip(), answer, cards.READER)
    assert card.first.length == "3.85 m"
    assert "6.1" not in text_of(pdf.pdf(card))


def test_depth_and_rail_are_told_at_the_lowest_water():
    """By hand: lowest 0.41 - 0.30 = 0.11; bed -2.40, draft 1.80: 0.71 m; dock 3.50, rail 1.10: 2.29 m below.

    What is left under her is told down to 5 cm; how far a hand must reach down, to the nearest.
    """
    water = " ".join(cards.fixed_card().water)
    assert water == "At the lowest: rail 2.30 m below the dock edge; 0.70 m under her keel."


def test_a_boat_that_may_take_the_ground_is_told_when_and_not_that_water_lacks():
    down = (tieups.NOON + timedelta(hours=9, minutes=8), tieups.NOON + timedelta(hours=15, minutes=53))
    scenario = tieups.slip(boat=tieups.boat(takes_ground=True))
    answer = tieups.answer(tieups.slip_lines(), aground=[down])
    water = " ".join(compose(cards.facts(), scenario, answer, cards.READER).water)
    assert "she takes the ground Fri 02:10 until Fri 08:55" in water and "too little" not in water


@pytest.mark.parametrize(("sort", "length"), [("planned", "3.80 m"), ("found", "3.90 m")])
def test_a_line_that_was_found_has_the_length_that_is_on_record(sort, length):
    """A plan tells what is measured to a pile's face; a record is not turned into another figure."""
    line = tieups.line(1, "bow", "bow_port", "P3", "forward", "going back", length=3.8)  # 3.9 to its middle
    answer = tieups.answer([line]).model_copy(update={"sort": sort})
    assert compose(cards.facts(), tieups.slip(), answer, cards.READER).first.length == length


def slack_card(**changes):
    """A line that hauls in 0.10 m at 0.50 m, has 0.02 m at 0.93 m and 0.37 m at 1.40 m."""
    lines = [tieups.line(1, "stern", "stern_port", "D2", "aft", "going ahead", slack_now=0.02)]
    levels = [
        tieups.verdict.LevelResult(
            level=z, moves=1.0, lines=[{"id": "L1", "slack_calm": slack, "tension_max": 0}]
        )
        for z, slack in ((0.5, -0.10), (0.93, 0.02), (1.4, 0.37))
    ]
    answer = tieups.answer(lines).model_copy(update={"levels": levels})
    return compose(cards.facts(**changes), tieups.slip(), answer, cards.READER)


@pytest.mark.parametrize(
    ("level", "hint"),
    [
        (0.93, "snug now"),
        (1.4, "0.35 m slack now"),
        (0.5, "past snug by 0.10 m now"),
        (2.0, ""),  # beyond what was worked out
        (None, ""),  # nobody knows the water
    ],
)
def test_slack_is_told_for_the_water_of_the_hour(level, hint):
    assert slack_card(now=level).first.hint == hint


def test_slack_of_a_boat_to_come_is_told_for_her_arrival():
    at = cards.NOW + timedelta(hours=2)
    assert slack_card(then=(at, 1.4)).first.hint == "0.35 m slack at 19:55"
    assert slack_card(then=(at, None)).first.hint == ""


def test_the_line_with_the_least_slack_at_the_lowest_water_draws_first():
    assert slack_card().water[-1].endswith("line 1 draws tight first.")


def test_the_number_of_the_card_tells_two_in_one_pocket_apart():
    told = [cards.slip_card(number=n).ordinal for n in (1, 2, 3, 4, 11, 22)]
    assert told == [f"{n} card for this stay" for n in ("1st", "2nd", "3rd", "4th", "11th", "22nd")]


def test_no_forbidden_words_on_any_card(any_card):
    text = text_of(pdf.pdf(any_card)).lower()
    for word in ("safe", "guaranteed", "certified", "verdict", "scenario", "stale", "superseded", "!"):
        assert word not in text


# --- paper ---


@pytest.mark.usefixtures("no_printer_warning")
def test_every_card_is_one_page_of_a6_with_its_last_line(any_card):
    page, *more = pages_of(pdf.pdf(any_card))
    assert not more
    assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
        (105 * MM, 148 * MM), abs=0.1
    )
    text = " ".join(page.extract_text().split())
    assert any_card.facts.berth in text and any_card.facts.boat[:20] in text
    last = layouts.lay_out(any_card)[0].cautions[-1].split()[-1]
    assert last in text and "haven.example/stays/123/card" in text


@pytest.fixture
def boxes(tmp_path):
    """`boxes(data)`: every word of a PDF with its box, x low, y low, x high, y high from the top left. [pt]"""
    if not shutil.which("pdftotext"):
        pytest.skip("pdftotext comes with poppler-utils")

    def read(data):
        (tmp_path / "card.pdf").write_bytes(data)
        subprocess.run(["pdftotext", "-bbox", tmp_path / "card.pdf", tmp_path / "card.html"], check=True)
        words = ElementTree.parse(tmp_path / "card.html").iter("{http://www.w3.org/1999/xhtml}word")
        return [(w.text, *(float(w.get(k)) for k in ("xMin", "yMin", "xMax", "yMax"))) for w in words]

    return read


def letters(words):
    """The boxes without the room above and below that belongs to the line: capitals are 0.71 of the size."""
    return [(w, x0, y0 + (y1 - y0) * 0.18, x1, y1 - (y1 - y0) * 0.2) for w, x0, y0, x1, y1 in words]


def test_nothing_is_printed_outside_the_edge_of_the_paper(any_card, boxes):
    words = letters(boxes(pdf.pdf(any_card)))
    assert len(words) > 20
    for word, x0, y0, x1, y1 in words:
        assert x0 >= 4.7 * MM and x1 <= 100.3 * MM and y0 >= 4.7 * MM and y1 <= 143.3 * MM, word


def test_no_word_is_printed_on_another(any_card, boxes):
    words = letters(boxes(pdf.pdf(any_card)))
    for i, (one, *a) in enumerate(words):
        for other, *b in words[i + 1 :]:
            apart = a[2] <= b[0] + 0.3 or b[2] <= a[0] + 0.3 or a[3] <= b[1] + 0.3 or b[3] <= a[1] + 0.3
            assert apart, (one, other)


def test_the_ladder_counts_as_the_printer_does(any_card):
    """The layout that fits by counting fits when it is set: the card is laid out once, not by trial."""
    first = layouts.lay_out(any_card)[0]
    assert len(press.render(pdf.markup(any_card, first)).pages) == 1


def test_with_much_to_say_things_give_way_in_order_and_type_never():
    crowded = layouts.lay_out(cards.crowded_card())[0]
    assert crowded.cautions == (ONE_CAUTION,)
    assert all(words.endswith((" …", ".")) for _, words in crowded.warnings)
    little = layouts.lay_out(cards.unworked_card())[0]
    assert little.cautions[: len(CAUTIONS)] == CAUTIONS
    html = pdf.markup(cards.crowded_card(), crowded)
    assert "font-size:" not in html  # sizes stand in the stylesheet alone, and in SVG as attributes


def warned_card(n, **changes):
    """A slip with four lines and n warnings whose 'Do' is worth reading."""
    flags = [
        cards.flag("stop" if i == 0 else "fix", f"thing {i} at low water is as bad as it can be told in a line",
                   code=f"thing_{i}", do=f"ease line {i + 1} and put on nine metres more of the same")
        for i in range(n)
    ]  # fmt: skip
    answer = tieups.answer(tieups.slip_lines()[:4], answer="does_not_hold")
    return compose(cards.facts(flags=tuple(flags), **changes), tieups.slip(), answer, cards.READER)


def test_the_do_of_a_stop_is_printed_where_there_is_room_beside_the_picture():
    card = warned_card(3)
    layout = layouts.lay_out(card)[0]
    assert layout.rows == card.rows and layout.warned_beside and layout.picture[1] >= layouts.LEAST_TALL
    text = text_of(pdf.pdf(card))
    assert card.warnings[0].do in text
    assert all(row.length in text for row in card.rows)


def test_warnings_give_way_from_the_last_to_the_first():
    """As soon as not all have room in full, the first keeps its words longest: the STOP."""
    cut = [
        [words.endswith("…") for _, words in layouts.lay_out(make())[0].warnings]
        for make in (lambda: warned_card(3), lambda: warned_card(3, mark="m" * 60), cards.crowded_card)
    ]
    assert all(row == sorted(row) for row in cut)


@pytest.mark.parametrize("name", [cards.LONG_NAME, "Slow Biscuit"])
@pytest.mark.parametrize("count", [1, 2, 3])
def test_rows_up_to_the_fifth_always_stay_and_later_ones_go_to_the_page_of_the_stay(name, count):
    card = cards.crowded_card()
    card = replace(card, facts=replace(card.facts, boat=name), warnings=card.warnings[:count])
    layout = layouts.lay_out(card)[0]
    assert len(layout.rows) >= 5
    first_left = layout.rows[-1].order + 1
    assert layout.rest.startswith(f"Lines {first_left} to 9" if first_left < 9 else "Line 9")
    text = text_of(pdf.pdf(card))
    assert layout.rest.split(":")[0] in text
    assert all(row.row.split(",")[0].removesuffix(" cleat") in text for row in card.rows[:5])


def test_a_printer_that_counts_otherwise_gets_a_layout_with_more_room():
    card = cards.slip_card()
    grown, same, *_ = layouts.lay_out(card)
    assert grown.picture[1] > same.picture[1]


def test_a_plain_slip_keeps_all_six_lines_and_a_dock_all_four():
    for make in (cards.slip_card, cards.fixed_card, cards.floating_card, cards.feet_card):
        card = make()
        layout = layouts.lay_out(card)[0]
        assert layout.rows == card.rows and not layout.rest
        text = text_of(pdf.pdf(card))
        assert all(row.length in text for row in card.rows)


def test_type_is_never_smaller_than_can_be_read(any_card, boxes):
    """8.5 pt is the least, in words and in pictures, beside a code of 44 pt; what must be read afar is larger."""
    words = boxes(pdf.pdf(any_card))
    code = next(y1 - y0 for word, _, y0, _, y1 in words if word == any_card.facts.berth)
    points = [(round(44 * (y1 - y0) / code, 1), word) for word, _, y0, _, y1 in words]
    assert min(points)[0] >= 8.4
    for word, least in ((any_card.facts.boat.split()[0], 13), ("LOW", 13), ("BOW", 12)):
        assert max((size for size, text in points if text == word), default=least) >= least - 0.1, word


def test_a_long_code_and_letters_the_face_lacks_still_print():
    card = cards.slip_card(berth="GUEST-NORTH", boat="Žofie Łódź Ærøskøbing")
    assert len(pages_of(pdf.pdf(card))) == 1
    assert "Žofie Łódź Ærøskøbing" in text_of(pdf.pdf(card))


@pytest.mark.skipif(not shutil.which("pdffonts"), reason="pdffonts comes with poppler-utils")
def test_the_face_is_embedded(tmp_path):
    path = tmp_path / "card.pdf"
    path.write_bytes(pdf.pdf(cards.slip_card()))
    out = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True).stdout.splitlines()[
        2:
    ]
    assert len(out) == 2
    assert all("+Card" in row and row.split()[-5] == "yes" for row in out), out


def test_a_card_takes_nothing_from_outside():
    weasyprint = pytest.importorskip("weasyprint")
    from weasyprint.urls import FatalURLFetchingError  # noqa: PLC0415

    tools = press._press()
    for address in ("file:///etc/hostname", "http://127.0.0.1:9/x.png"):
        with pytest.raises(FatalURLFetchingError, match="only use data"):
            weasyprint.HTML(string=f'<img src="{address}">', url_fetcher=tools["fetcher"]).render()


def test_without_the_system_library_one_sentence_says_what_to_install(monkeypatch):
    press._press.cache_clear()
    monkeypatch.setitem(__import__("sys").modules, "weasyprint", None)
    with pytest.raises(press.NoPrinter, match="install Pango"):
        pdf.pdf(cards.slip_card())
    press._press.cache_clear()


# --- printing from the records ---


@pytest.fixture
def stay(db):
    people.fix_clock(people.NOON)
    return people.make_stay(
        vessel=people.make_vessel(name="Plum Halyard"), berth=people.make_berth(kind="fixed", code="C4")
    )


def worked_out(stay, **fields):
    scenario, answer = tieups.alongside(), tieups.alongside_answer()
    return people.make_tie_up(
        stay=stay,
        scenario=scenario.model_dump(mode="json"),
        verdict=answer.model_dump(mode="json", by_alias=True),
        **fields,
    )


def printed(stay, by):
    return print_card(stay=stay, by=by, address=ADDRESS)


def test_a_new_card_is_numbered_kept_and_puts_the_older_out_of_use(stay, cast):
    worked_out(stay)
    first, second = printed(stay, cast.hand), printed(stay, cast.hand)
    first.refresh_from_db()
    assert (first.number, second.number) == (1, 2)
    assert first.superseded and first.superseded_why == "card 2 was printed" and not second.superseded
    text = text_of(bytes(second.pdf))
    assert "2nd card for this stay" in text and "C4" in text and "Plum Halyard" in text
    assert "invented data" in text  # the demonstration's clock is set


def test_the_card_carries_what_the_records_say(stay, cast):
    Recheck.objects.create(stay=stay, why="first_low", due=people.NOON + timedelta(hours=4))
    worked_out(stay)
    card = card_of(stay, reader=reader_of(cast.hand), address=ADDRESS, number=1)
    assert card.look_again == "16:00 (first low after making fast)"
    assert card.side == "STARBOARD side to jetty"
    assert card.age.startswith("Worked out and printed 12:00, holds until Sat 12:00.")


@pytest.mark.parametrize(
    ("ways", "arrows"),
    [([200], (("wind forecast", 20),)), ([200, 230], ()), (None, ())],
    ids=["one direction", "several", "not known"],
)
def test_a_forecast_wind_from_one_direction_is_drawn(stay, cast, ways, arrows):
    worked_out(stay)
    Forecast.objects.create(
        at=people.NOON,
        starts=people.NOON - timedelta(hours=1),
        ends=people.NOON + timedelta(hours=1),
        wind_from_deg=ways,
    )

    def at(now):
        card = card_of(stay, reader=reader_of(cast.hand), address=ADDRESS, number=1, now=now)
        return card.facts.arrows

    assert at(people.NOON) == arrows
    assert at(people.NOON + timedelta(hours=2)) == ()  # it was for another hour


def test_a_mark_on_the_line_is_told_when_it_is_at_that_length(stay, cast):
    people.make_line(tag="WH-900", working_length="5.35", working_length_2="8.0")
    answer = tieups.answer(
        [tieups.line(1, "stern", "stern_starboard", "C1", "aft", "going ahead", length=5.4, tag="WH-900")]
    )
    people.make_tie_up(
        stay=stay,
        scenario=tieups.alongside().model_dump(mode="json"),
        verdict=answer.model_dump(mode="json", by_alias=True),
    )
    card = card_of(stay, reader=reader_of(cast.hand), address=ADDRESS, number=1)
    assert card.first.full_length == "5.40 m (WH-900, one band)"


def test_a_berth_of_a_kind_that_is_not_computed_prints_and_says_so(cast):
    people.fix_clock(people.NOON)
    card = printed(people.make_stay(berth=people.make_berth(kind="stern_to")), cast.hand)
    text = text_of(bytes(card.pdf))
    assert "NOT WORKED OUT" in text
    assert "No tie-up worked out for this kind of berth: made fast by judgement of" in text


def test_what_is_out_of_date_is_worked_out_again_before_it_is_printed(stay, cast):
    """The page says so across the head; from the printer nothing old comes."""
    old = worked_out(stay, stale=True, stale_why="her draft changed", stale_since=people.NOON)
    assert card_of(stay, reader=reader_of(cast.hand), address=ADDRESS, number=1).bar.startswith("OUT OF DATE")
    card = printed(stay, cast.hand)
    assert card.tie_up != old and not card.tie_up.stale
    assert "OUT OF DATE" not in text_of(bytes(card.pdf))


def test_an_older_form_of_a_tie_up_is_not_read_as_something_else(stay, cast):
    people.make_tie_up(stay=stay, scenario={"version": 0}, verdict={"version": 0})
    card = card_of(stay, reader=reader_of(cast.hand), address=ADDRESS, number=1)
    assert card.bar == "NOT WORKED OUT" and "older form" in card.no_lines


def test_a_stay_that_is_over_has_no_new_card(stay, cast):
    stay.state, stay.state_why = "cancelled", "went elsewhere"
    stay.save()
    with pytest.raises(ValidationError, match="cancelled"):
        printed(stay, cast.hand)


def test_the_page_of_a_card_says_first_that_its_stay_is_over(client, cast, stay):
    """A card in a pocket leads here long after: nobody ties her up by it, and no new one is printed."""
    worked_out(stay)
    stay.state, stay.state_why = "cancelled", "went elsewhere"
    stay.save()
    told = page(client, cast.hand, stay).content.decode()
    assert "THIS STAY IS OVER (cancelled): do not tie up by this card" in told
    assert "Print a card" not in told


def test_a_card_printed_by_another_at_the_same_moment_gets_the_next_number(stay, cast, monkeypatch):
    worked_out(stay)
    real, other = pdf.front, []

    def slow(card, stock):
        if not other:
            other.append(True)
            printed(stay, cast.harbourmaster)  # comes in between
        return real(card, stock)

    monkeypatch.setattr(pdf, "front", slow)
    mine = printed(stay, cast.hand)
    assert mine.number == 2
    assert "2nd card for this stay" in text_of(bytes(mine.pdf))
    assert list(Card.objects.filter(superseded=None)) == [mine]


# --- the page for the phone ---


def page(client, user, stay):
    client.force_login(user)
    return client.get(reverse("berths:card", args=[stay.pk]))


def test_the_page_says_what_the_paper_says(client, cast, stay):
    worked_out(stay)
    response = page(client, cast.hand, stay)
    html = response.content.decode()
    card = response.context["card"]
    for words in (
        card.facts.berth,
        card.facts.boat,
        card.side,
        card.bow,
        card.first.source,
        card.first.length,
    ):
        assert words in html
    for row in card.rows:
        assert row.read_back in html and row.length in html
    assert html.index(card.first.read_back) < html.index("<svg", html.index('class="drawing"'))
    assert " style=" not in html and "Line 1 (" in html
    assert all(caution in html for caution in CAUTIONS)


def test_the_page_tells_of_the_paper_and_prints_it(client, cast, stay):
    worked_out(stay)
    assert "No card printed yet" in page(client, cast.hand, stay).content.decode()
    response = client.post(reverse("berths:card-pdf", args=[stay.pk]), follow=True)
    assert (
        response["Content-Type"] == "application/pdf"
        and 'filename="c4-1.pdf"' in response["Content-Disposition"]
    )
    assert "1st card for this stay" in page(client, cast.hand, stay).content.decode()


def test_there_is_no_pdf_before_one_is_printed(client, cast, stay):
    client.force_login(cast.hand)
    assert client.get(reverse("berths:card-pdf", args=[stay.pk])).status_code == 404


def test_without_a_printer_the_page_says_what_to_install(client, cast, stay, monkeypatch):
    def broken(card, stock):
        raise press.NoPrinter(press.MISSING)

    monkeypatch.setattr(pdf, "front", broken)
    client.force_login(cast.hand)
    response = client.post(reverse("berths:card-pdf", args=[stay.pk]), follow=True)
    assert "install Pango" in response.content.decode()
    assert not Card.objects.exists()


def test_a_holder_sees_the_own_card_and_prints_none(client, cast, stay):
    stay.vessel.owner = Owner.objects.get(user=cast.holder.pk)
    stay.vessel.save()
    assert page(client, cast.holder, stay).status_code == 200
    assert client.post(reverse("berths:card-pdf", args=[stay.pk])).status_code == 403
    assert page(client, cast.stranger, stay).status_code == 404
    assert client.post(reverse("berths:card-pdf", args=[stay.pk])).status_code == 404


def test_the_number_of_queries_does_not_grow_with_the_lines(
    client, cast, stay, django_assert_max_num_queries
):
    worked_out(stay)
    client.force_login(cast.hand)
    with django_assert_max_num_queries(22):
        client.get(reverse("berths:card", args=[stay.pk]))


def test_a_card_of_facts_can_be_changed_one_at_a_time():
    """`Facts` is plain data: what a test or a command changes is what is printed."""
    card = compose(replace(cards.facts(), berth="Z9"), tieups.slip(), tieups.slip_answer(), cards.READER)
    assert "Z9" in text_of(pdf.pdf(card))


def test_a_scenario_as_stored_draws_the_same(stay):
    again = wanted.Scenario.model_validate(tieups.slip().model_dump(mode="json"))
    assert again == tieups.slip()


def test_a_boat_new_at_a_dock_that_stays_where_it_is_is_looked_at_again_at_her_first_low(stay):
    """After the first low water at a new berth: common practice, no source (R-CP-20)."""
    low = Turn(stay.arrive + timedelta(hours=11), 0.4, False)
    turns = (Turn(stay.arrive + timedelta(hours=5), 2.3, True), low)
    stay.berth.kind = "fixed"
    assert _look_again(stay, stay.arrive, turns) == (low.time, "her first low water here")
    assert _look_again(stay, stay.arrive + timedelta(days=3), turns) is None
    stay.berth.kind = "floating"
    assert _look_again(stay, stay.arrive, turns) is None


@pytest.mark.parametrize(
    ("purpose", "kind", "eye"),
    [("visit", "floating", "ashore"), ("permanent", "floating", "aboard"), ("permanent", "fixed", "ashore")],
)
def test_where_the_eye_goes_is_the_houses_rule_for_her(db, clock_at, purpose, kind, eye):
    clock_at(tieups.NOON)
    stay = people.make_stay(berth=people.make_berth(kind=kind), purpose=purpose)
    said = card_of(stay, reader=cards.READER, address=ADDRESS, number=1)
    assert said.facts.eye == eye
