"""Pages of the register: a line's own, its forms, what is due, labels, and two places at once."""

import io
from datetime import timedelta
from html import unescape

import pytest
from django.utils.html import strip_tags
from pypdf import PdfReader

from berths.models import LineSet, LineUse, MadeFast, MadeFastLine, SetPosition, Sighting
from berths.selectors.due import due
from berths.selectors.places import two_places
from berths.services.lending import issue, take_back
from tests.cast import NOON, days, fix_clock, hours, make_berth, make_line, make_stay, make_vessel
from vessels.models import Inspection, Line

TWO_DAYS_AGO = NOON - days(2)
NAME = "8a1c6f0e-0d58-4f5e-9a10-6a3f3f7d6c11"


def text(answer):
    words = " ".join(strip_tags(answer.content.decode().replace("<", " <")).split())
    return unescape(words).replace(" .", ".").replace(" ,", ",").replace(" :", ":")


@pytest.fixture(autouse=True)
def _clock(db):
    fix_clock(NOON)


@pytest.fixture
def hand(client, cast):
    client.force_login(cast.hand)
    return client


def put_in_set(line, code="C2", boat="Grandmother Fig", at=TWO_DAYS_AGO):
    line_set = LineSet.objects.create(
        berth=make_berth(code=code), vessel=make_vessel(name=boat), starts=NOON.date() - days(9)
    )
    position = SetPosition.objects.create(line_set=line_set, number=3, role="spring")
    return LineUse.objects.create(line=line, position=position, at=at)


class TestInspection:
    def test_by_parts_and_what_it_holds_is_shown_at_once(self, hand):
        line = make_line(tag="WH-42")
        put_in_set(line)
        stay = make_stay(berth=make_berth(code="A9"), vessel=make_vessel(name="Brass Parsnip"), state="fast")
        MadeFastLine.objects.create(
            made_fast=MadeFast.objects.create(stay=stay, at=NOON - hours(3)), number=1, line=line
        )
        form = hand.get("/lines/WH-42/look/")
        assert text(form).index("Eye and throat") < text(form).index("Tail and whipping")
        answer = hand.post(
            "/lines/WH-42/look/",
            {"client_id": NAME, "zone_eye": ["none"], "zone_shore": ["melted"], "diameter_found_mm": "15.5"},
            follow=True,
        )
        words = text(answer)
        assert "RETIRE IT" in words
        assert "By the records it holds a boat now" in words
        assert "C2, Grandmother Fig: position 3 of her set" in words
        assert "A9, Brass Parsnip: put on when she was made fast" in words
        look = line.inspections.get()
        assert look.zones == {"eye": [], "shore": ["melted"]}

    def test_pressed_twice_is_once(self, hand):
        line = make_line(tag="WH-42")
        for _ in range(2):
            hand.post("/lines/WH-42/look/", {"client_id": NAME, "zone_eye": ["none"]})
        assert line.inspections.count() == 1

    def test_nothing_marked_is_told_and_what_was_typed_stays(self, hand):
        make_line(tag="WH-42")
        answer = hand.post("/lines/WH-42/look/", {"client_id": NAME, "note": "wet and dark"})
        assert answer.status_code == 422
        assert "Nothing was looked at" in text(answer)
        assert "wet and dark" in answer.content.decode()

    def test_nothing_and_something_at_one_part(self, hand):
        make_line(tag="WH-42")
        answer = hand.post("/lines/WH-42/look/", {"client_id": NAME, "zone_eye": ["none", "fuzz"]})
        assert answer.status_code == 422 and "not both" in text(answer)


class TestForms:
    def test_a_new_line_with_a_doubtful_tag(self, hand):
        assert hand.get("/lines/new/").status_code == 200
        given = {"comes_as": "received", "tag": "WHO-1", "owner_kind": "harbour", "kept_for": "store"}
        answer = hand.post("/lines/new/", given | {"client_id": NAME, "working_length": "9.5"}, follow=True)
        assert "the letter O and the figure 0" in text(answer)
        line = Line.objects.get(tag="WHO-1")
        assert (line.state, float(line.working_length)) == ("received", 9.5)
        answer = hand.post("/lines/new/", given | {"tag": "who-1"})
        assert answer.status_code == 422

    @pytest.mark.parametrize("tag", ["W H", "a/b", "<x>", "Ä1"])
    def test_a_tag_that_cannot_be_an_address(self, hand, tag):
        given = {"comes_as": "received", "tag": tag, "owner_kind": "harbour", "kept_for": "store"}
        answer = hand.post("/lines/new/", given | {"client_id": NAME})
        assert answer.status_code == 422 and "Letters, figures, dot and hyphen only" in text(answer)

    def test_its_record_keeps_what_was(self, hand):
        make_line(tag="WH-42", maker="")
        page = hand.get("/lines/WH-42/record/")
        given = {name: page.context["form"][name].value() or "" for name in page.context["form"].fields}
        answer = hand.post(
            "/lines/WH-42/record/",
            given | {"maker": "Twine & Daughter", "why": "found the bill"},
            follow=True,
        )
        assert "maker: not known -&gt; Twine &amp; Daughter. found the bill" in answer.content.decode()
        answer = hand.post("/lines/WH-42/record/", given | {"maker": "Twine & Daughter"})
        assert answer.status_code == 422 and "Nothing was changed" in text(answer)

    def test_retired_in_one_form_and_put_right_in_another(self, hand):
        line = make_line(tag="WH-42")
        page = hand.get("/lines/WH-42/enter/retired/")
        assert "cannot go out" in text(page)
        answer = hand.post(
            "/lines/WH-42/enter/retired/", {"client_id": NAME, "note": "eye chafed"}, follow=True
        )
        words = text(answer)
        assert words.index("RETIRED") < words.index("Line WH-42")
        assert "This was a mistake" in words
        event = line.events.get()
        assert hand.get(f"/lines/WH-42/undo/{event.pk}/").status_code == 200
        answer = hand.post(f"/lines/WH-42/undo/{event.pk}/", {"reason": "it was its twin"}, follow=True)
        words = text(answer)
        assert "retired. eye chafed (a mistake, put right)" in words
        assert "NOT KNOWN Never inspected." in words

    @pytest.mark.parametrize("kind", ["issued", "failed", "destroyed", "nonsense"])
    def test_what_is_no_step_is_not_there(self, hand, kind):
        make_line(tag="WH-42")
        assert hand.get(f"/lines/WH-42/enter/{kind}/").status_code == 404

    def test_a_line_that_is_out_comes_back(self, hand):
        line = make_line(tag="WH-42", state="out")
        put_in_set(line)
        assert "It came back" in text(hand.get("/lines/WH-42/"))
        answer = hand.post("/lines/WH-42/back/", {"closed_as": "left"})
        assert answer.status_code == 422 and "why the line was left" in text(answer)
        hand.post("/lines/WH-42/back/", {"closed_as": "returned", "wet": "wet"})
        line.refresh_from_db()
        assert line.state == "drying"
        assert hand.get("/lines/WH-42/back/").status_code == 404

    def test_the_wrong_return_and_the_wrong_issue_are_put_right(self, hand, cast):
        line, stay = make_line(tag="WH-42"), make_stay(arrive=NOON - days(1))
        use = issue(line=line, stay=stay, by=cast.hand, at=NOON - hours(3))
        take_back(use=use, by=cast.hand, at=NOON - hours(2))
        words = f"/lines/WH-42/uses/{use.pk}/undo/"
        assert words in hand.get("/lines/WH-42/").content.decode()
        hand.post(words, {"reason": "it was its twin"})
        again = LineUse.objects.get(back=None)
        assert again.stay == stay
        line.refresh_from_db()
        assert line.state == "out"
        other = issue(line=make_line(tag="WH-43"), stay=stay, by=cast.hand, at=NOON - hours(1))
        page = hand.get(f"/lines/WH-43/uses/{other.pk}/undo/")
        assert "did not go out to" in text(page)
        assert hand.post(f"/lines/WH-43/uses/{other.pk}/undo/", {"reason": ""}).status_code == 422
        hand.post(f"/lines/WH-43/uses/{other.pk}/undo/", {"reason": "took 44"})
        other.refresh_from_db()
        assert other.reason == "entered by mistake: took 44"

    def test_the_wrong_inspection_is_taken_back(self, hand):
        line = make_line(tag="WH-42")
        hand.post("/lines/WH-42/look/", {"client_id": NAME, "zone_eye": ["melted"]})
        look = line.inspections.get()
        answer = hand.post(f"/lines/WH-42/withdraw/{look.pk}/", {"reason": "wrong line"}, follow=True)
        assert "A mistake: counts no more." in text(answer)
        assert "RETIRE IT" not in text(answer)


class TestWhoSees:
    def test_a_holder_sees_own_lines_only_and_changes_nothing(self, client, cast):
        own, other = make_line(tag="WH-1", owner=cast.holder.owner), make_line(tag="WH-2")
        client.force_login(cast.holder)
        words = text(client.get("/lines/WH-1/"))
        assert "Can it be used?" in words
        for hidden in ("Look at it now", "Change its record", "enter it", "mistake", "Every change"):
            assert hidden not in words
        assert client.get(f"/lines/{other.tag}/").status_code == 404
        for page in ("look/", "record/", "enter/retired/", "back/", "label.pdf"):
            assert client.get(f"/lines/{own.tag}/{page}").status_code == 403

    def test_a_holder_is_not_told_of_the_boat_an_own_line_was_lent_to(self, client, cast):
        line = make_line(tag="WH-1", owner=cast.holder.owner, state="out")
        put_in_set(line, code="Z9", boat="Somebody Else")
        Inspection.objects.create(line=line, at=NOON, advice="retire", zones={"eye": ["melted"]})
        client.force_login(cast.holder)
        page = client.get("/lines/WH-1/").content.decode()
        assert "Z9" not in page and "Somebody Else" not in page

    def test_scanned_without_a_sign_in_it_leads_there_and_back(self, client):
        make_line(tag="WH-1")
        assert client.get("/lines/WH-1/").url == "/sign-in/?next=/lines/WH-1/"


class TestTwoPlaces:
    def test_seen_elsewhere_and_counted_on_its_hook(self, cast):
        out, store, fine = make_line(tag="WH-112"), make_line(tag="WH-113"), make_line(tag="WH-114")
        put_in_set(out)
        Sighting.objects.create(line=out, place="hook 3", at=NOON - days(1))
        Sighting.objects.create(line=store, berth=make_berth(code="A1"), at=NOON - days(1))
        Sighting.objects.create(line=fine, place="hook 4", at=NOON - days(1))
        found = two_places(cast.hand)
        assert [two.line for two in found] == [out, store]
        assert found[0].words.startswith("WH-112: recorded at C2, but seen at hook 3.")

    def test_seen_before_it_went_out_or_before_it_came_back_is_one_place(self, cast):
        out, back = make_line(tag="WH-1"), make_line(tag="WH-2")
        put_in_set(out)
        Sighting.objects.create(line=out, place="hook 3", at=NOON - days(3))
        stay = make_stay(arrive=NOON - days(9))
        LineUse.objects.create(
            line=back, stay=stay, at=NOON - days(5), back=NOON - days(1), closed_as="returned"
        )
        Sighting.objects.create(line=back, berth=stay.berth, at=NOON - days(2))
        assert two_places(cast.hand) == []

    def test_never_seen_says_nothing(self, cast):
        put_in_set(make_line())
        assert two_places(cast.hand) == []

    def test_on_the_list_of_lines(self, hand, django_assert_max_num_queries):
        for n in range(20):
            line = make_line(tag=f"L-{n}")
            put_in_set(line, code=f"B{n}", boat=f"Boat {n}")
            Sighting.objects.create(line=line, place="hook 3", at=NOON - days(1))
        make_line(tag="WH-120", state="retired")
        with django_assert_max_num_queries(12):
            words = text(hand.get("/lines/"))
        assert "L-7: recorded at B7, but seen at hook 3." in words
        assert "RETIRED, STILL HERE 1 line not yet cut: WH-120" in words


class TestDue:
    def looked(self, line, ago):
        Inspection.objects.create(line=line, at=NOON - ago, advice="keep", zones={"eye": []})

    def test_overdue_never_and_soon(self, cast):
        never, late, soon, fine = (make_line(tag=f"WH-{n}", kept_for="permanent") for n in range(1, 5))
        self.looked(late, days(220))
        self.looked(soon, days(170))
        self.looked(fine, days(100))
        rows = due(cast.hand)
        assert [(row.line, row.kind) for row in rows] == [(never, "not_known"), (late, "fix"), (soon, "note")]
        assert rows[1].why.startswith("Overdue by ")

    def test_by_use_and_by_age(self, cast):
        store, old = make_line(tag="A", kept_for="store"), make_line(tag="B", kept_for="permanent")
        old.in_service_on = NOON.date() - timedelta(days=6 * 366)
        old.save()
        self.looked(store, days(220))
        self.looked(old, days(100))
        rows = due(cast.hand)
        assert [row.line for row in rows] == [old]
        assert "twice as often" in rows[0].why

    def test_the_date_of_the_record_counts_where_it_is_sooner(self, cast):
        line = make_line(next_inspection=NOON.date() - days(1))
        self.looked(line, days(10))
        assert due(cast.hand)[0].why.startswith("Overdue by 1 day.")

    @pytest.mark.parametrize("state", ["retired", "destroyed", "sold", "missing", "ordered"])
    def test_what_is_gone_is_not_looked_at(self, cast, state):
        make_line(state=state)
        assert due(cast.hand) == []

    def test_page(self, hand, django_assert_max_num_queries):
        for n in range(30):
            put_in_set(make_line(tag=f"L-{n}"), code=f"B{n}", boat=f"Boat {n}")
        with django_assert_max_num_queries(9):
            words = text(hand.get("/lines/due/"))
        assert "30 lines: overdue, never looked at" in words
        assert "L-7: at B7 NEVER LOOKED AT" in words


class TestLabels:
    def pages(self, answer):
        assert answer["Content-Type"] == "application/pdf", text(answer)
        return PdfReader(io.BytesIO(answer.content)).pages

    def test_a_sheet(self, hand):
        for n in range(30):
            make_line(tag=f"WH-{n:03}")
        make_line(tag="WH-900", state="retired")
        pages = self.pages(hand.get("/lines/labels/", {"print": 1}))
        assert [round(float(side) / 72 * 25.4) for side in pages[0].mediabox[2:]] == [210, 297]
        words = [page.extract_text() for page in pages]
        assert len(words) == 2 and "WH-023" in words[0] and "WH-024" in words[1]
        assert not any("WH-900" in page for page in words)
        places = {}

        def note(told, _, matrix, *rest):
            if told.strip().startswith("WH-"):
                places[told.strip()] = matrix[4:]

        pages[0].extract_text(visitor_text=note)
        columns, rows = zip(*places.values(), strict=True)
        assert (len(places), len(set(columns)), len(set(rows))) == (24, 3, 8)

    def test_a_begun_sheet_and_some_tags(self, hand):
        for n in range(3):
            make_line(tag=f"WH-{n:03}")
        pages = self.pages(hand.get("/lines/labels/", {"print": 1, "tags": "wh-001, WH-002", "start": "24"}))
        assert ["WH-001" in pages[0].extract_text(), "WH-002" in pages[1].extract_text()] == [True, True]

    def test_what_is_wrong_is_said(self, hand):
        answer = hand.get("/lines/labels/", {"print": 1, "tags": "WH-77", "start": "25"})
        assert answer.status_code == 422
        assert "No label for WH-77" in text(answer) and "from 1 to 24" in text(answer)

    def test_a_single_one_is_its_own_size(self, hand):
        make_line(tag="WH-042")
        (page,) = self.pages(hand.get("/lines/WH-042/label.pdf"))
        assert [round(float(side) / 72 * 25.4) for side in page.mediabox[2:]] == [70, 37]
        assert "WH-042" in page.extract_text()


def test_a_second_tag_opens_its_line(hand):
    make_line(tag="WH-1", second_tag="WH-1b")
    make_line(tag="WH-10", second_tag="WH-1bb")
    assert hand.get("/lines/?tag=wh-1B").url == "/lines/WH-1/"


def test_a_change_in_bulk_is_in_its_history(hand):
    line = make_line(tag="WH-1")
    Line.objects.filter(pk=line.pk).update(note="painted over")
    assert "nobody signed in: note: not known -&gt; painted over" in hand.get("/lines/WH-1/").content.decode()


def test_every_field_that_a_record_of_a_mooring_line_must_have_stands_on_its_page(hand):
    """R-RET-12: IMO MSC.1/Circ.1620; the list of fields is read from its paragraphs, partly from memory."""
    line = make_line(tag="WH-1", maker="", criteria="", strength=None, strength_basis="")
    Inspection.objects.create(line=line, at=NOON, advice="keep", zones={"eye": ["fuzz"]})
    words = text(hand.get("/lines/WH-1/"))
    for what in ("Maker not known", "Maker's grounds to replace it not known", "Strength, new not known", "Made not known",
                 "In service since not known", "Eye and throat of the splice: fuzz"):  # fmt: skip
        assert what in words, what
