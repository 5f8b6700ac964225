"""Joins, folds and sorts flags, and says what the whole answer is.

One cause, one flag: what follows from a boat that hangs on her lines stands under `hangs_her`, that she touches
under a berth that dries and a boat that may not, that no line holds her under the spring that is missing, that
fenders miss under a side that does.
"""

from datetime import UTC, datetime

from berths.tieup import (
    fenders,
    judge_berth,
    judge_care,
    judge_cases,
    judge_depth,
    judge_leads,
    judge_lines,
    judge_pulls,
    judge_side,
)
from berths.tieup.verdict import SEVERITIES

PARTS = (
    judge_berth, judge_depth, judge_lines, judge_leads, judge_pulls, fenders, judge_side, judge_cases, judge_care,
)  # fmt: skip
_LATE = datetime.max.replace(tzinfo=UTC)
BESIDE = ("power_reach",)  # not passed while it is not known, but nothing that holds her rests on it
FOLLOWS_HANGING = ("short_for_range", "line_weak", "fastening_out", "beyond_test")


def judge(work):
    """All flags of a tie-up, folded and sorted."""
    return in_order(fold([f for part in PARTS for f in part.judge(work)], work))


def fold(flags, work):
    """Put what follows from another flag under it: one cause, one flag."""
    for code, follows in (
        ("hangs_her", lambda f: _follows(f, work)),
        ("cannot_take_ground", lambda f: _raised(f, "grounds_at_low")),
        ("no_spring", lambda f: _raised(f, "only_contact")),
        ("over_dock", lambda f: _fenders_at(f, work.high)),
        ("under_dock", lambda f: _fenders_at(f, work.low)),
    ):
        cause = next((f for f in flags if f.code == code and f.state == "raised"), None)
        if cause is not None:
            under = [f for f in flags if follows(f)]
            kept = [f for f in flags if f not in under and f is not cause]
            flags = [*kept, cause.model_copy(update={"under": under})]
    return flags


def _raised(flag, code):
    return flag.code == code and flag.state == "raised"


def _fenders_at(flag, level):
    """Whether her fenders come off the face at this level: where her side does, too, it is no matter of fenders."""
    return (
        _raised(flag, "fender_misses") and None not in (flag.level, level) and abs(flag.level - level) < 1e-3
    )


def _follows(flag, work):
    if flag.state != "raised" or flag.code not in FOLLOWS_HANGING:
        return False
    if flag.code == "short_for_range":
        return flag.severity == "fix"
    if flag.line:
        return judge_pulls.calm_overload(work, flag.line)
    lines = [li.id for li in work.lines if flag.fitting in (li.shore_fitting, li.boat_fitting)]
    return flag.case is not None and any(judge_pulls.calm_overload(work, name) for name in lines)


def in_order(flags):
    """Worst first, then what bites first; what is not known after what is known at the same rank."""
    return sorted(
        flags,
        key=lambda f: (
            SEVERITIES.index(f.severity), f.state == "not_known", f.from_ or _LATE, f.code, f.line or "", f.fitting or "",
        ),
    )  # fmt: skip


def counts(flags):
    """How many are raised at each rank, and how many are not known: never fewer than there are.

    >>> counts([])
    {'stop': 0, 'fix': 0, 'note': 0, 'not_known': 0}
    """
    out = dict.fromkeys((*SEVERITIES, "not_known"), 0)
    for flag in flags:
        out[flag.severity if flag.state == "raised" else "not_known"] += 1
    return out


def answer(flags, broken):
    """'does_not_hold', 'not_known' or 'holds' (in the stated cases), and the reason in a few words."""
    stop = next((f for f in flags if f.state == "raised" and f.severity == "stop"), None)
    if stop:
        return "does_not_hold", stop.message
    if broken:
        return "does_not_hold", broken[0].words
    gaps = (f for f in flags if f.state == "not_known" and f.severity != "note" and f.code not in BESIDE)
    gap = next(gaps, None)
    if gap:
        return "not_known", gap.message
    return "holds", ""
