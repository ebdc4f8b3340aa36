"""Series about singular points, and of implicit equations, against published ones. Each check names its
source; all locators are from memory. The numbers were written down from there, not computed here.

DLMF: NIST Digital Library of Mathematical Functions. A&S: Abramowitz & Stegun, Handbook of
Mathematical Functions (1964).
"""

from fractions import Fraction as F
from math import comb, factorial

import mpmath as mp
import pytest
import sympy as sp

from derive import middle, work


def answer(equation, conditions, degree, *options):
    return work(equation, conditions, "--degree", degree, *options)


def coefficients(equation, conditions, degree):
    return [F(row["coefficient"]) for row in answer(equation, conditions, degree)["table"]]


def codes(found):
    return [d["code"] for d in found["diagnostics"]]


def rising(a, k):
    """Pochhammer's symbol (DLMF 5.2.4)."""
    product = F(1)
    for i in range(k):
        product *= a + i
    return product


def test_bessel_function_of_order_zero():
    """DLMF (10.2.1), (10.2.2); A&S 9.1.12: J₀ = 1 − (z²/4)/(1!)² + (z²/4)²/(2!)² − (z²/4)³/(3!)² + …."""
    table = coefficients("z^2 w'' + z w' + z^2 w = 0", "w(0) = 1", 8)
    assert table == [1, 0, F(-1, 4), 0, F(1, 64), 0, F(-1, 2304), 0, F(1, 147456)]


@pytest.mark.parametrize("order", [1, 2, 3])
def test_bessel_functions_of_integer_order(order):
    """DLMF (10.2.2): J_n = (z/2)ⁿ Σ (−1)ᵏ (z²/4)ᵏ/(k! (n+k)!). The equation leaves the n-th derivative free;
    that of J_n is 2⁻ⁿ (DLMF 10.7.3)."""
    primes = "'" * order
    table = coefficients(f"z^2 w'' + z w' + (z^2 - {order**2}) w = 0", f"w{primes}(0) = 1/{2**order}", 9)
    expected = [F(0)] * 10
    for k in range((9 - order) // 2 + 1):
        expected[order + 2 * k] = F((-1) ** k, 2 ** (order + 2 * k) * factorial(k) * factorial(order + k))
    assert table == expected


def test_first_zero_of_the_bessel_function():
    """DLMF table 10.21.1 (A&S table 9.5): j₀,₁ = 2.40482 55577, J₀′ there is −0.51914 74973."""
    found = answer("z^2 w'' + z w' + z^2 w = 0", "w(0) = 1", 4, "--at", "2.4048255577")
    assert abs(mp.mpf(middle(found["reference"]["points"][0]["value"]))) < 1e-10


@pytest.mark.parametrize(("a", "b", "c"), [(F(1, 2), F(1, 2), 1), (F(1, 3), 2, F(5, 2)), (-3, 2, F(1, 2))])
def test_gauss_hypergeometric_series(a, b, c):
    """DLMF (15.10.1) for the equation, (15.2.1) for the series Σ (a)ₖ (b)ₖ/((c)ₖ k!) zᵏ."""
    equation = f"z(1-z) w'' + ({c} - ({a} + {b} + 1) z) w' - ({a})({b}) w = 0"
    expected = [rising(a, k) * rising(b, k) / (rising(c, k) * factorial(k)) for k in range(8)]
    assert coefficients(equation, "w(0) = 1", 7) == expected


@pytest.mark.parametrize(("a", "b"), [(F(1, 2), 1), (2, F(1, 3)), (-4, 3)])
def test_kummer_series(a, b):
    """DLMF (13.2.1) for the equation, (13.2.2) for M(a, b, z) = Σ (a)ₖ/((b)ₖ k!) zᵏ."""
    expected = [rising(a, k) / (rising(b, k) * factorial(k)) for k in range(8)]
    assert coefficients(f"z w'' + ({b} - z) w' - ({a}) w = 0", "w(0) = 1", 7) == expected


@pytest.mark.parametrize("n", [3, 5])
def test_laguerre_polynomials(n):
    """DLMF table 18.8.1 for the equation, (18.5.12) for L_n = Σ C(n, k) (−x)ᵏ/k!."""
    expected = [F((-1) ** k * comb(n, k), factorial(k)) for k in range(8)]
    assert coefficients(f"x y'' + (1 - x) y' + {n} y = 0", "y(0) = 1", 7) == expected


@pytest.mark.parametrize("n", [2, 3, 4])
def test_legendre_polynomials_about_one(n):
    """DLMF (18.5.7) with α = β = 0 (Murphy's formula): P_n = Σ C(n, k) C(n+k, k) ((x−1)/2)ᵏ."""
    expected = [F(comb(n, k) * comb(n + k, k), 2**k) for k in range(7)]
    assert coefficients(f"(1-x^2) y'' - 2x y' + {n * (n + 1)} y = 0", "y(1) = 1", 6) == expected


def test_eulers_divergent_series():
    """Euler 1760 (E247); Hardy, *Divergent Series*, 2.4: the formal solution of x² y′ + y = x is
    x − 1! x² + 2! x³ − 3! x⁴ + …, of radius 0; DLMF 2.1(iii) on asymptotic, not convergent, series."""
    found = answer("x^2 y' + y = x", "y(0) = 0", 7, "--at", "1/10")
    expected = [F(0)] + [F((-1) ** k * factorial(k)) for k in range(7)]
    assert [F(row["coefficient"]) for row in found["table"]] == expected
    formal = next(d for d in found["diagnostics"] if d["code"] == "formal-only")
    assert "converges nowhere except at the center" in formal["message"] and found["reference"] is None


def test_lane_emden_series():
    """Chandrasekhar, *Stellar Structure* (1939), IV (24); θ = 1 − ξ²/6 + n ξ⁴/120 − n(8n−5) ξ⁶/15120 + …."""
    n = 3
    table = coefficients(f"x y'' + 2 y' + x y^{n} = 0", "y(0) = 1", 6)
    assert table == [1, 0, F(-1, 6), 0, F(n, 120), 0, F(-n * (8 * n - 5), 15120)]


def test_first_zero_of_a_lane_emden_function():
    """Chandrasekhar (1939), table 4: the function of index 3 has its first zero at ξ₁ = 6.89685."""
    found = answer("x y'' + 2 y' + x y^3 = 0", "y(0) = 1", 4, "--at", "6.896845", "--at", "6.896855")
    before, after = (mp.mpf(middle(point["value"])) for point in found["reference"]["points"][:2])
    assert before > 0 > after


def test_sine_integral():
    """DLMF (6.6.5): Si(z) = Σ (−1)ⁿ z²ⁿ⁺¹/((2n+1)! (2n+1))."""
    expected = [F(0)] * 8
    for n in range(4):
        expected[2 * n + 1] = F((-1) ** n, factorial(2 * n + 1) * (2 * n + 1))
    assert coefficients("x y' = sin x", "y(0) = 0", 7) == expected


def test_weierstrass_function_from_its_first_order_equation():
    """DLMF (23.3.10): ℘′² = 4℘³ − g₂ ℘ − g₃; with the half period e₁ at the center (23.3.12)
    ℘″ = 6℘² − g₂/2, ℘⁗ = 12 ℘ ℘″ there. g₂ = 4, g₃ = 0: e₁ = 1, so 4 and 48."""
    found = answer("y'^2 = 4 y^3 - 4 y", "y(0) = 1, y''(0) = 4", 5)
    assert [F(row["value"]) for row in found["table"]] == [1, 0, 4, 0, 48, 0]


def test_bessel_equation_with_a_letter_for_its_order():
    """DLMF (10.2.1) about 0 with ν: w(0) = 0 is forced where ν ≠ 0; only for special ν there is more
    than the zero solution, so the condition is said."""
    found = answer("x^2 y'' + x y' + (x^2 - nu^2) y = 0", "y(0) = 0", 4)
    assert [row["value"] for row in found["table"]] == ["0"] * 5
    assert "nu != 0" in " ".join(found["side_conditions"])
    letters = {"a": sp.Symbol("a"), "b": sp.Symbol("b")}
    # Kummer's equation with letters: (a)ₖ/(b)ₖ, where b is no zero or negative integer.
    found = answer("z w'' + (b - z) w' - a w = 0", "w(0) = 1", 4)
    a, b = letters.values()
    for k, row in enumerate(found["table"]):
        right = sp.rf(a, k) / sp.rf(b, k)
        assert sp.cancel(sp.sympify(row["value"].replace("^", "**"), locals=letters) - sp.expand_func(right)) == 0
    assert any("b" in condition for condition in found["side_conditions"])
