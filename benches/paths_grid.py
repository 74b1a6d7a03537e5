"""Trenches between two places against least-cost paths of scikit-image on a raster of 0.5 m, in one run.

Run: python3 benches/paths_grid.py        (needs: pip install numpy scikit-image; exit 1 if a grid path is cheaper)

Both sides see the same ground and the same prices by surface and slope; both paths are priced by the program's exact
formula. The times are those of one path each: the grid's raster and the index of surfaces are made before.
"""

import json
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

import numpy as np
from skimage.graph import route_through_array

BENCH = ["cargo", "bench", "--quiet", "--locked", "--bench", "paths", "--"]
# Rounding of coordinates alone may make an equal path look dearer.
HAIR = 1e-6


def bench(task, folder):
    root = pathlib.Path(__file__).parent.parent
    subprocess.run([*BENCH, task, str(folder)], check=True, cwd=root)


def on_grid(told, prices, path):
    """Places and seconds of the grid's path between the ends of a routed one."""
    cell = lambda at: tuple(int((at[k] - told["low"][k]) / told["cell_m"]) for k in (1, 0))
    start = time.perf_counter()
    cells, _ = route_through_array(prices, cell(path["from"]), cell(path["to"]), fully_connected=True, geometric=True)
    seconds = time.perf_counter() - start
    middle = lambda row, column: [told["low"][0] + (column + 0.5) * told["cell_m"], told["low"][1] + (row + 0.5) * told["cell_m"]]
    places = [path["from"], *(middle(*c) for c in cells[1:-1]), path["to"]]
    return places, seconds


def main():
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        bench("write", folder)
        told = json.loads((folder / "routed.json").read_text())
        prices = np.fromfile(folder / "prices.f32", dtype="<f4").reshape(told["rows"], told["columns"])
        gridded = [on_grid(told, prices, path) for path in told["paths"]]
        (folder / "gridded.json").write_text(json.dumps([places for places, _ in gridded]))
        bench("price", folder)
        priced = json.loads((folder / "priced.json").read_text())
    rows = list(zip(told["paths"], priced, (seconds for _, seconds in gridded)))
    assert all(ours["price"] and grid["price"] for ours, grid, _ in rows), "a path through what may not be dug"
    ratio = [ours["price"] / grid["price"] for ours, grid, _ in rows]
    faster = [seconds / ours["seconds"] for ours, _, seconds in rows]
    print(f"{len(rows)} paths over {told['columns']} x {told['rows']} cells")
    print(f"price over the grid's: median {statistics.median(ratio):.3f}, {min(ratio):.3f} to {max(ratio):.3f}")
    print(f"times as fast: median {statistics.median(faster):.1f}, {min(faster):.1f} to {max(faster):.1f}")
    ours_s, grid_s = sum(o["seconds"] for o, _, _ in rows), sum(s for _, _, s in rows)
    print(f"all together {ours_s:.3f} s for {grid_s:.3f} s: {grid_s / ours_s:.1f} times")
    sys.exit(max(ratio) > 1 + HAIR)


main()
