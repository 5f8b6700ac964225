"""The book of house rules: `house.yaml`, and what values each rule can have. Knows no database."""

import math
from datetime import datetime
from functools import cache
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType
from zoneinfo import ZoneInfo

import yaml


@cache
def book():
    """`house.yaml`: key -> question, kind, bounds, default, where it shows, source."""
    return MappingProxyType(yaml.safe_load((Path(__file__).parent / "house.yaml").read_text("utf-8")))


def check(key, value):
    """Refuse a value that the rule cannot have.

    Raises
    ------
    ValueError
        With one sentence that names the rule and what to enter.

    Examples
    --------
    >>> check("H7", 3.5)
    >>> check("H8", {"soft": 0.3, "hard": -1})
    Traceback (most recent call last):
        ...
    ValueError: H8: hard: give a number from 0 to 10 m
    """
    if key not in book():
        raise ValueError(f"{key}: there is no such house rule")
    try:
        _check(book()[key], value)
    except ValueError as fault:
        raise ValueError(f"{key}: {fault}") from None


def _check(rule, value):
    CHECKS[rule["kind"]](rule, value)


def _parts(rule, value):
    if not isinstance(value, dict) or set(value) != set(rule["parts"]):
        raise ValueError(f"give exactly {', '.join(rule['parts'])}")
    for name, part in rule["parts"].items():
        try:
            _check(part, value[name])
        except ValueError as fault:
            raise ValueError(f"{name}: {fault}") from None


def _number(rule, value):
    number = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    if not number or not rule["low"] <= value <= rule["high"]:
        raise ValueError(
            f"give a number from {rule['low']:g} to {rule['high']:g} {rule.get('unit', '')}".rstrip()
        )


def _whole(rule, value):
    _number(rule, value)
    if value != int(value):
        raise ValueError("give a whole number")


def _numbers(rule, value):
    if not isinstance(value, list) or not value:
        raise ValueError("give a list of numbers")
    for entry in value:
        _number(rule, entry)
    if any(b <= a for a, b in pairwise(value)):
        raise ValueError("give the numbers in rising order, each once")


def _choice(rule, value):
    if value not in rule["choices"]:
        raise ValueError(f"choose one of {', '.join(rule['choices'])}")


def _choices(rule, value):
    if not isinstance(value, list):
        raise ValueError("give a list")
    for entry in value:
        _choice(rule, entry)


def _yes_no(rule, value):
    if not isinstance(value, bool):
        raise ValueError("choose yes or no")


def _text(rule, value):
    if not isinstance(value, str) or len(value) > 100:
        raise ValueError("give a text of at most 100 letters")


def _zone(rule, value):
    try:
        ZoneInfo(value)
    except (ValueError, TypeError, OSError, LookupError):
        raise ValueError(f"{value!r} is no time zone; write for instance Europe/London") from None


def _clock(rule, value):
    if value is None:
        return
    keys = set(value) if isinstance(value, dict) else set()
    if keys == {"shift_seconds"} and isinstance(value["shift_seconds"], int):
        return
    try:
        if keys == {"at"} and datetime.fromisoformat(value["at"]).tzinfo:
            return
    except (TypeError, ValueError):
        pass
    raise ValueError("give {'at': a time with its zone}, {'shift_seconds': a whole number} or nothing")


CHECKS = {
    "parts": _parts,
    "number": _number,
    "whole": _whole,
    "numbers": _numbers,
    "choice": _choice,
    "choices": _choices,
    "yes_no": _yes_no,
    "text": _text,
    "zone": _zone,
    "clock": _clock,
}
