"""The water of berths: levels, highs and lows, and the water window of stays.

`spans` works each water out once over a time; windows of single stays are cut out of that. See
`berths.window` for what a window holds and how it says what is not known.
"""

from dataclasses import replace
from datetime import timedelta

from django.db.models import BigIntegerField, F, OuterRef, Q, Subquery, Value

from berths import stations, window
from berths.models import Forecast, Notice, Reading, Water
from berths.selectors.gate import needs, times_above
from berths.watercurve import TIDAL, station_of
from berths.window import AHEAD, LONGEST, Surge, WaterSpan, WaterWindow
from marina.base import clock


def harbour_waters(start, end):
    """Every water of the harbour between two times: {water's pk: WaterSpan}. Three queries."""
    return spans(Water.objects.select_related("outer"), start, end)


def window_of_stay(stay, water=None, *, now=None, storm=False):
    """The water window of a stay with what was allowed for it alone; `water` is its berth's, where at hand."""
    return window_of(
        water or stay.berth.water,
        stay.arrive,
        None if stay.purpose == "permanent" else stay.depart,
        now=now,
        storm=storm,
        own=Surge.of_stay(stay),
    )


def windows_of_stays(stays, *, now=None):
    """The water windows of many stays in one pass: {stay's pk: WaterWindow}. At most two queries.

    Parameters
    ----------
    stays : sequence of Stay
        With `berth__water__outer` at hand. Each water is worked out once over all of its stays.
    now : aware datetime, optional
        Default: the harbour's clock.
    """
    now, found, times = now or clock.now(), {}, []
    for stay in stays:
        end = None if stay.purpose == "permanent" else stay.depart
        since = max(stay.arrive, now) if end is None else stay.arrive
        times.append((stay, end, since, since + AHEAD if end is None else min(end, since + LONGEST)))
    if not times:
        return found
    waters = {stay.berth.water_id: stay.berth.water for stay in stays}
    worked = spans(waters.values(), min(t[2] for t in times), max(t[3] for t in times))
    for stay, end, _, _ in times:
        span, own = worked[stay.berth.water_id], Surge.of_stay(stay)
        found[stay.pk] = span.window(stay.arrive, end, now=now, own=own)
    return found


def window_of(water, start, end=None, *, now=None, storm=False, own=None):
    """The water window of a stay. At most two queries, and one to fetch `outer` of a water with a gate.

    Parameters
    ----------
    water : Water or None
    start, end : aware datetime
        `end` None: a permanent berth or an open stay, judged on LAT to HAT.
    now : aware datetime
        The present moment; a stored tie-up gives its own again. Default: the harbour's clock.
    storm : bool
        Take the storm pair of allowances.
    own : Surge, optional
        Set for this stay alone.
    """
    if water is None:
        return WaterWindow(not_known={"water": "which water this berth lies in is not known"})
    now = now or clock.now()
    if end is None:
        since, until = max(start, now), max(start, now) + AHEAD
    else:
        since, until = start, min(end, start + LONGEST)
    return spans([water], since, until)[water.pk].window(start, end, now=now, storm=storm, own=own)


def source_of(water):
    """Where a water's levels come from, and the words to show beside them. No query."""
    words = window.source_of(water)
    if water.kind in TIDAL:
        return f"{words}. {stations.attribution(station_of(water))}"
    return words


def level_at(water, time):
    """The level at a time, or None if it is not known: predicted, tabled or last read."""
    return spans([water], time, time)[water.pk].level(time)


def turns(water, start, end):
    """Highs and lows between two times; none where there is no tide."""
    return spans([water], start, end)[water.pk].turns()


def next_turns(water, now, n=2):
    """The next highs and lows from now on, up to `n`."""
    return turns(water, now, now + n * timedelta(hours=30))[:n]


def passages(water, start, end):
    """When boats pass this water's gate: a list of (from, until), or None if it is not known."""
    return passages_of(spans([water], start, end)[water.pk], start, end)


def passages_of(span, start, end):
    """The same, of a water that is worked out already; its ends count where the time's do."""
    return times_above(span, needs(span.water), start, end)


def departure(reading):
    """By how much a reading lies above the prediction for its time [m], or None if there is no tide."""
    if reading.water.kind not in TIDAL:
        return None
    predicted = level_at(reading.water, reading.at)
    return None if predicted is None else float(reading.level) - predicted


# --- all waters at once ----------------------------------------------------------------------------------


def spans(waters, start, end):
    """Work waters out between two times: {pk: WaterSpan}. At most two queries, and the one for `waters`."""
    rows = {water.pk: water for water in waters}
    rows |= {water.outer_id: water.outer for water in rows.values() if water.outer_id}
    (notices, forecasts), readings = _told(rows, start, end), _readings(rows, start, end)
    made = {
        pk: WaterSpan.of(
            row,
            start,
            end,
            notices=notices.get(pk, ()),
            readings=readings.get(pk, ()),
            forecasts=[f for f in forecasts if f.water_id in (None, pk)],
        )
        for pk, row in rows.items()
    }
    return {
        pk: replace(span, outer=made[span.water.outer_id]) if span.water.outer_id in made else span
        for pk, span in made.items()
    }


def _told(rows, start, end):
    """What was announced for these waters and which surge is forecast: ({pk: notices}, forecasts).

    One query for both, for the day's page asks it of every harbour, and most have neither.
    """
    columns = ("sort", "id", "water_id", "low", "high", "starts", "ends", "reason", "gauge")
    still = Q(ends__isnull=True) | Q(ends__gt=start)
    notices = Notice.objects.filter(still, water__in=rows).annotate(
        sort=Value("notice"), gauge=Value(None, output_field=BigIntegerField())
    )
    forecasts = Forecast.objects.filter(
        Q(surge_down__isnull=False) | Q(surge_up__isnull=False),
        Q(water__in=rows) | Q(water__isnull=True),
        starts__lte=end,
        ends__gt=start,
    ).annotate(
        sort=Value("forecast"),
        low=F("surge_down"),
        high=F("surge_up"),
        reason=F("source"),
        gauge=F("reading_id"),
    )
    both = (
        notices.order_by().values_list(*columns).union(forecasts.order_by().values_list(*columns), all=True)
    )
    found, expected = {}, []
    for sort, pk, water, low, high, starts, ends, words, gauge in sorted(
        both, key=lambda row: (row[5], row[1])
    ):
        if sort == "notice":
            row = Notice(id=pk, water_id=water, low=low, high=high, starts=starts, ends=ends, reason=words)
            found.setdefault(water, []).append(row)
        else:
            row = Forecast(id=pk, water_id=water, starts=starts, ends=ends, source=words, reading_id=gauge)
            row.surge_down, row.surge_up = low, high
            expected.append(row)
    return found, expected


def _readings(rows, start, end):
    """The readings of the time, and the last one before it, of waters that have no prediction."""
    still = [pk for pk, water in rows.items() if water.kind not in TIDAL]
    before = (
        Reading.objects.filter(water=OuterRef("pk"), at__lte=start).order_by("-at", "-id").values("pk")[:1]
    )
    last = Water.objects.filter(pk__in=still).annotate(last=Subquery(before)).values("last")
    wanted = Q(pk__in=last) | Q(water__in=still, at__gt=start, at__lte=end)
    found = {}
    for reading in Reading.objects.filter(wanted).order_by("at", "id"):
        found.setdefault(reading.water_id, []).append(reading)
    return found
