"""Flags that the records tell and the engine cannot: two lengths of one boat, a level nobody has read lately.

They have the fields of the engine's flags and are joined with them where a stay's standing is read.
"""

from datetime import timedelta
from decimal import Decimal

from django.db.models import F, OuterRef, Subquery

from berths.models import Reading, Stay
from berths.models.water import WaterKind
from marina.base import clock, house


def record_columns(stay=""):
    """What the flags look at, as columns of a query; `stay` is the way to the stay from there, with '__'."""
    read_at = Reading.objects.filter(water=OuterRef(f"{stay}berth__water")).order_by("-at").values("at")[:1]
    return {
        "read_at": Subquery(read_at),
        "declared": F(f"{stay}vessel__loa_declared"),
        "measured": F(f"{stay}vessel__loa_measured"),
        "measured_by": F(f"{stay}vessel__loa_measured_by"),
        "measured_on": F(f"{stay}vessel__loa_measured_on"),
        "water_kind": F(f"{stay}berth__water__kind"),
        "water_name": F(f"{stay}berth__water__name"),
    }


def flags_of_records(row):
    """Flags of a row with these columns, as plain data like the stored flags."""
    rules = house.rules()
    return [*_lengths(row, rules), *_level(row, rules)]


def flags_of_stays(ids):
    """{stay id: flags} for stays that nothing else was read of; no query where there are none."""
    rows = Stay.objects.filter(pk__in=ids).values("pk", **record_columns()) if ids else []
    return {row["pk"]: flags_of_records(row) for row in rows}


def differs(measured, declared, rules):
    """Whether two lengths differ by more than the house allows; exactly that much is not yet a difference."""
    return abs(measured - declared) > Decimal(str(rules["length_differs"]))


def _lengths(row, rules):
    if row["measured"] is None:
        words = f"Never measured here: declared + {rules['doubt']:g} % used."
        yield _flag(
            "length_differs", "note", words, "Measure her over everything.", "measured length", known=False
        )
    elif row["declared"] is not None and differs(row["measured"], row["declared"], rules):
        who = ", ".join(
            filter(
                None, (row["measured_by"], f"{row['measured_on']:%-d %B %Y}" if row["measured_on"] else "")
            )
        )
        words = (
            f"Measured {row['measured']:.2f} m over everything{f' ({who})' if who else ''}, declared "
            f"{row['declared']:.2f} m: fees, berth and lines rest on two different boats."
        )
        yield _flag("length_differs", "note", words, "Agree one figure with the owner.", "both lengths")


def _level(row, rules):
    """A water that no prediction tells is known by its last reading; without any its level is shown as unknown."""
    read_at = row["read_at"]
    if row["water_kind"] != WaterKind.LIMITS or read_at is None:
        return
    age = clock.now() - read_at
    if age > timedelta(days=rules["level_age"]):
        words = (
            f"Level of {row['water_name']} was last read {age.days} days ago: the window may be too narrow."
        )
        yield _flag("level_old", "fix", words, "Read the gauge and enter it.", "readings")


def _flag(code, severity, message, do, rests_on, *, known=True):
    state = "raised" if known else "not_known"
    return {
        "code": code,
        "severity": severity,
        "state": state,
        "message": message,
        "do": do,
        "rests_on": rests_on,
    }
