"""`manage.py tides STATION`: highs and lows of a tide station. Needs no database and no environment."""

import json
import sys
from datetime import UTC, datetime, timedelta

from django.core.management.base import BaseCommand

from berths import stationfile, stations
from berths.curve import instant, to_minute

BAD_INPUT = 2
LONGEST = timedelta(days=3660)  # a longer time is asked for in pieces
YEARS = (1900, 2100)  # for which the places of sun and moon are good
WEEK = timedelta(days=7)


class Command(BaseCommand):
    help = (
        "Predict the highs and lows of a tide station, or look for one by name or place. Astronomy only: no wind, "
        "no air pressure, no river. Not an official tide table; not for navigation."
    )
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("station", nargs="?", metavar="STATION_ID", help="for instance noaa/8443970")
        parser.add_argument("--from", dest="start", metavar="TIME", help="with its zone: 2026-12-01T00:00Z")
        parser.add_argument("--to", dest="end", metavar="TIME", help="with its zone; a week on when left out")
        parser.add_argument("--json", action="store_true", help="UTC, metres above the station's chart datum")
        parser.add_argument("--search", metavar="NAME", help="list stations by name, region, country or id")
        parser.add_argument(
            "--near", metavar="LAT,LON", help="list the nearest stations: --near=42.36,-71.05"
        )

    def handle(self, *args, **options):
        try:
            if options["search"] is not None or options["near"] is not None:
                return self.stdout.write(_listed(options["search"], options["near"]))
            row, start, end = _asked(options)
            found = predicted(row, start, end)
        except ValueError as error:
            self.stderr.write(str(error).replace("\n", "; "))
            sys.exit(BAD_INPUT)
        for note in found.pop("notes"):
            self.stderr.write(f"note: {note}")
        self.stdout.write(json.dumps(found, indent=1) if options["json"] else _table(found, row))


def predicted(row, start, end):
    """Highs and lows of a station's row between two aware times, as the command prints them, and its notes."""
    curve, notes = stations.tide_curve(row, instant(start), instant(end))
    turns = [
        {"time": f"{time}Z", "height": round(float(level), 3) + 0.0, "kind": "high" if high else "low"}
        for time, level, high in zip(*curve.turns, strict=True)
    ]
    return {"station": row["id"], "datum": row["chart_datum"], "extremes": turns, "notes": notes}


# --- what was asked --------------------------------------------------------------------------------------


def _asked(options):
    if not options["station"]:
        raise ValueError("which station? Give its id, or look for it with --search NAME or --near=LAT,LON")
    if not options["start"]:
        raise ValueError("--from: give the time to begin with, such as 2026-12-01T00:00Z")
    row = stationfile.station(options["station"])
    start = _time("--from", options["start"])
    end = _time("--to", options["end"]) if options["end"] else start + WEEK
    if end < start:
        raise ValueError(f"--to: {options['end']} lies before {options['start']}; exchange them")
    if end - start > LONGEST:
        raise ValueError("--to: more than ten years after --from; ask for it in pieces")
    return row, start, end


def _time(name, text):
    try:
        time = datetime.fromisoformat(text)
    except ValueError:
        raise ValueError(f"{name}: {text!r} is no time; write it as 2026-12-01T00:00Z") from None
    if time.tzinfo is None:
        raise ValueError(f"{name}: {text} has no zone; add Z for UTC, or an offset such as +01:00")
    if not YEARS[0] < time.year < YEARS[1]:
        raise ValueError(f"{name}: {text}: only years from {YEARS[0] + 1} to {YEARS[1] - 1} are predicted")
    return time.astimezone(UTC)


# --- tables for people -----------------------------------------------------------------------------------


def _table(found, row):
    where = ", ".join(filter(None, (row["name"], row["region"], row["country"])))
    lines = [f"{row['id']}  {where}", *filter(None, [stations.follows(row)])]
    lines += [f"Caution: {words}." for words in stations.cautions(row)]
    lines += [f"Metres above {found['datum']} (zero of this table), times in UTC.", ""]
    for turn in found["extremes"]:
        time = to_minute(datetime.fromisoformat(turn["time"]))
        lines.append(f"{time:%a %d %b %Y  %H:%M}  {turn['kind']:<4}  {turn['height']:6.2f}")
    if not found["extremes"]:
        lines.append("No high and no low in this time.")
    return "\n".join([*lines, "", stations.attribution(row)])


def _listed(words, place):
    spot = None if place is None else _spot(place)
    found = stationfile.near(*spot) if words is None else stationfile.search(words, near=spot)
    if not found:
        return f"No station has {words!r} in its name, region, country or id."
    rows = [("station", "name, region, country", "datum", "", "")]
    for each in found:
        called = ", ".join(filter(None, (each.place.name, each.place.where)))
        far = "" if each.km is None else f"{each.km:.1f} km"
        rows.append(
            (each.place.id, called, each.place.datum, far, "follows another" if each.place.reference else "")
        )
    wide = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return "\n".join(
        "  ".join(f"{cell:<{w}}" for cell, w in zip(row, wide, strict=True)).rstrip() for row in rows
    )


def _spot(text):
    try:
        lat, lon = (float(part) for part in text.split(","))
    except ValueError:
        lat = lon = float("nan")
    if not (abs(lat) <= 90 and abs(lon) <= 180):
        raise ValueError(
            f"--near: {text!r} is no place; write latitude and longitude in degrees: 42.36,-71.05"
        )
    return lat, lon
