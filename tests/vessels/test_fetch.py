"""Which line from which hook: what serves, what never does, and that no cheaper assignment exists."""

from dataclasses import replace
from datetime import date
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vessels import rope
from vessels.fetch import UNMET, UNMET_IF_WANTED, Need, Rope, assign, cost, serves, thickest_for

NYLON = "nylon_3strand"
NEED = Need("1", working=9.5, cut=11.2, diameter=14, material=NYLON, bears=20_000, thickest=17.0)
GOOD = Rope("WH-7", total=12.0, diameter=14, material=NYLON, strength=31_000, eyes="one", place="hook 4")


def need(**fields):
    return replace(NEED, **fields)


def good(tag="WH-7", **fields):
    return replace(GOOD, tag=tag, **fields)


class TestWhatServes:
    def test_it_says_by_how_much_it_is_longer(self):
        assert serves(NEED, GOOD).spare == 0.8
        assert serves(NEED, GOOD).compromises == ()

    def test_with_its_whole_length_unknown_its_band_counts_against_the_working_length(self):
        assert serves(NEED, good(total=None, working=9.9)).spare == 0.4

    @pytest.mark.parametrize(
        ("fields", "why"),
        [
            ({"total": 11.1}, "0.10 m too short"),
            ({"total": None}, "its length is not known"),
            ({"diameter": None}, "its diameter is not known"),
            ({"strength": None}, "its strength is not known"),
            ({"strength": 23_000}, "too weak"),  # 0.85 wet (R-ROPE-14): 19 550 N
            ({"diameter": 18}, "18 mm is too thick for the cleats"),
            ({"material": "polypropylene"}, "polypropylene"),
            ({"material": "hmpe"}, "never alone"),
            ({"hers": "another"}, "another boat's"),
        ],
    )
    def test_what_never_serves(self, fields, why):
        assert why in serves(NEED, good(**fields)).refused

    def test_wet_strength_counts(self):
        """R-ROPE-14: wet nylon keeps 0.85 of its dry strength."""
        assert not serves(NEED, good(strength=20_000 / 0.85)).refused
        assert serves(NEED, good(strength=20_000 / 0.85 - 1)).refused == "too weak"

    def test_the_cleats_take_what_was_worked_out_for_them(self):
        """What the cleats are too short for was said where it was worked out; no line is refused for it here."""
        assert not serves(need(diameter=18, thickest=17), good(diameter=18)).refused

    def test_a_stiff_rope_is_a_compromise_and_less_of_one_along_her(self):
        """The stiff one takes the load: common practice, no source (R-CP-19)."""
        stiff = good(material="polyester_braid")
        across, along = serves(need(role="bow"), stiff), serves(need(role="spring_aft"), stiff)
        assert "stretches less" in across.compromises[0]
        assert along.weight < across.weight

    def test_three_strand_beside_braid_of_nylon_is_none(self):
        assert serves(NEED, good(material="nylon_braid")).compromises == ()

    @pytest.mark.parametrize(
        ("fields", "words"),
        [
            ({"diameter": 12}, "wears faster"),
            ({"diameter": 16}, "stretches less"),
            ({"material": ""}, "is not known"),
            ({"eyes": "none"}, "no eye"),
            ({"storm": True}, "storm gear"),
            ({"drying": True}, "to dry"),
            ({"doubts": ("never inspected: look at it end to end",)}, "never inspected"),
        ],
    )
    def test_compromises_in_words(self, fields, words):
        found = serves(NEED, good(**fields))
        assert not found.refused
        assert words in " ".join(found.compromises)

    def test_a_thicker_line_on_a_cleat_nobody_measured(self):
        assert "not known" in " ".join(serves(need(thickest=None), good(diameter=16)).compromises)
        assert not serves(need(thickest=None), good()).compromises

    def test_cleats(self):
        """R-CLEAT-1: a cleat is 16 diameters long."""
        assert thickest_for(16 * 0.014) >= 14
        assert thickest_for(0.25, None) is None


class TestWhichIsOffered:
    def test_the_shortest_that_suffices(self):
        ropes = [good("A", total=20.0), good("B", total=12.0), good("C", total=14.0)]
        assert assign([NEED], ropes)[0].rope.tag == "B"

    def test_the_first_line_does_not_take_what_only_serves_the_second(self):
        long, short = need(id="1", cut=11.9), need(id="2", cut=9.0)
        offers = assign([short, long], [good("A", total=12.0), good("B", total=20.0, storm=True)])
        assert [o.rope.tag for o in offers] in (["A", "B"], ["B", "A"])
        offers = assign([short, long], [good("A", total=12.0), good("B", total=10.0)])
        assert [o.rope.tag for o in offers] == ["B", "A"]

    def test_fewest_compromises_before_metres(self):
        assert assign([NEED], [good("A", diameter=16), good("B", total=30.0)])[0].rope.tag == "B"

    def test_her_own_before_one_that_is_lent(self):
        own = good("own", total=19.0, hers="she", lent=False)
        assert assign([need(whom="she")], [good("A"), own])[0].rope.tag == "own"

    def test_what_is_out_to_her_stays(self):
        out = good("out", total=19.0, hers="she", lent=False, out=True, diameter=16)
        own = good("own", hers="she", lent=False)
        assert assign([need(whom="she")], [good("A"), own, out])[0].rope.tag == "out"

    def test_the_oldest_good_one_for_a_short_stay(self):
        old, new = good("B", since=date(2019, 4, 1)), good("A", since=date(2026, 4, 1))
        assert assign([NEED], [new, old])[0].rope.tag == "B"
        assert assign([NEED], [good("A"), old])[0].rope.tag == "B"

    def test_age_never_beats_length(self):
        old, new = good("B", since=date(1995, 4, 1), total=12.2), good("A", since=date(2026, 4, 1))
        assert assign([NEED], [new, old])[0].rope.tag == "A"

    def test_what_is_barred_is_said_and_never_offered(self):
        offer = assign([NEED], [good(barred="in quarantine")])[0]
        assert offer.rope is None
        assert offer.barred == (("WH-7", "in quarantine"),)

    def test_what_is_barred_and_would_not_serve_is_not_mentioned(self):
        assert assign([NEED], [good(barred="RETIRED", total=4.0)])[0].barred == ()

    def test_what_to_fetch_instead(self):
        away = good("C", place="empty berth C7")
        offer = assign([NEED], [good("A", total=11.0)], [good("B", total=5.0), away])[0]
        assert offer.fetch == "11.5 m of 14 mm, nylon three-strand"
        assert offer.nearest is away
        assert offer.lacking == "A is 0.20 m too short"

    def test_a_line_only_if_wanted_yields(self):
        wanted = need(id="2", optional=True)
        offers = assign([wanted, NEED], [good()])
        assert [o.rope and o.rope.tag for o in offers] == [None, "WH-7"]

    def test_nothing_asked_for(self):
        assert assign([], [good()]) == []


some_need = st.builds(
    need,
    id=st.just("n"),
    cut=st.sampled_from([6.0, 8.0, 10.0, 12.0]),
    diameter=st.sampled_from([12, 14, 16]),
    thickest=st.sampled_from([None, 14.0, 17.0]),
    role=st.sampled_from(["bow", "spring_aft"]),
    optional=st.booleans(),
    whom=st.sampled_from(["", "she"]),
)
some_rope = st.builds(
    good,
    tag=st.just("R"),
    total=st.sampled_from([None, 7.0, 8.3, 10.0, 12.1, 20.0]),
    working=st.sampled_from([None, 9.5]),
    diameter=st.sampled_from([None, 12, 14, 16, 18]),
    material=st.sampled_from([*rope.MATERIALS, ""]),
    strength=st.sampled_from([None, 22_000, 40_000]),
    since=st.sampled_from([None, date(2015, 1, 1), date(2025, 1, 1)]),
    hers=st.sampled_from([None, None, "she"]),
    lent=st.booleans(),
    storm=st.booleans(),
    out=st.booleans(),
    barred=st.sampled_from(["", "", "", "RETIRED"]),
)


def price(needs, ropes, chosen, short):
    """Of an assignment {index of need: index of rope}."""
    total = 0.0
    for i, one in enumerate(needs):
        if (j := chosen.get(i)) is None:
            total += UNMET_IF_WANTED if one.optional else UNMET
        else:
            total += cost(one, serves(one, ropes[j]), ropes[j], short=short)
    return total


@settings(max_examples=150, deadline=None)
@given(needs=st.lists(some_need, max_size=4), ropes=st.lists(some_rope, max_size=4), short=st.booleans())
def test_no_cheaper_assignment_exists(needs, ropes, short):
    """Against every way there is, tried one by one."""
    ropes = [replace(r, tag=f"R{n}") for n, r in enumerate(ropes)]
    offers = assign(needs, ropes, short=short)
    ours = {i: ropes.index(o.rope) for i, o in enumerate(offers) if o.rope}
    assert len(set(ours.values())) == len(ours)
    assert all(
        not o.rope.barred and not serves(n, o.rope).refused
        for n, o in zip(needs, offers, strict=True)
        if o.rope
    )
    seats = [*range(len(ropes)), *[None] * len(needs)]
    ways = set(permutations(seats, len(needs)))
    least = min(
        price(needs, ropes, {i: j for i, j in enumerate(way) if j is not None}, short) for way in ways
    )
    assert price(needs, ropes, ours, short) == pytest.approx(least, abs=1e-6)
