"""Look again: when somebody has to look at a boat after she was made fast.

A look hangs on the water, not on the clock. What is set here by itself is put at its time anew whenever the
boat's times, the prediction or what was announced of the water changes; what a person set stays where it is.
"""

from datetime import datetime, time, timedelta

from django.core.exceptions import ValidationError
from django.db.models import F, Q
from django.db.models.signals import post_save

from berths.models import Forecast, MadeFast, MadeFastLine, Notice, Recheck, Stay, Water
from berths.models.stay import RecheckWhy, StayState
from berths.selectors.standing import standings
from berths.selectors.water import spans
from marina.base import clock, house
from marina.base.writing import in_one_go

BEFORE = timedelta(minutes=30)  # somebody stands there before the water does: common practice, no source
AHEAD = timedelta(days=15)  # springs and neaps both
BEDDED_IN = timedelta(days=30)  # new rope lengthens by 4 to 6 % when it beds in (R-RET-10)
SPRINGS_LATER = timedelta(hours=30)  # lows within this of the first one are seen with it
TOO_LATE = timedelta(hours=24)  # what was due longer ago than this is not asked for any more
FALL = 0.05  # m: a water without tide that falls by less moves nothing
TIGHT = ("short_for_range", "hangs_her")
BY_ITSELF = (
    RecheckWhy.FIRST_LOW,
    RecheckWhy.SPRING_LOW,
    RecheckWhy.BEFORE_HIGH,
    RecheckWhy.TEND,
    RecheckWhy.NEW_ROPE,
    RecheckWhy.RAFT,
    RecheckWhy.WIND,
)
BY_EVENT = (RecheckWhy.RAFT, RecheckWhy.WIND)  # asked for again when it happens again
KNOT = 0.514444  # m/s


def connect():
    """Times that hang on the water move with it."""
    for model, affected in AFFECTED.items():
        post_save.connect(
            lambda sender, instance, raw=False, affected=affected, **kwargs: (
                None if raw else retime(Stay.objects.filter(affected(instance)))
            ),
            sender=model,
            weak=False,
            dispatch_uid=f"looks-{model._meta.label_lower}",
        )


def _at_water(water):
    return Q() if water is None else Q(berth__water=water) | Q(berth__water__outer=water)


AFFECTED = {
    Stay: lambda stay: Q(pk=stay.pk) | Q(berth=stay.berth_id, raft_place__lt=stay.raft_place),
    Water: lambda water: _at_water(water.pk),
    Notice: lambda notice: _at_water(notice.water_id),
    Forecast: lambda forecast: _at_water(forecast.water_id),
    MadeFast: lambda deed: Q(berth=deed.stay.berth_id, raft_place__lt=deed.stay.raft_place),
}


def retime(stays):
    """Set the looks that come by themselves anew, for those of the stays that are made fast.

    Parameters
    ----------
    stays : QuerySet of Stay

    Returns
    -------
    int
        How many looks were set, moved or taken back.
    """
    fast = list(stays.filter(state=StayState.FAST).select_related("berth__water__outer", "vessel__owner"))
    if not fast:
        return 0
    deeds = {}
    for deed in MadeFast.objects.filter(stay__in=fast).order_by("at", "id"):
        deeds.setdefault(deed.stay_id, []).append(deed)
    told = [stay for stay in fast if stay.pk in deeds]  # without a word of a hand there is no 'after'
    if not told:
        return 0
    since = min(deeds[stay.pk][-1].at for stay in told)
    waters = {stay.berth.water_id: stay.berth.water for stay in told if stay.berth.water_id}
    known = spans(waters.values(), since, max(since, clock.now()) + AHEAD)
    standing = standings(told)
    new_rope = _new_rope([deeds[stay.pk][-1] for stay in told])
    events, gales = _rafted(told, since), _gales(since)
    changed = 0
    for stay in told:
        deed = deeds[stay.pk][-1]
        wanted = _wanted(stay, deed, known, standing, new_rope)
        wanted |= _by_events(stay, deed.at, events, gales)
        changed += _keep(stay, deed.at, wanted)
    return changed


def _wanted(stay, deed, known, standing, new_rope):
    """{why: (due, words, level)} of what hangs on the water, the lines and the flags of one stay."""
    wanted = {}
    span = known.get(stay.berth.water_id)
    if span is not None and stay.berth.kind != "floating":  # a floating dock takes her along
        wanted |= _by_the_water(stay, deed.at, span)
    tight = [mark for mark in _flat(standing[stay.pk].marks) if mark.code in TIGHT and mark.starts]
    if tight:
        first = min(tight, key=lambda mark: mark.starts)
        wanted[RecheckWhy.TEND] = (first.starts - BEFORE, "Ease her lines: they come tight", first.level)
    if deed.pk in new_rope:
        wanted[RecheckWhy.NEW_ROPE] = (
            new_rope[deed.pk] + BEDDED_IN,
            "New rope: measure to the mark again",
            None,
        )
    leaves = stay.depart
    return {
        why: row for why, row in wanted.items() if row[0] > deed.at and (leaves is None or row[0] < leaves)
    }


def _by_events(stay, at, events, gales):
    """{why: (due, words, level)} of what others do beside her and of the wind that is forecast."""
    wanted = {}
    beside = [
        (when, words)
        for place, when, words in events.get(stay.berth_id, [])
        if place > stay.raft_place and when > at and (stay.depart is None or when < stay.depart)
    ]
    if beside:
        when, words = max(beside)
        wanted[RecheckWhy.RAFT] = (when, words, None)
    blows = [
        gale
        for gale in gales
        if gale.water_id in (None, stay.berth.water_id)
        and gale.ends > at
        and (stay.depart is None or gale.starts < stay.depart)
    ]
    if blows:
        gale = next((gale for gale in blows if gale.ends > clock.now()), blows[-1])
        due = max(gale.starts - BEFORE, at + timedelta(minutes=1))
        words = f"Gusts of {float(gale.wind_gust) / KNOT:.0f} kn are forecast"
        wanted[RecheckWhy.WIND] = (due, words, None)
    return wanted


def _rafted(stays, since):
    """{berth's number: [(raft place, when, words)]} of boats that came or left outside others."""
    inner = {stay.berth_id for stay in stays if stay.berth.raft_depth > 1}
    if not inner:
        return {}
    events = {}
    came = MadeFast.objects.filter(stay__berth__in=inner, stay__raft_place__gt=0, stay__state=StayState.FAST)
    for deed in came.select_related("stay__vessel").order_by("-at"):
        row = (deed.stay.raft_place, deed.at, f"{deed.stay.vessel.name} came alongside her")
        events.setdefault(deed.stay.berth_id, []).append(row)
    left = Stay.objects.filter(berth__in=inner, raft_place__gt=0, state=StayState.LEFT)
    for gone in left.filter(depart__gt=since).select_related("vessel"):
        row = (gone.raft_place, gone.depart, f"{gone.vessel.name} left from alongside her")
        events.setdefault(gone.berth_id, []).append(row)
    return events


def _gales(since):
    """Forecasts of wind above the one from which rounds are made oftener (house rule H18), the first first."""
    limit = house.value("H18")["wind"] * KNOT
    rows = Forecast.objects.filter(ends__gt=since, wind_gust__gt=limit)
    return list(rows.order_by("starts"))


def _by_the_water(stay, at, span):
    until = min(at + AHEAD, span.end)
    turns = [turn for turn in span.turns(at, until) if stay.depart is None or turn.time < stay.depart]
    lows, highs = ([turn for turn in turns if turn.high is high] for high in (False, True))
    wanted = {}
    if lows:
        wanted[RecheckWhy.FIRST_LOW] = (lows[0].time - BEFORE, "Her first low water here", lows[0].level)
        lowest = min(lows, key=lambda turn: turn.level)
        if lowest.time > lows[0].time + SPRINGS_LATER and lowest.level < lows[0].level - FALL:
            words = "The lowest water of the next days"
            wanted[RecheckWhy.SPRING_LOW] = (lowest.time - BEFORE, words, lowest.level)
    elif span.curve is not None:
        lowered = [n for n in span.notices if n.starts > at and _falls(span, at, n.starts)]
        if lowered:
            words = "The water is let down"
            level = span.level(lowered[0].starts + timedelta(minutes=1))
            wanted[RecheckWhy.FIRST_LOW] = (lowered[0].starts - BEFORE, words, level)
    if highs:
        wanted[RecheckWhy.BEFORE_HIGH] = (highs[0].time - BEFORE, "Her first high water here", highs[0].level)
    return wanted


def _falls(span, before, after):
    levels = span.level(before), span.level(after + timedelta(minutes=1))
    return None in levels or levels[1] < levels[0] - FALL


def _flat(marks):
    return [inner for mark in marks for inner in (mark, *_flat(mark.under))]


def _new_rope(deeds):
    """{deed's number: day} of the newest line on her, where one is younger than the time it takes to bed in."""
    rows = MadeFastLine.objects.filter(made_fast__in=deeds, line__in_service_on__isnull=False)
    found = {}
    for row in rows.select_related("line", "made_fast"):
        put_on = datetime.combine(row.line.in_service_on, time(), house.zone())
        if put_on + BEDDED_IN > row.made_fast.at:
            found[row.made_fast_id] = max(put_on, found.get(row.made_fast_id, put_on))
    return found


def _keep(stay, since, wanted):
    """Make the open looks of this stay what is wanted; one that was done is not asked for again."""
    rows = {
        row.why: row
        for row in stay.rechecks.filter(why__in=BY_ITSELF).order_by(F("done_at").asc(nulls_last=True))
    }
    changed = 0
    for why, (due, words, level) in wanted.items():
        row = rows.get(why)
        asked = max(since, due) if why in BY_EVENT else since
        if row is not None and row.done_at is not None and row.done_at >= asked:
            continue
        if row is None or row.done_at is not None:
            if due < clock.now() - TOO_LATE:
                continue
            row = Recheck(stay=stay, why=why)
        if row.pk is None or (row.due, row.words) != (due, words):
            row.due, row.words, row.level = due, words, None if level is None else round(level, 4)
            row.save()
            changed += 1
    for why, row in rows.items():
        if why not in wanted and row.done_at is None:
            row.delete()
            changed += 1
    return changed


def set_look(*, stay, by, due, words, named=""):
    """A person asks for a look at a time."""
    if due <= clock.now():
        raise ValidationError({"due": "That time is over; write one that is still to come."})
    look = Recheck(stay=stay, why=RecheckWhy.OTHER, due=due, words=words, named=named)
    look.full_clean()

    def write():
        look.save()
        return look

    return in_one_go(write, by=by)


def looked(*, look, by, found, at=None):
    """Somebody looked, and says what was found. Twice is once."""
    if not found.strip():
        raise ValidationError({"found": "Say what you found, if only 'as it should be'."})

    def write():
        row = Recheck.objects.select_for_update().get(pk=look.pk)
        if row.done_at is None:
            row.done_at, row.done_by, row.found = at or clock.now(), by, found.strip()[:200]
            row.save()
        return row

    return in_one_go(write, by=by)


def interval():
    """How long after a round the next one is due, by house rule H18. [timedelta]"""
    return timedelta(hours=house.value("H18")["hours"])
