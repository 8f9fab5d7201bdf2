"""Linings: clear of their walls all round, open where those are, and level with them where it is said.

An entry of "linings" names its part and the part that it lines, the least gap between the two and the space of that
gap: boxes, or in a ring what lies between two upright cylinders.
"""

import math
from decimal import Decimal

from geometry import NM, Grid, common

MEETS = 3 * NM  # 1/8 in, TMS 602, taken as 3 mm
ROUNDING = 2  # nm
TOUCH = 1  # nm


class Lining:
    def __init__(self, where, part, lines):
        self.where, self.part, self.lines = where, part, lines
        self.gap, self.boxes, self.round, self.level = 0, [], None, []


def read(reader, data, where, the_part):
    """A lining of the JSON; reader and the_part as the file's other readers have them."""
    lining = Lining(where, the_part(data, where), the_part({"part": data.get("lines")}, where))
    lining.gap = reader.length(data, "gap", where)
    space = data.get("space") if isinstance(data.get("space"), dict) else {}
    if "boxes" in space:
        boxes = reader.listed(space, "boxes", where)
        lining.boxes = [reader.box(box, f"{where} boxes[{i}]") for i, box in enumerate(boxes)]
    else:
        ends = tuple(reader.length(space, key, where) for key in ("inner", "outer", "from", "to"))
        lining.round = (reader.pair(space, "centre", where), *ends)
    lining.level = [
        (pair.get("course"), pair.get("lining_course"))
        for pair in reader.listed(data, "level", where)
    ]
    return lining


def check(laid):
    problems = []
    for lining in laid.linings:
        if lining.round:
            problems += _round(lining)
        else:
            problems += _clear(lining, laid) + _least(lining) + _through(lining)
        problems += _level(lining)
    return problems


def _mm(nm):
    return f"{Decimal(nm) / NM:f}"


def _solid(part):
    return [item for item in part.pieces + part.bodies]


def _clear(lining, laid):
    """Nothing of any part is in the gap."""
    items = laid.pieces + laid.bodies
    grid = Grid([item.box for item in items])
    problems = []
    for box in lining.boxes:
        for j in grid.near(box):
            met = common(box, items[j].box)
            if met and all(met[i + 3] - met[i] > TOUCH for i in range(3)):
                problems.append(f"{lining.where}: {items[j].label} is in the gap")
    return problems


def _least(lining):
    """The stated gap is the least distance between units of both that stand at one height."""
    least = None
    for a in _solid(lining.part):
        for b in _solid(lining.lines):
            one, other = a.box, b.box
            if min(one[5], other[5]) <= max(one[2], other[2]):
                continue
            apart = [max(one[i] - other[i + 3], other[i] - one[i + 3]) for i in (0, 1)]
            # Past a corner the two do not face each other.
            if min(apart) < 0 <= max(apart):
                least = max(apart) if least is None else min(least, max(apart))
    if least is not None and abs(least - lining.gap) > ROUNDING:
        return [f"{lining.where}: units come within {_mm(least)}, not {_mm(lining.gap)}"]
    return []


def _through(lining):
    """Where the walls are open the lining is, up to its top: at least as wide and as high. What tapers upwards takes a box of it."""
    ends = list(zip(*lining.boxes))
    inside = [min(ends[0]), min(ends[1]), max(ends[3]), max(ends[4])]
    own = [piece.box for piece in lining.part.pieces]
    face = [min(b[0] for b in own), min(b[1] for b in own), max(b[3] for b in own), max(b[4] for b in own)]
    top = max(b[5] for b in own)
    problems = []
    for void in lining.lines.voids:
        if void.cylinder:
            axis, a, z, r, _, _ = void.cylinder
            found = any(
                other.cylinder and other.cylinder[:4] == (axis, a, z, r)
                for other in lining.part.voids
            )
            if z - r < top and not found:
                problems.append(f"{void.label} does not go through {lining.part.name}")
            continue
        # Which side: the wall's inner face is one of the inside's, and so is one of the void's.
        sides = [(1, void.box[4] == inside[1]), (1, void.box[1] == inside[3]),
                 (0, void.box[3] == inside[0]), (0, void.box[0] == inside[2])]
        at = next((i for i, (_, is_there) in enumerate(sides) if is_there), None)
        if at is None or void.box[2] >= top:
            continue
        across = sides[at][0]
        along = 1 - across
        outer = (face[1], face[3], face[0], face[2])[at]

        def opens(other):
            if other.cylinder or other.box is None:
                return False
            edge = other.box[across] if at in (0, 2) else other.box[across + 3]
            return (
                edge == outer
                and other.box[along] <= void.box[along] + TOUCH
                and other.box[along + 3] >= void.box[along + 3] - TOUCH
                and other.box[2] <= void.box[2] + TOUCH
                and other.box[5] >= min(void.box[5], top) - TOUCH
            )

        if not any(opens(other) for other in lining.part.voids):
            problems.append(f"{void.label} does not go through {lining.part.name}")
    return problems


def _round(lining):
    """The outer ring stays without the larger cylinder, the inner within the smaller, and both are apart."""
    centre, inner, outer, _, _ = lining.round
    straight = [p.label for p in lining.lines.pieces + lining.part.pieces if not p.prism]
    if straight:
        return [f"{straight[0]} is not round the lining's middle"]
    problems = []
    # From the middle to the nearest place of a face, and to the furthest corner.
    near = min(_off(centre, p.prism.corners[0], p.prism.corners[3]) for p in lining.lines.pieces)
    far = max(math.dist(centre, c) for p in lining.part.pieces for c in p.prism.corners)
    if near < outer - ROUNDING or far > inner + ROUNDING:
        problems.append(f"{lining.where}: pieces stand in the gap")
    if abs(near - far - lining.gap) > ROUNDING:
        problems.append(f"{lining.where}: rings come within {_mm(round(near - far))}, not {_mm(lining.gap)}")
    return problems


def _off(place, a, b):
    """Distance of a place from the stretch between two others."""
    along = (b[0] - a[0], b[1] - a[1])
    share = ((place[0] - a[0]) * along[0] + (place[1] - a[1]) * along[1]) / (along[0] ** 2 + along[1] ** 2)
    share = min(1, max(0, share))
    return math.dist(place, (a[0] + share * along[0], a[1] + share * along[1]))


def _tops(part):
    return {
        course: max(p.box[5] for p in pieces if not p.prism or p.prism.plane == "level")
        for course, pieces in part.courses.items()
        if any(not p.prism or p.prism.plane == "level" for p in pieces)
    }


def _level(lining):
    """Courses said to come level are those whose tops are nearest and within 3 mm, and all of those."""
    walls, own = _tops(lining.lines), _tops(lining.part)
    problems, said = [], dict(lining.level)
    for course, top in walls.items():
        off = min(abs(other - top) for other in own.values())
        nearest = [c for c, other in own.items() if abs(other - top) == off]
        if off <= MEETS and said.get(course) not in nearest:
            problems.append(f"{lining.where}: course {course} is level with {nearest[0]}, but that is not said")
        if off > MEETS and course in said:
            problems.append(f"{lining.where}: course {course} is not level with {said[course]}")
    return problems
