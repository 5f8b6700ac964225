"""How times, lengths and gaps in the record read on a page.

A time is the harbour's, on a 24 h clock unless the house has chosen otherwise, and carries its day unless that is
today. A length is in the reader's units, rounded to the side that what it is asks for. What nobody knows reads
'not known', in a broken frame.
"""

from datetime import UTC, datetime

from django import template
from django.utils.html import format_html

from marina.base import clock, house, units

register = template.Library()
UNKNOWN = "not known"


def _moment(value):
    """A datetime from one, or from the ISO text in which stored flags carry theirs."""
    if isinstance(value, str):
        value = datetime.fromisoformat(value)
    return value if value.tzinfo else value.replace(tzinfo=UTC)


@register.filter
def unknown(value):
    """The value, or 'not known' in its frame for None and an empty text."""
    if value is None or value == "":
        return format_html('<span class="unknown">{}</span>', UNKNOWN)
    return value


@register.filter
def yes_no(value):
    return unknown(None) if value is None else "yes" if value else "no"


@register.simple_tag(takes_context=True)
def length(context, metres, kind="size"):
    """A length, level or margin (`kind`: a key of `units.ROUNDING`) in the reader's units."""
    return _shown(units.show_length(metres, kind, context.get("units", "m")))


@register.filter
def force(newtons):
    return _shown(units.show_force(newtons))


@register.simple_tag(takes_context=True)
def pull(context, newtons):
    """'22 kN, about the weight of 2.2 t': a force as an owner understands it."""
    if newtons is None or abs(newtons) < 5:
        return force(newtons)
    return f"{units.show_force(newtons)}, about the weight of {units.show_weight(newtons, context.get('units', 'm'))}"


@register.filter
def gap(metres):
    """How far apart, whichever lies higher."""
    return None if metres is None else abs(metres)


@register.filter
def tonnes(kilograms):
    """A weight in tonnes to a tenth."""
    return unknown(None) if kilograms is None else f"{float(kilograms) / 1000:.1f} t"


def _shown(text):
    return unknown(None) if text == UNKNOWN else text


@register.filter
def when(value):
    """'17:45' today, 'Fri 05:40' in the coming days, 'Tue 12 Oct 17:00' before and after that."""
    if not value:
        return unknown(None)
    here = clock.local(_moment(value))
    time = _clock_face(here)
    days = (here.date() - clock.today()).days
    if days == 0:
        return time
    if 0 < days < 7:
        return f"{here:%a} {time}"
    return f"{_day_of(here.date())} {time}"


def _clock_face(here):
    if house.value("H17")["clock"] == "24":
        return f"{here:%H:%M}"
    return f"{here.hour % 12 or 12}:{here:%M} {'a.m.' if here.hour < 12 else 'p.m.'}"


def _day_of(date):
    year = "" if date.year == clock.today().year else f" {date.year}"
    return f"{date:%a} {date.day} {date:%b}{year}"


@register.filter
def day(value):
    """'today', 'tomorrow', 'yesterday', else 'Tue 12 Oct', with the year where it is another."""
    if not value:
        return unknown(None)
    date = clock.local(_moment(value)).date() if isinstance(value, datetime | str) else value
    days = (date - clock.today()).days
    return {0: "today", 1: "tomorrow", -1: "yesterday"}.get(days) or _day_of(date)


@register.filter
def age(value):
    """How long ago: '40 min ago', '3 h ago', '12 days ago', '5 months ago'."""
    if not value:
        return unknown(None)
    if isinstance(value, datetime | str):
        minutes = int((clock.now() - _moment(value)).total_seconds() // 60)
        return _minutes_ago(minutes) if minutes < 48 * 60 else _days_ago(minutes // (24 * 60))
    return _days_ago((clock.today() - value).days)


@register.filter
def day_and_age(value):
    """'today', 'Fri 3 Sep (41 days ago)'."""
    if not value:
        return unknown(None)
    said, old = day(value), age(value)
    return said if old in ("today", "yesterday") else f"{said} ({old})"


def _minutes_ago(minutes):
    if minutes < 1:
        return "just now"
    return f"{minutes} min ago" if minutes < 90 else f"{minutes // 60} h ago"


def _days_ago(days):
    if days < 0:
        return "in the future: check the date"
    if days < 2:
        return ("today", "yesterday")[days]
    if days < 60:
        return f"{days} days ago"
    return f"{days // 30} months ago" if days < 730 else f"{days // 365} years ago"
