"""Give a boat a berth, and have her tie-up worked out: booked in one transaction, worked out after it.

No lock is held while the engine works. If it fails the stay stands, and says that her tie-up is not known yet.
"""

from django.core.exceptions import ValidationError

from berths.lying import length_of
from berths.models import FlagAccepted, Stay
from berths.models.stay import EndIn, SideTo, StayState
from berths.services.stays import book_stay, move_stay
from berths.services.tieups import renewing, work_out
from marina.base import clock, house
from marina.base.writing import in_one_go
from vessels.services.layout import lay_out

END_ON = ("slip", "box", "stern_to")
NEEDS_A_REASON = "She does not fit there. To give her that berth all the same, write why."


def place(*, boat, option, arrive, depart, by, reason="", client_id=None):
    """Put a boat into a berth.

    Parameters
    ----------
    boat : Vessel
        New and not saved, or a known one with what was told today filled in.
    option : selectors.options.Option
        The berth as it was judged for her a moment ago.
    arrive, depart : aware datetime
    by : User
    reason : str
        Needed where she does not fit; kept with the stay and signed under every STOP it answers.
    client_id : UUID, optional
        The page's own name for this deed: twice is once.

    Returns
    -------
    Stay

    Raises
    ------
    ValidationError
        If somebody was quicker, she lies elsewhere, or she does not fit and nobody says why.
    """
    if known := client_id and Stay.objects.filter(client_id=client_id).first():
        return known
    _check_reason(option, reason)

    def write():
        vessel = _saved(boat)
        return book_stay(
            vessel=vessel,
            berth=option.berth,
            arrive=arrive,
            depart=depart,
            by=by,
            client_id=client_id,
            note=_note(option, reason, by),
            **_lies(option),
        )

    with renewing(by):
        try:
            stay = in_one_go(write, by=by)
        except ValidationError:
            if known := client_id and Stay.objects.filter(client_id=client_id).first():
                return known
            raise
        _work_out(stay, option, reason, by)
    return stay


def move(*, stay, option, by, reason=""):
    """Give a boat another berth; one that is made fast leaves the old one now. Returns the stay that holds."""
    _check_reason(option, reason)
    why = reason or f"moved from {stay.berth}"
    changes = {"heading_deg": None, "lies_x": None, "lies_y": None, **_lies(option)}
    if note := _note(option, reason, by):
        changes["note"] = note
    with renewing(by):
        moved = move_stay(stay=stay, by=by, reason=why, berth=option.berth, **changes)
        _work_out(moved, option, reason, by)
    return moved


def turn(*, stay, by):
    """Let her lie with the other side, or the other end, to the dock; only as long as she is not made fast."""
    if stay.state != StayState.BOOKED:
        raise ValidationError("She is made fast: what is planned for her is not turned any more.")
    changes = {"heading_deg": None}
    if stay.berth.kind in END_ON:
        other = EndIn.BOW if (stay.end_in or stay.side_to) != EndIn.BOW else EndIn.STERN
        changes |= {"end_in": other, "side_to": SideTo(other.value)}
    else:
        changes["side_to"] = SideTo.STARBOARD if stay.side_to == SideTo.PORT else SideTo.PORT
    turned = move_stay(stay=stay, by=by, reason="other side or end to the dock", **changes)
    work_out(turned, by)
    return turned


def work_out_again(*, stay, by):
    """A person asks for the tie-up anew, for instance when it is out of date. Nothing does so silently."""
    if stay.state in (StayState.LEFT, StayState.CANCELLED):
        raise ValidationError("This stay is over; what was worked out for it stays as it was.")
    return work_out(stay, by)


def _saved(boat):
    """The vessel in the record, with fittings and heights laid out where nobody knows them."""
    boat.full_clean()
    boat.save()
    return lay_out(boat, loa=length_of(boat, house.rules())[0])


def _lies(option):
    fit = option.fit
    return {"side_to": fit.side_to, "end_in": fit.end_in, "raft_place": option.raft_place}


def _check_reason(option, reason):
    if not option.can_be_given:
        raise ValidationError(f"{option.berth} cannot be given: {option.why_not}")
    if option.fit.fits is False and not reason.strip():
        raise ValidationError({"reason": NEEDS_A_REASON})


def _note(option, reason, by):
    if option.fit.fits is not False:
        return ""
    return f"{option.why_not} Given all the same by {by.get_username()}: {reason.strip()}"[:300]


def _work_out(stay, option, reason, by):
    """The tie-up, and this person's name under each STOP that was shown and answered for."""
    tie_up = work_out(stay, by)
    shown = {point.code for point in option.fit.of("stop")}
    stops = [f for f in tie_up.flags if f["severity"] == "stop" and f.get("state") != "not_known"]
    answered = [f for f in stops if f["code"] in shown and not f.get("line") and not f.get("fitting")]
    if not (answered and reason):
        return

    def sign():
        for flag in answered:
            FlagAccepted.objects.get_or_create(
                tie_up=tie_up,
                code=flag["code"],
                place="",
                defaults={"reason": reason.strip()[:300], "by": by, "at": clock.now()},
            )

    in_one_go(sign, by=by)
