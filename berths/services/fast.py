"""She is made fast: keep what was done, look at what it comes to, and say so at once."""

from uuid import uuid5

from django.core.exceptions import ValidationError

from berths.models import MadeFast, Stay
from berths.selectors.standing import standings
from berths.services.looks import retime
from berths.services.pictures import keep_picture
from berths.services.stays import make_fast
from berths.services.tieups import newest, renewing, work_out
from berths.services.water import read_gauge
from berths.watercurve import TIDAL
from marina.base import clock, house
from marina.base.writing import in_one_go
from vessels.services.layout import lay_out_again

ASK_WHY = (
    "Something speaks against leaving her so (above). Write why she was made fast all the same; it is kept."
)
NOT_ALLOWED = (
    "Something speaks against leaving her so (above), and this harbour does not let a hand pass it. "
    "Call the harbourmaster, who enters it here; nothing you typed is lost."
)


def against(stay, user=None):
    """The FIX and STOP marks that speak against her tie-up as it is planned, worst first, in a reader's words."""
    marks = standings([stay], user)[stay.pk].marks
    return [mark for mark in marks if mark.kind in ("stop", "fix") and mark.accepted is None]


def record(*, stay, by, at, lines, client_id, reason="", differed="", loa=None, picture=None, **found):
    """Keep that she is made fast, and work out whether her lines, as they are, hold her.

    Parameters
    ----------
    stay : Stay
    by : User
    at : datetime
        When it was done.
    lines : list of dict
        Fields of `MadeFastLine`, in order.
    client_id : UUID
        The phone's own name for this deed: sent twice is done once.
    reason : str
        Why, where a FIX or STOP stands against her planned tie-up (house rule H15).
    differed : str
        What else was done otherwise.
    loa : Decimal, optional
        Length over everything, if it was measured. [m]
    picture : File, optional
        A photograph as it is kept (`berths.pictures.as_kept`).
    found
        `level` [m], `side_to`, `as_planned`.

    Returns
    -------
    TieUp
        With her lines as they are; where no line was told, as planned.

    Raises
    ------
    ValidationError
        Where house rule H15 asks for a reason or for the harbourmaster, or a field is wrong.
    """
    if not MadeFast.objects.filter(client_id=client_id).exists():
        _check_rule(stay, by, reason)
        if reason:
            differed = f"{differed}. All the same, because: {reason}".lstrip(". ")
        with renewing(by):
            deed = make_fast(
                stay=stay, by=by, at=at, lines=lines, client_id=client_id, differed=differed,
                planned=newest(stay), **found,
            )  # fmt: skip
            if picture is not None:
                keep_picture(stay=stay, by=by, jpeg=picture.read(), at=deed.at, made_fast=deed)
            if deed.level is not None and stay.berth.water_id and stay.berth.water.kind in TIDAL:
                _gauge(deed)
            if loa is not None:
                _measured(stay.vessel, loa, by)
    stay.refresh_from_db()
    tie_up = work_out(stay, by)
    retime(Stay.objects.filter(pk=stay.pk))
    return tie_up


def _check_rule(stay, by, reason):
    if by.is_harbourmaster or not against(stay):
        return
    if house.value("H15") == "no":
        raise ValidationError(NOT_ALLOWED)
    if not reason.strip():
        raise ValidationError({"reason": ASK_WHY})


def _gauge(deed):
    """What the hand read on the gauge is a reading like any other: held against the prediction, changing none."""
    read_gauge(
        water=deed.stay.berth.water,
        level=deed.level,
        at=deed.at,
        by=deed.by,
        note=f"Read when {deed.stay.vessel.name} was made fast.",
        client_id=uuid5(deed.client_id, "gauge"),
    )


def _measured(vessel, loa, by):
    """What a tape says goes beside what was declared, with the day and the name."""

    def write():
        vessel.loa_measured, vessel.loa_measured_on = loa, clock.today()
        vessel.loa_measured_by = by.get_username()
        vessel.full_clean()
        vessel.save()
        return lay_out_again(vessel, loa=float(loa))

    in_one_go(write, by=by)
