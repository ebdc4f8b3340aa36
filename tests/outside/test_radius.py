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
    names = {"sqrt": mpmath.sqrt, "i": mpmath.j, "cos": mpmath.cos, "sin": mpmath.sin, "pi": mpmath.pi}
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
    pole = mpmath.sqrt(2 * mpmath.findroot(lambda z: mpmath.besselj(-0.25, z), 2.0))
    radius = work("y' = x^2 + y^2", "y(0) = 0", "--degree", 7)["radius"]
    # No coefficient is negative, and the pole is bracketed.
    assert radius["kind"] == "at_least" and radius["reason"] == "bracketed pole"
    assert mpmath.mpf(radius["value"]) < pole < mpmath.mpf(radius["upper_bound"])
    assert pole - mpmath.mpf(radius["value"]) < 1e-16
    assert abs(mpmath.mpf(radius["estimate"]) - pole) < 1e-3
