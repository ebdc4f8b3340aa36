"""Values with letters in them: random problems against sympy, and series in a letter from the DLMF."""

import collections

import pytest
import sympy as sp

from derive import middle, run, work
from letter_problems import KINDS, Problem, read

COUNT = 315
# The problems are dealt out to this many tests, which run side by side.
PARTS = 5


def same(ours, theirs):
    difference = ours - theirs
    if difference.is_Rational:
        return difference == 0
    scale = max(1, abs(sp.N(theirs, 20)))
    return abs(sp.N(ours, 60) - sp.N(theirs, 60)) < scale * sp.Float("1e-50", 60)


@pytest.mark.parametrize("part", range(PARTS))
def test_random_problems_with_letters(part, record_property):
    wrong, refused, undecided, rows = [], [], [], 0
    for seed in range(part, COUNT, PARTS):
        problem = Problem(seed)
        code, answer = run(problem.equation, problem.conditions, "--degree", problem.degree,
                           "--interval", problem.center, f"{problem.center}+1/8")
        if code != 0:
            refused.append((problem.equation, problem.conditions, [d["code"] for d in answer["diagnostics"]]))
            continue
        assert {p["name"] for p in answer["problem"]["parameters"]} == set(problem.letters), problem.equation
        values = [read(row["value"], problem.letters) for row in answer["table"]]
        coefficients = [read(row["coefficient"], problem.letters) for row in answer["table"]]
        polynomial = read(answer["polynomial"]["y"], {**problem.letters, "x": sp.Symbol("x")})
        undecided += [(problem.equation, row["order"]) for row in answer["table"] if row["agreed"] is None]
        rows += len(values)
        for sample in problem.samples:
            theirs = problem.reference(sample)
            assert len(values) == len(theirs)
            whole = sp.Integer(0)
            for order, (value, coefficient, right) in enumerate(zip(values, coefficients, theirs, strict=True)):
                right_coefficient = right / sp.factorial(order)
                whole += right_coefficient * sp.Rational(1, 3) ** order
                if not (same(value.subs(sample), right) and same(coefficient.subs(sample), right_coefficient)):
                    wrong.append((problem.equation, problem.conditions, order, str(value), str(right)))
                    break
            at = polynomial.subs(sp.Symbol("x"), problem.center + sp.Rational(1, 3)).subs(sample)
            assert same(at, whole), (problem.equation, problem.conditions)
    open_ones = {equation for equation, *_ in refused + undecided}
    record_property("random problems", ("letters", len(range(part, COUNT, PARTS)), len(open_ones)))
    assert not wrong, wrong[:5]
    assert not refused, (len(refused), refused[:5])
    assert not undecided, f"{len(undecided)} of {rows} rows undecided: {undecided[:5]}"


def test_every_kind_of_problem_occurs():
    kinds = collections.Counter(Problem(seed).kind for seed in range(COUNT))
    assert min(kinds[kind] for kind in KINDS) >= 30, kinds


@pytest.mark.parametrize("seed", range(6))
def test_the_comparison_can_fail(seed):
    problem = Problem(seed)
    values = problem.reference(problem.samples[0])
    assert not same(values[-1] + sp.Rational(1, 10**9), values[-1])


def series(equation, conditions, degree, *options):
    return work(equation, conditions, "--degree", degree, *options)


def coefficients(answer, *names):
    letters = {name: sp.Symbol(name) for name in names}
    return [read(row["coefficient"], letters) for row in answer["table"]], [letters[name] for name in names]


def equal(left, right):
    return sp.cancel(sp.together(left - right)) == 0


def test_parabolic_cylinder_functions():
    """DLMF 12.4.1, 12.4.2 (from memory): the even and the odd solution of w″ = (z²/4 + a) w in powers
    of z: u₁ = 1 + a z²/2! + (a² + 1/2) z⁴/4! + …, u₂ = z + a z³/3! + (a² + 3/2) z⁵/5! + …."""
    found, (a, p, q) = coefficients(series("w'' = (z^2/4 + a) w", "w(0) = p, w'(0) = q", 7), "a", "p", "q")
    even = [1, a, a**2 + sp.Rational(1, 2), a**3 + sp.Rational(7, 2) * a]
    odd = [1, a, a**2 + sp.Rational(3, 2), a**3 + sp.Rational(13, 2) * a]
    for k in range(4):
        assert equal(found[2 * k], p * even[k] / sp.factorial(2 * k))
        assert equal(found[2 * k + 1], q * odd[k] / sp.factorial(2 * k + 1))


def test_legendres_equation():
    """DLMF 14.2.1 about 0: the solutions 1 − n(n+1) x²/2! + …, from the recurrence
    a_{k+2} = (k(k+1) − n(n+1)) a_k / ((k+1)(k+2)) (Arfken & Weber, section on Legendre's equation;
    from memory)."""
    answer = series("(1-x^2) y'' - 2x y' + n(n+1) y = 0", "", 9)
    found, (n, first, second) = coefficients(answer, "n", "c_0", "c_1")
    expected = [first, second]
    for k in range(8):
        expected.append((k * (k + 1) - n * (n + 1)) * expected[k] / ((k + 1) * (k + 2)))
    assert all(equal(a, b) for a, b in zip(found, expected, strict=True))
    # The product form that textbooks print.
    assert answer["table"][4]["value"] == "c_0*n*(n - 2)*(n + 1)*(n + 3)"
    # Legendre polynomials are where the series ends: DLMF 18.5.16 and table 18.6.1, P₄(0) = 3/8.
    ends = [value.subs({n: 4, first: sp.Rational(3, 8), second: 0}) for value in found]
    assert [ends[k] for k in (0, 2, 4, 6, 8)] == [sp.Rational(3, 8), sp.Rational(-15, 4), sp.Rational(35, 8), 0, 0]


def test_hermites_equation():
    """DLMF table 18.8.1: H_n satisfies y″ − 2x y′ + 2n y = 0; with λ for 2n the even solution is
    1 − λ x²/2! + λ(λ − 4) x⁴/4! − λ(λ − 4)(λ − 8) x⁶/6! (Zill, *Differential Equations*, power series
    chapter; from memory)."""
    answer = series("y'' - 2x y' + lambda y = 0", "y(0) = 1, y'(0) = 0", 7)
    assert [answer["table"][k]["value"] for k in (2, 4, 6)] == [
        "-lambda", "lambda*(lambda - 4)", "-lambda*(lambda - 8)*(lambda - 4)"]


def test_mathieus_equation():
    """DLMF 28.2.1: w″ + (a − 2q cos 2z) w = 0; the first derivatives at 0 by hand:
    w″ = (2q − a) w, w⁗ = ((a − 2q)² − 8q) w for the even solution."""
    found, (a, q) = coefficients(series("w'' + (a - 2 q cos(2z)) w = 0", "w(0) = 1, w'(0) = 0", 4), "a", "q")
    assert equal(found[2], (2 * q - a) / 2)
    assert equal(found[4], ((a - 2 * q) ** 2 - 8 * q) / 24)


def test_confluent_and_gauss_series_about_an_ordinary_point_agree_with_sympy():
    """Kummer's equation (DLMF 13.2.1) about z = 1 with letters a, b: residual by sympy."""
    answer = series("z y'' + (b - z) y' - a y = 0", "y(1) = p, y'(1) = q", 6)
    found, (a, b, p, q) = coefficients(answer, "a", "b", "p", "q")
    z, t = sp.symbols("z t")
    y = sum(c * t**k for k, c in enumerate(found))
    residual = sp.expand((1 + t) * y.diff(t, 2) + (b - 1 - t) * y.diff(t) - a * y)
    for power in range(5):
        assert sp.simplify(residual.coeff(t, power)) == 0, power


def test_numbers_for_letters_drive_the_numerical_solution_only():
    plain = work("y'' + 4 y = 0", "y(0) = 1, y'(0) = 0", "--at", 1, "--interval", 0, 1)
    letters = work("y'' + k y = 0", "y(0) = 1, y'(0) = 0", "--at", 1, "--interval", 0, 1, "--parameter", "k=4")
    value = sp.Float(middle(letters["reference"]["points"][0]["value"]), 20)
    assert abs(value - sp.cos(sp.Integer(2)).evalf(20)) < 1e-15
    assert letters["reference"]["points"][0] == plain["reference"]["points"][0]
    assert letters["problem"]["parameters"] == [{"name": "k", "value": "4"}]
    assert letters["table"][2]["value"] == "-k"


def test_side_conditions_are_listed_and_kept_by_the_numbers():
    answer = work("m y' = ln(y) - k/y", "y(0) = a", "--degree", 3)
    assert set(answer["side_conditions"]) == {"a > 0", "m != 0"}
    values = {p["name"]: sp.sympify(p["value"]) for p in answer["problem"]["parameters"]}
    assert values["a"] > 0 and values["m"] != 0
    # Numbers that break one: the ledger stands, nothing is drawn.
    answer = work("m y' = ln(y) - k/y", "y(0) = a", "--degree", 3, "--parameter", "m=0")
    assert answer["reference"] is None and len(answer["table"]) == 4
    assert [d["code"] for d in answer["diagnostics"]] == ["parameters", "parameter-value"]
    code, answer = run("y' = k y", "y(0) = 1", "--parameter", "q=2")
    assert code == 1 and answer["diagnostics"][-1]["code"] == "command-line"
