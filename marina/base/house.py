"""House rules: what this harbour has decided, else the default of `house.yaml`.

`rules()` reads all changed rows in one query. Within one web request the answer is kept, so that a page may
ask as often as it likes; outside a request every call asks the database: no process works on an old rule.
"""

from contextlib import contextmanager
from contextvars import ContextVar
from zoneinfo import ZoneInfo

from django.utils import timezone

from marina.base.models import HouseRule
from marina.base.rulebook import book

_kept = ContextVar("house_rules_of_this_request", default=None)  # None: no request; {}: not read yet


class Rules(dict):
    """All rules by key ('H7', 'zone'), each with its value in effect; unknown keys raise KeyError."""

    def __init__(self, changed):
        super().__init__({key: changed.get(key, rule["default"]) for key, rule in book().items()})

    @property
    def zone(self):
        """The harbour's time zone."""
        return ZoneInfo(self["zone"])


def rules():
    """The rules in effect now."""
    kept = _kept.get()
    if kept is None:
        return _read()
    if "rules" not in kept:
        kept["rules"] = _read()
    return kept["rules"]


def value(key):
    """One rule in effect, for instance `value("H7")`."""
    return rules()[key]


def zone():
    """The harbour's time zone, as a ZoneInfo."""
    return rules().zone


def _read():
    return Rules(dict(HouseRule.objects.values_list("key", "value")))


def begin_request(**kwargs):
    _kept.set({})


def end_request(**kwargs):
    _kept.set(None)


@contextmanager
def read_once():
    """Inside, the rules are read once, as in a web request: for a list that is made outside of one."""
    token = _kept.set({})
    try:
        yield
    finally:
        _kept.reset(token)


def forget(**kwargs):
    """A rule was saved: what this request has read is old."""
    kept = _kept.get()
    if kept is not None:
        kept.clear()


def set_rule(*, key, value, by, reason=""):
    """Change a rule, or refuse with a ValidationError."""
    rule = HouseRule.objects.filter(key=key).first() or HouseRule(key=key)
    rule.value, rule.by, rule.reason, rule.since = value, by, reason, timezone.now()
    rule.full_clean()
    rule.save()
    return rule
