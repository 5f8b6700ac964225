"""What a browser would send of a form as it stands on a page."""

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
    return reader.found
