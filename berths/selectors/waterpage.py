"""What the pages of the waters show: depths at berths, gauge readings held against predictions, and the record."""

from datetime import timedelta
from decimal import ROUND_CEILING, Decimal

from django.db.models import Q

from berths import stationfile, stations
from berths.curve import instant, moment, to_minute
from berths.heights import depth_over, edge_of
from berths.models import BerthFace, Forecast, Reading, Water
from berths.selectors import visible
from berths.watercurve import TIDAL, lat_hat, station_of
from berths.window import Surge, WaterSpan, source_of
from berths.windtext import wind_told
from marina.base import clock

A_DAY = timedelta(days=1)
CENTIMETRE = Decimal("0.01")
READINGS = 12  # shown on the page of the record
PREDICTED = TIDAL | {"table"}  # what is read there is held against what was foretold, and moves nothing


# --- every berth -----------------------------------------------------------------------------------------


def depths(user, spans, now):
    """Depth now and at the next low of every berth this person may see: {water's pk: rows}. Two queries."""
    found, faces = {}, {}
    berths = list(visible.berths(user).filter(in_use=True))
    for link in BerthFace.objects.filter(berth__in=berths).select_related("face").order_by("code"):
        faces.setdefault(link.berth_id, []).append(link.face)
    lows = {
        pk: next((t for t in span.turns(now, span.end) if not t.high), None) for pk, span in spans.items()
    }
    for berth in berths:
        span, low, edge = (
            spans[berth.water_id],
            lows[berth.water_id],
            edge_of(berth, faces.get(berth.pk, ())),
        )
        level = low.level if low else span.level(now)
        known = not edge.floats and None not in (edge.top, level)
        found.setdefault(berth.water_id, []).append(
            {
                "berth": berth,
                "now": depth_over(span.level(now), berth.bed_z),
                "low": depth_over(level, berth.bed_z),
                "floats": edge.floats,
                "edge": edge.top - level if known else None,
            }
        )
    return found


# --- the gauge -------------------------------------------------------------------------------------------


def last_read(spans, since):
    """The last gauge reading of each water since then: {water's pk: reading}, told as by `held_against`."""
    found = {}
    for reading in Reading.objects.filter(water__in=spans, at__gte=since).select_related("by").order_by("at"):
        found[reading.water_id] = held_against(reading, spans[reading.water_id])
    return found


def held_against(reading, span, own=None):
    """A reading with `off`, by how much it lay above the prediction [m], and whether the allowance covers that.

    `off` is None where there is no prediction; `covered` where there is none or no allowance. `own`: what was
    allowed for one stay alone.
    """
    predicted = span.level(reading.at) if span.water.kind in PREDICTED else None
    off = None if predicted is None else float(reading.level) - predicted
    surge = span.surge(reading.at, reading.at, own=own)
    allowed = None if off is None else surge.down if off < 0 else surge.up
    covered = None if allowed is None else abs(off) <= allowed + 0.005  # the page shows centimetres
    return {
        "pk": reading.pk,
        "level": reading.level,
        "at": reading.at,
        "by": reading.by,
        "note": reading.note,
        "off": off,
        "covered": covered,
        "allowed": allowed,
    }


def gauge_of(water, now):
    """The last reading within a day of a water that is predicted, or None. One query."""
    if water.kind not in PREDICTED:
        return None
    return water.readings.filter(at__gte=now - A_DAY, at__lte=now).select_related("by").first()


def gauge_told(span, now, own=None):
    """What the gauge last read, told as by `held_against`, and `old` where it was more than a day ago; None.

    Of a water that is predicted only what was read within a day counts. One query.
    """
    if span.water.kind in PREDICTED:
        reading = gauge_of(span.water, now)
    else:
        reading = span.water.readings.filter(at__lte=now).select_related("by").first()
    if reading is None:
        return None
    if not span.start <= reading.at <= span.end:
        span = WaterSpan.of(span.water, reading.at, reading.at, forecasts=span.forecasts)
    return held_against(reading, span, own) | {"old": now - reading.at > A_DAY}


def offer_for_stay(stay, reading, reader):
    """What a reading offers as the allowance of one stay: {surge_down, surge_up, surge_reason}, or None.

    The side on which the gauge stood off grows to that, the other stays. None: within what is allowed, or what
    the water allows is not known, so that only one of two figures could be offered.
    """
    span = WaterSpan.of(stay.berth.water, reading.at, reading.at)
    own = Surge.of_stay(stay)
    allowed, told = span.surge(reading.at, reading.at, own=own), held_against(reading, span, own)
    if told["off"] is None or told["covered"] or None in (allowed.down, allowed.up):
        return None
    lower = told["off"] < 0
    down, up = (_cm(told["off"]), allowed.up) if lower else (allowed.down, _cm(told["off"]))
    return {
        "surge_down": _exact(down),
        "surge_up": _exact(up),
        "surge_reason": _said(reading, told["off"], reader),
    }


def _exact(metres):
    return Decimal(str(metres)).quantize(Decimal("0.0001"))


def _cm(off):
    """To the next whole centimetre, so that what was read is covered. [m]"""
    return Decimal(str(round(abs(off), 4))).quantize(CENTIMETRE, ROUND_CEILING)


def _said(reading, off, reader):
    when = reader.time(reading.at, today=clock.today())
    side = "below" if off < 0 else "above"
    level, far = reader.length(reading.level, "level"), reader.length(abs(off), "level")
    return f"gauge {level} at {when}: {far} {side} prediction"


def offer_of(water, reading, reader):
    """What a reading offers as an allowance for the day after it; nothing is kept until somebody says so."""
    start = reading.at if reading else clock.now()
    offer = {"starts": start, "ends": start + A_DAY, "reading": reading}
    if reading is None:
        return offer
    told = held_against(reading, WaterSpan.of(water, reading.at, reading.at))
    if told["off"] is None:
        return offer
    side = "surge_down" if told["off"] < 0 else "surge_up"
    return offer | {side: _cm(told["off"]), "source": _said(reading, told["off"], reader)}


# --- the record ------------------------------------------------------------------------------------------


def record_of(water):
    """Everything that is kept of one water, and how old it is."""
    now, row = clock.now(), station_of(water)
    readings = list(water.readings.select_related("by")[:READINGS])
    here = Q(water=water) | Q(water=None)
    forecasts = list(Forecast.objects.filter(here, ends__gt=now - A_DAY).order_by("starts"))
    for forecast in forecasts:
        forecast.wind = wind_told(forecast.wind_gust, forecast.wind_from_deg)
    told = []
    for reading in readings:
        span = WaterSpan.of(water, reading.at, reading.at, forecasts=forecasts)
        told.append(held_against(reading, span))
    low, high = lat_hat(water)
    return {
        "water": water,
        "source": source_of(water),
        "row": row,
        "taken": row.get("taken") or {},
        "marks": stations.cautions(row) if water.kind == "station" else [],
        "newer": _newer(water, row),
        "low": low,
        "high": high,
        "notices": [n for n in water.notices.all() if n.ends is None or n.ends > now],
        "forecasts": forecasts,
        "readings": told,
        "table": _table(water),
        "tidal": water.kind in TIDAL,
        "berths": water.berths.count(),
    }


def _newer(water, row):
    """What has become of the station in the list that the site ships: '', 'other' or 'gone'."""
    if water.kind != "station" or not row:
        return ""
    try:
        now = stationfile.station(water.station_id)
    except ValueError:
        return "gone"
    return "" if now == {key: value for key, value in row.items() if key != "taken"} else "other"


def _table(water):
    """First and last row of an own table, and how many there are."""
    rows = water.table if water.kind == "table" and isinstance(water.table, list) else []
    return {"rows": len(rows), "first": rows[0][0], "last": rows[-1][0]} if rows else None


def home_of():
    """Where the harbour lies, as it was last said: {'lat', 'lon'} [degrees], or nothing."""
    for water in Water.objects.exclude(station=None).order_by("pk"):
        place = (station_of(water).get("taken") or {}).get("from")
        if place:
            return dict(zip(("lat", "lon"), place, strict=True))
    return {}


def offsets_at_work(row, minutes, metres, now):
    """The next highs and lows at a station, each beside what the offsets make of it here.

    Parameters
    ----------
    row : dict
        The station's.
    minutes : int
        So much later here.
    metres : Decimal
        Added to the station's heights.

    Returns
    -------
    list of dict
        `high`, `there` and `here` (times), `level_there` above the station's chart datum and `level_here` [m].
    """
    later, span = timedelta(minutes=minutes), timedelta(hours=26)  # within it every tide has a high and a low
    try:
        curve, _ = stations.tide_curve(row, instant(now - later), instant(now - later + span))
    except ValueError:
        return []
    return [
        {
            "high": bool(high),
            "there": to_minute(moment(t)),
            "level_there": float(z),
            "here": to_minute(moment(t)) + later,
            "level_here": float(z) + float(metres),
        }
        for t, z, high in zip(*curve.turns, strict=True)
    ][:4]


def shown_station(row, place):
    """What is shown of a station before it is chosen."""
    low, high = stations.lowest_and_highest(row)
    return {
        "id": row["id"],
        "name": row["name"],
        "where": ", ".join(filter(None, (row["region"], row["country"]))),
        "datum": row["chart_datum"],
        "km": stationfile.distance(row, place),
        "follows": stations.follows(row),
        "marks": stations.cautions(row),
        "low": low,
        "high": high,
        "source": row["source"],
        "attribution": stations.attribution(row),
    }
