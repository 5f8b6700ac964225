"""What the sentence says that compares two sets: something that differs, or that nothing does."""

import re
from types import SimpleNamespace as Thing

import numpy as np
import pytest

from berths.tieup import compare, tie_up
from berths.tieup.choose import Entry
from tests.engine import berthings


def pick(shore, lead=6.0, strength=30_000.0, boat="bow_port"):
    named = Thing(id=shore, strength=strength)
    return Thing(
        boat=Thing(id=boat), shore=named, run=Thing(lead=lead), key=f"{boat} to {shore}", role="bow_port"
    )


def entry(shore, length=8.0, use=None, peak=0.1, moves=0.5, springs=0.0, **more):
    return Entry(
        (pick(shore, **more),), 1.0, [Thing(length=length)], springs, use or {"alongside": 0.3}, peak, moves
    )


def said(mine, other):
    return compare.one_line(mine.picks[0], mine, other, other.picks[0], loa=10.0)


def test_a_difference_that_rounds_to_nothing_is_not_told():
    text = said(entry("P1", peak=0.0975), entry("P2", peak=0.1025, moves=0.9))
    assert text == "P1 rather than P2: she can move 0.90 -> 0.50 m"


@pytest.mark.parametrize(
    ("mine", "other", "told"),
    [
        (entry("P1", length=8.0), entry("P2", length=9.5), "rope in all 9.5 -> 8.0 m"),
        (entry("P1"), entry("P2", use={"alongside": 0.55}), "press on her fenders 55 -> 30 % of what it may"),
        (entry("P1"), entry("P2", strength=None), "fastenings of unknown strength 1 -> 0"),
        (
            entry("P1", use={"line": 0.9}),
            entry("P2", use={"line": 1.2}),
            "keeps what the other breaks (pull on a line)",
        ),
    ],
)
def test_the_next_thing_that_differs_is_told(mine, other, told):
    assert said(mine, other) == f"P1 rather than P2: {told}"


@pytest.mark.parametrize(
    ("mine", "other", "told"),
    [
        (entry("P1"), entry("P2"), "as good; P1 taken because it comes first by name"),
        (entry("P1", moves=0.501), entry("P2", moves=0.504), "as good; P1 taken for a hair less movement"),
        (entry("P1", springs=0.0), entry("P2", springs=1.5), "as good; P1 taken for springs 1.5 m longer"),
    ],
)
def test_two_that_are_as_good_say_which_was_taken_and_why(mine, other, told):
    assert said(mine, other) == f"P1 rather than P2: {told}"


@pytest.mark.parametrize("kind", ["slip", "fixed", "floating"])
def test_no_sentence_of_a_recommendation_gives_the_same_figure_twice(kind):
    """Berths drawn at random: every 'a -> b' differs as it is read."""
    for seed in range(3):
        data = berthings.sensible(np.random.default_rng(seed), kind)
        verdict = tie_up(berthings.scenario(data), stands=False)
        texts = [line.why for line in verdict.lines] + [a.difference for a in verdict.choice.next]
        pairs = [pair for text in texts for pair in re.findall(r"([\d.]+) -> ([\d.]+)", text)]
        assert all(a != b for a, b in pairs)
