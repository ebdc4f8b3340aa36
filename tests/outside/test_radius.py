"""Singular points against roots of polynomials by numpy and mpmath, bounds of the remainder against
values by mpmath."""

import random
import re

import mpmath
import numpy

from derive import work

SEED = 20261
EQUATIONS = 40


def location(text):
    """A location as a complex number."""
    text = text.removeprefix("about ").replace("*", " ").replace("^", "**")
    text = re.sub(r"(?<=[0-9)i]) (?=[a-z(0-9])", "*", text)
    names = {"sqrt": mpmath.sqrt, "i": mpmath.j, "cos": mpmath.cos, "sin": mpmath.sin, "pi": mpmath.pi,
             "exp": mpmath.exp, "e": mpmath.e, "cosh": mpmath.cosh, "sinh": mpmath.sinh}
    return mpmath.mpmathify(eval(text, {"__builtins__": {}}, names))  # noqa: S307: our own output


def polynomial_text(coefficients):
    return " + ".join(f"({c}) x^{k}" for k, c in enumerate(coefficients) if c)


def test_random_singular_points():
    """Zeros of random leading coefficients, one or two random factors, against numpy's roots."""
    draw = random.Random(SEED)
    compared = 0
    for _ in range(EQUATIONS):
        leading = numpy.array([1])
        for _ in range(draw.randint(1, 2)):
            size = draw.randint(1, 4)
            factor = [draw.randint(-6, 6) for _ in range(size)] + [draw.choice([1, 1, 2, 3])]
            factor[0] = factor[0] or 1
            leading = numpy.convolve(leading, factor)
        answer = work(f"({polynomial_text(leading)}) y'' + x y' + 7 y = 0", "y(0) = 1, y'(0) = 1", "--degree", 2)
        radius = answer["radius"]
        roots = mpmath.polyroots([int(c) for c in leading[::-1]], maxsteps=500, extraprec=400, error=False)
        found = [location(point["location"]) for point in radius["singular_points"]]
        for root in roots:
            assert min(abs(root - own) for own in found) < 1e-5, (leading, root, found)
        for own in found:
            assert min(abs(root - own) for root in roots) < 1e-5, (leading, own, roots)
        if radius["kind"] == "at_least":
            nearest = min(abs(root) for root in roots)
            value = location(radius["value"])
            assert value.imag == 0 and value.real <= nearest + 1e-8, (leading, radius["value"], nearest)
            # A factor may cancel: then the bound is the distance to the next.
            kinds = {point["kind"] for point in radius["singular_points"]}
            assert "ordinary" in kinds or abs(value - nearest) < 1e-5, (leading, radius["value"], nearest)
        compared += len(roots)
    assert compared > 100


# Equation, conditions, the solution, the radius where it is known.
KNOWN = [
    ("y' = y", "y(0) = 1", mpmath.exp),
    ("y'' + y = 0", "y(0) = 0, y'(0) = 1", mpmath.sin),
    ("y' = 1 + y^2", "y(0) = 0", mpmath.tan),
    ("y' = y (1 - y)", "y(0) = 1/2", lambda x: 1 / (1 + mpmath.exp(-x))),
    ("(1 + x^2) y' = 1", "y(0) = 0", mpmath.atan),
    ("y' = exp(-y)", "y(0) = 0", lambda x: mpmath.log(1 + x)),
    ("y'' = x y", "y(0) = 1, y'(0) = 0",
     lambda x: (mpmath.airyai(x) + mpmath.airybi(x) / mpmath.sqrt(3)) / (2 * mpmath.airyai(0))),
]


def test_bounds_hold():
    """Every bound, everywhere within its reach and within the tolerance's range."""
    mpmath.mp.dps = 30
    compared = 0
    for equation, conditions, solution in KNOWN:
        tolerance = mpmath.mpf("1e-4")
        answer = work(equation, conditions, "--degree", 9, "--tolerance", "10^-4", "--interval", "-2", "2", "--at", "1/2")
        found = answer["remainder"]
        assert found["kind"] == "guaranteed"
        left, right = map(mpmath.mpf, found["interval"])
        # All of the interval, but for the logarithm's, the tangent's and the arctangent's singular places.
        assert (right == 2) == (equation != "y' = 1 + y^2") and right >= 0.5
        assert (left == -2) == (equation not in ("y' = 1 + y^2", "y' = exp(-y)")) and left <= -0.5
        coefficients = mpmath.taylor(solution, 0, 40)

        def error(degree, x, solution=solution, coefficients=coefficients):
            return abs(solution(x) - sum(c * x**k for k, c in enumerate(coefficients[: degree + 1])))

        for own in found["degrees"]:
            degree, bound = own["degree"], mpmath.mpf(own["bound"])
            low, high = map(mpmath.mpf, own["within"])
            most = 0
            for share in range(-20, 21):
                x = (right if share > 0 else -left) * share / 20
                assert error(degree, x * 0.999999) <= bound, (equation, degree, x)
                most = max(most, error(degree, x))
                end = high if share > 0 else -low
                assert error(degree, end * share / 20) <= tolerance, (equation, degree, share, end)
                compared += 2
            # Sharp: the largest difference is at an end of the interval here.
            assert mpmath.mpf(own["least"]) <= most * (1 + mpmath.mpf("1e-12")) and bound <= 1.1 * most + 1e-14
        needed = found["degree_needed"]
        assert needed["inside"]
        half = mpmath.mpf(1) / 2
        assert error(needed["first"], half) <= tolerance
        assert all(error(n, half) > tolerance for n in range(needed["first"]))
        assert all(error(n, half) <= tolerance for n in range(needed["all"], 40))
        assert needed["all"] == 0 or error(needed["all"] - 1, half) > tolerance
    assert compared > 5000


def test_published_radii():
    # Bender & Orszag, Advanced Mathematical Methods, sec. 4.3, and many others: the pole of
    # y' = x^2 + y^2, y(0) = 0 is at 2.003147359..., the first zero of J_{-1/4}(x^2/2) (locator from memory).
    radius = work("y' = x^2 + y^2", "y(0) = 0", "--degree", 7)["radius"]
    # No coefficient is negative, and the pole is bracketed.
    assert radius["kind"] == "at_least" and radius["reason"] == "bracketed pole"
    with mpmath.workdps(30):
        pole = mpmath.sqrt(2 * mpmath.findroot(lambda z: mpmath.besselj(-0.25, z), 2.0))
        assert mpmath.mpf(radius["value"]) < pole < mpmath.mpf(radius["upper_bound"])
        assert pole - mpmath.mpf(radius["value"]) < 1e-16
        assert abs(mpmath.mpf(radius["estimate"]) - pole) < 1e-3


# Equation, conditions, the radius as published (kind, value), and singular points with their kinds
# and limits. Locators are from memory.
SINGULAR_POINTS = [
    # Boyce & DiPrima, Elementary Differential Equations, 5.3, example 3: Legendre's equation about 0.
    ("(1 - x^2) y'' - 2x y' + (3/4) y = 0", "y(0) = 1, y'(0) = 0", ("exact", 1),
     {1: ("regular singular", [1, 0]), -1: ("regular singular", [1, 0])}),
    # The same, 5.3, example 4: about 0 at least 1, about -1/2 at least sqrt(5)/2.
    ("(1 + x^2) y'' + 2x y' + 4x^2 y = 0", "y(0) = 1, y'(0) = 0", ("at_least", 1),
     {1j: ("regular singular", [1, 0]), -1j: ("regular singular", [1, 0])}),
    ("(1 + x^2) y'' + 2x y' + 4x^2 y = 0", "y(-1/2) = 1, y'(-1/2) = 0", ("at_least", mpmath.sqrt(5) / 2), None),
    # The same, 5.3, example 5: no singular points, although sin x and 1 + x^2 are there.
    ("y'' + (sin x) y' + (1 + x^2) y = 0", "y(0) = 1, y'(0) = 0", ("infinite", None), {}),
    # The same, 5.4, example 3: 0 is regular, 2 is irregular.
    ("2x (x - 2)^2 y'' + 3x y' + (x - 2) y = 0", "y(1) = 1, y'(1) = 0", ("at_least", 1),
     {0: ("regular singular", [0, 0]), 2: ("irregular singular", None)}),
    # DLMF 13.2.1, Kummer's equation: regular at 0 with exponents 0 and 1 - b, here b = 3.
    ("x y'' + (3 - x) y' - 5 y = 0", "y(2) = 1, y'(2) = 0", ("at_least", 2), {0: ("regular singular", [3, 0])}),
    # DLMF 15.10.1, the hypergeometric equation: regular at 0 and 1; p has residues c and a + b + 1 - c.
    ("x (1 - x) y'' + (3 - 7x) y' - 8 y = 0", "y(1/3) = 1, y'(1/3) = 0", ("at_least", mpmath.mpf(1) / 3),
     {0: ("regular singular", [3, 0]), 1: ("regular singular", [4, 0])}),
    # DLMF 10.2.1, Bessel's equation: regular at 0 with limits 1 and -nu^2.
    ("x^2 y'' + x y' + (x^2 - 9) y = 0", "y(2) = 1, y'(2) = 0", ("at_least", 2), {0: ("regular singular", [1, -9])}),
    # DLMF 28.2.1, Mathieu's equation, and 12.2.2, parabolic cylinders: entire solutions.
    ("y'' + (2 - 2 cos(2x)) y = 0", "y(0) = 1, y'(0) = 0", ("infinite", None), {}),
    ("y'' - (x^2/4 + 1) y = 0", "y(0) = 1, y'(0) = 0", ("infinite", None), {}),
    # DLMF 31.2.1, Heun's equation with a = 3: regular at 0, 1 and 3.
    ("y'' + (1/(2x) + 1/(3(x - 1)) + 1/(4(x - 3))) y' + ((x - 2)/(x (x - 1) (x - 3))) y = 0",
     "y(2) = 1, y'(2) = 0", ("at_least", 1),
     {0: ("regular singular", ["1/2", 0]), 1: ("regular singular", ["1/3", 0]), 3: ("regular singular", ["1/4", 0])}),
]


def test_published_singular_points():
    for equation, conditions, (kind, value), points in SINGULAR_POINTS:
        radius = work(equation, conditions, "--degree", 4)["radius"]
        assert radius["kind"] == kind, (equation, radius)
        if value is not None:
            assert abs(location(radius["value"]) - value) < 1e-12, (equation, radius["value"])
        if points is None:
            continue
        found = {complex(location(p["location"])): (p["kind"], p["limits"]) for p in radius["singular_points"]}
        assert set(found) == {complex(place) for place in points}, (equation, found)
        for place, (kind, limits) in points.items():
            assert found[complex(place)][0] == kind, (equation, place, found)
            if limits is None:
                assert None in found[complex(place)][1]
            else:
                assert found[complex(place)][1] == [str(limit) for limit in limits], (equation, place, found)


def test_published_remainders():
    """Worked examples of calculus courses; locators from memory."""

    def last(answer):
        return answer["remainder"]["degrees"][-1]

    # Stewart, Calculus, "Applications of Taylor Polynomials", example 1: the cube root about 8, degree 2,
    # where 7 <= x <= 9: |f'''| <= (10/27) 7^(-8/3) < 0.0021, and |R| < 0.0004.
    root = work("y' = y/(3x)", "y(8) = 2", "--degree", 2, "--interval", 7, 9)
    most = mpmath.mpf(10) / 27 * mpmath.mpf(7) ** (mpmath.mpf(-8) / 3)
    assert most <= mpmath.mpf(last(root)["derivative_bound"]) < 0.0021
    truth = abs(mpmath.cbrt(7) - (2 - mpmath.mpf(1) / 12 - mpmath.mpf(1) / 288))
    assert mpmath.mpf(last(root)["least"]) <= truth <= mpmath.mpf(last(root)["bound"]) < 0.0004
    # The same, example 2: sin x by x - x^3/3! + x^5/5! where |x| <= 0.3: at most 4.3e-8; and within 0.00005 for
    # |x| < 0.82.
    sine = work("y'' = -y", "y(0) = 0, y'(0) = 1", "--degree", 5, "--interval", "-3/10", "3/10")
    truth = abs(mpmath.sin(0.3) - (mpmath.mpf(0.3) - mpmath.mpf(0.3) ** 3 / 6 + mpmath.mpf(0.3) ** 5 / 120))
    assert truth <= mpmath.mpf(last(sine)["bound"]) < 4.4e-8
    sine = work("y'' = -y", "y(0) = 0, y'(0) = 1", "--degree", 5, "--interval", -1, 1, "--tolerance", "0.00005")
    low, high = map(mpmath.mpf, last(sine)["within"])
    assert -0.822 < low < -0.81 and 0.81 < high < 0.822
    # Thomas, Calculus, on the convergence of Taylor series: e to within 10^-6 by the terms up to 1/9!.
    needed = work("y' = y", "y(0) = 1", "--degree", 3, "--at", 1, "--tolerance", "10^-6")["remainder"]["degree_needed"]
    assert (needed["first"], needed["all"]) == (9, 9)
    # Every course: ln 2 by the series of ln(1 + x) at the rim of its disc is not bounded there; at 1/2 it is.
    needed = work("(1 + x) y' = 1", "y(0) = 0", "--degree", 3, "--at", 1)["remainder"]["degree_needed"]
    assert not needed["inside"] and needed["all"] is None
    # Beyond the disc, where the solution goes on: no degree up to 64 comes near.
    needed = work("(1 + x) y' = 1", "y(0) = 0", "--degree", 3, "--at", 2)["remainder"]["degree_needed"]
    assert not needed["inside"] and needed["single"] == []


def lambert(a, b, c, d):
    """All zeros of a + b x + c e^(d x) that matter: −a/b − W(c d/b e^(−a d/b))/d, all branches."""
    at = c * d / b * mpmath.exp(-a * d / b)
    return [-a / b - mpmath.lambertw(at, k) / d for k in range(-12, 13)]


def test_zeros_of_sums_of_different_functions():
    """e^x + x and its like: every zero listed is one, and none that is left out is nearer than the nearest of them."""
    rng = random.Random(11)
    listed = 0
    with mpmath.workdps(40):
        for _ in range(25):
            a, b, c, d = (mpmath.mpf(rng.choice([-1, 1]) * rng.randint(1, 12)) / 4 for _ in range(4))
            center = mpmath.mpf(rng.randint(-4, 4)) / 4
            zeros = lambert(a, b, c, d)
            if min(abs(z - center) for z in zeros) < 1e-3:
                continue
            text = [f"{int(v * 4)}/4" for v in (a, b, c, d)]
            equation = f"({text[0]} + ({text[1]}) x + ({text[2]}) e^({text[3]} x)) y'' + y' + y = 0"
            radius = work(equation, f"y({int(center * 4)}/4) = 1, y'({int(center * 4)}/4) = 0", "--degree", 2)["radius"]
            if radius["reason"] != "nearest singular point":
                continue
            nearest = min(abs(z - center) for z in zeros)
            value = mpmath.mpf(radius["value"])
            assert value <= nearest < value * (1 + mpmath.mpf("1e-8")), (equation, radius["value"], nearest)
            for point in radius["singular_points"]:
                words = point["location"].removeprefix("about ").removesuffix(" i").split()
                im = 0 if len(words) == 1 else mpmath.mpf(words[2]) * (1 if words[1] == "+" else -1)
                at = mpmath.mpc(words[0], im)
                zero = min(zeros, key=lambda z: abs(z - at))
                assert abs(zero - at) < 1e-8 * abs(zero) + 1e-9, (equation, point)
                listed += 1
                if im == 0:
                    assert point["kind"] == "regular singular"
                    limit = 1 / (b + c * d * mpmath.exp(d * zero.real))
                    first, second = point["limits"]
                    assert second == "0" and abs(mpmath.mpf(first.removeprefix("about ")) - limit) < 1e-5 * abs(limit)
    assert listed > 30


def test_places_of_sums_and_branch_points():
    """Dottie's number, zeros of x sin x − 1, a square that makes an irregular point, and what branches."""
    for equation, conditions, location, kind in [
        ("(x - cos x) y'' + y' + y = 0", "y(0) = 1, y'(0) = 0", "about 0.7390851332", "regular singular"),
        ("(ln x + x) y'' + y = 0", "y(1) = 1, y'(1) = 1", "about 0.5671432904", "regular singular"),
        ("(ln x + x) y'' + y = 0", "y(1) = 1, y'(1) = 1", "0", "branch point of a coefficient"),
        ("(e^x + x)^2 y'' + y' + y = 0", "y(0) = 1, y'(0) = 1", "about -0.5671432904", "irregular singular"),
        ("y' = y/(x sin x - 1)", "y(0) = 1", "about 1.114157141", "regular singular"),
        # Both coefficients have the factor, so it is no pole of the first.
        ("(e^x + x) y'' + (e^x + x) y' + y = 0", "y(0) = 1, y'(0) = 1", "about -0.5671432904", "regular singular"),
        ("y'' + sqrt(x) y = 0", "y(1) = 1, y'(1) = 0", "0", "branch point of a coefficient"),
        ("y'' + arcsin(x) y = 0", "y(0) = 1, y'(0) = 0", "1", "branch point of a coefficient"),
        ("y'' + x^(-1/3) y' + y = 0", "y(1) = 1, y'(1) = 0", "0", "branch point of a coefficient"),
    ]:
        points = work(equation, conditions, "--degree", 2)["radius"]["singular_points"]
        assert {"location": location, "kind": kind} in [
            {key: point[key] for key in ("location", "kind")} for point in points], (equation, points)
    # Nothing in all of the plane is not claimed where zeros are only not found: e^x + 10^9 has them far away.
    assert work("(e^x + x^2 + 10^9) y'' + y = 0", "y(0) = 1, y'(0) = 1", "--degree", 2)["radius"]["kind"] != "infinite"


def test_gaps_between_the_terms_do_not_mislead():
    """Only every second, third, fifth power: the radius is told right, or not told."""
    for equation, conditions, radius in [
        ("y' = 2x y^2", "y(0) = 1", 1),
        ("y' = 3x^2 y^2", "y(0) = 1/8", 2),
        ("y' = 5x^4 (1 + y^2)", "y(0) = 0", (mpmath.pi / 2) ** mpmath.mpf("0.2")),
        ("y' = 1 + x^4 y^2", "y(0) = 0", None),
        ("y'' = 6 x^4 y^2", "y(0) = 1, y'(0) = 0", None),
    ]:
        found = work(equation, conditions, "--degree", 12)["radius"]
        values = [mpmath.mpf(found[key]) for key in ("value", "estimate") if found[key]]
        assert values and max(values) < 1.001 * min(values), (equation, found)
        if radius is not None:
            assert all(abs(value / radius - 1) < 1e-3 for value in values), (equation, found)
    # Entire, although only every third coefficient is not zero.
    for equation, conditions in [("y'' = x y", "y(0) = 1, y'(0) = 0"), ("y' = 3x^2 y", "y(0) = 1")]:
        found = work(equation, conditions, "--degree", 12)["radius"]
        assert (found["kind"], found["estimate"]) == ("infinite", None)


def test_a_polynomial_of_an_implicit_equation_is_the_solution():
    """Put in, it leaves nothing, and every later order has one value; where one is free, nothing follows."""
    for equation, conditions in [
        ("y'^2 = 1 + y", "y(0) = 3, y'(0) = 2"),
        ("y'^2 = 1 + y", "y(0) = 3, y'(0) = -2"),
        # A. Clairaut's equation (1734): its straight lines.
        ("y = x y' - y'^2/4", "y(0) = -1, y'(0) = 2"),
    ]:
        found = work(equation, conditions, "--degree", 5)["radius"]
        assert (found["kind"], found["value"], found["estimate"]) == ("infinite", None, None), (equation, found)
    # Not a polynomial: y = sin x, whose first coefficients end like one's.
    found = work("y'^2 = 1 - y^2", "y(0) = 0, y'(0) = 1", "--degree", 2)["radius"]
    assert found["kind"] != "infinite", found


def test_an_apparent_singularity_is_no_radius():
    """All solutions are analytic there, which is proved: it is passed over. With a logarithm it is not."""
    for equation, conditions in [
        # Both solutions, e^x and 1 + x, are entire; the exponents at 0 are 0 and 2.
        ("x y'' - (1 + x) y' + y = 0", "y(1) = 1, y'(1) = 1"),
        # e^x and x.
        ("(1 - x) y'' + x y' - y = 0", "y(0) = 1, y'(0) = 1"),
    ]:
        found = work(equation, conditions, "--degree", 6)["radius"]
        assert (found["kind"], found["value"], found["estimate"]) == ("infinite", None, None), (equation, found)
        assert [p["kind"] for p in found["singular_points"]] == ["apparent singularity"], (equation, found)
    # A polynomial, a two-term recurrence relation, a formula that is put in: more is proved.
    for equation, conditions, more in [
        ("(x - 1) y'' - y' = 0", "y(0) = 1, y'(0) = -2", ()),
        ("(1 - x^2) y'' - 2x y' + 6 y = 0", "y(0) = 1, y'(0) = 0", ()),
        ("x y'' - (1 + x) y' + y = 0", "y(1) = e, y'(1) = e", ("--candidate", "y = e^x")),
    ]:
        found = work(equation, conditions, "--degree", 6, *more)["radius"]
        kinds = {p["kind"] for p in found["singular_points"]}
        assert found["kind"] == "infinite" and kinds & {"regular singular", "apparent singularity"}, equation
    # Exponents 0 and 2 again, but x^2 ln x is in one solution.
    found = work("x y'' - y' - x y = 0", "y(1) = 1, y'(1) = 2", "--degree", 6)["radius"]
    assert (found["kind"], found["value"]) == ("at_least", "1")
    assert [p["kind"] for p in found["singular_points"]] == ["regular singular"]


def test_limits_of_coefficients_that_are_no_quotients_of_polynomials():
    """Against limits that mpmath takes numerically, at exact places on the axis and beside it."""
    compared = 0
    for equation, conditions, p, q in [
        ("y'' + tan(x) y' + y/cos(x)^2 = 0", "y(0) = 0, y'(0) = 1", mpmath.tan, lambda x: mpmath.sec(x) ** 2),
        ("y'' + cot(x) y' + 2 y/sin(x) = 0", "y(1) = 0, y'(1) = 1", mpmath.cot, lambda x: 2 * mpmath.csc(x)),
        ("(e^x - 1) y'' + (2 + x) y' + y = 0", "y(1) = 0, y'(1) = 1",
         lambda x: (2 + x) / (mpmath.exp(x) - 1), lambda x: 1 / (mpmath.exp(x) - 1)),
        ("sin(x)^2 y'' + x cos(x) y' + (1 + e^x) y = 0", "y(1) = 0, y'(1) = 1",
         lambda x: x * mpmath.cos(x) / mpmath.sin(x) ** 2, lambda x: (1 + mpmath.exp(x)) / mpmath.sin(x) ** 2),
        ("y'' + 3 tanh(x) y' + (x^2 + 1)/cosh(x)^2 y = 0", "y(0) = 0, y'(0) = 1",
         lambda x: 3 * mpmath.tanh(x), lambda x: (x * x + 1) * mpmath.sech(x) ** 2),
    ]:
        points = work(equation, conditions, "--degree", 3)["radius"]["singular_points"]
        assert points, equation
        for point in points:
            place = location(point["location"])
            assert point["limits"] and len(point["limits"]) == 2, (equation, point)
            with mpmath.workdps(60):
                step = mpmath.mpf(10) ** -12 * (1 + mpmath.mpf(1) / 3 * 1j)
                place = mpmath.mpmathify(place)
                # They are multiples of pi/2, with all digits again.
                quarter = mpmath.pi / 2
                place = quarter * round(place.real / quarter) + 1j * quarter * round(place.imag / quarter)
                for power, function, limit in ((1, p, point["limits"][0]), (2, q, point["limits"][1])):
                    value = step**power * function(place + step)
                    if limit is None:
                        assert abs(value) > 1e6, (equation, point)
                    else:
                        assert abs(value - location(limit)) < 1e-9, (equation, point, value)
                    compared += 1
    assert compared >= 30


def test_poles_of_approximants_are_near_the_singularities():
    """Estimated places against singularities that are known; no more digits are shown than are right."""
    told = 0
    for equation, conditions, places in [
        # Four singular points as far as each other.
        ("(1 - x^4) y'' + y = 0", "y(0) = 1, y'(0) = 1", [1, -1, 1j, -1j]),
        ("(1 + x) (x^2 + 1) y'' + y' + x y = 0", "y(0) = 1, y'(0) = 1", [-1, 1j, -1j]),
        # tan x has two poles; the solution of a linear equation with it, too.
        ("y'' + tan(x) y = 0", "y(0) = 0, y'(0) = 1", [mpmath.pi / 2, -mpmath.pi / 2]),
        # Separated by hand: y = tan(x + x^2/2): 1 + 2k pi + ... at x^2/2 + x = pi/2 + k pi.
        ("y' = (1 + x) (1 + y^2)", "y(0) = 0",
         [-1 + mpmath.sqrt(1 + mpmath.pi), -1 - mpmath.sqrt(1 + mpmath.pi),
          -1 + mpmath.sqrt(mpmath.mpc(1 - mpmath.pi)), -1 - mpmath.sqrt(mpmath.mpc(1 - mpmath.pi))]),
        # A square root's branch point: y = sqrt(1 + 2x).
        ("y' = 1/y", "y(0) = 1", [-0.5]),
        # A Riccati equation: the zeros of cos x + 2 sin x.
        ("y' = -1 - y^2", "y(0) = 2", [mpmath.atan(-0.5), mpmath.atan(-0.5) + mpmath.pi]),
    ]:
        found = work(equation, conditions, "--degree", 6)["radius"]
        for text in found["estimated_singularities"]:
            own = location(text)
            digits = text.split()[1].replace("-", "").replace(".", "").lstrip("0")
            imaginary = text.split()[-2].replace(".", "").lstrip("0")
            shown = max(len(digits), len(imaginary))
            assert min(abs(own - place) for place in places) < 3 * 10.0 ** (1 - shown), (equation, text)
            told += 1
    assert told >= 12


def test_systems_have_a_remainder_for_each_unknown():
    answer = work("u' = v; v' = -u", "u(0) = 0, v(0) = 1", "--degree", 5, "--interval", -1, 1)
    assert set(answer["remainders"]) == {"u", "v"} and answer["remainders"]["u"] == answer["remainder"]
    for name, truth in (("u", mpmath.sin(1) - (1 - mpmath.mpf(1) / 6 + mpmath.mpf(1) / 120)),
                        ("v", mpmath.cos(1) - (1 - mpmath.mpf(1) / 2 + mpmath.mpf(1) / 24))):
        own = answer["remainders"][name]["degrees"][-1]
        assert mpmath.mpf(own["least"]) <= abs(truth) <= mpmath.mpf(own["bound"]) < 1.01 * abs(truth)
    assert "remainders" not in work("y' = y", "y(0) = 1", "--degree", 3)
