"""How times, lengths and gaps in the record read on a page.

A time is the harbour's, on a 24 h clock unless the house has chosen otherwise, and carries its day unless that is
today. A length is in the reader's units. What nobody knows reads 'not known', in a broken frame.
"""

from datetime import UTC, datetime

from django import template
from django.utils.html import format_html

from marina.base import clock, house

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
        if minutes < 1:
            return "just now"
        if minutes < 90:
            return f"{minutes} min ago"
        if minutes < 48 * 60:
            return f"{minutes // 60} h ago"
        days = minutes // (24 * 60)
    else:
        days = (clock.today() - value).days
    if days < 0:
        return "in the future: check the date"
    if days < 2:
        return ("today", "yesterday")[days]
    if days < 60:
        return f"{days} days ago"
    return f"{days // 30} months ago" if days < 730 else f"{days // 365} years ago"
