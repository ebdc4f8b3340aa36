"""Equations implicit in their highest derivative against undetermined coefficients in sympy's fields."""

import collections

import pytest
import sympy as sp

from derive import run
from implicit_problems import KINDS, Problem

COUNT = 400
PARTS = 4

# The answers that say that something could not be done.
UNABLE = "unable"


def read(text):
    return sp.sympify(text.replace("^", "**"), locals={"ln": sp.log})


def outcome(answer):
    """The first error's, and its suggestions carried out on the conditions."""
    error = next(d for d in answer["diagnostics"] if d["severity"] == "error")
    added = [s["edits"][0]["replacement"] for s in error["suggestions"]]
    return error["outcome"], error["code"], added


def compared(problem, answer, value=None):
    """The first order at which the worksheet and the reference differ."""
    field, theirs = problem.reference(value)
    for row, right in zip(answer["table"], theirs, strict=True):
        if field.from_sympy(read(row["coefficient"])) != right or row["agreed"] is False:
            return row["order"], row["coefficient"], str(field.to_sympy(right))
    return None


@pytest.mark.parametrize("part", range(PARTS))
def test_random_implicit_problems(part, record_property):
    wrong, unable, count = [], [], 0
    for seed in range(part, COUNT, PARTS):
        problem = Problem(seed)
        count += 1
        at = (seed, problem.equation, problem.conditions)
        ask = lambda conditions: run(problem.equation, conditions, "--degree", problem.degree,
                                     "--interval", problem.center, f"{problem.center} + 1/8")
        code, answer = ask(problem.conditions)
        value = None
        if problem.choices and len(problem.choices) > 1:
            if code == 0:
                wrong.append((at, "one of several values was taken"))
                continue
            kind, which, added = outcome(answer)
            if kind == UNABLE:
                unable.append((at, which))
                continue
            offered = [read(text.split("=")[1]) for text in added]
            if (kind, which) != ("not determined", "several-values") or any(
                sp.simplify(a - b) != 0 for a, b in zip(offered, problem.choices, strict=True)
            ):
                wrong.append((at, which, offered))
                continue
            # One of them, by the edit that a click makes.
            value, text = problem.choices[seed % len(offered)], added[seed % len(offered)]
            code, answer = ask(problem.conditions + text)
        elif problem.choices:
            value = problem.choices[0]
        if code != 0:
            kind, which, _ = outcome(answer)
            (unable if kind == UNABLE else wrong).append((at, which))
        elif difference := compared(problem, answer, value):
            wrong.append((at, difference))
    record_property("random problems", ("implicit", count, len(unable)))
    assert not wrong, (len(wrong), wrong[:5])
    assert len(unable) <= 0.03 * count, (len(unable), unable[:5])


def test_every_kind_of_problem_occurs():
    problems = [Problem(seed) for seed in range(COUNT)]
    kinds = collections.Counter(problem.kind for problem in problems)
    assert min(kinds[kind] for kind in KINDS) >= 30, kinds
    assert sum(len(problem.choices or []) > 1 for problem in problems) >= 40
    # Not the zero solution.
    trivial = [p for p in problems if not p.choices and not any(p.reference()[1][p.order :])]
    assert len(trivial) < 0.05 * COUNT, len(trivial)


@pytest.mark.parametrize("seed", range(0, 32, 5))
def test_the_comparison_can_fail(seed):
    problem = Problem(seed)
    _, theirs = problem.reference(problem.choices[0] if problem.choices else None)
    table = [{"order": k, "coefficient": "1/1000003", "agreed": None} for k in range(len(theirs))]
    assert compared(problem, {"table": table}, problem.choices[0] if problem.choices else None)


# The equation as the worksheet and as sympy read it, with y for the unknown and p for its derivative.
INSIDE = [
    ("e^(y') = 1 + x + y", "y(0) = 0", "exp(p) - 1 - x - y"),
    ("1/y' = x + y", "y(0) = 1", "1/p - x - y"),
    ("sqrt(y') + y' = 2 + x", "y(0) = 1", "sqrt(p) + p - 2 - x"),
    ("arctan y' = x + y", "y(0) = 0", "atan(p) - x - y"),
    ("2^(y') = x + 2", "y(0) = 0", "2**p - x - 2"),
    ("tanh(y') = y", "y(0) = 1/2", "tanh(p) - y"),
    ("cosh(y') = 2 + x", "y(0) = 0, y'(0) = arcosh(2)", "cosh(p) - 2 - x"),
    ("e^(2y') - 3e^(y') + 2 = x y", "y(0) = 1, y'(0) = ln(2)", "exp(2*p) - 3*exp(p) + 2 - x*y"),
    ("ln(y') = sin(x) + y", "y(0) = ln(3)", "log(p) - sin(x) - y"),
]


@pytest.mark.parametrize(("equation", "conditions", "reference"), INSIDE)
def test_the_highest_derivative_inside_a_function(equation, conditions, reference):
    """The polynomial, put in by sympy, leaves nothing below its degree."""
    degree = 5
    code, answer = run(equation, conditions, "--degree", degree)
    assert code == 0, answer["diagnostics"]
    x, y, p = sp.symbols("x y p")
    names = {"ln": sp.log, "arcosh": sp.acosh, "artanh": sp.atanh}
    polynomial = sp.sympify(answer["polynomial"]["y"].replace("^", "**"), locals={"x": x, **names})
    rest = sp.sympify(reference, locals={"x": x, "y": y, "p": p}).subs({y: polynomial, p: sp.diff(polynomial, x)})
    for order in range(degree):
        assert abs(sp.N(sp.diff(rest, x, order).subs(x, 0), 30)) < sp.Float("1e-20"), order
    # Nor is it satisfied by anything.
    assert abs(sp.N(sp.diff(rest, x, degree).subs(x, 0), 30)) > sp.Float("1e-6")
