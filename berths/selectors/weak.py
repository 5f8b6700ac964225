"""Weak spots of the docks: what berths and fastenings lack, whoever lies there.

They come from the survey alone, so they show on an empty berth too. What nobody surveyed is named as not known.
"""

from collections import defaultdict
from dataclasses import dataclass, replace

from django.db.models import Q

from berths.models import Berth, BerthFastening
from berths.saying import say
from berths.selectors.standing import WORDS
from marina.base import house
from marina.base.units import show_length

SURVEYED = ("code", "kind", "water_id", "bed_z", "guide_pile_top_z", "hoop_height")
TOLD = ("label", "in_use", "condition", "strength")
BAD = ("loose", "rotten")


@dataclass(frozen=True)
class Fault:
    """What is wrong with one berth or fastening; equal faults of a pier share a row."""

    kind: str  # stop, fix, not_known, note: as flags have it
    message: str
    do: str = ""

    @property
    def word(self):
        return WORDS[self.kind]


@dataclass
class Weak:
    place: str
    fault: Fault


ORDER = ("stop", "fix", "not_known", "note")


def weak_spots(spans, reader):
    """All weak spots, worst first, one row for all berths of a pier with the same fault. Two queries.

    Parameters
    ----------
    spans : dict
        Water's pk -> WaterSpan, as `selectors.water.harbour_waters` gives.
    reader : Reader
    """
    highest = {pk: span.highest_ever for pk, span in spans.items()}
    found = defaultdict(list)  # (pier, fault) -> codes
    for berth in Berth.objects.filter(in_use=True).select_related("pier").only("pier", *SURVEYED):
        for fault in faults_of_berth(berth, highest.get(berth.water_id), reader):
            found[berth.pier, fault].append(berth.code)
    for link in _doubtful_fastenings():
        found[link.berth.pier, fault_of_fastening(link.fastening)].append(link.berth.code)
    rows = sorted(found.items(), key=lambda row: (ORDER.index(row[0][1].kind), row[0][0].walking_order))
    return [Weak(f"{pier}, {codes_in_words(codes)}", fault) for (pier, fault), codes in rows]


def faults_of_berth(berth, highest, reader):
    """What the survey of a berth lacks or warns of; `highest`: the highest water with surge, or None. [m]"""
    faults = [_guide_piles(berth, highest, reader)] if berth.kind == "floating" else []
    if berth.bed_z is None:
        faults.append(Fault("not_known", "Depth not known.", "Sound it and enter the level of the bed."))
    return [_said(fault, reader, berth.kind) for fault in faults if fault]


def _said(fault, reader, kind=None):
    """A fault in the reader's words."""
    return fault and replace(
        fault, message=say(fault.message, reader, kind=kind), do=say(fault.do, reader, kind=kind)
    )


def _guide_piles(berth, highest, reader):
    """A dock that rises over its piles leaves with all its boats."""
    if berth.guide_pile_top_z is None or berth.hoop_height is None or highest is None:
        return Fault(
            "not_known",
            "How high the dock may rise on its piles is not known: do not count on it in a surge.",
            "Measure the pile tops and the hoop above water; set the water's surge.",
        )
    left = float(berth.guide_pile_top_z) - float(berth.hoop_height) - highest
    if left <= 0:
        by = show_length(-left, "level", reader.units)
        return Fault(
            "stop",
            f"At the highest water with surge the dock stands {by} over its pile tops.",
            "Move the boats off; tell the engineer.",
        )
    if left < house.value("pile_top_spare"):
        by = show_length(left, "level", reader.units)
        return Fault(
            "note",
            f"Pile tops {by} above the hoop at the highest water with surge.",
            "In a storm, move the boats off in good time.",
        )
    return None


def _doubtful_fastenings():
    doubtful = Q(fastening__in_use=False) | Q(fastening__condition__in=BAD) | Q(fastening__strength=None)
    return (
        BerthFastening.objects.filter(doubtful, berth__in_use=True)
        .select_related("fastening", "berth__pier")
        .only("code", "berth__code", "berth__pier", *(f"fastening__{name}" for name in TOLD))
        .order_by("berth__walking_order", "code")
    )


def fault_of_fastening(fastening):
    """What is wrong with a fastening, or None; its label is the harbour's own."""
    if not fastening.in_use:
        return Fault("note", f"{fastening.label} is out of use.", "Make nothing fast to it.")
    if fastening.condition in BAD:
        return Fault(
            "fix", f"{fastening.label} is {fastening.condition}.", "Make nothing fast to it; have it mended."
        )
    if fastening.strength is None:
        return Fault(
            "not_known",
            "Strength of fastenings not known.",
            "Have a licensed engineer say what they bear, and enter it.",
        )
    return None


def codes_in_words(codes):
    """Berth codes as they are said.

    >>> codes_in_words(["A7", "A8", "A9", "A10", "A11", "A12"]), codes_in_words(["A7", "A9"])
    ('A7 to A12', 'A7, A9')
    """
    codes = list(dict.fromkeys(codes))
    numbers = [int("".join(filter(str.isdigit, code)) or 0) for code in codes]
    if len(codes) > 2 and abs(numbers[-1] - numbers[0]) == len(codes) - 1:
        return f"{codes[0]} to {codes[-1]}"
    return ", ".join(codes) if len(codes) <= 6 else f"{codes[0]} and {len(codes) - 1} more"
