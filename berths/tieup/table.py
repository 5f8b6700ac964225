"""A Verdict as plain text for a terminal."""

from berths.tieup.roles import role_words

ANSWERS = {
    "holds": "HOLDS IN THE STATED CASES",
    "does_not_hold": "DOES NOT HOLD",
    "not_known": "NOT KNOWN",
}
CAUTION = (
    "Worked out from the figures given, for the water and wind stated; it knows nothing that was not entered. "
    "Look before you leave her. Harbour authority, local rules and the boat's master come first."
)


def as_table(verdict):
    """Text with the answer, the lines in the order they go on, the flags, and what was assumed. Metres."""
    s = verdict.summary
    rows = [ANSWERS[s.answer] + (f": {s.why}" if s.why else "")]
    if s.low is not None and s.high is not None:
        rows.append(f"water {s.low:.2f} to {s.high:.2f} m above datum, surge {_surge(s)}")
    if s.holds_to is not None:
        rows.append(f"every limit kept up to gusts of {s.holds_to / 0.514444:.0f} kn")
    rows += _stands(verdict.stands)
    if s.counts:
        counted = ", ".join(f"{n} {name.replace('_', ' ')}" for name, n in s.counts.items())
        rows.append(f"{sum(s.counts.values())} cases: {counted}")
    rows += _one_lost(s)
    rows += ["", *_lines(verdict.lines), ""]
    if verdict.fittings:
        rows += ["on the fittings, all lines of each together:", *(_fitting(f) for f in verdict.fittings), ""]
    rows += [_flag(f) for f in verdict.flags] or ["no flag raised"]
    if verdict.choice:
        rows += ["", *(f"or instead: {a.difference}" for a in verdict.choice.next)]
        rows += [f"would mend it: {m}" for m in verdict.choice.mend]
    if verdict.assumed:
        rows += ["", "assumed, because nobody gave it:"]
        rows += [f"  {a.field}: {_value(a)}{a.why}" for a in verdict.assumed]
    if s.left_out:
        rows += ["", "left out:", *(f"  {text}" for text in s.left_out)]
    return "\n".join([*rows, "", CAUTION])


def _fitting(load):
    """'D2: 2.1 kN of the 13.3 kN it may be asked for, 0.6 kN of it upward (low 0.41 m, ...)'."""
    may = "strength not known" if load.may is None else f"of the {load.may / 1000:.2f} kN it may be asked for"
    way = "upward" if load.up >= 0 else "downward"
    return f"  {load.id.replace('_', ' ')}: {load.pull / 1000:.2f} kN, {may}; {abs(load.up) / 1000:.2f} kN of it {way} on her ({load.case})"


def _stands(stands):
    if stands is None:
        return []
    rows = []
    if stands.water:
        low, high = stands.water
        rows.append(f"the lines stand water from {_end(low)} to {_end(high)}")
    if worst := stands.weakest:
        knots = int(worst.speed / 0.514444)
        rows.append(
            f"gives first above {knots} kn from {worst.from_deg:03.0f}: {worst.limit.replace('_', ' ')}, {worst.line}, at {worst.level:.2f} m"
        )
    return rows


def _one_lost(s):
    if not s.one_line_lost:
        return []
    if not s.hangs_on:
        return ["holds with any one line lost"]
    return [f"without line {row.line} {row.then}" for row in s.one_line_lost if not row.holds]


def _end(end):
    return f"{end.level:.2f} m" + (
        " or beyond" if end.beyond else f" ({end.limit.replace('_', ' ')}, {end.line})"
    )


def _surge(s):
    return " and ".join(
        f"{word} {'not known' if v is None else f'{v:.2f} m'}"
        for word, v in (("down", s.surge_down), ("up", s.surge_up))
    )


def _lines(lines):
    head = ("", "line", "from", "runs", "to", "length", "cut", "mm", "snug at", "now", "peak", "worst at")
    body = [
        (
            f"{line.order}.",
            role_words(line.role) + (" (option)" if line.optional else ""),
            line.boat_fitting.replace("_", " "),
            line.leads.upper() if line.leads != "abeam" else "across",
            line.shore_fitting,
            _m(line.working_length),
            _m(line.cut_length),
            f"{line.diameter_mm:g}" if line.diameter_mm else "not known",
            _m(line.set_level) if line.set_level is not None else "any level",
            _now(line.slack_now),
            f"{line.peak_tension / 1000:.2f} kN" if line.peak_tension is not None else "-",
            line.governing_case or "-",
        )
        for line in lines
    ]
    if not body:
        return ["no lines"]
    widths = [max(len(row[i]) for row in (head, *body)) for i in range(len(head))]
    table = [
        "  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip()
        for row in (head, *body)
    ]
    return table + [f"{line.order}. {line.why}" for line in lines if line.why]


def _now(slack):
    """What to leave or haul in with the water as it is: 'leave 0.35 m'."""
    if slack is None:
        return "-"
    if abs(slack) < 0.005:
        return "snug"
    return f"{'leave' if slack > 0 else 'haul in'} {abs(slack):.2f} m"


def _m(value):
    return "not known" if value is None else f"{value:.2f} m"


def _flag(flag):
    head = f"{flag.severity.upper()}{', not known' if flag.state == 'not_known' else ''} {flag.code}: {flag.message}"
    rows = [head] + ([f"     do: {flag.do}"] if flag.do else [])
    return "\n".join(rows + [f"     with it: {u.code}: {u.message}" for u in flag.under])


def _value(assumed):
    if assumed.value is None:
        return ""
    return f"{assumed.value}{' ' + assumed.unit if assumed.unit and assumed.unit != '1' else ''}, "


def working_table(working):
    """The steps of a `Working` as text, and the forces of its case with what is left over."""
    rows = [f"line {working.line}, worst at: {working.case} ({working.level:.2f} m above datum)", ""]
    for step in (*working.steps, *working.lengths):
        rows += [
            f"{step.what}: {step.value:.4g} {step.unit}",
            f"  {step.words}",
            f"  {step.symbols} = {step.figures}",
        ]
        rows.append(f"  source: {step.source}")
    rows += ["", f"{'forces on her in this case':34} {'x, N':>10} {'y, N':>10} {'turning, N m':>13}"]
    rows += [f"{p.by:34} {p.fx:10.2f} {p.fy:10.2f} {p.moment:13.2f}" for p in working.pulls]
    rows.append(f"left over: {working.residual:.2g} N")
    return "\n".join([*rows, "", CAUTION])
