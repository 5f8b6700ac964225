"""The level at a berth at a time: what a dock asks, in its order. Figures of the invented harbour, added by hand:
low on Friday 15 October 2027 at 05:40 of 0.41 m, house allowance down 0.30 and up 0.60 (see test_tide, test_window).
"""

import re
from datetime import timedelta
from decimal import Decimal
from html import unescape
from itertools import combinations, product
from math import sqrt
from types import SimpleNamespace

import pytest

from berths.drawing.shapes import Text
from berths.drawing.tide import water_curve
from berths.heights import Edge, gangway
from berths.models import Face, Fastening, Notice, Reading, Water
from marina.base import house
from tests.berths.waters import HARBOUR, NOW, basin, local, lowered, read, sea
from tests.cast import days, fix_clock, make_berth, make_stay, make_tie_up, make_vessel
from tests.marina.test_pages_pictures import overlap, tide

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client, cast):
    fix_clock(NOW)
    house.set_rule(key="zone", value="Europe/London", by=cast.harbourmaster)
    client.force_login(cast.harbourmaster)
    return client


def at_sea(**changes):
    row = sea(**changes)
    row.save()
    return row


def timber(code="C4", **fields):
    """A fixed berth: bed at -2.40, edge at 3.50, one ladder."""
    ladder = [{"id": "ladder at frame 3", "x1": 4.95, "x2": 5.6, "y1": -0.3, "y2": 0.0}]
    given = {"code": code, "bed_z": Decimal("-2.4"), "ladders": ladder} | fields
    berth = make_berth(
        water=fields.pop("water", None) or at_sea(), **{k: v for k, v in given.items() if k != "water"}
    )
    Face.objects.filter(berths__berth=berth).update(top_z=Decimal("3.5"))
    return berth


TWO_DAYS_AGO = NOW - days(2)


def plum(berth, *, draft="1.8", deck="1.15", state="fast", arrive=TWO_DAYS_AGO, depart=None, **fields):
    """Draft declared 1.80, cleats 1.15 above the water."""
    boat = make_vessel(
        name="Plum Halyard",
        draft=draft,
        draft_measured=None,
        rub_high=None if deck is None else Decimal(deck),
        **fields,
    )
    boat.fittings.update(z=deck and Decimal(deck))
    return make_stay(vessel=boat, berth=berth, state=state, arrive=arrive, depart=depart)


def text(answer):
    html = answer.content.decode()
    html = html[html.index("<main") : html.index("</main>")]
    html = re.sub(r"<svg.*?</svg>", " ", html, flags=re.S)
    return re.sub(r" ([.,;:)])", r"\1", unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)))).replace(
        "( ", "("
    )


def page(client, berth="C4", **query):
    return text(client.get(f"/berths/{berth}/level/", query))


# --- the five answers ------------------------------------------------------------------------------------


def test_the_next_low_in_the_order_of_the_dock(office):
    """0.41 and 0.11; depth 2.81 and 2.51, down to 5 cm; keel 1.01 and 0.71; deck 3.50 - 0.41 - 1.15 = 1.94."""
    plum(timber())
    words = page(office)
    wanted = [
        "C4 Friday 15 October 05:40 (low)",
        "0.41 m above CD (chart datum: zero of the tide table); could be 0.11 m.",
        "The harbour's own tidal constants, Wendlow Bar. Astronomy only. House allowance down 0.30 m",
        "Depth at C4",
        "2.80 m; could be 2.50 m. Bed -2.40 m, soft, sounded",
        "Under her keel 1.00 m; could be 0.70 m. Draught 1.80 m, declared.",
        "1.94 m below the dock edge; could be 2.24 m below.",
        "Edge 3.50 m; deck at the cleat 1.15 m above the water.",
        "Ladder: yes, ladder at frame 3; reaches the water: not known.",
        "Now, 17:45, the water is at 0.56 m. It first rises to 2.27 m at 23:20, then falls 1.86 m.",
        "What to do Nothing was found that the water asks for until then.",
        "Not for navigation.",
    ]
    places = [words.find(each) for each in wanted]
    assert -1 not in places, wanted[places.index(-1)]
    assert places == sorted(places)
    assert "safe" not in words.casefold()


def test_the_high_could_be_higher(office):
    """2.43 and 3.03; her deck 3.50 - 2.43 - 1.15 = -0.08: above the edge, and 0.68 with surge up."""
    plum(timber())
    words = page(office, at="2027-10-15T11:42")
    assert "11:42 (high)" in words
    assert "2.43 m above CD" in words
    assert "could be 3.03 m" in words
    assert "0.08 m above the dock edge; could be 0.68 m above" in words
    assert "4.80 m; could be 4.50 m" in words  # the depth could be less, whatever the hour


def test_between_turns_both_ends_are_told(office):
    """At 20:30 the demo's level is 1.43."""
    plum(timber())
    words = page(office, at="2027-10-14 20:30")
    assert "Thursday 14 October 20:30 1" not in words
    assert "1.43 m above CD (chart datum: zero of the tide table); could be 1.13 m to 2.03 m." in words
    assert "It rises 0.87 m." in words  # from 0.56


def test_days_ahead_the_way_there_is_told_by_its_ends(office):
    plum(timber())
    words = page(office, at="2027-10-17T12:49")
    assert re.search(
        r"There are \d+ highs and lows before; on the way it goes down to 0\.36 m \(Sun 06:46\)", words
    )


def test_when_she_touches_and_when_she_could(office):
    """Bed -1.20, draft 1.90: below 0.70 m from 04:04 to 07:13; with 0.30 of surge from 03:15 to 07:54. She comes at
    20:30, so the evening's low before is not hers."""
    berth = timber(code="Q3", bed_z=Decimal("-1.2"))
    plum(berth, draft="1.9", state="booked", arrive=local("14 20:30"), depart=local("16 12:30"))
    words = page(office, "Q3")
    assert "who comes 20:30, until Sat 12:30" in words
    assert "Under her keel 0.30 m too little; could be 0.60 m too little." in words
    assert re.search(r"STOP She touches Fri 04:0[345] to Fri 07:1[234], Fri 16:", words)
    assert re.search(r"she could touch Fri 03:1[456] to Fri 07:5[345], Fri 15:", words)
    assert "have her elsewhere before Fri 03:15. The harbour master decides." in words
    assert "18:39" not in words
    assert "She is not here at the time below." in page(office, "Q3", at="2027-10-14T19:00")


def test_touching_only_with_the_allowance_is_said_as_such(office):
    """Bed -1.40: 0.11 m over it at the low, and 0.19 too little with surge down."""
    plum(timber(bed_z=Decimal("-1.4")), draft="1.7")
    words = page(office)
    assert "She touches" not in words
    assert "FIX With the allowance for weather she could touch already to" in words  # 0.56 now, less 0.30


def test_a_boat_that_takes_the_ground_is_told_when(office):
    plum(timber(code="Q5", kind="drying", bed_z=Decimal("0.6")), draft="0.9", takes_ground=True)
    words = page(office, "Q5")
    assert "Q5 and under her keel dry; could be dry." in words
    assert "NOTE She takes the ground" in words
    assert "she lies on the ground" in words
    assert "stay with her until she has settled" in words
    assert "STOP" not in words


def test_the_flags_that_bite_before_then_are_shown_and_others_not(office):
    stay = plum(timber())
    flag = {"code": "hangs_her", "severity": "stop", "message": "She hangs.", "do": "Put on longer lines."}
    later = flag | {"message": "Not yet.", "from": local("20 05:00").isoformat()}
    make_tie_up(stay=stay, flags=[flag | {"from": local("15 04:00").isoformat()}, later])
    words = page(office)
    assert "STOP She hangs. from Fri 04:00 Do: Put on longer lines." in words
    assert "Not yet." not in words
    assert "Nothing was found" not in words


# --- what is not known -----------------------------------------------------------------------------------


def test_unknown_shows_as_unknown_and_never_as_nothing_found(office):
    plum(timber(bed_z=None), deck=None)
    words = page(office)
    assert "Depth at C4 and under her keel not known. Bed not known" in words
    assert "Under her keel not known" in words
    assert "deck at the cleat not known" in words
    assert "NOT KNOWN Whether she touches: the level of the bed is not known." in words
    assert "Nothing was found" not in words


def test_a_bed_nobody_sounded_is_said_once(office):
    plum(timber(bed_z=None, bed_kind="", sounded_on=None, sounded_by=""))
    words = page(office)
    assert "Nobody has sounded the bed" in words
    assert "Bed not known" not in words


def test_without_a_draft(office):
    plum(timber(), draft=None, draft_declared=None)
    words = page(office)
    assert "Her draught is not known." in words
    assert "Whether she touches: her draught is not known." in words


def test_without_an_allowance_nothing_is_made_up(office):
    plum(timber(water=at_sea(surge_up=None, surge_down=None, surge_reason="")))
    words = page(office)
    assert "0.41 m above CD (chart datum: zero of the tide table); surge not known." in words
    assert "House allowance not known." in words
    assert "NOT KNOWN Surge not known." in words
    assert "could be" not in words
    assert "Nothing was found" not in words


def test_piles_with_gaps_are_no_edge_to_step_from(office):
    """Face piles to 5.20 before a dock of 3.50: only the berth's own figure tells the edge."""
    berth = timber()
    Face.objects.filter(berths__berth=berth).update(continuous=False, top_z=Decimal("5.2"))
    plum(berth)
    assert "not known. Edge not known; deck at the cleat 1.15 m" in page(office)
    berth.edge_z = Decimal("3.5")
    berth.save()
    assert "1.94 m below the dock edge; could be 2.24 m below." in page(office)


def test_no_boat(office):
    timber()
    words = page(office)
    assert "No boat lies here or is booked" in words
    assert "2.80 m; could be 2.50 m" in words
    assert "keel" not in words


# --- floating, gated -------------------------------------------------------------------------------------


def floating(**fields):
    given = {"gangway_length": Decimal(14), "gangway_hinge_z": Decimal("4.5")} | fields
    berth = make_berth(kind="floating", code="A1", water=at_sea(), bed_z=Decimal("-2.4"), **given)
    Face.objects.filter(berths__berth=berth).update(top_z=Decimal("0.65"), underside_z=Decimal("-0.4"))
    return berth


def test_a_floating_dock_moves_with_her(office):
    """Hinge 4.50, dock 0.65 over 0.41: it rises 3.44 m on 14 m: 1 in 3.94; with surge down 3.74: 1 in 3.6."""
    plum(floating())
    words = page(office, "A1")
    assert (
        "Dock and boat move together. The gangway will be at 1 in 3.9, up from the dock at 05:40; could be 1 in 3.6."
        in words
    )
    assert "below the dock edge" not in words
    assert "rail" not in words


def test_a_gangway_nobody_measured(office):
    plum(floating(gangway_length=None))
    assert "The gangway will be at not known" in page(office, "A1")


@pytest.mark.parametrize("level", [0.0, 2.0, 3.0, 3.84, 4.5])
def test_gangway_by_pythagoras(level):
    berth = SimpleNamespace(gangway_length=Decimal(14), gangway_hinge_z=Decimal("4.5"))
    rise = 4.5 - level - 0.65
    found = gangway(berth, Edge(0.65, True), level)
    steep = sqrt(14**2 - rise**2) / abs(rise)
    if steep > 20:
        assert found.one_in is None
    else:
        assert steep - 0.1 < found.one_in <= steep
    assert found.up == (rise > 0)


def test_a_gangway_that_cannot_reach():
    berth = SimpleNamespace(gangway_length=Decimal(3), gangway_hinge_z=Decimal("4.5"))
    assert gangway(berth, Edge(0.65, True), 0.0) is None
    assert gangway(berth, Edge(None, True), 0.0) is None


def gated():
    outside = at_sea()
    inside = basin(outer=outside)
    inside.save()
    read(2.40, "14 17:45", water=inside).save()
    lowered(water=inside).save()
    return make_berth(kind="slip", code="B3", water=inside, bed_z=Decimal("-0.8"))


def test_behind_a_gate(office):
    """The basin falls to 1.60 on Friday at 06:00; boats pass while the sea is above 1.60 (20:52 to 01:54 by the
    demo's figures, a minute either way)."""
    plum(gated(), draft="1.6", deck="1.0")
    words = page(office, "B3")
    assert "B3 Friday 15 October 06:00" in words
    assert "1.60 m above CD" in words
    assert "Now, 17:45, the water is at 2.40 m. It falls 0.80 m." in words
    assert re.search(
        r"Boats pass the lock while Sea is above 1\.60 m \(its sill lies at -0\.70 m\): 20:5[123] to Fri 01:5[345]",
        words,
    )
    assert "06:00 1.60 m notice: lowered for work on the sill" in words
    assert "2.40 m; could be 2.20 m" in words  # depth 1.60 + 0.80, allowance 0.20


def test_a_gate_whose_passing_level_nobody_set(office):
    berth = gated()
    Water.objects.filter(pk=berth.water_id).update(passes_above=None)
    assert "NOT KNOWN When boats pass the gate: above which level of Sea they pass is not recorded." in page(
        office, "B3"
    )


def test_a_basin_never_read(office):
    berth = gated()
    Reading.objects.all().delete()
    Notice.objects.all().delete()
    plum(berth)
    words = page(office, "B3")
    assert "not known above CD" in words
    assert "NOT KNOWN The level of Inner basin now: not read." in words
    assert "No curve can be drawn" in words


# --- times -----------------------------------------------------------------------------------------------


def test_a_time_that_comes_twice_shows_the_first_and_leads_to_both(office):
    plum(timber())
    answer = office.get("/berths/C4/level/", {"at": "2027-10-31T01:30"})
    words = text(answer)
    assert "Sunday 31 October 01:30 (UTC+1)" in words
    assert "this time comes twice. Here is the first; go to 01:30 UTC+1 or 01:30 UTC." in words
    later = office.get("/berths/C4/level/?" + answer.context["twice"][1]["query"])
    assert "Sunday 31 October 01:30 (UTC)" in text(later)
    assert later.context["at"] - answer.context["at"] == timedelta(hours=1)
    assert 'type="text" id="at" name="at" value="2027-10-31 01:30+00:00"' in later.content.decode()


def test_the_day_of_25_hours_has_them_all(office):
    plum(timber())
    answer = office.get("/berths/C4/level/", {"at": "2027-10-31T12:00"})
    words = text(answer)
    assert "Sunday 31 October (a day of 25 hours: the clocks change)" in words
    assert "Sunday 31 October hour by hour: 25 hours" in words
    hours = [t for t, _ in answer.context["hours"]]
    assert len(hours) == 26
    assert "01:00 (UTC+1)" in words
    assert "01:00 (UTC)" in words
    assert "02:00 (" not in words
    assert "24:00" not in words


def test_the_day_of_23_hours(office):
    fix_clock(local("14 17:45").replace(year=2027, month=3, day=26))
    plum(timber(), arrive=NOW - days(300))
    words = page(office, at="2027-03-28T12:00")
    assert "Sunday 28 March (a day of 23 hours: the clocks change)" in words
    assert "00:00" in words
    assert re.search(r"00:00 -?\d\.\d\d m 02:00 ", words)  # 01:00 does not come


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("soon", "'soon' is no time"),
        ("2028-03-26T01:30", "does not come"),
        ("0001-01-01T00:00", "look at the year"),
    ],
)
def test_no_time(office, asked, words):
    plum(timber())
    answer = office.get("/berths/C4/level/", {"at": asked})
    assert answer.status_code == 422
    assert words in text(answer)
    assert "05:40 (low)" in text(answer)
    assert f'value="{asked}"' in answer.content.decode()


@pytest.mark.parametrize(
    "asked", ["2027-10-14T17:45", "2027-01-01T12:00", "2029-06-01T12:00", "2099-12-31T23:00"]
)
def test_past_and_far_away(office, asked):
    plum(timber())
    words = page(office, at=asked)
    assert "Between now and then" not in words
    assert "could be" in words


def test_past_the_end_of_a_table(office):
    rows = [["2027-10-14T16:33:00Z", 0.56], ["2027-10-14T22:19:00Z", 2.28], ["2027-10-15T04:40:00Z", 0.41]]
    water = at_sea(kind="table", station=None, table=rows, table_kind="extremes", low=None, high=None)
    plum(timber(water=water))
    words = page(office, at="2027-10-16T05:40")
    assert "NOT KNOWN The table ends on 15 October 2027, 04:40 UTC." in words
    assert "NOT KNOWN What the water does after Fri 05:40." in words
    assert "Nothing was found" not in words


# --- the picture and its table ---------------------------------------------------------------------------


def test_two_limits_are_drawn_and_tabled(office):
    """Rail level at 3.50 - 1.15 = 2.35; the high of 2.43 passes it, so does that of 2.38 and not the one of 2.27."""
    plum(timber(), depart=local("16 06:00"))
    answer = office.get("/berths/C4/level/")
    svg = str(answer.context["curves"][0])
    assert "keel touches: -0.60 m" in svg
    assert "rail level with dock edge: 2.35 m" in svg
    rows = [event.words for event in answer.context["events"]]
    assert rows.count("rail above the dock edge") == rows.count("rail below the dock edge") == 2
    assert "keel touches" not in rows
    assert "In this time the water stays above the level at which her keel touches." in text(answer)


def test_a_long_stay_is_drawn_in_pieces(office):
    plum(timber(), depart=NOW + days(30))
    answer = office.get("/berths/C4/level/")
    assert len(answer.context["curves"]) == 3
    assert answer.context["end"] - NOW == days(9)
    assert "Her stay goes on until Sat 13 Nov" in text(answer)


@pytest.mark.parametrize("length", [26, 39, 72])
@pytest.mark.parametrize(
    "limits", [(2.85, 0.70), (2.65, 0.35), (1.5, 1.4), (3.9, -1.0), (2.6, 2.7), (9.0, -9.0)], ids=str
)
def test_the_marks_of_limits_stand_clear(limits, length):
    """A tide from 0.4 to 2.6 m: no words on others, no disc on a turn's label, all inside the frame."""
    points, turns = tide(1.1, length=length, phase=3.0)
    pairs = [("rail level with dock edge", limits[0]), ("keel touches", limits[1])]
    drawing = water_curve(
        points, turns, points[0][0], HARBOUR, limits=pairs, stay=(points[0][0], points[9][0])
    )
    texts = [s for s in drawing.shapes if isinstance(s, Text)]
    assert [pair for pair in combinations(texts, 2) if overlap(*pair)] == []
    discs = [s for s in drawing.shapes if s.of.startswith("limit disc")]
    labels = drawing.of("turn plate")
    assert [pair for pair in product(discs, labels) if overlap(*pair)] == []
    near = [z for z in limits if -1.6 <= z <= 4.6]
    assert len(discs) == 2 * len(near)
    assert sum(" at " in sentence for sentence in drawing.sentences) == len(near)
    left, low, right, high = drawing.box
    for shape in drawing.shapes:
        u1, v1, u2, v2 = shape.bounds()
        assert (left <= u1 + 0.01, low <= v1 + 0.01, u2 <= right + 0.01, v2 <= high + 0.01) == (True,) * 4, (
            shape
        )


def test_a_limit_stands_at_its_level():
    """Midway between 0.5 and 2.5 m is 1.5 m: where the curve of a cosine crosses its mean."""
    points, turns = tide(1.0, mean=1.5)
    drawing = water_curve(points, turns, points[0][0], HARBOUR, limits=[("keel touches", 1.5)])
    (line,), (curve,) = drawing.of("limit keel touches"), drawing.of("water")
    heights = [v for _, v in curve.points]
    assert line.points[0][1] == line.points[1][1] == pytest.approx((min(heights) + max(heights)) / 2, abs=0.1)
    assert drawing.sentences[-1] == "Keel touches at 1.50 m."


# --- who sees what ---------------------------------------------------------------------------------------


class TestHolder:
    @pytest.fixture
    def mine(self, office, cast):
        """The holder's boat is booked at C4, where a stranger's lies until then; another lies at C5."""
        berth = timber()
        other = make_vessel(name="Loud Umbrella", owner=cast.stranger.owner)
        make_stay(vessel=other, berth=berth, state="fast", arrive=NOW - days(3), depart=NOW + days(1))
        stay = plum(
            berth, owner=cast.holder.owner, state="booked", arrive=NOW + days(1), depart=NOW + days(4)
        )
        theirs = make_stay(
            vessel=make_vessel(name="Wide Wednesday", owner=cast.stranger.owner),
            berth=timber(code="C5", water=berth.water),
            state="fast",
            arrive=NOW - days(3),
            depart=None,
        )
        office.force_login(cast.holder)
        return SimpleNamespace(client=office, stay=stay, other=other, theirs=theirs)

    def test_sees_the_own_boat_only(self, mine):
        words = page(mine.client)
        assert "Plum Halyard" in words
        assert "Loud Umbrella" not in words

    def test_another_berth_or_stay_is_not_there(self, mine):
        assert mine.client.get("/berths/C5/level/").status_code == 404
        other = mine.other.stays.get().pk
        for pk in (other, mine.theirs.pk, 999999):
            assert mine.client.get("/berths/C4/level/", {"stay": pk}).status_code == 404

    def test_flags_leave_others_out(self, mine):
        flag = {
            "code": "neighbour",
            "severity": "fix",
            "message": "Loud Umbrella is too near.",
            "do": "Move her.",
        }
        make_tie_up(stay=mine.stay, flags=[flag | {"from": NOW.isoformat()}])
        words = page(mine.client, at="2027-10-15T18:00")
        assert "Loud Umbrella" not in words
        assert "The harbour office has something to settle at this berth." in words

    def test_the_office_chooses_between_boats(self, mine, cast):
        mine.client.force_login(cast.harbourmaster)
        words = page(mine.client)
        assert "For Loud Umbrella" in words
        assert "For Plum Halyard" in page(mine.client, stay=mine.stay.pk)


@pytest.mark.parametrize("boats", [1, 6])
def test_queries(office, boats, django_assert_max_num_queries):
    berth = timber(raft_depth=6)
    for n in range(boats):
        make_tie_up(
            stay=make_stay(berth=berth, raft_place=n, state="fast", arrive=NOW - days(1), depart=None)
        )
    for n in range(boats):
        Fastening.objects.create(label=f"X{n}", kind="ring", east=0, north=n)
    with django_assert_max_num_queries(17):
        office.get("/berths/" + berth.code + "/level/")
