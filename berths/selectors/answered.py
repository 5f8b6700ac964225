"""Flags that somebody answers for: read along with the tie-up they belong to, without a query of their own."""

from dataclasses import dataclass
from datetime import UTC, datetime

from django.db.models import Aggregate, JSONField, OuterRef, Subquery
from django.db.models.functions import JSONObject

from berths.models import FlagAccepted
from marina.base import clock


@dataclass(frozen=True)
class Accepted:
    """A person who answers for a flag, until a time or as long as the tie-up counts."""

    by: str
    at: datetime
    reason: str
    until: datetime | None = None


class _Rows(Aggregate):
    """Rows as one JSON list, so that what hangs on a row comes along in the same query."""

    function = "JSON_GROUP_ARRAY"
    template = "%(function)s(JSON(%(expressions)s))"
    output_field = JSONField()

    def as_postgresql(self, compiler, connection, **extra):
        plain = "%(function)s(%(expressions)s)"
        return self.as_sql(compiler, connection, function="JSONB_AGG", template=plain, **extra)


def answered():
    """The rows of FlagAccepted of a tie-up, as a column of a query over tie-ups."""
    row = JSONObject(code="code", place="place", reason="reason", by="by__username", at="at", until="until")
    rows = FlagAccepted.objects.filter(tie_up=OuterRef("pk")).order_by().values("tie_up")
    return Subquery(rows.annotate(rows=_Rows(row)).values("rows"), output_field=JSONField())


def by_place(rows):
    """{(code, place): Accepted}; what was accepted until a time that is over counts no more."""
    found = {}
    for row in rows or []:
        until = moment_of(row["until"])
        if until is None or until > clock.now():
            found[row["code"], row["place"]] = Accepted(row["by"], moment_of(row["at"]), row["reason"], until)
    return found


def moment_of(text):
    """A time from JSON, or None; SQLite keeps UTC and does not say so."""
    if not text:
        return None
    moment = datetime.fromisoformat(text)
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
