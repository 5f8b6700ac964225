"""What the engine answers: a pose and tensions for every case, the lines, the flags, and what was assumed.

These are the shapes only, a public format like the Scenario. `tieup.tie_up` fills them.
"""

from datetime import datetime
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

ENGINE_VERSION = "4"

Status = Literal["ok", "not_converged", "bistable", "parted", "all_slack"]
SEVERITIES = ("stop", "fix", "note")


class Part(BaseModel):
    model_config = ConfigDict(extra="forbid", populate_by_name=True)


class Pose(Part):
    x: float
    y: float
    heading_deg: float


class LineState(Part):
    """One line in one case: present distance, tension of the middle curve, and what is still slack."""

    id: str
    length: float
    tension: float
    slack: float


class Contact(Part):
    kind: Literal["pile", "face", "face_end"]
    id: str
    x: float
    y: float
    depth: float
    force: float


class CaseResult(Part):
    id: str
    status: Status
    level: float
    pose: Pose
    lines: list[LineState]
    contacts: list[Contact]
    residual: float


class LineResult(Part):
    """One line as it should be put on, or as it was found.

    `leads` is forward or aft along her (or abeam), `stops` is what it keeps her from doing. Lengths: working
    between the Scenario's points, card to the pile's face, cut with eyes, turns and tail. None is 'not known'.
    `slack_now` is what to leave at the present level; negative means hauling in.
    """

    id: str
    order: int
    role: str
    optional: bool = False
    boat_fitting: str
    shore_fitting: str
    leads: Literal["forward", "aft", "abeam"]
    stops: str
    crossed: bool = False
    working_length: float | None = None
    card_length: float | None = None
    cut_length: float | None = None
    diameter_mm: float | None = None
    material: str | None = None
    mbs: float | None = None
    set_level: float | None = None
    slack_now: float | None = None
    peak_tension: float | None = None
    peak_ratio: float | None = None
    governing_case: str | None = None
    tag: str | None = None
    why: str = ""


class Fenders(Part):
    """The fenders that go with a recommended tie-up where hers are not recorded.

    `low` and `high` are the lowest and highest point to be covered, above the water; `below_rail` how far that
    highest point is under her rail; `dock_low` and `dock_high` where they travel on a dock that stands fast, above
    datum. `board`: whether one is wanted across piles (None: not known whether there are gaps). [m]
    """

    number: int
    diameter: float
    low: float
    high: float
    below_rail: float
    dock_low: float | None = None
    dock_high: float | None = None
    board: bool | None
    side: str
    faces: list[str] = []
    why: str = ""


class FittingLoad(Part):
    """The greatest pull on one fitting, ashore or aboard: the vector sum of its lines, not the sum of their tensions.

    `pull` and `up` (its part upward on the boat, below zero downward) are those of stiff rope in `case`, without the
    dynamic allowance; `may` is what the fitting may be asked for with it. None is 'not known'. [N]
    """

    id: str
    end: Literal["ashore", "aboard"]
    lines: list[str]
    pull: float
    up: float
    case: str
    may: float | None = None


class Flag(Part):
    """Something that does not fit, or that cannot be told because a figure is missing.

    `severity` is what it would be if raised; with state 'not_known' it counts as not passed, never as passed.
    `from_` and `until` are the times at which it first bites and lets go; `under` holds flags of the same cause.
    """

    code: str
    severity: Literal["stop", "fix", "note"]
    state: Literal["raised", "not_known"] = "raised"
    line: str | None = None
    fitting: str | None = None
    case: str | None = None
    level: float | None = None
    from_: datetime | None = Field(default=None, alias="from")
    until: datetime | None = None
    amount: float | None = None
    unit: str | None = None
    message: str
    do: str = ""
    rests_on: str = ""
    under: list["Flag"] = []


class Assumed(Part):
    """One value that nobody gave: where it stands, what was taken, and on what ground."""

    field: str
    value: float | str | bool | list | None
    unit: str = ""
    why: str


class LineAtLevel(Part):
    id: str
    slack_calm: float
    tension_max: float


class LevelResult(Part):
    """The extremes over all weather at one water level."""

    level: float
    lines: list[LineAtLevel]
    moves: float
    clearance: float | None = None


class LostLine(Part):
    """What is left when one line is gone: she still holds, or what `then` says happens.

    `peak_line` is the line that takes most of its strength then.
    """

    line: str
    holds: bool
    then: str = ""
    peak_ratio: float
    peak_line: str | None = None
    excursion: float
    min_clearance: float | None = None
    unsolved: int = 0


class Band(Part):
    """The same extremes on one stretch curve."""

    peak_ratio: float = 0.0
    peak_line: str | None = None
    peak_case: str | None = None
    excursion: float = 0.0
    excursion_case: str | None = None
    min_clearance: float | None = None
    clearance_case: str | None = None


class Summary(Band):
    """Counts and extremes. `answer` never says more than 'holds in the stated cases'.

    `holds_to` is the greatest stated gust up to which every limit is kept; `aground` lists spans in which her
    keel is on the bed; `reach` is the rectangle her hull sweeps over all cases, [x low, y low, x high, y high];
    `hangs_on` are the lines without which she is not held (none: she holds with any one line lost);
    `depth_least` is what is left under her at the lowest level; `other_places` is where she could lie as well in
    each case that has two answers (its own pose is that with the greater pull).
    """

    answer: Literal["holds", "does_not_hold", "not_known"]
    why: str = ""
    holds_to: float | None = None
    counts: dict[str, int] = {}
    soft: Band | None = None
    stiff: Band | None = None
    dynamic_allowance: float = 1.0
    one_line_lost: list[LostLine] = []
    hangs_on: list[str] = []
    aground: list[tuple[datetime | None, datetime | None]] = []
    low: float | None = None
    high: float | None = None
    surge_down: float | None = None
    surge_up: float | None = None
    depth_least: float | None = None
    reach: tuple[float, float, float, float] | None = None
    left_out: list[str] = []
    other_places: dict[str, Pose] = {}


class WaterEnd(Part):
    """One end of the water a set stands: the level, and the limit and line that give there.

    `beyond` says that nothing gave as far as was looked.
    """

    level: float
    limit: str | None = None
    line: str | None = None
    beyond: bool = False


class WindLimit(Part):
    """The gust from one direction up to which every limit is kept, and what breaks first above it."""

    from_deg: float
    speed: float
    level: float
    limit: str
    line: str


class Stands(Part):
    """The span of water a set stands in the strongest stated wind (None: not even the present level), and the
    winds it fails in; a direction that is not listed did not fail up to 40 m/s."""

    water: tuple[WaterEnd, WaterEnd] | None = None
    wind: list[WindLimit] = []

    @property
    def weakest(self):
        """The direction in which the lowest gust breaks a limit, or None."""
        return min(self.wind, key=lambda w: w.speed, default=None)


class Alternative(Part):
    """Another set of lines that was tried to the end, and how it differs in one sentence."""

    lines: list[str]
    difference: str


class Choice(Part):
    """How the recommended set came about: what was tried, what was put aside and why, what comes next."""

    tried: int = 0
    pruned: list[str] = []
    next: list[Alternative] = []
    failed_limits: list[str] = []
    mend: list[str] = []


class Verdict(Part):
    version: Literal[1] = 1
    engine: str = ENGINE_VERSION
    sort: Literal["planned", "found"]
    summary: Summary
    lines: list[LineResult] = []
    fittings: list[FittingLoad] = []
    fenders: Fenders | None = None
    flags: list[Flag] = []
    assumed: list[Assumed] = []
    levels: list[LevelResult] = []
    choice: Choice | None = None
    stands: Stands | None = None
    cases: list[CaseResult] = []

    def to_json(self, **kwargs):
        """JSON text with the public names; never NaN or Infinity."""
        return self.model_dump_json(by_alias=True, **kwargs)
