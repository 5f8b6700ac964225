"""Two tie-ups of one boat at one berth, the earlier and the later: which line got worse, and at which end of the water.

Pure. Lines are known again by the two fittings they run between; at each end of the water the one that lost most is
told, and no other. What the earlier one did not know is no comparison.
"""

from berths.cards.words import deck_words
from marina.base.units import show_force

MORE_PULL = 0.05  # of what it pulled before: less is nothing to walk out for
LEAST_PULL = 100.0  # N
LESS_SLACK = 0.05  # m, half of what a hand pays out
OTHER_LENGTH = 0.10  # m: less cannot be seen on a band
SNUG = -0.01  # m: tighter than this in calm, a line is too short for that water
SAME_PLACE = 0.01  # m
ENDS = (("low", min), ("high", max))


def compare(before, after):
    """What the later result has that the earlier had not.

    Parameters
    ----------
    before, after : (Scenario, Verdict)

    Returns
    -------
    dict or None
        `low`, `high`: level at each end of the water, before and after [m above datum], None not known; `lines`: at
        most one for each end, with `end`, `level`, `order`, `from`, `to`, `leads`, `what` ('short': slack in calm
        [m]; 'pull': at its worst [N]), `was`, `now`; `length`: the line whose length on the card changed most;
        `new`: how many lines were not there before. None where the two cannot be compared.
    """
    (old_asked, old), (asked, new) = before, after
    if not _same_berth(old_asked, asked) or not old.levels or not new.levels:
        return None
    pairs = _lines_known_again(old_asked, old, asked, new)
    if not pairs:
        return None
    found = {"low": [_end(old, "low"), _end(new, "low")], "high": [_end(old, "high"), _end(new, "high")]}
    worst = (_worst(name, pick, old, new, pairs, asked.boat) for name, pick in ENDS)
    found["lines"] = [row for row in worst if row]
    found["length"] = _other_length(pairs, asked.boat)
    found["new"] = len(new.lines) - len(pairs)
    return found


def _other_length(pairs, boat):
    """The line whose length on the card changed most, where one did: a set that is only planned follows the water."""
    changed = [
        (abs(after.card_length - before.card_length), before, after)
        for before, after in pairs
        if None not in (before.card_length, after.card_length)
    ]
    size, before, after = max(changed, key=lambda row: row[0], default=(0.0, None, None))
    if size < OTHER_LENGTH:
        return None
    return _named(after, boat) | {"was": round(before.card_length, 4), "now": round(after.card_length, 4)}


def _named(row, boat):
    place = deck_words(boat, row.boat_fitting)
    return {"order": row.order, "from": place, "to": row.shore_fitting, "leads": row.leads}


def _same_berth(old, new):
    return (old.berth.kind, old.berth.bearing_deg) == (new.berth.kind, new.berth.bearing_deg)


def _end(verdict, name):
    """Level at one end of the water, with surge as far as it is known. [m above datum]"""
    s = verdict.summary
    level, surge = (s.low, s.surge_down) if name == "low" else (s.high, s.surge_up)
    if level is None or surge is None:
        return None
    return round(level - surge if name == "low" else level + surge, 4)


def _lines_known_again(old_asked, old, asked, new):
    """[(row before, row after)] of lines between the same two fittings, where the shore fitting still stands there."""
    stands = {f.id: (f.x, f.y) for f in old_asked.berth.fittings or ()}
    now = {f.id: (f.x, f.y) for f in asked.berth.fittings or ()}
    known = {(row.boat_fitting, row.shore_fitting): row for row in old.lines}
    pairs = []
    for row in new.lines:
        before = known.get((row.boat_fitting, row.shore_fitting))
        here, there = stands.get(row.shore_fitting), now.get(row.shore_fitting)
        if (
            before
            and here
            and there
            and max(abs(a - b) for a, b in zip(here, there, strict=True)) < SAME_PLACE
        ):
            pairs.append((before, row))
    return pairs


def _worst(name, pick, old, new, pairs, boat):
    """The line that lost most at one end: one that became too short before one that pulls harder; or None."""
    level = pick(row.level for row in new.levels)
    was, now = ({line.id: line for line in pick(v.levels, key=lambda r: r.level).lines} for v in (old, new))
    short, pull = [], []
    for before, row in pairs:
        if before.id not in was or row.id not in now:
            continue
        a, b = was[before.id], now[row.id]
        if b.slack_calm < SNUG and a.slack_calm - b.slack_calm >= LESS_SLACK:
            short.append((a.slack_calm - b.slack_calm, row, a.slack_calm, b.slack_calm))
        more = b.tension_max - a.tension_max
        if more >= LEAST_PULL and more >= MORE_PULL * a.tension_max:
            pull.append((more / (row.mbs or 1.0), row, a.tension_max, b.tension_max))
    what, rows = ("short", short) if short else ("pull", pull)
    if not rows:
        return None
    _, row, before, after = max(rows, key=lambda found: found[0])
    figures = {"what": what, "was": round(before, 4), "now": round(after, 4)}
    return {"end": name, "level": round(level, 4)} | _named(row, boat) | figures


# --- in words ---

LEADS = {"forward": "running forward", "aft": "running aft", "abeam": "straight across"}


def in_sentences(compared, reader):
    """One sentence for each end at which a line got worse; none where no line did, or nothing was compared."""
    return [_sentence(row, reader) for row in (compared or {}).get("lines", ())]


def set_in_words(compared, reader):
    """How the set itself differs: lines that were not in it, and the length that changed most. Empty: it does not."""
    row, new = (compared or {}).get("length"), (compared or {}).get("new", 0)
    told = []
    if new:
        told.append(
            f"{new} line{'s' if new > 1 else ''} of her set {'run' if new > 1 else 'runs'} otherwise than before."
        )
    if row:
        was, now = (reader.length(row[name], "working") for name in ("was", "now"))
        told.append(f"L{_line(row)[1:]} is now {now} on the card; before, {was}.")
    return " ".join(told)


def _line(row):
    return f"line {row['order']} (from the {row['from']}, {LEADS[row['leads']]} to {row['to']})"


def water_in_words(compared, reader):
    """How the span of water differs from that of the tie-up before; empty where it does not, or is not known."""
    pairs = [(compared or {}).get(name, [None, None]) for name in ("low", "high")]
    if any(None in pair for pair in pairs) or all(abs(now - was) < LESS_SLACK / 10 for was, now in pairs):
        return ""
    (low_was, low), (high_was, high) = pairs
    before = f"{reader.length(low_was, 'level')} to {reader.length(high_was, 'level')}"
    return f"Her water now reaches from {reader.length(low, 'level')} to {reader.length(high, 'level')}; before, {before}."


def _sentence(row, reader):
    line = _line(row)
    end = f"at the {'lowest' if row['end'] == 'low' else 'highest'} water, {reader.length(row['level'], 'level')}"
    if row["what"] == "pull":
        return f"Worse {end}: {line} pulls {show_force(row['now'])} there at its worst, before {show_force(row['was'])}."
    short = reader.length(-row["now"], "working")
    before = reader.length(abs(row["was"]), "working")
    had = f"it had {before} to spare" if row["was"] >= 0 else f"it was {before} too short"
    return f"Worse {end}: {line} is {short} too short there in calm; before, {had}."
