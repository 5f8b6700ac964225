"""Whose rows a person may see. Staff see all; a holder the own boats and what belongs to them, nothing else.

What is not visible reads the same as what does not exist: the pages answer 404 to both.
"""

from django.db.models import Exists, OuterRef, Q

from berths.models import Berth, LineSet, LineUse, Stay
from marina.base import clock
from vessels.models import Line, Vessel


def _sees_all(user):
    return user.is_authenticated and not user.is_holder


def vessels(user):
    """Vessels this person may see."""
    if _sees_all(user):
        return Vessel.objects.all()
    return Vessel.objects.filter(owner__user=user.pk, owner__user__isnull=False)


def stays(user):
    """Stays this person may see; a holder's own ones, past and to come."""
    if _sees_all(user):
        return Stay.objects.all()
    return Stay.objects.filter(vessel__in=vessels(user))


def line_sets(user):
    """Line sets this person may see: for a holder, those of the own boats."""
    if _sees_all(user):
        return LineSet.objects.all()
    return LineSet.objects.filter(vessel__in=vessels(user))


def berths(user):
    """Berths this person may see: for a holder, where an own boat lies, will lie, or has her lines."""
    if _sees_all(user):
        return Berth.objects.all()
    now = clock.now()
    stay = (
        stays(user)
        .filter(Q(depart=None) | Q(depart__gt=now), berth=OuterRef("pk"))
        .exclude(state="cancelled")
    )
    kept = line_sets(user).filter(Q(ends=None) | Q(ends__gt=clock.today()), berth=OuterRef("pk"))
    return Berth.objects.filter(Exists(stay) | Exists(kept))


def lines(user):
    """Lines this person may see: for a holder, the own ones and those in use for an own boat now."""
    if _sees_all(user):
        return Line.objects.all()
    out = LineUse.objects.filter(
        Q(stay__in=stays(user)) | Q(position__line_set__in=line_sets(user)), line=OuterRef("pk"), back=None
    )
    return Line.objects.filter(Q(owner__user=user.pk, owner__user__isnull=False) | Exists(out))
