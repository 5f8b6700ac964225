"""Where a line is: by the loan book, and where it was seen. Two places at once is found, never resolved."""

from dataclasses import dataclass

from django.db.models import OuterRef, Prefetch, Subquery

from berths.models import LineUse, MadeFast, MadeFastLine, Sighting
from berths.models.stay import StayState
from berths.selectors import visible
from vessels.models import Line
from vessels.models.line import LineState


@dataclass(frozen=True)
class TwoPlaces:
    """One line that two records put at two places."""

    line: Line
    recorded: str
    seen: Sighting

    @property
    def words(self):
        return (
            f"{self.line}: recorded {self.recorded}, but seen at {self.seen.berth or self.seen.place}. "
            "One of the records is wrong."
        )


def berth_of(use):
    """The berth at which an open use has its line."""
    return use.stay.berth if use.stay_id else use.position.line_set.berth


def two_places(user):
    """Every line that is recorded at two places, by tag. Three queries.

    A line is where its open use says, else at home. The last sighting since then says otherwise: at another
    berth, counted on a hook while it is out, or at a berth while it is at home.
    """
    newest = Sighting.objects.filter(line=OuterRef("pk")).order_by("-at", "-id").values("pk")[:1]
    uses = LineUse.objects.filter(back=None).select_related("stay__berth", "position__line_set__berth")
    lines = list(
        visible.lines(user)
        .annotate(last_seen=Subquery(newest))
        .exclude(last_seen=None)
        .prefetch_related(Prefetch("uses", queryset=uses, to_attr="out"))
        .order_by("tag")
    )
    seen = Sighting.objects.select_related("berth", "by").in_bulk([line.last_seen for line in lines])
    found = (at_two_places(line, next(iter(line.out), None), seen[line.last_seen]) for line in lines)
    return [two for two in found if two]


def at_two_places(line, out, seen):
    """The two places of one line, or None.

    Parameters
    ----------
    out : LineUse or None
        Its open use.
    seen : Sighting or None
        Where it was seen last.
    """
    if seen is None:
        return None
    if out is None:
        since = line.uses.exclude(back=None).order_by("-back").values_list("back", flat=True).first()
        at_home = seen.berth_id is None or seen.berth.code in line.home.split()
        if at_home or (since and seen.at <= since):
            return None
        return TwoPlaces(line, f"at {line.home or 'home'}", seen)
    if seen.at <= out.at or seen.berth_id == berth_of(out).pk:
        return None
    return TwoPlaces(line, f"at {berth_of(out)}", seen)


@dataclass(frozen=True)
class Held:
    """What a line holds, as one of the records has it."""

    berth: object
    boat: str
    how: str
    stay: object = None


def holds(line, out, seen):
    """Every berth and boat that a line holds: by the loan book, by who made her fast, by who saw it last."""
    rows = []
    if out:
        if out.stay_id:
            rows.append(Held(out.stay.berth, out.stay.vessel.name, "lent to her", out.stay))
        else:
            line_set = out.position.line_set
            rows.append(
                Held(line_set.berth, line_set.vessel.name, f"position {out.position.number} of her set")
            )
    last = MadeFast.objects.filter(stay=OuterRef("made_fast__stay")).order_by("-at", "-id").values("pk")[:1]
    tied = (
        MadeFastLine.objects.filter(line=line, made_fast__stay__state=StayState.FAST)
        .annotate(last=Subquery(last))
        .select_related("made_fast__stay__berth", "made_fast__stay__vessel")
    )
    for row in tied:
        if row.made_fast_id == row.last:
            stay = row.made_fast.stay
            rows.append(Held(stay.berth, stay.vessel.name, "put on when she was made fast", stay))
    if seen and seen.berth_id and (two := at_two_places(line, out, seen)):
        boat = seen.stay.vessel.name if seen.stay_id else ""
        rows.append(Held(two.seen.berth, boat, "seen there last", seen.stay))
    once = {}
    for row in rows:
        once.setdefault((row.berth.pk, row.boat), row)
    return list(once.values())


def still_here():
    """Retired lines whose eye is not cut yet: a list until it is empty. One query."""
    return list(Line.objects.filter(state=LineState.RETIRED).order_by("tag"))
