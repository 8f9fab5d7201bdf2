"""Fixtures of a lined chamber: a good one, and bad ones that each break a rule of linings.

Positions are worked out by hand as in make_fixtures.py, of whose units they are.
"""

import copy

import make_fixtures as made

COURSES, AT = 2, 125  # the lining stands 10 mm clear of walls 115 mm thick
BAD = {}


def bad(what):
    def keep(change):
        BAD[f"bad_linings_{what}"] = change
        return change
    return keep


def ring_of_walls(part, at, side, courses, front):
    """Walls round a square, sides and front taking turns at corners; `front` has the pieces of the front by course."""
    pieces = []
    far = at + side - 115
    for course in range(1, courses + 1):
        pieces += [made.piece(part, course, at + x, at, length=long, cut=cut) for x, long, cut in front[course]]
        along = range(0, side, 250) if course % 2 else range(125, side - 125, 250)
        across = range(125, side - 125, 250) if course % 2 else range(0, side, 250)
        pieces += [made.piece(part, course, at + x, far) for x in along]
        for x in (at, far):
            pieces += [made.piece(part, course, x, at + y, turn=90) for y in across]
    return pieces


def lined():
    """A chamber four units square lined with one of three, both open in front in the course on the ground."""
    height = COURSES * made.GAUGE
    whole = lambda *places: [(x, 240, None) for x in places]
    length = {"kind": "length"}
    walls = {1: whole(0, 250, 750), 2: whole(125, 375, 625)}
    # Open from 490 to 750: 105 mm are left on either side in the lining.
    lining = {1: [(0, 240, None), (250, 105, length), (635, 105, length)], 2: whole(125, 375)}
    pieces = ring_of_walls("kiln", 0, 990, COURSES, walls)
    pieces += ring_of_walls("kiln lining", AT, 740, COURSES, lining)
    opening = lambda part, y: dict(
        part=part, name="door", kind="opening", shape="box", **made.box(490, y, 0, 260, 115, made.GAUGE)
    )
    gap = [
        made.box(115, 115, 0, 760, 10, height), made.box(115, 865, 0, 760, 10, height),
        made.box(115, 125, 0, 10, 740, height), made.box(865, 125, 0, 10, 740, height),
    ]
    boxes = lambda at, side: [
        made.box(at, at, 0, side, 115, height), made.box(at, at + side - 115, 0, side, 115, height),
        made.box(at, at + 115, 0, 115, side - 230, height),
        made.box(at + side - 115, at + 115, 0, 115, side - 230, height),
    ]
    part = lambda name, envelope: dict(name=name, kind="chamber", least_lap_mm=60, envelope=envelope)
    work = {
        "schema": "perpend.laid/1",
        "unit_of_length": "mm",
        "plan": "good_lining",
        "units": [dict(name="nf", length=240, width=115, height=71)],
        "parts": [part("kiln", boxes(0, 990)), part("kiln lining", boxes(AT, 740) + gap)],
        "pieces": pieces,
        "bodies": [],
        "voids": [opening("kiln", 0), opening("kiln lining", AT)] + [
            dict(part="kiln lining", name="expansion gap", kind="expansion gap", shape="box", **box)
            for box in gap
        ],
        "breaches": [],
        "linings": [{
            "part": "kiln lining", "lines": "kiln", "gap": 10, "fill": "open",
            "space": {"boxes": copy.deepcopy(gap)},
            "level": [{"course": c, "lining_course": c} for c in (1, 2)],
        }],
    }
    made.set_mortar(work)
    return work


def of(work, part):
    return [p for p in work["pieces"] if p["part"] == part]


@bad("gap_misstated")
def _(work):
    work["linings"][0]["gap"] = 12


@bad("piece_in_the_gap")
def _(work):
    # Without the gap among the voids nothing else knows that it is to be kept open; the piece is 12 mm too long.
    work["voids"] = work["voids"][:2]
    p = next(p for p in of(work, "kiln lining") if p["turn"] == 90)
    p["x"] -= 8
    made.set_mortar(work)


@bad("opening_behind_lining")
def _(work):
    # The front of the lining is closed where the walls are open.
    del work["voids"][1]
    p = next(p for p in of(work, "kiln lining") if (p["x"], p["y"]) == (375, AT))
    p.update(length=240, cut=None, finished_ends=2)
    p = next(p for p in of(work, "kiln lining") if (p["x"], p["y"]) == (760, AT))
    p.update(x=625, length=240, cut=None, finished_ends=2)
    made.set_mortar(work)


@bad("not_level")
def _(work):
    work["linings"][0]["level"][1]["lining_course"] = 1


@bad("level_left_out")
def _(work):
    del work["linings"][0]["level"][0]


def works():
    yield "good_lining", lined()
    for name, change in BAD.items():
        work = copy.deepcopy(lined())
        work["plan"] = name
        change(work)
        yield name, work
