"""Labels for the tags of lines: a sheet of A4 or a single one, each with the square code that opens the line.

Like the cards, a label takes nothing from outside: type and code lie in the document itself.
"""

import segno
from django.template.loader import render_to_string

from berths.cards import press

COLUMNS, ROWS = 3, 8  # of 70 x 37 mm, a common sheet of labels; common practice, no source
ON_A_SHEET = COLUMNS * ROWS
WIDTH, HEIGHT = 70, 37  # mm


def sheet(labels, *, start=1):
    """Labels on sheets of A4, the first at place `start` of the first sheet, so that a begun sheet is used up.

    Parameters
    ----------
    labels : list of dict
        tag, words and address of each line.

    Returns
    -------
    bytes
        A PDF.
    """
    places = [None] * (start - 1) + [_drawn(label) for label in labels]
    pages = [places[i : i + ON_A_SHEET] for i in range(0, len(places), ON_A_SHEET)]
    return _pdf({"pages": pages, "single": False})


def single(label):
    """One label on a page of its own size, as PDF bytes."""
    return _pdf({"pages": [[_drawn(label)]], "single": True})


def _drawn(label):
    return label | {"code": segno.make(label["address"], error="m").svg_data_uri(border=2)}


def _pdf(context):
    return press.render(render_to_string("berths/labels_print.html", context), style="label").write_pdf()
