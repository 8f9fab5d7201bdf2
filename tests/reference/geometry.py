"""Boxes in whole nanometres, circles, a grid, and solids.

A box is (x0, y0, z0, x1, y1, z1). A cylinder is (axis, a, z, r, from, to): axis 0
lies along x and `a` is a y; axis 1 lies along y and `a` is an x.
"""

import math
from collections import defaultdict
from fractions import Fraction
from statistics import median

import numpy as np
from manifold3d import CrossSection, Manifold, OpType

NM = 1_000_000  # nanometres in a millimetre
SIDES = 2048  # of the polygon that stands for a circle in a solid


def volume(box):
    return (box[3] - box[0]) * (box[4] - box[1]) * (box[5] - box[2])


def common(a, b):
    """The box that two boxes share; None when they share no volume."""
    box = (
        max(a[0], b[0]), max(a[1], b[1]), max(a[2], b[2]),
        min(a[3], b[3]), min(a[4], b[4]), min(a[5], b[5]),
    )
    return box if box[0] < box[3] and box[1] < box[4] and box[2] < box[5] else None


def less(box, hole):
    """The disjoint boxes that are left of `box` when `hole` is taken out."""
    hole = common(box, hole)
    if hole is None:
        return [box]
    rest, left = [], list(box)
    for i in range(3):
        if left[i] < hole[i]:
            rest.append(tuple(left[:i + 3] + [hole[i]] + left[i + 4:]))
            left[i] = hole[i]
        if hole[i + 3] < left[i + 3]:
            rest.append(tuple(left[:i] + [hole[i + 3]] + left[i + 1:]))
            left[i + 3] = hole[i + 3]
    return rest


def disjoint(boxes):
    """The same region as boxes that share no volume."""
    done = []
    for box in boxes:
        new = [box]
        for other in done:
            new = [rest for part in new for rest in less(part, other)]
        done += new
    return done


def section(box, axis):
    """What one sees of a box along an axis: (a0, z0, a1, z1)."""
    across = 1 - axis
    return box[across], box[2], box[across + 3], box[5]


def circle_holds(rect, a, z, r):
    """Whether the whole rectangle lies in the circle, touching allowed; exact."""
    da = max(abs(rect[0] - a), abs(rect[2] - a))
    dz = max(abs(rect[1] - z), abs(rect[3] - z))
    return da * da + dz * dz <= r * r


def circle_meets(rect, a, z, r):
    """Whether the rectangle shares area with the circle; exact."""
    da = max(rect[0] - a, a - rect[2], 0)
    dz = max(rect[1] - z, z - rect[3], 0)
    return r > 0 and da * da + dz * dz < r * r


def circle_area(rect, a, z, r):
    """Area (mm2) of a circle within a rectangle, both in nanometres.

    The height of the overlap over each abscissa is integrated in closed form
    between the abscissae where the arc crosses a side of the rectangle.
    """
    r = r / NM
    x0, y0, x1, y1 = ((v - c) / NM for v, c in zip(rect, (a, z, a, z)))
    x0, x1 = max(x0, -r), min(x1, r)
    if x0 >= x1 or y0 >= r or y1 <= -r:
        return 0.0
    cuts = {x0, x1}
    for y in (y0, y1):
        if abs(y) < r:
            x = math.sqrt((r - y) * (r + y))
            cuts |= {c for c in (-x, x) if x0 < c < x1}
    cuts = sorted(cuts)

    def under_arc(x):
        x = max(-r, min(r, x))
        return (x * math.sqrt((r - x) * (r + x)) + r * r * math.asin(x / r)) / 2

    total = []
    for p, q in zip(cuts, cuts[1:]):
        middle = (p + q) / 2
        arc = math.sqrt(max(0.0, (r - middle) * (r + middle)))
        # An arc that just touches a side is still the arc.
        top_is_arc, base_is_arc = arc <= y1, -arc >= y0
        if (arc if top_is_arc else y1) <= (-arc if base_is_arc else y0):
            continue
        piece = under_arc(q) - under_arc(p)
        total.append(piece if top_is_arc else y1 * (q - p))
        total.append(piece if base_is_arc else -y0 * (q - p))
    return math.fsum(total)


def within(cylinder, box):
    """Volume (mm3) of a cylinder within a box."""
    axis, a, z, r, start, end = cylinder
    along = min(box[axis + 3], end) - max(box[axis], start)
    return circle_area(section(box, axis), a, z, r) * along / NM if along > 0 else 0.0


def bounds(cylinder):
    axis, a, z, r, start, end = cylinder
    if axis == 0:
        return start, a - r, z - r, end, a + r, z + r
    return a - r, start, z - r, a + r, end, z + r


def cylinders_apart(c, d):
    """Whether two cylinders surely share no volume; exact when parallel."""
    if common(bounds(c), bounds(d)) is None:
        return True
    reach = c[3] + d[3]
    return c[0] == d[0] and (c[1] - d[1]) ** 2 + (c[2] - d[2]) ** 2 >= reach * reach


class Prism:
    """A trapezoid symmetric about a radial middle line, carried along the third axis."""

    def __init__(self, plane, centre, angle, inner, outer, inner_width, outer_width, depth):
        self.plane, self.depth = plane, depth
        self.sizes = (inner_width, outer_width, outer - inner, depth[1] - depth[0])
        self.inner, self.turn, self.centre = inner, math.radians(angle), centre
        cos, sin = math.cos(self.turn), math.sin(self.turn)
        self.corners = [
            (centre[0] + out * cos - across * sin, centre[1] + out * sin + across * cos)
            for out, across in (
                (inner, -inner_width / 2), (outer, -outer_width / 2),
                (outer, outer_width / 2), (inner, inner_width / 2),
            )
        ]
        firsts, seconds = zip(*self.corners)
        low = [math.floor(min(v) + 0.001) for v in (firsts, seconds)]
        high = [math.ceil(max(v) - 0.001) for v in (firsts, seconds)]
        # What stands where in a box: the plane's two axes and the depth.
        spans = [(low[0], high[0]), (low[1], high[1]), depth]
        places = {"level": (0, 1, 2), "x": (0, 2, 1), "y": (1, 2, 0)}[plane]
        box = [0] * 6
        for place, (start, end) in zip(places, spans):
            box[place], box[place + 3] = start, end
        self.box, self.places = tuple(box), places

    def area(self):
        """By the shoelace formula, in square nanometres."""
        c = self.corners
        return sum(
            c[i][0] * c[(i + 1) % 4][1] - c[i][1] * c[(i + 1) % 4][0] for i in range(4)
        ) / 2

    def volume(self):
        """In mm3: half the sum of its faces, times the distance between them, times its depth."""
        inner, outer, reach, depth = self.sizes
        return Fraction((inner + outer) * reach * depth, 2 * NM**3)

    def solid(self):
        ring = CrossSection([[(x / NM, y / NM) for x, y in self.corners]])
        rod = Manifold.extrude(ring, (self.depth[1] - self.depth[0]) / NM)
        matrix = np.zeros((3, 4))
        for column, place in enumerate(self.places):
            matrix[place, column] = 1
        matrix[self.places[2], 3] = self.depth[0] / NM
        if np.linalg.det(matrix[:, :3]) > 0:
            return rod.transform(matrix)
        # A plane seen from its other side would turn the solid inside out: carry it the other way.
        matrix[self.places[2], 2], matrix[self.places[2], 3] = -1, self.depth[1] / NM
        return rod.transform(matrix)


class Quad:
    """A voussoir: a quadrilateral in a wall's plane, carried through the wall."""

    def __init__(self, axis, corners, depth):
        self.plane, self.corners, self.depth = "xy"[axis], corners, depth
        self.axis = axis
        along, heights = zip(*corners)
        self.box = _upright(axis, (min(along), max(along)), (min(heights), max(heights)), depth)

    def turns(self):
        """Twice the area of each corner's triangle: all above zero when convex and anticlockwise."""
        found = []
        for i in range(4):
            (a, b), (c, d), (e, f) = (self.corners[(i + k) % 4] for k in range(3))
            found.append((c - a) * (f - d) - (d - b) * (e - c))
        return found

    def volume(self):
        """In mm3, exact: half the product of its diagonals, times its depth."""
        (a, b), (c, d), (e, f), (g, h) = self.corners
        twice = (e - a) * (h - d) - (f - b) * (g - c)
        return Fraction(twice * (self.depth[1] - self.depth[0]), 2 * NM**3)

    def edges(self):
        """Lengths of its sides, in nanometres."""
        return [math.dist(self.corners[i], self.corners[(i + 1) % 4]) for i in range(4)]

    def rectangles(self):
        """Sides of the rectangle round it that lies along each of its sides, in nanometres."""
        found = []
        for i in range(4):
            (a, b), (c, d) = self.corners[i], self.corners[(i + 1) % 4]
            side = math.hypot(c - a, d - b)
            cos, sin = (c - a) / side, (d - b) / side
            on = [x * cos + y * sin for x, y in self.corners]
            off = [y * cos - x * sin for x, y in self.corners]
            found.append((max(on) - min(on), max(off) - min(off)))
        return found

    def solid(self):
        return _through(self.axis, [(a / NM, z / NM) for a, z in self.corners], self.depth)


class Level:
    """What goes with a piece of a curved wall: a quadrilateral seen from above, carried upwards."""

    def __init__(self, corners, depth):
        self.plane, self.corners, self.depth = "level", corners, depth
        firsts, seconds = zip(*corners)
        self.box = (
            min(firsts), min(seconds), depth[0], max(firsts), max(seconds), depth[1],
        )

    turns = Quad.turns
    volume = Quad.volume

    def solid(self):
        ring = CrossSection([[(x / NM, y / NM) for x, y in self.corners]])
        rod = Manifold.extrude(ring, (self.depth[1] - self.depth[0]) / NM)
        return rod.translate([0, 0, self.depth[0] / NM])


class Profile:
    """The outline of an arch: straight sides from the bottom to the shoulder, then a circle or a flat top.

    Lengths are nanometres; `circle` is (height of the centre, radius) or None.
    """

    def __init__(self, middle, bottom, bottom_half, shoulder, shoulder_half, circle):
        self.middle, self.bottom, self.shoulder = middle, bottom, shoulder
        self.halves, self.circle = (bottom_half, shoulder_half), circle
        self.top = circle[0] + circle[1] if circle else shoulder

    def box(self, axis, depth):
        half = max(self.halves)
        return _upright(
            axis, (self.middle - half, self.middle + half), (self.bottom, self.top), depth
        )

    def area(self, rect):
        """Area (mm2) that it shares with a rectangle (along, z, along, z) in nanometres."""
        x0, z0, x1, z1 = rect
        total = []
        low, high = max(z0, self.bottom), min(z1, self.shoulder)
        if low < high:
            total.append(self._straight((x0 - self.middle, x1 - self.middle), low, high))
        if self.circle:
            over = (x0, max(z0, self.shoulder), x1, z1)
            if over[1] < over[3]:
                total.append(circle_area(over, self.middle, *self.circle))
        return math.fsum(total)

    def _straight(self, reach, low, high):
        """Between two heights of its straight sides: by trapezoids between the heights where the width's law changes."""
        slope = Fraction(self.halves[1] - self.halves[0], self.shoulder - self.bottom)
        half = lambda z: self.halves[0] + slope * (z - self.bottom)
        cuts = {Fraction(low), Fraction(high)}
        if slope:
            crossings = (self.bottom + (abs(x) - self.halves[0]) / slope for x in reach)
            cuts |= {z for z in crossings if low < z < high}
        wide = lambda z: max(0, min(reach[1], half(z)) - max(reach[0], -half(z)))
        cuts = sorted(cuts)
        twice = sum((wide(p) + wide(q)) * (q - p) for p, q in zip(cuts, cuts[1:]))
        return float(twice / (2 * NM * NM))

    def outline(self):
        """Its corners, in millimetres, anticlockwise; the circle by a polygon drawn in it."""
        sides = [(self.halves[0], self.bottom)]
        if self.shoulder > self.bottom:
            sides.append((self.halves[1], self.shoulder))
        ring = [(half, z) for half, z in sides]
        if self.circle:
            z, radius = self.circle
            reach = math.acos(max(-1.0, min(1.0, (self.shoulder - z) / radius)))
            for i in range(1, SIDES):
                turn = reach * (1 - 2 * i / SIDES)
                ring.append((radius * math.sin(turn), z + radius * math.cos(turn)))
        ring += [(-half, z) for half, z in reversed(sides)]
        return [((self.middle + x) / NM, z / NM) for x, z in ring]

    def solid(self, axis, depth):
        return _through(axis, self.outline(), depth)


def _upright(axis, along, heights, depth):
    """The box over a stretch along an axis and another across it."""
    (x0, x1), (y0, y1) = (along, depth) if axis == 0 else (depth, along)
    return x0, y0, heights[0], x1, y1, heights[1]


def _through(axis, ring, depth):
    """A figure in a wall's plane (place along the wall, height; mm) carried through it."""
    rod = Manifold.extrude(CrossSection([ring]), (depth[1] - depth[0]) / NM)
    if axis == 0:  # x to x, y to z, z to -y
        matrix = [[1, 0, 0, 0], [0, 0, -1, depth[1] / NM], [0, 1, 0, 0]]
    else:  # x to y, y to z, z to x: no mirror
        matrix = [[0, 0, 1, depth[0] / NM], [1, 0, 0, 0], [0, 1, 0, 0]]
    return rod.transform(np.array(matrix, dtype=float))


class Grid:
    """Finds the boxes near a box without looking at all of them."""

    def __init__(self, boxes):
        self.boxes = boxes
        self.cell = [
            max(1, 2 * int(median(b[i + 3] - b[i] for b in boxes))) if boxes else NM
            for i in range(3)
        ]
        self.cells, self.large = defaultdict(list), []
        for index, box in enumerate(boxes):
            if self._count(box) > 20_000:
                self.large.append(index)
                continue
            for key in self._keys(box):
                self.cells[key].append(index)

    def _ranges(self, box):
        # A box that ends on a cell's border does not reach into the next cell.
        return [
            range(box[i] // self.cell[i], (box[i + 3] - 1) // self.cell[i] + 1)
            for i in range(3)
        ]

    def _count(self, box):
        return math.prod(len(r) for r in self._ranges(box))

    def _keys(self, box):
        xs, ys, zs = self._ranges(box)
        return ((x, y, z) for x in xs for y in ys for z in zs)

    def near(self, box):
        """Indices, ascending, of the boxes that share volume with `box`."""
        if self._count(box) > len(self.boxes):
            found = range(len(self.boxes))
        else:
            found = set(self.large)
            for key in self._keys(box):
                found.update(self.cells.get(key, ()))
        return sorted(i for i in found if common(box, self.boxes[i]))


def solid_box(box):
    size = [(box[i + 3] - box[i]) / NM for i in range(3)]
    return Manifold.cube(size).translate([box[i] / NM for i in range(3)])


_TURNS = 2 * math.pi * (np.arange(SIDES) + 0.5) / SIDES
_UNIT_RING = np.column_stack([np.cos(_TURNS), np.sin(_TURNS)])
# The polygon has the circle's area, so that volumes need no correction.
_UNIT_RING *= math.sqrt(2 * math.pi / (SIDES * math.sin(2 * math.pi / SIDES)))


def solid_cylinder(cylinder):
    axis, a, z, r, start, end = cylinder
    ring = CrossSection([_UNIT_RING * (r / NM)])
    rod = Manifold.extrude(ring, (end - start) / NM)
    if axis == 0:  # z to x, x to y, y to z
        matrix = [[0, 0, 1, start / NM], [1, 0, 0, a / NM], [0, 1, 0, z / NM]]
    else:  # z to y, y to x, x to z: no mirror
        matrix = [[0, 1, 0, a / NM], [0, 0, 1, start / NM], [1, 0, 0, z / NM]]
    return rod.transform(np.array(matrix, dtype=float))


def union(solids):
    return Manifold.batch_boolean(solids, OpType.Add)
