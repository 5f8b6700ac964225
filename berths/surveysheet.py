"""A survey as it lies on the desk: the berth's form with its rows, what lies between them, and what to write.

While somebody is still typing `drawn` gives what can be read so far. A sheet that `is_valid` gives a `Survey`,
which `berths.services.survey.keep` writes in one go.
"""

from dataclasses import dataclass, field
from decimal import Decimal

from django.db.models import Prefetch, Q
from django.utils.functional import cached_property

from berths.ladders import read_ladders, write_ladders
from berths.lying import END_ON
from berths.models import Berth, BerthFace, BerthFastening, Fastening, MadeFastLine, SetPosition
from berths.surveyforms import BerthForm
from berths.surveyrows import FaceRows, FasteningRows
from berths.surveystood import as_it_stands
from berths.taping import Corner, distance

SAME_PLACE = Decimal("0.15")  # m: two of a kind nearer than this are one and the same
NEAR = Decimal(3)  # m around what was typed: what stands there already is offered as the same
MILLIMETRE = Decimal("0.001")
MOVED = Decimal("0.01")  # m: less is a matter of the tape


@dataclass
class Written:
    """One row to write: `link` what the berth calls it (None: new), `thing` the fastening or face itself."""

    link: object
    thing: object
    code: str
    words: str = ""
    gone: bool = False
    recorded: bool = False  # the thing stands in the record already and is left as it is


@dataclass
class Survey:
    berth: Berth
    fastenings: list = field(default_factory=list)
    faces: list = field(default_factory=list)


def _shown(place):
    """To the millimetre, as no tape reads finer; what is sent back unchanged keeps its stored place."""
    return tuple(value.quantize(MILLIMETRE) + 0 for value in place)


class Sheet:
    """The survey of a new berth (`berth` None) or of one that stands in the record.

    Parameters
    ----------
    data : QueryDict or None
        What was sent.
    units : {"m", "ft"}
        The reader's.
    start : (dict, list, list), optional
        What a new one begins with: berth, fastenings, faces.
    """

    def __init__(self, data=None, *, berth=None, units="m", start=({}, [], []), spare=1, record=None):
        self.stored, self.units = berth, units
        self.record = record or (self._of_record() if berth else ({}, {}, start))
        links, face_links, own = self.record
        self.stood = as_it_stands(berth, *links.values(), *face_links.values()) if berth else ""
        self.stood_then = (data or {}).get("stood") or self.stood  # when the page was made
        common = {"units": units}
        self.berth = BerthForm(data, instance=berth, initial=own[0], **common)
        self.fastenings = FasteningRows(data, prefix="f", links=links, starts=own[1], spare=spare, **common)
        self.faces = FaceRows(
            data, prefix="e", links=face_links, starts=own[2], spare=0 if own[2] else 1, **common
        )

    def _of_record(self):
        """What stands in the record of this berth, as taped from its corner."""
        berth = self.stored
        self.corner = corner = Corner.of(berth)
        others = Prefetch("fastening__berths", BerthFastening.objects.select_related("berth"))
        rows = berth.fastenings.select_related("fastening").prefetch_related(others).order_by("code")
        links = {row.pk: row for row in rows}
        others = Prefetch("face__berths", BerthFace.objects.select_related("berth"))
        rows = berth.faces.select_related("face").prefetch_related(others).order_by("code")
        face_links = {row.pk: row for row in rows}
        fastenings = []
        for pk, row in links.items():
            along, out = _shown(corner.taped(row.fastening.east, row.fastening.north))
            fastenings.append({"link": pk, "along": along, "out": out})
        faces = []
        for pk, row in face_links.items():
            it = row.face
            (a1, o1), (a2, o2) = (
                _shown(corner.taped(*end)) for end in ((it.east1, it.north1), (it.east2, it.north2))
            )
            faces.append({"link": pk, "along1": a1, "out1": o1, "along2": a2, "out2": o2})
        return links, face_links, (self._berth_start(corner), fastenings, faces)

    def _berth_start(self, corner):
        berth = self.stored
        east, north = _shown((corner.east, corner.north))
        start = {
            "corner_east": east,
            "corner_north": north,
            "outward": corner.outward,
            "to_middle": corner.to_middle,
            "ladders_at": write_ladders(berth, corner, self.units),
        }
        if berth.power_east is not None and berth.power_north is not None:
            start["power_along"], start["power_out"] = _shown(
                corner.taped(berth.power_east, berth.power_north)
            )
        return start

    def as_sent(self):
        """The same sheet as if it had been sent as it stands, and read: to draw what a form begins with."""
        data = {}
        for form in self.forms:
            for bound in form:
                value = bound.value()
                if value is not False and value is not None:
                    data[bound.html_name] = "on" if value is True else str(value)
        for rows in (self.fastenings, self.faces):
            data |= {f"{rows.prefix}-TOTAL_FORMS": len(rows.forms), f"{rows.prefix}-INITIAL_FORMS": 0}
            data |= {f"{row.prefix}-link": row.link.pk for row in rows.forms if row.link}
        sent = Sheet(data, berth=self.stored, units=self.units, record=self.record)
        sent.read()
        return sent

    @property
    def forms(self):
        return [self.berth, *self.fastenings.forms, *self.faces.forms]

    def faults(self):
        """Every fault with where it stands: (words, bound field or None, message)."""
        found = []
        for form in self.forms:
            row = "" if form is self.berth else f"{form.thing.capitalize()} {form.called}"
            for name, errors in form.errors.items():
                bound = form[name] if name in form.fields else None
                found += [(row, bound, message) for message in errors]
        for rows in (self.fastenings, self.faces):
            found += [("", None, message) for message in rows.non_form_errors()]
        return found

    # --- what was typed ---

    @cached_property
    def typed_corner(self):
        """The corner as typed; None while it is not told."""
        form = self.berth
        kind, outward = form.told("kind"), form.told("outward")
        east, north, middle = form.told("corner_east"), form.told("corner_north"), form.told("to_middle")
        if kind is None or None in (outward, east, north):
            return None
        if kind in END_ON and middle is None:
            width = form.told("clear_width")
            middle = None if width is None else width / 2
        return Corner(kind, east, north, outward % 360, middle or Decimal(0))

    @cached_property
    def stays_put(self):
        """Whether the corner is where the record has it: then a row that was not changed moves nothing."""
        names = {"kind", "corner_east", "corner_north", "outward", "to_middle"}
        return self.stored is not None and not names & set(self.berth.changed_data)

    def place_of(self, row, along="along", out="out"):
        """(east, north) of a row, as recorded where neither corner nor distances were changed; None: not told."""
        if row.link and self.stays_put and not {along, out} & set(row.changed_data):
            thing = getattr(row.link, row.thing)
            names = {"along": ("east", "north"), "along1": ("east1", "north1"), "along2": ("east2", "north2")}
            return tuple(getattr(thing, name) for name in names[along])
        along, out, corner = row.told(along), row.told(out), self.typed_corner
        return None if corner is None or None in (along, out) else corner.place(along, out)

    def read(self):
        """Read what can be read, without asking whether it may be written."""
        for form in self.forms:
            form.quick = True
            form.full_clean()

    # --- is it whole and right ---

    def is_valid(self):
        """Whether it can be written. Every fault stands at its field."""
        good = [self.berth.is_valid(), self.fastenings.is_valid(), self.faces.is_valid()]
        self._as_it_stood()
        if self.typed_corner is None and not self.berth.errors:
            self.berth.add_error("to_middle", "The place of the berth is not told yet.")
        self._middle_needed()
        self._ladders()
        for rows in (self.fastenings.told, self.faces.told):
            self._names_once(rows)
            self._still_in_use(rows)
        self._places()
        return all(good) and not any(form.errors for form in self.forms)

    def _as_it_stood(self):
        """Somebody else kept a survey of it meanwhile: said once, and then whoever keeps theirs has been told."""
        if self.stood_then != self.stood:
            self.stood_then = self.stood
            words = (
                f"The survey of {self.stored} was changed by somebody else after this page was made. Open it in "
                "another window and compare; keep this one once more, and it takes the place of theirs."
            )
            self.berth.add_error(None, words)

    def _middle_needed(self):
        form = self.berth
        untold = form.told("to_middle") is None and form.told("clear_width") is None
        if form.told("kind") in END_ON and untold and not {"to_middle", "clear_width"} & set(form.errors):
            words = "Entered end-on: how far is the middle of the berth from the corner?"
            form.add_error("to_middle", words)

    def _ladders(self):
        text, corner = self.berth.told("ladders_at") or "", self.typed_corner
        if not text or corner is None:
            return
        try:
            self.ladders = read_ladders(text, corner, self.units)
        except ValueError as fault:
            self.berth.add_error("ladders_at", str(fault))

    def _names_once(self, rows):
        seen = set()
        for row in rows:
            code = (row.told("code") or "").lower()
            if code and not row.told("gone") and code in seen:
                row.add_error("code", "Two rows of this berth have this name.")
            seen.add(code)

    def _still_in_use(self, rows):
        """What lines are recorded to go to is not taken away; it goes out of use on its own page."""
        going = [row.link.pk for row in rows if row.link and row.told("gone") and row.thing == "fastening"]
        if not going:
            return
        ends = Q(shore_end__in=going) | Q(via__in=going)
        used = set()
        for model in (SetPosition, MadeFastLine):
            for pair in model.objects.filter(ends).values_list("shore_end", "via"):
                used |= set(pair)
        for row in rows:
            if row.link and row.told("gone") and row.link.pk in used:
                row.add_error(
                    "gone",
                    "Lines are recorded to go to it: it cannot be taken off. Put it out of use instead.",
                )

    def _places(self):
        """New fastenings against what stands there already, and shared ones that would move."""
        for row in self.fastenings.told:
            if row.told("gone") or row.errors:
                continue
            place = self.place_of(row)
            if row.same:
                self._same(row, place)
            elif row.link is None and place:
                self._alone(row, place)
            elif row.shared_with and place:
                self._moves(row, "along", [(place, (row.link.fastening.east, row.link.fastening.north))])
        for row in self.faces.told:
            if row.shared_with and not row.errors and not row.told("gone"):
                it = row.link.face
                ends = [(self.place_of(row, "along1", "out1"), (it.east1, it.north1))]
                ends += [(self.place_of(row, "along2", "out2"), (it.east2, it.north2))]
                self._moves(row, "along1", ends)

    def _same(self, row, place):
        if place and (off := distance(place, (row.same.east, row.same.north))) > SAME_PLACE:
            row.add_error(
                "same_as",
                f"{row.same.label} stands {off:.2f} m from there. Leave the distances empty, or correct them.",
            )

    def _alone(self, row, place):
        kind = row.told("kind")
        twin = next(
            (f for f in self.standing if f.kind == kind and distance(place, (f.east, f.north)) < SAME_PLACE),
            None,
        )
        if twin:
            row.add_error(
                "same_as",
                f"{twin.label} stands there already. If it is the same, write {twin.label} here; else correct the distances.",
            )

    def _moves(self, row, field, places):
        """Something shared would move for other berths too; `places`: pairs of (typed, recorded)."""
        off = max((distance(*pair) for pair in places if None not in pair), default=Decimal(0))
        if off >= MOVED and not self.berth.data.get("move_shared"):
            label = getattr(row.link, row.thing).label
            self.would_move.append(row)
            row.add_error(
                field,
                f"{label} is shared with {', '.join(row.shared_with)} and would move {off:.2f} m there too. "
                "Tick below that it may, or correct the distances.",
            )

    @cached_property
    def would_move(self):
        """Rows of what is shared that a person must say may move."""
        return []

    @cached_property
    def standing(self):
        """Fastenings of the harbour near what was typed that are not this berth's. One query."""
        corner = self.typed_corner
        if corner is None:
            return []
        told = [(row.told("along") or 0, row.told("out") or 0) for row in self.fastenings.told]
        length = self.berth.told("length") or 0
        points = [
            corner.place(a, o)
            for a, o in [*told, corner.from_frame(0, 0), corner.from_frame(float(length), 0)]
        ]
        east, north = zip(*points, strict=True)
        own = [link.fastening_id for link in self.fastenings.links.values()]
        return list(
            Fastening.objects.filter(
                east__range=(min(east) - NEAR, max(east) + NEAR),
                north__range=(min(north) - NEAR, max(north) + NEAR),
            )
            .exclude(pk__in=own)
            .order_by("label")[:200]
        )

    # --- what is to be written ---

    def survey(self):
        """What `services.survey.keep` writes. Only of a sheet that is valid."""
        form, corner = self.berth, self.typed_corner
        berth = form.instance
        if not self.stays_put:
            for name, value in corner.frame.items():
                setattr(berth, name, value)
        along, out = form.told("power_along"), form.told("power_out")
        if along is None:
            berth.power_east = berth.power_north = None
        elif not (self.stays_put and not {"power_along", "power_out"} & set(form.changed_data)):
            berth.power_east, berth.power_north = corner.place(along, out)
        if not (self.stays_put and "ladders_at" not in form.changed_data):
            berth.ladders = getattr(self, "ladders", [])
        return Survey(
            berth,
            [self._fastening(row) for row in self.fastenings.told],
            [self._face(row) for row in self.faces.told],
        )

    def _fastening(self, row):
        code, words, gone = row.told("code"), row.told("words") or "", bool(row.told("gone"))
        if row.same:
            return Written(None, row.same, code, words, recorded=True)
        thing = row.instance
        if not gone:
            thing.east, thing.north = self.place_of(row)
            thing.strength = row.strength
        return Written(row.link, thing, code, words, gone=gone and row.link is not None)

    def _face(self, row):
        thing, gone = row.instance, bool(row.told("gone"))
        if not gone:
            thing.east1, thing.north1 = self.place_of(row, "along1", "out1")
            thing.east2, thing.north2 = self.place_of(row, "along2", "out2")
        return Written(row.link, thing, row.told("code"), gone=gone and row.link is not None)
