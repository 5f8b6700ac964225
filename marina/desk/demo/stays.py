"""Stays of the invented harbour, how each boat was made fast, and the permanent line sets."""

from datetime import timedelta

from berths.models import (
    BerthFastening,
    LineSet,
    LineUse,
    Look,
    MadeFast,
    MadeFastLine,
    Recheck,
    Round,
    SetPosition,
    Sighting,
    Stay,
)
from marina.base.house import set_rule
from marina.base.models import HouseRule
from marina.desk.demo.rows import data, deed, demo_clock, ensure, metres, millimetres
from vessels.models import DeckFitting


def load_house(loading):
    """Name, zone and office of the harbour, unless somebody has changed them since."""
    for key, value in data("stays")["house_rules"].items():
        if not HouseRule.objects.filter(key=key).exists():
            set_rule(key=key, value=value, by=loading.users["harbourmaster"], reason="the demonstration")


def looked_before(loading):
    """Looks that set themselves for a time before the demonstration's evening were done then, by a hand."""
    moment, _ = demo_clock()
    evening = loading.time(moment.isoformat())
    for look in Recheck.objects.filter(done_at=None, due__lt=evening, stay__in=loading.stays.values()):
        look.done_at, look.done_by, look.found = look.due, loading.users["hand1"], "as planned"
        look.save()


def load_stays(loading):
    """Who lies where; then how each was made fast."""
    for place, row in data("stays")["stays"].items():
        loading.stays[place] = _stay(loading, place, row)
    for place, row in data("stays")["stays"].items():
        stay = loading.stays[place]
        for how in ("fast", "found"):
            if how in row:
                _made_fast(loading, place, stay, row[how], _lines_of(place, how))


def _stay(loading, place, row):
    permanent = "since" in row
    end_in = row.get("end_in", "")
    return ensure(
        Stay,
        {"client_id": deed("stay", place)},
        vessel=loading.vessels[row["boat"]],
        berth=loading.berths[place.split()[0]],
        raft_place=row.get("raft_place", 0),
        arrive=loading.time(row["since"] if permanent else row["from"]),
        depart=None if permanent else loading.time(row["until"]),
        purpose=row.get("purpose", "permanent" if permanent else "visit"),
        state="fast" if "fast" in row else "booked",
        side_to=row.get("side_to", end_in),
        side_told=row.get("told", "" if permanent else row.get("side_to", "")),
        end_in=end_in,
        lies_x=metres(row.get("lies_x")),
        attended=row.get("attended", False),
        short_until=loading.time(row["short_until"]) if "short_until" in row else None,
        note=row.get("note", ""),
    )


def _lines_of(place, how):
    """The lines of a stay as data; what was found later replaces positions of the set."""
    rows = data("sets")["sets"].get(place) or data("sets")["visitors"].get(place) or []
    other = data("sets")["found"].get(place, {}) if how == "found" else {}
    return [other.get(number, row) for number, row in enumerate(rows, 1)]


def _ends(stay, row):
    """Both ends of a line, as rows, from their names in the data."""
    boat_end = DeckFitting.objects.get(vessel=stay.vessel_id, code=row["from"])
    if "to" not in row:  # to another boat: there is no fastening ashore
        return {"boat_end": boat_end}
    shore_end = BerthFastening.objects.get(berth=stay.berth_id, code=row["to"])
    return {"boat_end": boat_end, "shore_end": shore_end}


def _made_fast(loading, place, stay, row, lines):
    key = {"client_id": deed("made fast", place, row["at"])}
    fast = ensure(
        MadeFast,
        key,
        stay=stay,
        at=loading.time(row["at"]),
        by=loading.users[row["by"]],
        level=metres(row["level"]),
        side_to=stay.side_to,
        differed=row.get("differed", ""),
    )
    for number, line in enumerate(lines, 1):
        tagged = loading.lines.get(line.get("tag"))
        ensure(
            MadeFastLine,
            {"made_fast": fast, "number": number},
            line=tagged,
            description=line.get("description", ""),
            material=line.get("material", ""),
            diameter_mm=None if tagged else millimetres(line.get("diameter")),
            length=metres(line["length"]),
            chafe_gear=True,
            **_ends(stay, line),
        )


def load_sets(loading):
    """Permanent sets: positions, and the line that fills each."""
    closed = data("lines")["replaced"]
    for place, rows in data("sets")["sets"].items():
        stay = loading.stays[place]
        line_set = ensure(
            LineSet,
            {"berth": stay.berth, "vessel": stay.vessel},
            owner=stay.vessel.owner,
            starts=loading.day(data("stays")["stays"][place]["since"][:10]),
        )
        for number, row in enumerate(rows, 1):
            position = ensure(
                SetPosition,
                {"line_set": line_set, "number": number},
                role=row["role"],
                length=metres(row["length"]),
                chafe_gear=True,
                **_ends(stay, row),
            )
            loading.positions[place, number] = position
            _fills(loading, place, number, row["tag"], stay.arrive, closed.get(row["tag"]))


def _fills(loading, place, number, tag, since, replaced):
    """The use of a line in a position; a replaced one is closed, and the new line's use begins."""
    position = loading.positions[place, number]
    values = {}
    if replaced:
        values = {
            "back": loading.time(replaced["back"]),
            "back_by": loading.users[replaced["by"]],
            "closed_as": "replaced",
            "reason": replaced["reason"],
        }
    by = loading.users["hand1"]
    ensure(
        LineUse,
        {"client_id": deed("use", tag, place)},
        line=loading.lines[tag],
        position=position,
        at=since,
        by=by,
        condition_out="good",
        **values,
    )
    if replaced:
        new = replaced["new"]
        ensure(
            LineUse,
            {"client_id": deed("use", new["tag"], place)},
            line=loading.lines[new["tag"]],
            position=position,
            at=loading.time(new["at"]),
            by=loading.users[new["by"]],
            condition_out="good",
        )


def load_loans(loading):
    """Harbour lines lent to visitors."""
    for row in data("lines")["loans"]:
        stay = loading.stays[row["stay"]]
        for tag in row["tags"]:
            ensure(
                LineUse,
                {"client_id": deed("loan", tag, row["at"])},
                line=loading.lines[tag],
                stay=stay,
                at=loading.time(row["at"]),
                by=loading.users[row["by"]],
                due=stay.depart,
                condition_out="good",
            )


def load_rounds(loading):
    """Rounds with their looks, the lines seen on them, and the count in the store."""
    for row in data("rounds")["rounds"]:
        by = loading.users[row["by"]]
        walk = ensure(
            Round,
            {"name": row["name"], "started": loading.time(row["started"])},
            closed=loading.time(row["closed"]),
            by=by,
        )
        walk.berths.add(*(loading.berths[code] for code in row["berths"]))
        for place, look in row["looks"].items():
            _look(loading, walk, place, look, by)
    count = data("rounds")["store_count"]
    for tag in count["tags"]:
        ensure(
            Sighting,
            {"client_id": deed("count", tag, count["at"])},
            at=loading.time(count["at"]),
            by=loading.users[count["by"]],
            tag=tag,
            line=loading.lines[tag],
            place=count["place"],
        )


def _look(loading, walk, place, row, by):
    stay = loading.stays[place]
    look = ensure(
        Look,
        {"client_id": deed("look", place, row["at"])},
        round=walk,
        berth=stay.berth,
        stay=stay,
        mark=row["mark"],
        words=row.get("words", ""),
        at=loading.time(row["at"]),
        by=by,
    )
    for seen in row.get("sightings", []):
        ensure(
            Sighting,
            {"client_id": deed("sighting", place, row["at"], seen["position"])},
            at=look.at + timedelta(minutes=1),
            by=by,
            tag=seen.get("tag", ""),
            line=loading.lines.get(seen.get("tag")),
            berth=stay.berth,
            stay=stay,
            look=look,
            position=loading.positions[place, seen["position"]],
            diameter_found_mm=millimetres(seen.get("diameter_mm")),
            length_found=metres(seen.get("length")),
            material=seen.get("material", ""),
            description=seen["description"],
        )
