"""What a tie-up card says, in words and in the order a hand needs it. One source for the PDF and the phone page.

`compose` takes what is known of the stay (`Facts`), the Scenario and the Verdict, and puts all of it into words;
paper and screen only set those words. No tension stands on a card, no score, and nothing unknown looks known.
"""

import re
from dataclasses import dataclass, field
from datetime import date, datetime

from berths.cards import words
from berths.drawing.levels import levels_of
from berths.drawing.plan import plan
from berths.drawing.ruler import Mark, ruler

MOST_WARNINGS = 3
LETTERS = "ABC"

CAUTIONS = (
    "Keep hands, feet and body from between her and a dock, pile or boat: a fender or her own side takes it.",
    "Nobody jumps across. Nobody stands in a bight, or in line with a rope that works.",
    "Take a turn first, then the weight; no turn round a hand. Let go what runs.",
    "No slack in the water while her engine turns. Lifejacket on.",
)
DEFERS = (
    "Worked out from the figures recorded here, for the water and wind stated. Judge by eye before you leave her; "
    "the harbour authority, local rules and her master come first."
)
ONE_CAUTION = "Hands and feet clear. Judge by eye; harbour and master come first."

# What a flag that is 'not known' is about, in a word or two, for the bar and the dashed box.
ABOUT = {
    "grounds_at_low": "depth",
    "cannot_take_ground": "may she take the ground",
    "hangs_her": "height of a fastening",
    "short_for_range": "length of a line",
    "fastening_out": "strength of a fastening",
    "crowded_fitting": "neighbour's lines",
    "line_weak": "strength of a line",
    "lifts_off": "top of a pile",
    "pile_top_low": "top of the guide piles",
    "under_dock": "underside of the dock",
    "over_dock": "top of the dock",
    "too_long": "her length",
    "too_wide": "width of the berth",
    "fender_misses": "fenders",
    "corner_on_edge": "place of the last pile",
    "over_gear": "place of her gear",
    "chafe": "edge of the dock",
    "power_reach": "power inlet",
    "neighbour": "neighbour's size",
    "tend_her": "who tends her",
    "surge_unknown": "surge",
    "line_condemned": "state of a line",
    "line_untagged": "tag of a line",
    "line_swapped": "lines not looked at",
    "no_tie_up": "the tie-up",
    "not_crossed": "ends of the stern lines",
    "no_spring": "which way lines run",
    "few_lines": "lines",
}
# A flag whose message tells forces is said in these words instead: a hand needs no kilonewtons.
WITHOUT_FORCE = {
    "line_weak": "{line} may part",
    "fastening_out": "{place} may pull out",
    "hangs_her": "she hangs on her lines, or is held down by them",
    "beyond_test": "{line} is pulled beyond what its rope was tested to",
}


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
    flags: tuple = ()
    now: float | None = None
    turns: tuple = ()
    water_source: str = ""
    datum: str = ""
    look_again: tuple | None = None  # (time, why)
    channel: str = ""
    telephone: str = ""
    worked_out: datetime | None = None
    holds_until: datetime | None = None
    permanent: bool = False
    invented: bool = False
    arrows: tuple = ()
    marks: dict = field(default_factory=dict)
    said: dict = field(default_factory=dict)


@dataclass(frozen=True)
class Warning:
    letter: str
    word: str  # STOP or FIX
    sentence: str
    do: str


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
        said = words.say_lines(scenario, verdict, reader, marks=facts.marks, said=facts.said, kind=facts.kind)
        lines = tuple(said)
    bow, angle = words.bow_words(scenario, facts.ends) if scenario else ("", None)
    orders = {
        name: line.order
        for line in (verdict.lines if verdict else [])
        for name in (line.id, line.tag)
        if name
    }
    warnings, more = _warnings(facts, orders)
    return Card(
        facts=facts,
        scenario=scenario,
        verdict=verdict,
        reader=reader,
        side=words.side_words(facts.side_to, dock),
        bow=bow,
        bow_angle=angle,
        bar=_bar(facts, verdict, warnings, reader),
        lines=lines,
        no_lines="" if lines else _no_lines(facts, verdict),
        next_low=_next_low(facts, reader),
        levels=_levels(facts, reader),
        water=tuple(_water(facts, scenario, verdict, reader)),
        fenders=_fenders(scenario, reader),
        warnings=warnings,
        more=more,
        unknown=_unknown(facts),
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


# --- flags ---


def _warnings(facts, orders):
    """At most three STOP and FIX flags in full sentences, and what else there is: ('1 fix', '2 notes')."""
    urgent = [f for f in facts.flags if f.kind in ("stop", "fix")]
    shown = tuple(
        Warning(
            letter, f.kind.upper(), _sentence(_plain(f, orders)), _sentence(f.do) if "kN" not in f.do else ""
        )
        for letter, f in zip(LETTERS, urgent, strict=False)
    )
    more = []
    for kind, word in (("stop", "stop"), ("fix", "fix"), ("note", "note")):
        n = sum(f.kind == kind for f in (urgent[MOST_WARNINGS:] if kind != "note" else facts.flags))
        more += [f"{n} {word}{'s' if n > 1 and kind == 'note' else ''}"] if n else []
    return shown, tuple(more)


def _plain(flag, orders):
    """A flag's message as a hand needs it: lines by their number on this card, no forces."""
    text = flag.message
    if "kN" in text:
        text = WITHOUT_FORCE.get(flag.code, "{place} carries more than it may").format(
            line=_numbered(f"line {flag.place}", orders), place=flag.place.replace("_", " ") or "a fastening"
        )
        text += f" below {flag.level:.1f} m" if flag.code == "hangs_her" and flag.level is not None else ""
    text = _numbered(text, orders)
    accepted = getattr(flag, "accepted", None)
    return f"{text} (accepted: {accepted.reason})" if accepted else text


def _numbered(text, orders):
    """'line WH-044 (stern port to D2)' becomes 'line 2'."""

    def number(found):
        return f"line {orders[found[1]]}" if found[1] in orders else found[0]

    return re.sub(r"line ([\w.-]*\w)(?: \([^)]*\))?", number, text)


def _sentence(text):
    text = text.strip()
    return f"{text[0].upper()}{text[1:]}{'' if text[-1] in '.?' else '.'}" if text else ""


def _bar(facts, verdict, warnings, reader):
    """The bar across the head; '' only where the answer is 'holds'."""
    if verdict is None:
        return "NOT WORKED OUT"
    if facts.stale:
        return "OUT OF DATE: work it out again"
    if facts.holds_until is not None and facts.holds_until < facts.printed:
        return f"OUT OF DATE: it held until {reader.time(facts.holds_until, today=facts.today)}"
    stops = [f for f in facts.flags if f.kind == "stop"]
    if stops or verdict.summary.answer == "does_not_hold":
        see = " and ".join(w.letter for w in warnings if w.word == "STOP")
        return f"DOES NOT HOLD{_when(stops, verdict)}" + (f": see {see}" if see else "")
    unknown = [f for f in facts.flags if f.kind == "not_known"]
    if unknown or verdict.summary.answer == "not_known":
        about = list(dict.fromkeys(_about(f) for f in unknown))
        more = f" and {len(about) - 2} more" if len(about) > 2 else ""
        return "NOT KNOWN" + (f": {', '.join(about[:2])}{more}" if about else "")
    return ""


def _when(stops, verdict):
    """' at low water' where all that stops her bites there."""
    low, high = verdict.summary.low, verdict.summary.high
    levels = [f.level for f in stops if f.level is not None]
    if low is None or high is None or not levels or len(levels) < len(stops):
        return ""
    middle = (low + high) / 2
    if all(level < middle for level in levels):
        return " at low water"
    return " at high water" if all(level > middle for level in levels) else ""


def _about(flag):
    place = f" {flag.place.replace('_', ' ')}" if flag.place and flag.code == "fastening_out" else ""
    if place:
        return f"strength of{place}"
    return ABOUT.get(flag.code, flag.code.replace("_", " "))


def _unknown(facts):
    return tuple(
        dict.fromkeys(_about(f) for f in facts.flags if f.kind == "not_known" and f.code != "no_tie_up")
    )


# --- water, fenders, times ---


def _next_low(facts, reader):
    """What must be read at arm's length: 'LOW Fri 05:40, 0.4 m'."""
    low = next((turn for turn in facts.turns if not turn.high), None)
    return f"LOW {_told(low, facts, reader)}" if low else ""


def _told(turn, facts, reader):
    return f"{reader.time(turn.time, today=facts.today, to=5)}, {tenth(turn.level, reader)}"


def tenth(level, reader):
    """A level as the card tells it: to 10 cm, without the second nought."""
    words = reader.length(level, "ruler")
    return words.replace("0 m", " m") if words.endswith("0 m") and "." in words else words


def _levels(facts, reader):
    """The water now and its next turns, for a page that has no ruler."""
    told = [] if facts.now is None else [f"now {tenth(facts.now, reader)}"]
    told += [f"{'high' if turn.high else 'low'} {_told(turn, facts, reader)}" for turn in facts.turns[:2]]
    return "Water: " + "; ".join(told) + (f" above {facts.datum}." if facts.datum else ".") if told else ""


def _water(facts, scenario, verdict, reader):
    """At the lowest water: her rail against the dock, what is under her keel, and which line draws first."""
    if scenario is None:
        return
    at = levels_of(scenario)
    told = [_aground(facts, scenario, verdict, reader) or _depth(at, reader)]
    if not at.floats and at.lowest is not None and at.dock_top is not None:
        down = at.dock_top - at.lowest - at.rail
        way = "below" if down >= 0 else "above"
        told.insert(0, f"rail {reader.length(abs(down), 'margin')} {way} the dock edge")
    slack = _slack_then(verdict) if verdict and not at.floats else None
    if slack:
        line, left = slack
        draws = f"line {line} draws tight first"
        told.append(draws if left < 0.05 else f"least slack: line {line}, {reader.length(left, 'margin')}")
    yield f"At the lowest: {'; '.join(told)}."


def _aground(facts, scenario, verdict, reader):
    """When a boat that may take the ground lies on it next: a state, and no lack of water."""
    if verdict is None or not scenario.boat.takes_ground:
        return ""
    for start, end in verdict.summary.aground:
        if end is None or end > facts.printed:
            since, until = (reader.time(t, today=facts.today, to=5) if t else "" for t in (start, end))
            return f"she takes the ground {' until '.join(filter(None, (since, until)))}"
    return ""


def _depth(at, reader):
    if at.lowest is None or at.bed is None or at.draft is None:
        missing = "depth" if at.bed is None else "water" if at.lowest is None else reader.word("draft")
        return f"under her keel: not known ({missing})"
    under = at.lowest - at.draft - at.bed
    surge = "" if at.surge_known else ", surge not known"
    if under < 0:
        return f"{reader.length(-under, 'size')} too little water{surge}"
    return f"{reader.length(under, 'margin')} under her keel{surge}"


def _slack_then(verdict):
    """The line with the least slack at the lowest level, in calm: (its number, slack in m)."""
    if not verdict.levels:
        return None
    lowest = min(verdict.levels, key=lambda row: row.level)
    order = {line.id: line.order for line in verdict.lines}
    found = [(row.slack_calm, order[row.id]) for row in lowest.lines if row.id in order]
    return (min(found)[1], min(found)[0]) if found else None


def _fenders(scenario, reader):
    """How many, how high from rail and water, board or not; '' where nothing is recorded."""
    fenders = scenario.boat.fenders if scenario else None
    if fenders is None or (fenders.number is None and fenders.low is None and fenders.high is None):
        return ""
    count = "number not known" if fenders.number is None else str(fenders.number)
    rail = levels_of(scenario).rail
    hung = "height not known"
    if fenders.low is not None and fenders.high is not None:
        top = max(rail - fenders.high, 0.0)
        foot = reader.length(fenders.low, "working")
        hung = f"tops {reader.length(top, 'working')} under the rail, feet {foot} above water"
    board = {True: "with a board", False: "no board", None: "board not known"}[fenders.board]
    return f"{count}; {hung}; {board}"


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
        return f"{_sentence(facts.trouble or 'no tie-up worked out')[:-1]}: made fast by judgement of"
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
    words = _sentence(", ".join(told)).replace("m..", "m.")  # 'p.m.' ends with a point of its own
    return f"{words} Water: {facts.water_source}." if facts.water_source else words


def _until(facts, verdict, reader):
    s = verdict.summary
    if facts.holds_until is not None:
        return f"holds until {reader.time(facts.holds_until, today=facts.today)}"
    if s.low is not None and s.high is not None:
        low, high = s.low - (s.surge_down or 0.0), s.high + (s.surge_up or 0.0)
        return f"holds from {reader.length(low, 'level')} to {reader.length(high, 'level')}"
    return "until when it holds: not known"
