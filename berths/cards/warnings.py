"""What a card warns of: the flags of a stay as a hand needs them, and the bar across the head."""

import re
from dataclasses import dataclass

from berths.saying import say

MOST_WARNINGS = 3
LETTERS = "ABC"

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
class Warning:
    letter: str
    word: str  # STOP or FIX
    sentence: str
    do: str


def warnings_of(facts, orders, reader):
    """At most three STOP and FIX flags in full sentences, and what else there is: ('1 fix', '2 notes')."""
    urgent = [f for f in facts.flags if f.kind in ("stop", "fix")]
    shown = tuple(
        Warning(
            letter,
            f.kind.upper(),
            sentence(say(_plain(f, orders), reader, kind=facts.kind)),
            sentence(say(f.do, reader, kind=facts.kind)) if "kN" not in f.do else "",
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
    if flag.code == "hangs_her":
        text = text.split(": ")[0]  # below or above which level, and from when; the forces follow
    if "kN" in text:
        text = WITHOUT_FORCE.get(flag.code, "{place} carries more than it may").format(
            line=_numbered(f"line {flag.place}", orders), place=flag.place.replace("_", " ") or "a fastening"
        )
    text = _numbered(text, orders)
    accepted = getattr(flag, "accepted", None)
    return f"{text} (accepted: {accepted.reason})" if accepted else text


def _numbered(text, orders):
    """'line WH-044 (stern port to D2)' becomes 'line 2'."""

    def number(found):
        return f"line {orders[found[1]]}" if found[1] in orders else found[0]

    return re.sub(r"line ([\w.-]*\w)(?: \([^)]*\))?", number, text)


def sentence(text):
    text = text.strip()
    return f"{text[0].upper()}{text[1:]}{'' if text[-1] in '.?' else '.'}" if text else ""


def bar_of(facts, verdict, warnings, reader):
    """The bar across the head; '' only where the answer is 'holds'."""
    if past := _past(facts, verdict, reader):
        return past
    stops = [f for f in facts.flags if f.kind == "stop"]
    if stops or verdict.summary.answer == "does_not_hold":
        see = " and ".join(w.letter for w in warnings if w.word == "STOP")
        return f"DOES NOT HOLD{_when(stops, verdict)}" + (f": see {see}" if see else "")
    unknown = _unknown(facts)
    if unknown or verdict.summary.answer == "not_known":
        about = list(dict.fromkeys(_about(f) for f in unknown))
        more = f" and {len(about) - 2} more" if len(about) > 2 else ""
        return "NOT KNOWN" + (f": {', '.join(about[:2])}{more}" if about else "")
    return ""


def _past(facts, verdict, reader):
    """Why no answer on this card counts, whatever it was."""
    if facts.over:
        return f"THIS STAY IS OVER ({facts.over}): do not tie up by this card"
    if verdict is None:
        return "NOT WORKED OUT"
    if facts.stale:
        return "OUT OF DATE: work it out again"
    if facts.holds_until is not None and facts.holds_until < facts.printed:
        return f"OUT OF DATE: it held until {reader.time(facts.holds_until, today=facts.today)}"
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


def unknown_of(facts):
    return tuple(dict.fromkeys(_about(f) for f in _unknown(facts) if f.code != "no_tie_up"))


def _unknown(facts):
    """What is not known and matters; what would be a mere note if it were known takes no line's place here."""
    return [f for f in facts.flags if f.kind == "not_known" and not getattr(f, "minor", False)]
