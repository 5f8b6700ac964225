"""Rounds on foot: begun, looked at berth by berth, and closed with what nobody looked at."""

from uuid import uuid4

from django.core.exceptions import ValidationError
from django.db.models import Q

from berths.models import Look, Picture, Recheck, Round, Sighting, Stay
from berths.models.round import Mark
from marina.base import clock
from marina.base.writing import in_one_go

CLOSED = "This round is closed: begin a new one."
NOT_ON_IT = "This berth is not on this round."


def begin(*, name, berths, by):
    """Begin a round over these berths."""
    berths = list(berths)
    if not berths:
        raise ValidationError(
            {"berths": "Choose a pier, or the whole harbour: there is no berth to walk to."}
        )
    round_ = Round(name=name, started=clock.now(), by=by)
    round_.full_clean()

    def write():
        round_.save()
        round_.berths.set(berths)
        return round_

    return in_one_go(write, by=by)


def look_at(*, berth, by, mark, words="", round_=None, seen=None, picture=None, at=None, client_id=None):
    """One person's look at one berth.

    Parameters
    ----------
    berth : Berth
    by : User
    mark : str
        Of `Mark`: as planned, not as planned, could not look; the last two with `words`.
    round_ : Round, optional
    seen : dict, optional
        Fields of a `Sighting`: a line that was found there.
    picture : File, optional
        A photograph as it is kept; only where a boat lies there.
    at : datetime, optional
        When it was done (default now), not when it was sent.
    client_id : UUID, optional
        The phone's own name for this look: sent twice is one.

    Returns
    -------
    Look
    """
    if client_id and (known := Look.objects.filter(client_id=client_id).first()):
        return known
    at = at or clock.now()
    stay = Stay.objects.filter(Q(depart=None) | Q(depart__gt=at), berth=berth, state="fast").first()
    look = Look(
        round=round_,
        berth=berth,
        stay=stay,
        mark=mark,
        words=words,
        at=at,
        by=by,
        client_id=client_id or uuid4(),
    )
    look.full_clean(exclude=["client_id"])
    line = Sighting(berth=berth, stay=stay, at=at, by=by, **seen) if seen else None
    if line is not None:
        line.full_clean(exclude=["look"])

    def write():
        if round_ is not None:
            _refuse(Round.objects.select_for_update().get(pk=round_.pk), berth)
        if client_id and (known := Look.objects.filter(client_id=client_id).first()):
            return known
        look.save()
        if line is not None:
            line.look = look
            line.save()
        if picture is not None and stay is not None:
            fields = {"stay": stay, "look": look, "at": at, "by": by, "words": words[:100]}
            Picture.objects.create(jpeg=picture.read(), **fields)
        if mark != Mark.COULD_NOT_LOOK:
            _settle(stay, at, by, look)
        return look

    return in_one_go(write, by=by)


def _refuse(round_, berth):
    if round_.closed is not None:
        raise ValidationError(CLOSED)
    if not round_.berths.filter(pk=berth.pk).exists():
        raise ValidationError(NOT_ON_IT)


def _settle(stay, at, by, look):
    """Who has looked at her now has done the looks that were due by then."""
    for row in Recheck.objects.filter(stay=stay, due__lte=at, done_at=None) if stay else ():
        row.done_at, row.done_by = at, by
        row.found = (look.words or look.get_mark_display())[:200]
        row.save()


def close(*, round_, by):
    """Close a round; what was not looked at stays so, and is told."""

    def write():
        row = Round.objects.select_for_update().get(pk=round_.pk)
        if row.closed is None:
            row.closed = clock.now()
            row.save()
        return row

    return in_one_go(write, by=by)
