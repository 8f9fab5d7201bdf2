"""Tries the checker: each bad fixture must fall to the check in its name, and to no other."""

import contextlib
import copy
import io
import json
import math
import os
import random
import sys
import tempfile
import time

import check_laid
import lined_fixtures
import make_fixtures
from geometry import (
    NM, Grid, Profile, Quad, circle_area, common, disjoint, less, solid_box, solid_cylinder, union, volume,
    within,
)

FOLDER = os.path.join(os.path.dirname(os.path.abspath(__file__)), "fixtures")
LARGE = 50_000
PATIENCE = 60  # seconds; a large work takes a fraction of it


def judge_work(work):
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "work.json")
        with open(path, "w", encoding="utf-8") as file:
            file.write(make_fixtures.text(work))
        return check_laid.judge(path)[1]


def fixture(name):
    found = check_laid.judge(os.path.join(FOLDER, name))[1]
    meant = set() if name.startswith("good") else {name.split("_")[1]}
    assert set(found) == meant, f"rejected by {sorted(found) or 'nothing'}: {found}"


def fixtures_are_as_written():
    made = make_fixtures.fixtures()
    assert sorted(os.listdir(FOLDER)) == sorted(made), "files differ from make_fixtures.py"
    for name, content in made.items():
        with open(os.path.join(FOLDER, name), encoding="utf-8") as file:
            assert file.read() == content, f"{name} differs from make_fixtures.py"


def every_check_has_a_bad_fixture():
    tried = {name.split("_")[1] for name in (*make_fixtures.BAD, *lined_fixtures.BAD)}
    assert tried == {"shape", *check_laid.CHECKS}, tried


def command_tells():
    good, bad = (os.path.join(FOLDER, n) for n in ("good.json", "bad_volume_boxes.json"))
    for files, code, last in (([good], 0, "1 passed, 0 failed"), ([good, bad], 1, "1 passed, 1 failed")):
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            result = check_laid.main(files)
        lines = out.getvalue().splitlines()
        assert (result, lines[-1]) == (code, last), (result, lines)
        assert lines[0].startswith("ok  good.json  pieces=114 volume error="), lines


def least_lap_can_be_given():
    good = os.path.join(FOLDER, "good.json")
    assert set(check_laid.judge(good, 63 * NM)[1]) == {"laps"}


def body_in_bites_passes():
    work = make_fixtures.good()
    make_fixtures.bar_through_bites(work, 104)
    assert judge_work(work) == {}


def larger_bite_off_centre_passes():
    work = make_fixtures.good()
    bite = make_fixtures.at(work, "cabinet", 3, 250, 625)["bites"][0]
    bite["centre"] = [373, 259]  # 5 mm away, and 5 mm larger
    make_fixtures.set_mortar(work)
    assert judge_work(work) == {}


def crossing_bites_pass():
    """Two bites in one piece that meet, their union had by quadrature."""
    work = make_fixtures.good()
    bite = copy.deepcopy(make_fixtures.at(work, "cabinet", 3, 250, 625)["bites"][0])
    bite["centre"] = [420, 255]
    make_fixtures.at(work, "cabinet", 3, 250, 625)["bites"].append(bite)
    steps, more = 100_000, 0.0
    for i in range(steps):
        x = 365 + 110 * (i + 0.5) / steps
        arcs = [
            math.sqrt(max(0.0, 55**2 - (x - c) ** 2)) for c in (370, 420)
        ]
        # Only what lies below the top of the piece at z 249 is bitten.
        more += max(0, max(arcs) - 6) - max(0, arcs[0] - 6)
    work["parts"][0]["mortar_mm3"] += more * 110 / steps * 115
    assert judge_work(work) == {}
    work["parts"][0]["mortar_mm3"] *= 1.002
    assert set(judge_work(work)) == {"volume"}


def corner_joint_may_be_listed():
    """A corner's joint joins two runs: it need not be listed, but it is real."""
    work = make_fixtures.good()
    # The left wall stops at the back wall in course 4 as it does in course 5.
    p = make_fixtures.at(work, "cabinet", 4, 0, 500)
    p.update(length=115, cut={"kind": "half"})
    q = make_fixtures.at(work, "cabinet", 4, 125, 625)
    q.update(x=0, length=115, cut={"kind": "half"}, bites=[])
    work["voids"] = [v for v in work["voids"] if v["shape"] != "cylinder"]
    for other in work["pieces"]:
        other["bites"] = []
    make_fixtures.set_mortar(work)
    assert judge_work(work) == {}
    work["breaches"].append(dict(
        part="cabinet", course=5, code="lap-too-short",
        x=57.5, y=620, z=make_fixtures.z_of(5), figure=0, limit=60,
    ))
    assert judge_work(work) == {}


def stones_end_to_end_pass():
    """The end of one stone two courses high is one joint, whatever its neighbour is in each of them."""
    work = make_fixtures.good()
    make_fixtures.stones(work)
    assert judge_work(work) == {}


def one_breach_speaks_for_a_joint_through_the_wall():
    """Over a joint between two headers the joints of both leaves are one."""
    work = make_fixtures.good()
    make_fixtures.in_two_leaves(work, through=True)
    assert judge_work(work) == {}


def circle_areas_agree():
    chance = random.Random(1)
    for _ in range(60):
        a, z, r = chance.uniform(-50, 50), chance.uniform(-50, 50), chance.uniform(1, 80)
        x0, z0 = chance.uniform(-120, 60), chance.uniform(-120, 60)
        x1, z1 = x0 + chance.uniform(1, 150), z0 + chance.uniform(1, 150)
        nm = [round(v * NM) for v in (x0, z0, x1, z1, a, z, r)]
        want = make_fixtures.round_in_rectangle(x0, z0, x1, z1, a, z, r, steps=20_000)
        got = circle_area(nm[:4], *nm[4:])
        assert abs(got - want) < 0.005, (nm, got, want)
    whole = circle_area((-9, -9, 9, 9), 0, 0, 5)
    assert abs(whole - math.pi * (5 / NM) ** 2) < 1e-9 * whole


def round_solids_agree():
    chance = random.Random(2)
    for _ in range(40):
        axis = chance.randrange(2)
        low = [chance.randrange(-100, 50) * NM for _ in range(3)]
        box = (*low, *(v + chance.randrange(20, 150) * NM for v in low))
        cylinder = (axis, *(chance.randrange(-50, 50) * NM for _ in range(2)), 40 * NM, -30 * NM, 70 * NM)
        solid = (solid_box(box) ^ solid_cylinder(cylinder)).volume()
        assert abs(solid - within(cylinder, box)) < 20, (box, cylinder, solid)


def arch_along_y_passes():
    """The arch of the good work, with x and y exchanged."""
    work = make_fixtures.good()
    part = work["parts"][-1]
    boxes = part["envelope"] + [v for v in work["voids"] if v["part"] == "arch" and "x" in v]
    for box in boxes:
        box["length"], box["width"] = box["width"], box["length"]
    pieces = [p for p in work["pieces"] if p["part"] == "arch"]
    for thing in boxes + pieces:
        thing["x"], thing["y"] = thing["y"], thing["x"]
    for p in pieces:
        p["turn"] = 90
        if "prism" in p:
            p["prism"]["axis"] = "y"
    work["voids"][-1]["axis"] = "y"
    assert judge_work(work) == {}
    work["voids"][-1]["profile"] = make_fixtures.half_circle(make_fixtures.SOFFIT + 1)
    part["mortar_mm3"] -= math.pi / 2 * (2 * make_fixtures.SOFFIT + 1) * 115
    assert set(judge_work(work)) == {"voids"}


def outlines_agree():
    """Areas in closed form against solids, of outlines with straight sides, an arc, or both."""
    chance = random.Random(5)
    for turn in range(60):
        wide, high, up = (chance.randrange(20, 200) * NM for _ in range(3))
        middle, bottom, below = (chance.randrange(0, 100) * NM for _ in range(3))
        circle = None
        shoulder, half = bottom + high, wide + up * (turn % 2)
        if turn % 3:
            circle = shoulder - below, round(math.hypot(half, below))
        if turn % 3 == 2:
            bottom, wide = shoulder, half
        profile, axis = Profile(middle, bottom, wide, shoulder, half, circle), turn % 2
        low = [chance.randrange(-200, 100) * NM for _ in range(3)]
        box = (*low, *(v + chance.randrange(50, 400) * NM for v in low))
        depth = box[1 - axis], box[4 - axis]
        solid = (solid_box(box) ^ profile.solid(axis, (depth[0] - NM, depth[1] + NM))).volume()
        area = profile.area((box[axis], box[2], box[axis + 3], box[5]))
        want = area * (depth[1] - depth[0]) / NM
        assert abs(solid - want) < 20, (turn, solid, want)
        whole = profile.solid(axis, depth)
        reach = [round(v * NM) for v in whole.bounding_box()]
        assert all(abs(a - b) < 1000 for a, b in zip(reach, profile.box(axis, depth))), (turn, reach)


def voussoirs_agree():
    chance = random.Random(6)
    for turn in range(20):
        near = lambda a, z: ((a + chance.randrange(30)) * NM, (z + chance.randrange(30)) * NM)
        corners = [near(0, 0), near(70, 0), near(80, 200), near(0, 200)]
        quad = Quad(turn % 2, corners, (-5 * NM, 110 * NM))
        assert min(quad.turns()) > 0
        solid = quad.solid()
        assert abs(solid.volume() - float(quad.volume())) < 1e-3
        reach = [round(v * NM) for v in solid.bounding_box()]
        assert all(abs(a - b) < 10 for a, b in zip(reach, quad.box)), (reach, quad.box)


def random_boxes(chance, count):
    boxes = []
    for _ in range(count):
        low = [chance.randrange(0, 40) * NM for _ in range(3)]
        boxes.append((*low, *(v + chance.randrange(1, 15) * NM for v in low)))
    return boxes


def boxes_agree():
    chance = random.Random(3)
    for _ in range(20):
        boxes = random_boxes(chance, 12)
        solid = union([solid_box(box) for box in boxes]).volume()
        assert abs(sum(map(volume, disjoint(boxes))) / NM**3 - solid) < 1e-6
        rest = less(boxes[0], boxes[1])
        taken = common(boxes[0], boxes[1])
        assert sum(map(volume, rest)) == volume(boxes[0]) - (volume(taken) if taken else 0)


def grid_finds_all():
    chance = random.Random(4)
    boxes = random_boxes(chance, 300) + [(0, 0, 0, 55 * NM, 55 * NM, 55 * NM)]
    grid = Grid(boxes)
    for box in boxes:
        assert grid.near(box) == [i for i, other in enumerate(boxes) if common(box, other)]


def large_work(rows=500, columns=100):
    pieces = [
        make_fixtures.piece("wall", row + 1, (row % 2) * 125 + column * 250, 0)
        for row in range(rows) for column in range(columns)
    ]
    width, height = columns * 250 + 125, rows * make_fixtures.GAUGE
    work = make_fixtures.good()
    work.update(
        plan="large", pieces=pieces, bodies=[], voids=[], breaches=[],
        parts=[dict(
            name="wall", kind="wall", least_lap_mm=60, mortar_mm3=0,
            envelope=[make_fixtures.box(0, 0, 0, width, 115, height)],
        )],
    )
    p = make_fixtures.at(work, "wall", 3, 250, 0)
    p.update(cut={"kind": "bite"}, bites=[{"axis": "y", "centre": [370, 200], "radius": 30}])
    work["voids"].append({
        "part": "wall", "name": "pipe", "kind": "duct", "shape": "cylinder",
        "axis": "y", "centre": [370, 200], "radius": 20, "from": 0, "to": 115,
    })
    make_fixtures.set_mortar(work)
    return work


def large_work_is_quick():
    work = large_work()
    assert len(work["pieces"]) == LARGE
    start = time.monotonic()
    found = judge_work(work)
    taken = time.monotonic() - start
    assert found == {}, {k: v[:3] for k, v in found.items()}
    assert taken < PATIENCE, f"{taken:.0f} s"
    print(f"    {LARGE} pieces in {taken:.1f} s")


def main():
    tests = [
        fixtures_are_as_written, every_check_has_a_bad_fixture, command_tells,
        least_lap_can_be_given, body_in_bites_passes, larger_bite_off_centre_passes,
        crossing_bites_pass, corner_joint_may_be_listed, stones_end_to_end_pass,
        one_breach_speaks_for_a_joint_through_the_wall, circle_areas_agree,
        round_solids_agree, arch_along_y_passes, outlines_agree, voussoirs_agree, boxes_agree, grid_finds_all, large_work_is_quick,
    ]
    runs = [(test.__name__, test) for test in tests]
    runs += [
        (name, lambda name=name: fixture(name)) for name in sorted(os.listdir(FOLDER))
    ]
    failed = 0
    for name, test in runs:
        try:
            test()
            print(f"ok  {name}")
        except Exception as problem:
            failed += 1
            print(f"FAILED  {name}  {type(problem).__name__}: {problem}")
    print(f"{len(runs) - failed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
