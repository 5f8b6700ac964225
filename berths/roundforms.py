"""What is told on a round: one mark a berth, what is otherwise, and a line that was found."""

from datetime import timedelta
from uuid import uuid4

from django import forms
from django.core.files.base import ContentFile

from berths.fastforms import ROPES, EndField
from berths.models import Berth, Pier, SetPosition
from berths.models.round import Mark
from berths.pictures import as_kept
from marina.base import clock
from vessels.forms import LengthField
from vessels.models import Line

HARBOUR = "harbour"
MISSED = "missed"
LONGEST_LATE = 7 * 24 * 3600  # s


def done_at(late):
    """When a deed was done that waited `late` seconds on a phone; its clock may be wrong, its count is not."""
    return clock.now() - timedelta(seconds=min(int(late or 0), LONGEST_LATE))


class Begin(forms.Form):
    """A name for the walk, and where it goes."""

    name = forms.CharField(max_length=60, label="Name of the round")
    where = forms.ChoiceField(label="Where")

    def __init__(self, data=None, *, missed=()):
        hour = clock.local(clock.now()).hour
        part = "Morning" if hour < 11 else "Midday" if hour < 16 else "Evening" if hour < 22 else "Night"
        super().__init__(data, initial={"name": f"{part} round", "where": HARBOUR})
        self.missed = missed
        choices = [(HARBOUR, "the whole harbour")]
        if missed:
            codes = ", ".join(berth.code for berth in missed)
            choices.append((MISSED, f"what the last round did not look at: {codes}"))
        choices += [(f"pier{pier.pk}", pier.name) for pier in Pier.objects.order_by("walking_order")]
        self.fields["where"].choices = choices

    def berths(self):
        where = self.cleaned_data["where"]
        if where == MISSED:
            return self.missed
        rows = Berth.objects.order_by("walking_order")
        return rows if where == HARBOUR else rows.filter(pier=where.removeprefix("pier"))


class LookForm(forms.Form):
    """One look. No mark is chosen for the one who looks."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    late = forms.IntegerField(required=False, min_value=0, max_value=LONGEST_LATE)
    mark = forms.ChoiceField(
        choices=Mark.choices,
        widget=forms.RadioSelect,
        label="How is it",
        error_messages={"required": "Say how it is, or that nobody could look."},
    )
    words = forms.CharField(
        required=False, max_length=300, label="What is otherwise, or why nobody could look"
    )
    position = EndField(None, required=False, label="Which line", empty_label="no line of a set")
    tag = forms.CharField(required=False, max_length=20, label="Tag as read")
    diameter_mm = forms.DecimalField(required=False, label="Diameter found, mm", min_value=1, max_value=200)
    material = forms.ChoiceField(required=False, label="Kind of rope", choices=[("", "not known"), *ROPES])
    description = forms.CharField(required=False, max_length=200, label="What it looks like")
    picture = forms.FileField(required=False, label="A photograph")

    FOUND = ("position", "tag", "diameter_mm", "length", "material", "description")

    def __init__(self, data=None, files=None, *, stay=None, units="m"):
        super().__init__(data, files, initial={"client_id": uuid4()})
        self.fields["position"].say = lambda row: f"{row.number}. {row.role or 'line'}"
        rows = SetPosition.objects.select_related("boat_end", "shore_end").order_by("number")
        mine = (
            {"line_set__berth": stay.berth_id, "line_set__vessel": stay.vessel_id} if stay else {"pk": None}
        )
        self.fields["position"].queryset = rows.filter(**mine, line_set__ends=None)
        self.fields["length"] = LengthField(units=units, label="Length found")
        for name in ("tag", "words", "description"):
            self.fields[name].widget.attrs["autocomplete"] = "off"

    @property
    def at(self):
        return done_at(self.cleaned_data["late"])

    def clean_picture(self):
        upload = self.cleaned_data["picture"]
        return ContentFile(as_kept(upload)) if upload else None

    def clean(self):
        given = super().clean()
        if given.get("mark") and given["mark"] != Mark.AS_PLANNED and not given.get("words"):
            self.add_error("words", "Say what is not as planned, or why nobody could look.")
        return given

    @property
    def found(self):
        return [self[name] for name in self.FOUND]

    def seen(self):
        """Fields of a Sighting, or None where no line was told of."""
        given = self.cleaned_data
        if not any(given.get(name) for name in self.FOUND):
            return None
        tag = given["tag"].strip()
        return {
            "tag": tag,
            "line": Line.objects.filter(tag__iexact=tag).first() if tag else None,
            "position": given["position"],
            "diameter_found_mm": given["diameter_mm"],
            "length_found": given["length"],
            "material": given["material"],
            "description": given["description"],
        }


class LookAgain(forms.Form):
    """A look that a person asks for."""

    due = forms.DateTimeField(
        label="Look again at",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )
    words = forms.CharField(max_length=200, label="What to look at")
    named = forms.CharField(required=False, max_length=60, label="Who looks")
