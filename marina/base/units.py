"""Lengths, speeds and forces as people read and write them. Pure: no Django, no settings.

Inside everything is SI and lengths are decimals to 0.1 mm. Rounding happens on the way out only and, where
one side is the safer, goes to that side; what a form shows for editing (`write_length`) is not rounded, so
that opening and saving a form never moves a stored digit, in feet as in metres.
"""

import math
import re
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction
from typing import NamedTuple

INCH = Decimal("0.0254")  # m, exactly (international yard and pound agreement of 1959)
FOOT = 12 * INCH
KNOT = Decimal(1852) / 3600  # m/s: the international nautical mile an hour
STEP = Decimal("0.0001")  # m: what is stored


class Rounding(NamedTuple):
    """Step in metres, step in inches, direction."""

    metres: str
    inches: int
    towards: str


# What a length is decides to which side it is rounded. Steps: common practice, no source.
ROUNDING = {
    "working": Rounding("0.05", 1, ROUND_HALF_UP),  # working length of a line
    "cut": Rounding("0.10", 6, ROUND_CEILING),  # length to cut
    "margin": Rounding("0.05", 2, ROUND_FLOOR),  # depth, clearance, width to spare
    "size": Rounding("0.05", 1, ROUND_CEILING),  # length, beam, draft of a boat
    "level": Rounding("0.01", 1, ROUND_HALF_UP),  # water level on the level page
    "ruler": Rounding("0.10", 6, ROUND_HALF_UP),  # water level on the card's ruler
}


def show_length(metres, kind, units="m", *, bare=False):
    """A length as a reader sees it.

    Parameters
    ----------
    metres : Decimal, float, int or None
        Length. [m]
    kind : str
        Key of `ROUNDING`: what the length is.
    units : {"m", "ft"}
    bare : bool
        Without the unit, for a column that names it once.

    Returns
    -------
    str
        'not known' for None or NaN, 'none' for a margin that rounds to zero.

    Examples
    --------
    >>> show_length(9.4751, "size"), show_length(0.3499, "margin"), show_length(0.04, "margin")
    ('9.50 m', '0.30 m', 'none')
    >>> show_length(3.6575, "working", "ft"), show_length(-0.4, "margin", "ft")
    ('12 ft 0 in', '-1 ft 4 in')
    """
    if _unknown(metres):
        return "not known"
    step = ROUNDING[kind]
    # What is stored is taken, not the tail of a float: 0.30000000000000004 is 0.3 and not a step more.
    value = _decimal(metres).quantize(STEP, ROUND_HALF_EVEN)
    if units == "ft":
        inches = int((value / (INCH * step.inches)).to_integral_value(step.towards)) * step.inches
        if kind == "margin" and inches == 0:
            return "none"
        return _feet(inches)
    rounded = (value / Decimal(step.metres)).to_integral_value(step.towards) * Decimal(step.metres)
    if kind == "margin" and rounded == 0:
        return "none"
    return f"{rounded + 0:.2f}" + ("" if bare else " m")


def _feet(inches):
    sign, inches = ("-" if inches < 0 else ""), abs(inches)
    return f"{sign}{inches // 12} ft {inches % 12} in"


def _unknown(value):
    return value is None or math.isnan(value)


def _decimal(value):
    return value if isinstance(value, Decimal) else Decimal(str(value))


def write_length(metres, units="m"):
    """A stored length as a form shows it for editing; `parse_length` gives exactly the same length back.

    Examples
    --------
    >>> write_length(Decimal("10.4"), "m"), write_length(Decimal("10.5156"), "ft")
    ('10.40', '34 ft 6 in')
    >>> write_length(Decimal("0.9398"), "ft"), write_length(Decimal("10.4"), "ft")
    ('3 ft 1 in', '34 ft 1.449 in')
    """
    if metres is None:
        return ""
    value = _decimal(metres).quantize(STEP, ROUND_HALF_EVEN)
    if units == "m":
        short = value.quantize(Decimal("0.01"))
        return str(short if short == value else value.normalize())
    sign, value = ("-" if value < 0 else ""), abs(value)
    sixteenths = int((value / INCH * 16).to_integral_value(ROUND_HALF_EVEN))
    if (INCH * sixteenths / 16).quantize(STEP, ROUND_HALF_EVEN) == value:
        feet, rest = divmod(sixteenths, 12 * 16)
        whole, part = divmod(rest, 16)
        return f"{sign}{feet} ft {whole}{f' {Fraction(part, 16)}' if part else ''} in"
    thousandths = int((value / INCH * 1000).to_integral_value(ROUND_HALF_EVEN))
    feet, rest = divmod(thousandths, 12_000)
    return f"{sign}{feet} ft {Decimal(rest).scaleb(-3).normalize():f} in"


NUMBER = r"\d+(?:[.,]\d+)?"
INCHES = rf"(?:(?P<in>{NUMBER})(?:\s+(?P<fr>\d+/\d+))?|(?P<only>\d+/\d+))"
FEET = re.compile(
    rf"(?P<sign>[-+]?)\s*(?:(?P<ft>{NUMBER})\s*(?:ft|feet|foot|')\.?)?\s*-?\s*"
    rf"(?:{INCHES}\s*(?P<mark>in|inches|inch|\"|'')?\.?)?"
)
METRES = re.compile(rf"(?P<sign>[-+]?)\s*(?P<number>{NUMBER})\s*(?P<unit>m|metres?|meters?|cm|mm)?\.?")
PER_METRE = {"cm": 100, "mm": 1000}
GREATEST = Decimal(10_000)  # m; the columns hold five digits before the point


def parse_length(text, units="m"):
    """A length as a person types it, in metres to 0.1 mm.

    A bare number is in the reader's own units; what follows feet is inches, with or without their mark. A comma
    is a decimal comma; more than one mark is refused, for '1,234.5' may mean two things.

    Parameters
    ----------
    text : str
    units : {"m", "ft"}
        What a bare number means.

    Returns
    -------
    Decimal
        Length. [m]

    Raises
    ------
    ValueError
        With a sentence for the person who typed it.

    Examples
    --------
    >>> parse_length("34 ft 6 in"), parse_length("34'6\\""), parse_length("10,4 m"), parse_length("5/8 in")
    (Decimal('10.5156'), Decimal('10.5156'), Decimal('10.4000'), Decimal('0.0159'))
    >>> parse_length("34 ft 13 in")
    Traceback (most recent call last):
        ...
    ValueError: '34 ft 13 in': 13 inches are more than a foot; write 35 ft 1 in
    """
    given, tidy = f"'{text}'", _tidy(text)
    if not tidy:
        raise ValueError("nothing is written; write for instance 10.4 m or 34 ft 6 in")
    if found := METRES.fullmatch(tidy):
        number = Decimal(found["number"].replace(",", "."))
        in_feet = units == "ft" and not found["unit"]
        metres = number * FOOT if in_feet else number / PER_METRE.get(found["unit"], 1)
    elif (found := FEET.fullmatch(tidy)) and (found["ft"] or found["mark"]):
        metres = _from_feet(found, given)
    else:
        raise ValueError(f"{given} is no length; write for instance 10.4 m or 34 ft 6 in")
    if metres >= GREATEST:
        raise ValueError(
            f"{given} is longer than anything in a harbour; look at the decimal point and the unit"
        )
    with localcontext(prec=28):
        return (-metres if found["sign"] == "-" else metres).quantize(STEP, ROUND_HALF_EVEN) + 0


def _tidy(text):
    """One kind of each mark: typographic quotes, primes and minus signs come from phones."""
    for marks, plain in (("′’‘´`", "'"), ("″”“", '"'), ("−–", "-"), ("\u00a0\u202f", " ")):
        for mark in marks:
            text = text.replace(mark, plain)
    text = text.replace("½", " 1/2").replace("¼", " 1/4").replace("¾", " 3/4")
    return " ".join(text.lower().split())


def _from_feet(found, given):
    feet = Decimal((found["ft"] or "0").replace(",", "."))
    inches = Decimal((found["in"] or "0").replace(",", "."))
    for part in (found["fr"], found["only"]):
        if part:
            above, below = map(int, part.split("/"))
            if below == 0 or above >= below:
                raise ValueError(f"{given}: {part} is no part of an inch")
            inches += Decimal(above) / below
    if found["ft"] and inches >= 12:
        more, rest = divmod(inches, 12)
        raise ValueError(
            f"{given}: {inches.normalize():f} inches are more than a foot; "
            f"write {(feet + more).normalize():f} ft {rest.normalize():f} in"
        )
    if found["ft"] and inches and feet != int(feet):
        raise ValueError(f"{given}: write either a part of a foot or inches, not both")
    return feet * FOOT + inches * INCH


def knots(metres_per_second):
    """Speed in knots, as a float. [kn]

    >>> knots(5.1444)
    10.0
    """
    return round(float(metres_per_second) / float(KNOT), 3)


def metres_per_second(knots):
    """Speed from knots, as a float. [m/s]

    >>> metres_per_second(20)
    10.2889
    """
    return float(knots) * float(KNOT)


def show_wind(speed):
    """A wind at which something fails or until which it holds, down to a whole knot.

    speed : metres a second, or None.

    >>> show_wind(15.4), show_wind(None)
    ('29 kn', 'not known')
    """
    if _unknown(speed):
        return "not known"
    # A thousandth of a knot is added: 30 kn that went through m/s and floats stay 30 kn.
    return f"{int(float(speed) / float(KNOT) + 0.001)} kn"


def show_force(newtons):
    """A tension or strength to two figures.

    >>> show_force(12_345), show_force(940), show_force(149_000), show_force(0.4)
    ('12 kN', '0.94 kN', '150 kN', '0 kN')
    """
    if _unknown(newtons):
        return "not known"
    kilo = float(newtons) / 1000
    if abs(kilo) < 0.005:
        return "0 kN"
    two = float(f"{kilo:.1e}")
    digits = 0 if abs(two) >= 10 else 1 if abs(two) >= 1 else 2
    return f"{two:.{digits}f} kN"


POUND = 4.4482216  # N: the pound-force
TONNE = 9806.65  # N: the weight of a tonne


def show_weight(newtons, units="m"):
    """The weight that pulls as hard, to two figures: what a force is to somebody who never felt a kilonewton.

    >>> show_weight(21_800), show_weight(940), show_weight(21_800, "ft"), show_weight(40)
    ('2.2 t', '96 kg', '4,900 lb', '4.1 kg')
    """
    if _unknown(newtons):
        return "not known"
    kilos = float(f"{float(newtons) / TONNE * 1000:.1e}")
    if units == "ft":
        return f"{float(f'{float(newtons) / POUND:.1e}'):,.0f} lb"
    if kilos < 1000:
        return f"{kilos:.0f} kg" if kilos >= 10 or kilos == 0 else f"{kilos:g} kg"
    return f"{kilos / 1000:.{1 if kilos < 10_000 else 0}f} t"


def show_exactly(value, unit, units="m"):
    """A figure of a working, which is not rounded to what can be measured, in the reader's units.

    Parameters
    ----------
    value : float
    unit : str
        Of the value: m, N, N m, m2, m/s, kg/m3, or '1' for a bare number.
    units : {"m", "ft"}

    Examples
    --------
    >>> show_exactly(3.4123, "m"), show_exactly(3.4123, "m", "ft"), show_exactly(1234.5, "N", "ft")
    ('3.412 m', '11 ft 2.3 in', '278 lb')
    >>> show_exactly(15.433, "m/s"), show_exactly(2.5, "m2", "ft"), show_exactly(0.04321, "1")
    ('15.43 m/s (30.0 kn)', '26.9 sq ft', '0.04321')
    """
    if _unknown(value):
        return "not known"
    value = float(value)
    if unit == "m/s":
        value = 0.0 if abs(value) < 0.005 else value  # a wind from dead abeam blows nothing along her
        kn = f"{value / float(KNOT):.1f} kn"
        return kn if units == "ft" else f"{value:.2f} m/s ({kn})"
    if unit == "1":
        return f"{value:.4g}"
    if unit == "m" and units == "ft":
        tenths = round(abs(value) / float(INCH) * 10)
        return f"{'-' if value < 0 < tenths else ''}{tenths // 120} ft {tenths % 120 / 10:.1f} in"
    if units == "ft" and unit in _IN_FEET:
        factor, unit, digits = _IN_FEET[unit]
    else:
        factor, unit, digits = 1.0, unit.replace("m2", "m²").replace("m3", "m³"), _DIGITS.get(unit, 3)
    return f"{value / factor:,.{digits}f} {unit}".replace("-0 ", "0 ")


_DIGITS = {"m": 3, "N": 0, "N m": 0, "m2": 2, "kg/m3": 3}
_IN_FEET = {
    "N": (POUND, "lb", 0),
    "N m": (POUND * float(FOOT), "ft lb", 0),
    "m2": (float(FOOT) ** 2, "sq ft", 1),
    "kg/m3": (0.45359237 / float(FOOT) ** 3, "lb/cu ft", 4),
}


def show_strain(strain):
    """A stretch to one per cent.

    >>> show_strain(0.243)
    '24 %'
    """
    return "not known" if _unknown(strain) else f"{round(100 * float(strain))} %"
