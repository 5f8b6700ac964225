"""How a line, a fitting and a flag are said, on the dock and over the radio.

No line is called by a bare name that two trained people could take for different things: it is told by where
it starts on her, which way it runs, what it goes to ashore, and what it keeps her from doing. The same words
stand on the card, on the page of the stay and in the table that the command prints.
"""

import math
from dataclasses import dataclass
from datetime import UTC, timedelta, tzinfo

from berths.cards.slack import slack_words
from berths.drawing.scene import deck_places
from berths.tieup.geometry import to_boat
from marina.base.units import show_length

AFT, FORWARD = 0.3, 0.7  # of her length: where quarter and stern, bow and forward begin
UNKNOWN = "not known"

UK_US = {  # what we say -> (UK, US); what is the same in both is not here
    "floating": ("pontoon", "dock"),
    "slip": ("jetty", "dock"),
    "fixed": ("jetty", "dock"),
    "quay": ("quay", "sea wall"),
    "pile": ("pile", "piling"),
    "harbourmaster": ("harbour master", "harbormaster"),
    "draft": ("draught", "draft"),
}


@dataclass(frozen=True)
class Reader:
    """Who reads: units 'm' or 'ft', words 'uk' or 'us', a clock of 24 or 12 hours, and the harbour's zone."""

    units: str = "m"
    words: str = "uk"
    clock: str = "24"
    zone: tzinfo = UTC

    def word(self, ours):
        """A word of ours in the reader's English."""
        return UK_US.get(ours, (ours, ours))[self.words == "us"]

    def length(self, metres, kind):
        return show_length(metres, kind, self.units)

    def time(self, moment, *, today, to=1):
        """'17:45', with its day in front when that is not today; to the nearest `to` minutes."""
        return (
            UNKNOWN
            if moment is None
            else " ".join(filter(None, self.day_and_clock(moment, today=today, to=to)))
        )

    def day_and_clock(self, moment, *, today, to=1):
        """('', '17:45') today, ('Fri', '05:40') in the next days, ('Tue 12 Oct', '17:00') else."""
        here = (moment + timedelta(minutes=to / 2)).astimezone(self.zone)
        minute = here.minute // to * to
        clock = f"{here:%H}:{minute:02d}"
        if self.clock == "12":
            clock = f"{here.hour % 12 or 12}:{minute:02d} {'a.m.' if here.hour < 12 else 'p.m.'}"
        away = (here.date() - today).days
        day = "" if away == 0 else f"{here:%a}" if 0 < away < 7 else f"{here:%a} {here.day} {here:%b}"
        return day, clock


@dataclass(frozen=True)
class LineWords:
    """One line, in pieces that a card sets apart and a page puts into a sentence."""

    id: str
    order: int
    name: str  # 'stern line'; for a spring only 'spring', which is never said alone
    source: str  # 'port stern cleat'
    runs: str  # 'AFT, crossing'
    to: str  # 'dock cleat D2'
    where: str  # 'behind her starboard quarter'
    length: str  # '3.80 m' or 'not known'
    mark: str  # 'one band', or ''
    slack: str  # '0.10 m slack now', or ''
    stops: str  # 'stops her going ahead', or ''
    fastening: str = ""  # 'cleat D2', where it is plain that it is ashore
    optional: bool = False
    tag: str = ""  # of the store's line that is out to her for it

    @property
    def known(self):
        return self.length != UNKNOWN

    @property
    def hint(self):
        """Which line, and how its length is found without a tape."""
        return " ".join(filter(None, (self.tag, self.short_hint)))

    @property
    def short_hint(self):
        """How its length is found without a tape: at the mark, else by the slack to leave now."""
        return f"({self.mark})" if self.mark else self.slack

    @property
    def runs_comma(self):
        """'AFT, crossing,': ready for the 'to' that follows."""
        return f"{self.runs}," if "," in self.runs else self.runs

    @property
    def _runs_to(self):
        return f"{self.runs_comma} to {self.to}"

    @property
    def full_length(self):
        """The length with tag and mark: '3.80 m (WH-113, one band)'."""
        told = ", ".join(filter(None, (self.tag, self.mark)))
        return f"{self.length} ({told})" if told else self.length

    @property
    def sentence(self):
        """'From the port stern cleat, runs AFT, crossing, to cleat D2, 3.80 m: stops her going ahead.'"""
        start = f"From the {self.source}, runs {self._runs_to}"
        length = f", {self.full_length}" if self.known else ", length not known"
        return start + length + (f": {self.stops}." if self.stops else ".")

    @property
    def long_sentence(self):
        """The sentence of a page: its name first, and where she has the fastening."""
        name = self.name.capitalize()
        where = f", {self.where}" if self.where else ""
        length = f" {self.full_length}." if self.known else " Length not known."
        stops = f" {self.stops.capitalize()}." if self.stops else ""
        return f"{name}: from her {self.source}, runs {self._runs_to}{where}.{length}{stops}"

    @property
    def row(self):
        """The short form of a card's row: 'port stern cleat, AFT, crossing, to cleat D2'."""
        return f"{'if wanted: ' if self.optional else ''}{self.source}, {self.runs_comma} to {self.fastening}"

    @property
    def read_back(self):
        """What is said over the radio and repeated: no name, no number, no length."""
        runs = self._runs_to
        for word in ("FORWARD", "AFT", "CROSSING"):
            runs = runs.replace(word, word.lower())
        return f"“{self.source.capitalize()}, running {runs.replace('ACROSS', 'straight across')}.”"


def say_lines(scenario, verdict, reader, *, marks=None, said=None, kind=None, level=None, when="now"):
    """The lines of a Verdict in words, in the order they go on.

    Parameters
    ----------
    scenario : Scenario
    verdict : Verdict
    reader : Reader
    marks : dict, tag -> what is marked on the line ('one band'), optional
    said : dict, fastening id -> the harbour's own words for its place, optional
    kind : str, optional
        The kind of berth as the harbour has it ('quay'), where the Scenario's is coarser.
    level : float, optional
        Of the water for which slack is told, in the Scenario's datum; without one no slack is. [m]
    when : str
        When the water has that level: 'now', 'at 20:30'.

    Returns
    -------
    list of LineWords
    """
    return [
        LineWords(
            id=line.id,
            order=line.order,
            name=role_words(line.role),
            source=deck_words(scenario.boat, line.boat_fitting),
            runs=_runs(line, scenario, reader, kind),
            to=shore_words(scenario, line.shore_fitting, reader, kind),
            where=_where(scenario, line.shore_fitting, (said or {}).get(line.shore_fitting, "")),
            length=reader.length(_told_length(line, verdict.sort), "working"),
            mark=(marks or {}).get(line.tag) or "",
            slack=slack_words(line, scenario, verdict, level, when, reader),
            stops=stops_words(line.stops),
            fastening=fastening_words(scenario, line.shore_fitting, reader),
            optional=line.optional,
            tag=(line.tag or "") if verdict.sort == "planned" else "",
        )
        for line in sorted(verdict.lines, key=lambda line: (line.order, line.id))
    ]


def _where(scenario, fitting, said):
    """The harbour's own words for a place, unless they only say its name again ('pile 9' of pile P9)."""
    found = next((f for f in scenario.berth.fittings or [] if f.id == fitting), None)
    kind = found.kind if found and found.kind else ""
    says, name = "".join(said.lower().split()).removeprefix(kind), fitting.lower()
    says_more = says and says not in (name, name.lstrip("abcdefghijklmnopqrstuvwxyz"))
    return said if says_more else where_words(scenario, fitting)


def _told_length(line, sort):
    """What a hand measures before the length between survey points; what was found, as it is recorded."""
    if sort == "found":
        return line.working_length
    return line.card_length if line.card_length is not None else line.working_length


def _runs(line, scenario, reader, kind):
    given = next((g for g in scenario.lines or [] if g.id == line.id), None)
    via = given.via.fitting if given and given.via else None
    way = {"forward": "FORWARD", "aft": "AFT", "abeam": "ACROSS"}[line.leads]
    if line.crossed:
        way = "CROSSING" if line.leads == "abeam" else f"{way}, crossing"
    return f"{way}, round {shore_words(scenario, via, reader, kind)}" if via else way


ROLES = {"far_side_stern": "far-side stern line"}  # what does not say itself


def role_words(role):
    """'stern_port' -> 'stern line'; everything that runs along her is a 'spring'."""
    base = role.removesuffix("_port").removesuffix("_starboard")
    if "spring" in base:
        return "spring"
    return ROLES.get(base) or f"{base.replace('_', ' ')} line"


def stops_words(stops):
    """What a line keeps her from doing, as a clause: 'stops her going back'; '' where nothing is said."""
    return f"stops her {stops}" if stops else ""


def deck_words(boat, fitting):
    """Where on her a fitting is: 'port stern cleat', 'starboard midships cleat', 'bow cleat'."""
    places = deck_places(boat)
    if fitting not in places:
        return fitting.replace("_", " ")
    words = {name: _deck_place(boat, at) for name, at in places.items()}
    same = sorted((places[name][0], name) for name, place in words.items() if place == words[fitting])
    if len(same) == 1:
        return f"{words[fitting]} cleat"
    return f"{words[fitting]} cleat, {_which([name for _, name in same], fitting)}"


def _deck_place(boat, at):
    x, y = at[0] / boat.loa, at[1]
    end = "stern" if x < AFT else "bow" if x > FORWARD else "midships"
    if abs(y) < 0.12 * boat.beam:
        return end
    return f"{'port' if y > 0 else 'starboard'} {end}"


def _which(from_aft, fitting):
    """Which of several in one place, counted from aft."""
    n, of = from_aft.index(fitting), len(from_aft)
    if of == 2:
        return ("the after one", "the forward one")[n]
    return f"{('1st', '2nd', '3rd')[n] if n < 3 else f'{n + 1}th'} from aft"


def dock_word(scenario, reader, kind=None):
    """What the reader calls the thing she lies at: pontoon, jetty, quay, dock."""
    known = kind if kind in ("floating", "slip", "fixed", "quay") else scenario and scenario.berth.kind
    return reader.word(known or "dock")


def shore_words(scenario, fitting, reader, kind=None):
    """'pile P3', 'dock cleat D2', 'bollard 4', 'ring R1'."""
    short = fastening_words(scenario, fitting, reader)
    return f"{dock_word(scenario, reader, kind)} {short}" if short.startswith("cleat ") else short


def fastening_words(scenario, fitting, reader):
    """The same where it is plain that it is ashore: 'cleat D2'."""
    found = next((f for f in scenario.berth.fittings or [] if f.id == fitting), None)
    return f"{reader.word(found.kind if found and found.kind else 'fastening')} {fitting}"


def where_words(scenario, fitting):
    """Where a fastening is as seen from her: 'behind her starboard quarter'; '' where nobody knows."""
    found = next((f for f in scenario.berth.fittings or [] if f.id == fitting), None)
    if found is None or found.x is None or found.y is None:
        return ""
    boat = scenario.boat
    x, y = to_boat(boat, [[found.x, found.y]])[0]
    side = "" if abs(y) < 0.2 * boat.beam else "port " if y > 0 else "starboard "
    if x < 0.02 * boat.loa:
        return f"behind her {side}quarter" if side else "right behind her"
    if x > 0.98 * boat.loa:
        return f"off her {side}bow" if side else "right ahead of her"
    part = "quarter" if x < AFT * boat.loa else "bow" if x > FORWARD * boat.loa else "side, amidships"
    return f"beside her {side}{part}"


def side_words(side_to, dock):
    """'STARBOARD side to dock', 'STERN to dock'; None: which side is not known."""
    if side_to in ("port", "starboard"):
        return f"{side_to.upper()} side to {dock}"
    if side_to in ("bow", "stern"):
        return f"{side_to.upper()} to {dock}"
    return "EITHER side" if side_to == "either" else ""


def bow_words(scenario, ends=None):
    """Which way her bow points for a reader on the dock: (words, angle of the arrow in degrees from right).

    `ends` are the harbour's words for the two ends of a dock to lie alongside, (at +x, at -x): 'the sea end'.
    """
    angle = scenario.boat.heading_deg + (90 if scenario.berth.kind == "slip" else 0)
    right, up = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    if abs(up) > abs(right):
        return ("BOW out, away from you" if up > 0 else "BOW in, toward you"), angle
    if ends:
        return f"BOW toward {ends[0] if right > 0 else ends[1]}", angle
    return f"BOW to the {'right' if right > 0 else 'left'}", angle


def fenders_asked_for(wanted, reader):
    """What to hang where nobody recorded hers: '4 of 0.24 m; tops 0.20 m under the rail, ...; no board'."""
    size = reader.length(wanted.diameter, "level")
    heights = fender_heights(wanted.below_rail, wanted.low, reader)
    board = {True: "board across two, outside them", False: "no board", None: "board if there are gaps"}
    return f"{wanted.number} of {size}; {heights}; {board[wanted.board]}"


def fender_heights(under_rail, above_water, reader):
    """'tops 0.20 m under the rail, feet 0.30 m above water'."""
    top = reader.length(under_rail, "working")
    hung = "tops at the rail" if under_rail < 0.025 else f"tops {top} under the rail"
    return f"{hung}, feet {reader.length(above_water, 'working')} above water"
