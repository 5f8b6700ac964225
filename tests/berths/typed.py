"""What a browser would send of a form as it stands on a page."""

import re
from html import unescape
from html.parser import HTMLParser


class _Fields(HTMLParser):
    def __init__(self, form):
        super().__init__()
        self.wanted, self.inside, self.select, self.text, self.found = form, False, None, None, {}

    def handle_starttag(self, tag, attrs):
        at = dict(attrs)
        if tag == "form":
            self.inside = self.wanted is None or at.get("id") == self.wanted
        if not self.inside:
            return
        if tag == "input" and at.get("name"):
            kind = at.get("type", "text")
            if kind not in ("checkbox", "radio"):
                self.found[at["name"]] = at.get("value", "")
            elif "checked" in at:
                self.found[at["name"]] = at.get("value", "on")
        elif tag == "select":
            self.select = at["name"]
        elif tag == "option" and self.select:
            if "selected" in at or self.select not in self.found:
                self.found[self.select] = at.get("value", "")
        elif tag == "textarea":
            self.text, self.found[at["name"]] = at["name"], ""

    def handle_data(self, data):
        if self.text:
            self.found[self.text] += data

    def handle_endtag(self, tag):
        if tag == "form":
            self.inside = False
        elif tag == "select":
            self.select = None
        elif tag == "textarea":
            self.text = None


def typed(answer, form="sheet"):
    """Names and values of a form of a page, as a dict to be changed and sent."""
    reader = _Fields(form)
    reader.feed(answer.content.decode())
    return {name: value for name, value in reader.found.items() if name != "csrfmiddlewaretoken"}


FIGURES = {
    "layout": "four_piles",
    "code": "B1",
    "length": "11",
    "width": "4.4",
    "corner_east": "100",
    "corner_north": "50",
    "outward": "90",
    "dock_z": "3.7",
    "pile_top_z": "4.6",
    "strength_kn": "25",
    "strength_basis": "drawings of 2020 (invented)",
}


def begun(office, harbour, **figures):
    """The form as a layout fills it in."""
    answer = office.get("/survey/berths/new/", FIGURES | harbour | figures)
    assert answer.status_code == 200, words(answer)
    return typed(answer)


def words(answer):
    html = answer.content.decode()
    html = html[max(html.find("<main"), 0) :]
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)))


def keep(office, form, url="/survey/berths/new/"):
    return office.post(url, form | {"deed": "keep"})


def row_of(form, code, rows="f"):
    """The number of the row with this name."""
    return next(n for n in range(60) if form.get(f"{rows}-{n}-code") == code)
