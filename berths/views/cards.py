"""Where staff choose which cards to print, and the batches that were printed."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from berths.cardforms import AT_ONCE_MOST, BatchForm, piece_of
from berths.cards import press
from berths.models import Card, CardBatch
from berths.selectors import cards as selectors
from berths.selectors import visible
from berths.services.cards import destroy, print_batch
from marina.base import clock


@require_http_methods(["GET", "HEAD", "POST"])
def cards(request):
    """POST prints a batch and leads to it."""
    day = _day(request.GET.get("day", ""))
    start = {"what": "arrivals", "day": day, "form": "card", "paper": "a4"}
    if request.user.units == "ft":
        start["paper"] = "letter"
    form = BatchForm(
        request.POST if request.method == "POST" else None,
        initial=start,
        piers=selectors.pier_counts(request.user),
    )
    if request.method == "POST" and form.is_valid() and (done := _printed(request, form)):
        return done
    context = {
        "form": form,
        "day": day,
        "arrivals": selectors.arrivals(request.user, day),
        "old": (old := selectors.still_out(request.user)),
        "slips": selectors.to_destroy(request.user, old),
        "batches": selectors.batches(request.user),
    }
    return render(request, "berths/cards.html", context, status=422 if form.errors else 200)


@require_POST
def destroyed(request, pk):
    """An old card is destroyed, says a hand."""
    cards_seen = Card.objects.defer("pdf").filter(stay__in=visible.stays(request.user))
    card = get_object_or_404(cards_seen.select_related("stay__berth"), pk=pk)
    try:
        destroy(card=card, by=request.user)
        messages.success(request, f"Card {card}: kept, that it is destroyed.")
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("berths:cards")


@require_safe
def batch_pdf(request, pk):
    """A batch as it was printed."""
    batch = get_object_or_404(CardBatch, pk=pk)
    response = HttpResponse(bytes(batch.pdf), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="cards-{batch.pk}.pdf"'
    return response


def _day(text):
    """The day asked for, else today: what is no day is said by the form that it is typed into."""
    try:
        day = parse_date(text)
    except ValueError:
        day = None
    return day if day and 1990 <= day.year <= 2200 else clock.today()


def _printed(request, form):
    """The answer after printing; None where nothing was printed, with the reason on the form."""
    given, user = form.cleaned_data, request.user
    stays, words = _asked(user, given)
    try:
        batch, refused = print_batch(
            stays=list(stays),
            by=user,
            how=form.how(),
            words=words,
            old=selectors.to_destroy(user),
            address_of=lambda stay: request.build_absolute_uri(reverse("berths:card", args=[stay.pk])),
        )
    except (ValidationError, press.NoPrinter) as error:
        for sentence in getattr(error, "messages", [str(error)]):
            form.add_error(None, sentence)
        return None
    for sentence in refused:
        messages.error(request, sentence)
    return redirect("berths:cards") if refused else redirect("berths:cards-batch", batch.pk)


def _asked(user, given):
    if given["what"] == "arrivals":
        day = given["day"]
        return selectors.arrivals(user, day), f"Arrivals {day:%a} {day.day} {day:%b}"
    if given["what"] == "pier":
        return selectors.lying(user, given["pier"]), str(given["pier"])
    stays, piece = list(selectors.lying(user)), piece_of(given["what"])
    part = stays[piece * AT_ONCE_MOST : (piece + 1) * AT_ONCE_MOST]
    whole = len(part) == len(stays)
    return (
        part,
        "The harbour" if whole or not part else f"The harbour, {part[0].berth.code} to {part[-1].berth.code}",
    )
