"""The water of a berth: what moves it, from which datum it is counted, and what was announced or read.

Levels are metres above the water's own datum. Surge that nobody has set is null: 'not known', never 0.
"""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import CheckConstraint, F, Q

from berths import watercurve
from marina.base import clock
from marina.base.checks import one_of, within
from marina.base.constraints import Audited
from marina.base.fields import metres, metres_or_unknown
from marina.base.models import Deed


class WaterKind(models.TextChoices):
    STATION = "station", "tide station"
    CONSTANTS = "constants", "own tidal constants"
    LIMITS = "limits", "regulated or non-tidal: limits"
    TABLE = "table", "own table of levels"


class Water(models.Model):
    """One body of water with one way to know its level.

    station : a copy of the station's row, as the station file has it (`constituents`, `msl_above_datum`,
        `datums`, or `reference` with `offsets`); own constants have the same form.
    low, high : limits of a regulated or non-tidal water, before any notice; LAT and HAT of a tidal one.
    table : [[UTC time, level], ...] with `table_kind` 'extremes' (highs and lows) or 'levels'.
    """

    name = models.CharField(max_length=60, unique=True)
    kind = models.CharField(max_length=10, choices=WaterKind)
    datum = models.CharField(max_length=60, blank=True, help_text="Name of the zero of all heights here.")
    station_id = models.CharField(max_length=60, blank=True)
    station = models.JSONField(null=True, blank=True)
    time_offset_min = models.SmallIntegerField("time offset [min]", default=0)
    height_offset = metres(default=0)
    low = metres_or_unknown("lower limit, or LAT")
    high = metres_or_unknown("upper limit, or HAT")
    table = models.JSONField(null=True, blank=True)
    table_kind = models.CharField(
        max_length=10, blank=True, choices=[("extremes", "highs and lows"), ("levels", "levels")]
    )
    surge_up = metres_or_unknown()
    surge_down = metres_or_unknown()
    surge_reason = models.CharField(max_length=200, blank=True)
    surge_by = models.CharField(max_length=60, blank=True)
    surge_on = models.DateField(null=True, blank=True)
    storm_up = metres_or_unknown()
    storm_down = metres_or_unknown()
    storm_reason = models.CharField(max_length=200, blank=True)
    outer = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="inner",
        help_text="Beyond the gate.",
    )
    sill_z = metres_or_unknown("sill of the gate", help_text="Above the outer water's datum.")
    passes_above = metres_or_unknown("boats pass while the outer water is above")
    holds_to = metres_or_unknown("the gate holds out the outer water up to")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            *one_of("water", unknown=False, kind=WaterKind),
            *within("water", -100, 100, "m", "low", "high", "sill_z", "passes_above", "holds_to"),
            *within("water", -100, 100, "m", "height_offset"),
            *within("water", -1440, 1440, "min", "time_offset_min"),
            *within("water", 0, 20, "m", "surge_up", "surge_down", "storm_up", "storm_down"),
            CheckConstraint(
                name="water_low_below_high",
                condition=Q(low__lt=F("high")),
                violation_error_message="The lower limit must be below the upper one.",
            ),
            CheckConstraint(
                name="water_surge_both_or_none",
                condition=Q(surge_up__isnull=True, surge_down__isnull=True)
                | Q(surge_up__isnull=False, surge_down__isnull=False) & ~Q(surge_reason=""),
                violation_error_message="Give surge up and down with a reason, or neither.",
            ),
            CheckConstraint(
                name="water_storm_both_or_none",
                condition=Q(storm_up__isnull=True, storm_down__isnull=True)
                | Q(storm_up__isnull=False, storm_down__isnull=False) & ~Q(storm_reason=""),
                violation_error_message="Give both storm allowances with a reason, or neither.",
            ),
            CheckConstraint(
                name="water_limits_given",
                condition=~Q(kind="limits") | Q(low__isnull=False, high__isnull=False),
                violation_error_message="A regulated water needs its lower and upper limit.",
            ),
            Audited(name="water_trail", label="water"),
        ]

    def __str__(self):
        return self.name

    def clean(self):
        needed = {"station": "station", "constants": "station", "table": "table"}.get(self.kind)
        if needed and not getattr(self, needed):
            raise ValidationError({needed: "This kind of water needs it."})
        try:
            watercurve.check(self)
        except ValueError as faults:
            raise ValidationError({needed: str(faults).splitlines()}) from None
        if self.outer_id and self.outer_id == self.pk:
            raise ValidationError({"outer": "A water lies not beyond its own gate."})


class Notice(models.Model):
    """Limits announced for a water from a date, for instance a basin lowered for work."""

    water = models.ForeignKey(Water, on_delete=models.PROTECT, related_name="notices")
    low = metres()
    high = metres()
    starts = models.DateTimeField()
    ends = models.DateTimeField(null=True, blank=True, help_text="Empty: until further notice.")
    published = models.DateField(null=True, blank=True)
    reason = models.CharField(max_length=200)

    class Meta:
        ordering = ["water", "starts"]
        constraints = [
            *within("notice", -100, 100, "m", "low", "high"),
            CheckConstraint(
                name="notice_low_not_above_high",
                condition=Q(low__lte=F("high")),
                violation_error_message="The lower limit must not be above the upper one.",
            ),
            CheckConstraint(
                name="notice_order",
                condition=Q(ends__isnull=True) | Q(starts__lt=F("ends")),
                violation_error_message="A notice must end after it starts.",
            ),
            Audited(name="notice_trail", label="notice"),
        ]

    def __str__(self):
        return f"{self.water}: {float(self.low):g} to {float(self.high):g} m from {clock.local(self.starts):%d %b %Y}"


class Reading(Deed):
    """A level read from a gauge by a person."""

    water = models.ForeignKey(Water, on_delete=models.PROTECT, related_name="readings")
    level = metres()
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["water", "at"], name="reading_of_water")]
        constraints = [
            *within("reading", -100, 100, "m", "level"),
            Audited(name="reading_trail", label="reading"),
        ]

    def __str__(self):
        return f"{self.water} {float(self.level):g} m at {clock.local(self.at):%d %b %H:%M}"


class Forecast(Deed):
    """Wind and surge expected for a time: what a storm sweep is run with."""

    water = models.ForeignKey(
        Water,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="forecasts",
        help_text="Empty: all.",
    )
    starts = models.DateTimeField()
    ends = models.DateTimeField()
    wind_gust = models.DecimalField("gust [m/s]", max_digits=5, decimal_places=2, null=True, blank=True)
    wind_from_deg = models.JSONField(null=True, blank=True, help_text="True directions, [200, 230, ...].")
    surge_up = metres_or_unknown()
    surge_down = metres_or_unknown()
    source = models.CharField(max_length=100, blank=True)
    reading = models.ForeignKey(
        Reading,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="allowed",
        help_text="The gauge reading it was taken from; empty: it was forecast.",
    )
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-starts"]
        constraints = [
            *within("forecast", 0, 100, "m/s", "wind_gust"),
            *within("forecast", 0, 20, "m", "surge_up", "surge_down"),
            CheckConstraint(
                name="forecast_order",
                condition=Q(starts__lt=F("ends")),
                violation_error_message="A forecast must end after it starts.",
            ),
            Audited(name="forecast_trail", label="forecast"),
        ]

    def __str__(self):
        return f"forecast from {clock.local(self.starts):%d %b %Y %H:%M}"

    def clean(self):
        given = self.wind_from_deg
        if given is not None and not (
            isinstance(given, list) and all(isinstance(v, int | float) and 0 <= v <= 360 for v in given)
        ):
            raise ValidationError({"wind_from_deg": "Give a list of true directions from 0 to 360."})
