"""Forms of what is recorded of a water. They read what was typed; `berths.services.water` writes it.

Lengths are typed in the reader's units, times by the harbour's clock. A form that is sent back keeps what was
typed, a time that could not be read too.
"""

from datetime import timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError

from berths.localtime import ComesTwice, comes_twice, read_time
from berths.models import Forecast, Notice, Reading, Water
from berths.tidetable import read_table
from berths.windtext import gust_kept, read_directions
from marina.base import clock, house
from vessels.forms import LengthField

SLOW_CLOCK = timedelta(minutes=5)  # so far ahead of the site a phone's clock may be
OLD_NEWS = timedelta(days=60)
LARGEST_FILE = 2_000_000  # bytes


class LocalTimeInput(forms.TextInput):
    """The phone's own picker of a time, unless it would drop what stands there."""

    def get_context(self, name, value, attrs):
        context = super().get_context(name, value, attrs)
        plain = not value or self._plain(str(value))
        context["widget"]["type"] = "datetime-local" if plain else "text"
        return context

    def _plain(self, text):
        try:
            return bool(read_time(text, house.zone())) and len(text) <= len("2027-10-15T05:40")
        except ValueError:
            return False


class LocalTimeField(forms.CharField):
    """A time by the harbour's clock, read as an aware one in UTC."""

    widget = LocalTimeInput

    def __init__(self, **options):
        super().__init__(**options)
        self.widget.attrs |= {"autocomplete": "off"}

    def prepare_value(self, value):
        if value is None or isinstance(value, str):
            return value
        here = value.astimezone(house.zone())
        face = here.strftime("%Y-%m-%dT%H:%M")
        return face + here.strftime("%z") if comes_twice(value, house.zone()) else face

    def to_python(self, value):
        text = super().to_python(value)
        if not text:
            return None
        try:
            return read_time(text, house.zone())
        except (ComesTwice, ValueError) as fault:
            raise ValidationError(str(fault)[0].upper() + str(fault)[1:] + ".") from None


class WaterForm(forms.Form):
    """A form about one water. `units`: the reader's."""

    def __init__(self, data=None, files=None, *, units="m", **options):
        super().__init__(data, files, **options)
        for field in self.fields.values():
            if isinstance(field, LengthField):
                field.units = units
                field.widget.attrs["inputmode"] = "text"  # a minus must be on the keyboard
            if field.required:
                field.error_messages["required"] = f"{field.label}: not given yet."

    def refuse(self, error):
        """Put a refusal of the records where it belongs, what concerns no field of this form at its head."""
        told = error.message_dict if hasattr(error, "error_dict") else {None: error.messages}
        for name, faults in told.items():
            self.add_error(name if name in self.fields else None, faults)


class NewWater(WaterForm):
    WAYS = [
        ("station", "a tide station"),
        ("constants", "tidal constants of the harbour's own"),
        ("limits", "it is kept between two levels: a basin, a lake, a canal"),
        ("table", "the harbour's own table"),
    ]
    name = forms.CharField(
        max_length=60, label="What the water is called", help_text="Sea, inner basin, river."
    )
    way = forms.ChoiceField(choices=WAYS, label="How its level is known")


class Look(WaterForm):
    """Looking for a station; sent with GET, so that a search can be linked to."""

    q = forms.CharField(required=False, max_length=60, label="Name, region or country of the station")
    lat = forms.FloatField(required=False, min_value=-90, max_value=90, label="Latitude of the harbour")
    lon = forms.FloatField(required=False, min_value=-180, max_value=180, label="Longitude of the harbour")

    def clean(self):
        given = super().clean()
        if not self.errors and (given["lat"] is None) != (given["lon"] is None):
            raise ValidationError("Give latitude and longitude, or neither.")
        return given

    @property
    def place(self):
        given = getattr(self, "cleaned_data", {})
        return None if given.get("lat") is None or given.get("lon") is None else (given["lat"], given["lon"])


class StationOffsets(WaterForm):
    """How the tide at the harbour differs from the station's."""

    time_offset_min = forms.IntegerField(
        min_value=-1440,
        max_value=1440,
        initial=0,
        label="Later than at the station, minutes",
        help_text="With a minus where the harbour has its high water earlier. No difference: 0.",
    )
    height_offset = LengthField(
        required=True,
        label="Added to the station's heights",
        help_text="Where the harbour counts from another zero, or stands higher all over. No difference: 0.",
    )
    datum = forms.CharField(
        max_length=60,
        label="Heights here are counted from",
        help_text="The name of the zero, after what is added above. Soundings and docks must be counted from it too.",
    )


class Limits(WaterForm):
    low = LengthField(
        required=True,
        label="Lower limit",
        help_text="From the gauge's own zero, as soundings are; more than 100 m above the sea is not taken.",
    )
    high = LengthField(required=True, label="Upper limit")
    datum = forms.CharField(
        max_length=60, label="Heights here are counted from", help_text="The name of the zero."
    )


class OwnTable(WaterForm):
    KINDS = [("extremes", "highs and lows"), ("levels", "levels, straight from row to row")]
    kind = forms.ChoiceField(choices=KINDS, label="The rows are")
    file = forms.FileField(
        required=False,
        label="The table as a file",
        help_text="CSV with two columns: time,height. Or paste it:",
    )
    text = forms.CharField(
        required=False,
        label="The table",
        strip=False,
        widget=forms.Textarea(attrs={"rows": 10, "spellcheck": "false", "autocomplete": "off"}),
    )
    zone = forms.CharField(
        required=False,
        max_length=60,
        label="Zone of times that bring none",
        help_text="UTC, or such as Europe/London. Empty: each time must have its own, as in 2027-10-15T04:40Z.",
    )
    unit = forms.ChoiceField(choices=[("m", "metres"), ("ft", "feet, as decimals")], label="Heights are in")
    datum = forms.CharField(
        max_length=60, label="Heights are counted from", help_text="The name of the zero."
    )
    low = LengthField(label="Lowest level there ever is", help_text="For permanent berths. May stay empty.")
    high = LengthField(label="Highest level there ever is", help_text="For permanent berths. May stay empty.")

    def __init__(self, data=None, files=None, **options):
        upload = files.get("file") if files else None
        self.too_large = upload is not None and upload.size > LARGEST_FILE
        if upload and not self.too_large:  # a browser does not send a file back: its text is kept instead
            data = data.copy()
            data["text"] = _text_of(upload.read())
        super().__init__(data, None, **options)

    def clean_zone(self):
        name = self.cleaned_data["zone"].strip()
        try:
            return ZoneInfo(name) if name else None
        except (ValueError, OSError, LookupError):
            raise ValidationError(f"“{name}” is no zone; write UTC, or such as Europe/London.") from None

    def clean(self):
        given = super().clean()
        if self.too_large:
            self.add_error(
                "file", f"That file is larger than {LARGEST_FILE // 1_000_000} MB; send it in pieces."
            )
        elif not (given.get("text") or "").strip():
            self.add_error("text", "No table was given: choose a file, or paste its rows.")
        elif "zone" in given and not self.errors:
            high_low = given["kind"] == "extremes"
            try:
                given["rows"] = read_table(
                    given["text"], highs_and_lows=high_low, zone=given["zone"], unit=given["unit"]
                )
            except ValueError as faults:
                self.add_error("text", str(faults).splitlines())
        return given


def _text_of(raw):
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode(
            "latin-1"
        )  # its digits and marks are the same; what else it holds is refused by row


class Allowance(WaterForm):
    """What weather may add to a prediction. There is no default."""

    surge_down = LengthField(label="Down: so much lower it may stand")
    surge_up = LengthField(label="Up: so much higher it may stand")
    surge_reason = forms.CharField(
        required=False,
        max_length=200,
        label="Why so much",
        help_text="Winters of the gauge, a study, a storm.",
    )
    storm_down = LengthField(label="In a storm, down")
    storm_up = LengthField(label="In a storm, up")
    storm_reason = forms.CharField(required=False, max_length=200, label="Why so much in a storm")


class StayLeaves(WaterForm):
    """Until when she stays."""

    depart = LocalTimeField(required=False, label="She stays until", help_text="Empty: no end is set.")


class StayAllowance(WaterForm):
    """What weather may add for one stay alone, in place of the water's allowance."""

    surge_down = LengthField(required=True, label="Down: so much lower it may stand")
    surge_up = LengthField(required=True, label="Up: so much higher it may stand")
    surge_reason = forms.CharField(max_length=200, label="Why, for this stay")


class ForATime(WaterForm):
    """A larger allowance for some hours or days, and the wind that is forecast for them."""

    surge_down = LengthField(label="Down", help_text="Empty: as always.")
    surge_up = LengthField(label="Up", help_text="Empty: as always.")
    wind_gust = forms.DecimalField(
        required=False,
        min_value=0,
        max_value=190,
        decimal_places=1,
        label="Gusts, knots",
        help_text="As forecast. Empty: no wind is told.",
    )
    wind_from_deg = forms.CharField(
        required=False,
        max_length=100,
        label="Wind from",
        help_text="True degrees or a point: 230, or SW. Several where it will shift: 200 230 260. "
        "Cards show an arrow where it is one.",
    )
    starts = LocalTimeField(label="From")
    ends = LocalTimeField(label="Until")
    source = forms.CharField(max_length=Forecast._meta.get_field("source").max_length, label="Why")
    everywhere = forms.ChoiceField(
        required=False,
        choices=[("", "this water"), ("on", "every water of the harbour")],
        label="It counts for",
    )

    def clean_wind_from_deg(self):
        try:
            return read_directions(self.cleaned_data["wind_from_deg"]) or None
        except ValueError as fault:
            raise ValidationError(str(fault)) from None

    def clean_wind_gust(self):
        return gust_kept(self.cleaned_data["wind_gust"])

    def clean(self):
        given = super().clean()
        told = ("surge_down", "surge_up", "wind_gust", "wind_from_deg")
        if not self.errors and all(given[name] is None for name in told):
            raise ValidationError("Give how much down, or up, or both; or the wind.")
        return given


class Announced(WaterForm):
    """A notice: from when the water is kept between which limits."""

    low = LengthField(required=True, label="Not below")
    high = LengthField(
        required=True, label="Not above", help_text="The same as above where it is kept at one level."
    )
    starts = LocalTimeField(label="From")
    ends = LocalTimeField(required=False, label="Until", help_text="Empty: until further notice.")
    published = forms.DateField(
        required=False,
        label="Date of the notice",
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
    )
    reason = forms.CharField(max_length=Notice._meta.get_field("reason").max_length, label="Why")


class GaugeRead(WaterForm):
    level = LengthField(required=True, label="The gauge reads")
    at = LocalTimeField(label="Read at")
    note = forms.CharField(
        required=False, max_length=Reading._meta.get_field("note").max_length, label="Note"
    )
    client_id = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, data=None, files=None, **options):
        options.setdefault("initial", {"at": clock.now(), "client_id": uuid4()})
        super().__init__(data, files, **options)

    def clean_at(self):
        at, now = self.cleaned_data["at"], clock.now()
        if at > now + SLOW_CLOCK:
            raise ValidationError("That is still to come; look at the date and the time.")
        if at < now - OLD_NEWS:
            raise ValidationError("That is more than two months ago; look at the date.")
        return at


def as_shown(water: Water):
    """What a form about this water starts with."""
    names = ("low", "high", "datum", "time_offset_min", "height_offset")
    names += ("surge_down", "surge_up", "surge_reason", "storm_down", "storm_up", "storm_reason")
    return {name: getattr(water, name) for name in names}
