#!/usr/bin/env python3
"""Sizes pipes as mixed-integer programmes and solves them with HiGHS.

    python3 tests/reference/sizing_milp.py PROBLEMS.jsonl

One problem a line: `sizes` (inside mm, C, price a metre; narrowest first), `velocity_most_m_s`, and either `lateral`
(pipes, head at the valve, spread) or `main` (pipes, stations with flow, head, and the points of their laterals). For
each a line `cost`, the least cost (`inf` where nothing does) and the seconds that HiGHS took for its solution alone.

The losses are worked out anew: Hazen-Williams as in Rossman et al. 2020, EPA/600/R-20/133, table 3.1, made SI, and
`K v^2 / 2g`. Only the numbers of pipes, flows and needs come from the caller.
"""

import json
import math
import sys
import time

import highspy
import numpy as np


def loss_m(size, pipe, flow):
    inside, c, _ = size
    d = inside / 1000.0
    friction = 10.666829 * pipe["length_m"] * flow**1.852 / (c**1.852 * d**4.871)
    velocity = flow / (math.pi / 4.0 * d * d)
    return friction + pipe.get("minor_k", 0.0) * velocity**2 / (2.0 * 9.80665)


def slow_enough(size, flow, most):
    return flow / (math.pi / 4.0 * (size[0] / 1000.0) ** 2) <= most * (1.0 + 1e-9)


class Programme:
    """Rows and columns gathered, then handed to HiGHS."""

    def __init__(self):
        self.cost, self.lower, self.upper, self.whole, self.rows = [], [], [], [], []

    def column(self, cost, lower, upper, whole):
        self.cost.append(cost)
        self.lower.append(lower)
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.cost) - 1

    def row(self, least, most, terms):
        self.rows.append((least, most, terms))

    def solve(self):
        inf = highspy.kHighsInf
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self.cost), len(self.rows)
        lp.col_cost_ = np.array(self.cost, dtype=float)
        lp.col_lower_ = np.array([max(x, -inf) for x in self.lower], dtype=float)
        lp.col_upper_ = np.array([min(x, inf) for x in self.upper], dtype=float)
        lp.row_lower_ = np.array([max(row[0], -inf) for row in self.rows], dtype=float)
        lp.row_upper_ = np.array([min(row[1], inf) for row in self.rows], dtype=float)
        starts, index, value = [0], [], []
        for _, _, terms in self.rows:
            for column, factor in terms:
                index.append(column)
                value.append(factor)
            starts.append(len(index))
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.array(starts, dtype=np.int32)
        lp.a_matrix_.index_ = np.array(index, dtype=np.int32)
        lp.a_matrix_.value_ = np.array(value, dtype=float)
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        lp.integrality_ = [kinds[whole] for whole in self.whole]
        highs = highspy.Highs()
        highs.setOptionValue("output_flag", False)
        highs.setOptionValue("mip_rel_gap", 0.0)
        highs.setOptionValue("mip_abs_gap", 1e-7)
        highs.setOptionValue("mip_feasibility_tolerance", 1e-9)
        highs.setOptionValue("primal_feasibility_tolerance", 1e-9)
        highs.setOptionValue("threads", 1)
        highs.setOptionValue("time_limit", 600.0)
        highs.passModel(lp)
        begun = time.perf_counter()
        highs.run()
        seconds = time.perf_counter() - begun
        status = highs.getModelStatus()
        if status == highspy.HighsModelStatus.kOptimal:
            return highs.getInfo().objective_function_value, seconds
        if status == highspy.HighsModelStatus.kInfeasible:
            return math.inf, seconds
        raise SystemExit(f"HiGHS ended with {status}")


def size_columns(programme, problem, pipes, flows, loss_flow):
    """A yes or no for each size of each pipe; no pipe wider than the one before it."""
    chosen = []
    for pipe, flow in zip(pipes, flows):
        columns = {}
        for rank, size in enumerate(problem["sizes"]):
            if slow_enough(size, flow, problem["velocity_most_m_s"]):
                column = programme.column(size[2] * pipe["length_m"], 0.0, 1.0, True)
                columns[rank] = (column, loss_m(size, pipe, loss_flow or flow))
        programme.row(1.0, 1.0, [(column, 1.0) for column, _ in columns.values()])
        chosen.append(columns)
    for index, pipe in enumerate(pipes):
        if pipe["parent"] is None:
            continue
        for rank in range(len(problem["sizes"]) - 1):
            own = [(c, 1.0) for r, (c, _) in chosen[index].items() if r > rank]
            before = [(c, -1.0) for r, (c, _) in chosen[pipe["parent"]].items() if r > rank]
            if own:
                programme.row(-math.inf, 0.0, own + before)
    return chosen


def way(pipes, index):
    while index is not None:
        yield index
        index = pipes[index]["parent"]


def lateral(problem):
    programme, pipes = Programme(), problem["lateral"]["pipes"]
    flows = [pipe["flow_m3s"] for pipe in pipes]
    chosen = size_columns(programme, problem, pipes, flows, None)
    head, spread = problem["lateral"]["head_m"], problem["lateral"]["spread_m"]
    top = programme.column(0.0, -math.inf, head, False)
    for index, pipe in enumerate(pipes):
        if pipe["need_m"] is None:
            continue
        lost = [term for at in way(pipes, index) for term in chosen[at].values()]
        programme.row(pipe["need_m"], pipe["need_m"] + spread, [(top, 1.0)] + [(c, -m) for c, m in lost])
    return programme.solve()


def main_line(problem):
    programme, pipes = Programme(), problem["main"]["pipes"]
    flows = [0.0] * len(pipes)
    for station in problem["main"]["stations"]:
        for at in way(pipes, station["at_pipe"]):
            flows[at] = max(flows[at], station["flow_m3s"])
    chosen = size_columns(programme, problem, pipes, flows, None)
    for station in problem["main"]["stations"]:
        points = [programme.column(cost, 0.0, 1.0, True) for _, cost in station["points"]]
        programme.row(1.0, 1.0, [(column, 1.0) for column in points])
        terms = [(column, need) for column, (need, _) in zip(points, station["points"])]
        for at in way(pipes, station["at_pipe"]):
            for rank, (column, _) in chosen[at].items():
                size = problem["sizes"][rank]
                terms.append((column, loss_m(size, pipes[at], station["flow_m3s"])))
        programme.row(-math.inf, station["head_m"], terms)
    return programme.solve()


def main():
    with open(sys.argv[1], encoding="utf-8") as lines:
        for line in lines:
            problem = json.loads(line)
            cost, seconds = lateral(problem) if "lateral" in problem else main_line(problem)
            print("cost", repr(float(cost)), repr(seconds), flush=True)


if __name__ == "__main__":
    main()
