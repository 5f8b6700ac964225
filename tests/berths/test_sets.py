"""Permanent sets: made from a tie-up in one press, filled from the register, worked out from LAT to HAT, closed."""

from decimal import Decimal
from io import BytesIO

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from pypdf import PdfReader

from berths import survey
from berths.models import LineSet, LineUse, SetPosition, TieUp
from berths.selectors.standing import standings_of_sets
from berths.services import lending, sets, tieups
from tests.cast import NOON, days, fix_clock, make_berth, make_line, make_stay, make_user, make_vessel
from vessels.models import GearZone, Inspection

pytestmark = pytest.mark.django_db


@pytest.fixture
def stay(cast):
    fix_clock(NOON)
    vessel = make_vessel(owner=cast.holder.owner)
    GearZone.objects.create(vessel=vessel, code="screw", kind="propeller", x1=2, x2=3, y1=-0.3, y2=0.3)
    return make_stay(
        vessel=vessel,
        berth=make_berth(kind="slip"),
        purpose="permanent",
        state="fast",
        depart=None,
        side_to="stern",
        arrive=NOON - days(30),
    )


@pytest.fixture
def made(stay, cast):
    """The set as it is made from what is recommended for her."""
    return sets.make_set(stay=stay, tie_up=tieups.work_out(stay, stands=False), by=cast.harbourmaster)


def filled(line_set, by, **line):
    for place in line_set.positions.all():
        own = make_line(working_length=place.length, total_length=place.length + 3, state="store", **line)
        Inspection.objects.create(line=own, at=NOON - days(20), advice="keep")
        sets.fill(position=place, line=own, by=by)
    return line_set


def test_one_press_makes_the_places_from_what_is_recommended(client, stay, cast):
    tie_up = tieups.work_out(stay, stands=False)
    client.force_login(cast.harbourmaster)
    answer = client.post(reverse("berths:set-make", args=[stay.pk]))
    line_set = LineSet.objects.get()
    assert answer.url == reverse("berths:set", args=[line_set.pk])
    assert (line_set.berth, line_set.vessel, line_set.owner) == (stay.berth, stay.vessel, cast.holder.owner)
    rows = [row for row in tie_up.verdict["lines"] if not row["optional"]]
    places = list(line_set.positions.all())
    assert [(p.boat_end.code, p.shore_end.code) for p in places] == [
        (row["boat_fitting"], row["shore_fitting"]) for row in rows
    ]
    assert all(
        abs(float(p.length) - row["working_length"]) <= 0.025 + 1e-9
        for p, row in zip(places, rows, strict=True)
    )
    assert all(p.length % Decimal("0.05") == 0 for p in places)


def test_a_second_press_is_refused_and_makes_nothing(client, stay, made, cast):
    client.force_login(cast.harbourmaster)
    answer = client.post(reverse("berths:set-make", args=[stay.pk]), follow=True)
    assert "already has a line set at this berth" in answer.content.decode()
    assert LineSet.objects.count() == 1


def test_nothing_worked_out_makes_no_set(stay, cast):
    with pytest.raises(ValidationError, match="Nothing is worked out"):
        sets.make_set(stay=stay, tie_up=None, by=cast.harbourmaster)


def test_an_end_that_is_gone_from_the_records_is_named(stay, cast):
    tie_up = tieups.work_out(stay, stands=False)
    gone = tie_up.verdict["lines"][0]["boat_fitting"]
    stay.vessel.fittings.filter(code=gone).delete()
    with pytest.raises(ValidationError, match=gone):
        sets.make_set(stay=stay, tie_up=tie_up, by=cast.harbourmaster)
    assert not LineSet.objects.exists()


class TestItsOwnTieUp:
    def test_it_is_asked_with_the_lines_that_fill_it_from_lowest_to_highest_water(self, made, cast):
        filled(made, cast.hand)
        kept = tieups.work_out_set(made, cast.harbourmaster, stands=False)
        assert (kept.line_set, kept.stay, kept.sort) == (made, None, "found")
        asked = kept.scenario
        uses = LineUse.objects.filter(position__line_set=made).order_by("position__number")
        assert [line["tag"] for line in asked["lines"]] == [use.line.tag for use in uses]
        assert asked["stay"]["permanent"] is True
        assert (asked["water"]["low"], asked["water"]["high"]) == (0.5, 2.5)

    def test_what_was_recommended_holds_when_it_is_filled_as_asked(self, made, cast):
        filled(made, cast.hand, strength=60_000)
        kept = tieups.work_out_set(made, stands=False)
        assert kept.answer == "holds", [f["message"] for f in kept.flags]

    def test_without_a_line_nothing_is_worked_out_and_it_says_why(self, made):
        kept = tieups.work_out_set(made)
        assert (kept.answer, kept.verdict) == ("not_known", None)
        assert "no line" in kept.trouble

    def test_a_line_shorter_than_its_place_counts_at_its_own_length(self, made, cast):
        place = made.positions.first()
        lending.issue(line=make_line(working_length=1, state="store"), position=place, by=cast.hand)
        (line,) = survey.lines_of_set(made)
        assert line.length == 1.0

    def test_a_longer_one_is_made_up_at_the_length_of_its_place(self, made, cast):
        place = made.positions.first()
        lending.issue(line=make_line(working_length=20, state="store"), position=place, by=cast.hand)
        (line,) = survey.lines_of_set(made)
        assert line.length == float(place.length)

    def test_the_boat_beside_her_is_not_in_it(self, made, stay, cast):
        filled(made, cast.hand)
        beside = make_berth(kind="slip", pier=stay.berth.pier, fitted=False)
        beside.east, beside.north = stay.berth.east, stay.berth.north + 5
        beside.save()
        make_stay(berth=beside, state="fast", depart=None, arrive=NOON - days(1))
        assert survey.scenario_of(stay).berth.neighbours
        assert survey.read_set(made).scenario.berth.neighbours == []

    def test_a_boat_that_is_away_is_judged_as_she_lay_there_last(self, made, stay, cast):
        filled(made, cast.hand)
        there = survey.read_set(made).scenario
        stay.state, stay.depart = "left", NOON - days(1)
        stay.save()
        away = survey.read_set(made).scenario
        assert (away.boat.x, away.boat.heading_deg, away.boat.side_to) == (
            there.boat.x, there.boat.heading_deg, there.boat.side_to,
        )  # fmt: skip


CHANGES = {
    "a place": lambda s: _change(s.positions.first(), length=Decimal("1.00")),
    "a line in it": lambda s: _change(LineUse.objects.get(position=s.positions.first()).line, strength=9_000),
    "the boat": lambda s: _change(s.vessel, draft_measured=Decimal("1.9")),
    "the berth": lambda s: _change(s.berth, bed_z=Decimal("-2.4")),
    "a fastening": lambda s: _change(s.positions.first().shore_end.fastening, strength=5_000),
    "the water": lambda s: _change(s.berth.water, low=Decimal("0.2")),
    "how she lies": lambda s: _change(s.vessel.stays.get(), lies_x=Decimal("6.5")),
    "the other end in": lambda s: _change(s.vessel.stays.get(), end_in="bow"),
    "a line that came back": lambda s: _came_back(s, "hand"),
}


def _came_back(line_set, role):
    fix_clock(NOON + days(1))
    lending.take_back(
        use=LineUse.objects.get(position=line_set.positions.first()), by=make_user("another", role)
    )


def _change(row, **fields):
    for name, value in fields.items():
        setattr(row, name, value)
    row.save()


@pytest.mark.parametrize("what", CHANGES)
def test_it_goes_out_of_date_when_what_it_rests_on_changes(made, cast, what):
    filled(made, cast.hand)
    kept = tieups.work_out_set(made, stands=False)
    made.refresh_from_db()
    CHANGES[what](made)
    kept.refresh_from_db()
    assert kept.stale, what
    standing = standings_of_sets([made])[made.pk]
    assert any(mark.code == "stale" and mark.kind == "not_known" for mark in standing.marks)


def test_her_stay_booked_elsewhere_leaves_it_as_it_is(made, cast):
    filled(made, cast.hand)
    kept = tieups.work_out_set(made, stands=False)
    make_stay()
    kept.refresh_from_db()
    assert not kept.stale


class TestFilling:
    def test_a_line_lent_to_her_goes_over_into_her_set(self, made, stay, cast):
        line = make_line(state="store")
        lending.issue(line=line, stay=stay, by=cast.hand, at=NOON - days(1))
        sets.fill(position=made.positions.first(), line=line, by=cast.hand)
        uses = LineUse.objects.filter(line=line).order_by("at")
        assert [(use.closed_as, use.back is None) for use in uses] == [("moved", False), ("", True)]

    def test_the_line_that_was_there_comes_back_as_replaced(self, made, cast):
        place = made.positions.first()
        old, new = make_line(state="store"), make_line(state="store")
        lending.issue(line=old, position=place, by=cast.hand, at=NOON - days(2))
        sets.fill(position=place, line=new, by=cast.hand)
        assert LineUse.objects.get(line=old).closed_as == "replaced"
        old.refresh_from_db()
        assert old.state == "store"

    def test_all_or_none_and_what_was_typed_is_still_there(self, client, made, cast):
        first, second = made.positions.all()[:2]
        good = make_line(state="store")
        client.force_login(cast.hand)
        answer = client.post(
            reverse("berths:set-fill", args=[made.pk]),
            {f"line-{first.pk}": good.tag, f"line-{second.pk}": "NOPE"},
        )
        assert answer.status_code == 422
        html = answer.content.decode()
        assert (
            "No line with the tag NOPE" in html and f'value="{good.tag}"' in html and 'value="NOPE"' in html
        )
        assert not LineUse.objects.exists()

    def test_a_retired_line_is_refused(self, client, made, cast):
        bad = make_line(state="retired")
        client.force_login(cast.hand)
        answer = client.post(
            reverse("berths:set-fill", args=[made.pk]), {f"line-{made.positions.first().pk}": bad.tag}
        )
        assert answer.status_code == 422 and not LineUse.objects.exists()

    def test_lines_are_offered_long_enough_and_the_nearest_first(self, client, made, cast):
        place = made.positions.order_by("-length").first()
        for more, tag in ((Decimal(4), "LONG"), (Decimal(1), "NEAR"), (Decimal(-1), "SHORT")):
            line = make_line(tag=tag, working_length=place.length + more, total_length=40, state="store")
            Inspection.objects.create(line=line, at=NOON - days(20), advice="keep")
        make_line(tag="GONE", working_length=place.length, state="retired")
        client.force_login(cast.hand)
        answer = client.get(reverse("berths:set", args=[made.pk]))
        own = next(own for own in answer.context["rows"] if own.position == place)
        assert [offer.line.tag for offer in own.offers] == ["NEAR", "LONG"]
        assert own.typed == "NEAR"


class TestChangingAndClosing:
    def test_a_place_is_changed_in_the_readers_units(self, client, made, cast):
        cast.harbourmaster.units = "ft"
        cast.harbourmaster.save()
        client.force_login(cast.harbourmaster)
        place = made.positions.first()
        url = reverse("berths:set-place", args=[made.pk, place.number])
        form = client.get(url).context["form"]
        typed = {name: form[name].value() or "" for name in form.fields} | {
            "length": "10 ft",
            "chafe_gear": "true",
        }
        assert client.post(url, typed).status_code == 302
        place.refresh_from_db()
        assert (place.length, place.chafe_gear) == (Decimal("3.0480"), True)

    def test_a_length_of_nothing_is_refused_with_what_was_typed(self, client, made, cast):
        client.force_login(cast.harbourmaster)
        answer = client.post(reverse("berths:set-place", args=[made.pk, 1]), {"length": "0"})
        assert answer.status_code == 422
        assert "between 0 and 1000 m" in answer.content.decode()

    def test_the_ends_of_another_boat_are_not_offered(self, client, made, cast):
        other = make_vessel()
        client.force_login(cast.harbourmaster)
        answer = client.post(
            reverse("berths:set-place", args=[made.pk, 1]),
            {"boat_end": other.fittings.first().pk, "length": "3"},
        )
        assert answer.status_code == 422

    def test_closed_with_why_its_lines_go_back(self, client, made, stay, cast):
        filled(made, cast.hand)
        fix_clock(NOON + days(3))
        client.force_login(cast.harbourmaster)
        url = reverse("berths:set-close", args=[made.pk])
        assert client.post(url, {"why": "", "words": " "}).status_code == 422
        assert client.post(url, {"why": "boat sold", "words": "to the other coast"}).status_code == 302
        made.refresh_from_db()
        assert made.why_closed == "boat sold: to the other coast" and made.ends == (NOON + days(3)).date()
        assert not LineUse.objects.filter(position__line_set=made, back=None).exists()
        assert {use.line.state for use in LineUse.objects.all()} == {"store"}
        assert client.post(url, {"why": "boat sold"}).status_code == 422
        again = sets.make_set(stay=stay, tie_up=tieups.newest(stay), by=cast.harbourmaster)
        assert again.pk != made.pk and SetPosition.objects.filter(line_set=made).exists()


def test_whose_set_it_is(client, made, cast):
    url = reverse("berths:set", args=[made.pk])
    for user, status in (
        (cast.holder, 200),
        (cast.stranger, 404),
        (cast.hand, 200),
        (cast.harbourmaster, 200),
    ):
        client.force_login(user)
        assert client.get(url).status_code == status
    client.force_login(cast.holder)
    for name in ("set-work-out", "set-fill", "set-close"):
        assert client.post(reverse(f"berths:{name}", args=[made.pk])).status_code == 403


def test_the_page_of_a_filled_set(client, made, cast, django_assert_max_num_queries):
    filled(made, cast.hand)
    client.force_login(cast.harbourmaster)
    client.post(reverse("berths:set-work-out", args=[made.pk]))
    assert TieUp.objects.filter(line_set=made).count() == 1
    with django_assert_max_num_queries(40):
        html = client.get(reverse("berths:set", args=[made.pk])).content.decode()
    assert "between 0.20 m and 3.10 m" in html
    assert "<svg" in html
    for use in LineUse.objects.all():
        assert use.line.tag in html


def test_the_sheet_tells_each_line_and_nobody_beside_her(client, made, stay, cast):
    filled(made, cast.hand, strength=60_000)
    tieups.work_out_set(made)
    other = make_berth(kind="slip", code="ZZ9", pier=stay.berth.pier)
    make_stay(vessel=make_vessel(name="Percival's Own"), berth=other, state="fast", depart=None)
    client.force_login(cast.holder)
    answer = client.get(reverse("berths:set-sheet", args=[made.pk]))
    assert answer["Content-Type"] == "application/pdf"
    text = " ".join(" ".join(p.extract_text() for p in PdfReader(BytesIO(answer.content)).pages).split())
    for use in LineUse.objects.filter(position__line_set=made).select_related("line", "position"):
        assert use.line.tag in text
        assert f"{use.position.length:.2f} m" in text
    assert "Valid for levels between 0.20 m and 3.10 m" in text
    assert "Gives first: in gusts above" in text
    assert "16 mm" in text and "one band" in text
    assert "NOTHING FOUND" in text and "before you change a line" in text
    assert "ZZ9" not in text and "Percival" not in text
    client.force_login(cast.stranger)
    assert client.get(reverse("berths:set-sheet", args=[made.pk])).status_code == 404


def test_an_empty_set_has_a_sheet_that_says_what_is_not_known(client, made, cast):
    client.force_login(cast.harbourmaster)
    answer = client.get(reverse("berths:set-sheet", args=[made.pk]))
    text = " ".join(PdfReader(BytesIO(answer.content)).pages[0].extract_text().split())
    assert "not known" in text and "Valid for which levels" in text


def test_with_an_empty_place_the_picture_and_the_places_are_told_apart(client, made, cast):
    filled(made, cast.hand)
    fix_clock(NOON + days(1))
    lending.take_back(use=LineUse.objects.get(position=made.positions.first()), by=cast.hand)
    tieups.work_out_set(made, stands=False)
    client.force_login(cast.holder)
    html = client.get(reverse("berths:set", args=[made.pk])).content.decode()
    assert "in the picture." in html and "Which line is here is not recorded." in html
