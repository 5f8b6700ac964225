"""How times of the water read: with their offset where the harbour's clock shows them twice."""

from datetime import datetime

from django import template

from berths.curve import to_minute
from berths.localtime import comes_twice, offset_words
from marina.base import clock, house
from marina.base.templatetags.dock import when

register = template.Library()


def _with_offset(words, moment):
    zone = house.zone()
    return f"{words} ({offset_words(moment, zone)})" if comes_twice(moment, zone) else words


@register.filter
def when_exactly(moment):
    """As `when`: '05:40', 'Fri 05:40', and 'Sun 01:30 (UTC+1)' in the night that the clocks go back."""
    if not moment:
        return when(moment)
    moment = _minute(moment)
    return _with_offset(when(moment), moment)


@register.filter
def in_full(moment):
    """'Friday 15 October 05:40': the time a page is about, whatever day it is today."""
    moment = _minute(moment)
    here = clock.local(moment)
    year = "" if here.year == clock.today().year else f" {here.year}"
    return _with_offset(f"{here:%A} {here.day} {here:%B}{year} {here:%H:%M}", moment)


@register.filter
def o_clock(moment):
    """'05:40', beside its day; '24:00' does not exist."""
    moment = _minute(moment)
    return _with_offset(f"{clock.local(moment):%H:%M}", moment)


def _minute(moment):
    """To the nearest minute; text, as tables keep their times, is read first."""
    return to_minute(datetime.fromisoformat(moment) if isinstance(moment, str) else moment)
