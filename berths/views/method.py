"""How this is worked out: the method in words, one number from wind to line, the limits, and every check."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from berths.tieup import checks, reckoned, rules
from berths.tieup.loads import coefficient

# What is compared, and what it may come to: words for the rows of the tables of limits and coefficients.
LIMITS = (
    ("strength_factor", "strength of a line over its pull, all lines there"),
    ("strength_factor_one_lost", "the same with any one line gone"),
    ("dynamic_sheltered", "pull in motion over steady pull, in a sheltered berth"),
    ("dynamic_normal", "the same in a usual berth"),
    ("dynamic_open", "the same in a berth open to wash"),
    ("fitting_factor", "strength of a fitting over the pull on it"),
    ("calm_share", "pull of a line in still water and no wind"),
    ("vertical_share", "pull of all lines up or down, in still water"),
    ("under_keel_soft", "water under her keel over a soft bed"),
    ("under_keel_hard", "water under her keel over a hard bed"),
    ("fender_give", "how far a fender may be pressed"),
    ("pile_top_margin", "guide piles above the hoops of a floating dock"),
    ("lift_off_margin", "a pile's top above her cleat, where nothing stops the line"),
    ("wall_range_multiple", "length of a line at a wall, in ranges of the water"),
    ("stretch_soft", "pull of soft rope at a given stretch, to the usual curve"),
    ("stretch_stiff", "pull of stiff rope at a given stretch, to the usual curve"),
    ("lost_line_movement", "how far she may move with a line gone"),
)
LOADS = (
    ("air_density", "density of air"),
    ("water_density", "density of water"),
    ("fender_stiffness", "push of a dock's fender, for each metre it is pressed in"),
    ("pile_stiffness", "push of a pile, for each metre it is pressed in"),
)


@require_safe
def method(request):
    groups = {
        name: [(check, plain(check.expected), plain(check.got)) for check in found]
        for name, found in checks.worked_out().items()
    }
    every = [check for found in checks.worked_out().values() for check in found]
    steps = [(step, plain(step.value)) for step in reckoned.example().steps]
    return render(
        request,
        "berths/method.html",
        {
            "groups": groups,
            "passed": sum(check.passed for check in every),
            "number": len(every),
            "steps": steps,
            "limits": [(words, *_of(rules.table()[name])) for name, words in LIMITS],
            "loads": [(words, *_of(coefficient(name)._asdict())) for name, words in LOADS],
        },
    )


def _of(row):
    return plain(row["value"]), "" if row["unit"] == "1" else row["unit"], row["source"]


def plain(value):
    """A number as it is read: four figures, thousands apart; two numbers with 'to' between; words as they are.

    >>> plain(84600.0), plain(0.05), plain([8, 16]), plain("told"), plain(3.35e-05)
    ('84,600', '0.05', '8 to 16', 'told', '0.00003')
    """
    if isinstance(value, list):
        return " to ".join(plain(part) for part in value)
    if isinstance(value, str):
        return value
    if abs(value) >= 1000:
        return f"{value:,.0f}"
    text = f"{value:.4g}"
    return f"{value:.5f}" if "e" in text else text
