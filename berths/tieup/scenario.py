"""What the engine is asked: one berth, one boat, the water, the wind, and the lines if there are any.

This is a public, versioned format. `read` turns a JSON text into a `Scenario` or raises `BadScenario`, which
names every fault with its place. Nothing here fills a gap: what is absent stays None, and `defaults.fill`
decides later what may be assumed and what has to stay 'not known'.

Frames, signs and units: see the docstring of `berths.tieup`.
"""

import itertools
import json
from collections import Counter
from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from berths.tieup import rules

VERSION = 1

# Bounds: far outside any small harbour, near enough that a slip of the decimal point or unit is caught.
Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Place = Annotated[Number, Field(ge=-10_000, le=10_000)]
Height = Annotated[Number, Field(ge=-100, le=100)]
Size = Annotated[Number, Field(gt=0, le=1_000)]
SizeOrZero = Annotated[Number, Field(ge=0, le=1_000)]
Force = Annotated[Number, Field(gt=0, le=1e10)]
Wind = Annotated[Number, Field(ge=0, le=100)]
Current = Annotated[Number, Field(ge=0, le=10)]
Bearing = Annotated[Number, Field(ge=-360, le=720)]
Coefficient = Annotated[Number, Field(ge=0, le=100)]
Count = Annotated[int, Field(strict=True, ge=0, le=1_000)]
Name = Annotated[str, Field(strict=True, min_length=1, max_length=60)]
Yes = Annotated[bool, Field(strict=True)]
Point = tuple[Place, Place]
Lying = Literal["port", "starboard", "either", "bow", "stern"]


class Part(BaseModel):
    """A piece of a Scenario: unknown keys are faults, and nothing changes after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, ser_json_inf_nan="null")


class Frame(Part):
    bearing_deg: Bearing | None = None


class ShoreFitting(Part):
    """A pile, cleat, ring or bollard a line can be made fast to; x, y, z is where the line bears."""

    id: Name
    kind: Literal["pile", "cleat", "ring", "bollard"] | None = None
    x: Place | None = None
    y: Place | None = None
    z: Height | None = None
    floats: Yes | None = None
    strength: Force | None = None
    diameter: Annotated[Number, Field(gt=0, le=5)] | None = None
    top_z: Height | None = None
    stop: Yes | None = None
    cleat_length: Annotated[Number, Field(gt=0, le=3)] | None = None
    in_use: Yes | None = None
    takes: Count | None = None


class Face(Part):
    """A straight dock edge, quay or row of piles that the hull can lie against."""

    id: Name
    x1: Place | None = None
    y1: Place | None = None
    x2: Place | None = None
    y2: Place | None = None
    top_z: Height | None = None
    underside_z: Height | None = None
    floats: Yes | None = None
    fender_stiffness: Force | None = None
    fender_give: Annotated[Number, Field(gt=0, le=3)] | None = None
    continuous: Yes | None = None
    sharp: Yes | None = None


class Zone(Part):
    """A rectangle that lines keep clear of, in the frame of what it belongs to."""

    id: Name
    kind: Literal["propeller", "drive", "outboard", "rudder", "ladder", "gate"] | None = None
    x1: Place | None = None
    x2: Place | None = None
    y1: Place | None = None
    y2: Place | None = None


class Neighbour(Part):
    """What lies beside her, by the code of its berth."""

    id: Name
    outline: list[Point] | None = None
    spreader_height: Height | None = None


class Gangway(Part):
    length: Size | None = None
    hinge_z: Height | None = None


class Power(Part):
    x: Place | None = None
    y: Place | None = None
    z: Height | None = None
    lead: Size | None = None


class Berth(Part):
    kind: Literal["floating", "slip", "fixed"]
    bearing_deg: Bearing | None = None
    length: Size | None = None
    overhang: SizeOrZero | None = None
    clear_width: Size | None = None
    bed_z: Height | None = None
    bed_kind: Literal["soft", "hard"] | None = None
    exposure: Literal["sheltered", "normal", "open"] | None = None
    guide_pile_top_z: Height | None = None
    hoop_height: Height | None = None
    gangway: Gangway | None = None
    power: Power | None = None
    fittings: list[ShoreFitting] | None = None
    faces: list[Face] | None = None
    zones: list[Zone] | None = None
    neighbours: list[Neighbour] | None = None


class BoatFitting(Part):
    """A deck cleat or chock; x, y, z is where the line leaves her. [m]"""

    id: Name
    x: Place | None = None
    y: Place | None = None
    z: Height | None = None
    strength: Force | None = None
    cleat_length: Annotated[Number, Field(gt=0, le=3)] | None = None
    in_use: Yes | None = None
    takes: Count | None = None


class Drag(Part):
    """Areas [m2] and drag coefficients, bow on and abeam."""

    frontal_area: SizeOrZero | None = None
    side_area: SizeOrZero | None = None
    cd_front: Coefficient | None = None
    cd_side: Coefficient | None = None


class Fenders(Part):
    diameter: Size | None = None
    number: Count | None = None
    low: Height | None = None
    high: Height | None = None
    board: Yes | None = None


class Boat(Part):
    loa: Size
    beam: Size
    x: Place
    y: Place
    heading_deg: Bearing
    draft: SizeOrZero | None = None
    displacement: Annotated[Number, Field(gt=0, le=1e9)] | None = None
    hull_length: Size | None = None
    air_draft: SizeOrZero | None = None
    mast_x: Place | None = None
    rub_low: Height | None = None
    rub_high: Height | None = None
    gm: Annotated[Number, Field(gt=0, le=50)] | None = None
    side_to: Lying | None = None
    takes_ground: Yes | None = None
    outline: list[Point] | None = None
    fittings: list[BoatFitting] | None = None
    windage: Drag | None = None
    underwater: Drag | None = None
    fenders: Fenders | None = None
    inlet: Power | None = None
    zones: list[Zone] | None = None


class Stiffness(Part):
    """Either `ea` [N], or a `table` of [strain, tension / mbs] rows."""

    ea: Force | None = None
    table: list[tuple[Coefficient, Coefficient]] | None = None


Material = Literal[
    "nylon_3strand", "nylon_braid", "polyester_3strand", "polyester_braid", "polypropylene", "hmpe"
]


class Rope(Part):
    """The rope that recommended lines are made of, and what is on the shelf. Diameters in mm, `longest` in m."""

    material: Material | None = None
    diameter_mm: Annotated[Number, Field(gt=0, le=500)] | None = None
    stock_mm: list[Annotated[Number, Field(gt=0, le=500)]] | None = None
    longest: Size | None = None


class Via(Part):
    """A pile the line is led round on its way: made fast there by its turn, or free to slide."""

    fitting: Name
    turn: Literal["fixed", "slides"] | None = None


class Line(Part):
    """A line that is there. `length` is its unstretched working length between the two points. [m]"""

    id: Name
    boat_fitting: Name
    shore_fitting: Name
    length: Size | None = None
    material: Material | None = None
    diameter_mm: Annotated[Number, Field(gt=0, le=500)] | None = None
    mbs: Force | None = None
    stiffness: Stiffness | None = None
    via: Via | None = None
    turn_z: Height | None = None
    chafe_gear: Yes | None = None
    tag: Name | None = None


class Stream(Part):
    speed: Current | None = None
    toward_deg: Bearing | None = None


class Case(Part):
    """One water level with one steady wind and current; `yaw_moment` in N m, counter-clockwise."""

    id: Name
    level: Height | None = None
    wind_speed: Wind | None = None
    wind_from_deg: Bearing | None = None
    current_speed: Current | None = None
    current_toward_deg: Bearing | None = None
    yaw_moment: Annotated[Number, Field(ge=-1e10, le=1e10)] | None = None


class Water(Part):
    """Levels above datum without surge, the surge allowances (both counted positive), and the curve. [m]"""

    low: Height | None = None
    high: Height | None = None
    range: SizeOrZero | None = None
    surge_down: SizeOrZero | None = None
    surge_up: SizeOrZero | None = None
    now: Height | None = None
    datum: str | None = None
    curve: list[tuple[AwareDatetime, Height]] | None = None


class Weather(Part):
    """Gusts over the boat [m/s], the directions they come from, and the streams that may run."""

    wind_speeds: list[Wind] | None = None
    wind_from_deg: list[Bearing] | None = None
    currents: list[Stream] | None = None


class StayTimes(Part):
    arrive: AwareDatetime | None = None
    depart: AwareDatetime | None = None
    permanent: Yes | None = None
    short_until: AwareDatetime | None = None
    attended: Yes | None = None


class Scenario(Part):
    """The whole question. Without `lines` the engine recommends; without `cases` it builds them."""

    version: Literal[1]
    frame: Frame | None = None
    berth: Berth
    boat: Boat
    rope: Rope | None = None
    lines: list[Line] | None = None
    cases: list[Case] | None = None
    water: Water | None = None
    weather: Weather | None = None
    stay: StayTimes | None = None
    house: dict[str, Any] | None = None

    @property
    def bearing_deg(self):
        """True bearing of the berth's +x; 0 when nobody gave one."""
        for given in (self.berth.bearing_deg, self.frame and self.frame.bearing_deg):
            if given is not None:
                return given
        return 0.0


class BadScenario(ValueError):
    """A Scenario that cannot be read. `faults` has one line for each fault: place, colon, what to mend."""

    def __init__(self, faults):
        super().__init__("\n".join(faults))
        self.faults = list(faults)


def read(text):
    """Read a Scenario from JSON text.

    Parameters
    ----------
    text : str or bytes

    Returns
    -------
    Scenario

    Raises
    ------
    BadScenario
        With every fault found, not only the first.

    Examples
    --------
    >>> read('{"version": 1, "berth": {"kind": "mud"}, "boat": {"loa": -1}}')
    Traceback (most recent call last):
        ...
    berths.tieup.scenario.BadScenario: berth.kind: must be 'floating', 'slip' or 'fixed'
    boat.loa: must be greater than 0
    boat.beam: missing, and needed
    boat.x: missing, and needed
    boat.y: missing, and needed
    boat.heading_deg: missing, and needed
    """
    try:
        data = json.loads(text, parse_constant=_refuse_constant, object_pairs_hook=_no_repeated_key)
    except (json.JSONDecodeError, UnicodeDecodeError) as error:
        raise BadScenario([f"file: not JSON: {error}"]) from None
    except RecursionError:
        raise BadScenario(["file: not JSON that can be read: nested too deep"]) from None
    return from_data(data)


def from_data(data):
    """Check plain data (dicts, lists, numbers, as JSON gives them) and return a Scenario; see `read`."""
    if not isinstance(data, dict):
        raise BadScenario(["file: must be one object with version, berth and boat"])
    faults, scenario = [], None
    try:
        # JSON has no tuples and no times; validate_json turns lists and ISO texts into them, strictly else.
        scenario = Scenario.model_validate_json(json.dumps(data, default=_as_text))
    except ValidationError as error:
        faults = [_sentence(e) for e in error.errors(include_url=False)]
    except (ValueError, RecursionError) as error:
        raise BadScenario([f"file: {error}"]) from None
    faults += [f for f in _cross_faults(data) if f not in faults]
    if faults:
        raise BadScenario(list(dict.fromkeys(faults)))
    return scenario


def _as_text(value):
    if isinstance(value, datetime):
        return value.isoformat()
    raise ValueError(f"cannot hold a {type(value).__name__}")


def _refuse_constant(name):
    raise BadScenario([f"file: {name} is not a number; leave the field out if it is not known"])


def _no_repeated_key(pairs):
    repeated = [key for key, n in Counter(k for k, _ in pairs).items() if n > 1]
    if repeated:
        raise BadScenario([f"file: the key {key!r} stands twice in one object" for key in repeated])
    return dict(pairs)


BOUNDS = {
    "greater_than": "greater than",
    "greater_than_equal": "at least",
    "less_than": "less than",
    "less_than_equal": "at most",
}


def _sentence(error):
    """One of pydantic's errors in our words."""
    where = _place(error["loc"])
    kind, ctx = error["type"], error.get("ctx", {})
    words = {
        "missing": "missing, and needed",
        "extra_forbidden": "not a field of this format",
        "float_type": "must be a number",
        "finite_number": "must be a finite number",
        "int_type": "must be a whole number",
        "string_type": "must be a text",
        "bool_type": "must be true or false",
        "list_type": "must be a list",
        "too_short": "too few entries in this row",
        "too_long": "too many entries in this row",
        "timezone_aware": "needs its zone, e.g. 2027-10-15T04:40:00Z",
    }
    if kind in words:
        return f"{where}: {words[kind]}"
    if kind == "literal_error":
        return f"{where}: must be {ctx['expected']}"
    if kind in BOUNDS:
        return f"{where}: must be {BOUNDS[kind]} {next(iter(ctx.values())):g}"
    if kind.startswith("datetime"):
        return f"{where}: must be a time with its zone, e.g. 2027-10-15T04:40:00Z"
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        return f"{where}: must be an object"
    return f"{where}: {error['msg']}"


def _place(loc):
    text = ""
    for part in loc:
        text += f"[{part}]" if isinstance(part, int) else f".{part}" if text else str(part)
    return text or "file"


def _rows(data, *path):
    """The dict rows at a path of raw data, with their positions; nothing where the shape is wrong."""
    for key in path:
        data = data.get(key) if isinstance(data, dict) else None
    return [(i, row) for i, row in enumerate(data) if isinstance(row, dict)] if isinstance(data, list) else []


def _cross_faults(data):
    """Faults that lie between fields: ids, references, orders. Works on raw data so that all show at once."""
    faults = []
    for path in (("berth", "fittings"), ("berth", "faces"), ("boat", "fittings"), ("lines",), ("cases",)):
        seen = {}
        for i, row in _rows(data, *path):
            name = row.get("id")
            if isinstance(name, str) and name in seen:
                faults.append(f"{'.'.join(path)}[{i}].id: {name!r} is already the id of entry {seen[name]}")
            elif isinstance(name, str):
                seen[name] = i
    faults += _reference_faults(data)
    faults += _table_faults(data)
    faults += _order_faults(data)
    faults += rules.faults(data.get("house"))
    return faults


def _reference_faults(data):
    faults = []
    ashore = [row.get("id") for _, row in _rows(data, "berth", "fittings")]
    aboard = [row.get("id") for _, row in _rows(data, "boat", "fittings")] or list(STANDARD_FITTINGS)
    for i, row in _rows(data, "lines"):
        via = row.get("via") if isinstance(row.get("via"), dict) else {}
        for field, name, known, owner in (
            ("boat_fitting", row.get("boat_fitting"), aboard, "on this boat"),
            ("shore_fitting", row.get("shore_fitting"), ashore, "at this berth"),
            ("via.fitting", via.get("fitting"), ashore, "at this berth"),
        ):
            if isinstance(name, str) and name not in known:
                there = ", ".join(map(str, known)) or "none"
                faults.append(f"lines[{i}].{field}: no fitting {name!r} {owner} (there are: {there})")
    return faults


STANDARD_FITTINGS = (  # the ids of the six fittings that are laid out when a boat comes without any
    "bow_port", "bow_starboard", "mid_port", "mid_starboard", "stern_port", "stern_starboard",
)  # fmt: skip


def _table_faults(data):
    faults = []
    for i, row in _rows(data, "lines"):
        stiffness = row.get("stiffness")
        if not isinstance(stiffness, dict):
            continue
        where, ea, table = f"lines[{i}].stiffness", stiffness.get("ea"), stiffness.get("table")
        if (ea is None) == (table is None):
            faults.append(f"{where}: give either ea or table")
        if isinstance(table, list) and table is not None:
            faults += [f"{where}.table: {f}" for f in _curve_faults(table)]
    return faults


def _curve_faults(table):
    rows = [r for r in table if isinstance(r, list | tuple) and len(r) == 2 and all(_is_number(v) for v in r)]
    if len(rows) != len(table):
        return []  # the shape is already a fault of its own
    if not rows:
        return ["must have at least one row of [strain, tension / mbs]"]
    faults = []
    if rows[0][0] == 0 and rows[0][1] > 0:
        faults.append("a line without stretch carries nothing: the row at strain 0 must have tension 0")
    if any(b[0] <= a[0] for a, b in itertools.pairwise(rows)):
        faults.append("strain must rise from row to row")
    if any(b[1] < a[1] for a, b in itertools.pairwise(rows)):
        faults.append("tension must not fall from row to row")
    if rows[-1][0] == 0:
        faults.append("needs a row with strain above 0")
    return faults


def _is_number(value):
    return isinstance(value, int | float) and not isinstance(value, bool)


def _order_faults(data):
    faults = []
    if data.get("cases") == []:
        faults.append("cases: an empty list; leave it out to have the cases built, or give at least one")
    frame, berth = (data.get(k) if isinstance(data.get(k), dict) else {} for k in ("frame", "berth"))
    bearings = {b for b in (frame.get("bearing_deg"), berth.get("bearing_deg")) if _is_number(b)}
    if len(bearings) > 1:
        faults.append("berth.bearing_deg: differs from frame.bearing_deg; give one of them")
    water = data.get("water") if isinstance(data.get("water"), dict) else {}
    if _is_number(water.get("low")) and _is_number(water.get("high")) and water["low"] > water["high"]:
        faults.append("water.low: is above water.high")
    for i, face in _rows(data, "berth", "faces"):
        ends = [face.get(k) for k in ("x1", "y1", "x2", "y2")]
        if all(_is_number(v) for v in ends) and ends[:2] == ends[2:]:
            faults.append(f"berth.faces[{i}]: both ends are at the same place")
        top, under = face.get("top_z"), face.get("underside_z")
        if _is_number(top) and _is_number(under) and under > top:
            faults.append(f"berth.faces[{i}].underside_z: is above top_z")
    boat = data.get("boat") if isinstance(data.get("boat"), dict) else {}
    if isinstance(boat.get("outline"), list) and len(boat["outline"]) < 3:
        faults.append("boat.outline: needs at least 3 points")
    if (
        _is_number(boat.get("rub_low"))
        and _is_number(boat.get("rub_high"))
        and boat["rub_low"] >= boat["rub_high"]
    ):
        faults.append("boat.rub_low: must be below rub_high")
    if (
        _is_number(boat.get("hull_length"))
        and _is_number(boat.get("loa"))
        and boat["hull_length"] > boat["loa"]
    ):
        faults.append("boat.hull_length: is longer than loa, the length over everything")
    stay = data.get("stay") if isinstance(data.get("stay"), dict) else {}
    arrive, depart = (_moment(stay.get(k)) for k in ("arrive", "depart"))
    if arrive and depart and depart <= arrive:
        faults.append("stay.depart: must be after stay.arrive")
    curve = water.get("curve")
    if isinstance(curve, list):
        times = [_moment(row[0]) for row in curve if isinstance(row, list | tuple) and row]
        if all(times) and any(b <= a for a, b in itertools.pairwise(times)):
            faults.append("water.curve: times must rise from row to row")
    return faults


def _moment(value):
    try:
        moment = value if isinstance(value, datetime) else datetime.fromisoformat(value)
    except (TypeError, ValueError):
        return None
    return moment if moment.tzinfo else None
