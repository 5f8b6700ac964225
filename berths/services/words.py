"""What an owner tells the office is kept, stands on the day, and is answered."""

from uuid import uuid4

from django.core.exceptions import ValidationError
from django.db.models import Q

from berths.models import LineSet, OwnersWord, Picture, Sighting, Stay
from berths.models.word import WordKind
from berths.services.stale import mark
from marina.base import clock, house
from marina.base.writing import in_one_go
from vessels.models import Line

NEVER = "This harbour's rule: owners do not change lines of a set themselves. Tell the office what you would change."


def tell(*, vessel, by, kind, text="", position=None, seen=None, picture=None, client_id=None):
    """Keep an owner's word.

    Parameters
    ----------
    vessel : Vessel
    by : User
    kind : WordKind
    text : str
    position : SetPosition, optional
        The place of her set that it is about.
    seen : dict, optional
        Of a line that was changed: fields of a `Sighting` (tag, diameter, length, what it looks like).
    picture : bytes, optional
        A photograph as it is kept.
    client_id : UUID, optional
        Sent twice is one.

    Returns
    -------
    OwnersWord

    Raises
    ------
    ValidationError
        Where house rule H19 lets no owner change a set, or words are missing.
    """
    if client_id and (known := OwnersWord.objects.filter(client_id=client_id, vessel=vessel).first()):
        return known
    changed = kind == WordKind.CHANGED
    if changed and house.value("H19") == "never":
        raise ValidationError(NEVER)
    if changed and position is None:
        raise ValidationError({"position": "Say which line you changed."})
    now = clock.now()
    stay = Stay.objects.filter(vessel=vessel, state="fast").order_by("-arrive").first()
    line_set = _set_of(vessel, position, stay)
    berth = line_set.berth if line_set else stay and stay.berth
    word = OwnersWord(
        kind=kind, vessel=vessel, berth=berth, line_set=line_set, position=position,
        text=text.strip(), at=now, by=by, client_id=client_id or uuid4(),
    )  # fmt: skip
    word.full_clean()

    def write():
        word.save(force_insert=True)
        if picture:
            Picture.objects.create(word=word, at=now, by=by, words=word.text[:100], jpeg=picture)
        if changed:
            _seen(word, stay, seen or {})
        return word

    return in_one_go(write, by=by)


def _set_of(vessel, position, stay):
    """The set the word is about: of the place, else the one where she lies, else her newest."""
    if position is not None:
        return position.line_set
    sets = LineSet.objects.filter(vessel=vessel, ends=None).select_related("berth").order_by("-starts")
    here = stay and sets.filter(berth=stay.berth_id).first()
    return here or sets.first()


def _seen(word, stay, seen):
    """What the owner put there counts as seen there; what was worked out with the old line is out of date."""
    tag = seen.get("tag", "").strip()
    there = stay if stay and stay.berth_id == word.berth_id else None
    sighting = Sighting(
        **seen | {"tag": tag},
        line=Line.objects.filter(tag__iexact=tag).first() if tag else None,
        berth=word.berth, stay=there, position=word.position, at=word.at, by=word.by,
    )  # fmt: skip
    sighting.full_clean()
    sighting.save()
    hers = Q(line_set=word.line_set_id) | Q(stay__vessel=word.vessel_id, stay__berth=word.berth_id)
    mark(hers, f"line {word.position.number} of her set was changed by her owner")


def answer(*, word, by, text):
    """The office's answer; the owner reads it, and the word leaves the day."""

    def write():
        row = OwnersWord.objects.select_for_update().get(pk=word.pk)
        if row.answered_at is not None:
            raise ValidationError(f"{row.answered_by or 'Somebody'} has answered this already.")
        row.answer, row.answered_at, row.answered_by = text.strip(), clock.now(), by
        row.full_clean()
        row.save()
        return row

    return in_one_go(write, by=by)
