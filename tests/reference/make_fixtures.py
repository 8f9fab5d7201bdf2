"""Writes the fixtures: one good work, and bad ones that each break a single rule.

    python make_fixtures.py [FOLDER]

Positions are worked out here by hand and round volumes by quadrature, so that
nothing is taken from the checker that the fixtures try.
"""

import copy
import functools
import json
import math
import os
import sys

import lined_fixtures

UNIT = (240, 115, 71)
JOINT, BED = 10, 12
GAUGE = UNIT[2] + BED


def z_of(course):
    return BED + (course - 1) * GAUGE


def box(x, y, z, length, width, height):
    return dict(x=x, y=y, z=z, length=length, width=width, height=height)


def piece(part, course, x, y, length=240, width=115, turn=0, role="stretcher", cut=None):
    return dict(
        part=part, course=course, role=role, unit="nf",
        **box(x, y, z_of(course), length, width, 71),
        turn=turn, cut=cut, bites=[], notch=None, finished_ends=1 if cut else 2,
    )


# A ring of twelve headers: 2 × 234 sin 15° − 115 cos 15° = 10.05 mm of mortar between them inside.
ROUND, INNER, MIDDLE = 12, 234, (3000, 600)


def prism(course, at, inner_width, outer_width, low):
    turn = 360 / ROUND
    return {
        "plane": "level", "centre": list(MIDDLE), "angle": turn * (at + course % 2 / 2),
        "inner": INNER, "outer": INNER + UNIT[0],
        "inner_width": inner_width, "outer_width": outer_width,
        "depth": [low, z_of(course) + UNIT[2]],
    }


def bay(course, at):
    half = math.tan(math.pi / ROUND)
    faces = (round(2 * radius * half, 6) for radius in (INNER, INNER + UNIT[0]))
    return prism(course, at, *faces, (course - 1) * GAUGE)


def corner(turned):
    """Of the box round it, the smallest x and y."""
    turn = math.radians(turned["angle"])
    found = []
    for out, width in ((turned["inner"], "inner_width"), (turned["outer"], "outer_width")):
        for across in (-turned[width] / 2, turned[width] / 2):
            found.append((
                MIDDLE[0] + out * math.cos(turn) - across * math.sin(turn),
                MIDDLE[1] + out * math.sin(turn) + across * math.cos(turn),
            ))
    return [round(min(place), 6) for place in zip(*found)]


def turned_piece(course, at):
    turned = prism(course, at, UNIT[1], UNIT[1], z_of(course))
    made = piece("ring", course, *corner(turned), role="header")
    made["turned"] = turned
    return made


# A half circle of twelve voussoirs on edge: 2 × 300 tan 7.5° − 71 = 7.99 mm of mortar between them at the soffit.
VOUSSOIRS, SOFFIT, CROWN = 12, 300, (5000, GAUGE)


def shape(p, turn, inner=SOFFIT, outer=SOFFIT + UNIT[0]):
    """Stands a voussoir between two radii, its middle line turned by so many degrees from level."""
    turn, half = math.radians(turn), UNIT[2] / 2
    corners = [
        [
            round(CROWN[0] + out * math.cos(turn) - across * math.sin(turn), 6),
            round(CROWN[1] + out * math.sin(turn) + across * math.cos(turn), 6),
        ]
        for out, across in ((inner, -half), (outer, -half), (outer, half), (inner, half))
    ]
    p["prism"] = {"axis": "x", "corners": corners, "depth": [-2000, -2000 + UNIT[1]], "tapered": False}
    p["x"], p["z"] = (min(places) for places in zip(*corners))


def half_circle(radius):
    return {
        "middle": CROWN[0], "bottom": CROWN[1], "bottom_half": radius,
        "shoulder": CROWN[1], "shoulder_half": radius, "circle": {"z": CROWN[1], "radius": radius},
    }


def arched_pieces():
    """Voussoirs, the jambs under them, and a piece on either side that is cut to the arch with 10 mm to spare."""
    found = []
    for i in range(VOUSSOIRS):
        p = piece("arch", 2, 0, -2000, role="voussoir")
        shape(p, 180 / VOUSSOIRS * (i + 0.5))
        found.append(p)
    found += [piece("arch", 1, x, -2000) for x in (4460, 5300)]
    for x in (4230, 5530):
        p = piece("arch", 2, x, -2000, cut={"kind": "rake"})
        p["rakes"] = [half_circle(SOFFIT + UNIT[0] + 10)]
        found.append(p)
    return found


def in_arch(work, role):
    return [p for p in work["pieces"] if p["part"] == "arch" and p["role"] == role]


def settle(p):
    p["x"], p["y"] = corner(p["turned"])
    p["z"] = p["turned"]["depth"][0]


def of_ring(work, course):
    return [p for p in work["pieces"] if p["part"] == "ring" and p["course"] == course]


def cubic(b):
    if "prism" in b:
        (x0, z0), (x1, z1), (x2, z2), (x3, z3) = b["prism"]["corners"]
        area = x0 * z1 - x1 * z0 + x1 * z2 - x2 * z1 + x2 * z3 - x3 * z2 + x3 * z0 - x0 * z3
        return area / 2 * (b["prism"]["depth"][1] - b["prism"]["depth"][0])
    b = b.get("turned", b)
    if "corners" in b:
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = b["corners"]
        area = x0 * y1 - x1 * y0 + x1 * y2 - x2 * y1 + x2 * y3 - x3 * y2 + x3 * y0 - x0 * y3
        return area / 2 * (b["depth"][1] - b["depth"][0])
    if "plane" in b:
        faces = b["inner_width"] + b["outer_width"]
        return faces / 2 * (b["outer"] - b["inner"]) * (b["depth"][1] - b["depth"][0])
    return b["length"] * b["width"] * b["height"]


@functools.lru_cache(maxsize=None)
def round_in_rectangle(a0, z0, a1, z1, a, z, r, steps=200_000):
    """Area of a circle in a rectangle by the midpoint rule over angles."""
    low, high = max(a0 - a, -r), min(a1 - a, r)
    if low >= high:
        return 0.0
    # Angles instead of abscissae tame the steep ends of the arc.
    t0, t1 = math.asin(low / r), math.asin(high / r)
    step = (t1 - t0) / steps
    total = 0.0
    for i in range(steps):
        t = t0 + (i + 0.5) * step
        arc = r * math.cos(t)
        total += max(0.0, min(arc, z1 - z) - max(-arc, z0 - z)) * arc
    return total * step


def bitten(p):
    total = 0.0
    for bite in p["bites"]:
        along, across = (p["width"], p["length"]) if p["turn"] else (p["length"], p["width"])
        start, reach, through = (
            (p["y"], across, along) if bite["axis"] == "x" else (p["x"], along, across)
        )
        a, z = bite["centre"]
        total += through * round_in_rectangle(
            start, p["z"], start + reach, p["z"] + p["height"], a, z, bite["radius"]
        )
    # Of half circles only, over their springing.
    for rake in p.get("rakes", ()):
        z, radius = rake["circle"]["z"], rake["circle"]["radius"]
        total += p["width"] * round_in_rectangle(
            p["x"], max(p["z"], z), p["x"] + p["length"], p["z"] + p["height"],
            rake["middle"], z, radius,
        )
    return total


def set_mortar(work):
    """Envelope less everything, for voids that do not meet."""
    for part in work["parts"]:
        total = sum(map(cubic, part["envelope"]))
        for p in work["pieces"]:
            if p["part"] == part["name"]:
                total -= cubic(p) - bitten(p)
                if p["notch"]:
                    total += cubic(p["notch"])
        for b in work["bodies"]:
            if b["part"] == part["name"]:
                total -= cubic(b)
        for v in work["voids"]:
            if v["part"] != part["name"]:
                continue
            if v["shape"] in ("box", "bay"):
                total -= cubic(v)
            elif v["shape"] == "profile":
                radius = v["profile"]["circle"]["radius"]
                total -= math.pi / 2 * radius ** 2 * (v["to"] - v["from"])
            else:
                total -= math.pi * v["radius"] ** 2 * (v["to"] - v["from"])
        part["mortar_mm3"] = round(total, 4)


def good():
    pieces = []
    # A chamber three units square, five courses high; the walls take turns at corners.
    for course in range(1, 6):
        odd = course % 2 == 1
        long, short = (0, 250, 500), (125, 375)
        for y in (0, 625):
            pieces += [piece("cabinet", course, x, y) for x in (long if odd else short)]
        for x in (0, 625):
            pieces += [piece("cabinet", course, x, y, turn=90) for y in (short if odd else long)]

    def find(course, x, y):
        return next(p for p in pieces if (p["course"], p["x"], p["y"]) == (course, x, y))

    # A door in front, a lintel over it that is let into the next course.
    pieces.remove(find(1, 250, 0))
    for x in (125, 375):
        p = find(2, x, 0)
        p["notch"] = box(max(x, 140), 10, z_of(2), min(x + 240, 600) - max(x, 140), 95, 8)
        p["cut"] = {"kind": "notch"}
    # A vent on the left.
    pieces.remove(find(2, 0, 250))
    for y in (250, 410):
        pieces.append(piece("cabinet", 2, 0, y, length=80, turn=90, cut={"kind": "length"}))
    # A round duct through the back, with 5 mm of mortar round it.
    for course, x in ((3, 250), (4, 125), (4, 375)):
        p = find(course, x, 625)
        p["bites"] = [{"axis": "y", "centre": [370, 255], "radius": 55}]
        p["cut"] = {"kind": "bite"}
    # A ledge header on the right, and the half bat beside it.
    pieces.remove(find(3, 625, 125))
    pieces.append(piece("cabinet", 3, 500, 125, role="header"))
    pieces.append(piece("cabinet", 3, 625, 250, length=115, turn=90, role="bat", cut={"kind": "half"}))
    # A one-unit wall: stretchers below, headers and queen closers above.
    for y in (0, 125):
        pieces += [piece("wall", 1, 2000 + x, y) for x in (0, 250)]
    for x in (0, 437.5):
        pieces.append(piece(
            "wall", 2, 2000 + x, 0, width=52.5, turn=90, role="queen closer", cut={"kind": "split"}
        ))
    pieces += [
        piece("wall", 2, 2000 + x, 0, turn=90, role="header") for x in (62.5, 187.5, 312.5)
    ]

    # A wall a unit and a half thick: headers in front below and behind above, over each other only within.
    for course, headers, face in ((1, 0, 250), (2, 125, 0)):
        pieces += [
            piece("thick", course, 6000 + x, headers, turn=90, role="header")
            for x in (0, 125, 250, 375)
        ]
        pieces += [
            piece("thick", course, 6000, face, length=177.5, cut={"kind": "length"}),
            piece("thick", course, 6187.5, face),
            piece("thick", course, 6437.5, face, length=52.5, cut={"kind": "length"}),
        ]

    pieces += [turned_piece(course, at) for course in (1, 2) for at in range(ROUND)]
    pieces += arched_pieces()

    height = 5 * GAUGE
    work = {
        "schema": "perpend.laid/1",
        "unit_of_length": "mm",
        "plan": "good",
        "units": [
            dict(name="nf", length=240, width=115, height=71),
            dict(name="df", length=240, width=115, height=52),
        ],
        "parts": [
            {
                "name": "cabinet", "kind": "chamber", "least_lap_mm": 60,
                "envelope": [
                    box(0, 0, 0, 740, 115, height), box(0, 625, 0, 740, 115, height),
                    box(0, 115, 0, 115, 510, height), box(625, 115, 0, 115, 510, height),
                    box(500, 125, z_of(3), 125, 115, 71),
                ],
            },
            {
                "name": "wall", "kind": "wall", "least_lap_mm": 60,
                "envelope": [box(2000, 0, 0, 490, 240, 2 * GAUGE)],
            },
            {
                "name": "ring", "kind": "ring", "least_lap_mm": 28.75,
                "envelope": [bay(course, at) for course in (1, 2) for at in range(ROUND)],
            },
            {
                "name": "thick", "kind": "wall", "least_lap_mm": 60,
                "envelope": [box(6000, 0, 0, 490, 365, 2 * GAUGE)],
            },
            {
                "name": "arch", "kind": "wall", "least_lap_mm": 60,
                "envelope": [box(4200, -2000, 0, 1600, 115, 700)],
            },
        ],
        "pieces": pieces,
        "bodies": [dict(
            part="cabinet", name="door", kind="concrete lintel", **box(140, 10, 83, 460, 95, 20)
        )],
        "voids": [
            dict(part="cabinet", name="door", kind="opening", shape="box",
                 **box(240, 0, 0, 260, 115, 83)),
            dict(part="cabinet", name="vent", kind="vent", shape="box",
                 **box(0, 340, z_of(2), 115, 60, 71)),
            {"part": "cabinet", "name": "throat", "kind": "duct", "shape": "cylinder",
             "axis": "y", "centre": [370, 255], "radius": 50, "from": 625, "to": 740},
            dict(part="arch", name="niche", kind="opening", shape="box",
                 **box(4700, -2000, 0, 600, 115, GAUGE)),
            {"part": "arch", "name": "niche", "kind": "opening", "shape": "profile",
             "axis": "x", "profile": half_circle(SOFFIT), "from": -2000, "to": -1885},
        ],
        "breaches": [
            dict(part="cabinet", course=course, code="lap-too-short",
                 x=682.5, y=245, z=z_of(course), figure=0, limit=60)
            for course in (3, 4)
        ],
    }
    set_mortar(work)
    return work


def bar_through_bites(work, width):
    """A flat bar instead of the duct; up to 105 mm wide the bites clear it."""
    work["voids"] = [v for v in work["voids"] if v["shape"] != "cylinder"]
    work["bodies"].append(dict(
        part="cabinet", name="bar", kind="steel bar",
        **box(370 - width / 2, 625, 240, width, 115, 10),
    ))
    set_mortar(work)


BAD = {}


def bad(check, what):
    def keep(change):
        BAD[f"bad_{check}_{what}"] = change
        return change
    return keep


def at(work, part, course, x, y):
    return next(
        p for p in work["pieces"]
        if (p["part"], p["course"], p["x"], p["y"]) == (part, course, x, y)
    )


@bad("shape", "schema")
def _(work):
    work["schema"] = "perpend.laid/2"


@bad("shape", "too_fine")
def _(work):
    work["pieces"][0]["x"] = 0.0000001


@bad("shape", "field_missing")
def _(work):
    del work["pieces"][3]["bites"]


@bad("shape", "unknown_part")
def _(work):
    work["bodies"][0]["part"] = "shed"


@bad("shape", "no_pieces")
def _(work):
    work.update(pieces=[], breaches=[])
    set_mortar(work)


@bad("shape", "turned_corner")
def _(work):
    of_ring(work, 1)[0]["x"] += 1


@bad("shape", "turned_plane")
def _(work):
    of_ring(work, 1)[0]["turned"]["plane"] = "z"


@bad("overlap", "turned")
def _(work):
    # 3° of 238 mm is more than the joint. Its ends are cut, or it would leave the round.
    p = of_ring(work, 2)[5]
    p["turned"]["angle"] += 3
    p["turned"]["inner"] += 4
    p["turned"]["outer"] -= 4
    p["cut"] = {"kind": "length"}
    settle(p)
    set_mortar(work)


@bad("envelope", "turned")
def _(work):
    next(part for part in work["parts"] if part["name"] == "ring")["envelope"].pop()
    set_mortar(work)


@bad("volume", "turned")
def _(work):
    next(part for part in work["parts"] if part["name"] == "ring")["mortar_mm3"] += 5


@bad("laps", "turned")
def _(work):
    # Both courses start alike, so joint stands over joint.
    ring = next(part for part in work["parts"] if part["name"] == "ring")
    for bay in ring["envelope"][ROUND:]:
        bay["angle"] += 180 / ROUND
    for p in of_ring(work, 2):
        p["turned"]["angle"] += 180 / ROUND
        settle(p)


@bad("units", "turned")
def _(work):
    p = of_ring(work, 2)[3]
    p["turned"]["inner_width"] = p["turned"]["outer_width"] = 110
    settle(p)
    set_mortar(work)


@bad("shape", "voussoir_clockwise")
def _(work):
    in_arch(work, "voussoir")[3]["prism"]["corners"].reverse()


@bad("shape", "voussoir_corner")
def _(work):
    in_arch(work, "voussoir")[3]["z"] += 1


@bad("shape", "profile_broken")
def _(work):
    # Its circle no longer meets its sides.
    work["voids"][-1]["profile"]["circle"]["radius"] -= 1


@bad("overlap", "voussoirs")
def _(work):
    # 2° of 300 mm is more than the joint.
    shape(in_arch(work, "voussoir")[4], 180 / VOUSSOIRS * 4.5 + 2)


@bad("overlap", "rake_too_small")
def _(work):
    in_arch(work, "stretcher")[-1]["rakes"] = [half_circle(535)]
    set_mortar(work)


@bad("envelope", "voussoir_outside")
def _(work):
    work["parts"][-1]["envelope"][0]["height"] = CROWN[1] + SOFFIT + UNIT[0] - 10
    set_mortar(work)


@bad("envelope", "profile_outside")
def _(work):
    work["voids"][-1]["to"] += 0.1
    set_mortar(work)


@bad("voids", "voussoir_in_profile")
def _(work):
    p = in_arch(work, "voussoir")[6]
    shape(p, 180 / VOUSSOIRS * 6.5, SOFFIT - 1, SOFFIT + UNIT[0] - 1)


@bad("volume", "profile_too_small")
def _(work):
    work["voids"][-1]["profile"] = half_circle(SOFFIT - 0.001)


@bad("volume", "rake_too_large")
def _(work):
    in_arch(work, "stretcher")[-1]["rakes"] = [half_circle(550.001)]


@bad("units", "voussoir_longer")
def _(work):
    shape(in_arch(work, "voussoir")[2], 180 / VOUSSOIRS * 2.5, outer=SOFFIT + UNIT[0] + 0.1)
    set_mortar(work)


@bad("units", "voussoir_short_but_uncut")
def _(work):
    shape(in_arch(work, "voussoir")[2], 180 / VOUSSOIRS * 2.5, outer=SOFFIT + UNIT[0] - 0.1)
    set_mortar(work)


@bad("overlap", "two_parts")
def _(work):
    # The whole wall moves into the side of the cabinet.
    for thing in work["pieces"] + work["parts"][1]["envelope"]:
        if thing.get("part", "wall") == "wall":
            thing["x"] -= 1265


@bad("overlap", "notch_too_low")
def _(work):
    # The notch is half a millimetre too low.
    at(work, "cabinet", 2, 125, 0)["notch"]["height"] = 7.5
    set_mortar(work)


@bad("overlap", "two_nanometres")
def _(work):
    work["bodies"][0]["x"] = 140.000002


@bad("overlap", "bite_too_small_for_body")
def _(work):
    bar_through_bites(work, 110)


@bad("envelope", "piece_outside")
def _(work):
    at(work, "wall", 2, 2437.5, 0)["x"] += 0.000001


@bad("envelope", "body_outside")
def _(work):
    work["bodies"].append(dict(
        part="wall", name="cap", kind="slab", **box(2000, 0, 2 * GAUGE, 490, 240, 0.000001)
    ))
    set_mortar(work)


@bad("envelope", "box_void_outside")
def _(work):
    work["voids"][1].update(x=-1, length=116)
    set_mortar(work)


@bad("envelope", "round_void_outside")
def _(work):
    work["voids"][2]["to"] = 741
    set_mortar(work)


@bad("envelope", "boxes_overlap")
def _(work):
    work["parts"][0]["envelope"][2].update(y=114.9, width=510.1)
    set_mortar(work)


@bad("voids", "piece_in_vent")
def _(work):
    at(work, "cabinet", 2, 0, 250)["length"] = 91
    set_mortar(work)


@bad("voids", "bite_missing")
def _(work):
    work["voids"].append({
        "part": "cabinet", "name": "wire", "kind": "duct", "shape": "cylinder",
        "axis": "x", "centre": [400, 300], "radius": 2, "from": 0, "to": 115,
    })
    set_mortar(work)


@bad("voids", "bite_too_small")
def _(work):
    at(work, "cabinet", 3, 250, 625)["bites"][0]["radius"] = 49.999
    set_mortar(work)


@bad("voids", "bite_off_centre")
def _(work):
    at(work, "cabinet", 3, 250, 625)["bites"][0]["centre"] = [376, 255]
    set_mortar(work)


@bad("voids", "body_in_opening")
def _(work):
    work["bodies"].append(dict(
        part="cabinet", name="bar", kind="steel bar", **box(230, 10, 75, 280, 20, 8)
    ))
    work["voids"][0]["height"] = 76
    for x in (0, 500):
        at(work, "cabinet", 1, x, 0).update(height=60, cut={"kind": "split"})
    set_mortar(work)


@bad("voids", "of_another_part")
def _(work):
    # The cabinet claims a hollow where the wall has a piece.
    hollow = box(2010, 20, 30, 100, 50, 20)
    work["parts"][0]["envelope"].append(hollow)
    work["voids"].append(dict(part="cabinet", name="niche", kind="opening", shape="box", **hollow))
    set_mortar(work)


@bad("volume", "boxes")
def _(work):
    work["parts"][1]["mortar_mm3"] += 1.5


@bad("volume", "rounds")
def _(work):
    work["parts"][0]["mortar_mm3"] += 1.5


@bad("volume", "crossing_rounds")
def _(work):
    # Two bites that meet can only be judged by solids.
    p = at(work, "cabinet", 3, 250, 625)
    p["bites"].append({"axis": "y", "centre": [400, 255], "radius": 55})
    work["parts"][0]["mortar_mm3"] *= 1.1


@bad("laps", "not_listed")
def _(work):
    work["breaches"].pop()


@bad("laps", "listed_elsewhere")
def _(work):
    # Both faults at once: the joint is not listed and the place holds none.
    work["breaches"][0]["y"] = 247


@bad("laps", "not_real")
def _(work):
    work["breaches"].append(dict(
        part="cabinet", course=5, code="lap-too-short", x=245, y=57.5, z=z_of(5), figure=0, limit=60
    ))


@bad("laps", "wrong_figure")
def _(work):
    work["breaches"][0]["figure"] = 30


@bad("laps", "wrong_limit")
def _(work):
    work["breaches"][0]["limit"] = 50


@bad("laps", "header_bond")
def _(work):
    # 62.5 mm are laid.
    work["parts"][1]["least_lap_mm"] = 62.6


@bad("laps", "thick_wall_face")
def _(work):
    # The stretchers behind end under a joint between headers, where it shows.
    for x in (6000, 6187.5, 6437.5):
        work["pieces"].remove(at(work, "thick", 1, x, 250))
    work["pieces"] += [piece("thick", 1, 6000 + x, 250) for x in (0, 250)]
    set_mortar(work)


@bad("laps", "least_unknown")
def _(work):
    del work["parts"][1]["least_lap_mm"]


@bad("units", "piece_larger")
def _(work):
    at(work, "wall", 1, 2000, 0).update(unit="df", cut={"kind": "length"})


@bad("units", "unknown")
def _(work):
    at(work, "wall", 1, 2000, 0)["unit"] = "xl"


BOW = (1000, 7000, -3000)  # inner radius, and the middle


def curved(work):
    """Two courses of a curved wall: three stretchers, and a stretcher between two half bats that end plumb with them."""
    radius, x, y = BOW
    outer, rows = radius + UNIT[1], []
    corner = lambda width: math.atan2(width / 2, radius)
    half = lambda width: corner(width) + math.asin(10 / 2 / math.hypot(radius, width / 2))
    part = dict(name="bow", kind="wall", least_lap_mm=60, mortar_mm3=0, envelope=[])
    work["parts"].append(part)
    widths = [[240, 240, 240], [115, 240, 240, 115]]
    sweep = 2 * corner(240) + 4 * half(240)
    for course, row in enumerate(widths, 1):
        # The joints of the second course make up what bats and units differ by.
        rest = 2 * corner(115) + 2 * half(115) + 4 * half(240) if course == 2 else sweep
        slack = (sweep - rest) / (2 * (len(row) - 1))
        at = 0.0
        for i, width in enumerate(row):
            before = corner(width) if i == 0 else half(width) + slack
            after = corner(width) if i + 1 == len(row) else half(width) + slack
            at += before
            turn = at
            at += after
            p = piece("bow", course, 0, 0, length=width, cut=None if width == 240 else {"kind": "half bat"})
            p["turned"] = {
                "plane": "level", "centre": [x, y], "angle": math.degrees(turn),
                "inner": radius, "outer": outer, "inner_width": width, "outer_width": width,
                "depth": [z_of(course), z_of(course) + UNIT[2]],
            }
            corners = []
            for out, across, end in (
                (radius, -1, i == 0), (outer, -1, i == 0),
                (outer, 1, i + 1 == len(row)), (radius, 1, i + 1 == len(row)),
            ):
                side = width / 2 if end else out * math.tan(half(width) + slack)
                corners.append([
                    round(x + out * math.cos(turn) - across * side * math.sin(turn), 6),
                    round(y + out * math.sin(turn) + across * side * math.cos(turn), 6),
                ])
            part["envelope"].append({
                "plane": "level", "corners": corners,
                "depth": [(course - 1) * GAUGE, z_of(course) + UNIT[2]],
            })
            places = [
                (
                    x + out * math.cos(turn) - across * math.sin(turn),
                    y + out * math.sin(turn) + across * math.cos(turn),
                )
                for out in (radius, outer) for across in (-width / 2, width / 2)
            ]
            p["x"], p["y"] = (round(min(place), 6) for place in zip(*places))
            rows.append(p)
    work["pieces"] += rows
    set_mortar(work)
    return rows, part


@bad("laps", "curve_ends_apart")
def _(work):
    rows, part = curved(work)
    # The second course without its last bat.
    gone = rows.pop()
    work["pieces"].remove(gone)
    part["envelope"].pop()
    set_mortar(work)


@bad("envelope", "curve_piece_outside")
def _(work):
    rows, part = curved(work)
    # Two bays lose a sliver at the back.
    for bay in part["envelope"][:2]:
        for place in (1, 2):
            out, inner = bay["corners"][place], bay["corners"][3 - place]
            bay["corners"][place] = [
                round(a + (b - a) * 0.01, 6) for a, b in zip(out, inner)
            ]
    set_mortar(work)


@bad("shape", "level_clockwise")
def _(work):
    curved(work)[1]["envelope"][0]["corners"].reverse()


def pierced(work):
    """The curved wall with the middle stretcher of its first course left out; also how to find a jamb of it."""
    rows, part = curved(work)
    radius, x, y = BOW
    gone = rows.pop(1)
    work["pieces"].remove(gone)

    def jamb(piece, side):
        turn = math.radians(piece["turned"]["angle"])
        return [
            [
                round(x + out * math.cos(turn) - side * math.sin(turn), 6),
                round(y + out * math.sin(turn) + side * math.cos(turn), 6),
            ]
            for out in (radius, radius + UNIT[1])
        ]

    low, high = jamb(rows[0], 120), jamb(rows[1], -120)
    # Bays beside it end with their pieces, and what is open goes with the wall.
    part["envelope"][0]["corners"][3], part["envelope"][0]["corners"][2] = low
    part["envelope"][2]["corners"][:2] = high
    bay = {"plane": "level", "corners": [*low, *reversed(high)], "depth": [0, GAUGE]}
    part["envelope"][1] = copy.deepcopy(bay)
    work["voids"].append(dict(part="bow", name="gap", kind="opening", shape="bay", **bay))
    set_mortar(work)
    return part, bay, lambda side: jamb(rows[0], side)


@bad("voids", "bay_entered")
def _(work):
    _, bay, jamb = pierced(work)
    # At its back it reaches 2 mm into a stretcher.
    work["voids"][-1]["corners"][1] = jamb(118)[1]
    set_mortar(work)


@bad("laps", "no_work_at_a_jamb")
def _(work):
    pierced(work)
    # It is told of 20 mm narrower than the work leaves it.
    corners = work["voids"][-1]["corners"]
    for place in (0, 1):
        one, other = corners[place], corners[3 - place]
        share = 20 / math.dist(one, other)
        corners[place] = [round(a + (b - a) * share, 6) for a, b in zip(one, other)]
    set_mortar(work)


@bad("envelope", "bay_left_out")
def _(work):
    del pierced(work)[0]["envelope"][1]
    set_mortar(work)


@bad("laps", "turned_not_real")
def _(work):
    curved(work)
    turn = math.radians(work["pieces"][-1]["turned"]["angle"])
    work["breaches"].append(dict(
        part="bow", course=2, code="lap-too-short", figure=20, limit=60, z=z_of(2),
        x=round(BOW[1] + BOW[0] * math.cos(turn), 6), y=round(BOW[2] + BOW[0] * math.sin(turn), 6),
    ))


def coped(work):
    """A length of wall under a slab that overhangs by 45 mm, with a drip along one side."""
    bed, high = GAUGE, GAUGE + JOINT
    work["parts"].append(dict(
        name="coped", kind="wall", least_lap_mm=60, mortar_mm3=0,
        envelope=[
            box(0, -4000, 0, 490, UNIT[1], GAUGE), box(0, -4000, bed, 490, UNIT[1], JOINT),
            box(-45, -4045, high, 580, UNIT[1] + 90, 50),
        ],
    ))
    work["pieces"] += [piece("coped", 1, x, -4000) for x in (0, 250)]
    drip = box(-45, -4035, high, 580, 10, 8)
    work["bodies"].append(dict(
        part="coped", name="coping", kind="stone coping", grooves=[drip],
        **box(-45, -4045, high, 580, UNIT[1] + 90, 50),
    ))
    work["voids"].append(dict(part="coped", name="drip", kind="drip", shape="box", **drip))
    set_mortar(work)
    # A groove is in its slab: of what is both, only one fills the envelope.
    work["parts"][-1]["mortar_mm3"] += cubic(drip)
    return work["bodies"][-1], work["voids"][-1]


@bad("voids", "drip_not_cut")
def _(work):
    slab, _ = coped(work)
    del slab["grooves"]
    work["parts"][-1]["mortar_mm3"] -= cubic(work["voids"][-1])


@bad("volume", "groove_filled")
def _(work):
    coped(work)
    del work["voids"][-1]


@bad("shape", "groove_beside_slab")
def _(work):
    slab, drip = coped(work)
    slab["grooves"][0]["y"] -= 11


@bad("envelope", "overhang_left_out")
def _(work):
    slab, _ = coped(work)
    work["parts"][-1]["envelope"][2] = box(0, -4000, slab["z"], 490, UNIT[1], 50)
    work["parts"][-1]["mortar_mm3"] -= (580 * 205 - 490 * 115) * 50


@bad("units", "soldier_lying")
def _(work):
    # Three soldiers over a course of stretchers and under another whose joints lie over theirs; one is called a rowlock.
    work["parts"].append(dict(
        name="kerb", kind="wall", least_lap_mm=60, mortar_mm3=0,
        envelope=[box(0, -3000, 0, 490, UNIT[1], 2 * GAUGE + BED + UNIT[0])],
    ))
    for course in (1, 3):
        work["pieces"] += [piece("kerb", course, x, -3000) for x in (0, 250)]
    for p in work["pieces"][-2:]:
        p["z"] = GAUGE + 2 * BED + UNIT[0]
    for x in (0, 83, 166, 249, 332, 415):
        p = piece("kerb", 2, x, -3000, length=UNIT[2], role="soldier")
        p["height"] = UNIT[0]
        work["pieces"].append(p)
    work["pieces"][-1]["role"] = "rowlock"
    set_mortar(work)


@bad("units", "short_but_uncut")
def _(work):
    at(work, "cabinet", 2, 0, 250)["cut"] = None


@bad("courses", "not_level")
def _(work):
    at(work, "cabinet", 4, 625, 250)["z"] += 0.000001


@bad("courses", "not_ascending")
def _(work):
    for p in work["pieces"]:
        if p["part"] == "wall":
            p["course"] = 3 - p["course"]


@bad("courses", "gap_below_zero")
def _(work):
    # A nanometre is no overlap worth the name, but two neighbours cannot cross at all.
    at(work, "cabinet", 1, 0, 375)["y"] -= 10.000001


@bad("ties", "not_in_a_bed")
def _(work):
    # Between the cabinet's walls, but in the middle of course 1 and not on it.
    work["ties"] = [dict(part="cabinet", course=1, x=370, y=375, z=GAUGE / 2)]


@bad("ties", "outside_the_leaves")
def _(work):
    work["ties"] = [dict(part="cabinet", course=1, x=-10, y=-10, z=GAUGE + 5)]


def stepped(gap, z, step=10):
    """A corbelled head of one step over the vent on the left of the cabinet."""
    low, high = gap
    return {
        "part": "cabinet", "axis": "y", "span": [low - step, high + step], "depth": [0, 115], "step": step,
        "outline": [[low, z[0]], [low, z[1]], [high, z[1]], [high, z[0]]],
    }


@bad("corbels", "not_open")
def _(work):
    # Pieces end at 330 and 410, but what is open between them starts 10 mm further on.
    work["corbels"] = [stepped((330, 410), (z_of(2), z_of(2) + 71))]


@bad("corbels", "no_work_at_the_steps")
def _(work):
    work["corbels"] = [stepped((340, 400), (z_of(2), z_of(2) + 71))]


@bad("sills", "no_slab")
def _(work):
    # Under the vent on the left, where only mortar lies.
    work["sills"] = [dict(part="cabinet", units=0, **box(0, 340, z_of(2) - 5, 115, 60, 5))]


@bad("sills", "units_not_there")
def _(work):
    work["sills"] = [dict(part="cabinet", units=3, **box(0, 340, z_of(2) - 5, 115, 60, 5))]


def stones(work):
    """Two stones end to end, the right one two courses high, its upper end between it and a piece."""
    work["parts"].append(dict(
        name="stones", kind="wall", least_lap_mm=60, mortar_mm3=0,
        envelope=[box(0, -5000, 0, 990, UNIT[1], 3 * GAUGE)],
    ))
    half = dict(length=115, cut={"kind": "half"})
    row = lambda course, halves, wholes: [
        piece("stones", course, x, -5000, **half) for x in halves
    ] + [piece("stones", course, x, -5000) for x in wholes]
    work["pieces"] += row(1, (0, 875), (125, 375, 625))
    work["pieces"] += row(2, (), (0, 750))
    work["pieces"] += row(3, (0, 375, 750), (125,))
    work["pieces"].append(piece("stones", 3, 875, -5000, **half))
    for name, x, courses in (("one", 250, 1), ("two", 500, 2)):
        work["bodies"].append(dict(
            part="stones", name=name, kind="stone lintel",
            **box(x, -5000, z_of(2), 240, UNIT[1], courses * GAUGE - BED),
        ))
    set_mortar(work)


@bad("laps", "over_the_end_of_another_stone")
def _(work):
    stones(work)
    # The joint over the low end of the left stone, which ends a course lower.
    at(work, "stones", 3, 125, -5000).update(length=115, cut={"kind": "half"})
    at(work, "stones", 3, 375, -5000).update(x=250, length=240, cut=None)
    set_mortar(work)


def in_two_leaves(work, through):
    """A wall of two leaves whose joints in course 2 lie over one below: between headers, or in both leaves."""
    work["parts"].append(dict(
        name="leaves", kind="wall", least_lap_mm=60, mortar_mm3=0,
        envelope=[box(0, -6000, 0, 490, 240, 2 * GAUGE)],
    ))
    for y in (-6000, -5875):
        work["pieces"] += [piece("leaves", 2, x, y) for x in (0, 250)]
        if not through:
            work["pieces"] += [piece("leaves", 1, x, y) for x in (0, 250)]
    if through:
        work["pieces"] += [
            piece("leaves", 1, x, -6000, turn=90, role="header") for x in (0, 125, 250, 375)
        ]
    work["breaches"].append(dict(
        part="leaves", course=2, code="lap-too-short", x=245, y=-6000, z=z_of(2), figure=0, limit=60,
    ))
    set_mortar(work)


@bad("laps", "one_leaf_listed_of_two")
def _(work):
    in_two_leaves(work, through=False)


def fixtures():
    """Text of every fixture by file name, in a fixed order."""
    works = {"good": good()}
    for name, change in BAD.items():
        work = copy.deepcopy(works["good"])
        work["plan"] = name
        change(work)
        works[name] = work
    for name, work in lined_fixtures.works():
        works[name] = work
    return {f"{name}.json": text(work) for name, work in works.items()}


def text(work):
    """One line an item, so that a fixture can be read and compared."""
    lines = []
    for key, value in work.items():
        if isinstance(value, list) and value:
            items = ",\n  ".join(json.dumps(tidy(item)) for item in value)
            lines.append(f" {json.dumps(key)}: [\n  {items}\n ]")
        else:
            lines.append(f" {json.dumps(key)}: {json.dumps(value)}")
    return "{\n" + ",\n".join(lines) + "\n}\n"


def tidy(value):
    """Binary noise of sums such as 375 - 10.000001 is not part of a fixture."""
    if isinstance(value, float):
        return round(value, 7)
    if isinstance(value, list):
        return [tidy(v) for v in value]
    if isinstance(value, dict):
        return {key: tidy(v) for key, v in value.items()}
    return value


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    folder = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "fixtures")
    os.makedirs(folder, exist_ok=True)
    for name, content in fixtures().items():
        with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
            file.write(content)


if __name__ == "__main__":
    main()
