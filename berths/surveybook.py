"""The survey as one workbook: piers, berths, fastenings and faces, each fastening one row whoever uses it."""

import re
from pathlib import Path

from django.db.models import Prefetch

from berths import doubts
from berths.lying import Frame
from berths.models import Berth, BerthFace, BerthFastening
from berths.services import stale
from berths.sheets import BerthSheet, FaceSheet, FasteningSheet, PierSheet
from marina.base.sheets import Number
from marina.base.tables import Book, Table, columns_of
from marina.base.workbook import plain

COLUMNS = Path(__file__).parent / "data" / "sheets.yaml"
USE = re.compile(r'(?P<berth>[^=";]+)=(?P<code>[^=";]+)(?:"(?P<words>(?:[^"]|"")*)")?')
USES = re.compile(r'(?:[^";]|"(?:[^"]|"")*")+')
SAME_PLACE = 0.02  # m: by plan and by tape, the same place


class Piers(Table):
    title, sheet, key = "piers", PierSheet, "name"
    columns = columns_of(COLUMNS, "piers")


class Berths(Table):
    title, sheet, key = "berths", BerthSheet, "code"
    columns = columns_of(COLUMNS, "berths")

    def all(self):
        return Berth.objects.select_related("pier", "water")

    def own(self, cells):
        return super().own(cells) | {"ladders"}

    def value(self, row, name, known):
        if name == "datum":
            return row.water.datum
        if name == "ladders":
            return "; ".join(" ".join(plain(each[k]) for k in LADDER) for each in row.ladders)
        return super().value(row, name, known)

    def special(self, row, cells, known):
        if row.water_id or "water" in row._state.fields_cache:
            yield from _datum(cells.get("datum"), [row.water])
        if "ladders" in cells:
            try:
                row.ladders = [_ladder(text) for text in cells["ladders"].split(";") if text.strip()]
            except ValueError as fault:
                yield "ladders", str(fault)

    def notes(self, given):
        if "datum" not in given and "bed_z" in given:
            yield "no datum is named, so heights are taken as above the datum of each berth's water."

    def doubts(self, row, was, known):
        return doubts.of_berth(row, was, known)


LADDER = ("id", "x1", "x2", "y1", "y2")


def _ladder(text):
    *name, x1, x2, y1, y2 = ["", "", "", "", *text.split()]
    try:
        figures = [float(part.replace(",", ".")) for part in (x1, x2, y1, y2)]
    except ValueError:
        figures = []
    if not figures or not any(name):
        raise ValueError(f"'{text.strip()}': write the ladder's name and four figures, as L1 4.0 4.5 -0.2 0")
    return {"id": " ".join(filter(None, name))} | dict(zip(LADDER[1:], figures, strict=True))


def _datum(given, waters):
    """Heights from another zero are refused, not shifted by guess."""
    for water in waters:
        if given and given != water.datum:
            yield (
                "datum",
                f"Heights are given above '{given}', but {water} counts from '{water.datum or 'not known'}'. Turn "
                "the figures of this row into that datum first.",
            )
            return


class Used(Table):
    """A table whose rows are named by the berths that use them, and placed by plan or by tape.

    `link` is the model that gives a row its name at a berth, `points` the columns of its places: (east, north,
    along, left).
    """

    link, points = None, ()

    def all(self):
        links = self.link.objects.select_related("berth").order_by("berth__code", "code")
        return self.model.objects.prefetch_related(Prefetch("berths", links, to_attr="links"))

    @property
    def side(self):
        """Of the link: 'fastening' or 'face'."""
        return self.model._meta.model_name

    def value(self, row, name, known):
        if name == "used_at":
            return "; ".join(_use(link) for link in row.links)
        if name == "datum":
            return "" if row.floats else next((w.datum for w in self._waters(row, known)), "")
        if name == "from_berth" or name in self._taped():
            return ""
        return super().value(row, name, known)

    def _taped(self):
        return {name for point in self.points for name in point[2:]}

    def _waters(self, row, known):
        for link in row.links:
            yield from (berth.water for berth in known.named(Berth, "code", link.berth.code))

    def own(self, cells):
        by_tape = cells.get("from_berth") or any(cells.get(name) for name in self._taped())
        on_plan = {name for point in self.points for name in point[:2]} if by_tape else set()
        return super().own(cells) | {name for name in on_plan if not cells.get(name)}

    def special(self, row, cells, known):
        row.links = getattr(row, "links", [])
        if "used_at" in cells:
            try:
                row.links = list(self._links(row, cells["used_at"], known))
            except ValueError as fault:
                yield "used_at", str(fault)
        if not row.floats:
            yield from _datum(cells.get("datum"), self._waters(row, known))
        try:
            self._place(row, cells, known)
        except Misplaced as fault:
            yield fault.args

    def _links(self, row, text, known):
        had, named = {link.berth.code: link for link in row.links}, set()
        for use in USES.findall(text):
            if not use.strip():
                continue
            found = USE.fullmatch(use.strip())
            if not found:
                raise ValueError(
                    f"'{use.strip()}' names no use. Write berth = its name there: B1 = P2; B2 = P1"
                )
            at, code = found["berth"].strip(), found["code"].strip()
            berths = known.named(Berth, "code", at)
            if not berths:
                raise ValueError(f"There is no berth '{at}'. Enter it first, or look at the spelling.")
            if at in named:
                raise ValueError(f"Berth '{at}' is named twice here. Take one out.")
            named.add(at)
            yield self._link(had.get(at), row, berths[0], code, (found["words"] or "").replace('""', '"'))

    def _link(self, had, row, berth, code, words):
        """The row's name at this berth, not written yet; too long a word or name is refused."""
        link = self.link(berth=berth, code=code, **{self.side: row})
        for name, text in (("code", code), ("words", words)):
            longest = self._longest(name)
            if longest is None and text:
                raise ValueError(f'"{text}": words are not kept here; write {berth} = {code} alone.')
            if longest and len(text) > longest:
                raise ValueError(f"'{text}' is longer than {longest} letters. Shorten it.")
        if self._longest("words"):
            link.words = words
        link.had = had
        return link

    def _longest(self, name):
        names = {f.name: f for f in self.link._meta.fields}
        return names[name].max_length if name in names else None

    def _place(self, row, cells, known):
        taped = [name for name in ("from_berth", *sorted(self._taped())) if cells.get(name)]
        if not taped:
            return
        lacking = [n for n in ("from_berth", *(n for p in self.points for n in p[2:])) if not cells.get(n)]
        if lacking:
            raise Misplaced(
                lacking[0], "This cell is empty: a place by tape needs the berth and both distances."
            )
        berths = known.named(Berth, "code", cells["from_berth"])
        if not berths:
            raise Misplaced("from_berth", f"There is no berth '{cells['from_berth']}'. Look at the spelling.")
        frame = Frame(berths[0])
        for east, north, *distances in self.points:
            place = frame.to_plan([_distance(name, cells[name]) for name in distances])
            for name, value in zip((east, north), place, strict=True):
                if cells.get(name) and abs(float(getattr(row, name)) - value) > SAME_PLACE:
                    raise Misplaced(name, f"By the tape it is {value:.2f} m. Leave one of the two ways out.")
                setattr(row, name, self.model._meta.get_field(name).to_python(f"{value:.4f}"))

    def clashes(self, plans, known):
        """A name stands for one thing at a berth."""
        held = {}
        for row in known.rows(self):
            for link in row.links:
                held.setdefault((link.berth.code, link.code), []).append(row)
        for plan in plans:
            for link in plan.now.links:
                others = [r for r in held[link.berth.code, link.code] if r is not plan.now]
                if others and plan.cells:
                    words = f"At {link.berth} '{link.code}' is {others[0]} already. Give one of them another name."
                    yield plan.line, "used_at", words

    def doubts(self, row, was, known):
        if not row.links:
            yield "used_at", "No berth uses it, so no tie-up can."
        yield from doubts.OF[self.model](row, known)

    def also_write(self, part, by):
        """Names at berths: what is no longer named goes, new names come, and the tie-ups there hear of it."""
        gone, renamed, added = [], [], []
        for plan in part.plans:
            kept = {link.had.pk for link in plan.now.links if getattr(link, "had", None)}
            gone += [
                link
                for link in getattr(plan.was, "links", [])
                if link.pk not in kept and link not in plan.now.links
            ]
            for link in plan.now.links:
                had = getattr(link, "had", None)
                if link.pk is None and had is None:
                    added.append(link)
                elif had and (had.code, getattr(had, "words", "")) != (link.code, getattr(link, "words", "")):
                    renamed.append(link)
        for link in gone:
            link.delete()
        self._rename(renamed)
        self.link.objects.bulk_create(added)
        berths = {link.berth.pk for link in added}
        stale.mark_berths(berths, f"{self.side} at the berth added from a sheet")

    def _rename(self, links):
        """Two that change names would for a moment have one: all let go of theirs first."""
        moved = [link for link in links if link.had.code != link.code]
        for link in moved:
            link.had.code = f"~{link.had.pk}"
            link.had.save()
        for link in links:
            link.pk, link._state.adding = link.had.pk, False
            link.save()


class Misplaced(Exception):
    """(column, words): the places of a row contradict each other, or are half given."""


def _distance(name, text):
    try:
        return float(Number().clean(text))
    except ValueError as fault:
        raise Misplaced(name, str(fault)) from fault


def _use(link):
    words = getattr(link, "words", "").replace('"', '""')
    return f"{link.berth.code} = {link.code}" + (f' "{words}"' if words else "")


class Fastenings(Used):
    title, sheet, key, link = "fastenings", FasteningSheet, "label", BerthFastening
    columns, points = columns_of(COLUMNS, "fastenings"), (("east", "north", "along", "left"),)


class Faces(Used):
    title, sheet, key, link = "faces", FaceSheet, "label", BerthFace
    columns = columns_of(COLUMNS, "faces")
    points = (("east1", "north1", "along1", "left1"), ("east2", "north2", "along2", "left2"))


SURVEY = Book(
    "survey",
    "The survey",
    [Piers(), Berths(), Fastenings(), Faces()],
    "Piers, berths, fastenings and faces: four sheets of one workbook, or one of them as CSV. All lengths and "
    "heights are in metres.",
)
