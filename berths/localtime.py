"""Times as people of the harbour write and read them, right through the nights when the clocks change.

A time that comes twice is never guessed, one that does not come is refused. Pure: no database, no clock.
"""

from datetime import UTC, datetime, time, timedelta

YEARS = (1990, 2100)
AN_HOUR = timedelta(hours=1)


class ComesTwice(ValueError):
    """A time of the hour that the clocks go through twice; `first` and `second` are what it may mean."""

    def __init__(self, text, first, second):
        self.first, self.second = first, second
        super().__init__(
            f"{text} comes twice that night: write {_offset(first)} behind it for the first time, "
            f"{_offset(second)} for the second"
        )


def read_time(text, zone):
    """A time as somebody types it, by the harbour's clock unless it brings its own offset.

    Parameters
    ----------
    text : str
        '2027-10-15 05:40', '2027-10-15T04:40Z', '2027-10-31T01:30+01:00'.
    zone : tzinfo

    Returns
    -------
    datetime
        Aware, in UTC.

    Raises
    ------
    ComesTwice
        In the hour that the clocks go back.
    ValueError
        If it is no time, or lies in the hour that the clocks leave out; in words for who typed it.

    Examples
    --------
    >>> from zoneinfo import ZoneInfo
    >>> read_time("2027-10-15 05:40", ZoneInfo("Europe/London")).isoformat()
    '2027-10-15T04:40:00+00:00'
    >>> read_time("2027-03-28 01:30", ZoneInfo("Europe/London"))
    Traceback (most recent call last):
    ValueError: 2027-03-28 01:30 does not come: the clocks go forward then
    """
    text = text.strip()
    try:
        given = datetime.fromisoformat(text)
    except ValueError:
        raise ValueError(f"{text[:30]!r} is no time; write it as 2027-10-15 05:40") from None
    if not YEARS[0] <= given.year < YEARS[1]:
        raise ValueError(f"{text[:30]}: look at the year")
    if given.tzinfo is not None:
        return given.astimezone(UTC)
    first, second = (given.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() != second.utcoffset():
        if first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != given:
            raise ValueError(f"{text} does not come: the clocks go forward then")
        raise ComesTwice(text, first, second)
    return first.astimezone(UTC)


def comes_twice(moment, zone):
    """Does the harbour's clock show this moment's time a second time?"""
    face = moment.astimezone(zone)
    return face.replace(fold=0).utcoffset() != face.replace(fold=1).utcoffset()


def offset_words(moment, zone):
    """'UTC+1', 'UTC-3:30', 'UTC': how far the harbour's clock is from UTC then."""
    minutes = int(moment.astimezone(zone).utcoffset().total_seconds()) // 60
    if not minutes:
        return "UTC"
    hours, rest = divmod(abs(minutes), 60)
    return f"UTC{'+' if minutes > 0 else '-'}{hours}{f':{rest:02}' if rest else ''}"


def bounds_of(day, zone):
    """Midnight to midnight of a day by the harbour's clock, in UTC: 23, 24 or 25 hours apart."""
    return tuple(datetime.combine(d, time(), zone).astimezone(UTC) for d in (day, day + timedelta(days=1)))


def hours_of(day, zone):
    """Every full hour of a day, its end included, in UTC: 24 to 26 of them."""
    start, end = bounds_of(day, zone)
    return [*(start + n * AN_HOUR for n in range(-(-(end - start) // AN_HOUR))), end]


def _offset(moment):
    return moment.strftime("%z")[:3] + ":" + moment.strftime("%z")[3:]
