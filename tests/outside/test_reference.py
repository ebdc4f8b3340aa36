"""The numerical solution's shown digits against mpmath's Taylor integrator at 40 digits."""

import mpmath as mp
import pytest

from derive import middle, work

# equation, conditions, right-hand side for mpmath (x, list of derivatives), start, start values, points
PROBLEMS = [
    ("y'' = x y", "y(0) = 1, y'(0) = -1", lambda x, y: [y[1], x * y[0]], 0, [1, -1], ["-5", "-1/3", "1", "4"]),
    ("y' = 1 + y^2", "y(0) = 0", lambda x, y: [1 + y[0] ** 2], 0, [0], ["-3/2", "1/2", "1.5"]),
    ("y' = x^2 + y^2", "y(0) = 0", lambda x, y: [x**2 + y[0] ** 2], 0, [0], ["-1", "1", "1.9"]),
    ("y'' + y + y^3 = 0", "y(0) = 2, y'(0) = 0", lambda x, y: [y[1], -y[0] - y[0] ** 3], 0, [2, 0], ["1", "5", "12"]),
    ("y'' = 2(1 - y^2) y' - y", "y(0) = 1/2, y'(0) = 1", lambda x, y: [y[1], 2 * (1 - y[0] ** 2) * y[1] - y[0]], 0, [mp.mpf(1) / 2, 1], ["2", "8"]),
    ("y' = y(1 - y/4)", "y(0) = 1", lambda x, y: [y[0] * (1 - y[0] / 4)], 0, [1], ["-3", "6"]),
    ("(4 + x^2) y'' + 3y = 0", "y(0) = 1, y'(0) = 2", lambda x, y: [y[1], -3 * y[0] / (4 + x**2)], 0, [1, 2], ["1", "3", "-6"]),
    ("x y'' - 2y' = x^2", "y(3) = 1, y'(3) = 0", lambda x, y: [y[1], (x**2 + 2 * y[1]) / x], 3, [1, 0], ["1", "6"]),
    ("x^2 y'' + x y' + (x^2 - 1/4) y = 0", "y(2) = 1, y'(2) = 1", lambda x, y: [y[1], -(x * y[1] + (x**2 - mp.mpf(1) / 4) * y[0]) / x**2], 2, [1, 1], ["1/2", "5"]),
    ("y' = sqrt(1 + y)", "y(0) = 3", lambda x, y: [mp.sqrt(1 + y[0])], 0, [3], ["-1", "3"]),
    ("y' = exp(-x) - y", "y(0) = 2", lambda x, y: [mp.exp(-x) - y[0]], 0, [2], ["-4", "5"]),
    ("y' = y/(1 + x)", "y(0) = 2", lambda x, y: [y[0] / (1 + x)], 0, [2], ["-0.75", "4"]),
    ("y'' = sqrt(1 + y'^2)/3", "y(0) = 3, y'(0) = 0", lambda x, y: [y[1], mp.sqrt(1 + y[1] ** 2) / 3], 0, [3, 0], ["-4", "5"]),
    ("y''' + y y'' = 0", "y(0) = 0, y'(0) = 0, y''(0) = 1", lambda x, y: [y[1], y[2], -y[0] * y[2]], 0, [0, 0, 1], ["1", "4"]),
    ("y^(4) = y + x", "y(0)=1, y'(0)=0, y''(0)=0, y'''(0)=2", lambda x, y: [y[1], y[2], y[3], y[0] + x], 0, [1, 0, 0, 2], ["-3", "3"]),
    # Functions in the equation are states of their own here, which spares mpmath their series.
    ("y'' + (3 - 2 cos(2x)) y = 0", "y(0) = 1, y'(0) = 0", lambda x, y: [y[1], -(3 - 2 * y[2]) * y[0], -2 * y[3], 2 * y[2]], 0, [1, 0, 1, 0], ["4", "-9"]),
    ("y' = arctan(x) + tanh(y)", "y(0) = 1", lambda x, y: [y[1] + y[2], 1 / (1 + x**2), (1 - y[2] ** 2) * (y[1] + y[2])], 0, [1, 0, "tanh(1)"], ["-2", "2"]),
    ("y' = -2 x y", "y(0) = 1", lambda x, y: [-2 * x * y[0]], 0, [1], ["3", "-5"]),
    ("T' = -(T - 12)/5", "T(0) = 80", lambda x, y: [-(y[0] - 12) / 5], 0, [80], ["2", "20"]),
    ("y''' = y'' - x y", "y(0) = 1, y'(0) = 0, y''(0) = -1", lambda x, y: [y[1], y[2], y[2] - x * y[0]], 0, [1, 0, -1], ["-3", "5/2", "6"]),
    ("u'' = -u/t", "u(5/2) = 1, u'(5/2) = -1/2", lambda t, u: [u[1], -u[0] / t], mp.mpf(5) / 2, [1, mp.mpf(-1) / 2], ["1/2", "7.5", "12"]),
    ("y' = y^2 - x", "y(0) = -2", lambda x, y: [y[0] ** 2 - x], 0, [-2], ["-0.4", "3"]),  # a pole on the left, near -0.5
    ("y' = sqrt(2 - x) y", "y(0) = 1", lambda x, y: [mp.sqrt(2 - x) * y[0]], 0, [1], ["-3", "1.9"]),  # the domain ends at 2
    ("y'' = -100y", "y(0) = 1, y'(0) = 3", lambda x, y: [y[1], -100 * y[0]], 0, [1, 3], ["-4", "10"]),
    ("y' = x y", "y(0) = 1", lambda x, y: [x * y[0]], 0, [1], ["-2", "5"]),
]


def agreeing_digits(shown, exact):
    """How many significant digits of the shown decimal are right (its last place may be rounded)."""
    if exact == 0:
        return 40 if mp.mpf(shown) == 0 else 0
    error = abs(mp.mpf(shown) - exact) / abs(exact)
    return 40 if error == 0 else int(mp.floor(-mp.log10(error)))


def rational(text):
    """The number that a point's text stands for, at the precision in force."""
    numerator, _, denominator = text.partition("/")
    return mp.mpf(numerator) / mp.mpf(denominator or 1)


@pytest.mark.parametrize("problem", PROBLEMS, ids=[p[0] for p in PROBLEMS])
def test_shown_digits_are_right(problem):
    equation, conditions, right, start, values, points = problem
    asked = [option for point in points for option in ("--at", point)]
    answer = work(equation, conditions, "--degree", 4, *asked)
    shown = {point["x"]: middle(point["value"]) for point in reversed(answer["reference"]["points"])}
    with mp.workdps(40):
        # odefun goes one way only and keeps what it has worked out: one for each direction.
        values = [mp.tanh(1) if v == "tanh(1)" else mp.mpf(v) for v in values]
        ahead = mp.odefun(right, start, values)
        back = mp.odefun(lambda s, y: [-f for f in right(2 * start - s, y)], start, values)
        for point in points:
            x = rational(point)
            truth = (ahead(x) if x >= start else back(2 * start - x))[0]
            assert agreeing_digits(shown[point], truth) >= 14, (point, shown[point], mp.nstr(truth, 25))


def pendulum(x):
    """The angle let go at 1, and its rate: 2 arcsin(k sn(K + x)) and 2 k cn(K + x), k = sin(1/2) (DLMF 22.19.2, 22.13.1)."""
    k = mp.sin(mp.mpf(1) / 2)
    quarter = mp.ellipk(k**2)
    return 2 * mp.asin(k * mp.ellipfun("sn", quarter + x, m=k**2)), 2 * k * mp.ellipfun("cn", quarter + x, m=k**2)


# Against closed forms; about singular points, and implicit in the highest derivative, against
# special functions of mpmath (DLMF 10.2.2, 14.3.1, 13.2.2, 15.2.1, 6.2.9 name them).
CLOSED = [
    ("y'' + sin y = 0", "y(0) = 1, y'(0) = 0", lambda x: pendulum(x)[0], ["3", "10", "-7"]),
    ("y' = sin(y)", "y(0) = 1", lambda x: 2 * mp.atan(mp.tan(mp.mpf(1) / 2) * mp.exp(x)), ["-8", "8"]),
    ("y' = ln(x) y", "y(1) = 1", lambda x: mp.exp(x * mp.log(x) - x + 1), ["1/4", "3"]),
    ("x^2 y'' + x y' + x^2 y = 0", "y(0) = 1", lambda x: mp.besselj(0, x), ["1/2", "1", "10", "-3", "20"]),
    ("x^2 y'' + x y' + (x^2 - 9) y = 0", "y'''(0) = 1/8", lambda x: mp.besselj(3, x), ["1/2", "4", "-10"]),
    ("x y'' + y' + x y = 0", "y(0) = pi", lambda x: mp.pi * mp.besselj(0, x), ["1/2", "3"]),
    ("(1-x^2) y'' - 2x y' + 12 y = 0", "y(1) = 1", lambda x: mp.legendre(3, x), ["1/2", "0", "-1/2", "2"]),
    ("(1-x^2) y'' - 2x y' + y = 0", "y(1) = 1", lambda x: mp.legendre((mp.sqrt(5) - 1) / 2, x), ["0", "-9/10", "2"]),
    ("x y'' + (1-x) y' + 1/2 y = 0", "y(0) = 1", lambda x: mp.hyp1f1(mp.mpf(-1) / 2, 1, x), ["1", "5", "-8"]),
    ("x(1-x) y'' + (1 - 2x) y' - 1/4 y = 0", "y(0) = 1", lambda x: mp.hyp2f1(0.5, 0.5, 1, x), ["1/2", "9/10", "-5"]),
    ("x y' = sin x", "y(0) = 0", mp.si, ["1", "10", "-3"]),
    # The Lane-Emden equation of index 5 (Chandrasekhar 1939, IV (29)), Riccati and Bernoulli equations.
    ("x y'' + 2y' + x y^5 = 0", "y(0) = 1", lambda x: 1 / mp.sqrt(1 + x**2 / 3), ["1", "5", "-7/2"]),
    ("x y' = y^2 + x", "y(0) = 0", lambda x: mp.sqrt(x) * mp.besselj(1, 2 * mp.sqrt(x)) / mp.besselj(0, 2 * mp.sqrt(x)), ["1/2", "7/5", "-3"]),
    ("y y' = x + y/2", "y(0) = 0, y'(0) = (1 + sqrt(17))/4", lambda x: x * (1 + mp.sqrt(17)) / 4, ["1", "-2"]),
    ("x y' = y + x^2 y^2", "y(0) = 0, y'(0) = 1", lambda x: x / (1 - x**3 / 3), ["1", "-4"]),
    ("y'^2 = 1 + y", "y(0) = 3, y'(0) = 2", lambda x: (x / 2 + 2) ** 2 - 1, ["1", "5", "-3.9"]),
    ("y'^2 = 1 - y^2", "y(0) = 0, y'(0) = -1", lambda x: -mp.sin(x), ["1", "-1.5"]),
    ("y = x y' + y'^2", "y(1) = 2, y'(1) = 1", lambda x: x + 1, ["3", "-1.9"]),
    ("y' + e^(y') = y + e^y", "y(0) = 1, y'(0) = 1", mp.exp, ["1", "-2"]),
]


@pytest.mark.parametrize("problem", CLOSED, ids=[p[0] for p in CLOSED])
def test_shown_digits_are_right_against_closed_forms(problem):
    equation, conditions, truth, points = problem
    asked = [option for point in points for option in ("--at", point)]
    answer = work(equation, conditions, "--degree", 4, *asked)
    shown = {point["x"]: middle(point["value"]) for point in reversed(answer["reference"]["points"])}
    with mp.workdps(40):
        for point in points:
            assert agreeing_digits(shown[point], truth(rational(point))) >= 14, (point, shown[point])


@pytest.mark.parametrize(
    ("equation", "conditions", "where", "reason"),
    [
        # y = sin x touches 1: y = 1 goes on from there, too.
        ("y'^2 = 1 - y^2", "y(0) = 0, y'(0) = 1", mp.pi / 2, "the equation does not give its highest derivative"),
        ("y'^2 = 1 + y", "y(0) = 3, y'(0) = -2", 4, "the equation does not give its highest derivative"),
        ("(1-x^2) y'' - 2x y' + 3 y = 0", "y(-1) = 1", 1, "singular point of the equation"),
        ("x y' = y + x^2 y^2", "y(0) = 0, y'(0) = 1", mp.cbrt(3), "pole or blow-up"),
    ],
)
def test_the_solution_stops_where_the_equation_stops_giving_it(equation, conditions, where, reason):
    answer = work(equation, conditions, "--interval", "-1", "6")
    stop = next(stop for stop in answer["reference"]["stop"] if stop["side"] == "right")
    assert stop["reason"] == reason and abs(mp.mpf(stop["x"]) - where) < 1e-8, stop
    assert all(rational(point["x"]) <= where for point in answer["reference"]["points"])


@pytest.mark.parametrize(
    ("equation", "conditions"),
    [("x^2 y' = y - x", "y(0) = 0"), ("x^3 y' = y - x", "y(0) = 0"), ("x^2 y'' + y' + y = 0", "y(0) = 1")],
)
def test_a_formal_series_is_not_plotted_as_a_solution(equation, conditions):
    answer = work(equation, conditions, "--at", "1/2")
    assert "formal-only" in [d["code"] for d in answer["diagnostics"]]
    assert answer["reference"] is None and len(answer["table"]) > 3


def test_the_pole_of_a_riccati_equation_is_found_and_not_crossed():
    """y' = x² + y², y(0) = 0 has its first pole at the first zero of J_{-1/4}(x²/2)."""
    with mp.workdps(30):
        pole = mp.findroot(lambda x: mp.besselj(mp.mpf(-1) / 4, x**2 / 2), 2)
    answer = work("y' = x^2 + y^2", "y(0) = 0", "--interval", "0", "3")
    stop = answer["reference"]["stop"]
    assert stop, "the solution was followed past its pole"
    text = str(stop)
    assert any(abs(float(number) - float(pole)) < 0.01 for number in _numbers(text)), (text, pole)
    assert all(float(p["x"]) < float(pole) for p in answer["reference"]["points"] if "/" not in p["x"])


def _numbers(text):
    import re

    return re.findall(r"\d+\.\d+", text)
