"""Looks as a calendar that a phone can follow (RFC 5545)."""

from datetime import timedelta

from icalendar import Alarm, Calendar, Event

LASTS = timedelta(minutes=30)


def calendar_of(looks, *, name, address, now):
    """The feed.

    Parameters
    ----------
    looks : iterable of Recheck
        With stay, vessel and berth.
    name : str
        Of the harbour.
    address : callable
        Of a stay's number: its page.
    now : datetime

    Returns
    -------
    bytes
    """
    feed = Calendar()
    feed.add("prodid", "-//Lines Ashore//looks//EN")
    feed.add("version", "2.0")
    feed.add("x-wr-calname", f"{name}: look again")
    feed.add("refresh-interval", timedelta(minutes=30), parameters={"value": "DURATION"})
    for look in looks:
        feed.add_component(_event(look, address, now))
    return feed.to_ical()


def _event(look, address, now):
    stay, event = look.stay, Event()
    event.add("uid", f"look-{look.pk}@lines-ashore")
    event.add("dtstamp", now)
    event.add("dtstart", look.due)
    event.add("dtend", look.due + LASTS)
    event.add("summary", f"{stay.berth.code} {stay.vessel.name}: {look.words or look.get_why_display()}")
    event.add("location", f"{stay.berth.pier.name}, {stay.berth.code}")
    level = "" if look.level is None else f" Water then about {look.level:.2f} m above its zero."
    event.add("description", f"{look.get_why_display().capitalize()}.{level} {address(stay.pk)}")
    event.add("url", address(stay.pk))
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", event["summary"])
    alarm.add("trigger", timedelta(minutes=-15))
    event.add_component(alarm)
    return event
