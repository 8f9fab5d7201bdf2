"""Judges laid work from its JSON alone: python check_laid.py [--least-lap MM] FILE.json..."""

import argparse
import math
import os
import sys
from bisect import bisect_left, bisect_right
from decimal import Decimal
from fractions import Fraction
from statistics import median

import linings
from geometry import (
    NM, Grid, Quad, bounds, circle_holds, circle_meets, common, cylinders_apart, disjoint,
    section, solid_box, solid_cylinder, union, volume, within,
)
from laid import read

TOUCH = 1  # nm: a penetration up to this still counts as touching
WIDEST_JOINT = 30 * NM
PLACE = 1 * NM
CRUMB = 0.01  # mm3: prisms and raked pieces that share less only touch
CORNERS = 4  # nm: a voussoir's sides have ends in whole nanometres
ON_EDGE = ("rowlock", "shiner", "soldier", "sailor")
# Which of a unit's length, width and height lies along the run, through the wall, and upright.
STANDING = {"soldier": (2, 1, 0), "sailor": (1, 2, 0), "rowlock": (2, 0, 1), "shiner": (0, 2, 1)}


def mm(nm):
    return f"{Decimal(nm) / NM:f}"


def at(box):
    return "at " + ", ".join(mm(v) for v in box[:3])


def deep(box):
    return box is not None and all(box[i + 3] - box[i] > TOUCH for i in range(3))


def bitten_off(box, bites):
    """Whether one bite takes the whole box away."""
    return any(circle_holds(section(box, c[0]), *c[1:4]) for c in bites)


def shared(one, other):
    """A box of material that two items both claim, or None."""
    for a in one.boxes:
        for b in other.boxes:
            box = common(a, b)
            if deep(box) and not bitten_off(box, one.bites + other.bites):
                return box
    return None


def by_solids(item):
    """Whether boxes and bites do not tell an item's shape."""
    return bool(item.prism or item.rakes or item.profile)


def check_overlap(laid):
    """No two pieces or bodies claim the same space, in one part or in two."""
    items = laid.pieces + laid.bodies
    grid = Grid([item.box for item in items])
    problems = []
    for i, item in enumerate(items):
        for j in grid.near(item.box):
            if j <= i:
                continue
            other = items[j]
            if by_solids(item) or by_solids(other):
                if (_solid(item) ^ _solid(other)).volume() > CRUMB:
                    problems.append(f"{item.label} and {other.label} overlap {at(item.box)}")
                continue
            box = shared(item, other)
            if box:
                problems.append(f"{item.label} and {other.label} overlap {at(box)}")
    return problems


def check_envelope(laid):
    """Envelope boxes are disjoint and hold every piece, body and void of their part."""
    problems = []
    for part in laid.parts.values():
        grid, apart = Grid(part.envelope), True
        for i, box in enumerate(part.envelope):
            for j in grid.near(box):
                if j > i:
                    apart = False
                    problems.append(
                        f"{part.name}: envelope boxes {i} and {j} overlap "
                        + at(common(box, part.envelope[j]))
                    )
        region = grid if apart else Grid(disjoint(part.envelope))
        problems += _turned_envelope(part)
        for item in part.pieces + part.bodies + part.voids:
            if item.prism or item.profile or part.prisms:
                continue
            boxes = item.boxes or [bounds(item.cylinder)]
            for box in boxes:
                held = sum(
                    volume(common(box, region.boxes[i])) for i in region.near(box)
                )
                if held == volume(box):
                    continue
                if item.cylinder and _round_held(item.cylinder, region):
                    continue
                problems.append(f"{item.label} leaves the envelope {at(box)}")
                break
    return problems


def _turned_envelope(part):
    """Turned prisms are disjoint; what is turned, lies in turned work or is of an arch is held by solids."""
    problems, grid = [], Grid([prism.box for prism in part.prisms])
    solids = [prism.solid() for prism in part.prisms]
    for i, prism in enumerate(part.prisms):
        for j in grid.near(prism.box):
            if j > i and (solids[i] ^ solids[j]).volume() > CRUMB:
                problems.append(f"{part.name}: envelope prisms {i} and {j} overlap {at(prism.box)}")
    straight = Grid(part.envelope)
    for item in part.pieces + part.bodies + part.voids:
        if not (item.prism or item.profile or part.prisms):
            continue
        reach = item.box or bounds(item.cylinder)
        held = [solids[i] for i in grid.near(reach)]
        held += [solid_box(straight.boxes[i]) for i in straight.near(reach)]
        out = _solid(item) - union(held) if held else _solid(item)
        # Faces in whole nanometres leave slivers between prisms that a piece may cross.
        if out.volume() > 10 * CRUMB:
            problems.append(f"{item.label} leaves the envelope {at(reach)}")
    return problems


def _round_held(cylinder, region):
    held = math.fsum(within(cylinder, region.boxes[i]) for i in region.near(bounds(cylinder)))
    whole = _cylinder_volume(cylinder)
    return abs(held - whole) <= 1e-9 * whole


def _cylinder_volume(cylinder):
    r, start, end = cylinder[3:]
    return math.pi * (r / NM) ** 2 * (end - start) / NM


def check_voids(laid):
    """No piece or body of any part reaches into a void."""
    items = laid.pieces + laid.bodies
    grid = Grid([item.box for item in items])
    problems = []
    for void in laid.voids:
        if void.cylinder is None:
            for i in grid.near(void.box):
                if by_solids(items[i]) or by_solids(void):
                    entered = (_solid(items[i]) ^ _solid(void)).volume()
                    if entered > CRUMB:
                        problems.append(
                            f"{items[i].label} enters {void.label} by {entered:.3f} mm3"
                        )
                    continue
                box = shared(items[i], void)
                if box:
                    problems.append(f"{items[i].label} enters {void.label} {at(box)}")
            continue
        for i in grid.near(bounds(void.cylinder)):
            problem = _enters_round(items[i], void.cylinder)
            if problem:
                problems.append(f"{items[i].label} enters {void.label}: {problem}")
    return problems


def _enters_round(item, void):
    axis, a, z, r, start, end = void
    if by_solids(item):
        entered = (_solid(item) ^ solid_cylinder(void)).volume()
        return f"by {entered:.3f} mm3 {at(item.box)}" if entered > 1 else None
    met = [
        box for box in item.boxes
        if min(box[axis + 3], end) - max(box[axis], start) > TOUCH
        and circle_meets(section(box, axis), a, z, r - TOUCH)
    ]
    if not met:
        return None
    for bite in item.bites:
        if bite[0] == axis:
            slack = bite[3] - r
            apart = (bite[1] - a) ** 2 + (bite[2] - z) ** 2
            if slack >= 0 and apart <= slack * slack:
                return None
            if apart == 0 and slack < 0:
                return f"its bite is {mm(-slack)} too small in radius {at(item.box)}"
    # No single bite holds the void, so the solids decide.
    entered = (_solid(item) ^ solid_cylinder(void)).volume()
    return f"by {entered:.3f} mm3 {at(item.box)}" if entered > 1 else None


def volume_errors(laid):
    """Per part: (part, way, error mm3, allowed mm3), stated less found."""
    if laid.volume_errors is not None:
        return laid.volume_errors
    found = []
    for part in laid.parts.values():
        allowed = 1 + 1e-9 * abs(float(part.mortar))
        exact = _mortar(part)
        if exact is not None:
            found.append((part, "areas", float(Fraction(part.mortar) - exact), allowed))
        rounds = any(i.bites or i.cylinder or by_solids(i) for i in part.pieces + part.voids)
        if exact is None or rounds:
            stated = float(part.mortar)
            allowed = 1 + 1e-3 * abs(stated)
            found.append((part, "solids", stated - _mortar_by_solids(part), allowed))
    laid.volume_errors = found
    return found


def _straight(part):
    """All the boxes of a part: what holds, and what fills; voids without their meetings."""
    filled = [box for item in part.pieces + part.bodies for box in item.boxes]
    filled += disjoint([void.box for void in part.voids if void.boxes])
    return part.envelope, filled


def _mortar(part):
    """Envelope less all that fills it, mm3; None when round shapes meet."""
    rounds = [void.cylinder for void in part.voids if void.cylinder]
    if not all(map(_all_apart, [rounds] + [piece.bites for piece in part.pieces])):
        return None
    if not all(map(_rakes_apart, part.pieces)) or not _profiles_apart(part.voids):
        return None
    envelope, filled = _straight(part)
    curved = [
        within(bite, box) for piece in part.pieces for bite in piece.bites for box in piece.boxes
    ]
    curved += [
        _raked_area(rake, box) * (rake[2][1] - rake[2][0]) / NM
        for piece in part.pieces for rake in piece.rakes for box in piece.boxes
    ]
    for void in part.voids:
        if void.profile:
            depth = void.profile[2]
            curved.append(-_raked_area(void.profile, void.box) * (depth[1] - depth[0]) / NM)
    hollow = disjoint([void.box for void in part.voids if void.boxes])
    for cylinder in rounds:
        curved.append(-_cylinder_volume(cylinder))
        curved += [within(cylinder, box) for box in hollow]
    cubic = sum(map(volume, envelope)) - sum(map(volume, filled))
    turned = sum(prism.volume() for prism in part.prisms)
    turned -= sum(item.prism.volume() for item in part.pieces + part.voids if item.prism)
    return Fraction(cubic, NM**3) + Fraction(math.fsum(curved)) + turned


def _raked_area(rake, box):
    """Area (mm2) of an arch's outline within a box, seen through the wall."""
    axis, outline, _ = rake
    return outline.area((box[axis], box[2], box[axis + 3], box[5]))


def _rakes_apart(piece):
    """Whether what outlines take from a piece can be summed: one outline, and no notch or bite beside it."""
    return not piece.rakes or (
        len(piece.rakes) == 1 and len(piece.boxes) == 1 and not piece.bites
    )


def _profiles_apart(voids):
    """Whether no other void shares the box round an arch's outline."""
    boxes = [void.box or bounds(void.cylinder) for void in voids]
    return not any(
        voids[i].profile and i != j and common(boxes[i], boxes[j])
        for i in range(len(voids)) for j in range(len(voids))
    )


def _all_apart(cylinders):
    return all(
        cylinders_apart(c, d) for i, c in enumerate(cylinders) for d in cylinders[:i]
    )


def _mortar_by_solids(part):
    """The same with solids round each round shape; elsewhere boxes tell all."""
    envelope, filled = _straight(part)
    cubic = sum(map(volume, envelope)) - sum(map(volume, filled))
    rounds = [bounds(void.cylinder) for void in part.voids if void.cylinder]
    rounds += [
        common(bounds(bite), piece.box)
        for piece in part.pieces for bite in piece.bites if common(bounds(bite), piece.box)
    ]
    rounds += [void.box for void in part.voids if void.profile]
    rounds += [piece.box for piece in part.pieces if piece.rakes]
    # A margin, since the polygon of a circle's area bulges a little.
    regions = disjoint([
        tuple(v - NM if i < 3 else v + NM for i, v in enumerate(box)) for box in rounds
    ])
    total = [prism.solid().volume() for prism in part.prisms]
    total += [-i.prism.solid().volume() for i in part.pieces + part.voids if i.prism]
    items = [i for i in part.pieces + part.bodies + part.voids if not i.prism]
    in_items = Grid([item.box or bounds(item.cylinder) for item in items])
    in_filled, in_envelope = Grid(filled), Grid(envelope)
    for region in regions:
        held = [common(region, envelope[i]) for i in in_envelope.near(region)]
        cubic -= sum(map(volume, held))
        cubic += sum(volume(common(region, filled[i])) for i in in_filled.near(region))
        taken = [_solid(items[i]) for i in in_items.near(region)]
        total.append((union([solid_box(box) for box in held]) - union(taken)).volume())
    return cubic / NM**3 + math.fsum(total)


def _solid(item):
    if item.prism:
        return item.prism.solid()
    if item.cylinder:
        return solid_cylinder(item.cylinder)
    if item.profile:
        axis, outline, depth = item.profile
        return outline.solid(axis, depth)
    solid = union([solid_box(box) for box in item.boxes])
    taken = [solid_cylinder(bite) for bite in item.bites]
    # A margin, so that no skin is left on the faces.
    taken += [
        outline.solid(axis, (depth[0] - NM, depth[1] + NM)) for axis, outline, depth in item.rakes
    ]
    return solid - union(taken) if taken else solid


def check_volume(laid):
    """The stated joint volume is the envelope less pieces, bodies and voids."""
    return [
        f"{part.name}: mortar_mm3 {part.mortar} is {error:+.3f} off by {way}, "
        f"{allowed:.3f} allowed"
        for part, way, error, allowed in volume_errors(laid)
        if not abs(error) <= allowed
    ]


def run_axis(piece):
    """The axis along which a piece's course goes on: 0 is x, 1 is y."""
    if piece.run is not None:
        return piece.run
    length, width, _ = piece.size
    along = 1 if piece.turn else 0
    across_wall = "header" in piece.role or "rowlock" in piece.role
    # A queen closer is laid as a header; a short closer stands as a stretcher does.
    if "closer" in piece.role and "king" not in piece.role and length > width:
        across_wall = True
    return 1 - along if across_wall else along


def long_axis(body):
    """The axis along which a lintel spans."""
    box = body.box
    return 0 if box[3] - box[0] >= box[4] - box[1] else 1


def head_joints(pieces, bodies=()):
    """Every upright joint of a course, as (axis, joint box, same run, bodies).

    The bodies are those whose ends the joint lies between or against, by identity.
    """
    joints = []
    stones = {id(body) for body in bodies}
    axis_of = lambda item: long_axis(item) if id(item) in stones else run_axis(item)
    items = list(pieces) + list(bodies)
    for axis in (0, 1):
        across = 1 - axis
        order = sorted(items, key=lambda p: p.box[axis])
        starts = [p.box[axis] for p in order]
        for piece in items:
            end, blocked = piece.box[axis + 3], []
            low = bisect_left(starts, end - TOUCH)
            for other in order[low:bisect_right(starts, end + WIDEST_JOINT)]:
                start = other.box[axis]
                t0 = max(piece.box[across], other.box[across])
                t1 = min(piece.box[across + 3], other.box[across + 3])
                z0, z1 = max(piece.box[2], other.box[2]), min(piece.box[5], other.box[5])
                if other is piece or t0 >= t1 or z0 >= z1:
                    continue
                stone = stones & {id(piece), id(other)}
                # A joint ends at the first piece that faces it.
                if any(b[0] < t1 and t0 < b[1] and b[2] <= start for b in blocked):
                    continue
                blocked.append((t0, t1, other.box[axis + 3]))
                box = (end, t0, z0, start, t1, z1) if axis == 0 else (t0, end, z0, t1, start, z1)
                same = axis_of(piece) == axis == axis_of(other)
                joints.append((axis, box, same, stone))
    return joints


def filled(joints, part):
    """The joints with mortar in them: a vent as narrow as a joint is none."""
    voids = [void.box for void in part.voids if void.boxes]
    return [joint for joint in joints if not any(common(joint[1], void) for void in voids)]


def short_laps(above, below, least):
    """Joints of the course above that lie too near joints of the course below.

    Each is (axis, joint box, lap in half nanometres, all joints of the same run, what both share across).
    """
    found = []
    by_axis = {
        axis: sorted(
            ((b[axis] + b[axis + 3], b, same, stone) for a, b, same, stone in below if a == axis),
            key=lambda joint: joint[:3],
        )
        for axis in (0, 1)
    }
    for axis, box, same, stone in above:
        across, centre = 1 - axis, box[axis] + box[axis + 3]
        near = by_axis[axis]
        low = bisect_left(near, centre - 2 * least, key=lambda n: n[0])
        high = bisect_right(near, centre + 2 * least, key=lambda n: n[0])
        for other_centre, other, other_same, other_stone in near[low:high]:
            # The end of one stone several courses high is one joint, not one over another.
            if stone & other_stone:
                continue
            both = max(box[across], other[across]), min(box[across + 3], other[across + 3])
            if both[0] < both[1]:
                found.append((axis, box, abs(centre - other_centre), same and other_same, both))
    return found


def in_hearting(part, axis, box, both):
    """Whether joints lie over each other only within a wall that headers of both faces bond.

    Such a wall is thicker than a unit; the sides of its headers lie over each other at a stopped end, out of sight.
    """
    across = 1 - axis
    unit = max((p.size[0] for p in part.pieces), default=0)
    if not any(p.role == "header" for p in part.pieces):
        return False
    centre = _centre(box)
    for wall in part.envelope:
        if all(wall[i] - PLACE <= centre[i] <= wall[i + 3] + PLACE for i in range(3)):
            thick = min(wall[3] - wall[0], wall[4] - wall[1]) > unit + PLACE
            faces = wall[across], wall[across + 3]
            return thick and both[0] > faces[0] + PLACE and both[1] < faces[1] - PLACE
    return False


def check_laps(laid, least_lap=None):
    """Head joints keep the least lap over the course below, or are listed as breaches.

    Joints of one run must be listed. Others (a corner's, a collar joint, one within a thick wall) may be.
    """
    problems = []
    for part in laid.parts.values():
        listed = {}
        for breach in part.breaches:
            if breach["code"] == "lap-too-short":
                listed.setdefault(breach["course"], []).append(breach)
        least = part.least_lap if least_lap is None else least_lap
        joints = {
            course: head_joints(
                [p for p in pieces if not p.prism and not in_foot(p)],
                [
                    b for b in part.bodies
                    if any(b.box[2] <= p.box[2] and p.box[5] <= b.box[5] for p in pieces)
                    and b.box not in [box for _, box, _ in part.sills]
                ],
            )
            for course, pieces in part.courses.items()
        }
        joints = {course: filled(found, part) for course, found in joints.items()}
        # A course on end or on edge keeps no laps, nor does what lies on it.
        joints = {
            course: [] if part.kind != "lining" and any(
                p.role in STANDING and not p.prism for p in part.courses[course]
            ) else found
            for course, found in joints.items()
        }
        problems += _turned_laps(part)
        for course in sorted(set(joints) | set(listed)):
            above, below = joints.get(course, []), joints.get(course - 1, [])
            if least is None:
                if listed.get(course) or (
                    any(same for *_, same, _ in above) and any(same for *_, same, _ in below)
                ):
                    problems.append(f"{part.name}: least_lap_mm is not stated")
                    break
                continue
            short = short_laps(above, below, least)
            owed = {}
            for axis, box, lap, same, both in short:
                if same and lap < 2 * (least - TOUCH) and not in_hearting(part, axis, box, both):
                    owed[axis, box] = min(lap, owed.get((axis, box), lap))
            for (axis, box), lap in owed.items():
                # Where headers go through a wall, one breach speaks for its joint on both sides of the collar: between
                # headers, and over or under them.
                both_courses = part.courses[course] + part.courses.get(course - 1, [])
                spoken = [box] + [
                    other for same_axis, other in owed
                    if same_axis == axis and _one_joint(box, other, axis, both_courses)
                ]
                if not any(_is_at(b, axis, s) for b in listed.get(course, []) for s in spoken):
                    problems.append(
                        f"{part.name} course {course}: lap {mm(Decimal(lap) / 2)} "
                        f"is not listed {at(_centre(box))}"
                    )
            # What is told of turned work was judged with it.
            if any(p.prism and p.prism.plane == "level" for p in part.courses.get(course, [])):
                continue
            for breach in listed.get(course, []):
                problem = _unreal(breach, short, least)
                if problem:
                    problems.append(
                        f"{breach['label']} {part.name} course {course}: {problem} "
                        + at(breach["place"])
                    )
    return problems


def _turned_laps(part):
    """In round work, a joint that lies over one below nearer than a quarter of a unit's face is listed, and ends stand plumb.

    A joint's place is midway between the sides of neighbours; its distance from the one below is taken along the inner
    face. A curved wall ends free where its neighbours stand further apart than any joint. Where a void parts a course
    there is no joint, unless it is as narrow as one; the work stands at its sides.
    """
    problems, below = [], None
    apart = lambda a, b: abs((a - b + math.pi) % (2 * math.pi) - math.pi)
    for course, pieces in sorted(part.courses.items()):
        turned = [p.prism for p in pieces if p.prism and p.prism.plane == "level"]
        if len(turned) < 2:
            below = None
            continue
        inner = min(prism.inner for prism in turned)
        front = sorted((p for p in turned if p.inner == inner), key=lambda p: p.turn % (2 * math.pi))
        half = lambda p: math.atan2(p.sizes[0] / 2, inner)
        centre, z = front[0].centre, (front[0].depth[0] + front[0].depth[1]) / 2
        holes = _open_bays(part, centre, z)
        joints, ends = [], []
        for one, other in zip(front, front[1:] + front[:1]):
            start = one.turn + half(one)
            gap = (other.turn - half(other) - start) % (2 * math.pi)
            # Sides of what is open between the two, from the first; a jamb may lie this far off its work.
            off = 3 * PLACE / inner
            past = lambda side: (side - start + off) % (2 * math.pi) - off
            open_here = [tuple(map(past, hole)) for hole in holes if past(hole[0]) < gap - off]
            if open_here:
                low, high = min(h[0] for h in open_here), max(h[1] for h in open_here)
                if max(low, gap - high) > off:
                    problems.append(f"{part.name} course {course}: no work stands at the sides of a void")
                if gap * inner > WIDEST_JOINT / 2:
                    continue
            if gap * inner > WIDEST_JOINT * 4:
                ends.append((start, other.turn - half(other)))
            else:
                joints.append(start + gap / 2)
        face = median(p.sizes[0] for p in front)
        if below is not None:
            problems += _laps_over(part, course, joints, below[0], (face, inner, centre))
            # Where both courses end free, their ends are over one another.
            if len(ends) == len(below[1]) == 1 and any(
                apart(a, b) * inner > PLACE for a, b in zip(ends[0], below[1][0])
            ):
                problems.append(f"{part.name} course {course}: its ends do not stand over those below")
        below = joints, ends
    return problems


def _open_bays(part, centre, z):
    """Directions of the sides of each bay of a part's voids at a height, the low one first."""
    found = []
    for void in part.voids:
        if void.prism and void.prism.depth[0] <= z <= void.prism.depth[1]:
            turns = [math.atan2(y - centre[1], x - centre[0]) for x, y in void.prism.corners]
            found.append((turns[0], turns[3]))
    return found


def _laps_over(part, course, joints, below, round):
    """What is wrong with the laps of a turned course: short ones not listed, and listed ones that are not there."""
    face, inner, centre = round
    least, problems = face / 4, []
    apart = lambda a, b: abs((a - b + math.pi) % (2 * math.pi) - math.pi) * inner
    listed = [
        b for b in part.breaches if b["code"] == "lap-too-short" and b["course"] == course
    ]
    turn_of = lambda b: math.atan2(b["place"][1] - centre[1], b["place"][0] - centre[0])
    laps = [(joint, min(apart(joint, other) for other in below)) for joint in joints if below]
    for joint, lap in laps:
        if lap < least - PLACE and not any(apart(turn_of(b), joint) <= PLACE for b in listed):
            problems.append(f"{part.name} course {course}: a joint lies {lap / NM:.3f} over one below")
    for breach in listed:
        near = [lap for joint, lap in laps if apart(turn_of(breach), joint) <= PLACE]
        if not near or near[0] > least:
            problems.append(f"{breach['label']} {part.name} course {course}: no short lap is there")
        elif abs(float(breach["figure"]) * NM - near[0]) > PLACE:
            problems.append(f"{breach['label']}: figure {breach['figure']} is not the lap")
        elif abs(float(breach["limit"]) * NM - least) > PLACE:
            problems.append(f"{breach['label']}: limit {breach['limit']} is not the least lap")
    return problems


def _centre(box):
    return tuple((box[i] + box[i + 3]) // 2 for i in range(3))


def _is_at(breach, axis, box):
    """Whether a breach's place is the joint's: on its centre, anywhere on its face."""
    place, across = breach["place"], 1 - axis
    return (
        abs(2 * place[axis] - box[axis] - box[axis + 3]) <= 2 * PLACE
        and box[across] - PLACE <= place[across] <= box[across + 3] + PLACE
        and box[2] - PLACE <= place[2] <= box[5] + PLACE
    )


def _one_joint(box, other, axis, pieces):
    """Whether two joints at one place along a wall lie under or beside headers as deep as the two together."""
    if abs(box[axis] + box[axis + 3] - other[axis] - other[axis + 3]) > 2 * PLACE:
        return False
    across = 1 - axis
    low, high = min(box[across], other[across]), max(box[across + 3], other[across + 3])
    return any(
        p.role in ("header", "queen closer")
        and abs(p.box[across] - low) <= PLACE and abs(p.box[across + 3] - high) <= PLACE
        for p in pieces
    )


def _unreal(breach, short, least):
    laps = [
        lap for axis, box, lap, *_ in short
        if lap < 2 * (least + TOUCH) and _is_at(breach, axis, box)
    ]
    if not laps:
        return "no short lap is there"
    if abs(breach["limit"] * NM - least) > TOUCH:
        return f"limit {breach['limit']} is not the least lap {mm(least)}"
    if min(abs(2 * breach["figure"] * NM - lap) for lap in laps) > 2 * PLACE:
        return f"figure {breach['figure']} is not the lap"
    return None


def check_units(laid):
    """No piece is larger than its unit, and an uncut piece has its unit's sizes."""
    problems = []
    for piece in laid.pieces:
        if piece.unit not in laid.units:
            problems.append(f"{piece.label}: no unit is named {piece.unit}")
            continue
        size, unit = piece.size, laid.units[piece.unit]
        if any(word in piece.role for word in ON_EDGE):
            size, unit = sorted(size), sorted(unit)
        elif "header" in piece.role and size[0] <= unit[1] < size[1]:
            # A header's length may be stated along its projection.
            size = (size[1], size[0], size[2])
        if piece.role in STANDING and not piece.prism:
            problem = _standing(piece, laid.units[piece.unit])
            if problem:
                problems.append(f"{piece.label} {problem} {at(piece.box)}")
            continue
        if isinstance(piece.prism, Quad):
            problem = _voussoir(piece, unit)
            if problem:
                problems.append(f"{piece.label} {problem} {at(piece.box)}")
                continue
        elif piece.prism:
            inner, outer, reach, depth = piece.prism.sizes
            cut = sorted((max(inner, outer), reach, depth))
            if any(s > u for s, u in zip(cut, sorted(unit))):
                problems.append(f"{piece.label} is larger than unit {piece.unit} {at(piece.box)}")
                continue
            if piece.whole and inner == outer and cut != sorted(unit):
                problems.append(f"{piece.label} is uncut but not a whole {piece.unit}")
                continue
        if any(s > u for s, u in zip(size, unit)):
            problems.append(f"{piece.label} is larger than unit {piece.unit} {at(piece.box)}")
        elif piece.whole and tuple(size) != tuple(unit):
            problems.append(f"{piece.label} is uncut but not a whole {piece.unit} {at(piece.box)}")
    return problems


def _standing(piece, unit):
    """What is wrong with a piece on end or on edge: each side must be one of its unit's, or cut from it."""
    run, box = run_axis(piece), piece.box
    sides = [box[run + 3] - box[run], box[4 - run] - box[1 - run], box[5] - box[2]]
    meant = [unit[i] for i in STANDING[piece.role]]
    if sides[2] != meant[2] or any(s > m for s, m in zip(sides, meant)):
        return f"does not stand as a {piece.role}"
    if piece.whole and sides != meant:
        return "is uncut but not a whole unit"
    return None


def _voussoir(piece, unit):
    """What is wrong with a voussoir: it must come out of its unit, whole if it is neither cut nor tapered."""
    unit = sorted(unit)
    depth = piece.prism.depth[1] - piece.prism.depth[0]
    round_it = [sorted((*sides, depth)) for sides in piece.prism.rectangles()]
    if not any(all(s <= u + CORNERS for s, u in zip(sides, unit)) for sides in round_it):
        return f"is larger than unit {piece.unit}"
    if piece.whole and not piece.tapered:
        sides = piece.prism.edges()
        found = [sorted((a, b, depth)) for a, b in (sides[:2], sides[2:])]
        if any(abs(s - u) > CORNERS for one in found for s, u in zip(one, unit)):
            return f"is uncut but not a whole {piece.unit}"
    return None


def check_courses(laid):
    """A course has one height, courses ascend, and neighbours in a run do not cross."""
    problems = []
    for part in laid.parts.values():
        lower = None
        for course, pieces in sorted(part.courses.items()):
            # Voussoirs follow their arch, not the course.
            level = [p for p in pieces if not p.prism or p.prism.plane == "level"]
            for axis in (0, 1):
                straight = [p for p in level if not p.prism and run_axis(p) == axis]
                problems += _crossings(straight, axis)
            if not level:
                continue
            z = level[0].box[2]
            problems += [
                f"{p.label} lies at z {mm(p.box[2])}, its course at {mm(z)}"
                for p in level if p.box[2] != z
            ]
            if lower is not None and z <= lower:
                problems.append(f"{part.name} course {course} does not ascend: z {mm(z)}")
            lower = z
    return problems


def _crossings(pieces, axis):
    across, problems, open_pieces = 1 - axis, [], []
    for piece in sorted(pieces, key=lambda p: p.box[axis]):
        open_pieces = [p for p in open_pieces if p.box[axis + 3] > piece.box[axis]]
        for other in open_pieces:
            box = common(piece.box, other.box)
            flat = (min(piece.box[across + 3], other.box[across + 3])
                    - max(piece.box[across], other.box[across]))
            if flat <= TOUCH or (box and not material_crosses(piece, other)):
                continue
            gap = piece.box[axis] - other.box[axis + 3]
            problems.append(f"{other.label} and {piece.label}: gap {mm(gap)} {at(piece.box)}")
        open_pieces.append(piece)
    return problems


def material_crosses(one, other):
    """Whether what notches, bites and rakes leave of two pieces still crosses; exact without rakes."""
    if one.rakes or other.rakes:
        return (_solid(one) ^ _solid(other)).volume() > CRUMB
    return any(
        common(a, b) and not bitten_off(common(a, b), one.bites + other.bites)
        for a in one.boxes for b in other.boxes
    )


def check_ties(laid):
    """A tie lies in the bed over its course, between two leaves, and in no piece, body or opening."""
    problems = []
    for part in laid.parts.values():
        solids = [item for item in part.pieces + part.bodies if item.boxes]
        for label, course, place in part.ties:
            here, above = part.courses.get(course, []), part.courses.get(course + 1, [])
            if not here or not above:
                problems.append(f"{label}: no work under or over it")
                continue
            bed = (max(p.box[5] for p in here), min(p.box[2] for p in above))
            if not bed[0] <= place[2] <= bed[1]:
                problems.append(f"{label}: not in the bed over course {course}")
            for item in solids:
                if all(item.box[i] < place[i] < item.box[i + 3] for i in range(3)):
                    problems.append(f"{label}: in {item.label}")
            # Plumb with the tie, or a joint beside it, pieces of the course stand on both sides of it along x or along y.
            beside = lambda p, i: p.box[i] - WIDEST_JOINT <= place[i] <= p.box[i + 3] + WIDEST_JOINT
            between = any(
                any(beside(p, i) and p.box[j + 3] <= place[j] for p in here)
                and any(beside(p, i) and p.box[j] >= place[j] for p in here)
                for i, j in ((0, 1), (1, 0))
            )
            if not between:
                problems.append(f"{label}: not between two leaves")
    return problems


def check_corbels(laid):
    """Each step of a corbelled head is a void of its own, narrower by the step, with work at its ends, and closed over."""
    problems = []
    for part in laid.parts.values():
        for label, axis, below, depth, step, corners in part.corbels:
            half = len(corners) // 2
            left, right = corners[:half], corners[half:][::-1]
            steps = [(left[i], left[i + 1], right[i], right[i + 1]) for i in range(0, half, 2)]
            boxes = {void.box for void in part.voids if void.boxes}
            for a, a_top, b, b_top in steps:
                gap, z = (a[0], b[0]), (a[1], a_top[1])
                if (a_top[0], b_top[0]) != gap or (b[1], b_top[1]) != z:
                    problems.append(f"{label}: the outline is not of steps at z {mm(z[0])}")
                if gap != (below[0] + step, below[1] - step):
                    problems.append(f"{label}: the gap at z {mm(z[0])} is not a step narrower")
                along = (gap[0], depth[0], z[0], gap[1], depth[1], z[1])
                box = along if axis == 0 else tuple(along[i] for i in (1, 0, 2, 4, 3, 5))
                if box not in boxes:
                    problems.append(f"{label}: no void is open {at(box)}")
                ends = {p.box[axis + 3] for p in part.pieces if p.box[2] == z[0]}
                starts = {p.box[axis] for p in part.pieces if p.box[2] == z[0]}
                if gap[0] not in ends or gap[1] not in starts:
                    problems.append(f"{label}: no work ends at the gap at z {mm(z[0])}")
                below = gap
            if not steps:
                continue
            top = steps[-1][1][1]
            over = sorted(
                (p.box[axis], p.box[axis + 3]) for p in part.pieces
                if p.box[2] == top and p.box[1 - axis] < depth[1] and p.box[4 - axis] > depth[0]
            )
            reached = below[0]
            for start, end in over:
                if start <= reached + WIDEST_JOINT:
                    reached = max(reached, end)
            if reached < below[1]:
                problems.append(f"{label}: nothing closes the gap at z {mm(top)}")
    return problems


def in_foot(piece):
    """Whether a piece lies in a sill or threshold, whose joints need not lap over the course below."""
    return piece.role in ("sill rowlock", "threshold rowlock")


def check_sills(laid):
    """A sill is one slab, or so many units on edge within its box; and right over it the opening starts."""
    problems = []
    for part in laid.parts.values():
        for label, box, units in part.sills:
            held = [
                p for p in part.pieces
                if in_foot(p) and common(p.box, box) and volume(common(p.box, box)) == volume(p.box)
            ]
            if len(held) != units:
                problems.append(f"{label}: {len(held)} units lie in it, not {units}")
            if not units and box not in [body.box for body in part.bodies]:
                problems.append(f"{label}: no slab lies {at(box)}")
            over = (*box[:2], box[5], *box[3:5], box[5] + NM)
            if not any(void.boxes and common(void.box, over) for void in part.voids):
                problems.append(f"{label}: nothing is open over it {at(box)}")
        told = sum(units for _, _, units in part.sills)
        laid_there = sum(map(in_foot, part.pieces))
        if part.sills and told != laid_there:
            problems.append(f"{part.name}: {laid_there} units on edge in sills, {told} told")
    return problems


CHECKS = {
    "overlap": check_overlap,
    "envelope": check_envelope,
    "voids": check_voids,
    "volume": check_volume,
    "laps": check_laps,
    "units": check_units,
    "courses": check_courses,
    "ties": check_ties,
    "corbels": check_corbels,
    "sills": check_sills,
    "linings": linings.check,
}


def judge(path, least_lap=None):
    """The laid work and the problems by check; work of a wrong shape is judged no further."""
    laid, problems = read(path)
    if not problems and not laid.pieces:
        problems = ["no pieces"]
    if problems:
        return laid, {"shape": problems}
    found = {}
    for name, check in CHECKS.items():
        problems = check(laid, least_lap) if name == "laps" else check(laid)
        if problems:
            found[name] = problems
    return laid, found


def main(arguments):
    parser = argparse.ArgumentParser(description="Judges laid work from its JSON alone.")
    parser.add_argument("--least-lap", type=Decimal, metavar="MM")
    parser.add_argument("files", nargs="+", metavar="FILE.json")
    options = parser.parse_args(arguments)
    least = None if options.least_lap is None else int(options.least_lap * NM)
    failed = 0
    for path in options.files:
        laid, found = judge(path, least)
        name = os.path.basename(path)
        if found:
            failed += 1
            for check, problems in found.items():
                for problem in problems:
                    print(f"FAILED  {name}  {check}: {problem}")
        else:
            # The closed form is the sharper figure where there is one.
            sharp = {part: e for part, way, e, _ in reversed(volume_errors(laid))}
            error = max(map(abs, sharp.values()))
            solids = [
                abs(e / float(part.mortar))
                for part, way, e, _ in volume_errors(laid) if way == "solids"
            ]
            by_solids = f" solids error={max(solids):.2g}" if solids else ""
            print(f"ok  {name}  pieces={len(laid.pieces)} volume error={error:.3g} mm3{by_solids}")
    print(f"{len(options.files) - failed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
