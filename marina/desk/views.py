"""Pages that belong to the office as a whole: the first page, the reader's own settings, about, health."""

from django import forms
from django.contrib import messages
from django.contrib.auth.views import PasswordChangeView
from django.db import DatabaseError, connection
from django.http import JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from berths.models import Water
from berths.views.board import board
from berths.views.mine import mine
from berths.window import source_of
from marina.base.models import User


@require_safe
def home(request):
    """Staff see the day, a berth holder the own boat; one request, no detour."""
    return mine(request) if request.user.is_holder else board(request)


class OwnSettings(forms.ModelForm):
    """In which units and words this person reads."""

    class Meta:
        model = User
        fields = ["units", "words"]
        labels = {"units": "Lengths in", "words": "Words of the trade"}


def me(request):
    form = OwnSettings(request.POST or None, instance=request.user)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "Kept. Every page now reads so for you.")
        return redirect("me")
    return render(request, "desk/me.html", {"form": form}, status=422 if form.errors else 200)


class Password(PasswordChangeView):
    template_name = "desk/password.html"
    success_url = reverse_lazy("me")

    def form_valid(self, form):
        messages.success(self.request, "The new password counts from now on.")
        return super().form_valid(form)

    def form_invalid(self, form):
        return self.render_to_response(self.get_context_data(form=form), status=422)


@require_safe
def about(request):
    waters = [{"name": water.name, "source": source_of(water)} for water in Water.objects.all()]
    return render(request, "desk/about.html", {"waters": waters})


@require_safe
def offline(request):
    return render(request, "desk/offline.html")


@require_safe
def service_worker(request):
    """At the top of the site, for it may answer only for what lies below its own address."""
    return render(request, "desk/sw.js", content_type="text/javascript")


@never_cache
@require_safe
def health(request):
    """Does the site answer, and its database? Says yes or no and nothing else."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return JsonResponse({"site": "answers", "database": "does not answer"}, status=503)
    return JsonResponse({"site": "answers", "database": "answers"})
