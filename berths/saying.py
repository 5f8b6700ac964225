"""What the engine and the records say, in the reader's units and English. Pure.

They write metres, kilonewtons and one set of words, and what is kept is kept as it was written. Here a message
becomes the reader's: each figure by what it is, rounded to the side on which it does no harm (what is left goes
down, what is lacking goes up), each word as it is said where the reader is. A figure that no rule knows is
rounded to the nearest and still comes in the reader's units: none is left in another's.
"""

import re

from marina.base.units import KNOT, TONNE, show_force, show_length, show_weight

NUMBER = r"-?\d+(?:\.\d+)?"
LENGTH = re.compile(rf"(?P<first>{NUMBER})(?: (?:->|to) (?P<second>{NUMBER}))? m\b(?!/)")
FORCE = re.compile(rf"(?P<kn>{NUMBER}) kN(?P<opens> \()?")
SPEED = re.compile(rf"({NUMBER}) m/s\b")
WEIGHT = re.compile(rf"({NUMBER}) (t|kg)\b(?![);])")
TIME = re.compile(r"\b(\d\d):(\d\d)\b")

# (what it is, what stands before, what stands after): the first that fits says to which side a figure is rounded.
KINDS = [
    (kind, re.compile(rf"(?:{before})$"), re.compile(rf"^(?:{after})"))
    for kind, before, after in (
        ("level", r".*", r" above datum| of water\b"),
        ("level", r"\b(?:[Mm]easured|declared) ", r""),
        ("cut", r"\b(?:put on|leave) ", r""),
        ("margin", r"\b(?:only|the depth is|could be|a berth of) ", r""),
        ("margin", r".*", r" left\b| of her side\b| below the top\b| above the hoops\b| allowed past\b| apart\b"),
        ("size", r"\b(?:draft of|a boat of|drifts|swings|reaches|can move|moves|comes) ", r""),
        ("size", r"^a cleat of ", r""),
        ("size", r".*", r" over everything\b| of beam\b| of fender\b| inside her\b| away\b"),
        ("size", r".*", r" too \w+| into the\b| past the end\b| over the pile| above the top\b"),
        ("working", r".*", r", comes\b| of lead\b|, three times\b| less rope\b| longer\b"),
        ("working", r"\) is |\blead is |\binstead of |\blead of ", r""),
    )
]  # fmt: skip
BELOW = re.compile(r"-(\d+(?:\.\d+)? m|\d+ ft \d+ in) above datum")
NONE = [  # how a margin of nothing is said where it stands
    (re.compile(r"\bonly none left\b"), "nothing left"),
    (re.compile(r"\bonly none of\b"), "none of"),
    (re.compile(r"\b(is|end|stands) none (?:below|above) "), r"\1 level with "),
]


def say(text, reader, *, kind=None):
    """A message of the engine or the records as this reader says it.

    Parameters
    ----------
    text : str
        As it was written: metres, kilonewtons, the engine's words.
    reader : Reader
    kind : str, optional
        Of the berth, for what the dock is called there; without it a dock stays a dock.

    Returns
    -------
    str

    Examples
    --------
    >>> from berths.cards.words import Reader
    >>> feet, us = Reader(units="ft", words="us"), "line L2 (stern port to P1), 3.60 m, comes bar-tight"
    >>> say(us, feet)
    'the line from her port stern cleat to P1, 11 ft 10 in, comes bar-tight'
    >>> say("only 0.28 m left under her keel for a draft of 1.81 m", Reader())
    'only 0.25 m left under her keel for a draught of 1.85 m'
    """
    if not text:
        return text or ""
    text = named(text)
    text = FORCE.sub(lambda m: _force(m, reader), text)
    text = SPEED.sub(lambda m: f"{float(m[1]) / float(KNOT):.1f} kn", text)
    if reader.units == "ft":
        text = WEIGHT.sub(
            lambda m: show_weight(float(m[1]) * {"t": TONNE, "kg": TONNE / 1000}[m[2]], "ft"), text
        )
    text = LENGTH.sub(lambda m: _length(m, reader), text)
    for what, said in NONE:
        text = what.sub(said, text)
    if reader.clock == "12":
        text = TIME.sub(_twelve, text)
    text = BELOW.sub(r"\1 below datum", text)
    return _in_english(text, reader, kind)


# --- figures ---


def _length(found, reader):
    before, after = found.string[: found.start()], found.string[found.end() :]
    kind = next((k for k, b, a in KINDS if b.search(before) and a.search(after)), "level")
    first = _one(found["first"], kind, reader)
    if found["second"] is None:
        return first
    return f"{first.removesuffix(' m')} to {_one(found['second'], kind, reader)}"


def _one(figure, kind, reader):
    """A figure that was written coarser than to the centimetre is not made to look finer."""
    coarse = len(figure.partition(".")[2]) < 2
    if reader.units == "m":
        return f"{figure} m" if coarse else show_length(float(figure), kind)
    if coarse and abs(float(figure)) > 30:
        return f"{float(figure) / 0.3048:.0f} ft"
    return show_length(float(figure), kind, "ft")


def _force(found, reader):
    newtons = 1000 * float(found["kn"])
    if reader.units == "ft":
        return show_weight(newtons, "ft") + (found["opens"] or "")
    said = f"{show_force(newtons)} ({show_weight(newtons)}"
    return f"{said}; " if found["opens"] else f"{said})"


def _twelve(found):
    hour = int(found[1])
    return f"{hour % 12 or 12}:{found[2]} {'a.m.' if hour < 12 else 'p.m.'}" if hour < 24 else found[0]


# --- names ---

PLACE = re.compile(r"\b(bow|mid|stern)[ _](port|starboard)\b")
LINE = re.compile(r"\bline (?P<id>[\w.-]*\w) \((?P<aboard>[^()]*) to (?P<ashore>[^()]*)\)")
MADE = re.compile(r"L\d+")  # a number the engine gave; nobody finds it on a dock


def named(text):
    """Her fittings as they are called on deck; a line by its tag, or by its ends where it has none.

    >>> named("line WH-042 (stern port to D2) may part"), named("line L3 (mid starboard to P1) may part")
    ('line WH-042 (port stern cleat to D2) may part', 'the line from her starboard midships cleat to P1 may part')
    """
    return LINE.sub(_line, PLACE.sub(_place, text))


def _place(found):
    """A role ('bow_port line') has no cleat in it."""
    end = "midships" if found[1] == "mid" else found[1]
    return f"{found[2]} {end}{'' if found.string[found.end() :].startswith(' line') else ' cleat'}"


def _line(found):
    ends = f"{found['aboard']} to {found['ashore']}"
    return f"the line from her {ends}" if MADE.fullmatch(found["id"]) else f"line {found['id']} ({ends})"


def with_numbers(text, lines):
    """A message that was already said, with its lines by their numbers on the page it stands on.

    Parameters
    ----------
    text : str
    lines : list of LineResult
        As they were kept.
    """
    for line in lines:
        ends = f"{named(line.boat_fitting.replace('_', ' '))} to {line.shore_fitting}"
        for name in filter(None, (line.tag, line.id)):
            text = text.replace(f"line {name} ({ends})", f"line {line.order} ({ends}; {name})")
        text = text.replace(f"the line from her {ends}", f"line {line.order} ({ends})")
    orders = {line.id: line.order for line in lines}
    return re.sub(r"\bL\d+\b", lambda m: f"line {orders[m[0]]}" if m[0] in orders else m[0], text)


# --- words ---

DOCK = re.compile(r"\b(?P<the>the |against |of |over |under )?dock(?P<own>'s|s)?\b(?! line)")
DOCKS = {
    "floating": "floating",
    "slip": "slip",
    "box": "slip",
    "fixed": "fixed",
    "quay": "quay",
    "drying": "quay",
}
ALIKE = {  # what differs between the two Englishes only in a word: ours -> the reader's, by UK and US
    "draft": ("draught", "draft"),
    "pile": ("pile", "piling"),
    "harbourmaster": ("harbour master", "harbormaster"),
    "harbour": ("harbour", "harbor"),
    "neighbour": ("neighbour", "neighbor"),
}
WORD = re.compile(
    rf"\b(?P<word>{'|'.join(sorted(ALIKE, key=len, reverse=True))})(?P<s>s|'s)?\b", re.IGNORECASE
)


def _in_english(text, reader, kind):
    """Plain words only: what begins with a capital inside a sentence is somebody's name and stays."""
    us = reader.words == "us"

    def word(found):
        ours = found["word"]
        if ours[0].isupper() and found.start() > 0:
            return found[0]
        said = ALIKE[ours.lower()][us]
        return (said.capitalize() if ours[0].isupper() else said) + (found["s"] or "")

    text = WORD.sub(word, text)
    dock = reader.word(DOCKS[kind]) if kind in DOCKS else "dock"
    return DOCK.sub(lambda m: _dock(m, dock), text)


def _dock(found, dock):
    the, own = found["the"] or "", found["own"] or ""
    return f"{the}{'the ' if the in ('against ', 'of ') and not own else ''}{dock}{own}"
