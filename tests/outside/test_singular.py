"""Linear equations about singular centers against sympy's linear algebra: which Taylor coefficients the
equation determines, forces, leaves free or contradicts."""

import collections
import re

import pytest
from sympy.polys.domains import QQ

from derive import run
from singular_problems import KINDS, Problem

COUNT = 405
PARTS = 4


def fraction(text):
    numerator, _, denominator = text.partition("/")
    return QQ(int(numerator), int(denominator or 1))


def verdict(problem, code, answer):
    """`None` if the worksheet says what the reference says; "unable"; or what is wrong."""
    theirs = problem.solved(problem.given)
    if code == 0:
        if theirs is None:
            return "a polynomial, but there is no power series"
        if None in theirs:
            return f"a polynomial, but c_{theirs.index(None)} is not determined"
        ours = [fraction(row["coefficient"]) for row in answer["table"]]
        if any(row["agreed"] is False for row in answer["table"]):
            return "the routes disagree"
        return None if ours == theirs[: problem.degree + 1] else f"{ours} instead of {theirs}"
    error = next(d for d in answer["diagnostics"] if d["severity"] == "error")
    if error["outcome"] == "unable":
        return "unable"
    if error["outcome"] == "contradictory":
        return None if theirs is None else f"{error['code']}, but there is a power series"
    if error["code"] != "free-value":
        return error["code"]
    if theirs is None:
        return "a free value, but there is no power series"
    named = re.search(r"leaves y('*|\^\((\d+)\))\(", error["message"])
    order = int(named[2]) if named[2] else len(named[1])
    free = theirs.index(None) if None in theirs else None
    return None if free == order else f"order {order} is free, but the first is {free}"


@pytest.mark.parametrize("part", range(PARTS))
def test_random_singular_centers(part, record_property):
    wrong, unable, count = [], [], 0
    for seed in range(part, COUNT, PARTS):
        problem = Problem(seed)
        count += 1
        code, answer = run(problem.equation, problem.conditions, "--degree", problem.degree)
        said = verdict(problem, code, answer)
        if said == "unable":
            unable.append((seed, problem.equation, problem.conditions))
        elif said:
            wrong.append((seed, problem.equation, problem.conditions, said))
    record_property("random problems", ("singular", count, len(unable)))
    assert not wrong, (len(wrong), wrong[:5])
    assert len(unable) <= 0.03 * count, (len(unable), unable[:5])


def test_every_kind_of_problem_and_of_answer_occurs():
    kinds, answers = collections.Counter(), collections.Counter()
    for seed in range(COUNT):
        problem = Problem(seed)
        found = problem.solved(problem.given)
        kinds[problem.kind] += 1
        answers["none" if found is None else "free" if None in found else "one"] += 1
    assert min(kinds[kind] for kind in KINDS) >= 30, kinds
    assert min(answers[kind] for kind in ("none", "free", "one")) >= 30, answers
