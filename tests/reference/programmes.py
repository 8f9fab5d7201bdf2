"""Judges cutting plans and laid intervals against integer programmes, written without a look at the solvers' steps.

usage: programmes.py FOLDER LAID, with cutting.json and intervals.json as tests/reference_cases.rs writes them and
plans.json as tests/reference_plans.rs does; LAID holds what `perpend lay` prints of the same plans.
"""

import json
import sys
from collections import Counter, defaultdict
from pathlib import Path

import highspy

# What an interval costs, first points first; no case has so many of any.
MISS, CUT = 10_000, 100
# Pieces shorter than this are no free cuts, in millimetres: common practice, no source.
SHORTEST_CUT = 20.0
BIG = 10_000.0
NM = 1_000_000
# Ways to cut one unit, beyond which a programme takes too long.
MOST_PATTERNS = 50_000
# Intervals of one plan that are judged.
MOST_INTERVALS = 6


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
    """So many pieces, and vents and headers in their order, in places one after another; joints share what is left."""
    h = model()
    kinds = [(case["unit"], 0)] + [(size, 1) for size in case["fractions"]]
    floats = case.get("floats", [])
    gaps = sum(gap for gap, _, _ in floats)
    low, high = case["jointed"]
    places = pieces + len(floats)
    joints = places - 1 + low + high - 2 * gaps
    chosen = [[h.addBinary() for _ in kinds] for _ in range(places)]
    odd = [h.addBinary() if with_odd else None for _ in range(places)]
    long = [h.addVariable(lb=0, ub=case["unit"] - 1e-4) if with_odd else None for _ in range(places)]
    held = [[h.addBinary() for _ in floats] for _ in range(places)]
    goal = []
    lengths = []
    for at in range(places):
        one = list(chosen[at]) + ([odd[at]] if with_odd else []) + held[at]
        h.addConstr(total(h, one) == 1)
        parts = [size * x for (size, _), x in zip(kinds, chosen[at])]
        parts += [size * x for (_, size, _), x in zip(floats, held[at])]
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
    # Widths of the joint before each place and after the last; none beside a gap.
    opens = [[x for (gap, _, _), x in zip(floats, own) if gap] for own in held]
    beside = [(opens[at - 1] if at else []) + (opens[at] if at < places else []) for at in range(places + 1)]
    widths = []
    for at, near in enumerate(beside):
        if (at == 0 and not low) or (at == places and not high):
            widths.append(None)
        elif not near:
            widths.append(1.0 * width)
        else:
            own = h.addVariable(lb=0, ub=longest)
            gap = total(h, near)
            h.addConstr(gap <= 1)
            h.addConstr(own <= longest - longest * gap)
            h.addConstr(own <= width)
            h.addConstr(own >= width - longest * gap)
            widths.append(1.0 * own)
    for own in opens[:1] + opens[-1:]:
        # A vent has a piece on both sides.
        if own:
            h.addConstr(total(h, own) == 0)
    everything = [term for parts in lengths for term in parts]
    filled = total(h, everything) + joints * width
    # Thirds of a unit are whole nanometres only when rounded.
    h.addConstr(filled <= case["length"] + 1e-4)
    h.addConstr(filled >= case["length"] - 1e-4)
    before = None
    for f, (_, size, target) in enumerate(floats):
        h.addConstr(total(h, [held[at][f] for at in range(places)]) == 1)
        here = total(h, [float(at) * held[at][f] for at in range(places)])
        if before is not None:
            h.addConstr(here >= before + 1)
        before = here
        # Not further from where it is wanted than half a unit and joint.
        reach = (case["unit"] + nominal) / 2
        for at in range(places):
            terms = [term for parts in lengths[:at] for term in parts]
            terms += [one for one in widths[:at + 1] if one is not None]
            middle = total(h, terms) + size / 2 if terms else None
            if middle is None:
                if abs(size / 2 - target) > reach:
                    h.addConstr(held[at][f] <= 0)
                continue
            h.addConstr(middle >= target - reach - BIG * (1 - held[at][f]))
            h.addConstr(middle <= target + reach + BIG * (1 - held[at][f]))
    edges = [-BIG] + case["below"] + [BIG]
    for at in range(places + 1):
        if widths[at] is None:
            continue
        terms = [term for parts in lengths[:at] for term in parts]
        terms += [one for one in widths[:at] if one is not None]
        middle = total(h, terms + [0.5 * widths[at]])
        missed = h.addBinary()
        goal.append(MISS * missed)
        rooms = [missed] + beside[at]
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
    floats = case.get("floats", [])
    gaps = sum(gap for gap, _, _ in floats)
    free = case["length"] - sum(size for _, size, _ in floats)
    for with_odd in (False, True):
        for pieces in range(1, int(case["length"] / smallest) + 2):
            # Too many pieces even of the smallest kinds, or too few even of whole units.
            low, high = case["jointed"]
            joints = pieces + len(floats) - 1 + low + high - 2 * gaps
            if pieces + len(floats) - gaps <= gaps:
                continue
            small = min(case["fractions"]) * (pieces - with_odd) + SHORTEST_CUT * with_odd
            if small + joints * case["joint"][0] > free + 1e-4:
                continue
            if pieces * case["unit"] + joints * case["joint"][2] < free - 1e-4:
                continue
            value = interval(case, pieces, with_odd)
            if value is not None:
                found.append(value)
    return min(found, default=None)


def patterns(length, kerf, ends, kinds):
    """Every way to cut pieces out of a length that leaves room for no other; kinds: (size, whether an end shows, most)."""
    found = []

    def cut(at, room, free, taken):
        if at == len(kinds):
            if all(
                number >= most or size + kerf > room or (shown and free == 0)
                for (size, shown, most), number in zip(kinds, taken)
            ):
                found.append(tuple(taken))
            return
        size, shown, most = kinds[at]
        for number in range(most, -1, -1):
            if number * (size + kerf) <= room and (not shown or number <= free):
                cut(at + 1, room - number * (size + kerf), free - number * shown, taken + [number])

    cut(0, length + kerf, ends, [])
    return found


def cut_pieces(laid):
    """The cut pieces of `perpend lay`, by unit and direction: how many of each size that show an end, or none."""
    units = {unit["name"]: unit for unit in laid["units"]}
    groups = defaultdict(Counter)
    for piece in laid["pieces"]:
        unit = units[piece["unit"]]
        if piece["cut"] is None or piece["cut"]["kind"] == "split along its length":
            continue
        # However a piece stands or lies, cut across it keeps its unit's width on one side, cut along its length.
        sides = sorted((piece["length"], piece["width"], piece["height"]))
        along = unit["width"] not in sides
        sides.remove(unit["length"] if along else unit["width"])
        # The height is the side that is left of the unit's own; of a voussoir the length is told.
        if unit["height"] in sides:
            sides.remove(unit["height"])
        else:
            sides = [piece["width"] if along else piece["length"]]
        # A closer shows one of the two long faces of its unit.
        [size] = sides
        shown = along or piece["finished_ends"] > 0
        groups[piece["unit"], along][round(size * NM), shown] += 1
    return [
        (round(units[name]["width" if along else "length"] * NM), along, counts)
        for (name, along), counts in sorted(groups.items())
    ]


def cut_up(plan, laid):
    """Fewest whole units that a plan's cut pieces come out of: so many of each pattern. None where patterns are too many."""
    sum_of_units = 0
    kerf = round(plan["kerf"] * NM)
    for length, along, counts in cut_pieces(laid):
        kinds = sorted(((size, shown, number) for (size, shown), number in counts.items()), reverse=True)
        stock = [(length, 2, None)]
        if not along:
            half = max([size for size, _, _ in kinds if 2 * size <= length] + [(length - round(plan["joint"] * NM)) // 2])
            stock += [(half, 1, plan["halves"])] if plan["halves"] else []
            stock += [(round(size * NM), 1, number) for size, number in plan["offcuts"]]
        h = model()
        goal, made = [], [[] for _ in kinds]
        for size, ends, number in stock:
            ways = patterns(size, kerf, ends, kinds)
            if len(ways) > MOST_PATTERNS:
                return None
            used = []
            for way in ways:
                x = h.addIntegral(lb=0)
                used.append(x)
                for own, count in zip(made, way):
                    if count:
                        own.append(count * x)
                if number is None:
                    goal.append(1.0 * x)
            if number is not None:
                h.addConstr(total(h, used) <= number)
        for (_, _, number), own in zip(kinds, made):
            h.addConstr(total(h, own) >= number)
        sum_of_units += least(h, total(h, goal))
    return sum_of_units


def claimed_cutting(case):
    return round(1_000_000 * case["bought"] + 10_000 * case["used"] + case["length"])


def claimed_interval(case):
    return MISS * case["misses"] + CUT * case["cuts"] + case["odd"]


def rejects(case, key, judge, claimed):
    """Whether a judge sees through a case whose figure was altered, for better and for worse."""
    best = judge(case)
    return all(claimed({**case, key: case[key] + step}) != best for step in (-1, 1))


def judge_plans(folder, laid_in):
    """Failures, with how many cutting plans and intervals of real plans were judged."""
    failures, plans, intervals, skipped, blade = 0, 0, 0, 0, 0
    for plan in json.loads((Path(folder) / "plans.json").read_text()):
        laid = json.loads((Path(laid_in) / f"{plan['name']}.json").read_text())
        best = cut_up(plan, laid)
        if best is None:
            skipped += 1
        else:
            plans += 1
            if best != plan["cut_up"]:
                print(f"FAILED  {plan['name']}: {plan['cut_up']} units cut up claimed, {best} is best")
                failures += 1
            # A blade of a decimetre leaves few pieces to a unit.
            blade += cut_up({**plan, "kerf": 100.0}, laid) > best
        for case in spread(plan["intervals"], MOST_INTERVALS):
            if case["mortar"]:
                continue
            best = best_interval(case)
            if best is None:
                skipped += 1
                continue
            intervals += 1
            if best != claimed_interval(case):
                print(f"FAILED  {plan['name']}: {claimed_interval(case)} claimed, {best} is best: {case}")
                failures += 1
    if not blade:
        print("FAILED  the judge of cutting plans does not see the blade")
        failures += 1
    print(f"{plans} cutting plans and {intervals} intervals of laid plans judged, {skipped} left out")
    return failures, plans, intervals


def spread(items, most):
    """At most so many, from the first to the last, those with vents or headers before others."""
    items = sorted(items, key=lambda case: not case["floats"])
    return [items[at * len(items) // most] for at in range(most)] if len(items) > most else items


def main(folder, laid_in):
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
    wrong, plans, intervals = judge_plans(folder, laid_in)
    failures += wrong
    if plans < 10 or intervals < 50:
        print("FAILED  too few plans could be judged")
        failures += 1
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
