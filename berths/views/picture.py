"""Photographs of a stay: sent by whoever may see the stay, shown to nobody else."""

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST, require_safe

from berths.models import Picture
from berths.pictures import as_kept
from berths.selectors import visible
from berths.services.pictures import keep_picture


class Sent(forms.Form):
    picture = forms.FileField(error_messages={"required": "Choose a photograph first."})
    words = forms.CharField(required=False, max_length=100)


@require_POST
def send(request, pk):
    """Keep one photograph; the page of the stay says what became of it."""
    stay = get_object_or_404(visible.stays(request.user), pk=pk)
    form = Sent(request.POST, request.FILES)
    try:
        if not form.is_valid():
            raise ValidationError([e for errors in form.errors.values() for e in errors])
        given = form.cleaned_data
        keep_picture(stay=stay, by=request.user, jpeg=as_kept(given["picture"]), words=given["words"])
        messages.success(request, "The picture is kept, without the place the camera noted.")
    except ValidationError as error:
        for sentence in error.messages:
            messages.error(request, f"Not kept: {sentence}")
    return redirect("berths:stay", pk)


@require_safe
def show(request, pk):
    own = Q(stay__in=visible.stays(request.user)) | Q(word__vessel__in=visible.vessels(request.user))
    picture = get_object_or_404(Picture.objects.filter(own), pk=pk)
    response = HttpResponse(bytes(picture.jpeg), content_type="image/jpeg")
    response["Cache-Control"] = "private, max-age=86400, immutable"
    return response
