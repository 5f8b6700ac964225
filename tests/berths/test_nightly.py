"""Once a night: what moved without a word is worked out again, looks are set anew, and what needs somebody is told."""

from datetime import timedelta
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import call_command

from berths.models import Berth, LineSet, LineUse, MadeFast, Recheck, SetPosition, Stay, TieUp
from berths.selectors.nightly import needs
from berths.services import again, looks, nightly, tieups
from berths.tieup.scenario import BadScenario
from tests.berths.waters import NOW, sea
from tests.cast import (
    NOON,
    days,
    fix_clock,
    hours,
    make_berth,
    make_line,
    make_stay,
    make_tie_up,
    make_vessel,
)
from vessels.services.lines import step

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon():
    return fix_clock(NOON)


@pytest.fixture
def stay():
    row = make_stay(vessel=make_vessel(name="Paper Comet"), berth=make_berth(kind="floating", code="A2"))
    tieups.work_out(row, stands=False)
    return row


def printed():
    out = StringIO()
    call_command("nightly", stdout=out)
    return out.getvalue()


def moved_behind_its_back(stay):
    """As another program would write it: no signal is sent."""
    Berth.objects.filter(pk=stay.berth_id).update(bed_z=Decimal("-2.5"))


# --- worked out again ---


def test_what_answers_todays_question_is_let_be(stay):
    assert nightly.run().renewed == []
    assert stay.tie_ups.count() == 1


def test_what_moved_without_a_signal_is_found_and_worked_out_again(stay):
    moved_behind_its_back(stay)
    assert not stay.tie_ups.get().stale
    ((which, why),) = nightly.run().renewed
    fresh = tieups.newest(stay)
    assert (which.pk, why) == (stay.pk, again.MOVED)
    assert fresh.scenario["berth"]["bed_z"] == -2.5 and not fresh.stale
    assert stay.tie_ups.exclude(pk=fresh.pk).get().stale_why == again.MOVED


def test_twice_is_the_same_as_once(stay):
    moved_behind_its_back(stay)
    nightly.run()
    rows = TieUp.objects.count()
    again = nightly.run()
    assert (again.renewed, again.looks, TieUp.objects.count()) == ([], 0, rows)


def test_what_was_marked_as_out_of_date_is_worked_out_with_its_reason(stay):
    stay.berth.bed_z = Decimal("-2.6")
    stay.berth.save()
    ((_, why),) = nightly.run().renewed
    assert "bed" in why and not tieups.newest(stay).stale


def test_a_boat_without_any_tie_up_gets_one():
    stay = make_stay(berth=make_berth(kind="floating"))
    ((which, _),) = nightly.run().renewed
    assert which.pk == stay.pk and tieups.newest(stay).answer


def test_another_version_of_the_engine_is_a_reason(stay, monkeypatch):
    monkeypatch.setattr(again, "ENGINE_VERSION", "next")
    assert "now it is next" in again.why_again(stay)


def test_where_nothing_can_be_worked_out_the_reason_is_compared(stay):
    quay = make_stay(berth=make_berth(kind="stern_to"))
    tieups.work_out(quay)
    assert again.why_again(quay) == ""
    Berth.objects.filter(pk=quay.berth_id).update(kind="box")
    quay.refresh_from_db()
    assert again.why_again(quay) == again.MOVED


def test_a_figure_that_cannot_be_right_is_tried_again_and_keeps_one_row(stay, monkeypatch):
    def refuse(*args, **kwargs):
        raise BadScenario(["berth.length: cannot be right"])

    monkeypatch.setattr(tieups.survey, "read", refuse)
    assert again.why_again(stay) == again.MOVED
    nightly.run()
    rows = TieUp.objects.count()
    assert tieups.newest(stay).trouble.startswith(tieups.NOT_YET)
    assert (nightly.run().renewed, TieUp.objects.count()) == ([], rows)


@pytest.fixture
def at_sea():
    """A boat that stays where the tide comes and goes; today's level is part of what was asked."""
    fix_clock(NOW)
    water = sea(surge_down=0.3, surge_up=0.6)
    water.save()
    row = make_stay(
        berth=make_berth(kind="floating", water=water), purpose="permanent", arrive=NOW - days(9), depart=None
    )
    row = Stay.objects.get(pk=row.pk)  # figures as the database keeps them
    tieups.work_out(row, stands=False)
    return row


@pytest.mark.parametrize(("later", "why"), [(days(1), ""), (days(9), again.WATER_ENDS)])
def test_the_tide_goes_on_and_only_days_that_were_not_looked_at_are_a_reason(at_sea, later, why):
    fix_clock(NOW + later)
    assert again.why_again(at_sea) == why
    nightly.run()
    assert again.why_again(at_sea) == "" and at_sea.tie_ups.count() == (2 if why else 1)


def test_a_short_stop_whose_time_is_up_asks_another_question():
    stay = make_stay(
        berth=make_berth(kind="floating"), state="fast", purpose="short_stop", attended=True,
        short_until=NOON + hours(1), depart=NOON + hours(9),
    )  # fmt: skip
    tieups.work_out(stay, stands=False)
    assert again.why_again(stay) == ""
    fix_clock(NOON + hours(2))
    assert again.why_again(stay) == again.MOVED


def test_stays_that_are_over_are_let_be(stay):
    stay.state = "left"
    stay.save()
    moved_behind_its_back(stay)
    assert (nightly.run().boats, stay.tie_ups.count()) == (0, 1)


def test_looks_are_set_anew(cast):
    stay = make_stay(berth=make_berth(kind="stern_to"), state="fast", arrive=NOON - days(1))
    kept = tieups.work_out(stay)
    flag = {
        "code": "hangs_her",
        "severity": "stop",
        "message": "she hangs",
        "from": (NOON + hours(9)).isoformat(),
    }
    make_tie_up(
        stay=stay, trouble=kept.trouble, scenario_hash="", flags=[flag], engine_version=kept.engine_version
    )
    MadeFast.objects.create(stay=stay, at=NOON - hours(2))
    assert nightly.run().looks == 1
    assert Recheck.objects.get().due == NOON + hours(9) - looks.BEFORE


# --- the list ---


def a_set(berth, vessel, number=3):
    kept = LineSet.objects.create(berth=berth, vessel=vessel, starts=(NOON - days(90)).date())
    position = SetPosition.objects.create(line_set=kept, number=number, length=Decimal("8.5"))
    line = make_line()
    LineUse.objects.create(line=line, position=position, at=NOON - days(90))
    return kept, line


def test_a_set_is_told_with_the_stay_of_its_boat_and_not_twice(stay, cast):
    _, line = a_set(stay.berth, stay.vessel)
    step(line=line, kind="retired", by=cast.harbourmaster, at=NOON - days(1), note="worn")
    (row,) = [row for row in needs() if row.code == "A2"]
    assert [mark.code for mark in row.marks].count("line_condemned") == 1
    assert [row.name for row in needs()].count("Paper Comet") == 1


def test_a_set_whose_boat_is_away_stands_for_itself(cast):
    _, line = a_set(make_berth(code="B3"), make_vessel(name="Slow Biscuit"))
    assert needs() == []
    step(line=line, kind="retired", by=cast.harbourmaster, at=NOON - days(1), note="worn")
    (row,) = needs()
    assert (row.code, row.name, [mark.code for mark in row.marks]) == (
        "B3",
        "Slow Biscuit",
        ["line_condemned"],
    )


def test_a_set_that_is_closed_is_over(cast):
    kept, line = a_set(make_berth(), make_vessel())
    step(line=line, kind="retired", by=cast.harbourmaster, at=NOON - days(1), note="worn")
    kept.ends = (NOON - days(1)).date()
    kept.why_closed = "moved"
    kept.save()
    assert needs() == []


def test_the_worst_stands_first_and_what_is_a_mere_note_is_left_out():
    for name, severity in (("Third Teaspoon", "note"), ("Lemon Ballast", "fix"), ("Loud Umbrella", "stop")):
        row = make_stay(vessel=make_vessel(name=name), state="fast", arrive=NOON - hours(9))
        flag = {"code": "too_long", "severity": severity, "message": "sticks out"}
        make_tie_up(stay=row, answer="not_known", flags=[flag])
    assert [row.name for row in needs()] == ["Loud Umbrella", "Lemon Ballast"]


def test_the_list_takes_the_same_queries_however_many_boats(django_assert_max_num_queries):
    for _ in range(12):
        make_tie_up(stay=make_stay(vessel=make_vessel(fitted=False), berth=make_berth(fitted=False)))
    with django_assert_max_num_queries(10):
        needs()


# --- the command ---


def test_the_command_says_what_it_did_and_what_needs_somebody(stay):
    flag = {
        "code": "hangs_her",
        "severity": "stop",
        "message": "she hangs",
        "do": "ease her",
        "from": (NOON + timedelta(hours=6)).isoformat(),
    }
    other = make_stay(vessel=make_vessel(name="Slow Biscuit"), berth=make_berth(code="B3", kind="stern_to"))
    kept = tieups.work_out(other)
    make_tie_up(
        stay=other,
        answer="does_not_hold",
        trouble=kept.trouble,
        scenario_hash="",
        flags=[flag],
        stops=1,
        engine_version=kept.engine_version,
    )
    told = printed()
    assert "2 boats gone through, 0 worked out again" in told
    assert "B3 Slow Biscuit: 1 stop" in told and "STOP: She hangs." in told and "Ease her." in told
    moved_behind_its_back(stay)
    assert f"A2 Paper Comet: {again.MOVED}" in " ".join(printed().split())


def test_a_harbour_that_has_nothing_yet():
    assert "What needs somebody: nothing in the record" in printed()


def test_a_permanent_set_is_worked_out_where_it_has_none_and_again_where_it_is_out_of_date():
    kept, _ = a_set(make_berth(kind="floating"), make_vessel())
    assert (nightly.run().sets, nightly.run().sets) == (1, 0)
    assert TieUp.objects.filter(line_set=kept).count() == 1
    TieUp.objects.filter(line_set=kept).update(stale=True, stale_why="a pile", stale_since=NOON)
    assert nightly.run().sets == 1
    kept.ends = NOON.date()
    kept.save()
    assert nightly.run().sets == 0


def test_a_set_worked_out_by_an_older_engine_is_worked_out_again():
    make_tie_up(line_set=a_set(make_berth(kind="floating"), make_vessel())[0], engine_version="1")
    assert nightly.run().sets == 1
