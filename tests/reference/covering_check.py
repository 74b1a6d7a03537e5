#!/usr/bin/env python3
"""Solves the linear programme of the fewest heads by HiGHS (Huangfu and Hall 2018, through scipy).

    python3 tests/reference/covering_check.py FILE...

A file holds the number of sample points, then a line for each candidate: its slack against the overspray rule, then
sample and depth in turn. Prints the optimum of each, `nan` where there is none. The rules are written out here anew:
mean of the low quarter at least 0.75 of the rate and of the mean, every sample at least 0.3 of the rate.

Needs `pip install scipy`.
"""

import sys

import numpy
from scipy import sparse
from scipy.optimize import linprog


def read(path):
    with open(path, encoding="utf-8") as file:
        samples = int(file.readline())
        lines = [line.split() for line in file]
    depth = numpy.zeros((samples, len(lines)))
    for column, line in enumerate(lines):
        for sample, value in zip(line[1::2], line[2::2]):
            depth[int(sample), column] = float(value)
    return depth, numpy.array([float(line[0]) for line in lines])


def optimum(path):
    depth, spare = read(path)
    samples, candidates = depth.shape
    # Unknowns: parts of candidates, shortfall of each sample under the level, the level. Rows are "at most".
    one = numpy.ones((samples, 1))
    low_quarter = numpy.concatenate([numpy.zeros(candidates), numpy.full(samples, -4.0 / samples), [1.0]])
    mean = numpy.concatenate([depth.mean(axis=0), numpy.zeros(samples + 1)])
    rows = sparse.vstack(
        [
            sparse.hstack([-depth, -sparse.eye(samples), one]),
            sparse.hstack([-depth, sparse.csr_matrix((samples, samples + 1))]),
            sparse.csr_matrix(-low_quarter),
            sparse.csr_matrix(0.75 * mean - low_quarter),
            sparse.csr_matrix(numpy.concatenate([-spare, numpy.zeros(samples + 1)])),
        ]
    ).tocsr()
    most = numpy.concatenate([numpy.zeros(samples), numpy.full(samples, -0.3), [-0.75, 0.0, 0.0]])
    price = numpy.concatenate([numpy.ones(candidates), numpy.zeros(samples + 1)])
    bounds = [(0, None)] * (candidates + samples) + [(None, None)]
    answer = linprog(price, A_ub=rows, b_ub=most, bounds=bounds, method="highs-ipm")
    return answer.fun if answer.status == 0 else float("nan")


if __name__ == "__main__":
    for name in sys.argv[1:]:
        print(repr(float(optimum(name))))
