"""What a hand tells after making a boat fast: each line of the card, one by one, and what was done otherwise."""

from datetime import timedelta
from decimal import Decimal
from typing import get_args
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile

from berths.models.stay import SideTo
from berths.pictures import as_kept
from berths.tieup.scenario import Material
from marina.base import clock
from marina.base.units import STEP
from vessels.forms import LengthField
from vessels.models import Line

AS_ASKED, OTHERWISE, NOT_ON = "asked", "otherwise", "off"
ANSWERS = [(AS_ASKED, "On, as asked"), (OTHERWISE, "On, but otherwise"), (NOT_ON, "Not on")]
LONG_AGO = timedelta(days=7)  # a phone without signal may send late; later than this it is a wrong date
MORE_LINES = 2
HALF = Decimal("0.5")
ROPES = [(key, key.replace("_", " ").replace("3strand", "three-strand")) for key in get_args(Material)]


class EndField(forms.ModelChoiceField):
    """Where a line is fast, in the words of the card where there are any."""

    say = staticmethod(str)

    def label_from_instance(self, end):
        return self.say(end)


class Done(forms.Form):
    """When, at which water, which side; and why, where something spoke against it."""

    client_id = forms.UUIDField(widget=forms.HiddenInput)
    at = forms.DateTimeField(
        label="Made fast at",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )
    side_to = forms.ChoiceField(
        required=False, choices=[("", "not looked at"), *SideTo.choices], label="Which side or end touches"
    )
    differed = forms.CharField(
        required=False,
        max_length=200,
        label="What else was done otherwise",
        help_text="May be left empty.",
    )
    reason = forms.CharField(
        required=False,
        max_length=90,
        label="Why she was made fast all the same",
        help_text="Kept with your name.",
    )

    picture = forms.FileField(required=False)

    def __init__(self, data=None, files=None, *, stay, units="m"):
        initial = {"client_id": uuid4(), "at": clock.local(clock.now()), "side_to": stay.side_to}
        super().__init__(data, files, initial=initial)
        self.stay = stay
        self.fields["level"] = LengthField(
            units=units, label="The gauge reads", help_text="Empty: nobody read it."
        )
        self.fields["loa"] = LengthField(
            units=units,
            label="Length over everything, if you measured it",
            help_text="As she lies: anchor, bowsprit, platform, davits, outboard tilted.",
        )
        for name in ("level", "loa"):
            self.fields[name].widget.attrs["autocomplete"] = "off"

    def clean_picture(self):
        """As it is kept: a photograph that cannot be read is told here, before anything is written."""
        upload = self.cleaned_data["picture"]
        return ContentFile(as_kept(upload)) if upload else None

    def clean_at(self):
        at, now = self.cleaned_data["at"], clock.now()
        if at > now + timedelta(minutes=10):
            raise ValidationError("That is still to come; write when it was done.")
        if at < now - LONG_AGO:
            raise ValidationError("That is more than a week ago; look at the date.")
        return at

    def clean_loa(self):
        loa = self.cleaned_data["loa"]
        if loa is not None and not Decimal(1) <= loa < Decimal(500):
            raise ValidationError(
                "A boat is between 1 and 500 m long; look at the decimal point and the unit."
            )
        return loa


class OneLine(forms.Form):
    """One line as it is on. `planned` is the row of the card; without it the line is one more than was asked."""

    tag = forms.CharField(required=False, max_length=20, label="Its tag")
    boat_end = EndField(None, required=False, label="From, on her", empty_label="as asked")
    shore_end = EndField(None, required=False, label="To, ashore", empty_label="as asked")
    material = forms.ChoiceField(required=False, label="Kind of rope", choices=[("", "not known"), *ROPES])
    diameter_mm = forms.DecimalField(
        required=False, label="Diameter, mm", min_value=Decimal(1), max_value=Decimal(200), decimal_places=1
    )
    description = forms.CharField(required=False, max_length=100, label="What it looks like")

    def __init__(self, data=None, *, stay, planned=None, words=None, say=(str, str), units="m", prefix):
        super().__init__(data, prefix=prefix)
        self.planned, self.words = planned, words
        if planned is not None:
            self.fields["how"] = forms.ChoiceField(
                choices=ANSWERS,
                widget=forms.RadioSelect,
                label=f"Line {words.order}",
                error_messages={"required": "Say of this line whether it is on."},
            )
        self.fields["length"] = LengthField(
            units=units,
            label="Length as it is",
            help_text="From her cleat to the face of the pile, or the cleat.",
        )
        self.fields["boat_end"].queryset = stay.vessel.fittings.order_by("-x", "code")
        self.fields["shore_end"].queryset = stay.berth.fastenings.select_related("fastening").order_by("code")
        for name, words_of in zip(("boat_end", "shore_end"), say, strict=True):
            self.fields[name].say = words_of
            if planned is None:
                self.fields[name].empty_label = "not looked at"
        for field in self.fields.values():
            field.widget.attrs.setdefault("autocomplete", "off")

    def clean(self):
        given = super().clean()
        self.line = self._tagged(given)
        if self.how == OTHERWISE and not self._told():
            self.add_error("how", "Say what is otherwise: another tag, length, fastening or rope.")
        if self.planned is None and self._told() and not (given.get("tag") or given.get("description")):
            self.add_error("tag", "Give its tag, or say what it looks like.")
        return given

    def _tagged(self, given):
        """The line in the register: by the tag that was read, else the one that was here, unless it is gone.

        A tag that the register does not know is kept as it was read, in the line's description.
        """
        tag = (given.get("tag") or "").strip()
        another = any(given.get(name) for name in ("material", "diameter_mm", "description"))
        if not tag and self.planned is not None and not another:
            tag = self.planned.tag or ""
        return Line.objects.filter(tag__iexact=tag).first() if tag else None

    @property
    def how(self):
        return self.cleaned_data.get("how") or (OTHERWISE if self.planned is None and self._told() else "")

    def _told(self):
        names = ("tag", "boat_end", "shore_end", "material", "diameter_mm", "description", "length")
        return any(self.cleaned_data.get(name) for name in names)

    @property
    def is_on(self):
        return self.how in (AS_ASKED, OTHERWISE)

    @property
    def open(self):
        """Whether its further fields stand open: something is in them, or is asked for."""
        return bool(self.errors) or (self.is_bound and self.how == OTHERWISE)

    @property
    def extras(self):
        return [
            self[name]
            for name in ("tag", "length", "shore_end", "boat_end", "material", "diameter_mm", "description")
        ]

    def row(self):
        """Fields of a `MadeFastLine`: what was told, and where nothing else was told, what was asked for."""
        given, asked = self.cleaned_data, self.planned
        ends = {name: given[name] or self._asked_end(name) for name in ("boat_end", "shore_end")}
        named = self.line is not None
        described = given["description"] or ("" if named or asked is None else "as on the card")
        if given["tag"] and not named:
            described = f"tag read as {given['tag']}; {described}".rstrip("; ")
        # Of a tagged line the register knows the rope; of another one the card's holds, unless told otherwise.
        rope = asked is not None and not named and self.how == AS_ASKED
        return ends | {
            "line": self.line,
            "description": described[:100],
            "length": self._length(ends["shore_end"]),
            "material": given["material"] or (asked.material or "" if rope else ""),
            "diameter_mm": given["diameter_mm"] or (_mm(asked.diameter_mm) if rope else None),
        }

    def _asked_end(self, name):
        if self.planned is None:
            return None
        code = self.planned.boat_fitting if name == "boat_end" else self.planned.shore_fitting
        return self.fields[name].queryset.filter(code=code).first()

    def _length(self, shore_end):
        """Working length, to a pile's middle; a hand measures to its face. [m]

        Not told: as asked where the line runs as asked, else what the register has of its tag, else not known.
        """
        told, asked = self.cleaned_data["length"], self.planned
        if told is not None:
            return told + _half_a_pile(shore_end)
        moved = self.cleaned_data["boat_end"] or self.cleaned_data["shore_end"]
        other = self.how == OTHERWISE and (moved or self.line is not None)
        if asked is None or asked.working_length is None or other:
            return None
        return Decimal(str(round(asked.working_length, 4)))


def _half_a_pile(end):
    """From a pile's face to its middle; nothing at a cleat or ring. [m]"""
    pile = end.fastening if end and end.fastening.kind == "pile" else None
    return (HALF * pile.diameter).quantize(STEP) if pile and pile.diameter else 0


def _mm(value):
    return None if value is None else Decimal(str(round(value, 1)))
