"""Judges cutting plans and laid intervals against integer programmes, written without a look at the solvers' steps.

usage: programmes.py FOLDER, with cutting.json and intervals.json as tests/reference_cases.rs writes them.
"""

import json
import sys
from pathlib import Path

import highspy

# What an interval costs, first points first; no case has so many of any.
MISS, CUT = 10_000, 100
# Pieces shorter than this are no free cuts, in millimetres: common practice, no source.
SHORTEST_CUT = 20.0
BIG = 10_000.0


def model():
    h = highspy.Highs()
    h.setOptionValue("output_flag", False)
    h.setOptionValue("mip_rel_gap", 0.0)
    h.setOptionValue("mip_abs_gap", 0.0)
    h.setOptionValue("mip_feasibility_tolerance", 1e-9)
    h.setOptionValue("primal_feasibility_tolerance", 1e-9)
    return h


def least(h, goal):
    """The least of a goal, proved; none where nothing is feasible."""
    h.minimize(goal)
    status = h.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return None
    assert status == highspy.HighsModelStatus.kOptimal, status
    return round(h.getInfo().objective_function_value)


def total(h, terms):
    return h.qsum(terms)


def cutting(case):
    """Least bought, then least used, then least length: every piece is assigned to one stock length."""
    h = model()
    pieces = [(size, count, False) for size, count in case["pieces"]]
    pieces += [(size, count, True) for size, count in case["ended"]]
    whole = sum(count for _, count, _ in pieces)
    if whole == 0:
        return 0
    kerf, goal, taken = case["kerf"], [], [[] for _ in pieces]
    for kind in case["stock"]:
        number = whole if kind["number"] is None else min(kind["number"], whole)
        weight = 1_000_000 * kind["bought"] + 10_000 + kind["length"]
        before = None
        for _ in range(number):
            used = h.addBinary()
            goal.append(weight * used)
            if before is not None:
                h.addConstr(used <= before)
            before = used
            inside = [h.addIntegral(lb=0, ub=count) for _, count, _ in pieces]
            for own, mine in zip(taken, inside):
                own.append(mine)
            length = total(h, [(size + kerf) * x for (size, _, _), x in zip(pieces, inside)])
            h.addConstr(length <= (kind["length"] + kerf) * used)
            shown = [x for (_, _, ended), x in zip(pieces, inside) if ended]
            if shown and kind["ends"] is not None:
                h.addConstr(total(h, shown) <= kind["ends"])
    for (_, count, _), own in zip(pieces, taken):
        h.addConstr(total(h, own) == count)
    return least(h, total(h, goal))


def interval(case, pieces, with_odd):
    """So many pieces in places one after another; the joints share what is left."""
    h = model()
    kinds = [(case["unit"], 0)] + [(size, 1) for size in case["fractions"]]
    low, high = case["jointed"]
    joints = pieces - 1 + low + high
    chosen = [[h.addBinary() for _ in kinds] for _ in range(pieces)]
    odd = [h.addBinary() if with_odd else None for _ in range(pieces)]
    long = [h.addVariable(lb=0, ub=case["unit"] - 1e-4) if with_odd else None for _ in range(pieces)]
    goal = []
    lengths = []
    for at in range(pieces):
        one = list(chosen[at]) + ([odd[at]] if with_odd else [])
        h.addConstr(total(h, one) == 1)
        parts = [size * x for (size, _), x in zip(kinds, chosen[at])]
        for (size, cut), x in zip(kinds, chosen[at]):
            if cut:
                goal.append((CUT + MISS * (size < case["shortest"])) * x)
        if with_odd:
            goal.append((CUT + 1) * odd[at])
            h.addConstr(long[at] <= case["unit"] * odd[at])
            h.addConstr(long[at] >= SHORTEST_CUT * odd[at])
            parts.append(1.0 * long[at])
            short = h.addBinary()
            h.addConstr(long[at] >= case["shortest"] * odd[at] - BIG * short)
            goal.append(MISS * short)
        lengths.append(parts)
    if with_odd:
        h.addConstr(total(h, odd) == 1)
    shortest, nominal, longest = case["joint"]
    width = h.addVariable(lb=shortest, ub=longest) if not with_odd else h.addVariable(lb=nominal, ub=nominal)
    everything = [term for parts in lengths for term in parts]
    filled = total(h, everything) + joints * width
    # Thirds of a unit are whole nanometres only when rounded.
    h.addConstr(filled <= case["length"] + 1e-4)
    h.addConstr(filled >= case["length"] - 1e-4)
    edges = [-BIG] + case["below"] + [BIG]
    for joint in range(joints):
        before = joint if low else joint + 1
        terms = [term for parts in lengths[:before] for term in parts]
        middle = total(h, terms + [(joint + 0.5) * width])
        missed = h.addBinary()
        goal.append(MISS * missed)
        rooms = [missed]
        for left, right in zip(edges, edges[1:]):
            if left + case["lap"] > right - case["lap"]:
                continue
            room = h.addBinary()
            rooms.append(room)
            h.addConstr(middle >= left + case["lap"] - 2 * BIG * (1 - room))
            h.addConstr(middle <= right - case["lap"] + 2 * BIG * (1 - room))
        h.addConstr(total(h, rooms) >= 1)
    return least(h, total(h, goal))


def best_interval(case):
    found = []
    smallest = min([SHORTEST_CUT, *case["fractions"]]) + case["joint"][0]
    for with_odd in (False, True):
        for pieces in range(1, int(case["length"] / smallest) + 2):
            # Too many pieces even of the smallest kinds, or too few even of whole units.
            low, high = case["jointed"]
            joints = pieces - 1 + low + high
            small = min(case["fractions"]) * (pieces - with_odd) + SHORTEST_CUT * with_odd
            if small + joints * case["joint"][0] > case["length"]:
                continue
            if pieces * case["unit"] + joints * case["joint"][2] < case["length"]:
                continue
            value = interval(case, pieces, with_odd)
            if value is not None:
                found.append(value)
    return min(found, default=None)


def claimed_cutting(case):
    return round(1_000_000 * case["bought"] + 10_000 * case["used"] + case["length"])


def claimed_interval(case):
    return MISS * case["misses"] + CUT * case["cuts"] + case["odd"]


def rejects(case, key, judge, claimed):
    """Whether a judge sees through a case whose figure was altered, for better and for worse."""
    best = judge(case)
    return all(claimed({**case, key: case[key] + step}) != best for step in (-1, 1))


def main(folder):
    failures = 0
    judged = {}
    for name, judge, claimed, keys in (
        ("cutting", cutting, claimed_cutting, ("bought", "used", "length")),
        ("intervals", best_interval, claimed_interval, ("misses", "cuts", "odd")),
    ):
        cases = json.loads((Path(folder) / f"{name}.json").read_text())
        first = next(case for case in cases if not case.get("mortar") and judge(case))
        for key in keys:
            if not rejects(first, key, judge, claimed):
                print(f"FAILED  {name}: the judge takes a bad `{key}`")
                failures += 1
        judged[name] = 0
        for at, case in enumerate(cases):
            if case.get("mortar"):
                continue
            best = judge(case)
            if best is None:
                # Nothing fits: one piece was made to do, which no programme knows of.
                continue
            judged[name] += 1
            if best != claimed(case):
                print(f"FAILED  {name} {at}: {claimed(case)} claimed, {best} is best: {case}")
                failures += 1
        if judged[name] * 10 < len(cases) * 7:
            print(f"FAILED  {name}: only {judged[name]} of {len(cases)} could be judged")
            failures += 1
    print(", ".join(f"{count} {name}" for name, count in judged.items()), "judged by integer programmes")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
