"""The card of a stay: as a page for the phone, and as paper."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods, require_safe

from berths.cardforms import CardForm
from berths.cards import facts, pdf, press
from berths.cards.page import page_of
from berths.selectors import visible
from berths.services import cards


@require_safe
def card(request, pk):
    """The phone page: what the card says now, from the same source."""
    stay = _stay(request, pk)
    printed = stay.cards.order_by("number").defer("pdf").last()
    reader = facts.reader_of(request.user)
    said = facts.card_of(
        stay, reader=reader, address=_address(request, pk), number=printed.number if printed else 0
    )
    may_print = _may_print(request.user) and not said.facts.over
    on = "card 4x6" if reader.units == "ft" else "card a6"
    context = {
        "stay": stay,
        "printed": printed,
        "may_print": may_print,
        "may_make_fast": not request.user.is_holder and stay.state == "booked",
        "form": CardForm(initial={"on": on}),
        **page_of(said),
    }
    return render(request, "berths/card.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def card_pdf(request, pk):
    """POST prints a new card and leads to it; GET is the newest card as it was printed."""
    stay = _stay(request, pk)
    if request.method == "POST":
        if not _may_print(request.user):
            raise PermissionDenied("Cards are printed by the harbour's staff. Ask at the office.")
        form = CardForm(request.POST)
        how = form.how() if form.is_valid() else None  # a bare press prints a card of A6
        try:
            cards.print_card(stay=stay, by=request.user, address=_address(request, pk), how=how)
        except (ValidationError, press.NoPrinter, pdf.DoesNotFit) as error:
            for sentence in getattr(error, "messages", [str(error)]):
                messages.error(request, sentence)
            return redirect("berths:card", pk=pk)
        return redirect("berths:card-pdf", pk=pk)
    newest = stay.cards.order_by("number").last()
    if newest is None:
        raise Http404("No card of this stay has been printed.")
    response = HttpResponse(bytes(newest.pdf), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{slugify(stay.berth.code)}-{newest.number}.pdf"'
    return response


def _stay(request, pk):
    stays = visible.stays(request.user).select_related("berth__water__outer", "vessel")
    return get_object_or_404(stays, pk=pk)


def _address(request, pk):
    return request.build_absolute_uri(reverse("berths:card", args=[pk]))


def _may_print(user):
    return not user.is_holder
