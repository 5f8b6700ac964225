"""The card as a page for the phone: the same words in the same order, set for a screen."""

from berths.cards.card import CAUTIONS, DEFERS
from berths.drawing.describe import describe_elevation, describe_plan
from berths.drawing.details import DETAILS, detail, details_for
from berths.drawing.elevation import elevation
from berths.drawing.plan import PAGE
from berths.drawing.svg import Svg, to_svg

DETAIL = 150  # units of the page: height of a small picture


def page_of(card):
    """What the page of a card shows, for its template."""
    return {
        "card": card,
        "arrow": arrow(card.bow_angle),
        "cautions": CAUTIONS,
        "defers": DEFERS,
        **_pictures(card),
    }


def _pictures(card):
    """Plan and side view with their sentences; nothing where there is no Scenario to draw."""
    if card.scenario is None:
        return {}
    reader, facts = card.reader, card.facts
    told = describe_plan(
        card.scenario,
        card.verdict,
        reader,
        neighbours=False,
        marks=facts.marks,
        said=facts.said,
        kind=facts.kind,
    )
    side = describe_elevation(card.scenario, reader, card.verdict, now=facts.now)

    def say(z):
        return reader.length(z, "level")

    return {
        "drawing": to_svg(card.draw_plan(PAGE, sentences=told)),
        "told": told,
        "side": to_svg(elevation(card.scenario, card.verdict, now=facts.now, say=say, sentences=side)),
        "side_told": side,
        "details": [
            {"picture": to_svg(detail(name, DETAIL, PAGE.text)), "words": DETAILS[name][2][0]}
            for name in details_for(card.scenario, card.verdict, card.facts.eye)
        ],
    }


def arrow(angle):
    """An arrow that points at an angle counter-clockwise from right, degrees; nothing where it is not known."""
    if angle is None:
        return ""
    path = f'<path d="M-10 -2.6H1V-7.5L10 0L1 7.5V2.6H-10Z" transform="rotate({-angle % 360:.0f})"'
    return Svg(
        '<svg xmlns="http://www.w3.org/2000/svg" class="arrow" width="32" height="32" viewBox="-11 -11 22 22" '
        f'aria-hidden="true">{path} fill="currentColor"/></svg>'
    )
