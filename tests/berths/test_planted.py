"""The planted problems of the invented harbour: each is found, with its figures, and nothing else cries.

The figures were agreed before the engine stood, worked out by hand from the survey; where one follows from
plain geometry it is worked out here again, beside the check. Only the engine's own flags are looked at: those of
register, dates and rounds have tests of their own.
"""

from datetime import timedelta
from math import hypot

import pytest

from berths import survey
from berths.curve import moment
from berths.models import Berth, Recheck, Stay
from berths.selectors import water as waters
from berths.selectors.standing import standings
from berths.services import tieups
from berths.tieup import candidates, defaults, rules, tie_up
from berths.tieup.scenario import Water as ScenarioWater
from marina.base import clock
from marina.base.house import set_rule
from tests.demo_harbour import at, wendlow  # noqa: F401 (a fixture)

pytestmark = pytest.mark.django_db

A_MINUTE = 1.7  # [min] agreed times are whole minutes, and a stored curve is right to 1 cm of level
WHISPER = {"one_line_lost"}  # a note at most boats with three or four lines: they hold, but not with one gone
REGISTER = {"length_differs", "line_condemned", "two_places", "line_swapped", "line_untagged", "wrong_side"}


@pytest.fixture(scope="module")
def worked_out(wendlow, django_db_blocker):  # noqa: F811
    """{place: (Survey, Verdict or None)} of every stay, each worked out once."""
    with django_db_blocker.unblock():
        surveyed = {place: survey.read(stay) for place, stay in wendlow.stays.items()}
    return {place: (s, tie_up(s.scenario) if s.scenario else None) for place, s in surveyed.items()}


def raised(verdict, code=None):
    """Raised flags, those folded under another one too."""
    flat = [f for flag in verdict.flags for f in (flag, *flag.under)]
    return [f for f in flat if f.state == "raised" and code in (None, f.code)]


def codes(verdict, *severities):
    """Codes of the raised flags that stand for themselves."""
    return {
        f.code for f in verdict.flags if f.state == "raised" and (not severities or f.severity in severities)
    }


def verdicts(worked_out):
    return {place: verdict for place, (_, verdict) in worked_out.items() if verdict}


def minutes_apart(moment, local):
    return abs(moment - at(local)) / timedelta(minutes=1)


# --- 1: Slow Biscuit hangs on her lines ---


def test_slow_biscuit_hangs_when_the_basin_falls(worked_out):
    _, verdict = worked_out["B3"]
    assert codes(verdict, "stop") == {"hangs_her"}
    assert codes(verdict, "fix") == {"not_crossed", "no_spring", "few_lines"}
    flag = next(f for f in verdict.flags if f.code == "hangs_her")
    assert minutes_apart(flag.from_, "2027-10-15T06:00") <= A_MINUTE
    assert 1.60 < flag.level < 2.04  # passed on the way from 2.40 down to the notice's 1.60
    short = [f for f in flag.under if f.code == "short_for_range"]
    assert {f.line for f in short} == {"WH-042", "WH-043"}
    # by hand: lead 1.00, dock cleat 3.70, her cleat 1.00 above the water; 1.20 of line is straight at 2.04
    assert hypot(1.00, 3.70 - 1.00 - 2.037) == pytest.approx(1.20, abs=0.001)
    assert [f.level for f in short] == pytest.approx([2.04, 2.04], abs=0.005)
    few = next(f for f in verdict.flags if f.code == "few_lines")
    assert few.amount == 2 and "4 lines of the 6" in few.message
    assert verdict.summary.answer == "does_not_hold"


def test_slow_biscuits_stern_lines_as_the_survey_has_them(worked_out):
    scenario = worked_out["B3"][0].scenario
    filled, _ = defaults.fill(scenario, rules.of(scenario))
    aboard, ashore = {f.id: f for f in filled.boat.fittings}, {f.id: f for f in filled.berth.fittings}
    line = scenario.lines[0]
    run = candidates.line_between(filled, "", aboard[line.boat_fitting], ashore[line.shore_fitting]).run
    assert run.lead == pytest.approx(1.00, abs=0.001)
    for level, distance, stretch in ((1.60, 1.49, 0.24), (1.40, 1.64, 0.37)):
        assert float(run.distance([level])[0]) == pytest.approx(distance, abs=0.005)
        assert float(run.distance([level])[0]) / 1.20 - 1 == pytest.approx(stretch, abs=0.005)


# --- 2: guide piles of the outer side are short ---


@pytest.mark.parametrize("code", ["A8", "A9", "A11"])
def test_guide_piles_leave_three_centimetres(worked_out, code):
    _, verdict = worked_out[code]
    assert codes(verdict) - WHISPER == {"pile_top_low"}
    (flag,) = raised(verdict, "pile_top_low")
    assert flag.severity == "note"
    assert flag.amount == pytest.approx(3.90 - (2.77 + 0.60 + 0.50), abs=0.005)  # 0.03


def in_the_storm(worked_out, code):
    """The same boat on Saturday, with the storm pair of the sea."""
    scenario = worked_out[code][0].scenario
    water = Berth.objects.select_related("water").get(code=code).water
    window = waters.window_of(water, at("2027-10-16T06:00"), at("2027-10-16T18:00"), storm=True)
    return tie_up(scenario.model_copy(update={"water": ScenarioWater(**window.for_scenario())}))


@pytest.mark.parametrize(("code", "left"), [("A9", -0.39), ("A3", 0.11)])
def test_guide_piles_in_the_storm(worked_out, code, left):
    (flag,) = raised(in_the_storm(worked_out, code), "pile_top_low")
    assert flag.amount == pytest.approx(left, abs=0.01)  # A9: 3.90 - (2.49 + 1.30 + 0.50)
    assert flag.severity == ("stop" if left <= 0 else "note")
    if left <= 0:
        assert flag.from_ < at("2027-10-16T12:14") < flag.until


def test_no_other_pile_top_is_low(worked_out):
    found = {place for place, verdict in verdicts(worked_out).items() if raised(verdict, "pile_top_low")}
    assert found == {"A8", "A9", "A11"}


# --- 3: Loud Umbrella is longer than her berth ---


def test_loud_umbrella_sticks_out(worked_out):
    survey_, verdict = worked_out["B8"]
    assert codes(verdict) == {"too_long"}
    (flag,) = raised(verdict)
    assert flag.severity == "stop" and flag.amount == pytest.approx(14.1 - 13.0 - 0.6)
    assert survey_.length_rests_on == "measured"


def test_nobody_else_is_too_long_or_too_wide(worked_out):
    for place, verdict in verdicts(worked_out).items():
        assert place == "B8" or not raised(verdict, "too_long"), place
        assert not raised(verdict, "too_wide"), place


# --- 6: Paper Comet takes the ground ---


def test_paper_comet_grounds(worked_out):
    survey_, verdict = worked_out["Q3"]
    assert verdict.sort == "planned"
    (flag,) = raised(verdict, "grounds_at_low")
    assert flag.severity == "stop"
    assert minutes_apart(flag.from_, "2027-10-15T04:04") <= A_MINUTE
    assert minutes_apart(flag.until, "2027-10-15T07:13") <= A_MINUTE
    assert codes(verdict) - WHISPER == {"grounds_at_low"}
    assert survey_.length_rests_on == "declared + 5 %"


def test_paper_comets_water():
    berth = Berth.objects.get(code="Q3")
    bed, draft = float(berth.bed_z), 1.90

    def depth(local):
        return waters.level_at(berth.water, at(local)) - bed

    assert depth("2027-10-14T20:30") - draft == pytest.approx(0.73, abs=0.01)
    assert depth("2027-10-15T05:40") == pytest.approx(1.61, abs=0.01)
    assert depth("2027-10-15T05:40") - 0.30 == pytest.approx(1.31, abs=0.01)
    stay = Stay.objects.get(vessel__name="Paper Comet")
    part = waters.window_of(berth.water, stay.arrive, stay.depart).part
    touching = part.below(bed + draft)
    assert len(touching) == 3  # Friday 05:40 and 18:02, Saturday 06:12
    spent = part.below(bed + draft + 0.30)[0]
    assert [
        minutes_apart(moment(t), f"2027-10-15T{w}") <= A_MINUTE
        for t, w in zip(spent, ("03:15", "07:54"), strict=True)
    ] == [
        True,
        True,
    ]


def test_nobody_else_grounds(worked_out):
    found = {
        p for p, v in verdicts(worked_out).items() if {"grounds_at_low", "cannot_take_ground"} & codes(v)
    }
    assert found == {"Q3"}


@pytest.mark.parametrize(
    ("code", "under_keel"),
    [("A7", 1.17), ("C3", 0.57), ("C7", 0.57), ("C8", 0.57), ("Q1", 0.47), ("Q4", 0.47), ("B10", 0.40)],
)
def test_where_paper_comet_would_fit(wendlow, code, under_keel):  # noqa: F811
    """At the lowest water of her stay with surge down; the same stay, asked for another berth."""
    stay = Stay.objects.get(vessel__name="Paper Comet")
    stay.berth = Berth.objects.get(code=code)
    verdict = tie_up(survey.scenario_of(stay))
    assert verdict.summary.depth_least == pytest.approx(under_keel, abs=0.01)
    assert not {"grounds_at_low", "too_long", "too_wide"} & codes(verdict)
    assert bool(raised(verdict, "pile_top_low")) == (code == "A7")


# --- the swapped and the condemned line, as far as the engine sees them ---


def test_the_swapped_line_is_thin(worked_out):
    """Found by the night watch: 12 mm where 13.1 m asks for 16 mm (13.1 / 864 = 15.2 mm)."""
    scenario, verdict = worked_out["C6"][0].scenario, worked_out["C6"][1]
    line = scenario.lines[2]
    assert (line.tag, line.mbs, line.diameter_mm, line.length) == (None, None, 12, 8.5)
    (flag,) = raised(verdict, "line_thin")
    assert (flag.severity, flag.line, flag.amount) == ("note", line.id, 4)
    assert codes(verdict, "stop", "fix") == {"mixed_stretch"}
    mixed = next(f for f in verdict.flags if f.code == "mixed_stretch")
    assert mixed.line == line.id and mixed.amount > 2  # polyester beside nylon, both ahead


# --- what must stay silent, or whisper ---


def test_four_boats_have_a_stop_three_of_them_by_the_engine(worked_out):
    found = {place for place, verdict in verdicts(worked_out).items() if codes(verdict, "stop")}
    assert found == {"B3", "B8", "Q3"}  # the fourth is C2, by the register


def test_no_other_fix(worked_out):
    found = {place: codes(v, "fix") for place, v in verdicts(worked_out).items() if codes(v, "fix")}
    assert set(found) == {"B3", "C6"}  # B3 has a stop as well


def test_everybody_else_holds_or_is_not_known(worked_out):
    answers = {place: verdict.summary.answer for place, verdict in verdicts(worked_out).items()}
    planted = {"B3", "B8", "Q3"}
    assert {p for p, a in answers.items() if a == "does_not_hold"} == planted
    assert {p for p, a in answers.items() if a == "not_known"} <= {
        "A4",
        "B7",
        "C1",
        "C6",
    }  # strength of a rope or a fastening


def test_nobody_starts_inside_a_pile_a_dock_or_a_neighbour(worked_out):
    for place, verdict in verdicts(worked_out).items():
        assert not raised(verdict, "starts_in_contact"), place
        assert not raised(verdict, "neighbour"), place


def test_solved_everywhere(worked_out):
    for place, verdict in verdicts(worked_out).items():
        assert not {"not_solved", "not_held"} & codes(verdict), place


def test_a_floating_dock_asks_for_no_long_lines(worked_out):
    for place in ("A1", "A2", "A3", "A4", "A5", "A6", "A8", "A9", "A11"):
        assert not raised(worked_out[place][1], "short_for_range"), place
    assert {line.length for line in worked_out["A2"][0].scenario.lines} >= {2.5}


def test_short_lines_elsewhere_are_a_note_at_most(worked_out):
    for place, verdict in verdicts(worked_out).items():
        found = [f for f in raised(verdict, "short_for_range") if f.severity == "fix"]
        assert place == "B3" or not found, place


def test_heights_are_enough(worked_out):
    """C and Q5 at 3.37: not over the dock, for the piles stand up; B at 1.40: not under it."""
    for place, verdict in verdicts(worked_out).items():
        assert not {"over_dock", "under_dock", "lifts_off"} & codes(verdict), place
    assert verdicts(worked_out)["C4"].summary.high + 0.60 == pytest.approx(3.37, abs=0.01)
    assert verdicts(worked_out)["B1"].summary.low - 0.20 == pytest.approx(1.40, abs=0.01)


def test_whispers(worked_out):
    quiet = {"tend_her", "only_contact", "over_gear", "surge_unknown", "line_weak", "not_crossed"}
    for place, verdict in verdicts(worked_out).items():
        assert place == "B3" or not quiet & codes(verdict), place


GEAR = {
    "cannot_take_ground", "crowded_fitting", "over_gear", "chafe", "power_reach", "tend_her", "fender_misses",
    "corner_on_edge", "mixed_stretch", "only_contact",
}  # fmt: skip


def test_gear_edges_fenders_power_and_tending_are_silent(worked_out):
    """Raised or not known, nowhere but at Borrowed Trumpet, whose swapped line is planted."""
    found = {(place, f.code) for place, v in verdicts(worked_out).items() for f in v.flags if f.code in GEAR}
    assert found == {("C6", "mixed_stretch")}


def test_they_are_silent_because_the_survey_tells_and_not_for_want_of_it(worked_out):
    """Fenders, gear, inlet and post of every boat; a stern drive under crossed lines; ladders and sharp copings."""
    asked = {place: s.scenario for place, (s, verdict) in worked_out.items() if verdict}
    for place, scenario in asked.items():
        hers = scenario.boat.fenders
        assert None not in (hers.diameter, hers.number, hers.low, hers.high, hers.board), place
        assert scenario.boat.zones and scenario.boat.inlet and scenario.berth.power, place
        assert all(face.sharp is not None and face.continuous is not None for face in scenario.berth.faces), (
            place
        )
        assert all(line.chafe_gear is not None for line in scenario.lines or []), place
    assert {z.kind for z in asked["B4"].boat.zones} == {"drive"}
    stern = [line for line in asked["B4"].lines if line.boat_fitting.startswith("stern")]
    assert len(stern) >= 2 and not any("straight" in f.message for f in worked_out["B4"][1].flags)
    assert all(asked[place].berth.zones for place in ("C2", "C4", "C5", "C6"))
    assert any(face.sharp for face in asked["Q3"].berth.faces)


def test_what_is_not_known_is_what_was_named(worked_out):
    gaps = {
        (place, f.code, f.fitting)
        for place, verdict in verdicts(worked_out).items()
        for f in verdict.flags
        if f.state == "not_known" and f.severity != "note"
    }
    strengths = {("A4", "fastening_out", name) for name in ("D1", "D4")}
    assert strengths <= gaps
    assert {place for place, *_ in gaps} <= {"A4", "B7", "C1", "C6"}  # ropes of visitors and of unknown make
    assert {code for place, code, _ in gaps if place != "A4"} <= {"line_weak"}


def test_the_fuel_stop_is_silent_until_its_hour_is_up(worked_out, wendlow):  # noqa: F811
    _, verdict = worked_out["C1"]
    assert not codes(verdict)
    assert len(verdict.lines) == 2
    set_rule(key="demo_clock", value={"at": at("2027-10-14T18:31").isoformat()}, by=None)
    late = tie_up(survey.scenario_of(wendlow.stays["C1"]))
    assert "few_lines" in codes(late, "fix")


def test_grey_pudding_dries_as_a_state(worked_out):
    """Bed 0.60 and draft 0.90: on the bed below 1.50 m."""
    summary = worked_out["Q5"][1].summary
    (_, floats), (touches, floats_again) = summary.aground[:2]
    assert minutes_apart(floats, "2027-10-14T20:38") <= A_MINUTE
    assert minutes_apart(touches, "2027-10-15T02:08") <= A_MINUTE
    assert minutes_apart(floats_again, "2027-10-15T08:53") <= A_MINUTE


@pytest.mark.parametrize(
    ("place", "reason"),
    [("Q7", "this kind of berth"), ("Q2", "in a raft"), ("Q2 outer", "in a raft")],
)
def test_where_no_tie_up_is_worked_out(worked_out, wendlow, place, reason):  # noqa: F811
    survey_, verdict = worked_out[place]
    assert verdict is None and "no tie-up worked out" in survey_.reason and reason in survey_.reason
    kept = tieups.work_out(wendlow.stays[place])
    assert (kept.answer, kept.verdict, kept.sort) == ("not_known", None, "found")
    assert kept.trouble == survey_.reason


# --- what the records alone tell ---


def test_ten_boats_were_measured_longer_than_declared_and_five_never(wendlow, clock_at):  # noqa: F811
    """By more than 0.30 m; Quiet Ladle and Oddly Sensible differ by exactly that and stay silent."""
    clock_at(at("2027-10-14T17:45"))
    known = standings(list(wendlow.stays.values()))
    found = {"raised": set(), "not known": set()}
    for place, stay in wendlow.stays.items():
        for mark in known[stay.pk].marks:
            if mark.code == "length_differs":
                found["raised" if mark.kind == "note" else "not known"].add(place)
    assert found["raised"] == {"A4", "A6", "A9", "B4", "B5", "B8", "B9", "C2", "C5", "C6"}
    assert len(found["not known"]) == 5 and {"B7", "C1", "Q3"} <= found["not known"]
    assert not any(mark.code == "level_old" for standing in known.values() for mark in standing.marks)


# --- the board of the evening, whole ---

UNWORKED = {"Q7", "Q2", "Q2 outer"}  # a laid line, and a raft


@pytest.fixture(scope="module")
def board(wendlow, django_db_blocker):  # noqa: F811
    """{place: Standing} with every tie-up worked out, at 17:45."""
    with django_db_blocker.unblock():
        rule = {"at": at("2027-10-14T17:45").isoformat()}
        set_rule(key="demo_clock", value=rule, by=None)
        tieups.work_out_all(list(wendlow.stays.values()))
        known = standings(list(wendlow.stays.values()))
    return {place: known[stay.pk] for place, stay in wendlow.stays.items()}


def places_with(board, kind, code=None):
    return {
        place
        for place, standing in board.items()
        if any(mark.kind == kind and code in (None, mark.code) for mark in standing.marks)
    }


def test_four_boats_with_a_stop_and_one_with_a_fix_only(board):
    assert places_with(board, "stop") == {"B3", "B8", "C2", "Q3"}
    assert places_with(board, "fix") - places_with(board, "stop") == {"C6"}


def test_each_stop_is_the_planted_one_and_is_told_once(board):
    told = {
        place: [mark.code for mark in standing.marks if mark.kind == "stop"]
        for place, standing in board.items()
    }
    assert {place: codes_ for place, codes_ in told.items() if codes_} == {
        "B3": ["hangs_her"],
        "B8": ["too_long"],
        "C2": ["line_condemned"],
        "Q3": ["grounds_at_low"],
    }
    fixes = {mark.code for mark in board["C6"].marks if mark.kind == "fix"}
    assert fixes == {"line_swapped", "line_untagged", "mixed_stretch"}


def test_notes_of_the_records_stand_where_they_were_planted(board):
    assert places_with(board, "note", "two_places") == {"C2"}
    assert places_with(board, "note", "overdue") == {"B9"}  # WH-073, by 40 days
    assert len(places_with(board, "note", "length_differs")) == 10
    assert places_with(board, "note", "pile_top_low") == {"A8", "A9", "A11"}
    assert not {mark.code for standing in board.values() for mark in standing.marks} & {
        "raft_load", "wrong_side", "stay_over", "level_old", "stale", "surge_unknown",
    }  # fmt: skip


def test_not_known_is_what_was_named(board):
    assert places_with(board, "not_known", "no_tie_up") == UNWORKED
    assert places_with(board, "not_known", "fastening_out") == {"A4"}
    assert places_with(board, "not_known", "overdue") == {"B1"}  # WH-031, never inspected
    assert places_with(board, "not_known", "length_differs") == {"B7", "C1", "Q2", "Q2 outer", "Q3"}
    assert places_with(board, "not_known", "line_weak") == {"C6"}  # the swapped line
    named = {"no_tie_up", "fastening_out", "overdue", "length_differs", "line_weak"}
    told = {m.code for standing in board.values() for m in standing.marks if m.kind == "not_known"}
    assert told == named


def test_the_rest_asks_for_nobody(board):
    urgent = {place for place, standing in board.items() if standing.worst}
    assert urgent == {"B3", "B8", "C2", "Q3", "C6", "A4"} | UNWORKED


def test_the_fuel_stop_is_over_a_minute_past_its_time(wendlow, clock_at):  # noqa: F811
    stay = wendlow.stays["C1"]
    for local, over in (("18:30", False), ("18:31", True)):
        clock_at(at(f"2027-10-14T{local}"))
        marks = standings([stay])[stay.pk].marks
        assert ("stay_over" in {mark.code for mark in marks if mark.kind == "fix"}) is over


def test_no_look_of_the_days_before_is_missed_on_the_evening(wendlow):  # noqa: F811
    assert not Recheck.objects.filter(done_at=None, due__lt=clock.now()).exists()
