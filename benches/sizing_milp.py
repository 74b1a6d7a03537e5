"""Sizes of random stations and shared mains beside HiGHS, in one run.

Run: python3 benches/sizing_milp.py        (needs: pip install numpy highspy; exit 1 where a cost differs)

Ours is the whole trade-off between head and price, HiGHS's the answer for one head. Its seconds are those of the solver
alone, without the making of the programme; both run on one thread.
"""

import json
import math
import pathlib
import statistics
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).parent.parent
BENCH = ["cargo", "bench", "--quiet", "--locked", "--bench", "sizing", "--", "write"]
MILP = ROOT / "tests" / "reference" / "sizing_milp.py"
# Prices are whole millionths a pipe.
HAIR = 1e-4


def lines(path):
    return [json.loads(line) for line in path.read_text().splitlines()]


def milp(path):
    told = subprocess.run([sys.executable, MILP, path], check=True, capture_output=True, text=True).stdout
    rows = [line.split()[1:] for line in told.splitlines() if line.startswith("cost ")]
    return [(float(cost), float(seconds)) for cost, seconds in rows]


def number(cost):
    return math.inf if cost is None else cost


def main():
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        subprocess.run([*BENCH, str(folder)], check=True, cwd=ROOT)
        ours, theirs = lines(folder / "answers.jsonl"), milp(folder / "problems.jsonl")
    groups, wrong = {}, 0
    for answer, (cost, seconds) in zip(ours, theirs, strict=True):
        key = (answer["kind"], answer["pipes"], answer.get("minor_k", ""))
        groups.setdefault(key, []).append((answer, cost, seconds))
        exact = number(answer["cost"]) == cost or abs(number(answer["cost"]) - cost) < HAIR
        within = number(answer["bound"]) - HAIR <= cost <= number(answer["cost"]) + HAIR
        wrong += not (exact if answer["bound"] == answer["cost"] else within)
    for (kind, pipes, minor), rows in groups.items():
        ours_ms = 1e3 * statistics.median(a["seconds"] for a, _, _ in rows)
        theirs_ms = 1e3 * statistics.median(s for _, _, s in rows)
        gap = max(number(a["cost"]) / c - 1 for a, c, _ in rows if c < math.inf)
        told = max(1 - number(a["bound"]) / number(a["cost"]) for a, c, _ in rows if c < math.inf)
        print(
            f"{kind} {pipes} pipes {minor}: {len(rows)}, {ours_ms:.3f} ms for {theirs_ms:.1f} ms, "
            f"{theirs_ms / ours_ms:.0f} times; over the optimum {100 * gap:.3f} %, gap told {100 * told:.3f} %"
        )
    stations = [s / a["seconds"] for rows in groups.values() for a, _, s in rows if a["kind"] == "station"]
    print(f"all {len(stations)} stations: median {statistics.median(stations):.0f} times as fast; {wrong} costs differ")
    sys.exit(wrong > 0)


main()
