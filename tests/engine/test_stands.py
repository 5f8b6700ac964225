"""Over what water and up to what wind a set stands: just inside every limit is kept, just outside one is not."""

import pytest

from berths.tieup import tie_up
from tests.engine import berthings
from tests.engine.test_flags import short_stern_lines

WIND = {"wind_speeds": [10.0], "wind_from_deg": [30.0 * i for i in range(12)]}


@pytest.fixture(scope="module")
def planned():
    return tie_up(berthings.scenario(berthings.slip(weather=WIND)))


def found(planned, **changes):
    return tie_up(
        berthings.scenario(berthings.slip(lines=berthings.as_found(planned), weather=WIND, **changes)),
        stands=False,
    )


def test_the_water_it_stands_covers_the_stay_and_ends_where_a_limit_breaks(planned):
    low, high = planned.stands.water
    assert low.level <= 1.4 and high.level >= 3.0
    for end, outward in ((low, -0.02), (high, 0.02)):
        at = {"water__surge_down": 0.0, "water__surge_up": 0.0}
        inside = found(planned, water__low=end.level, water__high=end.level + 1e-3, **at)
        outside = found(planned, water__low=end.level + outward, water__high=end.level + outward + 1e-3, **at)
        assert inside.summary.holds_to == pytest.approx(10.0)
        assert outside.summary.holds_to is None or outside.summary.holds_to < 10.0


def test_the_wind_it_fails_in_is_just_above_the_one_it_stands(planned):
    worst = planned.stands.weakest
    assert worst is not None and worst.speed > 10.0 and worst.limit and worst.line
    level = {
        "water__low": worst.level,
        "water__high": worst.level + 1e-3,
        "water__surge_down": 0.0,
        "water__surge_up": 0.0,
    }
    for speed, holds in ((worst.speed, True), (worst.speed + 0.2, False)):
        wind = {"wind_speeds": [speed], "wind_from_deg": [worst.from_deg]}
        data = berthings.slip(lines=berthings.as_found(planned), **level)
        verdict = tie_up(berthings.scenario({**data, "weather": wind}), stands=False)
        assert (verdict.summary.holds_to == pytest.approx(speed)) is holds


def test_shorter_lines_stand_less_water(planned):
    """The product's first promise, as numbers: every line 3 % shorter and the span of water shrinks."""
    shorter = [{**line, "length": 0.97 * line["length"]} for line in berthings.as_found(planned)]
    short = tie_up(berthings.scenario(berthings.slip(lines=shorter, weather=WIND)))
    span = planned.stands.water[1].level - planned.stands.water[0].level
    assert short.stands.water is None or short.stands.water[1].level - short.stands.water[0].level < span


def test_a_set_that_hangs_her_now_stands_no_water():
    verdict = tie_up(
        berthings.scenario(berthings.slip(lines=short_stern_lines(), water__now=1.4, weather=WIND))
    )
    assert verdict.stands.water is None
