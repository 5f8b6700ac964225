"""The office's sheet of a tie-up, and the card in large type: A4 or Letter, in the same words as the card."""

from dataclasses import dataclass

from django.template.loader import render_to_string

from berths.cards import press
from berths.cards.back import letting_go, pictured
from berths.cards.card import CAUTIONS, DEFERS
from berths.cards.counting import FACE, PT
from berths.cards.layout import qr
from berths.cards.page import arrow
from berths.cards.warnings import sentence
from berths.drawing.describe import describe_elevation, describe_plan
from berths.drawing.details import details_for
from berths.drawing.elevation import elevation
from berths.drawing.paper import Paper
from berths.drawing.plan import extent, plan
from berths.drawing.svg import to_svg

EDGE = 12.0
TEXT, LARGE_TEXT = 8.5 * PT, 18 * PT  # mm, in pictures
LARGE_PICTURES = (110.0, 90.0, 70.0, 50.0, 0.0)
DETAIL = 20.0
ROPES = {
    "nylon_3strand": "nylon, three-strand",
    "nylon_braid": "nylon, braided",
    "polyester_3strand": "polyester, three-strand",
    "polyester_braid": "polyester, braided",
    "polypropylene": "polypropylene",
    "hmpe": "high-modulus",
}


@dataclass(frozen=True)
class OfficeLine:
    """A line with what the office cuts it from."""

    words: object
    cut: str
    rope: str
    optional: bool


def office(card, paper):
    """The whole tie-up for the office: all lines with their cut lengths, water, and every flag in full.

    Parameters
    ----------
    card : card.Card
    paper : sheets.Paper
        Its width and height are used.

    Returns
    -------
    list of weasyprint.Page
        More than one where there is much to say.
    """
    room = paper.width - 2 * EDGE
    html = render_to_string(
        "berths/card_office.html",
        {
            "card": card,
            "size": _size(paper),
            "lines": _lines(card),
            "flags": [(flag, sentence(flag.message), sentence(flag.do)) for flag in card.facts.flags],
            "pictures": _pictures(card, room),
            "told": _told(card),
            "details": [
                pictured(name, DETAIL) for name in details_for(card.scenario, card.verdict, card.facts.eye)
            ],
            "qr": press.image(qr(card.facts.url)),
            "arrow": press.image(arrow(card.bow_angle)) if card.bow else "",
            "letting_go": letting_go(card),
            "cautions": [*CAUTIONS, DEFERS],
        },
    )
    return press.render(html, "sheet").pages


def large(card, paper):
    """The first line and the picture in large type, on one page. Returns a weasyprint.Page."""
    for height in LARGE_PICTURES:
        picture = ""
        if card.scenario is not None and height:
            frame = Paper(paper.width - 2 * EDGE, height, height, LARGE_TEXT, card=True)
            picture = press.image(to_svg(card.draw_plan(frame), unit="mm", font=FACE))
        html = render_to_string(
            "berths/card_large.html",
            {
                "card": card,
                "size": _size(paper),
                "picture": picture,
                "arrow": press.image(arrow(card.bow_angle)) if card.bow else "",
            },
        )
        pages = press.render(html, "sheet").pages
        if len(pages) == 1:
            break
    return pages[0]


def _size(paper):
    return f"{paper.width}mm {paper.height}mm"


def _lines(card):
    rows = {line.id: line for line in card.verdict.lines} if card.verdict else {}
    out = []
    for words in card.lines:
        row = rows[words.id]
        thick = f"{row.diameter_mm:g} mm" if row.diameter_mm else ""
        laid = ROPES.get(row.material, "")
        rope = " ".join(filter(None, (row.tag, thick, laid)))
        out.append(OfficeLine(words, card.reader.length(row.cut_length, "cut"), rope, row.optional))
    return out


def _pictures(card, room):
    """Plan and side view: beside each other where she lies end-on, else below each other and twice as wide."""
    if card.scenario is None:
        return []
    wide, high = extent(card.scenario, card.verdict)
    frame = Paper(room / 2 - 4.0, 60.0, 92.0, TEXT) if high > wide else Paper(room, 30.0, 60.0, TEXT)
    above = plan(
        card.scenario,
        card.verdict,
        frame,
        arrows=card.facts.arrows,
        feet=card.reader.units == "ft",
        neighbours=card.facts.neighbours,
    )
    side = elevation(
        card.scenario,
        card.verdict,
        frame,
        now=card.facts.now,
        say=lambda z: card.reader.length(z, "level"),
    )
    shown = [press.image(to_svg(drawing, unit="mm", font=FACE)) for drawing in (above, side)]
    return [shown] if high > wide else [[picture] for picture in shown]


def _told(card):
    """What the pictures show, in sentences."""
    if card.scenario is None:
        return []
    facts = card.facts
    words = {"marks": facts.marks, "said": facts.said, "kind": facts.kind}
    shown = describe_plan(card.scenario, card.verdict, card.reader, neighbours=facts.neighbours, **words)
    side = describe_elevation(card.scenario, card.reader, card.verdict, now=facts.now)
    return [*(s for s in shown if not s.startswith("Line ")), *side]
