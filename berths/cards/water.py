"""What a card tells of the water: its next low, and her at the lowest level of her stay."""

from berths.drawing.levels import levels_of

IN_FULL = {"CD": " (chart datum: zero of the tide table)"}


def next_low(facts, reader):
    """What must be read at arm's length: 'LOW Fri 05:40, 0.4 m'."""
    low = next((turn for turn in facts.turns if not turn.high), None)
    return f"LOW {_turn(low, facts, reader)}" if low else ""


def _turn(turn, facts, reader):
    return f"{reader.time(turn.time, today=facts.today, to=5)}, {tenth(turn.level, reader)}"


def tenth(level, reader):
    """A level as the card tells it: to 10 cm, without the second nought."""
    words = reader.length(level, "ruler")
    return words.replace("0 m", " m") if words.endswith("0 m") and "." in words else words


def levels_told(facts, reader):
    """The water now and its next turns, for a page that has no ruler."""
    told = [] if facts.now is None else [f"now {tenth(facts.now, reader)}"]
    told += [f"{'high' if turn.high else 'low'} {_turn(turn, facts, reader)}" for turn in facts.turns[:2]]
    datum = f" above {facts.datum}{IN_FULL.get(facts.datum, '')}" if facts.datum else ""
    return f"Water: {'; '.join(told)}{datum}." if told else ""


def water_told(facts, scenario, verdict, reader):
    """At the lowest water: her rail against the dock, what is under her keel, and which line draws first."""
    if scenario is None:
        return
    at = levels_of(scenario)
    told = [_aground(facts, scenario, verdict, reader) or _depth(at, reader)]
    if not at.floats and at.lowest is not None and at.dock_top is not None:
        down = at.dock_top - at.lowest - at.rail
        way = "below" if down >= 0 else "above"
        told.insert(0, f"rail {reader.length(abs(down), 'working')} {way} the dock edge")
    slack = _slack_then(verdict) if verdict and not at.floats else None
    if slack:
        line, left = slack
        draws = f"line {line} draws tight first"
        told.append(draws if left < 0.05 else f"least slack: line {line}, {reader.length(left, 'margin')}")
    yield f"At the lowest: {'; '.join(told)}."
    if facts.allowed:
        down, up = (reader.length(z, "level") for z in facts.allowed)
        yield f"For weather, this stay alone: down {down}, up {up}."


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
