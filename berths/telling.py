"""What came out of a tie-up, in words of the dock: levels, cases, limits and what was assumed. Pure."""

import re

from berths.cards.slack import SNUG, slack_at
from berths.cards.words import deck_words
from berths.drawing.scene import deck_places
from berths.saying import say
from marina.base.units import show_wind

CALLED = {"boat": "her", "rope": "rope", "weather": "wind", "lines": "line", "cases": "case"}
FIELDS = {  # names of what was entered that do not say themselves
    "gm": "stability (metacentric height)",
    "frontal_area": "area seen from ahead",
    "side_area": "area seen from abeam",
    "cd_front": "drag from ahead",
    "cd_side": "drag from abeam",
    "rub_low": "lowest part of her side that touches",
    "rub_high": "rail",
    "diameter_mm": "diameter",
    "wind_from_deg": "directions",
    "wind_speeds": "gusts",
    "bearing_deg": "bearing",
    "bed_kind": "kind of bed",
    "stock_mm": "sizes in stock",
    "fender_stiffness": "push of the fenders",
    "fender_give": "give of the fenders",
    "z": "height",
    "mbs": "breaking strength",
}


def slack_in_words(row, scenario, verdict, level, reader):
    """What to leave at a level, not the one of the hour when it was worked out; nothing on a floating dock."""
    slack = slack_at(verdict, row.id, level)
    if slack is None or scenario.berth.kind == "floating":
        return ""
    if abs(slack) < SNUG:
        return "none: snug"
    if slack < 0:
        return f"none: haul in {reader.length(-slack, 'working')} past snug"
    return reader.length(slack, "working")


def in_words(text, boat, reader, kind=None):
    """A reason as the engine gives it, in the reader's words, with the boat's fittings called as they are on deck."""
    text = text.replace(" -> ", " to ")
    for name in sorted(deck_places(boat), key=len, reverse=True):
        text = text.replace(name, deck_words(boat, name))
    text = say(text, reader, kind=kind)
    return f"{text[:1].upper()}{text[1:]}." if text else ""


def explained(sentences):
    """Sentences of one page; a hand meets 'quarter' first as what it is. List of str.

    >>> explained(["Off her bow.", "Behind her port quarter.", "Beside her quarter."])
    ['Off her bow.', 'Behind her port back corner (quarter).', 'Beside her quarter.']
    """
    out, met = [], False
    for sentence in sentences:
        out.append(sentence if met else re.sub(r"\bquarter\b", "back corner (quarter)", sentence, count=1))
        met = met or "quarter" in sentence
    return out


def case_in_words(verdict, case_id, reader):
    """'at low water of 0.11 m, 30 kn from 240': a case by its name, with its level in the reader's units."""
    if not case_id:
        return ""
    case = next((c for c in verdict.cases if c.id == case_id), None)
    head, _, tail = case_id.partition(", ")
    if case is not None and head.endswith(" m"):
        which = head.split(" ")[0] if head[0].isalpha() else ""
        head = " ".join(filter(None, (which, reader.length(case.level, "level"))))
    return f"{head}, {tail}" if tail else head


COUNTED = {
    "ok": "settled",
    "all_slack": "settled with every line slack",
    "not_converged": "not solved",
    "bistable": "with two answers",
    "parted": "in which a line parts",
}


def cases_in_words(counts):
    """'972: 970 settled, 2 not solved'; what was not solved is never left out."""
    told = ", ".join(f"{n} {COUNTED.get(name, name)}" for name, n in counts.items())
    return f"{sum(counts.values())}: {told}" if counts else "none"


GIVES = {  # what gives at the end of the water or wind that a set stands
    "line": "{line} pulls more than it may",
    "fitting": "a fitting of {line} takes more than it may",
    "calm": "{line} comes hard tight",
    "vertical": "she hangs on {line}",
    "dock_end": "she comes too near the dock",
    "alongside": "her fenders are pressed too far",
    "out_of_berth": "she reaches out of the berth",
    "held": "nothing holds her in her place",
}


def gives(end, orders):
    """What gives at one end of the water or above one wind; `orders`: line id -> 'line 3'."""
    return GIVES.get(end.limit, "").format(line=orders.get(end.line, "a line"))


def stands_in_words(verdict, reader):
    """Over what water her lines stand the strongest stated wind, and in which wind they give: [(what, words)]."""
    stands = verdict.stands
    if stands is None:
        return []
    orders = {line.id: f"line {line.order}" for line in verdict.lines}
    rows = []
    for end, way in zip(stands.water or (), ("Stands water down to", "Stands water up to"), strict=False):
        told = "or beyond" if end.beyond else f"then {gives(end, orders)}"
        rows.append((way, f"{reader.length(end.level, 'level')}, {told}"))
    if worst := stands.weakest:
        rows.append(
            (
                "Gives first",
                f"in gusts above {show_wind(worst.speed)} from {worst.from_deg:03.0f}: {gives(worst, orders)}",
            )
        )
    return rows


def assumed(verdict, reader):
    """What nobody gave: (what, value taken, why), in the reader's words rather than in names of fields."""
    rows = []
    for item in verdict.assumed if verdict else []:
        part, *rest = item.field.split(".")
        what = ", ".join(FIELDS.get(name, re.sub(r"\[\d+\]", "", name).replace("_", " ")) for name in rest)
        what = what.replace("windage, ", "").replace("underwater, ", "under water, ")
        called = CALLED.get(part.split("[")[0], part.split("[")[0])
        value = "" if item.value is None or isinstance(item.value, list) else item.value
        value = (
            f"{value:g}"
            if isinstance(value, float)
            else str(value).replace("_", " ").replace("3strand", "three-strand")
        )
        unit = "" if item.unit in ("1", "") or not value else f" {item.unit}"
        why = item.why.replace("3strand", "three-strand")
        rows.append((say(f"{called} {what}".strip(), reader), say(value + unit, reader), say(why, reader)))
    return list(dict.fromkeys(rows))
