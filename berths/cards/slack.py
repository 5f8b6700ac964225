"""How much slack a line has: it belongs to the water of a moment, and is never told for another."""

import numpy as np

SNUG = 0.025  # m: less slack than this is none
SAME_WATER = 0.05  # m: nearer than this the level of the hour is that of the working


def slack_at(verdict, line, level):
    """Slack of a line in calm at a level, between the levels that were worked out; None beyond them. [m]"""
    known = sorted((at.level, row.slack_calm) for at in verdict.levels for row in at.lines if row.id == line)
    if level is None or not known or not known[0][0] - SNUG <= level <= known[-1][0] + SNUG:
        return None
    return float(np.interp(level, *zip(*known, strict=True)))


def slack_words(line, scenario, verdict, level, when, reader):
    """'0.35 m slack now', 'past snug by 0.10 m at 20:30'; '' where not known, and at a floating dock."""
    slack = _slack(line, scenario, verdict, level)
    if slack is None:
        return ""
    if abs(slack) < SNUG:
        return f"snug {when}"
    told = reader.length(abs(slack), "working")
    return f"{told} slack {when}" if slack > 0 else f"past snug by {told} {when}"


def _slack(line, scenario, verdict, level):
    if level is None or scenario.berth.kind == "floating" or line.working_length is None:
        return None
    worked = scenario.water and scenario.water.now
    if (slack := slack_at(verdict, line.id, level)) is None and worked is not None:
        return line.slack_now if abs(worked - level) <= SAME_WATER else None
    return slack
