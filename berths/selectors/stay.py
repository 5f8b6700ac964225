"""One stay: how she stands, her lines in words, the water she meets, what was assumed, and what has been done."""

from dataclasses import dataclass
from functools import partial

from berths.cards.facts import lies
from berths.cards.words import bow_words, dock_word, fenders_asked_for, say_lines, side_words
from berths.changes import changed
from berths.curve import moment
from berths.lying import length_of
from berths.models import BerthFastening, LineUse, Stay, TieUp
from berths.models.tieup import Answer
from berths.saying import say, with_numbers
from berths.selectors.history import history
from berths.selectors.hooks import tagged
from berths.selectors.standing import Standing, standings
from berths.selectors.water import window_of_stay
from berths.telling import case_in_words, explained, in_words, slack_in_words
from berths.tieup.scenario import Scenario
from berths.tieup.verdict import Verdict
from berths.window import Turn
from berths.worse import in_sentences, set_in_words, water_in_words
from marina.base import house
from vessels.services.layout import said as estimates_of

OF_THE_BERTH = ("too_long", "too_wide", "grounds_at_low", "cannot_take_ground", "pile_top_low")
NOT_YET = "tie-up not known yet"


def stay_page(user, stay, reader):
    """Everything the page of a stay shows to this person."""
    standing = standings([stay], user)[stay.pk]
    tie_up = TieUp.objects.select_related("by").get(pk=standing.tie_up["id"]) if standing.tie_up else None
    scenario, verdict, trouble = read(tie_up)
    verdict = tagged(stay, scenario, verdict)
    number_lines(standing, verdict)
    said = dict(
        BerthFastening.objects.filter(berth=stay.berth_id).exclude(words="").values_list("code", "words")
    )
    dock = dock_word(scenario, reader, stay.berth.kind) if scenario else reader.word(stay.berth.kind)
    side = lies(scenario) if scenario else stay.side_to or None
    words = {"said": said, "kind": stay.berth.kind}
    water = _water(stay)
    level = water["water"].now
    return {
        "standing": standing,
        "rest": Standing([m for m in standing.marks if m is not standing.worst], standing.tie_up),
        "tie_up": tie_up,
        "scenario": scenario,
        "verdict": verdict,
        "trouble": trouble,
        "side_in_words": side_words(side, dock if "_" not in dock else "dock"),
        "bow": bow_words(scenario)[0] if scenario else "",
        "lines": lines_of(scenario, verdict, reader, words, level) if verdict else [],
        "slack_level": None if scenario is None or scenario.berth.kind == "floating" else level,
        "slack_at": water["water"].at,
        "answer": answer_of(tie_up, standing, verdict, partial(say, reader=reader, kind=stay.berth.kind)),
        **water,
        "length_rests_on": length_of(stay.vessel, house.rules())[1] if stay.vessel.loa is not None else "",
        "side_differs": bool(stay.side_told and side and stay.side_told not in (side, "either")),
        "made_fast": list(stay.made_fast.select_related("by").prefetch_related("lines__line")[:5]),
        "lent": []
        if user.is_holder
        else list(LineUse.objects.filter(stay=stay, back=None).select_related("line").order_by("line__tag")),
        "pictures": list(stay.pictures.defer("jpeg").select_related("by")),
        "history": [] if user.is_holder else history(stay),
        "under_keel": _under_keel(stay, verdict, water["water"]),
        "can_work_out": not tie_up
        or tie_up.stale
        or tie_up.trouble.startswith(NOT_YET)
        or not (trouble or verdict),
        "fenders": fenders_asked_for(verdict.fenders, reader) if verdict and verdict.fenders else "",
        "estimates": estimates_of(stay.vessel),
        "words": words,
        **_worse(tie_up, reader),
    }


def _worse(tie_up, reader):
    """What the newest working found worse than the one before it."""
    compared = tie_up.compared if tie_up else None
    if compared is None:
        return {"worse": None}
    told = {"lines": in_sentences(compared, reader), "water": water_in_words(compared, reader)}
    told["set"] = set_in_words(compared, reader)
    return {"worse": told, "worse_why": say(changed(compared.get("why", "")), reader)}


def number_lines(standing, verdict):
    """Where her lines stand on the page with their numbers, the flags call them by these."""
    for mark in _all(standing.marks) if verdict else ():
        mark.message, mark.do = (with_numbers(text, verdict.lines) for text in (mark.message, mark.do))


def _all(marks):
    return [inner for mark in marks for inner in (mark, *_all(mark.under))]


def _water(stay):
    """The window of her stay, its highs and lows, and when it is lowest and highest."""
    window = window_of_stay(stay)
    part = None if window.basis == "LAT to HAT" else window.part
    times, levels, highs = part.turns if part is not None else ([], [], [])
    turns = [Turn(moment(t), float(z), bool(high)) for t, z, high in zip(times, levels, highs, strict=True)]
    return {
        "water": window,
        "turns": turns,
        "predicted": window.basis in ("predicted", "table"),
        "lowest_at": None if part is None else moment(part.times[int(part.levels.argmin())]),
        "highest_at": None if part is None else moment(part.times[int(part.levels.argmax())]),
    }


def _under_keel(stay, verdict, window):
    """What is left under her at the lowest water with surge; None where one of the figures is not known. [m]"""
    if verdict is not None:
        return verdict.summary.depth_least
    known = (window.lowest, stay.berth.bed_z, stay.vessel.draft)
    return None if None in known else known[0] - float(known[1]) - float(known[2])


def read(tie_up):
    """What was entered, what came out, and why there is nothing to show."""
    if tie_up is None:
        return None, None, "it has not been worked out"
    try:
        scenario = Scenario.model_validate(tie_up.scenario) if tie_up.scenario else None
        verdict = Verdict.model_validate(tie_up.verdict) if tie_up.verdict else None
    except ValueError:  # kept by an older version of the site
        return None, None, "it was worked out in an older form that this site no longer reads"
    return scenario, verdict, tie_up.trouble


@dataclass(frozen=True)
class Said:
    """The answer in words; `kind` is holds, stop or not_known. `elsewhere`: another berth is what mends it."""

    kind: str
    words: str
    elsewhere: bool = False


def answer_of(tie_up, standing, verdict, said):
    """Never more than 'holds in the stated cases', and that only while nothing speaks against it.

    `said` puts a reason that was kept into the reader's words; those of the flags are so already.
    """
    if tie_up is None:
        return Said("not_known", "Tie-up not known yet: it has not been worked out.")
    if verdict is None:
        why = tie_up.trouble or "it was worked out in an older form that this site no longer reads"
        started = why.startswith(NOT_YET)
        return Said("not_known", f"{why[0].upper()}{why[1:]}." if started else f"Not known: {why}.")
    worst = next((m for m in standing.marks if m.kind == "stop"), None)
    told = worst is not None and worst.accepted is None  # by the records, whatever was worked out
    if tie_up.answer == Answer.DOES_NOT_HOLD or told:
        why = worst.message if worst else said(verdict.summary.why)
        return Said(
            "stop",
            f"Does not hold: {_clause(why.split(': ')[0])}.",
            worst is not None and worst.code in OF_THE_BERTH,
        )
    if tie_up.stale:
        stale = next(m for m in standing.marks if m.code == "stale")
        return Said("not_known", f"Not known. {_clause(stale.message)}.")
    if tie_up.answer == Answer.NOT_KNOWN:
        gap = next((m.message for m in standing.marks if m.kind == "not_known"), "ask the harbour office")
        return Said("not_known", f"Not known: {_clause(gap)}.")
    return Said("holds", "Holds in the stated cases.")


def _clause(text):
    return text.strip().rstrip(".") or "see below"


# --- lines ---


@dataclass(frozen=True)
class Line:
    """One line: its words, its figures from the result, and where it works hardest."""

    words: object
    row: object
    worst_at: str
    slack: str
    why: str
    sentence: str

    @property
    def material(self):
        return (self.row.material or "").replace("_", " ").replace("3strand", "three-strand")


def lines_of(scenario, verdict, reader, words, level=None):
    """Her lines as the page tells them, in the order they go on; the quarter is explained where it is first met."""
    rows = {row.id: row for row in verdict.lines}
    told = say_lines(scenario, verdict, reader, **words)
    worst = {name: case_in_words(verdict, row.governing_case, reader) for name, row in rows.items()}
    sentences = explained(line.long_sentence for line in told)
    return [
        Line(
            words=line,
            row=(row := rows[line.id]),
            worst_at=worst[line.id],
            slack=slack_in_words(row, scenario, verdict, level, reader),
            why=in_words(row.why, scenario.boat, reader, words.get("kind")),
            sentence=sentence,
        )
        for line, sentence in zip(told, sentences, strict=True)
    ]


def out_of_date_beside(stay, most=6):
    """Other stays of this pier whose tie-up is out of date, for instance because she came."""
    others = list(
        Stay.objects.filter(berth__pier=stay.berth.pier_id, state__in=("booked", "fast"))
        .exclude(pk=stay.pk)
        .select_related("berth", "vessel")
        .order_by("berth__walking_order", "arrive")
    )
    known = standings(others)
    stale = [s for s in others if known[s.pk].tie_up and known[s.pk].tie_up["stale"]]
    return stale[:most]
