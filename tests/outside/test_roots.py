"""Highest derivatives that are roots without a closed form: numbers with a letter and an equation.

The reference for polynomials is the method of undetermined coefficients in sympy's number field of the
root (`implicit_problems`); elsewhere the polynomial is put into the equation with 50 digits."""

import itertools

import pytest
import sympy as sp

from derive import run, work
from implicit_problems import Problem, summed

COUNT = 40


def read(text, **names):
    return sp.sympify(text.replace("^", "**"), locals={"ln": sp.log, **names})


class RootProblem(Problem):
    """A polynomial equation for the highest derivative, all of whose real zeros are simple, and one at least has no
    closed form here."""

    def __init__(self, seed):
        super().__init__(8 * seed + 1)  # the kind "chosen", made anew by `chosen` below

    def chosen(self):
        while True:
            terms = self.powers()
            constant = self.small(5)
            self.equation = f"{summed([(v, t) for v, t, _ in terms])} = {constant}"
            self.residual = lambda x, y: sum((v * f(x, y) for v, _, f in terms), -constant + 0 * x)
            polynomial = self.polynomial_at_data()
            factors = [f for f, _ in polynomial.factor_list()[1] if f.degree() >= 3]
            self.zeros = polynomial.real_roots()
            # x³ − 2 and its like have roots that are written with a root sign.
            if (factors and all(any(f.all_coeffs()[1:-1]) for f in factors) and any(f.count_roots() for f in factors)
                    and len(set(self.zeros)) == len(self.zeros)):
                return


def the_root(answer):
    """Its polynomial, and the root that the answer speaks of."""
    [root] = answer["roots"]
    letter = sp.Symbol(root["letter"])
    polynomial = sp.Poly(read(root["equation"]), letter)
    lower, upper = sp.Rational(root["lower"]), sp.Rational(root["upper"])
    [own] = [z for z in polynomial.real_roots() if lower < z < upper]
    assert upper - lower < sp.Rational(1, 10_000)
    return letter, polynomial, own


def compared(problem, answer):
    letter, polynomial, own = the_root(answer)
    assert polynomial.is_irreducible and own in problem.zeros
    field, theirs = problem.reference(own)
    generator = field.from_sympy(own)
    for row, right in zip(answer["table"], theirs, strict=True):
        value = field.zero
        # In canonical form: lower powers only, and nothing but powers.
        coefficients = sp.Poly(read(row["coefficient"]), letter).all_coeffs()
        assert len(coefficients) <= polynomial.degree()
        for c in coefficients:
            value = value * generator + field.convert(sp.QQ(int(c.p), int(c.q)))
        if value != right or row["agreed"] is False:
            return row["order"], row["coefficient"]
    return None


def test_random_roots(record_property):
    wrong, unable, several = [], [], 0
    for seed in range(COUNT):
        problem = RootProblem(seed)
        ask = lambda conditions: run(problem.equation, conditions, "--degree", problem.degree,
                                     "--interval", problem.center, f"{problem.center} + 1/8")
        code, answer = ask(problem.conditions)
        at = (problem.equation, problem.conditions)
        if len(problem.zeros) > 1:
            several += 1
            error = next(d for d in answer["diagnostics"] if d["severity"] == "error")
            added = [s["edits"][0]["replacement"] for s in error["suggestions"]]
            if code == 0 or error["code"] != "several-values" or not added:
                wrong.append((at, error["code"]))
                continue
            # Those of roots with a letter, each by the edit that a click makes.
            near = [text for text in added if "≈" in text]
            if not near:
                wrong.append((at, added))
                continue
            code, answer = ask(problem.conditions + near[seed % len(near)])
        if code != 0:
            unable.append((at, answer["diagnostics"]))
        elif difference := compared(problem, answer):
            wrong.append((at, difference))
    record_property("random problems", ("implicit", COUNT, len(unable)))
    assert not wrong, (len(wrong), wrong[:5])
    assert len(unable) <= 0.03 * COUNT, (len(unable), unable[:3])
    assert COUNT / 5 < several < COUNT


# The equation as sympy reads it, with y for the unknown and p, q for its derivatives.
OTHERS = [
    ("y' + e^(y') = 2 + x", "y(0) = 0", "p + exp(p) - 2 - x"),
    ("y' = cos(y') + x y", "y(0) = 1", "p - cos(p) - x*y"),
    ("y'^5 + y' = sqrt(2) + x", "y(0) = 0", "p**5 + p - sqrt(2) - x"),
    ("y'^3 - 3y' + e = y", "y(0) = 2, y'(0) ≈ 1.5", "p**3 - 3*p + E - y"),
    ("e^(3y') + e^(y') = 5 + x", "y(0) = 0", "exp(3*p) + exp(p) - 5 - x"),
    ("y''^3 + y'' = x + y", "y(0) = 1, y'(0) = 0", "q**3 + q - x - y"),
    ("2y' + sin(y') = 1 + x y", "y(0) = 1", "2*p + sin(p) - 1 - x*y"),
    ("y'^2 = sin(y') + x", "y(0) = 0, y'(0) ≈ 0.9", "p**2 - sin(p) - x"),
    ("x y' = 1 + x - y - y^5", "y(0) ≈ 0.75", "x*p - 1 - x + y + y**5"),
]


@pytest.mark.parametrize(("equation", "conditions", "reference"), OTHERS)
def test_the_polynomial_leaves_nothing_with_50_digits(equation, conditions, reference):
    degree = 4
    answer = work(equation, conditions, "--degree", degree)
    [root] = answer["roots"]
    letter = sp.Symbol(root["letter"])
    ends = [sp.Rational(root[end]) for end in ("lower", "upper")]
    own = sp.nsolve(read(root["equation"]), letter, sp.Float(sum(ends) / 2, 60), prec=60)
    assert ends[0] < own < ends[1]
    x, y, p, q = sp.symbols("x y p q")
    polynomial = read(answer["polynomial"]["y"]).subs(letter, own)
    residual = sp.sympify(reference, locals={"x": x, "y": y, "p": p, "q": q})
    rest = residual.subs({q: sp.diff(polynomial, x, 2), p: sp.diff(polynomial, x), y: polynomial})
    order = 2 if residual.has(q) else 1
    lines = [sp.N(sp.diff(rest, x, k).subs(x, 0), 50) for k in range(degree + 1)]
    determined = degree - order + 1 + (equation[0] == "x")
    assert all(abs(line) < sp.Float("1e-45") for line in lines[:determined]), lines
    assert determined > degree or abs(lines[determined]) > sp.Float("1e-6"), lines


@pytest.mark.parametrize(
    ("conditions", "near"), [("-2", -1.879385241571817), ("0", 0.347296355333861), ("1.5", 1.532088886237956)]
)
def test_the_nearest_root_is_taken(conditions, near):
    """u³ − 3u + 1 has the roots 2 cos 160°, 2 cos 80°, 2 cos 40° (the angle of 120° in three)."""
    answer = work("y'^3 - 3y' + 1 = y", f"y(0) = 0, y'(0) ≈ {conditions}")
    *_, own = the_root(answer)
    assert abs(own - near) < 1e-14


def test_which_root_has_to_be_said():
    code, answer = run("y'^3 - 3y' + 1 = y", "y(0) = 0, y'(0) ≈ 1 - 1")
    assert code == 0
    # Equally far from two.
    for conditions in ("y(0) = 0", "y(0) = 0, y'(0) ≈ 0"):
        code, answer = run("y'^4 - y'^2 = 1 + y" if "≈" in conditions else "y'^3 - 3y' + 1 = y", conditions)
        [error] = [d for d in answer["diagnostics"] if d["severity"] == "error"]
        assert code == 1 and (error["code"], error["outcome"]) == ("several-values", "not determined")
    # A letter in the equation moves its roots.
    code, answer = run("y'^5 + y' = a", "y(0) = 0")
    assert code == 1 and any(d["code"] == "value-of-letters" for d in answer["diagnostics"])
    # Nothing to choose from.
    code, answer = run("y' = x", "y(0) ≈ 1")
    assert code == 1 and [d["code"] for d in answer["diagnostics"]] == ["only-near"]


def test_a_multiple_root_is_no_branch_to_go_on_with():
    """(y′² − 2)² = y at y = 0: the branches meet, and none is analytic there."""
    code, answer = run("y'^4 - 4y'^2 + 4 = y", "y(0) = 0, y'(0) = sqrt(2)")
    [error] = [d for d in answer["diagnostics"] if d["severity"] == "error"]
    assert code == 1 and (error["code"], error["outcome"]) == ("no-analytic-solution", "contradictory")


def test_the_comparison_can_fail():
    problem = next(p for p in map(RootProblem, itertools.count()) if len(p.zeros) == 1)
    answer = work(problem.equation, problem.conditions, "--degree", problem.degree)
    assert compared(problem, answer) is None
    answer["table"][-1]["coefficient"] = "1/1000003"
    assert compared(problem, answer) == (problem.degree, "1/1000003")
