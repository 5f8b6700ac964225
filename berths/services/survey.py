"""Writing a survey: a berth with all its fastenings and faces, or nothing of it."""

from copy import deepcopy

from django.core.exceptions import ValidationError
from django.db.models import Max, ProtectedError

from berths.models import Berth, BerthFace, BerthFastening, Fastening, Pier
from marina.base.writing import in_one_go

LONGEST_LABEL = Fastening._meta.get_field("label").max_length


def new_pier(*, name, by):
    """A pier, walked after those there are."""

    def step():
        last = Pier.objects.aggregate(last=Max("walking_order"))["last"] or 0
        pier = Pier(name=name, walking_order=last + 1)
        pier.full_clean()
        pier.save()
        return pier

    return in_one_go(step, by=by)


def keep(*, survey, by):
    """Write a survey in one go; tie-ups that rest on what changed are marked by the signals.

    Parameters
    ----------
    survey : surveysheet.Survey

    Returns
    -------
    Berth
    """
    return keep_all(surveys=[survey], by=by)[0]


def keep_all(*, surveys, by):
    """Several berths, or none of them."""

    def step():
        fresh = deepcopy(surveys)  # a step may be run twice, and what was rolled back must not show
        _make_room(fresh)
        return [_keep(survey) for survey in fresh]

    try:
        return in_one_go(step, by=by)
    except ProtectedError as error:
        names = ", ".join(sorted({str(row) for row in error.protected_objects})[:3])
        raise ValidationError(
            f"Nothing was written: something still in the record needs a row: {names}."
        ) from error


def _keep(survey):
    berth = survey.berth
    berth.save()
    for rows, model, thing in (
        (survey.fastenings, BerthFastening, "fastening"),
        (survey.faces, BerthFace, "face"),
    ):
        _take_off([row for row in rows if row.gone], thing)
        kept = [row for row in rows if not row.gone]
        _free_names(kept)
        for row in kept:
            _write(berth, row, model, thing)
    return berth


def _make_room(surveys):
    """New berths are walked after the last one of their pier; all behind it move on, the last of them first."""
    new = [survey.berth for survey in surveys if survey.berth._state.adding]
    if not new:
        return
    last = Berth.objects.filter(pier=new[0].pier_id).aggregate(last=Max("walking_order"))["last"]
    if last is None:
        earlier = Berth.objects.filter(pier__walking_order__lt=new[0].pier.walking_order)
        last = earlier.aggregate(last=Max("walking_order"))["last"] or 0
    behind = Berth.objects.filter(walking_order__gt=last).order_by("walking_order")
    first = behind.first()
    if first and first.walking_order <= last + len(new):
        for berth in behind.reverse():
            berth.walking_order += len(new)
            berth.save(update_fields=["walking_order"])
    for number, berth in enumerate(new, start=last + 1):
        berth.walking_order = number


def _take_off(rows, thing):
    """A berth no longer uses it; what no berth uses any more goes too, and the trail keeps it."""
    for row in rows:
        row.link.delete()
        it = getattr(row.link, thing)
        if not it.berths.exists():
            it.delete()


def _free_names(rows):
    """Two rows may change names with each other: those that do let go of theirs first."""
    wanted = {row.code for row in rows}
    for row in rows:
        if row.link and row.link.code != row.code and row.link.code in wanted:
            row.link.code = f"~{row.link.pk}"
            row.link.save(update_fields=["code"])


def _write(berth, row, model, thing):
    it = row.thing
    if not row.recorded:
        if it._state.adding:
            it.label = free_label(type(it), f"{berth.code}/{row.code}")
        it.save()
    link = row.link or model(berth=berth)
    setattr(link, thing, it)
    link.code = row.code
    if model is BerthFastening:
        link.words = row.words
    link.full_clean(exclude=["berth", thing])
    link.save()


def free_label(model, wanted):
    """The harbour's own name of a new fastening or face: the berth's code and its name there.

    Where that is taken, by a berth that was called so before, a number follows.
    """
    wanted = wanted[:LONGEST_LABEL]
    if not model.objects.filter(label=wanted).exists():
        return wanted
    for number in range(2, 1000):
        tail = f" {number}"
        label = wanted[: LONGEST_LABEL - len(tail)] + tail
        if not model.objects.filter(label=label).exists():
            return label
    raise ValidationError("The harbour has no name left for this one; give it another.")


A_HAND_MAY = {"condition", "in_use", "last_checked", "checked_by", "note"}


def record_fastening(*, fastening, by, **fields):
    """What was found of a fastening; tie-ups that rest on what changed are marked by the signals.

    Raises
    ------
    ValidationError
        Where a rule of the record says no, or a hand would change what only the office may.
    """
    if not by.is_harbourmaster and set(fields) - A_HAND_MAY:
        raise ValidationError("Only the harbour office changes strength and measures of a fastening.")

    def step():
        row = Fastening.objects.select_for_update().get(pk=fastening.pk)
        for name, value in fields.items():
            setattr(row, name, value)
        row.full_clean()
        row.save()
        return row

    return in_one_go(step, by=by)
