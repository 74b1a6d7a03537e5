"""The same heads as in coverage.rs, rained in NumPy: prints the same lines, for comparison.

Run: OMP_NUM_THREADS=1 python3 benches/coverage_numpy.py
"""

import time

import numpy as np

RADIUS_M = 10.0
PASSES = 41
F32 = np.float32


def heads(cell_m):
    """x, y, start, sweep: a square lattice, a little off the cells, arcs of a quarter to a full circle in turn."""
    return [
        (
            (i // 8) * RADIUS_M + 0.31 * cell_m * (i % 7),
            (i % 8) * RADIUS_M + 0.17 * cell_m * (i % 5),
            (37.0 * i) % 360.0,
            (90.0, 180.0, 270.0, 360.0)[i % 4],
        )
        for i in range(64)
    ]


def weights(side, origin_m, cell_m, head, tilt):
    """Window of the grid about a head, and the weights of its cells: cone, sector, slope."""
    x, y, start, sweep = head
    reach_m = RADIUS_M / (1.0 - np.hypot(*tilt))
    first = [max(int((at - reach_m - origin_m) / cell_m), 0) for at in (x, y)]
    last = [min(int((at + reach_m - origin_m) / cell_m) + 1, side) for at in (x, y)]
    offset = lambda k, at: (origin_m + (np.arange(first[k], last[k]) + 0.5) * cell_m - at).astype(F32)
    dx, dy = offset(0, x)[None, :], offset(1, y)[:, None]
    far = np.sqrt(dx * dx + dy * dy)
    if tilt == (0.0, 0.0):
        weight = F32(3) - far * F32(3 / RADIUS_M)
        np.maximum(weight, 0, out=weight)
    else:
        effective = far + (F32(tilt[0]) * dx + F32(tilt[1]) * dy)
        gathered = effective / far
        weight = F32(3) - effective * F32(3 / RADIUS_M)
        np.maximum(weight, 0, out=weight)
        weight *= gathered * gathered
    if sweep < 360.0:
        begin, end = np.radians(start), np.radians(start + sweep)
        after = F32(np.cos(begin)) * dx - F32(np.sin(begin)) * dy >= 0
        before = F32(np.sin(end)) * dy - F32(np.cos(end)) * dx >= 0
        weight *= (after & before) if sweep <= 180.0 else (after | before)
    return np.s_[first[1] : last[1], first[0] : last[0]], weight


def rain(rate, origin_m, cell_m, head, tilt):
    window, weight = weights(rate.shape[0], origin_m, cell_m, head, tilt)
    weight *= F32(10.0 * 60.0 / cell_m**2 / weight.sum(dtype=np.float64))
    rate[window] += weight


def report(ground, cell_m, tilt):
    side = int(110.0 / cell_m)
    rate = np.zeros((side, side), F32)
    placed = heads(cell_m)
    cells = sum(np.count_nonzero(weights(side, -20.0, cell_m, head, tilt)[1]) for head in placed)
    seconds = []
    for _ in range(PASSES):
        begun = time.perf_counter()
        for head in placed:
            rain(rate, -20.0, cell_m, head, tilt)
        seconds.append(time.perf_counter() - begun)
    seconds.sort()
    median, best = (cells / s / 1e6 for s in (seconds[PASSES // 2], seconds[0]))
    print(
        f"numpy, {ground}, cell {cell_m:.2f} m: {cells} cells, median {median:.1f}, best {best:.1f} million updates/s"
    )


for cell_m in (1.0, 0.5, 0.25, 0.1):
    report("level", cell_m, (0.0, 0.0))
for cell_m in (0.5, 0.1):
    report("slope", cell_m, (0.1, 0.05))
