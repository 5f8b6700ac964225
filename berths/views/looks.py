"""Look again: what is due, what was found, and a calendar that follows."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from berths.calendar import calendar_of
from berths.models import CalendarFeed, Recheck
from berths.models.feed import digest
from berths.roundforms import LookAgain, done_at
from berths.selectors import visible
from berths.selectors.looks import open_looks
from berths.services import looks as deeds
from marina.base import clock, house
from marina.base.writing import in_one_go


@require_safe
def looks(request):
    """Missed ones first, then what comes."""
    rows = open_looks(request.user)
    now = clock.now()
    context = {
        "missed": [row for row in rows if row.due < now],
        "coming": [row for row in rows if row.due >= now],
        "feed": CalendarFeed.objects.filter(user=request.user).first(),
    }
    return render(request, "berths/looks.html", context)


@require_POST
def looked(request, pk):
    """Somebody looked; the page one came from says so."""
    look = get_object_or_404(Recheck, pk=pk, stay__in=visible.stays(request.user))
    late = request.POST.get("late", "")
    late = int(late) if late.isdigit() else 0
    try:
        deeds.looked(look=look, by=request.user, found=request.POST.get("found", ""), at=done_at(late))
        messages.success(request, f"{look.stay.berth}: kept, what you found.")
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("berths:looks")


@require_http_methods(["GET", "HEAD", "POST"])
def look_new(request, pk):
    """Ask for a look at one boat."""
    stay = get_object_or_404(visible.stays(request.user).select_related("berth", "vessel"), pk=pk)
    form = LookAgain(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            deeds.set_look(stay=stay, by=request.user, **form.cleaned_data)
            messages.success(request, "Kept: it stands on the list of looks, and on her card.")
            return redirect("berths:stay", pk)
        except ValidationError as error:
            form.add_error("due" if "due" in getattr(error, "error_dict", {}) else None, error.messages)
    context = {"stay": stay, "form": form}
    return render(request, "berths/look_new.html", context, status=422 if form.errors else 200)


@require_POST
def feed_new(request):
    """A new address for this person's calendar; the old one is dead from now on. It is shown once."""
    token = CalendarFeed.new_token()
    fields = {"token_hash": digest(token), "made": clock.now()}
    in_one_go(
        lambda: CalendarFeed.objects.update_or_create(user=request.user, defaults=fields), by=request.user
    )
    address = request.build_absolute_uri(reverse("berths:looks-feed", args=[token]))
    return render(request, "berths/feed.html", {"address": address})


@require_safe
def feed(request, token):
    """The calendar itself: whoever has the address, and no other way in."""
    owner = get_object_or_404(
        CalendarFeed.objects.select_related("user"), token_hash=digest(token), user__is_active=True
    )

    def address(stay):
        return request.build_absolute_uri(reverse("berths:stay", args=[stay]))

    name = house.value("harbour_name")
    data = calendar_of(open_looks(owner.user), name=name, address=address, now=clock.now())
    return HttpResponse(data, content_type="text/calendar; charset=utf-8")
