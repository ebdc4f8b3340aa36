"""Systems against the outside: exact values against sympy, numerical ones against mpmath, invariants."""

import collections

import mpmath as mp
import pytest
import sympy as sp

from derive import middle, run, work
from random_systems import KINDS, System
from test_differential import read, same
from test_reference import agreeing_digits, pendulum, rational

COUNT = 330


def table_of(answer):
    found = collections.defaultdict(list)
    for row in answer["table"]:
        found[row["unknown"]].append(read(row["value"]))
    return found


@pytest.mark.parametrize("kind", KINDS)
def test_random_systems_have_the_values_that_sympy_finds(kind, record_property):
    mismatches, unable = [], []
    seeds = range(KINDS.index(kind), COUNT, len(KINDS))
    for seed in seeds:
        system = System(seed)
        assert system.kind == kind
        code, answer = run(
            system.equations, system.conditions, "--degree", system.degree,
            "--interval", system.center, str(system.center + 1),
        )
        if code != 0:
            unable.append((seed, system.equations, system.conditions, [d["code"] for d in answer["diagnostics"]]))
            continue
        ours, theirs = table_of(answer), system.reference()
        assert all(row["agreed"] is True for row in answer["table"]), (seed, system.equations)
        for name in system.names:
            pairs = list(zip(ours[name], theirs[name], strict=True))
            wrong = [order for order, (a, b) in enumerate(pairs) if not same(a, b)]
            if wrong:
                mismatches.append((seed, system.equations, system.conditions, name, wrong))
    record_property("random problems", ("systems", len(seeds), len(unable)))
    assert len(seeds) >= 50
    assert not mismatches, mismatches[:5]
    assert not unable, f"{len(unable)} refused: {unable[:5]}"


@pytest.mark.parametrize("seed", range(6))
def test_the_comparison_can_fail(seed):
    values = next(iter(System(seed).reference().values()))
    assert not same(values[-1] + sp.Rational(1, 10**9), values[-1])


# equations, conditions, right side for mpmath (t, states in the order of the unknowns), start,
# start values, which state is which unknown, points
SYSTEMS = [
    ("N' = N(3 - C); C' = C(N - 2)", "N(0) = 1; C(0) = 2",
     lambda t, s: [s[0] * (3 - s[1]), s[1] * (s[0] - 2)], 0, [1, 2], {"N": 0, "C": 1}, ["-1", "1/2", "2", "5"]),
    ("x'' = -3y; y' = x", "x(0) = 1, x'(0) = 0, y(0) = 2",
     lambda t, s: [s[1], -3 * s[2], s[0]], 0, [1, 0, 2], {"x": 0, "y": 2}, ["-2", "1/3", "3"]),
    ("x'' = -2x + y; y'' = x - 2y", "x(0) = 1, x'(0) = 0, y(0) = 0, y'(0) = 1/2",
     lambda t, s: [s[1], -2 * s[0] + s[2], s[3], s[0] - 2 * s[2]], 0, [1, 0, 0, mp.mpf(1) / 2], {"x": 0, "y": 2}, ["-4", "2", "9"]),
    ("u' = v w; v' = -u w; w' = -u v/2", "u(0) = 0; v(0) = 1; w(0) = 1",
     lambda t, s: [s[1] * s[2], -s[0] * s[2], -s[0] * s[1] / 2], 0, [0, 1, 1], {"u": 0, "v": 1, "w": 2}, ["-2", "1", "4"]),
    ("u' + v' = t - u; u' - v' = 2v", "u(0) = 4; v(0) = 1",
     lambda t, s: [(t - s[0] + 2 * s[1]) / 2, (t - s[0] - 2 * s[1]) / 2], 0, [4, 1], {"u": 0, "v": 1}, ["-1", "2", "6"]),
    ("(1 + t) u' = v; v' = -u", "u(0) = 0; v(0) = 1",
     lambda t, s: [s[1] / (1 + t), -s[0]], 0, [0, 1], {"u": 0, "v": 1}, ["-1/2", "3"]),
]


@pytest.mark.parametrize("system", SYSTEMS, ids=[s[0] for s in SYSTEMS])
def test_shown_digits_of_every_unknown_are_right(system):
    equations, conditions, right, start, values, places, points = system
    asked = [option for point in points for option in ("--at", point)]
    answer = work(equations, conditions, "--degree", 4, *asked)
    shown = {point["x"]: point for point in reversed(answer["reference"]["points"])}
    first = answer["problem"]["unknowns"][0]
    with mp.workdps(40):
        ahead = mp.odefun(right, start, [mp.mpf(v) for v in values])
        back = mp.odefun(lambda s, y: [-f for f in right(2 * start - s, y)], start, [mp.mpf(v) for v in values])
        for point in points:
            t = rational(point)
            truth = ahead(t) if t >= start else back(2 * start - t)
            assert shown[point]["value"] == shown[point]["values"][first]
            for name, place in places.items():
                text = middle(shown[point]["values"][name])
                assert agreeing_digits(text, truth[place]) >= 14, (point, name, text, mp.nstr(truth[place], 25))


def test_the_pendulum_as_a_system():
    points = ["-7", "3", "10"]
    answer = work("x' = y, y' = -sin x", "x(0) = 1, y(0) = 0", "--degree", 4, *[o for p in points for o in ("--at", p)])
    shown = {
        point["x"]: {name: middle(value) for name, value in point["values"].items()}
        for point in reversed(answer["reference"]["points"])
    }
    with mp.workdps(40):
        for point in points:
            for name, truth in zip("xy", pendulum(rational(point)), strict=True):
                assert agreeing_digits(shown[point][name], truth) >= 14, (point, name, shown[point])


def test_predator_and_prey_keep_their_invariant():
    """V = c u − d ln u + b v − a ln v is constant along u′ = u(a − b v), v′ = v(c u − d): M. Hirsch,
    S. Smale, R. Devaney, Differential Equations, Dynamical Systems, and an Introduction to Chaos,
    sec. 11.2, and Y. Nutku, Physics Letters A 145 (1990) 27 (locators from memory). Here a = 3, b = 1, c = 1, d = 2."""
    answer = work("u' = u(3 - v); v' = v(u - 2)", "u(0) = 1; v(0) = 2", "--degree", 6, "--interval", "0", "8")
    with mp.workdps(30):
        def invariant(u, v):
            return u - 2 * mp.log(u) + v - 3 * mp.log(v)
        level = invariant(1, 2)
        points = answer["reference"]["points"]
        assert len(points) > 100
        for point in points:
            values = [mp.mpf(middle(point["values"][name])) for name in "uv"]
            assert abs(invariant(*values) - level) < mp.mpf("1e-14"), point
    # The two go round once in about 2.6: the solution is followed for three rounds.
    assert float(points[-1]["x"]) == 8


def test_the_series_keeps_the_invariant_to_its_degree():
    """The same invariant of the exact polynomials: its derivative vanishes to the degree."""
    degree = 8
    answer = work("u' = u(3 - v); v' = v(u - 2)", "u(0) = 1; v(0) = 2", "--degree", degree)
    t = sp.Symbol("t")
    u, v = (sp.sympify(answer["polynomial"][name].replace("^", "**")) for name in "uv")
    # V′·u·v = (u − 2) v u′ + (v − 3) u v′
    rate = sp.Poly(sp.expand((u - 2) * v * sp.diff(u, t) + (v - 3) * u * sp.diff(v, t)), t)
    assert [rate.coeff_monomial(t**k) for k in range(degree)] == [0] * degree
    assert rate.degree() >= degree


def test_coupled_oscillators_keep_their_energy():
    """E = (x′² + y′²)/2 + (x² + y² + (x − y)²)/2 for x″ = −2x + y, y″ = x − 2y: kinetic and potential
    energy of two masses between three equal springs; the equations are E's own (conservation)."""
    answer = work("x'' = -2x + y; y'' = x - 2y", "x(0)=1, x'(0)=0, y(0)=0, y'(0)=1/2", "--degree", 9)
    t = sp.Symbol("t")
    x, y = (sp.sympify(answer["polynomial"][name].replace("^", "**")) for name in "xy")
    energy = (sp.diff(x, t) ** 2 + sp.diff(y, t) ** 2 + x**2 + y**2 + (x - y) ** 2) / 2
    found = sp.Poly(sp.expand(energy), t)
    assert found.coeff_monomial(1) == sp.Rational(9, 8)
    assert [found.coeff_monomial(t**k) for k in range(1, 9)] == [0] * 8
    assert found.degree() > 9


def test_elliptic_functions_of_jacobi():
    """u′ = v w, v′ = −u w, w′ = −k² u v, (0, 1, 1) is (sn, cn, dn) with modulus k; DLMF 22.13.1–3, and
    the Maclaurin series of sn (OEIS A060628) and of cn and dn (OEIS A181612, formula section), both read;
    DLMF 22.10.1–3 has the same (from memory)."""
    answer = work("u' = v w; v' = -u w; w' = -u v/2", "u(0) = 0; v(0) = 1; w(0) = 1", "--degree", 5, "--at", "1")
    k2 = sp.Rational(1, 2)
    table = table_of(answer)
    assert table["u"] == [0, 1, 0, -(1 + k2), 0, 1 + 14 * k2 + k2**2]
    assert table["v"] == [1, 0, -1, 0, 1 + 4 * k2, 0]
    assert table["w"] == [1, 0, -k2, 0, k2 * (4 + k2), 0]
    with mp.workdps(30):
        shown = {name: middle(value) for name, value in answer["reference"]["points"][0]["values"].items()}
        for name, kind in (("u", "sn"), ("v", "cn"), ("w", "dn")):
            assert agreeing_digits(shown[name], mp.ellipfun(kind, 1, m=mp.mpf(1) / 2)) >= 14


def test_a_blow_up_names_the_unknown():
    answer = work("u' = v; v' = u^2 + v^2", "u(0) = 1; v(0) = 1", "--interval", "0", "3")
    right = [stop for stop in answer["reference"]["stop"] if stop["side"] == "right"]
    assert right and right[0]["unknown"] in ("u", "v"), right
