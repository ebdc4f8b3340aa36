"""Exact tables against published series. Each check names its source.

DLMF: NIST Digital Library of Mathematical Functions. A&S: Abramowitz & Stegun, Handbook of
Mathematical Functions (1964). Numbers were written down from these by hand, not computed here.
"""

from fractions import Fraction as F
from math import factorial

import mpmath as mp
import pytest
import sympy as sp

from derive import middle, work


def coefficients(equation, conditions, degree):
    return [F(row["coefficient"]) for row in work(equation, conditions, "--degree", degree)["table"]]


def values(equation, conditions, degree):
    return [F(row["value"]) for row in work(equation, conditions, "--degree", degree)["table"]]


def test_airy_even_and_odd_solutions():
    """DLMF (9.4.1): 1 + z³/3! + 1·4 z⁶/6! + 1·4·7 z⁹/9! and z + 2 z⁴/4! + 2·5 z⁷/7! + 2·5·8 z¹⁰/10!."""
    assert values("w'' = z w", "w(0) = 1, w'(0) = 0", 10) == [1, 0, 0, 1, 0, 0, 4, 0, 0, 28, 0]
    assert values("w'' = z w", "w(0) = 0, w'(0) = 1", 10) == [0, 1, 0, 0, 2, 0, 0, 10, 0, 0, 80]


def test_hermite_polynomials():
    """DLMF (18.5.18) for the polynomials, Table 18.8.1 for the equation."""
    assert coefficients("y'' - 2x y' + 8y = 0", "y(0) = 12, y'(0) = 0", 8) == [12, 0, -48, 0, 16, 0, 0, 0, 0]
    assert coefficients("y'' - 2x y' + 10y = 0", "y(0) = 0, y'(0) = 120", 7) == [0, 120, 0, -160, 0, 32, 0, 0]


def test_legendre_polynomial():
    """DLMF (18.5.16): P₅ = (63x⁵ − 70x³ + 15x)/8; equation (14.2.1) with μ = 0."""
    table = coefficients("(1 - x^2) y'' - 2x y' + 30y = 0", "y(0) = 0, y'(0) = 15/8", 9)
    assert table == [0, F(15, 8), 0, F(-70, 8), 0, F(63, 8), 0, 0, 0, 0]


def test_chebyshev_polynomial():
    """DLMF (18.5.14): T₅ = 16x⁵ − 20x³ + 5x; equation in Table 18.8.1."""
    table = coefficients("(1 - x^2) y'' - x y' + 25y = 0", "y(0) = 0, y'(0) = 5", 8)
    assert table == [0, 5, 0, -20, 0, 16, 0, 0, 0]


def test_laguerre_polynomial_about_a_nonzero_point():
    """DLMF (18.5.17): L₃ = −x³/6 + 3x²/2 − 3x + 1, re-expanded about 2; equation in Table 18.8.1."""
    # L₃(2) = −1/3, L₃′(2) = 1, L₃″(2) = 1, L₃‴(2) = −1 by differentiating the published polynomial.
    table = values("x y'' + (1 - x) y' + 3y = 0", "y(2) = -1/3, y'(2) = 1", 6)
    assert table == [F(-1, 3), 1, 1, -1, 0, 0, 0]


def test_tangent_and_hyperbolic_tangent():
    """DLMF (4.19.3) and (4.33.3): ±1/3, 2/15, ±17/315."""
    assert coefficients("y' = 1 + y^2", "y(0) = 0", 8) == [0, 1, 0, F(1, 3), 0, F(2, 15), 0, F(17, 315), 0]
    assert coefficients("y' = 1 - y^2", "y(0) = 0", 8) == [0, 1, 0, F(-1, 3), 0, F(2, 15), 0, F(-17, 315), 0]


def test_tangent_numbers():
    """Tangent numbers 1, 2, 16, 272, 7936, 353792 (OEIS A000182, from memory)."""
    assert values("y' = 1 + y^2", "y(0) = 0", 11)[1::2] == [1, 2, 16, 272, 7936, 353792]


def test_secant():
    """DLMF (4.19.5): 1 + z²/2 + 5z⁴/24 + 61z⁶/720; sec″ = 2 sec³ − sec."""
    assert coefficients("y'' = 2y^3 - y", "y(0) = 1, y'(0) = 0", 6) == [1, 0, F(1, 2), 0, F(5, 24), 0, F(61, 720)]


def test_error_function():
    """DLMF (7.6.1) without its factor 2/√π: (−1)ⁿ z²ⁿ⁺¹/(n!(2n+1)); erf″ + 2z erf′ = 0 from (7.2.1)."""
    expected = [0] * 12
    for n in range(6):
        expected[2 * n + 1] = F((-1) ** n, factorial(n) * (2 * n + 1))
    assert coefficients("y'' + 2x y' = 0", "y(0) = 0, y'(0) = 1", 11) == expected


@pytest.mark.parametrize("m", [F(1, 4), F(1, 2), F(2, 3)])
def test_jacobian_elliptic_functions(m):
    """DLMF (22.10.1), (22.10.2), m = k²; equations (22.13.13), (22.13.14)."""
    sn = values(f"y'' = -(1 + {m}) y + 2({m}) y^3", "y(0) = 0, y'(0) = 1", 7)
    assert sn == [0, 1, 0, -(1 + m), 0, 1 + 14 * m + m**2, 0, -(1 + 135 * m + 135 * m**2 + m**3)]
    cn = values(f"y'' = (2({m}) - 1) y - 2({m}) y^3", "y(0) = 1, y'(0) = 0", 6)
    assert cn == [1, 0, -1, 0, 1 + 4 * m, 0, -(1 + 44 * m + 16 * m**2)]


@pytest.mark.parametrize("a", [F(1), F(-1, 2), F(3, 4)])
def test_parabolic_cylinder_functions(a):
    """A&S (19.2.5), (19.2.6): even and odd solutions of y″ = (x²/4 + a) y."""
    even = values(f"y'' = (x^2/4 + {a}) y", "y(0) = 1, y'(0) = 0", 8)
    assert even[::2] == [1, a, a**2 + F(1, 2), a**3 + F(7, 2) * a, a**4 + 11 * a**2 + F(15, 4)]
    odd = values(f"y'' = (x^2/4 + {a}) y", "y(0) = 0, y'(0) = 1", 7)
    assert odd[1::2] == [1, a, a**2 + F(3, 2), a**3 + F(13, 2) * a]


def test_boundary_layer_series():
    """Blasius 1908, Z. Math. Phys. 56: f‴ + ½ f f″ = 0, coefficients 1, 1, 11, 375, 27897 (from memory)."""
    table = values("f''' + 1/2 f f'' = 0", "f(0) = 0, f'(0) = 0, f''(0) = 1", 14)
    expected = [0] * 15
    for k, c in enumerate([1, 1, 11, 375, 27897]):
        expected[3 * k + 2] = F((-1) ** k * c, 2**k)
    assert table == expected


def test_bell_numbers():
    """DLMF Table 26.7.1: 1, 1, 2, 5, 15, 52, 203, 877, 4140; their generating function solves y′ = eˣ y (26.7.5)."""
    assert values("y' = e^x y", "y(0) = 1", 8) == [1, 1, 2, 5, 15, 52, 203, 877, 4140]


def test_zigzag_numbers():
    """Euler's up/down numbers 1, 1, 1, 2, 5, 16, 61, 272, 1385 (OEIS A000111, from memory): 2y′ = 1 + y²."""
    assert values("2y' = 1 + y^2", "y(0) = 1", 8) == [1, 1, 1, 2, 5, 16, 61, 272, 1385]


def test_binomial_series():
    """DLMF (4.6.7): (1+z)^a; (1 + x) y′ = a y with a = 1/2."""
    table = coefficients("(1 + x) y' = y/2", "y(0) = 1", 5)
    assert table == [1, F(1, 2), F(-1, 8), F(1, 16), F(-5, 128), F(7, 256)]


def test_inverse_sine():
    """DLMF (4.24.1): z + z³/6 + 3z⁵/40 + 15z⁷/336; (1 − x²) y″ = x y′."""
    table = coefficients("(1 - x^2) y'' = x y'", "y(0) = 0, y'(0) = 1", 7)
    assert table == [0, 1, 0, F(1, 6), 0, F(3, 40), 0, F(15, 336)]


def test_bessel_equation_of_order_one_half_about_a_nonzero_point():
    """DLMF (10.16.1): x^(−1/2) sin x solves (10.2.1) with ν = 1/2; Taylor coefficients about 1 by mpmath."""
    answer = work("x^2 y'' + x y' + (x^2 - 1/4) y = 0", "y(1) = sin(1), y'(1) = cos(1) - sin(1)/2", "--degree", 8)
    with mp.workdps(40):
        truth = mp.taylor(lambda x: mp.sin(x) / mp.sqrt(x), 1, 8)
        for row, exact in zip(answer["table"], truth, strict=True):
            ours = mp.mpf(str(sp.N(sp.sympify(row["coefficient"].replace("^", "**")), 40)))
            assert abs(ours - exact) < mp.mpf(10) ** -25, row


def test_dn():
    """DLMF (22.10.3): dn, with equation (22.13.15): y″ = (2 − m) y − 2y³, m = k² = 1/3."""
    m = F(1, 3)
    dn = values(f"y'' = (2 - {m}) y - 2y^3", "y(0) = 1, y'(0) = 0", 6)
    assert dn == [1, 0, -m, 0, m * (4 + m), 0, -m * (16 + 44 * m + m**2)]


def test_gudermannian_and_euler_numbers():
    """DLMF Table 24.2.1, Euler numbers 1, −1, 5, −61, 1385: gd′ = sech (4.23.41) and gd′ = cos gd."""
    table = values("y' = cos y", "y(0) = 0", 9)
    assert table == [0, 1, 0, -1, 0, 5, 0, -61, 0, 1385]


def test_lambert_function():
    """DLMF (4.13.5): the n-th derivative at 0 is (−n)ⁿ⁻¹; W′ = e^(−W)/(1 + W) (4.13.4)."""
    table = values("y' = e^(-y)/(1 + y)", "y(0) = 0", 7)
    assert table == [0] + [(-n) ** (n - 1) for n in range(1, 8)]


def test_euler_polynomials_at_zero():
    """DLMF (24.2.8) at x = 0: 2/(eᵗ + 1); values 1, −1/2, 0, 1/4, 0, −1/2, 0, 17/8 by (24.4.26)."""
    table = values("y' = y^2/2 - y", "y(0) = 1", 7)
    assert table == [1, F(-1, 2), 0, F(1, 4), 0, F(-1, 2), 0, F(17, 8)]


def test_error_function_without_cancellation():
    """DLMF (7.6.2): Σ 2ⁿ z²ⁿ⁺¹/(1·3·…·(2n+1)) solves y′ = 1 + 2x y."""
    expected, odd = [0] * 10, 1
    for n in range(5):
        odd *= 2 * n + 1
        expected[2 * n + 1] = F(2**n, odd)
    assert coefficients("y' = 1 + 2x y", "y(0) = 0", 9) == expected


def test_first_painleve_transcendent():
    """y″ = 6y² + x (DLMF (32.2.1)) from zero: x³/6 + x⁸/336 + x¹³/26208 (Davis 1962, ch. 8, from memory)."""
    table = coefficients("y'' = 6y^2 + x", "y(0) = 0, y'(0) = 0", 13)
    assert {n: c for n, c in enumerate(table) if c} == {3: F(1, 6), 8: F(1, 336), 13: F(1, 26208)}


def reference_at(equation, conditions, *places):
    options = [word for x in places for word in ("--at", x)]
    points = work(equation, conditions, "--degree", 3, *options)["reference"]["points"]
    return [next(mp.mpf(middle(p["value"])) for p in points if p["x"] == x) for x in places]


def test_quarter_period_of_a_pendulum():
    """A&S Table 17.1: K(1/2) = 1.85407 46773 01372, a quarter period for an amplitude of a right angle (DLMF 22.19.3)."""
    (angle,) = reference_at("y'' + sin y = 0", "y(0) = pi/2, y'(0) = 0", "1.854074677301372")
    # The table's last digit times the speed there, √2.
    assert abs(angle) < 1.5e-15


def test_mathieu_function():
    """A&S Table 20.1, q = 5: a₀ = −5.80004602, ce₀(0) = 0.04480018, ce₀(π/2) = 1.33484870 (from memory)."""
    (value,) = reference_at("y'' + (-5.80004602 - 10 cos(2x)) y = 0", "y(0) = 0.04480018, y'(0) = 0", "pi/2")
    # Half a unit in the eighth decimal of ce₀(0) grows by the ratio of the two, about 30.
    assert abs(value - mp.mpf("1.33484870")) < 4e-7


def test_boundary_layer_table():
    """Schlichting, Boundary-Layer Theory, table 7.1 (Howarth 1938), from memory: f at 1, 2, 3, 4; f″(0) = 0.332057."""
    found = reference_at("f''' + f f''/2 = 0", "f(0) = 0, f'(0) = 0, f''(0) = 0.332057", "1", "2", "3", "4")
    for ours, table in zip(found, ["0.16557", "0.65003", "1.39682", "2.30576"], strict=True):
        assert abs(ours - mp.mpf(table)) < 2e-5, (ours, table)


@pytest.mark.parametrize(
    ("equation", "conditions", "x", "digits", "source"),
    [
        ("y' = y", "y(0) = 1", "1", "2.71828182845904523", "DLMF (4.2.11)"),
        ("y' = y", "y(0) = 1", "-1", "0.367879441171442321", "A&S Table 4.4"),
        ("y'' = -y", "y(0) = 0, y'(0) = 1", "1", "0.841470984807896506", "A&S Table 4.6"),
        ("y'' = -y", "y(0) = 1, y'(0) = 0", "1", "0.540302305868139717", "A&S Table 4.6"),
        ("y' = 1/x", "y(1) = 0", "2", "0.693147180559945309", "A&S Table 4.2"),
        ("y' = 1/(1 + x^2)", "y(0) = 0", "1", "0.785398163397448309", "DLMF (3.12.1), a quarter of π"),
        ("y' = 1/(2y)", "y(1) = 1", "2", "1.41421356237309504", "A&S Table 1.1"),
    ],
)
def test_values_of_elementary_functions(equation, conditions, x, digits, source):
    answer = work(equation, conditions, "--degree", 3, "--at", x)
    shown = next(middle(p["value"]) for p in answer["reference"]["points"] if p["x"] == x)
    assert abs(mp.mpf(shown) - mp.mpf(digits)) <= mp.mpf(digits) * mp.mpf("2e-16"), (shown, source)
    assert len(shown.replace("-", "").replace(".", "").lstrip("0")) >= 14, shown
