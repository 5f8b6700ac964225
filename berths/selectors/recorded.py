"""Flags that the records tell and the engine cannot: two lengths of one boat, the wrong side, a stay that is over, a raft.

They have the fields of the engine's flags and are joined with them where a stay's standing is read.
"""

from datetime import timedelta
from decimal import Decimal

from django.db.models import Count, F, OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce

from berths.lying import END_ON
from berths.models import MadeFast, MadeFastLine, Reading, Stay
from berths.models.water import WaterKind
from berths.selectors.linerecords import CONDEMNED, condemned
from marina.base import clock, house

SHORE_LINES = 2  # of an outer boat's own: common practice, no source


def record_columns(stay=""):
    """What the flags look at, as columns of a query; `stay` is the way to the stay from there, with '__'."""
    read_at = Reading.objects.filter(water=OuterRef(f"{stay}berth__water")).order_by("-at").values("at")[:1]
    newest = MadeFast.objects.filter(stay=OuterRef(f"{stay}pk")).order_by("-at", "-id")
    of_line = (
        MadeFast.objects.filter(stay=OuterRef(OuterRef(f"{stay}pk"))).order_by("-at", "-id").values("pk")[:1]
    )
    raft = Stay.objects.filter(berth=OuterRef(f"{stay}berth"), state="fast")
    inside = raft.filter(raft_place__lt=OuterRef(f"{stay}raft_place")).order_by("-raft_place")
    ashore = (
        MadeFastLine.objects.filter(made_fast=Subquery(of_line), shore_end__isnull=False)
        .order_by()
        .values("made_fast")
        .annotate(n=Count("pk"))
        .values("n")
    )
    condemned = MadeFastLine.objects.filter(made_fast=Subquery(of_line), line__state__in=CONDEMNED).order_by(
        "number"
    )
    return {
        "state_now": F(f"{stay}state"),
        "kind_of_berth": F(f"{stay}berth__kind"),
        "side_planned": F(f"{stay}side_to"),
        "told_side": F(f"{stay}side_told"),
        "side_fast": Subquery(newest.values("side_to")[:1]),
        "fast_as_planned": Subquery(newest.values("as_planned")[:1]),
        "fast_condemned": Subquery(condemned.values("line__tag")[:1]),
        "fast_condemned_as": Subquery(condemned.values("line__state")[:1]),
        "short_ends": F(f"{stay}short_until"),
        "departs": F(f"{stay}depart"),
        "place_in_raft": F(f"{stay}raft_place"),
        "weight": F(f"{stay}vessel__displacement"),
        "weight_inside": Subquery(inside.values("vessel__displacement")[:1]),
        "ashore": Subquery(ashore[:1]),
        "raft_beam": Subquery(
            raft.order_by()
            .values("berth")
            .annotate(b=Sum(Coalesce("vessel__beam_measured", "vessel__beam_declared")))
            .values("b")[:1]
        ),
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
    told = [*_lengths(row, rules), *_level(row, rules)]
    if row["state_now"] == "fast":
        told += [*_side(row), *_over(row), *_raft(row, rules)]
    if row["fast_condemned"]:
        told.append(
            condemned(row["fast_condemned"], row["fast_condemned_as"], "is recorded as made fast on her")
        )
    return told


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


def _side(row):
    """Which side touches, against the plan and against what she was told."""
    planned, found = row["side_planned"], row["side_fast"] or ""
    if found and planned and "either" not in (found, planned) and found != planned:
        words = f"She lies {found} side to, planned was {planned}: pedestal, gate and fenders may be on the wrong side."
        severity = "note" if row["fast_as_planned"] else "fix"
        yield _flag("wrong_side", severity, words, "Plan her for this side, or turn her.", "side to, plan")
    elif (
        row["told_side"]
        and planned
        and "either" not in (row["told_side"], planned)
        and row["told_side"] != planned
    ):
        words = f"She was told {row['told_side']} side to, planned is {planned}: fenders and lines may be on the wrong side."
        yield _flag(
            "wrong_side", "note", words, "Tell her, or plan her for that side.", "side to, what she was told"
        )
    elif not planned and not found and row["kind_of_berth"] not in END_ON:
        words = "Side to not recorded."
        yield _flag("wrong_side", "note", words, "Look which side touches.", "side to", known=False)


def _over(row):
    """A short stop's allowance used up, or a stay past its end."""
    now, short, ends = clock.now(), row["short_ends"], row["departs"]
    if short is not None and short < now:
        words = f"Her short stop ended {_ago(now - short)} ago: short lines now count as what they are."
        yield _flag("stay_over", "fix", words, "Tie her for the stay, or move her.", "end of the short stop")
    elif ends is not None and ends < now:
        words = f"Her stay ended {_ago(now - ends)} ago: her lines were worked out for water until then."
        yield _flag(
            "stay_over", "fix", words, "Enter that she has left, or how long she stays.", "end of the stay"
        )


def _ago(span):
    minutes = int(span.total_seconds() // 60)
    return (
        f"{minutes} min"
        if minutes < 90
        else f"{minutes // 60} h"
        if minutes < 2880
        else f"{minutes // 1440} days"
    )


def _raft(row, rules):
    """A boat outside another: lines of her own ashore, lighter, not too many, not too broad in all."""
    if not row["place_in_raft"]:
        return
    limits, faults = rules["H11"], []
    if row["place_in_raft"] >= limits["deep"]:
        faults.append(f"she is boat {row['raft_place'] + 1} of a raft where {limits['deep']} may lie")
    if row["raft_beam"] is not None and row["raft_beam"] > limits["beam"]:
        faults.append(f"the raft is {row['raft_beam']:.1f} m broad, {limits['beam']:g} m may be")
    if row["ashore"] is not None and row["ashore"] < SHORE_LINES:
        faults.append(f"{row['ashore']} of her lines go ashore, {SHORE_LINES} are asked for")
    if None not in (row["weight"], row["weight_inside"]) and row["weight"] > row["weight_inside"]:
        faults.append("she is heavier than the boat inside her")
    do = f"Lines of her own ashore, the heavier boat inside; break the raft up above {limits['wind']:g} kn."
    if faults:
        words = f"Raft: {'; '.join(faults)}: the inner boat's cleats carry all."
        yield _flag("raft_load", "fix", words, do, "order of the raft, weights, lines ashore")
    elif None in (row["ashore"], row["weight"], row["weight_inside"], row["raft_beam"]):
        words = "Weights, beams or lines ashore of the raft are not recorded."
        yield _flag("raft_load", "fix", words, do, "order of the raft, weights, lines ashore", known=False)


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
