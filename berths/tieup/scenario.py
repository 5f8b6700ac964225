"""What the engine is asked: one berth, one boat, the water, the wind, and the lines if there are any.

This is a public, versioned format. `read` turns a JSON text into a `Scenario` or raises `BadScenario`, which
names every fault with its place. Nothing here fills a gap: what is absent stays None, and `defaults.fill`
decides later what may be assumed and what has to stay 'not known'.

Frames, signs and units: see the docstring of `berths.tieup`.
"""

import json
from collections import Counter
from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from berths.tieup import between, faults

VERSION = 1

# Bounds: far outside any small harbour, near enough that a slip of the decimal point or unit is caught.
Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Place = Annotated[Number, Field(ge=-10_000, le=10_000)]
Height = Annotated[Number, Field(ge=-100, le=100)]
Size = Annotated[Number, Field(ge=0.001, le=1_000)]  # above 0, and no number that only arithmetic knows
SizeOrZero = Annotated[Number, Field(ge=0, le=1_000)]
Force = Annotated[Number, Field(ge=0.1, le=1e10)]
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
    edge_z: Height | None = None  # the edge one steps from; drawn and told, no pull rests on it
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
    """A line that is there. `length` is its unstretched working length between the two points. [m]

    `mbs` is its strength when new and dry; `mbs_wet` says that it was stated wet already, `worn` that it was looked
    at and found worn.
    """

    id: Name
    boat_fitting: Name
    shore_fitting: Name
    length: Size | None = None
    material: Material | None = None
    diameter_mm: Annotated[Number, Field(gt=0, le=500)] | None = None
    mbs: Force | None = None
    mbs_wet: Yes | None = None
    worn: Yes | None = None
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
    found, scenario = [], None
    try:
        # JSON has no tuples and no times; validate_json turns lists and ISO texts into them, strictly else.
        scenario = Scenario.model_validate_json(json.dumps(data, default=_as_text))
    except ValidationError as error:
        found = [faults.sentence(e) for e in error.errors(include_url=False)]
    except (ValueError, RecursionError) as error:
        raise BadScenario([f"file: {error}"]) from None
    found += between.between_fields(data)
    if found:
        raise BadScenario(list(dict.fromkeys(found)))
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
