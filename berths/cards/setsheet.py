"""A permanent set on A4 or Letter: its picture, every line with what it is and how it is made fast, and how long it holds.

It knows no 'now' and nobody beside her, so that it may hang aboard until the set changes.
"""

from dataclasses import dataclass

from django.template.loader import render_to_string

from berths.cards import press
from berths.cards.card import CAUTIONS, DEFERS
from berths.cards.counting import FACE
from berths.cards.layout import qr
from berths.cards.office import EDGE, ROPES, TEXT
from berths.cards.warnings import sentence
from berths.drawing.elevation import elevation
from berths.drawing.paper import Paper
from berths.drawing.plan import extent, plan
from berths.drawing.svg import to_svg

KNOTS = {
    "pile": "clove hitch and a half hitch on the line",
    "ring": "round turn and two half hitches",
    "bollard": "eye over it, up through an eye that is there",
}
ON_A_CLEAT = {
    "ashore": "eye in through the base and over both horns",
    "aboard": "tail: a round turn at the base, then crosses",
    "": "eye, or a round turn at the base and crosses",
}


@dataclass(frozen=True)
class SetLine:
    """A row of the sheet; what nobody knows reads 'not known'."""

    number: int
    path: str
    tag: str
    rope: str
    length: str
    mark: str
    cut: str
    made_fast: str
    height: str
    age: str
    state: str
    look: str


def rows(page, reader, *, eye="", age, day):
    """The lines of the set as rows.

    Parameters
    ----------
    page : dict
        Of `selectors.sets.set_page`.
    reader : words.Reader
    eye : str
        Where the eye goes by the house's rule: 'ashore', 'aboard' or ''.
    age, day : callable, date -> str

    Returns
    -------
    list of SetLine
    """
    floating = page["words"]["kind"] == "floating"
    return [_row(own, reader, eye, age, day, floating) for own in page["rows"]]


def _row(own, reader, eye, age, day, floating):
    place, line, told = own.position, own.line, own.told
    ashore = place.shore_end and place.shore_end.fastening
    z = place.turn_z if place.turn_z is not None else ashore and ashore.z
    above = "water" if floating and ashore and ashore.floats else "datum"
    since = line and (line.in_service_on or line.made_on)
    thick = f"{float(line.diameter_mm):g} mm" if line and line.diameter_mm else "diameter not known"
    return SetLine(
        number=place.number,
        path=_path(own, told),
        tag=line.tag if line else "not known",
        rope=" ".join(filter(None, (thick, ROPES.get(line.material, "")))) if line else "not known",
        length=reader.length(place.length, "working"),
        mark=(told.words.mark if told else "") or "no band at this length",
        cut=reader.length(told.row.cut_length if told else None, "cut"),
        made_fast=_knot(ashore, eye),
        height="not known" if z is None else f"{reader.length(float(z), 'level')} above {above}",
        age=age(since) if since else "age not known",
        state=f"{own.use.word}: {own.use.why}" if own.use else "which line is here is not recorded",
        look=day(line.next_inspection) if line and line.next_inspection else "not known",
    )


def _path(own, told):
    if told:
        stops = f": {told.words.stops}" if told.words.stops else ""
        shown = told.row.order
        other = "" if shown == own.position.number else f" ({shown} in the picture)"
        return f"{told.words.source}, {told.words.runs_comma} to {told.words.to}{stops}{other}"
    return f"{own.position.role or 'line'}: from the {own.boat_end} to {own.shore_end}"


def _knot(ashore, eye):
    if ashore is None:
        return "not known"
    return ON_A_CLEAT[eye] if ashore.kind == "cleat" else KNOTS.get(ashore.kind, "not known")


def sheet(page, lines, *, line_set, reader, paper, address, told):
    """The set on as many pages as it takes.

    Parameters
    ----------
    page : dict
        Of `selectors.sets.set_page`, for the person who reads it.
    lines : list of SetLine
    line_set : LineSet
    reader : words.Reader
    paper : sheets.Paper
    address : str
        Of the set's page, for the square code.
    told : dict
        More words of the sheet: `stands`, `holds_to`, `call`, `printed`, `worked_out`, `invented`.

    Returns
    -------
    bytes
        A PDF.
    """
    levels = page["levels"]
    html = render_to_string(
        "berths/card_set.html",
        {
            "line_set": line_set,
            "size": f"{paper.width}mm {paper.height}mm",
            "bar": "" if page["answer"].kind == "holds" else page["answer"].words.rstrip("."),
            "pictures": _pictures(page, reader, paper.width - 2 * EDGE),
            "lines": lines,
            "levels": levels and [reader.length(level, "level") for level in levels],
            "flags": [(mark, sentence(mark.message), sentence(mark.do)) for mark in page["standing"].marks],
            "qr": press.image(qr(address)),
            "cautions": [*CAUTIONS, DEFERS],
            **told,
        },
    )
    return press.bind(press.render(html, "sheet").pages)


def _pictures(page, reader, room):
    """Plan and side view, without anybody beside her: next to each other where she lies end-on."""
    scenario, verdict = page["scenario"], page["verdict"]
    if scenario is None:
        return []
    wide, high = extent(scenario, verdict)
    frame = Paper(room / 2 - 4.0, 60.0, 92.0, TEXT) if high > wide else Paper(room, 30.0, 55.0, TEXT)
    above = plan(scenario, verdict, frame, feet=reader.units == "ft", neighbours=False)
    side = elevation(scenario, verdict, frame, say=lambda z: reader.length(z, "level"))
    shown = [press.image(to_svg(drawing, unit="mm", font=FACE)) for drawing in (above, side)]
    return [shown] if high > wide else [[picture] for picture in shown]
