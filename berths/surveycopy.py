"""The survey of a berth repeated along the pier: what would be written, to be looked at before it is.

What one can see from the dock goes along: sizes, heights, what is what. What has to be found out at each place
anew (the bed, strength, condition, when it was checked) goes along only where a person says it is the same.
"""

import re
from copy import copy
from dataclasses import dataclass, field, replace
from decimal import Decimal

from django.core.exceptions import ValidationError

from berths.lying import END_ON
from berths.models import Berth, Fastening
from berths.selectors.survey import lies_on, places
from berths.surveysheet import SAME_PLACE, Survey, Written
from berths.taping import Corner, distance

CLOSE = Decimal(1)  # m: two of a kind nearer than this, and not the same, are worth a second look
TAIL = re.compile(r"^(.*?)(\d+)$")
IN_LINE = Decimal(
    "0.05"
)  # m a long face may lean from the line of the dock and still be that of the next berth
SOUNDED = {"bed_z": None, "bed_kind": "", "sounded_on": None, "sounded_by": ""}
FOUND_OUT = {
    "strength": None,
    "strength_basis": "",
    "condition": "",
    "last_checked": None,
    "checked_by": "",
    "note": "",
}


@dataclass
class Copies:
    """What would be written.

    surveys : list of Survey
    shared : list of (code of the berth, name there, label or code and name of what it shares)
    close : sentences on what would stand oddly near to another of its kind, or lie on another berth
    standing : fastenings that stand along the stretch already
    """

    surveys: list = field(default_factory=list)
    shared: list = field(default_factory=list)
    close: list = field(default_factory=list)
    standing: list = field(default_factory=list)

    @property
    def new(self):
        return sum(not row.recorded for survey in self.surveys for row in survey.fastenings)


def codes_from(first, number):
    """Codes counted up from the first.

    >>> codes_from("B09", 3), codes_from("Q", 1)
    (['B09', 'B10', 'B11'], ['Q'])
    """
    if number == 1:
        return [first]
    found = TAIL.match(first)
    if not found:
        raise ValidationError(
            {"first": f"{first} ends in no number that could be counted up; write for instance B7."}
        )
    stem, digits = found.groups()
    codes = [f"{stem}{int(digits) + n:0{len(digits)}d}" for n in range(number)]
    if max(map(len, codes)) > Berth._meta.get_field("code").max_length:
        raise ValidationError({"first": f"{codes[-1]} is longer than 12 signs."})
    return codes


def next_code(code):
    """The code after this one that no berth has; empty where it ends in no number."""
    found = TAIL.match(code)
    if not found:
        return ""
    taken = {known.lower() for known in Berth.objects.values_list("code", flat=True)}
    stem, digits = found.groups()
    number = int(digits) + 1
    while f"{stem}{number:0{len(digits)}d}".lower() in taken:
        number += 1
    return f"{stem}{number:0{len(digits)}d}"


def copies(berth, *, number, pitch, side, first, same_bed=False, same_strength=False):
    """Repeat a berth along its dock.

    Parameters
    ----------
    berth : Berth
    number : int
    pitch : Decimal
        From one berth to the next. [m]
    side : {"right", "left"}
        As one looks out over the water.
    first : str
        Code of the first; the rest are counted up.

    Raises
    ------
    ValidationError
        Where the codes cannot be had.
    """
    codes = codes_from(first, number)
    wanted = {code.lower() for code in codes}
    taken = Berth.objects.values_list("code", flat=True)
    if twins := sorted(code for code in taken if code.lower() in wanted):
        raise ValidationError({"first": f"There is a berth of that code already: {', '.join(twins[:6])}."})
    step = pitch if side == "right" else -pitch
    corner = Corner.of(berth)
    rows = list(berth.fastenings.select_related("fastening").order_by("code"))
    faces = list(berth.faces.select_related("face").order_by("code"))
    standing = _standing(corner, rows, step * number)
    made, there_are = Copies(standing=[thing for _, _, thing, _ in standing]), places(berth.pk)
    for n, code in enumerate(codes, start=1):
        shift = _Shift(corner, step * n)
        one = Survey(shift.berth(berth, code, same_bed))
        one.fastenings = [_fastening(row, shift, code, standing, made, same_strength) for row in rows]
        one.faces = [_face(row, shift, berth) for row in faces]
        made.surveys.append(one)
        if there := lies_on(shift.moved, berth.length, there_are):
            made.close.insert(0, f"{code} would lie on {', '.join(there)}.")
    return made


class _Shift:
    """Everything so far along the dock."""

    def __init__(self, corner, along):
        east, north = corner.place(along, 0)
        self.corner, self.along = corner, along
        self.moved = replace(corner, east=east, north=north)
        self.by = east - corner.east, north - corner.north

    def place(self, east, north):
        return east + self.by[0], north + self.by[1]

    def berth(self, berth, code, same_bed):
        new = copy(berth)
        new.pk, new._state = None, type(berth._state)()
        new._prefetched_objects_cache = {}
        new.code, new.note = code, ""
        new.east, new.north = self.place(berth.east, berth.north)
        if berth.power_east is not None and berth.power_north is not None:
            new.power_east, new.power_north = self.place(berth.power_east, berth.power_north)
        for name, value in SOUNDED.items():
            if not same_bed:
                setattr(new, name, value)
        return new


def _standing(corner, rows, farthest):
    """Fastenings along the stretch, those of the berth itself too: (kind, place, thing, how it is called)."""
    points = [(row.fastening.east, row.fastening.north) for row in rows]
    shift = _Shift(corner, farthest)
    points += [shift.place(*point) for point in points]
    if not points:
        return []
    east, north = zip(*points, strict=True)
    near = Fastening.objects.filter(
        east__range=(min(east) - CLOSE, max(east) + CLOSE),
        north__range=(min(north) - CLOSE, max(north) + CLOSE),
    )
    return [(f.kind, (f.east, f.north), f, f.label) for f in near.order_by("label")]


def _fastening(row, shift, code, standing, made, same_strength):
    """The same fastening farther along: what stands there already is shared, else a new one."""
    it = row.fastening
    place = shift.place(it.east, it.north)
    near = [(distance(place, at), thing, label) for kind, at, thing, label in standing if kind == it.kind]
    off, thing, label = min(near, key=lambda found: found[0], default=(CLOSE, None, ""))
    if off < SAME_PLACE:
        made.shared.append((code, row.code, label))
        return Written(None, thing, row.code, row.words, recorded=True)
    if off < CLOSE:
        made.close.append(f"{row.code} of {code} would stand {off:.2f} m from {label}.")
    new = copy(it)
    new.pk, new._state = None, type(it._state)()
    new.east, new.north = place
    new.in_use = True
    for name, value in FOUND_OUT.items():
        if not same_strength or name == "note":
            setattr(new, name, value)
    standing.append((new.kind, place, new, f"{code}/{row.code}"))
    return Written(None, new, row.code, row.words)


def _face(row, shift, berth):
    """A face that reaches along the new berth already is shared, else it is repeated."""
    it = row.face
    (a1, o1), (a2, o2) = shift.corner.taped(it.east1, it.north1), shift.corner.taped(it.east2, it.north2)
    wide = 2 * shift.corner.to_middle if berth.kind in END_ON else berth.length
    reaches = min(a1, a2) <= shift.along + IN_LINE and max(a1, a2) >= shift.along + wide - IN_LINE
    if reaches and abs(o1 - o2) <= IN_LINE:
        return Written(None, it, row.code, recorded=True)
    new = copy(it)
    new.pk, new._state = None, type(it._state)()
    new.east1, new.north1 = shift.place(it.east1, it.north1)
    new.east2, new.north2 = shift.place(it.east2, it.north2)
    return Written(None, new, row.code)
