"""When a line is done: the published figures, each with its ID, and what must not raise it."""

import pytest

from vessels import wear
from vessels.wear import Found, judge

# Seven used nylon dock lines, 10 to 12 years old, against their strength when new (R-RET-5). [lbf]
OLD_DOCK_LINES = [
    (1893, 7500, 25),
    (1892, 7500, 25),
    (3493, 12000, 29),  # the print says 28; 3,493 / 12,000 is 29.1
    (6105, 12000, 51),
    (5861, 16500, 36),
    (6288, 16500, 38),
    (5678, 16500, 34),
]
CLEAN = {zone: [] for zone in wear.ZONES}


def advice(**found):
    return judge(Found(**{"zones": CLEAN} | found)).advice


@pytest.mark.parametrize(("broke", "new", "left"), OLD_DOCK_LINES)
def test_every_one_of_the_seven_old_dock_lines_is_retired(broke, new, left):
    """R-RET-5, R-RET-6: Practical Sailor, break tests of old dock lines."""
    assert 100 * broke / new == pytest.approx(left, abs=1)
    judged = judge(Found(zones=CLEAN, strength_found=broke, strength_new=new))
    assert judged.advice == "retire"
    assert "R-RET-1" in judged.why[0].source
    assert f"{left} % of its strength is left" in judged.why[0].reason


def test_three_quarters_of_its_strength_is_the_least():
    """R-RET-1: exact threshold."""
    assert advice(strength_found=7499, strength_new=10000) == "retire"
    assert advice(strength_found=7500, strength_new=10000) == "keep"
    assert advice(strength_found=None, strength_new=10000) == "keep"


def test_the_house_may_ask_for_more_strength():
    found = Found(zones=CLEAN, strength_found=7800, strength_new=10000)
    assert judge(found).advice == "keep"
    assert judge(found, least_left=0.8).advice == "retire"


def test_more_than_a_tenth_of_the_diameter_lost_is_an_end():
    """R-RET-2: exact threshold; a tenth exactly is not yet more than a tenth."""
    assert advice(diameter_new=16, diameter_found=14.3) == "retire"
    assert advice(diameter_new=16, diameter_found=14.4) == "keep"
    assert advice(diameter_new=None, diameter_found=14.1) == "keep"
    assert "R-RET-2" in judge(Found(diameter_new=16, diameter_found=14.1)).why[0].source


def test_a_line_without_a_readable_tag_is_for_light_use_and_with_a_doubt_for_the_bin():
    """R-RET-3: remove, or treat as unknown."""
    assert advice(tag_readable=False) == "light_use"
    assert advice(tag_readable=False, zones=CLEAN | {"shore": ["fuzz"]}) == "retire"
    assert advice(tag_readable=True, zones=CLEAN | {"shore": ["fuzz"]}) == "shift"
    assert "whether its tag can be read" in judge(Found(zones=CLEAN)).not_known


@pytest.mark.parametrize("zone", wear.ZONES)
@pytest.mark.parametrize("end", ["melted", "flat_hard", "cut_strand", "grit", "hockle"])
def test_other_published_grounds(end, zone):
    """R-RET-4."""
    judged = judge(Found(zones=CLEAN | {zone: [end]}))
    assert judged.advice == "retire"
    assert "R-RET-4" in judged.why[0].source


def test_heavy_fuzz_over_most_of_its_length_is_an_end():
    """R-RET-4: fuzz along most of the length; four zones of six stand for that, common practice, no source."""
    heavy = {zone: ["heavy_fuzz"] for zone in ("eye", "chock", "shore", "cleat")}
    assert advice(zones=CLEAN | heavy) == "retire"
    heavy.pop("eye")
    assert advice(zones=CLEAN | heavy) == "turn"


def test_polypropylene_in_the_sun_goes_early():
    """R-RET-8: 10 to 20 % a year; after three years at the lower end 73 % is left."""
    assert advice(material="polypropylene", years=3) == "retire"
    assert advice(material="polypropylene", years=2) == "keep"
    assert advice(material="polypropylene", years=3, kept_for="store") == "keep"
    assert advice(material="nylon_3strand", years=3) == "keep"


def test_one_pull_above_three_quarters_of_its_strength():
    """R-RET-9."""
    assert advice(greatest_pull=7600, strength_new=10000) == "retire"
    assert advice(greatest_pull=7500, strength_new=10000) == "keep"
    assert advice(shock=True) == "retire"
    assert advice(shock=False) == "keep"
    assert "whether it was ever loaded near breaking" in judge(Found(zones=CLEAN)).not_known


def test_lengthening():
    """R-RET-10: 4 to 6 % is bedding-in, 10 % means overload."""
    assert advice(length_new=10, length_found=10.6) == "keep"
    assert advice(length_new=10, length_found=10.7) == "light_use"
    assert advice(length_new=10, length_found=11.0) == "retire"


def test_age_alone_asks_for_a_look_and_not_for_the_bin():
    """R-RET-5 and R-RET-7 beside it; the limit by use is common practice, no source."""
    judged = judge(Found(zones=CLEAN, years=11))
    assert (judged.advice, judged.why[0].reason) == ("keep", "11 years old: look more often.")
    assert wear.looks_again_sooner(Found(years=11))
    assert not wear.looks_again_sooner(Found(years=2))
    assert "R-RET-7" in judge(Found(zones=CLEAN, years=2.5)).findings[0].source


@pytest.mark.parametrize(
    ("zone", "seen", "asked"),
    [
        ("eye", "cut_yarns", "shorten"),
        ("chock", "fuzz", "shift"),
        ("shore", "heavy_fuzz", "turn"),
        ("free", "cut_yarns", "light_use"),
        ("free", "fuzz", "keep"),
    ],
)
def test_milder_advice_by_zone(zone, seen, asked):
    """Common practice, no source."""
    assert advice(zones=CLEAN | {zone: [seen]}) == asked


def test_every_kind_of_wear_has_a_rule_for_every_zone():
    for zone in wear.ZONES:
        for seen in wear.WEAR:
            assert advice(zones={zone: [seen]}) in wear.ORDER


def test_what_nobody_looked_at_is_named():
    judged = judge(Found(zones={"eye": []}))
    assert judged.advice == "keep"
    assert "not looked at: free length" in judged.not_known
    assert "diameter not measured" in judged.not_known
