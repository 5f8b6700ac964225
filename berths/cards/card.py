"""What a tie-up card says, in words and in the order a hand needs it. One source for the PDF and the phone page.

`compose` takes what is known of the stay (`Facts`), the Scenario and the Verdict, and puts all of it into words;
paper and screen only set those words. No tension stands on a card, no score, and nothing unknown looks known.
"""

from dataclasses import dataclass, field
from datetime import date, datetime

from berths.cards import words
from berths.cards.warnings import bar_of, sentence, unknown_of, warnings_of
from berths.cards.water import levels_told, next_low, tenth, water_told
from berths.drawing.levels import levels_of
from berths.drawing.plan import plan
from berths.drawing.ruler import Mark, ruler

CAUTIONS = (
    "Keep hands, feet and body from between her and a dock, pile or boat: a fender or her own side takes it.",
    "Nobody jumps across. Nobody stands in a bight, or in line with a rope that works.",
    "Take a turn first, then the weight; no turn round a hand. Let go what runs.",
    "No slack in the water while her engine turns. Lifejacket on.",
)
DEFERS = (
    "Worked out from the figures recorded here, for the water and wind stated. It does not know what was not "
    "entered. Judge by eye before you leave her; the harbour authority, local rules and her master come first."
)
ONE_CAUTION = "Hands and feet clear. Judge by eye; harbour and master first."


@dataclass(frozen=True)
class Turn:
    """A high or low water: when, how high above datum [m], and which."""

    time: datetime
    level: float
    high: bool


@dataclass(frozen=True)
class Facts:
    """What the harbour's records say of a stay; None and '' are 'not known' or 'not set'.

    `flags` are those of the stay as lists show them (kind, code, message, do, place, starts, accepted);
    `marks` says by tag what is marked on a line, `said` by fastening where it is in the harbour's own words.
    """

    berth: str
    kind: str
    boat: str
    url: str
    today: date
    printed: datetime
    number: int = 1
    mark: str = ""
    side_to: str | None = None
    ends: tuple | None = None
    trouble: str = ""
    stale: str = ""
    over: str = ""  # 'cancelled', 'left'
    flags: tuple = ()
    now: float | None = None
    then: tuple | None = None  # (time, level) of her arrival while she is still to come
    turns: tuple = ()
    water_source: str = ""
    datum: str = ""
    allowed: tuple | None = None  # (down, up) for weather, where it was set for this stay alone
    look_again: tuple | None = None  # (time, why)
    channel: str = ""
    telephone: str = ""
    worked_out: datetime | None = None
    holds_until: datetime | None = None
    arrive: datetime | None = None
    neighbours: bool = False  # whether the boats beside her may be shown: to the harbour's own people
    permanent: bool = False
    eye: str = ""  # where the eye of her lines goes by the house's rule: 'ashore' or 'aboard'
    invented: bool = False
    arrows: tuple = ()
    marks: dict = field(default_factory=dict)
    said: dict = field(default_factory=dict)


@dataclass(frozen=True)
class Card:
    """A card in words. `lines` in the order they go on; `water` and the rest one sentence each."""

    facts: Facts
    scenario: object
    verdict: object
    reader: words.Reader
    side: str
    bow: str
    bow_angle: float | None
    bar: str
    lines: tuple
    no_lines: str
    next_low: str
    levels: str
    water: tuple
    fenders: str
    gear: str
    warnings: tuple
    more: tuple
    unknown: tuple
    look_again: str
    call: str
    age: str
    page_age: str

    @property
    def first(self):
        return self.lines[0] if self.lines else None

    @property
    def rows(self):
        return self.lines[1:]

    @property
    def ordinal(self):
        """'3rd card for this stay': tells two cards in one pocket apart."""
        n = self.facts.number
        ending = "th" if 10 <= n % 100 <= 20 else {1: "st", 2: "nd", 3: "rd"}.get(n % 10, "th")
        return f"{n}{ending} card for this stay"

    @property
    def when(self):
        """'due 20:30' while she is still to come, else 'here'; '' where no time is recorded."""
        if self.facts.arrive is None:
            return ""
        due = self.facts.arrive > self.facts.printed
        return f"due {self.reader.time(self.facts.arrive, today=self.facts.today, to=5)}" if due else "here"

    @property
    def unit_words(self):
        return "Lengths in metres" if self.reader.units == "m" else "Lengths in feet and inches"

    def draw_plan(self, paper, sentences=()):
        """The plan, where there is a Scenario to draw. Neighbours are left out: a card is about one boat."""
        if self.scenario is None:
            return None
        feet, arrows = self.reader.units == "ft", self.facts.arrows
        return plan(
            self.scenario,
            self.verdict,
            paper,
            arrows=arrows,
            feet=feet,
            neighbours=False,
            sentences=sentences,
        )

    def draw_ruler(self, **size):
        return ruler(self.scenario, self.ruler_marks(), **size) if self.scenario else None

    def ruler_marks(self):
        """The water now and its next two turns, as the ruler shows them."""
        facts, out = self.facts, []
        if facts.now is not None:
            clock = self.reader.time(facts.printed, today=facts.today, to=5)
            out.append(Mark(facts.now, ("now", clock), now=True))
        for turn in facts.turns[:2]:
            day, clock = self.reader.day_and_clock(turn.time, today=facts.today, to=5)
            name = f"{'high' if turn.high else 'low'} {day}".strip()
            out.append(Mark(turn.level, (name, clock, tenth(turn.level, self.reader))))
        return out


def compose(facts, scenario, verdict, reader):
    """Put a stay's tie-up into the words of a card.

    Parameters
    ----------
    facts : Facts
    scenario : Scenario or None
        None where the berth's kind is not worked out.
    verdict : Verdict or None
    reader : words.Reader

    Returns
    -------
    Card
    """
    dock = words.dock_word(scenario, reader, facts.kind)
    lines = ()
    if verdict is not None:
        lines = tuple(_lines(facts, scenario, verdict, reader))
    bow, angle = words.bow_words(scenario, facts.ends) if scenario else ("", None)
    orders = {
        name: line.order
        for line in (verdict.lines if verdict else [])
        for name in (line.id, line.tag)
        if name
    }
    warnings, more = warnings_of(facts, orders, reader)
    return Card(
        facts=facts,
        scenario=scenario,
        verdict=verdict,
        reader=reader,
        side=words.side_words(facts.side_to, dock),
        bow=bow,
        bow_angle=angle,
        bar=bar_of(facts, verdict, warnings, reader),
        lines=lines,
        no_lines="" if lines else _no_lines(facts, verdict),
        next_low=next_low(facts, reader),
        levels=levels_told(facts, reader),
        water=tuple(water_told(facts, scenario, verdict, reader)),
        fenders=_fenders(scenario, verdict, reader),
        gear=_gear(scenario, verdict),
        warnings=warnings,
        more=more,
        unknown=unknown_of(facts),
        look_again=_look_again(facts, reader),
        call=", ".join(
            filter(
                None,
                (f"channel {facts.channel}" if facts.channel.isdigit() else facts.channel, facts.telephone),
            )
        ),
        age=_age(facts, verdict, reader),
        page_age=_age(facts, verdict, reader, printed=False),
    )


# --- lines, fenders and times ---


def _lines(facts, scenario, verdict, reader):
    """Her lines, with the slack for the water of her arrival or, when she is there, of this moment."""
    level, when = facts.now, "now"
    if facts.then:
        time, level = facts.then
        when = f"at {reader.time(time, today=facts.today, to=5)}"
    return words.say_lines(
        scenario, verdict, reader,
        marks=facts.marks, said=facts.said, kind=facts.kind, level=level, when=when,
    )  # fmt: skip


def _fenders(scenario, verdict, reader):
    """How many, how high from rail and water, board or not; '' where nothing is recorded or asked for."""
    if verdict is not None and verdict.fenders is not None:
        return words.fenders_asked_for(verdict.fenders, reader)
    fenders = scenario.boat.fenders if scenario else None
    if fenders is None or (fenders.number is None and fenders.low is None and fenders.high is None):
        return ""
    count = "number not known" if fenders.number is None else str(fenders.number)
    hung = "height not known"
    if fenders.low is not None and fenders.high is not None:
        under = max(levels_of(scenario).rail - fenders.high, 0.0)
        hung = words.fender_heights(under, fenders.low, reader)
    board = {True: "with a board", False: "no board", None: "board not known"}[fenders.board]
    return f"{count}; {hung}; {board}"


def _gear(scenario, verdict):
    """What a hand looks for where nobody recorded her gear; '' where it is, or where no lines are told."""
    if scenario is None or verdict is None or scenario.boat.zones is not None or not verdict.lines:
        return ""
    return "Her gear is not recorded: see that no line crosses a drive, outboard, rudder or ladder"


def _look_again(facts, reader):
    if facts.look_again is None:
        return ""
    when, why = facts.look_again
    return (
        f"{reader.time(when, today=facts.today, to=5)} ({why})"
        if why
        else reader.time(when, today=facts.today)
    )


def _no_lines(facts, verdict):
    if verdict is None:
        return f"{sentence(facts.trouble or 'no tie-up worked out')[:-1]}: made fast by judgement of"
    return "No lines found or recorded: made fast by judgement of"


def _age(facts, verdict, reader, *, printed=True):
    """When it was worked out, when it was printed, until when it holds, from which water."""
    when = {}
    if facts.worked_out is not None and verdict is not None:
        when["worked out"] = reader.time(facts.worked_out, today=facts.today)
    if printed:
        when["printed"] = reader.time(facts.printed, today=facts.today)
    told = [f"{what} {time}" for what, time in when.items()]
    if len(when) == 2 and len(set(when.values())) == 1:
        told = [f"worked out and printed {when['printed']}"]
    if verdict is not None:
        told.append(_until(facts, verdict, reader))
    if not told:
        return "Not worked out."
    words = sentence(", ".join(told)).replace("m..", "m.")  # 'p.m.' ends with a point of its own
    return f"{words} Water: {facts.water_source}." if facts.water_source else words


def _until(facts, verdict, reader):
    s = verdict.summary
    if facts.holds_until is not None:
        return f"holds until {reader.time(facts.holds_until, today=facts.today)}"
    if s.low is not None and s.high is not None:
        low, high = s.low - (s.surge_down or 0.0), s.high + (s.surge_up or 0.0)
        return f"holds from {reader.length(low, 'level')} to {reader.length(high, 'level')}"
    return "until when it holds: not known"
