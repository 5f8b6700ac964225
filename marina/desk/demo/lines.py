"""The register of the invented harbour's 120 lines, with what was done to them and what looks at them found."""

import math

from marina.desk.demo.rows import data, deed, ensure, metres, millimetres
from vessels import life, rope
from vessels.models import Inspection, Line, LineEvent

ZONES = ("eye", "chock", "shore", "cleat", "free", "tail")


def load_lines(loading):
    """Lines of the sets, then the harbour's own stock."""
    register = data("lines")
    for place, rows in data("sets")["sets"].items():
        stay_row = data("stays")["stays"][place]
        vessel = loading.vessels[stay_row["boat"]]
        for row in rows:
            _set_line(loading, place, vessel, row, register)
    for tag, row in register["stock"].items():
        _stock_line(loading, tag, row, register)


def _set_line(loading, place, vessel, row, register):
    tag = row["tag"]
    told = register["told"].get(tag, {})
    diameter = register["diameters"][place]
    _line(
        loading,
        tag,
        register,
        told,
        diameter_mm=diameter,
        working_length=metres(row["length"]),
        total_length=metres(_total(row["length"])),
        owner_kind="holder",
        owner=vessel.owner,
        home=f"berth {place}",
        kept_for="permanent",
        state="out",
        since=register["sets_made"],
    )


def _stock_line(loading, tag, row, register):
    _line(
        loading,
        tag,
        register,
        row,
        diameter_mm=row["diameter"],
        working_length=metres(row["length"]),
        total_length=metres(_total(row["length"])),
        owner_kind="harbour",
        home=row["hook"],
        kept_for=row.get("kept_for", "store"),
        state="out" if row.get("state") == "out" else "store",
        since=register["stock_made"],
    )


def _total(working):
    """Working length and what eye, turns and tail take, up to the half metre."""
    return math.ceil((working + 2.8) * 2) / 2


def _line(loading, tag, register, told, *, diameter_mm, since, **values):
    certificate = register["certificates"].get(tag) or told.get("certificate", "")
    material = register["material"]
    strength = round(rope.strength(material, diameter_mm).mbs)
    looked = told.get("inspected", register["inspected"])
    due = told.get("due", register["due"])
    line = ensure(
        Line,
        {"tag": tag},
        second_tag=f"{tag}b" if values["total_length"] > 10 else "",
        material=material,
        construction="three-strand, laid",
        colour="white with a blue thread" if certificate else "white",
        diameter_mm=diameter_mm,
        diameter_label=f"{diameter_mm} mm",
        diameter_found_mm=millimetres(told.get("found")),
        eyes="one",
        eye_length=metres(0.4),
        gear="sleeve of 0.6 m at the shore end",
        strength=round(strength * 1.05, -2) if certificate else strength,
        strength_basis="certificate" if certificate else "generic",
        certificate=certificate,
        made_on=loading.day(register["certified_made"] if certificate else register["sets_made"]),
        next_inspection=loading.day(due) if due else None,
        in_service_on=loading.day(since),
        note=told.get("note", ""),
        **values,
    )
    loading.lines[tag] = line
    received = {"kind": "received", "at": f"{since}T09:00", "by": "hand1", "note": "measured and tagged"}
    for event in [received, *told.get("events", [])]:
        _event(loading, line, event)
    if looked:
        _inspection(loading, line, looked, told, due)


def _event(loading, line, row):
    """One entry; one that leads to another state takes the line there, once."""
    leads = life.leads_to(row["kind"], line.state)[:1] if row["kind"] != "received" else ()
    event = ensure(
        LineEvent,
        {"client_id": deed("event", line.tag, row["kind"], row["at"])},
        line=line,
        kind=row["kind"],
        at=loading.time(row["at"]),
        by=loading.users[row["by"]],
        note=row["note"],
        place=line.home,
        before=line.state if leads else "",
        state="".join(leads),
    )
    if event.state and line.state == event.before:
        line.state = event.state
        line.save()


def _inspection(loading, line, looked, told, due):
    wear = told.get("wear", {})
    ensure(
        Inspection,
        {"client_id": deed("inspection", line.tag, looked)},
        line=line,
        at=loading.time(f"{looked}T14:00"),
        by=loading.users["hand1"],
        zones={zone: wear.get(zone, []) for zone in ZONES},
        diameter_found_mm=millimetres(told.get("found", line.diameter_mm)),
        working_length_found=line.working_length,
        advice=told.get("advice", "keep"),
        next_due=loading.day(due) if due else None,
    )
