"""What the engine writes in metres and its own words, as each reader is told it: no figure in another's units."""

import re
from pathlib import Path

import numpy as np
import pytest

from berths import tieup as engine
from berths.cards.words import Reader
from berths.saying import named, say, with_numbers
from berths.selectors.standing import mark_of
from berths.tieup import tie_up
from berths.tieup.verdict import LineResult
from tests.berths.test_planted import worked_out  # noqa: F401
from tests.demo_harbour import wendlow  # noqa: F401
from tests.engine import berthings
from tests.engine.test_flags import short_stern_lines

UK, US, METRES_US = Reader(), Reader(units="ft", words="us"), Reader(words="us")
IN_METRES = re.compile(r"\d m\b|\d kN\b|\d t\b|m/s")
NOT_US = re.compile(r"\bdraught|\bpiles?\b|\bharbour|\bneighbour|\bpontoon|\bjetty")
NOT_UK = re.compile(r"\bdraft\b|\bpiling|\bharbor|\bneighbor")


# --- to which side a figure goes ---


@pytest.mark.parametrize(
    ("written", "metres", "feet"),
    [
        # what is left goes down: to 5 cm and to 2 in
        ("only 0.29 m left under her keel", "only 0.25 m left under her keel", "only 0 ft 10 in left under her keel"),
        ("her cleat is 0.49 m below the top of P1", "her cleat is 0.45 m below the top of P1", "her cleat is 1 ft 6 in below the top of P1"),
        ("the depth is 2.39 m", "the depth is 2.35 m", "the depth is 7 ft 10 in"),
        # what is lacking, and what she measures, goes up: to 5 cm and to 1 in
        ("it is 0.31 m too short", "it is 0.35 m too short", "it is 1 ft 1 in too short"),
        ("0.13 m too wide", "0.15 m too wide", "0 ft 6 in too wide"),
        ("for a draft of 1.81 m", "for a draught of 1.85 m", "for a draft of 6 ft 0 in"),
        ("she reaches 0.09 m past the end of the berth", "she reaches 0.10 m past the end of the berth", "she reaches 0 ft 4 in past the end of the berth"),
        # rope that is to be put on goes up to what is cut
        ("put on 9 m, or lead it", "put on 9 m, or lead it", "put on 30 ft 0 in, or lead it"),
        # a level, and what no rule knows, goes to the nearest
        ("at 0.42 m above datum", "at 0.42 m above datum", "at 1 ft 5 in above datum"),
        ("at -0.25 m above datum", "at 0.25 m below datum", "at 0 ft 10 in below datum"),
        ("a thing of 1.27 m that nobody foresaw", "a thing of 1.27 m that nobody foresaw", "a thing of 4 ft 2 in that nobody foresaw"),
        # a margin of nothing is said as such
        ("only 0.04 m of her side is against face", "none of her side is against face", "none of her side is against face"),
        ("only 0.03 m left under her keel", "nothing left under her keel", "nothing left under her keel"),
        ("guide piles end 0.03 m above the hoops", "guide piles end level with the hoops", "guide pilings end level with the hoops"),
        # two figures with one unit
        ("springs of 6.8 to 12.9 m can be had", "springs of 6.8 to 12.9 m can be had", "springs of 22 ft 4 in to 42 ft 4 in can be had"),
        ("she can move 0.96 -> 1.34 m", "she can move 1.00 to 1.35 m", "she can move 3 ft 2 in to 4 ft 5 in"),
        # forces as a weight too, and what stands behind them in one pair of brackets
        ("D1 takes 20.8 kN (c1); 20.0 kN may be used", "D1 takes 21 kN (2.1 t; c1); 20 kN (2.0 t) may be used", "D1 takes 4,700 lb (c1); 4,500 lb may be used"),
        ("a stream of 0.5 m/s", "a stream of 1.0 kn", "a stream of 1.0 kn"),
        ("12 mm is too thick", "12 mm is too thick", "12 mm is too thick"),
    ],
)  # fmt: skip
def test_a_figure_goes_to_the_side_on_which_it_does_no_harm(written, metres, feet):
    assert say(written, UK) == metres
    assert say(written, US) == feet


def test_an_hour_follows_the_clock_of_the_house():
    assert say("from Fri 05:28 till 13:00", Reader(clock="12")) == "from Fri 5:28 a.m. till 1:00 p.m."
    assert say("from Fri 05:28", UK) == "from Fri 05:28"


# --- words ---


@pytest.mark.parametrize(
    ("kind", "uk", "us"),
    [
        ("floating", "the pontoon leaves its piles", "the dock leaves its pilings"),
        ("slip", "the jetty leaves its piles", "the dock leaves its pilings"),
        ("fixed", "the jetty leaves its piles", "the dock leaves its pilings"),
        ("quay", "the quay leaves its piles", "the sea wall leaves its pilings"),
        (None, "the dock leaves its piles", "the dock leaves its pilings"),
    ],
)
def test_a_dock_is_called_what_it_is_called_there(kind, uk, us):
    assert say("the dock leaves its piles", UK, kind=kind) == uk
    assert say("the dock leaves its piles", US, kind=kind) == us


def test_a_name_is_nobodys_to_translate():
    told = "the boat Draft Horse at Dock Row: her draft is not known"
    assert say(told, UK) == "the boat Draft Horse at Dock Row: her draught is not known"
    assert say("usual for dock lines", UK, kind="fixed") == "usual for dock lines"
    assert say("", UK) == "" and say(None, UK) == ""


def test_a_line_is_told_by_its_number_on_the_page_else_its_tag_else_its_ends():
    row = LineResult(
        id="L4", order=2, role="stern", boat_fitting="stern_port", shore_fitting="D1", leads="aft", stops=""
    )
    other = row.model_copy(update={"id": "x", "tag": "WH-042", "order": 3, "shore_fitting": "D2"})
    told = "line L4 (stern port to D1) may part; line WH-042 (stern port to D2) holds; when it does, L4 parts with it"
    said = say(told, UK)
    assert said.startswith(
        "the line from her port stern cleat to D1 may part; line WH-042 (port stern cleat to D2) holds"
    )
    assert with_numbers(said, [row, other]) == (
        "line 2 (port stern cleat to D1) may part; line 3 (port stern cleat to D2; WH-042) holds; "
        "when it does, line 2 parts with it"
    )
    assert named("nothing to lead a bow_port line to") == "nothing to lead a port bow line to"


# --- whatever the engine writes ---


def every_text(verdict):
    """All that a page may show of a result in words of the engine."""
    yield verdict.summary.why
    for flag in every_flag(verdict.flags):
        yield from (flag.message, flag.do, flag.rests_on)
    for row in verdict.lines:
        yield row.why
    for row in verdict.summary.one_line_lost:
        yield row.then
    if choice := verdict.choice:
        yield from (*choice.pruned, *choice.failed_limits, *choice.mend)
        yield from (other.difference for other in choice.next)


def every_flag(flags):
    return [inner for flag in flags for inner in (flag, *every_flag(flag.under))]


def results():
    """Berths a harbour would build, and as many ways of spoiling them as there are flags of the engine."""
    random = np.random.default_rng(7)
    for kind in ("slip", "fixed", "floating"):
        for _ in range(6):
            yield tie_up(berthings.scenario(berthings.sensible(random, kind)), stands=False)
    for changes in (
        {"lines": short_stern_lines()},
        {"boat__draft": None, "berth__bed_z": None, "berth__length": None, "berth__clear_width": None},
        {"boat__draft": 4.0, "boat__loa": 14.0, "berth__clear_width": 3.0},
        {"water__surge_down": None, "water__low": None, "water__high": None},
    ):
        yield tie_up(berthings.scenario(berthings.slip(**changes)), stands=False)
    for changes in ({"water__low": -3.0, "water__high": 6.0}, {"berth__bed_z": 1.0}):
        for make in (berthings.fixed, berthings.floating):
            yield tie_up(berthings.scenario(make(**changes)), stands=False)


def test_no_text_of_the_engine_is_left_in_another_readers_units_or_words():
    texts = {text for verdict in results() for text in every_text(verdict) if text}
    assert len(texts) > 100 and any(" kN" in t for t in texts) and any("draft" in t for t in texts)
    for text in sorted(texts):
        in_feet = say(text, US, kind="fixed")
        assert not IN_METRES.search(in_feet) and not NOT_US.search(in_feet), (text, in_feet)
        in_metres = say(text, UK, kind="floating")
        assert not NOT_UK.search(in_metres) and " ft" not in in_metres, (text, in_metres)
        assert "_" not in in_metres or re.search(r"\w_\w", text), text


@pytest.mark.django_db
def test_nor_is_any_that_the_demonstration_shows(worked_out):  # noqa: F811
    texts = [t for _, verdict in worked_out.values() if verdict for t in every_text(verdict) if t]
    assert texts
    for text in texts:
        assert not IN_METRES.search(say(text, US, kind="slip")), text
        assert not NOT_US.search(say(text, US, kind="slip")), text


def test_no_unit_is_written_by_the_engine_that_is_not_known_here():
    """A new unit in a message is given its place in `berths.saying` before this list grows."""
    known = {"m", "kN", "kn", "mm", "%", "m/s", "kg", "N", "t", None}
    words = {"to", "of", "x", "and", "/", "a", "on", "at", "or", "for", "the"}
    for file in Path(engine.__file__).parent.glob("*.py"):
        for found in re.finditer(r"\{[^{}]*:[,.\d]*[fgd]\}(?:\"\s*f?\")?\s?([A-Za-z/%]+)?", file.read_text()):
            short = found[1] is None or len(found[1]) <= 3  # units are short words
            assert not short or found[1] in known | words, (file.name, found[0])


def test_what_she_weighs_is_said_in_pounds_where_feet_are_read():
    told = "21.8 kN up at 0.40 m, 39 % of her own 5.7 t (line L1 (stern port to D1))"
    assert (
        say(told, US)
        == "4,900 lb up at 1 ft 4 in, 39 % of her own 13,000 lb (the line from her port stern cleat to D1)"
    )
    assert say(told, UK).startswith("22 kN (2.2 t) up at 0.40 m, 39 % of her own 5.7 t (")


def test_what_was_kept_is_not_changed_by_being_said():
    flag = {
        "code": "x",
        "severity": "fix",
        "message": "0.31 m too short",
        "do": "put on 9 m",
        "rests_on": "draft (R-1)",
    }
    before = dict(flag)
    mark = mark_of(flag, said=lambda text: say(text, US))
    assert (mark.message, mark.do, mark.rests_on) == ("1 ft 1 in too short", "put on 30 ft 0 in", "draft")
    assert flag == before
