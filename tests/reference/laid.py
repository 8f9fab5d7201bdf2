"""Reads laid work as JSON into exact whole nanometres."""

import json
import math
from decimal import Decimal

import linings
from geometry import Level, Prism, Profile, Quad, less, volume

SCHEMA = "perpend.laid/1"
AXES = {"x": 0, "y": 1}
ROUNDING = 4  # nm: of an arch's radius and half span, each rounded by itself


class Malformed(Exception):
    pass


class Item:
    """A piece, a body or a void: boxes less cylinders and rakes, a cylinder, a prism, or a profile carried through.

    A rake and a profile are (axis, outline, depth), with a depth from face to face of their item.
    """

    def __init__(self, label, part):
        self.label, self.part = label, part
        self.box, self.boxes, self.bites, self.cylinder = None, [], [], None
        self.prism, self.rakes, self.profile = None, [], None


class Reader:
    def __init__(self):
        self.problems = []

    def number(self, data, key, where):
        value = data.get(key) if isinstance(data, dict) else data[key]
        if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
            raise Malformed(f"{where}: {key} is not a number")
        return value

    def length(self, data, key, where):
        nm = Decimal(self.number(data, key, where)).scaleb(6)
        if nm != int(nm):
            raise Malformed(f"{where}: {key} is finer than a nanometre")
        return int(nm)

    def size(self, data, key, where):
        value = self.length(data, key, where)
        if value <= 0:
            raise Malformed(f"{where}: {key} is not above zero")
        return value

    def text(self, data, key, where):
        value = data.get(key)
        if not isinstance(value, str) or not value:
            raise Malformed(f"{where}: {key} is not a text")
        return value

    def listed(self, data, key, where):
        value = data.get(key)
        if not isinstance(value, list) or not all(isinstance(v, dict) for v in value):
            raise Malformed(f"{where}: {key} is not a list of objects")
        return value

    def turn(self, data, where):
        turn = data.get("turn")
        if turn not in (0, 90):
            raise Malformed(f"{where}: turn is neither 0 nor 90")
        return int(turn)

    def box(self, data, where, turn=0):
        if not isinstance(data, dict):
            raise Malformed(f"{where}: not a box")
        x, y, z = (self.length(data, key, where) for key in "xyz")
        length, width, height = (
            self.size(data, key, where) for key in ("length", "width", "height")
        )
        along, across = (width, length) if turn else (length, width)
        return x, y, z, x + along, y + across, z + height

    def round(self, data, where):
        axis = data.get("axis")
        centre = data.get("centre")
        if axis not in AXES:
            raise Malformed(f"{where}: axis is neither x nor y")
        if not isinstance(centre, list) or len(centre) != 2:
            raise Malformed(f"{where}: centre is not a pair")
        a, z = self.length(centre, 0, where), self.length(centre, 1, where)
        return AXES[axis], a, z, self.size(data, "radius", where)


    def prism(self, data, where):
        if not isinstance(data, dict):
            raise Malformed(f"{where}: not a prism")
        plane = data.get("plane")
        if plane not in ("level", "x", "y"):
            raise Malformed(f"{where}: plane is neither level nor x nor y")
        pairs = {key: self.pair(data, key, where) for key in ("centre", "depth")}
        sizes = [
            self.size(data, key, where)
            for key in ("inner", "outer", "inner_width", "outer_width")
        ]
        if sizes[0] >= sizes[1] or pairs["depth"][0] >= pairs["depth"][1]:
            raise Malformed(f"{where}: it has no depth")
        angle = float(self.number(data, "angle", where))
        return Prism(plane, pairs["centre"], angle, *sizes, pairs["depth"])

    def pair(self, data, key, where):
        pair = data.get(key) if isinstance(data, dict) else data[key]
        if not isinstance(pair, list) or len(pair) != 2:
            raise Malformed(f"{where}: {key} is not a pair")
        return self.length(pair, 0, where), self.length(pair, 1, where)

    def level(self, data, where):
        """A level prism over four corners."""
        corners = data.get("corners")
        if data.get("plane") != "level" or not isinstance(corners, list) or len(corners) != 4:
            raise Malformed(f"{where}: not a level prism over four corners")
        corners = [self.pair(corners, i, f"{where} corners") for i in range(4)]
        level = Level(corners, self.pair(data, "depth", where))
        if level.depth[0] >= level.depth[1]:
            raise Malformed(f"{where}: it has no depth")
        if min(level.turns()) <= 0:
            raise Malformed(f"{where}: corners are not anticlockwise round a convex figure")
        return level

    def quad(self, data, where):
        """A voussoir's prism."""
        if not isinstance(data, dict) or data.get("axis") not in AXES:
            raise Malformed(f"{where}: axis is neither x nor y")
        corners = data.get("corners")
        if not isinstance(corners, list) or len(corners) != 4:
            raise Malformed(f"{where}: corners are not four")
        corners = [self.pair(corners, i, f"{where} corners") for i in range(4)]
        depth = self.pair(data, "depth", where)
        quad = Quad(AXES[data["axis"]], corners, depth)
        if depth[0] >= depth[1]:
            raise Malformed(f"{where}: it has no depth")
        if min(quad.turns()) <= 0:
            raise Malformed(f"{where}: corners are not anticlockwise round a convex figure")
        if not isinstance(data.get("tapered"), bool):
            raise Malformed(f"{where}: tapered is neither true nor false")
        return quad

    def profile(self, data, where):
        """An arch's outline, whose circle starts where its straight sides end."""
        if not isinstance(data, dict):
            raise Malformed(f"{where}: not a profile")
        middle, bottom, shoulder = (
            self.length(data, key, where) for key in ("middle", "bottom", "shoulder")
        )
        halves = [self.size(data, key, where) for key in ("bottom_half", "shoulder_half")]
        circle = data.get("circle")
        if circle is not None:
            if not isinstance(circle, dict):
                raise Malformed(f"{where}: circle is neither an object nor null")
            z, radius = self.length(circle, "z", where), self.size(circle, "radius", where)
            if z > shoulder or abs(math.hypot(halves[1], shoulder - z) - radius) > ROUNDING:
                raise Malformed(f"{where}: the circle does not start at the shoulder")
            circle = z, radius
        level = shoulder == bottom
        if shoulder < bottom or (level and (circle is None or halves[0] != halves[1])):
            raise Malformed(f"{where}: its sides have no height")
        if halves[0] > halves[1]:
            raise Malformed(f"{where}: it narrows to the shoulder")
        return Profile(middle, bottom, halves[0], shoulder, halves[1], circle)


class Part:
    def __init__(self, name):
        self.name, self.prisms = name, []
        self.envelope, self.mortar, self.least_lap = [], None, None
        self.pieces, self.bodies, self.voids, self.breaches = [], [], [], []
        self.ties, self.corbels, self.sills = [], [], []
        self.courses = {}


class Laid:
    def __init__(self):
        self.name, self.units, self.parts = "", {}, {}
        self.pieces, self.bodies, self.voids, self.breaches = [], [], [], []
        self.ties, self.linings = [], []
        self.volume_errors = None


def _refuse(word):
    raise Malformed(f"{word} is not a number of JSON")


def read(path):
    """The laid work and the problems of its shape (then the work is unusable)."""
    reader, laid = Reader(), Laid()

    def each(items, build):
        for index, data in enumerate(items):
            try:
                build(index, data)
            except Malformed as problem:
                reader.problems.append(str(problem))

    try:
        with open(path, encoding="utf-8") as file:
            data = json.load(file, parse_float=Decimal, parse_constant=_refuse)
        if not isinstance(data, dict):
            raise Malformed("not an object")
        if data.get("schema") != SCHEMA:
            raise Malformed(f"schema is not {SCHEMA}")
        if data.get("unit_of_length") != "mm":
            raise Malformed("unit_of_length is not mm")
        laid.name = reader.text(data, "plan", "plan")
        lists = {
            key: reader.listed(data, key, "file")
            for key in ("units", "parts", "pieces", "bodies", "voids", "breaches")
        }
        # Work without these need not list them.
        for key in ("ties", "corbels", "sills", "linings"):
            lists[key] = reader.listed(data, key, "file") if key in data else []
    except (Malformed, ValueError, OSError) as problem:
        return laid, [str(problem)]

    def a_unit(index, data):
        where = f"units[{index}]"
        name = reader.text(data, "name", where)
        if name in laid.units:
            raise Malformed(f"{where}: a second unit named {name}")
        laid.units[name] = tuple(
            reader.size(data, key, where) for key in ("length", "width", "height")
        )

    def a_part(index, data):
        where = f"parts[{index}]"
        part = Part(reader.text(data, "name", where))
        if part.name in laid.parts:
            raise Malformed(f"{where}: a second part named {part.name}")
        part.kind = reader.text(data, "kind", where)
        for i, entry in enumerate(reader.listed(data, "envelope", where)):
            if "corners" in entry:
                part.prisms.append(reader.level(entry, f"{where} envelope[{i}]"))
            elif "plane" in entry:
                part.prisms.append(reader.prism(entry, f"{where} envelope[{i}]"))
            else:
                part.envelope.append(reader.box(entry, f"{where} envelope[{i}]"))
        part.mortar = Decimal(reader.number(data, "mortar_mm3", where))
        if data.get("least_lap_mm") is not None:
            part.least_lap = reader.length(data, "least_lap_mm", where)
        laid.parts[part.name] = part

    def the_part(data, where):
        name = reader.text(data, "part", where)
        if name not in laid.parts:
            raise Malformed(f"{where}: no part is named {name}")
        return laid.parts[name]

    def the_course(data, where):
        course = data.get("course")
        if isinstance(course, bool) or not isinstance(course, int) or course < 1:
            raise Malformed(f"{where}: course is not a whole number from 1")
        return course

    def a_piece(index, data):
        where = f"pieces[{index}]"
        part = the_part(data, where)
        piece = Item(where, part.name)
        piece.course = the_course(data, where)
        piece.role = reader.text(data, "role", where)
        piece.unit = reader.text(data, "unit", where)
        piece.turn = reader.turn(data, where)
        piece.size = tuple(
            reader.size(data, key, where) for key in ("length", "width", "height")
        )
        for key in ("cut", "notch"):
            if key not in data or not isinstance(data[key], (dict, type(None))):
                raise Malformed(f"{where}: {key} is neither an object nor null")
        piece.whole = data["cut"] is None
        if data.get("run") not in (None, "x", "y"):
            raise Malformed(f"{where}: run is neither x nor y")
        piece.run = AXES.get(data.get("run"))
        if data.get("turned") is not None:
            piece.prism = reader.prism(data["turned"], f"{where} turned")
            piece.box = piece.prism.box
            stated = [reader.length(data, key, where) for key in "xyz"]
            if any(abs(a - b) > 1 for a, b in zip(stated, piece.box)):
                raise Malformed(f"{where}: its corner is not that of the box round it")
        elif data.get("prism") is not None:
            piece.prism = reader.quad(data["prism"], f"{where} prism")
            piece.tapered = data["prism"]["tapered"]
            piece.box = piece.prism.box
            if [reader.length(data, key, where) for key in "xyz"] != list(piece.box[:3]):
                raise Malformed(f"{where}: its corner is not that of the box round it")
        else:
            piece.box = reader.box(data, where, piece.turn)
            piece.boxes = [piece.box]
        if data["notch"] is not None:
            piece.boxes = less(piece.box, reader.box(data["notch"], f"{where} notch"))
            if not piece.boxes:
                raise Malformed(f"{where}: its notch leaves nothing")
        # A bite goes right through its piece.
        bites = {
            reader.round(bite, f"{where} bites[{i}]")
            for i, bite in enumerate(reader.listed(data, "bites", where))
        }
        piece.bites = [
            (axis, a, z, r, piece.box[axis], piece.box[axis + 3])
            for axis, a, z, r in sorted(bites)
        ]
        # A rake goes right through its piece too, across the run.
        if data.get("rakes"):
            axis = piece.run if piece.run is not None else int(piece.turn == 90)
            piece.rakes = [
                (
                    axis, reader.profile(rake, f"{where} rakes[{i}]"),
                    (piece.box[1 - axis], piece.box[4 - axis]),
                )
                for i, rake in enumerate(reader.listed(data, "rakes", where))
            ]
        ends = data.get("finished_ends")
        if isinstance(ends, bool) or ends not in (0, 1, 2):
            raise Malformed(f"{where}: finished_ends is not 0, 1 or 2")
        piece.label = f"{where} {piece.part} course {piece.course} {piece.role}"
        laid.pieces.append(piece)
        part.pieces.append(piece)
        part.courses.setdefault(piece.course, []).append(piece)

    def a_body(index, data):
        where = f"bodies[{index}]"
        part = the_part(data, where)
        body = Item(f"{where} {part.name} {reader.text(data, 'kind', where)}", part.name)
        body.box = reader.box(data, where, reader.turn(data, where) if "turn" in data else 0)
        body.boxes = [body.box]
        # Grooves are cut out of it; they may not reach out of it or into each other.
        for i, groove in enumerate(reader.listed(data, "grooves", where) if "grooves" in data else []):
            taken = reader.box(groove, f"{where} grooves[{i}]")
            left = [rest for box in body.boxes for rest in less(box, taken)]
            if sum(map(volume, body.boxes)) - sum(map(volume, left)) != volume(taken):
                raise Malformed(f"{where}: grooves[{i}] is not cut out of it alone")
            body.boxes = left
        laid.bodies.append(body)
        part.bodies.append(body)

    def a_void(index, data):
        where = f"voids[{index}]"
        part = the_part(data, where)
        void = Item(f"{where} {part.name} {reader.text(data, 'kind', where)}", part.name)
        shape = data.get("shape")
        if shape == "box":
            void.box = reader.box(data, where)
            void.boxes = [void.box]
        elif shape == "bay":
            void.prism = reader.level(data, where)
            void.box = void.prism.box
        elif shape in ("cylinder", "profile"):
            start, end = reader.length(data, "from", where), reader.length(data, "to", where)
            if start >= end:
                raise Malformed(f"{where}: from is not below to")
            if shape == "cylinder":
                void.cylinder = (*reader.round(data, where), start, end)
            else:
                if data.get("axis") not in AXES:
                    raise Malformed(f"{where}: axis is neither x nor y")
                axis, outline = AXES[data["axis"]], reader.profile(data.get("profile"), where)
                void.profile = axis, outline, (start, end)
                void.box = outline.box(axis, (start, end))
        else:
            raise Malformed(f"{where}: shape is neither box nor bay nor cylinder nor profile")
        laid.voids.append(void)
        part.voids.append(void)

    def a_breach(index, data):
        where = f"breaches[{index}]"
        part = the_part(data, where)
        breach = {"label": where, "part": part.name, "code": reader.text(data, "code", where)}
        if breach["code"] == "lap-too-short":
            breach["course"] = the_course(data, where)
            breach["place"] = tuple(reader.length(data, key, where) for key in "xyz")
            for key in ("figure", "limit"):
                breach[key] = Decimal(reader.number(data, key, where))
        laid.breaches.append(breach)
        part.breaches.append(breach)

    def a_tie(index, data):
        where = f"ties[{index}]"
        part = the_part(data, where)
        place = tuple(reader.length(data, key, where) for key in "xyz")
        tie = (f"{where} {part.name}", the_course(data, where), place)
        laid.ties.append(tie)
        part.ties.append(tie)

    def a_corbel(index, data):
        where = f"corbels[{index}]"
        part = the_part(data, where)
        if data.get("axis") not in AXES:
            raise Malformed(f"{where}: axis is neither x nor y")
        outline = data.get("outline")
        if not isinstance(outline, list) or len(outline) % 4:
            raise Malformed(f"{where}: outline is not of steps with four corners")
        corners = [reader.pair(outline, i, f"{where} outline") for i in range(len(outline))]
        part.corbels.append((
            f"{where} {part.name}", AXES[data["axis"]], reader.pair(data, "span", where),
            reader.pair(data, "depth", where), reader.size(data, "step", where), corners,
        ))

    def a_sill(index, data):
        where = f"sills[{index}]"
        part = the_part(data, where)
        units = data.get("units")
        if isinstance(units, bool) or not isinstance(units, int) or units < 0:
            raise Malformed(f"{where}: units is not a count")
        part.sills.append((f"{where} {part.name}", reader.box(data, where), units))

    each(lists["units"], a_unit)
    each(lists["parts"], a_part)
    each(lists["pieces"], a_piece)
    each(lists["bodies"], a_body)
    each(lists["voids"], a_void)
    each(lists["breaches"], a_breach)
    each(lists["ties"], a_tie)
    each(lists["corbels"], a_corbel)
    each(lists["sills"], a_sill)
    each(
        lists["linings"],
        lambda index, item: laid.linings.append(linings.read(reader, item, f"linings[{index}]", the_part)),
    )
    return laid, reader.problems
