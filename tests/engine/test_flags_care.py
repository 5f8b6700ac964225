"""Flags of leads, sides and care: for each a question that raises it, one that must not, and one 'not known'."""

import pytest

from tests.engine import berthings
from tests.engine.berthings import codes, flag
from tests.engine.test_flags import asked, good_set, line

CALM_DAY = {"wind_speeds": [10.3], "wind_from_deg": [60.0, 200.0]}


def wall_set(**more):
    """Four lines along a pier on piles."""
    rows = [
        line("L1", "bow_starboard", "P5", 4.6), line("L2", "stern_starboard", "P0", 4.2),
        line("L3", "bow_starboard", "P2", 7.4), line("L4", "stern_starboard", "P3", 7.7),
    ]  # fmt: skip
    return [row | more for row in rows]


def at_wall(lines=None, **changes):
    return asked(berthings.fixed(lines=lines or wall_set(), weather=CALM_DAY, **changes))


def in_slip(lines=None, **changes):
    return asked(berthings.slip(lines=lines or good_set(), weather=CALM_DAY, **changes))


def not_known(verdict, code):
    assert code in codes(verdict, "not_known")
    assert code not in codes(verdict)
    return next(f for f in verdict.flags if f.code == code)


def silent(verdict, code):
    return code not in codes(verdict) | codes(verdict, "not_known")


def test_these_sets_are_silent():
    """Else the tests below would show nothing."""
    assert codes(in_slip()) == set() and codes(in_slip(), "not_known") == set()
    assert codes(at_wall()) <= {"one_line_lost", "short_for_range"} and codes(at_wall(), "not_known") == set()


# -- cannot_take_ground --

DRIES = {"berth__bed_z": 0.4, "boat__draft": 0.9}  # lowest water -0.25


def test_a_berth_that_dries_and_a_boat_that_may_not():
    """One cause: that she touches stands under it."""
    told = flag(at_wall(boat__takes_ground=False, **DRIES), "cannot_take_ground")
    assert told.severity == "stop" and [u.code for u in told.under] == ["grounds_at_low"]
    assert "dries at 0.40 m" in told.message


def test_whether_she_may_take_the_ground_is_asked_and_never_supposed():
    verdict = at_wall(**DRIES)
    assert not_known(verdict, "cannot_take_ground").severity == "stop"
    assert "grounds_at_low" in codes(verdict)  # that she touches is known
    assert silent(at_wall(boat__takes_ground=True, **DRIES), "cannot_take_ground")


def test_shallow_is_not_dry():
    verdict = at_wall(boat__takes_ground=False, berth__bed_z=-1.0)
    assert silent(verdict, "cannot_take_ground") and "grounds_at_low" in codes(verdict)


# -- one_line_lost --


def test_what_hangs_on_one_line_is_a_note_that_names_it():
    """Three lines on a pontoon: without her bow line she swings out of the berth."""
    lines = [line("L1", "bow_starboard", "C3", 2.6), line("L2", "stern_starboard", "C0", 2.2),
             line("L3", "bow_starboard", "C1", 6.2)]  # fmt: skip
    verdict = asked(berthings.floating(lines=lines))
    told = flag(verdict, "one_line_lost")
    assert told.severity == "note" and told.line in verdict.summary.hangs_on
    assert "all hangs on line L" in told.message and verdict.summary.answer == "holds"
    assert silent(in_slip(), "one_line_lost")  # six lines


def test_without_lengths_what_a_lost_line_means_is_not_worked_out():
    lines = [row | {"length": None} for row in good_set()]
    assert not_known(in_slip(lines), "one_line_lost").severity == "note"


# -- crowded_fitting --


def test_three_lines_on_a_fitting_that_takes_two():
    lines = good_set()
    lines[0]["shore_fitting"] = "P1"  # the third there
    told = flag(in_slip([*lines, line("X", "mid_port", "P1", 6.8)]), "crowded_fitting")
    assert told.severity == "fix" and told.fitting == "P1" and told.amount == 1
    roomy = {"berth__fittings__4__takes": 4, "boat__fittings__4__takes": 4}
    assert silent(in_slip([*lines, line("X", "mid_port", "P1", 6.8)], **roomy), "crowded_fitting")


def test_three_lines_on_one_of_her_own_cleats():
    lines = [*wall_set(), line("X", "bow_starboard", "P4", 5.5)]
    assert flag(at_wall(lines), "crowded_fitting").fitting == "bow_starboard"


def test_both_stern_lines_on_one_fitting_ashore():
    lines = good_set()
    for row in lines:
        if row["boat_fitting"].startswith("stern") and row["shore_fitting"].startswith("D"):
            row |= {"shore_fitting": "D1", "length": 4.2}
    assert "one failure frees both" in flag(in_slip(lines), "crowded_fitting").message


# -- mixed_stretch --


def test_a_stiff_line_beside_a_stretchy_one():
    """R-CP-19: the stiff one carries all. Bow line and forward spring both stop her going back."""
    lines = wall_set()
    lines[3] |= {"material": "hmpe", "shore_fitting": "P5", "length": 13.0}
    told = flag(at_wall(lines), "mixed_stretch")
    assert told.severity == "fix" and told.line == "L4" and told.amount > 10
    lines[3] |= {"material": "nylon_braid"}  # 1.8 times: both stretch
    assert silent(at_wall(lines), "mixed_stretch")


def test_opposed_lines_may_differ():
    lines = wall_set()
    for row in lines[0], lines[3]:  # all that lead forward
        row |= {"material": "hmpe"}
    assert silent(at_wall(lines), "mixed_stretch")


def test_a_rope_of_unknown_kind_beside_another():
    lines = wall_set()
    lines[3] |= {"material": None, "shore_fitting": "P5", "length": 13.0}
    told = not_known(at_wall(lines), "mixed_stretch")
    assert told.severity == "fix" and told.line == "L4"


# -- over_gear --


def outboard(x1, x2, kind="outboard"):
    return [{"id": "gear", "kind": kind, "x1": x1, "x2": x2, "y1": -0.4, "y2": 0.4}]


def test_a_stern_line_over_the_outboard_stops():
    told = flag(in_slip(boat__zones=outboard(-0.8, 0.3)), "over_gear")
    assert told.severity == "stop" and "her outboard" in told.message
    assert silent(in_slip(boat__zones=outboard(4.0, 5.0)), "over_gear")


@pytest.mark.parametrize(("kind", "raised"), [("drive", False), ("outboard", True)])
def test_gear_under_water_only_where_the_line_is_low(kind, raised):
    """Crossed stern lines run well above a stern drive; a tilted outboard stands up into them."""
    assert ("over_gear" in codes(in_slip(boat__zones=outboard(-0.8, 0.3, kind)))) is raised


def test_a_line_across_a_ladder_or_gate_and_one_beside_it():
    across = [{"id": "g", "kind": "ladder", "x1": 13.2, "x2": 13.8, "y1": -0.2, "y2": 1.5}]
    beside = [across[0] | {"x1": 9.0, "x2": 9.6, "y2": -0.05}]
    assert "the ladder" in flag(at_wall(berth__zones=across), "over_gear").message
    assert silent(at_wall(berth__zones=beside), "over_gear")


def test_gear_that_nobody_recorded_is_not_clear():
    assert not_known(in_slip(boat__zones=None), "over_gear").severity == "stop"
    assert silent(in_slip(boat__zones=[]), "over_gear")


def test_a_recommended_set_tells_the_hand_to_look_for_gear_nobody_recorded():
    """What is recommended is told with what to look for: a note, and the answer is that of a boat without any."""
    told = asked(berthings.slip(boat__zones=None, weather=CALM_DAY))
    gap = not_known(told, "over_gear")
    assert gap.severity == "note" and "drive, outboard, rudder or ladder" in gap.do
    assert told.summary.answer == asked(berthings.slip(weather=CALM_DAY)).summary.answer == "holds"
    assert silent(asked(berthings.slip(weather=CALM_DAY)), "over_gear")


def test_the_recommended_set_keeps_clear_of_a_ladder():
    data = berthings.fixed(weather=CALM_DAY)
    free = asked(data)
    spring = berthings.by_role(free)["spring_forward"]
    at = next(f for f in data["berth"]["fittings"] if f["id"] == spring.shore_fitting)
    data["berth"]["zones"] = [
        {"id": "l", "kind": "ladder", "x1": at["x"] - 0.7, "x2": at["x"] - 0.2, "y1": -0.4, "y2": 0.3}
    ]
    kept = asked(data)
    assert silent(kept, "over_gear")
    assert any("passes over the ladder" in reason for reason in kept.choice.pruned)


# -- chafe --

QUAY = {"berth__faces__0__top_z": 3.9, "berth__faces__0__sharp": True, "boat__rub_high": 1.1}


def bollards(**changes):
    """A stone quay: bollards 0.8 m behind a coping at 3.90, 0.25 m above it."""
    data = berthings.fixed(**(QUAY | changes), weather=CALM_DAY)
    for f in data["berth"]["fittings"]:
        f |= {"kind": "bollard", "y": -0.8, "z": 4.15}
        f.pop("top_z"), f.pop("diameter")
    return data


@pytest.mark.parametrize(
    ("gear", "sharp", "state"),
    [(False, True, "raised"), (True, True, None), (None, True, "not_known"), (False, None, "not_known"),
     (None, None, "not_known"), (None, False, None)],
)  # fmt: skip
def test_a_line_over_a_coping_without_a_sleeve(gear, sharp, state):
    data = bollards(berth__faces__0__sharp=sharp)
    data["lines"] = [row | {"chafe_gear": gear, "length": row["length"] + 0.6} for row in wall_set()]
    verdict = asked(data)
    found = [f for f in verdict.flags if f.code == "chafe"]
    assert {f.state for f in found} == ({state} if state else set())
    assert all(f.severity == "fix" and "bends over the edge of face" in f.message for f in found)


def test_a_cleat_on_the_edge_itself_has_no_edge_to_bend_over():
    data = bollards()
    for f in data["berth"]["fittings"]:
        f["y"] = -0.03
    data["lines"] = wall_set()
    assert silent(asked(data), "chafe")


def test_the_recommended_line_over_a_coping_goes_on_with_a_sleeve():
    verdict = asked(bollards())
    assert silent(verdict, "chafe")
    assert any("with a sleeve where it bears on the edge of face" in row.why for row in verdict.lines)


@pytest.mark.parametrize(("gear", "state"), [(False, "raised"), (None, "not_known"), (True, None)])
def test_lines_that_cross_saw_each_other(gear, state):
    """A bow line that leads aft across a spring; springs that pass each other, and crossed stern lines, do not."""
    data = berthings.fixed(weather=CALM_DAY)
    data["berth"]["fittings"] += [
        data["berth"]["fittings"][0] | {"id": name, "kind": "bollard", "x": x, "y": y}
        for name, x, y in (("K", 12.0, -2.5), ("J", 10.0, -3.0))
    ]
    lines = [*wall_set(), line("X", "mid_starboard", "K", 6.6), line("Y", "bow_starboard", "J", 6.2)]
    data["lines"] = [row | {"chafe_gear": gear} for row in lines]
    found = [f for f in asked(data).flags if f.code == "chafe"]
    assert {f.state for f in found} == ({state} if state else set())
    assert all("saw each other where they cross" in f.message for f in found)
    assert silent(in_slip(), "chafe") and silent(at_wall(), "chafe")


# -- fender_misses --


def hung(low=0.05, high=0.9, number=4, board=True):
    return {"diameter": 0.2, "number": number, "low": low, "high": high, "board": board}


@pytest.mark.parametrize(("top", "words"), [(4.0, "come over face"), (3.6, "come over face")])
def test_fenders_that_come_over_the_dock_at_high_water(top, words):
    """Highest 3.37: fenders from 3.42 to 4.27; the face must leave 0.3 m of them on it."""
    verdict = at_wall(berth__faces__0__top_z=top, boat__fenders=hung(low=0.5))
    told = flag(verdict, "fender_misses")
    assert words in told.message and told.level == pytest.approx(3.37) and told.severity == "fix"
    assert silent(at_wall(berth__faces__0__top_z=4.4, boat__fenders=hung(low=0.5)), "fender_misses")


def test_fenders_that_come_under_the_dock_at_low_water():
    """Lowest -0.25, fenders up to 0.65; underside 0.5: 0.15 m left on it."""
    told = flag(at_wall(berth__faces__0__underside_z=0.5), "fender_misses")
    assert "come below face" in told.message and told.amount == pytest.approx(0.15)


def test_fenders_between_piles_want_a_board():
    """MIL-HDBK-1025/5 2.6.4.3: fenders must cover the rub strake over the range (R-FEND-6)."""
    assert (
        "bare hull comes on a pile" in flag(at_wall(boat__fenders=hung(board=False)), "fender_misses").message
    )
    not_known(at_wall(boat__fenders=hung(board=None)), "fender_misses")
    assert silent(at_wall(boat__fenders=hung(board=False), berth__faces__0__continuous=True), "fender_misses")


def test_two_fenders_are_not_three():
    """At least 3 alongside (Norwalk Cove Marina, R-FEND-4)."""
    assert flag(at_wall(boat__fenders=hung(number=2)), "fender_misses").amount == 1


@pytest.mark.parametrize("fenders", [None, hung(low=None), hung(high=None), hung(number=None)])
def test_fenders_nobody_recorded(fenders):
    assert not_known(at_wall(boat__fenders=fenders), "fender_misses").severity == "fix"


def test_a_slip_without_fingers_has_no_face_along_her():
    assert silent(in_slip(boat__fenders=None), "fender_misses")


# -- corner_on_edge --


@pytest.mark.parametrize(
    ("stern", "words"),
    [(1.0, None), (1.25, None), (1.5, "0.10 m from the edge"), (2.05, "0.15 m from the edge"),
     (0.2, "1.40 m past the last pile")],
)  # fmt: skip
def test_her_quarter_stands_a_little_past_the_last_pile(stern, words):
    """R-CP-7: 1 to 2 ft past it. Piles at 1.75, 5.25, ... of 0.15 m radius; her stern at this x."""
    verdict = at_wall(boat__x=stern + 6.0)
    told = [f for f in verdict.flags if f.code == "corner_on_edge"]
    assert bool(told) is (words is not None)
    assert not told or (words in told[0].message and told[0].severity == "fix")


def test_a_plain_wall_has_no_edges_to_catch_on():
    assert silent(at_wall(boat__x=7.5, berth__faces__0__continuous=True), "corner_on_edge")


def test_piles_that_nobody_placed_or_described():
    not_known(at_wall(berth__faces__0__continuous=None), "corner_on_edge")
    lines = [row for row in wall_set() if row["shore_fitting"] != "P2"]
    not_known(at_wall(lines, berth__fittings__2__x=None), "corner_on_edge")


# -- power_reach --

POST = {"x": 7.0, "y": -1.0, "z": 4.0, "lead": 25.0}
INLET = {"x": 1.0, "y": -1.9, "z": 1.2}


def test_a_lead_that_does_not_reach_says_how_far_it_is():
    short = at_wall(berth__power=POST | {"lead": 6.0}, boat__inlet=INLET)
    told = flag(short, "power_reach")
    # her inlet is 5 m astern of the post and 1.2 m off it, 2.75 to 5.05 m lower, before she moves
    assert told.severity == "fix" and told.amount > (5**2 + 1.2**2 + 3.05**2) ** 0.5 - 6.0
    assert told.level == pytest.approx(-0.25)
    assert silent(at_wall(berth__power=POST, boat__inlet=INLET), "power_reach")


def test_no_post_no_question():
    assert silent(at_wall(boat__inlet=INLET), "power_reach")


@pytest.mark.parametrize(("post", "inlet"), [(POST, None), (POST | {"lead": None}, INLET), (POST | {"z": None}, INLET),
                                             (POST, INLET | {"y": None})])  # fmt: skip
def test_a_lead_that_nobody_measured_is_not_passed_and_holds_nothing(post, inlet):
    verdict = at_wall(berth__power=post, boat__inlet=inlet)
    assert not_known(verdict, "power_reach").severity == "fix"
    assert verdict.summary.answer == "holds"  # whether she has light does not say whether she lies fast


# -- tend_her --


@pytest.mark.parametrize(("span", "raised"), [(2.9, False), (3.0, False), (3.3, True)])
def test_a_range_that_wants_somebody_by_the_lines(span, raised):
    """R-GEO-21 (Pickthall): above 9 ft at a wall somebody may have to stay and watch the lines."""
    verdict = at_wall(water__range=span)
    assert ("tend_her" in codes(verdict)) is raised
    if raised:
        assert flag(verdict, "tend_her").severity == "fix"
        assert silent(at_wall(water__range=span, stay={"attended": True}), "tend_her")
        house = {"H7": 4.0}
        assert silent(at_wall(water__range=span, house=house), "tend_her")


def test_a_floating_berth_asks_for_nobody():
    """R-GEO-17: lines of a floating berth need no adjusting; one to a fixed pile does (R-GEO-9)."""
    lines = [line("L1", "bow_starboard", "C3", 2.6), line("L2", "stern_starboard", "C0", 2.2),
             line("L3", "bow_starboard", "C1", 6.2)]  # fmt: skip
    data = berthings.floating(lines=lines, water__range=5.0)
    assert silent(asked(data), "tend_her")
    data["berth"]["fittings"][1] |= {"floats": False, "z": 3.0}
    assert "tend_her" in codes(asked(data))


# -- only_contact --


def test_a_boat_that_only_the_dock_end_holds():
    """Stern-in on two long stern lines, wind from ahead: she lies on the dock until it turns."""
    lines = [line("S1", "stern_port", "D2", 7.0), line("S2", "stern_starboard", "D1", 7.0),
             line("B1", "bow_port", "P1", 8.0), line("B2", "bow_starboard", "P2", 8.0),
             line("M1", "mid_port", "P1", 12.0), line("M2", "mid_starboard", "P2", 12.0)]  # fmt: skip
    told = flag(in_slip(lines), "only_contact")
    assert told.severity == "fix" and "lies on" in told.message and "dock" in told.message


def test_wind_onto_the_face_she_lies_along_is_no_fault():
    onto = {"wind_speeds": [10.3], "wind_from_deg": [0.0]}  # bearing 90: from north presses her on the face
    verdict = asked(berthings.fixed(lines=wall_set(), weather=onto))
    assert verdict.summary.counts["all_slack"] > 0 and silent(verdict, "only_contact")


def test_what_follows_from_a_missing_spring_stands_under_it():
    lines = [row for row in good_set() if row["shore_fitting"] not in ("M1", "M2")]
    verdict = in_slip([row | {"length": 6.0} for row in lines])
    cause = flag(verdict, "no_spring")
    assert "only_contact" not in {f.code for f in verdict.flags}
    assert [u.code for u in cause.under] == ["only_contact"]
