#!/usr/bin/env python3
"""Counts a finished design again from its layers alone, and holds the take-off against that.

    python3 tests/reference/takeoff_recount.py OUT

Reads `layers/*.geojson` as anyone would, knows nothing of the program's own counting, and compares with `takeoff.csv`
and `takeoff.xlsx` of every parcel: heads by model, nozzle and arc, pipe by size, fittings by what meets at each node,
coils (packed again, piece by piece), valves, drains, gravel, trench, sleeves, wire. Ends with 1 where a count differs.
"""

import csv
import json
import math
import pathlib
import sys
from collections import Counter, defaultdict

import openpyxl

PLACE_M = 0.003  # places are written to about a millimetre


class Parcel:
    def __init__(self, folder):
        self.folder = folder
        self.layers = {}
        for path in (folder / "layers").glob("*.geojson"):
            self.layers[path.stem] = json.loads(path.read_text(encoding="utf-8"))["features"]
        self.nodes = {f["properties"]["id"]: f for f in self.layers["nodes"]}
        self.pipes = self.layers["mains"] + self.layers["laterals"]
        first = self.pipes[0]["geometry"]["coordinates"][0] if self.pipes else (0.0, 0.0)
        phi, a, e2 = math.radians(first[1]), 6378137.0, 0.00669437999014
        w = math.sqrt(1 - e2 * math.sin(phi) ** 2)
        self.east = math.radians(1) * a / w * math.cos(phi)
        self.north = math.radians(1) * a * (1 - e2) / w**3
        self.rows = list(csv.DictReader((folder / "takeoff.csv").open(encoding="utf-8")))

    def metres(self, place):
        return place[0] * self.east, place[1] * self.north

    def rows_of(self, begin, size=None, exact=False):
        for row in self.rows:
            same = row["item"] == begin if exact else row["item"].startswith(begin)
            if same and (size is None or row["size"] == size):
                yield row

    def quantity(self, begin, size=None, exact=False):
        return sum(float(row["quantity"]) for row in self.rows_of(begin, size, exact))


def turn_range(a, b):
    """Least and greatest turn in degrees of pipe that comes in along -a and leaves along b, places being rounded."""
    dot, cross = a[0] * b[0] + a[1] * b[1], a[0] * b[1] - a[1] * b[0]
    turn = 180.0 - math.degrees(math.atan2(abs(cross), dot))
    slack = sum(math.degrees(math.atan2(PLACE_M, math.hypot(*v))) for v in (a, b))
    return max(0.0, turn - slack), turn + slack


def elbows(turn, stiff):
    if turn < (10.0 if stiff else 30.0):
        return Counter()
    eighths = int(turn / 45.0 + 0.5)
    return Counter({0: {"45": 1}, 1: {"45": 1}, 2: {"90": 1}, 3: {"90": 1, "45": 1}}.get(eighths, {"90": 2}))


def elbow_ways(turns, stiff):
    """The elbows that a turn in a range may take."""
    return {tuple(sorted(elbows(turn, stiff).items())) for turn in turns}


class Joints:
    """Pipe ends by node and section; counts fittings, and joins pieces that are laid uncut."""

    def __init__(self, parcel):
        self.p = parcel
        self.sizes = self.widths()
        self.coil_m = {}
        self.ends = defaultdict(list)
        self.pieces = []  # length, size
        self.joined = []
        self.least, self.most = Counter(), Counter()
        for pipe in parcel.pipes:
            self.take(pipe)

    def widths(self):
        """Inside width of each size, which orders the sizes of a material."""
        return {size(f): f["properties"]["inside_mm"] for f in self.p.pipes}

    def coil(self, of):
        if of not in self.coil_m:
            rows = [r for r in self.p.rows_of(f"{of[0]} pipe, ", of[1]) if " of " in r["item"] and "waste" not in r["item"]]
            self.coil_m[of] = float(rows[0]["item"].split(" of ")[1].split(" m")[0]) if rows else None
        return self.coil_m[of]

    def stiff(self, of):
        return self.coil(of) is not None and self.coil(of) < 20.0

    def elbow(self, of, turns):
        ways = elbow_ways(turns, self.stiff(of))
        for kind in ("45", "90"):
            counts = [dict(way).get(kind, 0) for way in ways]
            self.least[of, kind] += min(counts)
            self.most[of, kind] += max(counts)
        return len(ways) == 1 and () in ways

    def take(self, pipe):
        p, of = pipe["properties"], size(pipe)
        line = [self.p.metres(c) for c in pipe["geometry"]["coordinates"]]
        line = [c for i, c in enumerate(line) if i == 0 or math.dist(c, line[i - 1]) > 1e-6]
        plan = sum(math.dist(a, b) for a, b in zip(line, line[1:])) or 1.0
        done, first = 0.0, len(self.pieces)
        start = 0.0
        for a, b, c in zip(line, line[1:], line[2:]):
            done += math.dist(a, b)
            turns = turn_range((a[0] - b[0], a[1] - b[1]), (c[0] - b[0], c[1] - b[1]))
            if not self.elbow(of, turns):
                self.pieces.append((p["length_m"] * (done - start) / plan, of))
                start = done
        self.pieces.append((p["length_m"] * (plan - start) / plan, of))
        section = p["station"] or "main"
        away = lambda a, b: (b[0] - a[0], b[1] - a[1])
        for node, piece, way in (
            (p["from_node"], first, away(line[0], line[1]) if len(line) > 1 else (1.0, 0.0)),
            (p["to_node"], len(self.pieces) - 1, away(line[-1], line[-2]) if len(line) > 1 else (1.0, 0.0)),
        ):
            self.ends[node, section].append((piece, of, way))


def size(pipe):
    return pipe["properties"]["material"], pipe["properties"]["nominal"]


def fittings(parcel, joints):
    """Fewest and most of every fitting but couplings."""
    outlets, in_pipe = Counter(), Counter()
    for drain in parcel.layers["drains"]:
        d = drain["properties"]
        outlets[d["node"], "main" if d["section"] == "main" else d["section"]] += 1
    for valve in parcel.layers["air_valves"]:
        outlets[valve["properties"]["node"], "main"] += 1
    for valve in parcel.layers["valves"]:
        v = valve["properties"]
        node = parcel.nodes[v["node"]]["properties"]
        if v["kind"] != "control" and node["kind"] not in ("valve", "source"):
            in_pipe[v["node"], node["station"] or "main"] += 1
    counted = Counter()
    for (node, section), arms in joints.ends.items():
        n = parcel.nodes[node]["properties"]
        valve, source = n["kind"] == "valve", n["kind"] == "source"
        ways = len(arms) + (valve or source)
        widest = max((of for _, of, _ in arms), key=lambda of: joints.sizes[of])
        for _, of, _ in arms:
            if joints.sizes[of] < joints.sizes[widest]:
                onto = f" to {of[0]}" if of[0] != widest[0] else ""
                counted[f"{widest[0]} reducer{onto}", f"{widest[1]} x {of[1]}"] += 1
        two = len(arms) == 2
        bend = turn_range(arms[0][2], arms[1][2]) if two else None
        plain = joints.elbow(widest, bend) if two and ways in (2, 3) else False
        if two and ways == 2 and plain and arms[0][1] == arms[1][1] and not in_pipe[node, section]:
            joints.joined.append((arms[0][0], arms[1][0]))
        if ways == 3:
            counted[f"{widest[0]} tee", widest[1]] += 1
            if len(arms) == 3:
                tee_elbows(joints, arms, widest)
        elif ways > 3:
            counted[f"{widest[0]} cross", widest[1]] += 1
            counted[f"{widest[0]} tee", widest[1]] += ways - 4
        counted[f"{widest[0]} valve connector", widest[1]] += valve + 2 * in_pipe[node, section]
        counted[f"{widest[0]} supply connector", widest[1]] += source
        here = outlets[node, section] + (n.get("head") is not None and (n["station"] or "main") == section)
        end = ways == 1 and not valve and not source
        counted[f"{widest[0]} end elbow with threaded outlet", widest[1]] += end and here > 0
        counted[f"{widest[0]} end cap", widest[1]] += end and here == 0
        counted[f"{widest[0]} saddle with threaded outlet", widest[1]] += here - (end and here > 0)
    return counted


def tee_elbows(joints, arms, widest):
    """Elbows of a run that is not straight and of a branch that is not square; near ties may fall either way."""
    mean = lambda a, b: sum(turn_range(arms[a][2], arms[b][2])) / 2
    orders = sorted(((0, 1, 2), (0, 2, 1), (1, 2, 0)), key=lambda o: mean(o[0], o[1]))
    close = [o for o in orders if mean(o[0], o[1]) - mean(orders[0][0], orders[0][1]) < 0.5]
    counts = []
    for a, b, branch in close:
        low = {"least": Counter(), "most": Counter()}
        for of, turns in (
            (widest, turn_range(arms[a][2], arms[b][2])),
            (arms[branch][1], tuple(abs(t - 90.0) for t in turn_range(arms[a][2], arms[branch][2]))),
        ):
            if of is not widest and turns[0] > 90.0 > turns[1]:
                turns = (0.0, *turns)
            ways = elbow_ways(turns, joints.stiff(of))
            for kind in ("45", "90"):
                low["least"][of, kind] += min(dict(w).get(kind, 0) for w in ways)
                low["most"][of, kind] += max(dict(w).get(kind, 0) for w in ways)
        counts.append(low)
    for key in {k for c in counts for k in c["most"]}:
        joints.least[key] += min(c["least"][key] for c in counts)
        joints.most[key] += max(c["most"][key] for c in counts)


def runs(joints):
    root = list(range(len(joints.pieces)))

    def find(i):
        while root[i] != i:
            root[i] = root[root[i]]
            i = root[i]
        return i

    for a, b in joints.joined:
        root[find(a)] = find(b)
    lengths = defaultdict(float)
    for i, (length, _) in enumerate(joints.pieces):
        lengths[find(i)] += length
    by_size = defaultdict(list)
    for i, length in lengths.items():
        by_size[joints.pieces[i][1]].append(length)
    return by_size


def coils_needed(lengths, coil_m):
    """Coils that cutting takes, best fit after the longest first, whole coils for what is longer."""
    whole, rests, open_coils = 0, [], []
    for length in lengths:
        whole += int((length + 1e-6) // coil_m)
        rests.append(length - coil_m * int((length + 1e-6) // coil_m))
    for rest in sorted((r for r in rests if r > 1e-6), reverse=True):
        fits = [i for i, left in enumerate(open_coils) if left + 1e-6 >= rest]
        if fits:
            open_coils[min(fits, key=lambda i: open_coils[i])] -= rest
        else:
            open_coils.append(coil_m - rest)
    return whole + len(open_coils), math.ceil(sum(lengths) / coil_m - 1e-6)


def wire(parcel):
    """Metres of single conductors and of the common one, along the mains from the source."""
    ways = defaultdict(list)
    for pipe in parcel.layers["mains"]:
        p = pipe["properties"]
        ways[p["from_node"]].append((p["to_node"], p["length_m"], p["id"]))
        ways[p["to_node"]].append((p["from_node"], p["length_m"], p["id"]))
    source = [k for k, f in parcel.nodes.items() if f["properties"]["kind"] == "source"]
    reached, used, stack = {n: (0.0, ()) for n in source}, {}, list(source)
    while stack:
        node = stack.pop()
        for other, length, pipe in ways[node]:
            if other not in reached:
                reached[other] = (reached[node][0] + length, reached[node][1] + ((pipe, length),))
                stack.append(other)
    singles = 0.0
    for valve in parcel.layers["valves"]:
        v = valve["properties"]
        if v["kind"] in ("control", "master") and v["node"] in reached:
            singles += reached[v["node"]][0]
            used.update(reached[v["node"]][1])
    return singles, sum(used.values())


def arc_words(p):
    if p["arc_sweep_deg"] >= 359.99:
        return {"full circle"}
    return {f"arc {min(355, 5 * max(1, int((p['arc_sweep_deg'] + d) / 5 + 0.5)))}°" for d in (-0.06, 0.0, 0.06)}


def heads(parcel, told):
    left = Counter()
    for row in parcel.rows:
        if row["group"] == "heads" and ", nozzle " in row["item"]:
            left[row["item"]] += int(float(row["quantity"]))
    doubtful = []
    for head in parcel.layers["heads"]:
        p = head["properties"]
        items = [f"{p['model']}, nozzle {p['nozzle']}, {words}" for words in sorted(arc_words(p))]
        if len(items) == 1:
            left[items[0]] -= 1
        else:
            doubtful.append(items)
    for items in doubtful:
        left[next((i for i in items if left[i] > 0), items[0])] -= 1
    told("heads by model, nozzle and arc", sum(abs(n) for n in left.values()), 0)
    told("swing joints", parcel.quantity("swing joint"), len(parcel.layers["heads"]))
    checks = sum(head["properties"]["check_valve"] for head in parcel.layers["heads"])
    told("check valves", parcel.quantity("check valve"), checks)


def spreadsheet(parcel, told):
    sheet = openpyxl.load_workbook(parcel.folder / "takeoff.xlsx")["Take-off"]
    cells = list(sheet.iter_rows(values_only=True))[1:]
    told("lines of the spreadsheet", len(cells), len(parcel.rows))
    for cell, row in zip(cells, parcel.rows):
        same = [str(c or "") for c in (cell[0], cell[1], cell[2], cell[4])]
        told(f"spreadsheet: {row['item']}", same, [row["group"], row["item"], row["size"], row["unit"]])
        told(f"spreadsheet: {row['item']}, quantity", float(cell[3]), float(row["quantity"]))
        told(f"spreadsheet: {row['item']}, price", float(cell[5] or 0), float(row["unit_price"] or 0))


def check(folder):
    parcel, differ, done = Parcel(folder), [], 0

    def told(what, ours, theirs, slack=1e-6):
        nonlocal done
        done += 1
        same = abs(ours - theirs) <= slack if isinstance(ours, (int, float)) else ours == theirs
        if not same:
            differ.append(f"{folder.name}: {what}: the take-off says {ours}, the layers {theirs}")

    spreadsheet(parcel, told)
    heads(parcel, told)
    joints = Joints(parcel)
    counted = fittings(parcel, joints)
    for (item, of), count in counted.items():
        told(f"{item} {of}", parcel.quantity(item, of, exact=True), count)
    for row in parcel.rows:
        if row["group"] == "fittings" and "elbow " not in row["item"].replace("end elbow", "") and "coupling" not in row["item"]:
            told(f"{row['item']} {row['size']}", float(row["quantity"]), counted[row["item"], row["size"]])
    for of in joints.sizes:
        for kind in ("45", "90"):
            found = parcel.quantity(f"{of[0]} elbow {kind}°", of[1], exact=True)
            told(f"{of} elbow {kind}", joints.least[of, kind] <= found <= joints.most[of, kind], True)
    for of, lengths in runs(joints).items():
        laid = parcel.quantity(f"{of[0]} pipe", of[1], exact=True)
        told(f"{of} metres", laid, sum(f["properties"]["length_m"] for f in parcel.pipes if size(f) == of), 0.01)
        if joints.coil(of):
            coils = parcel.quantity(f"{of[0]} pipe, coils", of[1]) + parcel.quantity(f"{of[0]} pipe, bars", of[1])
            packed, least = coils_needed(lengths, joints.coil(of))
            told(f"{of} coils are not short ({coils} for {packed}, {least} at least)", coils >= least, True)
            told(f"{of} coils are not more than cutting by best fit and one ({coils} for {packed})", coils <= packed + 1, True)
            bought = coils * joints.coil(of) - laid
            told(f"{of} waste", parcel.quantity(f"{of[0]} pipe, waste of cutting", of[1]), bought, 0.01)
    for valve, count in Counter((f["properties"]["kind"], f["properties"]["size"]) for f in parcel.layers["valves"]).items():
        told(f"{valve} valves", parcel.quantity(f"{valve[0]} valve", valve[1], exact=True), count)
    drains = [f["properties"] for f in parcel.layers["drains"]]
    for kind in ("automatic", "manual"):
        told(f"drains, {kind}", parcel.quantity(f"drain valve, {kind}"), sum(d["kind"] == kind for d in drains))
    told("flushing points", parcel.quantity("flushing point"), sum(d["kind"] == "flush" for d in drains))
    told("gravel", parcel.quantity("gravel"), sum(d["gravel_l"] or 0.0 for d in drains), 0.01 * (1 + len(drains)))
    told("air valves", parcel.quantity("air valve"), len(parcel.layers["air_valves"]))
    up_m = 0.001 * (1 + len(parcel.layers["trenches"]))  # the layer rounds each up to a millimetre
    trench_m = Counter()
    for trench in parcel.layers["trenches"]:
        trench_m[trench["properties"]["surface"]] += trench["properties"]["length_m"]
    words = {"turf": "trench in turf", "bare": "trench in bare ground", "bed": "trench in beds", "roots": "trench in roots", "paving": "trench under paving"}
    for surface, begin in words.items():
        told(begin, parcel.quantity(begin), trench_m[surface], up_m)
    sleeved = {f["properties"]["id"]: f["properties"]["length_m"] for f in parcel.layers["trenches"] if f["properties"]["sleeve"]}
    beside = [length for f in parcel.pipes for t, length in sleeved.items() if t in f["properties"]["trench"]]
    of_sleeve = [r for r in parcel.rows_of("sleeve", exact=True)]
    told("sleeves, m", sum(float(r["quantity"]) for r in of_sleeve), sum(beside), 0.001 * (1 + len(beside)))
    told("sleeves, pieces", parcel.quantity("sleeve, pieces"), len(beside))
    singles, common = wire(parcel)
    told("wire to valves", parcel.quantity("wire, one conductor"), singles, 0.05)
    told("wire, common", parcel.quantity("wire, common"), common, 0.05)
    outputs = sum(f["properties"]["kind"] in ("control", "master") for f in parcel.layers["valves"])
    told("controller outputs", parcel.quantity("controller output"), outputs)
    return differ, done


def main():
    folders = sorted(p.parent for p in (pathlib.Path(sys.argv[1]) / "parcels").glob("*/takeoff.csv"))
    differ, done = [], 0
    for folder in folders:
        found, count = check(folder)
        differ += found
        done += count
    for line in differ:
        print("DIFFERS", line)
    print(f"{done} counts of {len(folders)} parcels held against their layers, {len(differ)} differ")
    sys.exit(1 if differ or not folders else 0)


if __name__ == "__main__":
    main()
