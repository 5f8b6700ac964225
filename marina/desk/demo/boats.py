"""Owners, sign-ins and vessels of the invented harbour; heights by class, marked as estimated."""

from marina.base.models import User
from marina.desk.demo.rows import data, ensure, metres
from vessels import hull
from vessels.models import DeckFitting, GearZone, Owner, Vessel

FENDERS = (0.15, 0.20, 0.25, 0.30)  # m, diameters that are sold
BOAT_LENGTHS_PER_FENDER = 54  # 1 in of diameter per 4.5 ft: Boating, 2018 (R-FEND-1)
CLEATS = ((10, 0.20, 15_000), (12, 0.25, 20_000), (14, 0.30, 28_000), (16, 0.35, 40_000))  # by rope, mm; m; N


def load_people(loading):
    """Sign-ins, which get their passwords in `signins`, and owners."""
    people = data("owners")
    for name, row in people["sign_ins"].items():
        user = User.objects.filter(username=name).first()
        if user is None:
            user = User(username=name, role=row["role"], first_name=row["shown"])
            user.set_unusable_password()
            user.full_clean()
            user.save()
        loading.users[name] = loading.users[row["shown"]] = user
    signs_in = {row["owner"]: name for name, row in people["sign_ins"].items() if "owner" in row}
    for code, name in people["owners"].items():
        user = loading.users.get(signs_in.get(code))
        loading.owners[code] = ensure(Owner, {"name": name}, user=user, note="invented")


def load_boats(loading):
    """Every boat of the data."""
    for row in data("boats")["boats"]:
        loading.vessels[row["name"]] = load_boat(loading, row)


def load_boat(loading, row):
    """One vessel with her deck fittings and gear zones."""
    kind = data("boats")["classes"][row["class"]]
    told, looked = row["declared"], row.get("measured")
    hull_length = told["loa"]
    aft = row.get("aft", {}).get("length", 0.0)
    deck = round(kind["deck"][0] + kind["deck"][1] * hull_length, 2)
    owner = loading.owners.get(row.get("owner"))
    told_by = owner.name if owner else "her skipper"
    air_draft = round(kind["air_draft"][0] + kind["air_draft"][1] * hull_length, 1)
    vessel = ensure(
        Vessel,
        {"name": row["name"]},
        mark=row["mark"],
        owner=owner,
        contact=row.get("visitor", {}).get("contact", ""),
        hull_class=row["class"],
        **_told("declared", told, told_by, loading),
        **(_measured(looked, loading) if looked else {}),
        hull_length=metres(hull_length) if looked else None,
        registered_length=metres(hull_length) if looked else None,
        displacement=round(row["displacement"] * 1000, 1),
        air_draft=metres(air_draft),
        mast_x=metres(round(aft + kind["mast"] * hull_length, 2)),
        spreader_height=metres(round(kind["spreaders"] * air_draft, 1)),
        rub_low=metres(0.30),
        rub_high=metres(deck),
        freeboard_estimated=True,
        hull_gap=metres(row.get("hull_gap")),
        gm=metres(kind["gm"]),
        takes_ground=row.get("takes_ground", False),
        outline=_outline(row, hull_length),
        inlet_side=row["inlet"],
        inlet_x=metres(round(aft + kind["inlet"] * hull_length, 2)),
        inlet_z=metres(round(deck + 0.1, 2)),
        propellers=row.get("propellers", "single"),
        propeller_turn=row.get("turn", "right"),
        thruster=row.get("thruster", "none"),
        **_fenders(hull_length, deck),
        own_lines=row.get("own_lines"),
        note="invented",
    )
    _deck_fittings(vessel, row, kind, aft, deck)
    _zones(vessel, row, kind, aft)
    return vessel


def _told(how, row, by, loading):
    """Length, beam and draft as somebody gave them, with who and when."""
    on = loading.day(row["day"])
    values = {}
    for field, given in (("loa", row["loa"]), ("beam", row["beam"]), ("draft", row["draft"])):
        values |= {f"{field}_{how}": metres(given), f"{field}_{how}_on": on, f"{field}_{how}_by": by}
    return values


def _measured(row, loading):
    """Length and beam over everything, as a hand measured them; nobody has measured a draft."""
    on, values = loading.day(row["day"]), {}
    for field in ("loa", "beam"):
        values |= {
            f"{field}_measured": metres(row[field]),
            f"{field}_measured_on": on,
            f"{field}_measured_by": row["by"],
        }
    return values


def _outline(row, hull_length):
    """Port half of her outline where something sticks out of the hull; else none: the class's is taken.

    A bowsprit or anchor is a point ahead of the bow; a platform, dinghy or tilted drive is as broad as four
    fifths of her stern.
    """
    aft, fore = (row.get(end, {}).get("length", 0.0) for end in ("aft", "fore"))
    if not aft and not fore:
        return None
    bare = hull.outline(hull_length, row["declared"]["beam"], hull.CLASS_OF[row["class"]])
    points = [[round(x + aft, 3), round(y, 3)] for x, y in bare]
    if aft:
        points.insert(0, [0.0, round(0.8 * points[0][1], 3)])
    if fore:
        points.append([round(aft + hull_length + fore, 3), 0.0])
    return points


def _fenders(hull_length, deck):
    """Three or more fenders, their middle where docks touch; a board across two of them."""
    diameter = next((d for d in FENDERS if d >= hull_length / BOAT_LENGTHS_PER_FENDER), FENDERS[-1])
    return {
        "fender_diameter": metres(diameter),
        "fender_number": max(3, round(hull_length / 3)),
        "fender_low": metres(0.15),
        "fender_high": metres(max(0.75, deck)),
        "fender_board": True,
    }


def _deck_fittings(vessel, row, kind, aft, deck):
    measured = row.get("fittings", {})
    hull_length, beam = row["declared"]["loa"], row["declared"]["beam"]
    _, length, strength = next((c for c in CLEATS if hull_length <= c[0] * 0.864), CLEATS[-1])
    for laid_out in hull.fittings(hull_length, beam):
        place = laid_out["id"].split("_")[0]
        height = round(deck * (kind["bow"] if place == "bow" else 1.0), 2)
        seen = measured.get(laid_out["id"], {})
        ensure(
            DeckFitting,
            {"vessel": vessel, "code": laid_out["id"]},
            x=metres(seen.get("x", round(laid_out["x"] + aft, 3))),
            y=metres(seen.get("y", round(laid_out["y"], 3))),
            z=metres(seen.get("z", height)),
            z_estimated="z" not in seen,
            strength=strength,
            strength_basis="her builder's word (invented)",
            cleat_length=metres(length),
            takes=2,
        )


def _zones(vessel, row, kind, aft):
    """Gear that lines keep clear of; a pair where its middle is off the centreline."""
    zones = [
        (name, aft + x1 * row["declared"]["loa"], aft + x2 * row["declared"]["loa"], width)
        for name, x1, x2, width in kind["zones"]
    ] + [tuple(zone) for zone in row.get("aft_gear", [])]
    for name, x1, x2, width in zones:
        middles, half = ((0.0,), width) if not isinstance(width, list) else ((width[0], -width[0]), width[1])
        for middle in middles:
            side = {1: " port", -1: " starboard", 0: ""}[(middle > 0) - (middle < 0)]
            ensure(
                GearZone,
                {"vessel": vessel, "code": f"{name}{side}"},
                kind=name,
                x1=metres(round(x1, 3)),
                x2=metres(round(x2, 3)),
                y1=metres(round(middle - half, 3)),
                y2=metres(round(middle + half, 3)),
            )
