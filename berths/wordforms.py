"""What an owner writes to the office, and what the office answers."""

from uuid import uuid4

from django import forms

from berths.models import SetPosition
from berths.models.word import WordKind
from berths.pictures import as_kept
from vessels.forms import LengthField

SAY = {
    WordKind.WORRY: ("What worries you", "For instance: the sleeve at the dock cleat has slipped."),
    WordKind.CHANGED: ("What you changed, and why", ""),
    WordKind.COMING: ("When you will come", "For instance: Friday about 10:00."),
}


class Place(forms.ModelChoiceField):
    def label_from_instance(self, row):
        return f"{row.number}. {row.role or 'line'}"


class WordForm(forms.Form):
    """One word of an owner; which fields there are depends on what it is about."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    position = Place(None, required=False, label="Which line", empty_label="none of them")
    tag = forms.CharField(
        required=False, max_length=20, label="Tag on the new line", help_text="Empty: none."
    )
    diameter_mm = forms.DecimalField(
        required=False, label="Its diameter, mm", min_value=1, max_value=200, max_digits=5, decimal_places=2
    )
    length = LengthField(
        label="Its length between the two ends", help_text="As it lies there. Empty: not known."
    )
    text = forms.CharField(max_length=500, widget=forms.Textarea({"rows": 3}))
    picture = forms.FileField(
        required=False,
        label="A photograph",
        help_text="May be left out. The place that the camera noted is not kept.",
        widget=forms.FileInput({"accept": "image/jpeg,image/png,image/webp"}),
    )

    def __init__(self, data=None, files=None, *, kind, vessel, units="m"):
        super().__init__(data, files, initial={"client_id": uuid4()}, label_suffix="")
        places = SetPosition.objects.filter(line_set__vessel=vessel, line_set__ends=None).order_by("number")
        self.fields["position"].queryset = places.select_related("line_set__berth")
        self.fields["length"].units = units
        self.fields["text"].label, self.fields["text"].help_text = SAY[kind]
        self.fields["text"].required = kind != WordKind.COMING
        self.fields["text"].error_messages["required"] = "Write in a few words what it is."
        left_out = {
            WordKind.COMING: ("position", "tag", "diameter_mm", "length", "picture"),
            WordKind.WORRY: ("tag", "diameter_mm", "length"),
            WordKind.CHANGED: (),
        }
        for name in left_out[kind]:
            del self.fields[name]
        if kind == WordKind.CHANGED:
            self.fields["position"].required = True
            self.fields["position"].empty_label = "choose one"
            self.fields["position"].error_messages["required"] = "Say which line you changed."

    def clean_picture(self):
        upload = self.cleaned_data["picture"]
        return as_kept(upload) if upload else None

    @property
    def told(self):
        """The arguments of `services.words.tell`."""
        given = self.cleaned_data
        seen = {
            "tag": given.get("tag", ""),
            "diameter_found_mm": given.get("diameter_mm"),
            "length_found": given.get("length"),
            "description": given.get("text", "")[:200],
        }
        names = ("client_id", "text", "position", "picture")
        return {name: given[name] for name in names if name in given} | {"seen": seen}


class AnswerForm(forms.Form):
    answer = forms.CharField(
        max_length=500,
        label="Your answer; the owner reads it",
        widget=forms.Textarea({"rows": 3}),
        error_messages={"required": "Write an answer, however short."},
    )
