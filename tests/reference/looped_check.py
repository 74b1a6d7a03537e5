"""How cheap a looped main can be, by other means than the program's: what `docs/methods/sizing.md` quotes.

Branch and bound over the flows that continuity leaves free, and over nothing else. In a box of flows each pipe's loss
lies between that at its least and at its greatest flow; sizes and heads are chosen by a linear programme (HiGHS), with
whole sizes only where broken ones cost nearly as much as the design to be proven. Loops stay closed. Boxes are halved
until each costs at least as much as that design. Shares no code and no bound with the program.

    python looped_check.py two_loop.json 0.9     # seconds
    python looped_check.py hanoi.json 0.97       # an hour or more
"""

import heapq
import json
import sys
import time

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

case = json.load(open(sys.argv[1]))
EXPONENT, CONSTANT = 1.852, 10.666829
# Share of the cost to be proven from which on sizes must be whole.
NEARLY = float(sys.argv[2])
LEAST = case["requirement"]["min_pressure_m"]

names = [n["id"] for n in case["sources"] + case["nodes"]]
place = {name: i for i, name in enumerate(names)}
head_source = case["sources"][0]["head_m"]
assert len(case["sources"]) == 1
demand = np.array([0.0] + [n["demand_m3h"] / 3600 for n in case["nodes"]])
least = np.array([head_source] + [n["z"] + LEAST for n in case["nodes"]])
ends = [(place[p["from"]], place[p["to"]]) for p in case["pipes"]]
length = np.array([p["length_m"] for p in case["pipes"]])
rough = np.array([p["C"] for p in case["pipes"]])
bore = np.array([s["diameter_mm"] / 1000 for s in case["catalogue"]])
price = np.outer(length, [s["cost_per_m"] for s in case["catalogue"]])
resistance = CONSTANT * np.outer(length / rough**EXPONENT, bore**-4.871)
nodes, pipes, sizes = len(names), len(ends), len(bore)
total = demand.sum()

# The design to be proven.
inches = [s["diameter_in"] for s in case["catalogue"]]
best = sum(
    price[i, inches.index(case["best_known"]["diameters_in"][p["id"]])]
    for i, p in enumerate(case["pipes"])
)

# Continuity: chords are the pipes that a QR of the incidence matrix leaves over when those that carry most come first.
incidence = np.zeros((nodes - 1, pipes))
for i, (a, b) in enumerate(ends):
    if a > 0:
        incidence[a - 1, i] -= 1
    if b > 0:
        incidence[b - 1, i] += 1
carried = [abs(case["expected"]["pipes"][p["id"]]["flow_lps"]) for p in case["pipes"]]
tree = []
for i in np.argsort(carried)[::-1]:
    if np.linalg.matrix_rank(incidence[:, tree + [i]]) == len(tree) + 1:
        tree.append(i)
chords = [i for i in range(pipes) if i not in tree]
inverse = np.linalg.inv(incidence[:, tree])
factor = np.zeros((pipes, len(chords)))
base = np.zeros(pipes)
base[tree] = inverse @ demand[1:]
factor[tree] = np.rint(-inverse @ incidence[:, chords])
for k, c in enumerate(chords):
    factor[c, k] = 1.0


def loss(r, q):
    return np.sign(q) * np.maximum(r * np.abs(q) ** EXPONENT, 1e-3 * np.abs(q))


def spans(lo, hi):
    """Least and greatest flow of each pipe."""
    middle, half = (lo + hi) / 2, (hi - lo) / 2
    return base + factor @ middle - np.abs(factor) @ half, base + factor @ middle + np.abs(factor) @ half


# Variables: a binary for each pipe and size, then the heads.
count = pipes * sizes + nodes
cost = np.concatenate([price.ravel(), np.zeros(nodes)])
integral = np.concatenate([np.ones(pipes * sizes), np.zeros(nodes)])
bounds = Bounds(
    np.concatenate([np.zeros(pipes * sizes), least - 1e-6]),
    np.concatenate([np.ones(pipes * sizes), np.full(nodes, head_source)]),
)
rows, cols, values = [], [], []
for i in range(pipes):
    rows += [i] * sizes
    cols += range(i * sizes, (i + 1) * sizes)
    values += [1.0] * sizes
one_size = LinearConstraint(coo_matrix((values, (rows, cols)), shape=(pipes, count)).tocsr(), 1, 1)


def bound(lo, hi, whole):
    """Cost of the cheapest sizes whose losses fit some flows of the box; infinite if none do.

    With whole sizes it is asked only whether any are cheaper than the design to be proven; 0 if some are.
    """
    q_lo, q_hi = spans(lo, hi)
    # With one source and no inflow no pipe carries more than is drawn in all.
    q_lo, q_hi = np.maximum(q_lo, -total), np.minimum(q_hi, total)
    if (q_lo > q_hi + 1e-12).any():
        return np.inf
    least_m, most_m = loss(resistance, q_lo[:, None]), loss(resistance, q_hi[:, None])
    # A size that takes more than there is, is none.
    spread = head_source - least.min() + 1e-6
    upper = np.concatenate([((least_m <= spread) & (most_m >= -spread)).ravel().astype(float), np.full(nodes, head_source)])
    rows, cols, values = [], [], []
    for side, losses in ((0, least_m), (1, most_m)):
        clipped = np.clip(losses, -10 * spread, 10 * spread)
        for i, (a, b) in enumerate(ends):
            row = side * pipes + i
            rows += [row] * (sizes + 2)
            cols += [pipes * sizes + a, pipes * sizes + b, *range(i * sizes, (i + 1) * sizes)]
            values += [1.0, -1.0, *(-clipped[i])]
    matrix = coo_matrix((values, (rows, cols)), shape=(2 * pipes, count)).tocsr()
    low = np.concatenate([np.full(pipes, -1e-6), np.full(pipes, -np.inf)])
    high = np.concatenate([np.full(pipes, np.inf), np.full(pipes, 1e-6)])
    solved = milp(
        cost,
        integrality=integral if whole else None,
        bounds=Bounds(bounds.lb, upper),
        constraints=[one_size, LinearConstraint(matrix, low, high), LinearConstraint(cost, -np.inf, best * (1 - 1e-7))],
        options={"mip_rel_gap": 1e9 if whole else 1e-7, "time_limit": 60},
    )
    if solved.status == 2:
        return np.inf
    return solved.fun if not whole and solved.status == 0 else 0.0


# Best first: the bound of the whole is that of the next box.
begun = time.time()
lo, hi = np.full(len(chords), -total), np.full(len(chords), total)
heap, made, done, programmes = [(0.0, 0, lo, hi)], 1, 0, 0
while heap:
    under, _, lo, hi = heapq.heappop(heap)
    if under >= best * (1 - 1e-7):
        break
    done += 1
    if done % 100 == 0:
        told = f"{done} boxes, {programmes} with whole sizes, {len(heap)} open, bound {under:.0f}"
        print(f"{told}, {time.time() - begun:.0f} s", flush=True)
    q_lo, q_hi = spans(lo, hi)
    middle = np.abs((q_lo + q_hi) / 2)
    # Halve the chord whose span leaves most head open in middling pipe.
    open_m = [
        np.sum(np.abs(factor[:, k]) * np.minimum(loss(np.median(resistance, axis=1), middle + (hi[k] - lo[k]) / 2), 1e3))
        if hi[k] - lo[k] > 1e-9
        else 0.0
        for k in range(len(chords))
    ]
    k = int(np.argmax(np.array(hi - lo) if under == 0.0 else np.array(open_m) * (hi - lo)))
    at = 0.0 if lo[k] < 0 < hi[k] else (lo[k] + hi[k]) / 2
    for a, b in ((lo[k], at), (at, hi[k])):
        part_lo, part_hi = lo.copy(), hi.copy()
        part_lo[k], part_hi[k] = a, b
        value = bound(part_lo, part_hi, False)
        if NEARLY * best < value < best * (1 - 1e-7):
            value, programmes = max(value, bound(part_lo, part_hi, True)), programmes + 1
        if value < best * (1 - 1e-7):
            made += 1
            heapq.heappush(heap, (max(value, under), made, part_lo, part_hi))
print(f"no sizes cost less than {best:.2f}: {done} boxes, {time.time() - begun:.0f} s")
