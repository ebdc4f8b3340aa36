"""Exact values of random problems against sympy, which differentiates and substitutes on its own."""

import collections

import pytest
import sympy as sp

from derive import run
from random_problems import Problem

COUNT = 320
# The problems are dealt out to this many tests, which run side by side.
PARTS = 8


def read(text):
    """An exact string of the worksheet, as sympy reads it."""
    return sp.sympify(
        text.replace("^", "**"),
        locals={"ln": sp.log, "arctan": sp.atan, "arcsin": sp.asin, "arsinh": sp.asinh, "artanh": sp.atanh,
                "arccos": sp.acos, "arcosh": sp.acosh},
    )


def same(ours, theirs):
    difference = ours - theirs
    if difference.is_Rational:
        return difference == 0
    # Closed forms: equal to 60 significant digits.
    scale = max(1, abs(sp.N(theirs, 20)))
    return abs(sp.N(ours, 70) - sp.N(theirs, 70)) < scale * sp.Float("1e-60", 70)


@pytest.mark.parametrize("part", range(PARTS))
def test_random_problems_have_the_values_that_sympy_finds(part, record_property):
    mismatches, unable = [], []
    for seed in range(part, COUNT, PARTS):
        problem = Problem(seed)
        code, answer = run(problem.equation, problem.conditions, "--degree", problem.degree, "--interval", problem.center, problem.center + 1)
        if code != 0:
            unable.append((seed, problem.equation, problem.conditions, [d["code"] for d in answer["diagnostics"]]))
            continue
        ours = [read(row["value"]) for row in answer["table"]]
        theirs = problem.reference()
        for order, (a, b) in enumerate(zip(ours, theirs, strict=True)):
            if not same(a, b):
                mismatches.append((seed, problem.equation, problem.conditions, order, str(a), str(b)))
                break
    record_property("random problems", ("numbers", len(range(part, COUNT, PARTS)), len(unable)))
    assert not mismatches, mismatches[:5]
    assert not unable, f"{len(unable)} refused: {unable[:5]}"


def test_every_kind_of_problem_occurs():
    kinds = collections.Counter(Problem(seed).kind for seed in range(COUNT))
    assert min(kinds[k] for k in ("linear", "standing", "polynomial", "functions", "quotient", "power")) >= 20, kinds


@pytest.mark.parametrize("seed", range(5))
def test_the_comparison_can_fail(seed):
    """A wrong value is noticed: the check above is not vacuous."""
    theirs = Problem(seed).reference()
    assert not same(theirs[-1] + sp.Rational(1, 10**9), theirs[-1])
