"""Vessels and the register of lines as spreadsheets."""

from pathlib import Path

from marina.base import clock
from marina.base.sheets import Sheet, reference
from marina.base.tables import Book, Table, columns_of
from vessels import rope
from vessels.models import Line, LineEvent, Owner, Vessel
from vessels.services.lines import doubts_about_tag, entry_of

COLUMNS = Path(__file__).parent / "data" / "sheets.yaml"
KNOWN_ROPE = rope.MATERIALS
FEW, MANY = 0.4, 2.5  # times what general tables give: outside of it a strength is looked at twice
THIN, THICK = 6, 60  # mm, dock lines of small harbours; common practice, no source


class VesselSheet(Sheet):
    owner = reference("owner", Owner, "name", "owner")

    class Meta(Sheet.Meta):
        model = Vessel


class LineSheet(Sheet):
    owner = reference("owner", Owner, "name", "owner")
    replaces = reference("replaces", Line, "tag", "line")

    class Meta(Sheet.Meta):
        model = Line
        import_id_fields = ("tag",)
        exclude = ("id", "light_use")  # light use follows from what was done with the line


class Lines(Table):
    """The register. What is done with a line (issued, retired) is told where it is done, not by a sheet."""

    title, sheet, key = "lines", LineSheet, "tag"
    columns = columns_of(COLUMNS, "lines")

    def all(self):
        return Line.objects.select_related("owner", "replaces")

    def allowed(self, row, was):
        if row.state != was.state:
            yield (
                "state",
                f"{row} is '{was.get_state_display()}' and a sheet does not change that. Put '{was.state}' back "
                "here, and tell on the line's page what was done with it.",
            )

    def doubts(self, row, was, known):
        if was is None and (words := doubts_about_tag(row.tag)):
            yield "tag", words
        if row.material and row.material not in KNOWN_ROPE:
            yield "material", f"'{row.material}' is not in the rope table: its stretch will not be known."
        if row.diameter_mm and not THIN <= row.diameter_mm <= THICK:
            yield "diameter_mm", f"{row.diameter_mm:g}: is that in millimetres?"
        else:
            yield from _strength(row)
        if row.working_length and row.total_length and row.working_length > row.total_length:
            yield "working_length", "The working length is longer than the whole line."
        for name in ("made_on", "in_service_on"):
            if getattr(row, name) and getattr(row, name) > clock.today():
                yield name, "This day is still to come."
        if row.made_on and row.in_service_on and row.in_service_on < row.made_on:
            yield "in_service_on", "It was in service before it was made."

    def also_write(self, part, by):
        """Each line's own history says what a sheet did to it."""
        entries = [entry_of(plan.now, None, by=by, note="Entered from a sheet.") for plan in part.new]
        entries += [entry_of(plan.now, plan.was, by=by, note="By a sheet.") for plan in part.changed]
        LineEvent.objects.bulk_create(entries)


def _strength(row):
    if not (row.strength and row.diameter_mm and row.material in KNOWN_ROPE):
        return
    general = rope.strength(row.material, float(row.diameter_mm)).mbs
    if not FEW * general <= row.strength <= MANY * general:
        yield (
            "strength",
            f"{row.strength:,} N; general tables give about {round(general, -2):,.0f} N for this rope, new. "
            "Is the figure in newtons? Kilograms times 9.81 are newtons.",
        )


REGISTER = Book(
    "lines",
    "The register of lines",
    [Lines()],
    "One row a line, known by its tag. The state of a line already in the register is not changed by a sheet.",
)
