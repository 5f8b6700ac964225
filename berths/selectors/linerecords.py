"""Flags that the register of lines tells of a stay or a set: condemned, swapped, untagged, not inspected, in two places.

One query for all of them: each line that is out, with the newest word of where it or its place was seen.
"""

from decimal import Decimal

from django.db.models import Exists, F, OuterRef, Q, Subquery

from berths.models import LineUse, Sighting
from marina.base import clock
from vessels.models import Inspection
from vessels.models.line import LineState

CONDEMNED = (LineState.RETIRED, LineState.DESTROYED, LineState.QUARANTINE)
THINNER = Decimal("0.10")  # share of a diameter that may be gone before it is another rope: R-RET-2
OTHER_LENGTH = Decimal("0.30")  # m: less is how one measures: common practice, no source
MATERIAL = {"polyester_braid": "braided polyester", "nylon_3strand": "three-strand nylon"}


def uses_of(owner, ids):
    """Open uses of lines for these stays or line sets, with what was seen of them: {id: [row]}. One query.

    Parameters
    ----------
    owner : {"stay", "line_set"}
    ids : list of int
    """
    if not ids:
        return {}
    if owner == "stay":
        of_set = Q(
            position__line_set__ends=None,
            position__line_set__vessel__stays__in=ids,
            position__line_set__berth=F("position__line_set__vessel__stays__berth"),
        )
        rows = LineUse.objects.filter(Q(stay__in=ids) | of_set)
        whose = {"of_stay": F("stay"), "of": F("position__line_set__vessel__stays")}
    else:
        rows = LineUse.objects.filter(position__line_set__in=ids)
        whose = {"of_stay": F("position__line_set"), "of": F("position__line_set")}
    found = {}
    asked = rows.filter(back=None).order_by("position__number", "line__tag").values(**_columns(), **whose)
    # Most lines lie where they should and say nothing; the database leaves them out.
    speaks = Q(state__in=CONDEMNED) | Q(look_due=None) | Q(look_due__lt=clock.today())
    speaks |= Q(seen_at__isnull=False) | Q(here_at__isnull=False)
    for row in asked.filter(speaks):
        key = row["of_stay"] or row["of"]
        if key in ids:
            found.setdefault(key, []).append(row)
    return found


def _columns():
    of_line = Sighting.objects.filter(line=OuterRef("line"), at__gte=OuterRef("at")).order_by("-at", "-id")
    of_place = Sighting.objects.filter(position=OuterRef("position"), at__gte=OuterRef("at")).order_by(
        "-at", "-id"
    )
    seen = {
        "seen_at": "at", "seen_berth": "berth__code", "seen_place": "place",
    }  # fmt: skip
    here = {
        "here_at": "at", "here_tag": "tag", "here_state": "line__state", "here_retired": "line__tag",
        "here_diameter": "diameter_found_mm", "here_length": "length_found", "here_material": "material",
        "here_by": "by__username",
    }  # fmt: skip
    return {
        "tag": F("line__tag"),
        "state": F("line__state"),
        "diameter": F("line__diameter_mm"),
        "material": F("line__material"),
        "look_due": F("line__next_inspection"),
        "since": F("at"),
        "number": F("position__number"),
        "length": F("position__length"),
        "berth": F("position__line_set__berth__code"),
        "stay_berth": F("stay__berth__code"),
        "inspected": Exists(Inspection.objects.filter(line=OuterRef("line"))),
        **{name: Subquery(of_line.values(column)[:1]) for name, column in seen.items()},
        **{name: Subquery(of_place.values(column)[:1]) for name, column in here.items()},
    }


def flags_of_lines(rows):
    """Flags of the lines of one stay or set, as plain data like the stored ones."""
    return [flag for row in rows for flag in _flags(row)]


def _flags(row):
    swapped = _swapped(row)
    other = row["here_at"] is not None and row["here_retired"] not in (None, row["tag"])
    if row["state"] in CONDEMNED:
        yield condemned(row["tag"], row["state"], "is on record as holding her")
    if other and row["here_state"] in CONDEMNED:
        yield condemned(row["here_retired"], row["here_state"], f"was {_seen(row)}, holding her")
    elif swapped:
        yield _swap(row, swapped)
    if row["here_at"] is not None and not row["here_tag"]:
        yield _flag(
            "line_untagged", "fix", f"Line {row['number']}: no readable tag {_seen(row)}; its strength may not be counted on.",
            "Tag and inspect it, or put the one of the set back.", f"sighting of {_day(row['here_at'])}", row["tag"],
        )  # fmt: skip
    yield from _inspection(row)
    yield from _elsewhere(row)


def condemned(tag, state, where):
    words = {"retired": "RETIRED", "destroyed": "destroyed", "quarantine": "in quarantine"}[state]
    return _flag(
        "line_condemned", "stop", f"Line {tag} is {words} and {where}: known bad rope holds a boat.",
        "Put another line on before it is taken off; cut its eye.", f"register, {tag}", tag,
    )  # fmt: skip


def _swapped(row):
    """What differs from the set where its place was last seen; None where nothing does, or nobody looked."""
    if row["here_at"] is None or row["number"] is None:
        return None
    parts = []
    if row["here_tag"] and row["here_tag"].upper() != row["tag"].upper():
        parts.append(f"{row['here_tag']} instead of {row['tag']}")
    was, found = row["diameter"], row["here_diameter"]
    if was and found and abs(found - was) > was * THINNER:
        parts.append(f"{found.normalize():f} mm instead of {was.normalize():f}")
    if row["length"] and row["here_length"] and abs(row["here_length"] - row["length"]) > OTHER_LENGTH:
        parts.append(f"{row['here_length']:.2f} m instead of {row['length']:.2f} m")
    if row["here_material"] and row["material"] and row["here_material"] != row["material"]:
        parts.append(f"{_rope(row['here_material'])} instead of {_rope(row['material'])}")
    return parts or None


def _swap(row, parts):
    return _flag(
        "line_swapped", "fix",
        f"Line {row['number']} is not the one of the set ({', '.join(parts)}), {_seen(row)}: the set that was worked "
        "out is not the one that holds her.",
        f"Put {row['tag']} back, or work her out with what is there.", f"set, sighting of {_day(row['here_at'])}",
        row["tag"],
    )  # fmt: skip


def _inspection(row):
    if row["look_due"] is None:
        if not row["inspected"]:
            yield _flag(
                "overdue", "note", f"Line {row['tag']} was never inspected.", "Inspect it.", "inspections",
                row["tag"], known=False,
            )  # fmt: skip
    elif row["look_due"] < clock.today():
        late = (clock.today() - row["look_due"]).days
        yield _flag(
            "overdue", "note", f"Line {row['tag']}: its inspection is {late} day{'s' * (late != 1)} overdue.",
            "Inspect it.", "inspections", row["tag"],
        )  # fmt: skip


def _elsewhere(row):
    """In use here on record, and seen at another place since."""
    here = row["berth"] or row["stay_berth"]
    if row["seen_at"] is None or row["seen_berth"] == here:
        return
    place = row["seen_berth"] or row["seen_place"]
    yield _flag(
        "two_places", "note", f"Line {row['tag']} is booked to {here} since {_day(row['since'])} and was seen at {place} on "
        f"{_day(row['seen_at'])}: one of the records is false.",
        "Go and look, and put the record right.", "loan book, sightings", row["tag"],
    )  # fmt: skip


def _rope(material):
    return MATERIAL.get(material, material.replace("_", " "))


def _seen(row):
    return f"seen {_day(row['here_at'])}{' by ' + row['here_by'] if row['here_by'] else ''}"


def _day(moment):
    here = clock.local(moment)
    return f"{here.day} {here:%B %Y}"


def _flag(code, severity, message, do, rests_on, line, *, known=True):
    return {
        "code": code, "severity": severity, "state": "raised" if known else "not_known", "message": message, "do": do,
        "rests_on": rests_on, "line": line,
    }  # fmt: skip
