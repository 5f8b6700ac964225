"""Why this set, or this line, rather than another: one sentence with what differs, in figures that differ as shown."""

import itertools

from berths.tieup.roles import role_words

LIMITS = {
    "line": "pull on a line",
    "fitting": "pull on a fastening",
    "calm": "pull without wind",
    "vertical": "pull up or down",
    "dock_end": "room to the dock",
    "alongside": "press on her fenders",
    "out_of_berth": "room to the end of the berth",
    "held": "drift",
}


def one_line(pick, mine, other, instead, loa):
    """What a line does better than its next best.

    Parameters
    ----------
    pick, instead : candidates, the one taken and the next best
    mine, other : choose.Entry
        The sets they stand in.
    loa : float
        [m]
    """
    ashore = instead.shore.id != pick.shore.id
    taken, rather = (pick.shore.id, instead.shore.id) if ashore else (pick.boat.id, instead.boat.id)
    longer = pick.run.lead - instead.run.lead
    parts = [f"{longer:.1f} m longer"] if longer >= 0.1 else []
    parts += _measures(mine, other) or _next_measures(mine, other)
    return f"{taken} rather than {rather}: " + ", ".join(parts or [_as_good(mine, other, loa, taken)])


def sets(other, mine, loa):
    """How another set differs from the one taken."""
    swaps = [
        f"{role_words(o.role)} to {o.shore.id} from {o.boat.id}"
        for o, m in itertools.zip_longest(other.picks, mine.picks)
        if o and (not m or o.key != m.key)
    ]
    parts = _measures(other, mine) or _next_measures(other, mine)
    return f"{'; '.join(swaps)}: " + ", ".join(parts or [_as_good(mine, other, loa, "the set above")])


def _measures(a, b):
    """What the first does against the second: greatest pull, how far she can move, limits, unknown strengths."""
    out = [
        *_differs("greatest pull {} of strength", b.peak, a.peak, ".2f"),
        *_differs("she can move {} m", b.excursion, a.excursion, ".2f", least=0.02),
    ]
    for name in sorted(a.use):
        if b.use.get(name, 0) > 1 >= a.use[name]:
            out.append(f"keeps what the other breaks ({LIMITS[name]})")
        elif a.use[name] > 1 >= b.use.get(name, 0):
            out.append(f"breaks a limit ({LIMITS[name]})")
    out += _differs("fastenings of unknown strength {}", b.unknown, a.unknown, "d")
    return out + _differs("lines {}", len(b.lines), len(a.lines), "d")


def _next_measures(a, b):
    """What differs where pull and movement do not: rope, and the limit whose use differs most."""
    out = _differs("rope in all {} m", b.rope, a.rope, ".1f")
    shares = {name: abs(a.use[name] - b.use.get(name, 0)) for name in a.use if name != "held"}
    for name in sorted(shares, key=shares.get, reverse=True)[:1]:
        if max(a.use[name], b.use.get(name, 0)) > 0:  # below 0 it is nowhere near
            out += _differs(
                f"{LIMITS[name]} {{}} % of what it may", 100 * b.use[name], 100 * a.use[name], ".0f"
            )
    return out


def _differs(words, before, after, form, least=0.0):
    """['greatest pull 0.10 -> 0.12 of strength'], or nothing where the two would read the same."""
    shown = f"{before:{form}}", f"{after:{form}}"
    return [words.format(" -> ".join(shown))] if shown[0] != shown[1] and abs(after - before) >= least else []


def _as_good(mine, other, loa, taken):
    """Two that are alike as far as anybody can see: what put one of them first."""
    if mine.short_springs != other.short_springs:
        return (
            f"as good; {taken} taken for springs {abs(other.short_springs - mine.short_springs):.1f} m longer"
        )
    ours, theirs = mine.parts_of_score(loa), other.parts_of_score(loa)
    less = {name: theirs[name] - ours[name] for name in ours}
    name = max(less, key=less.get)
    if round(less[name], 6) > 0:
        return f"as good; {taken} taken for a hair less {name}"
    return f"as good; {taken} taken because it comes first by name"
