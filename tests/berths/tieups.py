"""Tie-ups made by hand, for drawings and cards: a slip, a fixed dock and a floating one to lie alongside."""

from datetime import UTC, datetime, timedelta

from berths.tieup import scenario, verdict

NOON = datetime(2027, 10, 14, 16, 0, tzinfo=UTC)
SAIL = [[0, 1.2], [2, 1.5], [5, 1.75], [8, 1.4], [10, 0.6], [11, 0]]


def boat(**changes):
    data = {"loa": 11.0, "beam": 3.5, "draft": 1.8, "x": 6.1, "y": 0.0, "heading_deg": 0, "outline": SAIL}
    data |= {
        "rub_low": 0.3,
        "rub_high": 1.1,
        "fenders": {"number": 4, "low": 0.3, "high": 0.9, "diameter": 0.2},
    }
    return data | changes


def water(**changes):
    curve = [
        [(NOON + timedelta(hours=h)).isoformat(), z] for h, z in ((0, 0.9), (6, 2.3), (12.5, 0.41), (18, 2.4))
    ]
    data = {"low": 0.41, "high": 2.4, "range": 2.0, "surge_down": 0.3, "surge_up": 0.6, "now": 0.9}
    return data | {"datum": "chart datum", "curve": curve} | changes


def slip(**changes):
    fittings = [
        {"id": "D1", "kind": "cleat", "x": 0, "y": 1.7, "z": 3.7, "floats": False, "strength": 25000},
        {"id": "D2", "kind": "cleat", "x": 0, "y": -1.7, "z": 3.7, "floats": False, "strength": 25000},
        {
            "id": "P1",
            "kind": "pile",
            "x": 5.5,
            "y": 2.4,
            "z": 2.6,
            "diameter": 0.3,
            "top_z": 4.6,
            "floats": False,
        },
        {
            "id": "P2",
            "kind": "pile",
            "x": 5.5,
            "y": -2.4,
            "z": 2.6,
            "diameter": 0.3,
            "top_z": 4.6,
            "floats": False,
        },
        {
            "id": "P3",
            "kind": "pile",
            "x": 12.6,
            "y": 2.4,
            "z": 2.6,
            "diameter": 0.3,
            "top_z": 4.6,
            "floats": False,
        },
        {
            "id": "P4",
            "kind": "pile",
            "x": 12.6,
            "y": -2.4,
            "z": 2.6,
            "diameter": 0.3,
            "top_z": 4.6,
            "floats": False,
        },
    ]
    face = {
        "id": "dock",
        "x1": 0,
        "y1": -3,
        "x2": 0,
        "y2": 3,
        "top_z": 3.7,
        "underside_z": 1.2,
        "floats": False,
    }
    beside = [[p[0] + 0.6, p[1] + 4.8] for p in (*SAIL, (10, -0.6), (8, -1.4), (2, -1.5), (0, -1.2))]
    data = {
        "version": 1,
        "berth": {
            "kind": "slip",
            "bearing_deg": 230,
            "length": 11,
            "clear_width": 4.4,
            "bed_z": -0.8,
            "fittings": fittings,
            "faces": [face],
            "neighbours": [{"id": "B2", "outline": beside}],
        },
        "boat": boat(),
        "water": water(),
    }
    return scenario.from_data(data | changes)


def alongside(kind="fixed", **changes):
    """Starboard side to, her bow to the right as one stands on the dock."""
    floats = kind == "floating"
    height = 0.5 if floats else 3.5
    fittings = [
        {"id": f"C{n}", "kind": "cleat", "x": x, "y": 0.0, "z": height, "floats": floats}
        for n, x in enumerate((0.5, 4.0, 7.5, 11.0, 14.0), start=1)
    ]
    face = {"id": "dock", "x1": 0, "y1": 0, "x2": 15, "y2": 0, "top_z": height, "floats": floats}
    if not floats:
        face["underside_z"] = 1.0
        fittings += [
            {
                "id": f"P{n}",
                "kind": "pile",
                "x": x,
                "y": -0.15,
                "z": 2.8,
                "diameter": 0.3,
                "top_z": 5.2,
                "floats": False,
            }
            for n, x in enumerate((0.5, 4.0, 7.5, 11.0, 14.0), start=1)
        ]
    berth = {
        "kind": kind,
        "bearing_deg": 90,
        "length": 14,
        "bed_z": -2.4,
        "fittings": fittings,
        "faces": [face],
    }
    if floats:
        berth |= {"guide_pile_top_z": 4.4, "hoop_height": 0.5}
    data = {"version": 1, "berth": berth, "boat": boat(x=6.8, y=1.95, side_to="starboard"), "water": water()}
    return scenario.from_data(data | changes)


def line(order, role, *ends, length=3.8, **more):
    """`ends`: fitting aboard, fastening ashore, where it leads, what it stops."""
    aboard, ashore, leads, stops = ends
    data = {"id": f"L{order}", "order": order, "role": role, "boat_fitting": aboard, "shore_fitting": ashore}
    data |= {"leads": leads, "stops": stops, "card_length": length, "working_length": length and length + 0.1}
    return verdict.LineResult(**data | more)


def answer(lines, flags=(), **summary):
    data = {"answer": "holds", "low": 0.41, "high": 2.4, "surge_down": 0.3, "surge_up": 0.6} | summary
    return verdict.Verdict(sort="planned", summary=data, lines=lines, flags=list(flags))


def slip_lines():
    return [
        line(
            1,
            "spring",
            "mid_starboard",
            "P4",
            "forward",
            "going back",
            length=7.2,
            tag="WH-044",
            slack_now=0.1,
        ),
        line(2, "stern", "stern_port", "D2", "aft", "going ahead", length=3.8, crossed=True),
        line(3, "stern", "stern_starboard", "D1", "aft", "going ahead", length=3.8, crossed=True),
        line(4, "spring", "mid_port", "P3", "forward", "going back", length=7.2),
        line(5, "bow", "bow_port", "P3", "forward", "going back", length=2.95),
        line(6, "bow", "bow_starboard", "P4", "forward", "going back", length=2.95),
    ]


def alongside_lines():
    return [
        line(1, "spring", "mid_starboard", "C1", "aft", "going ahead", length=5.4),
        line(2, "stern", "stern_starboard", "C1", "aft", "going ahead", length=1.6),
        line(3, "bow", "bow_starboard", "C5", "forward", "going back", length=3.7),
        line(4, "spring", "stern_starboard", "C4", "forward", "going back", length=9.0),
    ]


def slip_answer(flags=(), **summary):
    return answer(slip_lines(), flags, peak_line="L2", reach=(0.3, -2.1, 12.0, 2.1), **summary)


def alongside_answer(flags=(), **summary):
    return answer(alongside_lines(), flags, peak_line="L4", reach=(0.5, 0.1, 13.0, 4.6), **summary)
