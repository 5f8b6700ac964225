"""What the records say of a stay, gathered for her card. Reads only; `compose` puts it into words."""

import math
from datetime import timedelta

from django.db.models import Q
from pydantic import ValidationError as Unreadable

from berths import stations
from berths.cards.card import Facts, Turn, compose
from berths.curve import moment
from berths.models import BerthFastening, Forecast, TieUp
from berths.reader import reader_of  # noqa: F401  (asked for here by those who make cards)
from berths.selectors import standing
from berths.selectors import water as waters
from berths.selectors.hooks import tagged
from berths.tieup.scenario import Scenario
from berths.tieup.verdict import Verdict
from berths.window import Surge
from marina.base import clock, house
from vessels.models import Line

NEW_FOR = timedelta(hours=13)  # a tide and a bit: after that she has seen a low here
AHEAD = timedelta(hours=60)  # two turns of the slowest tide
FALL = 0.10  # m: less is no falling water
SAME_LENGTH = 0.15  # m: a mark this near to the length that is asked for is the mark to use


def card_of(stay, *, reader, address, number, now=None):
    """The card of a stay as it stands now.

    Parameters
    ----------
    stay : Stay
    reader : words.Reader
    address : str
        Of the stay's card page: what the square code leads to.
    number : int
        Which card of this stay it is.
    now : datetime, optional
        The harbour's clock when left out.

    Returns
    -------
    card.Card
    """
    now = now or clock.now()
    mark = standing.standings([stay])[stay.pk]
    tie_up = TieUp.objects.get(pk=mark.tie_up["id"]) if mark.tie_up else None
    scenario, verdict, trouble = _read(tie_up)
    verdict = tagged(stay, scenario, verdict)
    rules = house.rules()
    permanent = stay.purpose == "permanent"
    facts = Facts(
        berth=stay.berth.code,
        kind=stay.berth.kind,
        boat=stay.vessel.name,
        mark=stay.vessel.mark,
        url=address,
        today=now.astimezone(reader.zone).date(),
        printed=now,
        number=number,
        side_to=lies(scenario) if scenario else stay.side_to or None,
        trouble=trouble,
        stale=tie_up.stale_why if tie_up and tie_up.stale else "",
        over=stay.get_state_display() if stay.state in ("left", "cancelled") else "",
        flags=tuple(m for m in mark.marks if m.code != "stale"),
        **(water := _water(stay.berth.water, now, stay.arrive)),
        allowed=(own.down, own.up) if (own := Surge.of_stay(stay)) else None,
        look_again=_look_again(stay, now, water["turns"]),
        channel=rules["channel"],
        telephone=rules["telephone"],
        worked_out=tie_up.made_at if tie_up else None,
        holds_until=None if permanent else stay.depart,
        arrive=stay.arrive,
        permanent=permanent,
        eye=_eye(rules["H1"], stay),
        invented=rules["demo_clock"] is not None,
        arrows=(*_wind(stay.berth, now), *_stream(scenario)),
        marks=marks_of(verdict),
        said=dict(
            BerthFastening.objects.filter(berth=stay.berth_id).exclude(words="").values_list("code", "words")
        ),
    )
    return compose(facts, scenario, verdict, reader)


def _eye(rule, stay):
    if stay.purpose != "permanent":
        return rule["visitor"]
    return rule["permanent_floating" if stay.berth.kind == "floating" else "permanent_fixed"]


def _read(tie_up):
    """Scenario, Verdict and what stands in the way of one."""
    if tie_up is None:
        return None, None, "no tie-up worked out"
    try:
        scenario = Scenario.model_validate(tie_up.scenario) if tie_up.scenario else None
        verdict = Verdict.model_validate(tie_up.verdict) if tie_up.verdict else None
    except Unreadable:
        return None, None, "worked out in an older form that this site no longer reads"
    return scenario, verdict, tie_up.trouble


def lies(scenario):
    """Which side or end of her is at the dock, as her tie-up was worked out."""
    boat = scenario.boat
    ahead = math.cos(math.radians(boat.heading_deg)) >= 0
    if scenario.berth.kind == "slip":
        return "stern" if ahead else "bow"
    return "starboard" if (boat.y >= 0) == ahead else "port"


def _water(water, now, arrive):
    """Level now and when she comes, the next two turns, datum and the words of the source."""
    span = waters.spans([water], now, now + AHEAD)[water.pk]
    turns = tuple(Turn(turn.time, turn.level, turn.high) for turn in span.turns()[:2])
    # Tide stations ask to be named; the harbour's own water has a name of its own.
    station = stations.attribution(water.station or {}, short=True).removeprefix("Tide: ")
    return {
        "now": span.level(now),
        "then": (arrive, span.level(arrive) if arrive <= now + AHEAD else None) if arrive > now else None,
        "turns": turns or _falls(span, now),
        "datum": water.datum,
        "water_source": station if water.kind == "station" else water.name,
    }


def _falls(span, now):
    """Of a water without tide: when it is down at its lowest of the next days, if it falls at all."""
    here = span.level(now)
    if span.curve is None or here is None:
        return ()
    lowest = int(span.curve.levels.argmin())
    level = float(span.curve.levels[lowest])
    return (Turn(moment(span.curve.times[lowest]), level, False),) if level < here - FALL else ()


def _look_again(stay, now, turns):
    """The next re-check that is set; else, at a dock that does not rise with her, her first low water there."""
    due = stay.rechecks.filter(done_at=None, due__gt=now - timedelta(hours=6)).order_by("due").first()
    if due:
        return due.due, due.words or due.get_why_display()
    if stay.berth.kind == "floating" or stay.arrive < now - NEW_FOR:
        return None
    low = next((turn for turn in turns if not turn.high and turn.time >= max(now, stay.arrive)), None)
    return (low.time, "her first low water here") if low else None


def _wind(berth, now):
    """The wind that is forecast for this hour as an arrow, where it is from one direction."""
    told = Forecast.objects.filter(
        Q(water=berth.water_id) | Q(water=None), starts__lte=now, ends__gt=now, wind_from_deg__isnull=False
    )
    newest = told.order_by("-at").first()
    ways = newest.wind_from_deg if newest else []
    return (("wind forecast", (ways[0] + 180) % 360),) if len(ways) == 1 else ()


def _stream(scenario):
    """The stream as an arrow, where the tie-up was worked out for one and no other."""
    currents = (scenario.weather and scenario.weather.currents) or [] if scenario else []
    running = [c for c in currents if c.speed and c.toward_deg is not None]
    return (("stream", running[0].toward_deg),) if len(running) == 1 else ()


def marks_of(verdict):
    """By tag: which band on the line is at the length that the card asks for."""
    wanted = {line.tag: line.card_length for line in (verdict.lines if verdict else []) if line.tag}
    found = {}
    for line in Line.objects.filter(tag__in=wanted):
        for length, words in ((line.working_length, "one band"), (line.working_length_2, "two bands")):
            if (
                None not in (length, wanted[line.tag])
                and abs(float(length) - wanted[line.tag]) <= SAME_LENGTH
            ):
                found.setdefault(line.tag, words)
    return found
