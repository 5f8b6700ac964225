"""Waters, piers, berths, fastenings and faces of the invented harbour."""

from berths.models import (
    Berth,
    BerthFace,
    BerthFastening,
    Face,
    Fastening,
    Notice,
    Pier,
    Reading,
    Water,
)
from marina.desk.demo.plan import Edge, Spot
from marina.desk.demo.rows import data, deed, ensure, metres

LETTER = {"pile": "P", "cleat": "D", "ring": "R", "bollard": "B", "laid_line": "L"}


def load_waters(loading):
    """The sea and the basin, with what was announced and read."""
    sea, basin = data("water")["sea"], data("water")["basin"]
    station = {
        "id": "own",
        "name": sea["name"],
        "chart_datum": sea["datum"],
        "msl_above_datum": sea["mean_level"],
        "datums": {"LAT": sea["lat"], "HAT": sea["hat"]},
        "constituents": sea["constituents"],
    }
    loading.waters["sea"] = _water(
        loading, sea, kind="constants", station=station, low=metres(sea["lat"]), high=metres(sea["hat"])
    )
    gate = basin["gate"]
    low, high = basin["limits"]
    loading.waters["basin"] = water = _water(
        loading,
        basin,
        kind="limits",
        low=metres(low),
        high=metres(high),
        outer=loading.waters[gate["outer"]],
        sill_z=metres(gate["sill"]),
        passes_above=metres(gate["passes_above"]),
        holds_to=metres(gate["holds_to"]),
    )
    for row in basin["readings"]:
        key = {"client_id": deed("reading", row["at"])}
        ensure(
            Reading,
            key,
            water=water,
            at=loading.time(row["at"]),
            level=metres(row["level"]),
            by=loading.users[row["by"]],
        )
    for row in basin["notices"]:
        low, high = row["limits"]
        ensure(
            Notice,
            {"water": water, "starts": loading.time(row["from"])},
            low=metres(low),
            high=metres(high),
            published=loading.day(row["given_on"]),
            reason=row["reason"],
        )


def _water(loading, row, **values):
    surge, storm = row["surge"], row["storm_surge"]
    return ensure(
        Water,
        {"name": row["name"]},
        datum=row["datum"],
        surge_up=metres(surge["up"]),
        surge_down=metres(surge["down"]),
        surge_reason=surge["reason"],
        surge_by="harbourmaster",
        surge_on=loading.day("2027-01-11"),
        storm_up=metres(storm["up"]),
        storm_down=metres(storm["down"]),
        storm_reason=storm["reason"],
        **values,
    )


def load_berths(loading):
    """All groups of berths with what they share."""
    survey = data("piers_berths")
    piers = {
        name: ensure(Pier, {"name": name}, walking_order=order)
        for order, name in enumerate(survey["piers"], 1)
    }
    edges = {name: Edge(**row) for name, row in survey["edges"].items()}
    walked = {code: order for order, code in enumerate(survey["walking_order"], 1)}
    spots = {}
    for group in survey["groups"]:
        for code, own in group["berths"].items():
            row = group["berth"] | own
            spot = Spot(edges[group["edge"]], row["at"], row["kind"])
            spots[code] = spot
            loading.berths[code] = _berth(loading, code, row, spot, group, piers[group["pier"]], walked[code])
    for group in survey["groups"]:
        _own_fastenings(loading, group, spots, survey["surveyed"])
        _faces(loading, group, edges[group["edge"]], spots)
    for name, edge in edges.items():
        groups = [g for g in survey["groups"] if g["edge"] == name]
        _shared_fastenings(loading, groups, edge, name, spots, survey["surveyed"])


def _berth(loading, code, row, spot, group, pier, order):
    east, north = spot.plan(0, 0)
    power_x, power_y, power_z, lead = row["power"]
    power_east, power_north = spot.plan(power_x, power_y)
    gangway, hinge = row.get("gangway", (None, None))
    return ensure(
        Berth,
        {"code": code},
        pier=pier,
        water=loading.waters[row["water"]],
        kind=row["kind"],
        walking_order=order,
        east=east,
        north=north,
        bearing_deg=spot.bearing,
        length=metres(row["length"]),
        overhang=metres(row["overhang"]),
        clear_width=metres(row.get("clear_width")),
        finger_length=metres(row.get("finger_length")),
        bed_z=metres(row["bed"]),
        bed_kind=row["bed_kind"],
        sounded_on=loading.day(row["sounded"]),
        sounded_by="hand 1",
        exposure=row["exposure"],
        guide_pile_top_z=metres(row.get("guide_pile_top")),
        hoop_height=metres(row.get("hoop")),
        edge_z=metres(row.get("edge_z")),
        gangway_length=metres(gangway),
        gangway_hinge_z=metres(hinge),
        power_east=power_east,
        power_north=power_north,
        power_z=metres(power_z),
        power_lead=metres(lead),
        ladders=[  # they stand back in the face, behind the line of its piles: no boat and no line lies on them
            {"id": f"ladder {i}", "x1": x1, "x2": x2, "y1": -0.45, "y2": -0.15}
            for i, (x1, x2) in enumerate(group.get("ladders", []), 1)
        ],
        raft_depth=row.get("raft_depth", 1),
        note=row.get("note", ""),
    )


# --- fastenings ---


def _fastening(loading, label, row, place, surveyed, lacks=(), checked=None):
    east, north = place
    low_turn, high_turn = row.get("turns", (None, None))
    known = "strength" not in lacks
    looked_at = checked or surveyed
    return ensure(
        Fastening,
        {"label": label},
        kind=row["kind"],
        east=east,
        north=north,
        z=metres(row["z"]),
        floats=row.get("floats", False),
        diameter=metres(row.get("diameter")),
        cleat_length=metres(row.get("cleat_length")),
        top_z=metres(row.get("top")),
        stop=row.get("stop", ""),
        low_turn_z=metres(low_turn),
        high_turn_z=metres(high_turn),
        takes=row.get("takes", 2),
        strength=row["strength"] if known else None,
        strength_basis=surveyed["strength"] if known else "",
        condition="sound",
        last_checked=None if "last_checked" in lacks else loading.day(looked_at["day"]),
        checked_by="" if "last_checked" in lacks else looked_at["by"],
    )


def _own_fastenings(loading, group, spots, surveyed):
    """What each berth of a group has for itself."""
    for code in group["berths"]:
        lacks, checked = group.get("not_known", {}).get(code, {}), group.get("checked", {}).get(code, {})
        for name, row in group.get("each", {}).items():
            place = spots[code].plan(*row["at"])
            fastening = _fastening(
                loading, f"{code}/{name}", row, place, surveyed, lacks.get(name, ()), checked.get(name)
            )
            key = {"berth": loading.berths[code], "fastening": fastening}
            ensure(BerthFastening, key, code=name, words=row["words"])


def _shared_fastenings(loading, groups, edge, name, spots, surveyed):
    """The rows along one edge: each fastening once; every berth takes those within its reach, in order of x."""
    rows = []
    for group in groups:
        for row in group.get("row", []):
            for s in _places(row["s"]):
                rows.append((row["kind"], s, row["t"], row))
    rows.sort(key=lambda r: (r[2], r[1]))
    numbers, made = {}, []
    for kind, s, t, row in rows:
        numbers[kind] = numbers.get(kind, 0) + 1
        label = f"{name.replace('_', ' ')} {LETTER[kind]}{numbers[kind]}"
        made.append((s, t, row, _fastening(loading, label, row, edge.plan(s, t), surveyed)))
    for group in groups:
        for code, own in group["berths"].items():
            reach = own.get("reach", group.get("reach"))
            if reach:
                _name_within_reach(loading.berths[code], spots[code], reach, made)


def _places(given):
    if isinstance(given, list):
        return given
    number = round((given["to"] - given["from"]) / given["every"]) + 1
    return [round(given["from"] + i * given["every"], 3) for i in range(number)]


def _name_within_reach(berth, spot, reach, made):
    (x1, x2), (y1, y2) = (reach["x"], reach["y"]) if spot.end_on else (reach, (-2.0, 2.0))
    near = []
    for s, t, row, fastening in made:
        x, y = spot.of_edge(s, t)
        if x1 <= x <= x2 and y1 <= y <= y2:
            near.append((x, y, row, fastening))
    numbers = {}
    for _, y, row, fastening in sorted(near, key=lambda n: n[:2]):
        letter = LETTER[row["kind"]]
        numbers[letter] = numbers.get(letter, 0) + 1
        side = f", {'east' if y > 0 else 'west'} side" if spot.end_on else ""
        words = f"{row['words']}{side}" if "words" in row else f"{row['kind']} {numbers[letter]}"
        key = {"berth": berth, "fastening": fastening}
        ensure(BerthFastening, key, code=f"{letter}{numbers[letter]}", words=words)


# --- faces ---


def _faces(loading, group, edge, spots):
    for row in group.get("faces", []):
        ends = [edge.plan(row["from"], 0.0), edge.plan(row["to"], 0.0)]
        face = _face(f"{group['edge'].replace('_', ' ')} {row['code']}", row, ends)
        for code in group["berths"]:
            ensure(BerthFace, {"berth": loading.berths[code], "face": face}, code=row["code"])
    if fingers := group.get("fingers"):
        _fingers(loading, group, fingers, edge, spots)


def _fingers(loading, group, fingers, edge, spots):
    """Both long sides of each finger; a berth has those that look into it."""
    for number, s in enumerate(fingers["s"], 1):
        for side in (-1, 1):
            at = s + side * fingers["width"] / 2
            ends = [edge.plan(at, 0.0), edge.plan(at, fingers["length"])]
            face = _face(
                f"{group['edge']} finger {number} {'near' if side < 0 else 'far'} side", fingers, ends
            )
            for code in group["berths"]:
                _, y = spots[code].of_edge(at, 0.0)
                looks_in = abs(y) < 4.0 and y * side > 0
                if looks_in:
                    name = f"finger {'east' if y > 0 else 'west'}"
                    ensure(BerthFace, {"berth": loading.berths[code], "face": face}, code=name)


def _face(label, row, ends):
    (east1, north1), (east2, north2) = ends
    return ensure(
        Face,
        {"label": label},
        east1=east1,
        north1=north1,
        east2=east2,
        north2=north2,
        top_z=metres(row["top"]),
        underside_z=metres(row["underside"]),
        floats=row.get("floats", False),
        continuous=row["continuous"],
        sharp=row["sharp"],
        fender_stiffness=50_000,
        fender_give=metres(row.get("fender_give", 0.12)),
    )
