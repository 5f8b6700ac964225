"""Lengths in and out: no drift, the safer side, and refusals that tell what to write.

Closed forms: 1 in is 25.4 mm and 1 ft is 0.3048 m exactly (international yard and pound agreement, 1959); the
knot is 1852 m an hour (international nautical mile, 1929).
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marina.base.units import (
    ROUNDING,
    knots,
    metres_per_second,
    parse_length,
    show_force,
    show_length,
    show_strain,
    show_wind,
    write_length,
)

STORED = st.integers(-999_900_00, 999_900_00).map(lambda n: Decimal(n).scaleb(-4))  # every storable length
UNITS = st.sampled_from(["m", "ft"])


@given(STORED, UNITS)
def test_opening_and_saving_a_form_moves_no_digit(length, units):
    assert parse_length(write_length(length, units), units) == length


@given(st.integers(0, 300), st.integers(0, 11), st.integers(0, 15))
def test_feet_and_inches_come_back_as_they_were_written(feet, inches, sixteenths):
    text = write_length(parse_length(f"{feet} ft {inches} {sixteenths}/16 in"), "ft")
    assert text == write_length(parse_length(text), "ft")
    assert abs(parse_length(text) - (feet * 12 + inches + Decimal(sixteenths) / 16) * Decimal("0.0254")) <= (
        Decimal("0.00005")
    )


@given(STORED, UNITS, st.sampled_from(sorted(ROUNDING)))
def test_a_shown_length_is_rounded_once_and_to_the_safer_side(length, units, kind):
    text = show_length(length, kind, units)
    shown = Decimal(0) if text == "none" else parse_length(text, units)
    step = Decimal(ROUNDING[kind].metres) if units == "m" else ROUNDING[kind].inches * Decimal("0.0254")
    error = shown - length
    if kind == "margin":
        assert -step < error <= 0
    elif kind in ("size", "cut"):
        assert 0 <= error < step
    else:
        assert abs(error) <= step / 2
    if text != "none":  # what is shown is not rounded again
        assert show_length(shown, kind, units) == text


@given(STORED)
def test_a_float_is_shown_as_its_decimal(length):
    for kind in ROUNDING:
        assert show_length(float(length), kind) == show_length(length, kind)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("34 ft 6 in", "10.5156"),
        ("34'6\"", "10.5156"),
        ("34′ 6″", "10.5156"),
        ("34’ 6”", "10.5156"),
        ("34ft6in", "10.5156"),
        ("34 FT", "10.3632"),
        ("34.5 feet", "10.5156"),
        ("6 in", "0.1524"),
        ("5/8 in", "0.0159"),
        ("6 1/2 in", "0.1651"),
        ("34 ft 6½ in", "10.5283"),
        ("-1 ft 4 in", "-0.4064"),
        ("10.4", "10.4"),
        ("10,4 m", "10.4"),
        ("10.4m", "10.4"),
        (" 0.9 ", "0.9"),
        ("-2.4", "-2.4"),
        ("−2.4 m", "-2.4"),
        ("90 cm", "0.9"),
        ("16 mm", "0.016"),
        ("10 metres", "10"),
        ("34 ft 6", "10.5156"),
        ("34'6", "10.5156"),
        ("34' 6 1/2", "10.5283"),
    ],
)
def test_what_people_type(text, metres):
    assert parse_length(text) == Decimal(metres)


def test_a_bare_number_is_in_the_readers_units():
    assert parse_length("34.5", "ft") == Decimal("10.5156")
    assert parse_length("10.4 m", "ft") == Decimal("10.4")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "nothing is written"),
        ("about forty feet", "is no length"),
        ("nan", "is no length"),
        ("inf", "is no length"),
        ("1e3", "is no length"),
        ("1,234.5", "is no length"),
        ("1.234,5", "is no length"),
        ("10 4", "is no length"),
        ("34 6", "is no length"),
        ("5 1/2", "is no length"),
        ("1/2", "is no length"),
        ("ft", "is no length"),
        ("--3", "is no length"),
        ("34 ft 12 in", "write 35 ft 0 in"),
        ("34 ft 13 in", "write 35 ft 1 in"),
        ("34.5 ft 6 in", "not both"),
        ("3/0 in", "no part of an inch"),
        ("9/8 in", "no part of an inch"),
        ("10400", "decimal point and the unit"),
    ],
)
def test_what_is_refused_and_why(text, says):
    with pytest.raises(ValueError, match=says):
        parse_length(text)


@given(st.text(max_size=20), UNITS)
def test_no_text_brings_anything_but_a_length_or_a_refusal(text, units):
    try:
        assert abs(parse_length(text, units)) < 10_000
    except ValueError as refusal:
        assert "write" in str(refusal) or "look" in str(refusal) or "inch" in str(refusal)


@pytest.mark.parametrize(
    ("metres", "kind", "units", "text"),
    [
        (None, "size", "m", "not known"),
        (float("nan"), "margin", "m", "not known"),
        (0.049, "margin", "m", "none"),
        (0.04, "margin", "ft", "none"),
        (-0.01, "margin", "m", "-0.05 m"),
        (0.30000000000000004, "size", "m", "0.30 m"),
        (0.1 + 0.2, "margin", "m", "0.30 m"),
        (3.6575, "working", "ft", "12 ft 0 in"),  # 143.996 in: never 11 ft 12 in
        (8.525, "working", "m", "8.55 m"),
        (12.01, "cut", "m", "12.10 m"),
        (1.81, "size", "m", "1.85 m"),
        (0.4051, "level", "m", "0.41 m"),
        (-0.004, "level", "m", "0.00 m"),
    ],
)
def test_what_is_shown(metres, kind, units, text):
    assert show_length(metres, kind, units) == text


def test_speeds():
    assert knots(10.0) == pytest.approx(19.438)  # 10 m/s: 36,000 m an hour over 1852
    assert metres_per_second(20) == pytest.approx(10.28889, abs=1e-5)


@given(st.integers(0, 150))
def test_a_whole_knot_stays_that_knot(speed):
    assert show_wind(metres_per_second(speed)) == f"{speed} kn"
    assert show_wind(metres_per_second(speed + 0.9)) == f"{speed} kn"


def test_forces_and_stretch():
    assert [show_force(n) for n in (9_949, 9_951, 99_500, 25_000)] == ["9.9 kN", "10 kN", "100 kN", "25 kN"]
    assert show_force(float("nan")) == show_force(None) == show_strain(None) == "not known"
    assert show_strain(0.374) == "37 %"
