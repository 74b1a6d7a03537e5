#!/usr/bin/env python3
"""Grades trees of pipe as mixed-integer programmes and solves them with HiGHS.

    python3 tests/reference/drains_milp.py PROBLEMS.jsonl

One problem a line: `nodes` (lowest and highest invert, m; length of pipe that is dug to the node's depth, m), `pipes`
(from, to, length m) and `grade`. For each a line `drains FEWEST DIGGING`: the fewest nodes without a lower neighbour
when every pipe falls by its grade one way or the other, and the least depth times length below the highest inverts
(m2) with as few. Levels are free, no grid; the formulation is this page's own.
"""

import json
import sys

from sizing_milp import Programme


def programme(problem, drains_most=None):
    """Least drains, or least digging with no more drains than given."""
    digging = drains_most is not None
    p = Programme()
    level, drain = [], []
    for lowest, highest, dug_m in problem["nodes"]:
        level.append(p.column(-dug_m if digging else 0.0, lowest, highest, False))
        drain.append(p.column(0.0 if digging else 1.0, 0.0, 1.0, True))
    leaves = [[] for _ in level]
    for a, b, length_m in problem["pipes"]:
        fall = problem["grade"] * length_m
        down = p.column(0.0, 0.0, 1.0, True)  # 1: b lies lower
        span_ab = problem["nodes"][a][0] - problem["nodes"][b][1]  # least of a - b
        span_ba = problem["nodes"][b][0] - problem["nodes"][a][1]
        # a - b >= fall where down, b - a >= fall where not
        p.row(span_ab, float("inf"), [(level[a], 1.0), (level[b], -1.0), (down, span_ab - fall)])
        p.row(fall, float("inf"), [(level[b], 1.0), (level[a], -1.0), (down, fall - span_ba)])
        leaves[a].append((down, 1.0, 0.0))
        leaves[b].append((down, -1.0, 1.0))
    for node, ways in enumerate(leaves):
        constant = sum(way[2] for way in ways)
        terms = [(way[0], way[1]) for way in ways] + [(drain[node], 1.0)]
        p.row(1.0 - constant, float("inf"), terms)
    if digging:
        p.row(-float("inf"), drains_most + 0.5, [(column, 1.0) for column in drain])
    return p


def main(path):
    with open(path, encoding="utf-8") as lines:
        for line in lines:
            problem = json.loads(line)
            fewest = round(programme(problem).solve()[0])
            least = programme(problem, fewest).solve()[0]
            top = sum(dug_m * highest for _, highest, dug_m in problem["nodes"])
            print(f"drains {fewest} {top + least:.9f}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1])
