"""The back of a card: what is read back, in which order lines come off, how they are made fast, what was done."""

from django.template.loader import render_to_string

from berths.cards import press
from berths.cards.card import CAUTIONS, DEFERS
from berths.cards.counting import A6, FACE, SMALL, SMALL_LINE
from berths.cards.slack import slack_at
from berths.drawing.details import DETAILS, detail, details_for
from berths.drawing.measure import wrap
from berths.drawing.svg import to_svg

BOXES = ("made fast by", "time", "level on the gauge", "what I did differently")
# Height of the pictures, how many lines are read back, room in the boxes. [mm, lines, mm]
LADDER = (
    (19.0, 9, 12.0),
    (17.0, 9, 9.0),
    (15.0, 9, 6.5),
    (13.0, 9, 6.0),
    (0.0, 9, 9.0),
    (0.0, 9, 6.0),
    (0.0, 5, 6.0),
)


def back(card, stock=A6):
    """The back set on one page of its stock.

    The pictures give way first, then room to write in, last the sentences of the later lines: they stand on the
    page of the stay.

    Returns
    -------
    weasyprint.Page
    """
    steps = [step for step in LADDER[:-1] if _height(card, stock, *step) <= stock.tall]
    for picture, most, room in [*steps, LADDER[-1]]:
        document = press.render(markup(card, stock, picture=picture, most=most, room=room), "sheet")
        if len(document.pages) == 1:
            break
    return document.pages[0]


def markup(card, stock, *, picture=LADDER[0][0], most=9, room=LADDER[0][2]):
    """The back as HTML text: `picture` and `room` are heights [mm], `most` is how many lines are read back."""
    names = details_for(card.scenario, card.verdict, card.facts.eye) if picture else ()
    return render_to_string(
        "berths/card_back.html",
        {
            "card": card,
            "size": f"{stock.width}mm {stock.height}mm",
            "lines": card.lines[:most],
            "left": [str(line.order) for line in card.lines[most:]],
            "letting_go": letting_go(card),
            "details": [pictured(name, picture) for name in names],
            "share": f"{100 / max(len(names), 1):.1f}%",
            "cautions": [*CAUTIONS, DEFERS],
            "boxes": BOXES,
            "room": f"{room}mm",
        },
    )


def _height(card, stock, picture, most, room):
    """About how tall the back stands, rather less than more: what cannot fit is not set at all. [mm]"""

    def tall(words, width=stock.full):
        return len(wrap(words, width, SMALL)) * SMALL_LINE

    lines = sum(tall(f"{line.order} {line.read_back}") for line in card.lines[:most])
    cautions = sum(tall(words) for words in (*CAUTIONS, DEFERS))
    names = details_for(card.scenario, card.verdict, card.facts.eye) if picture else ()
    share = stock.full / max(len(names), 1) - 2.0
    details = picture + max((tall(DETAILS[name][2][0], share) for name in names), default=0.0)
    heads = 15.0 + (10.0 if card.lines else 0.0) + (5.0 if card.bar else 0.0)
    return heads + lines + tall(letting_go(card)) + details + cautions + 2 * room


def pictured(name, height):
    """A detail drawing for paper with its words below."""
    drawing = detail(name, height)
    svg = to_svg(drawing, unit="mm", font=FACE)
    return {"picture": press.image(svg), "words": drawing.sentences[0]}


def letting_go(card):
    """In which order lines come off: the slack ones first, the one that works hardest last.

    Returns
    -------
    str
        A sentence; '' where there are no lines.
    """
    if not card.lines:
        return ""
    level, worst = card.facts.now, card.verdict.summary.peak_line
    slack = {line.id: slack_at(card.verdict, line.id, level) for line in card.lines}
    known = all(value is not None for value in slack.values())
    first = sorted(card.lines, key=lambda line: -slack[line.id]) if known else list(reversed(card.lines))
    order = sorted(first, key=lambda line: line.id == worst)
    told = ", ".join(str(line.order) for line in order)
    why = "slack lines first at the water of this printing" if known else "the last on first; slack not known"
    return f"{told} ({why}). Look first: wind and water change it. The one with weight on it comes off last."
