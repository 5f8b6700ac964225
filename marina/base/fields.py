"""Columns as this project stores them: metres as decimals to 0.1 mm, newtons whole, unknown as null.

Floats begin where physics begins; a decimal keeps '10.40' what it was, on both engines and both ways.
"""

from django.db import models


def metres(words="", **options):
    """A length, place or level. [m, to 0.1 mm]"""
    return models.DecimalField(words or None, max_digits=9, decimal_places=4, **options)


def metres_or_unknown(words="", **options):
    """As `metres`; null means nobody knows. [m]"""
    return metres(words, null=True, blank=True, **options)


def newtons_or_unknown(words="", **options):
    """A strength. [N]; null means nobody knows."""
    return models.PositiveIntegerField(words or None, null=True, blank=True, **options)


def millimetres_or_unknown(words="", **options):
    """A rope's diameter. [mm, to 0.1]"""
    return models.DecimalField(
        words or None, max_digits=5, decimal_places=1, null=True, blank=True, **options
    )


def degrees(words="", **options):
    """An angle or a bearing. [degrees, to 0.01]"""
    return models.DecimalField(words or None, max_digits=6, decimal_places=2, **options)


def yes_no_unknown(words="", **options):
    """Yes, no, or null: not known."""
    return models.BooleanField(words or None, null=True, blank=True, **options)


def one_of_or_unknown(choices, words="", **options):
    """One word of a list; empty means not known."""
    return models.CharField(words or None, max_length=20, choices=choices, blank=True, **options)
