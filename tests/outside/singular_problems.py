"""Random linear equations with polynomial coefficients about a center at which the leading one
vanishes, each written twice: as text for the worksheet, and as coefficients for the reference, which
solves the linear system for the Taylor coefficients by sympy's row reduction."""

import random
from fractions import Fraction
from math import factorial

from sympy.polys.domains import QQ
from sympy.polys.matrices import DomainMatrix

from implicit_problems import number, summed

KINDS = ["regular", "euler", "bessel", "gauss", "kummer", "legendre", "first", "third", "irregular"]
NAMES = ["y", "y'", "y''", "y'''"]
FURTHER = 16


class Problem:
    """Σ p_j(t) y^(j) = g(t), t = x − center; polynomials as lists of coefficients."""

    def __init__(self, seed):
        self.random = random.Random(50_000 + seed)
        self.kind = KINDS[seed % len(KINDS)]
        self.center = self.random.choice([Fraction(0)] * 4 + [Fraction(1), Fraction(-2), Fraction(1, 2)])
        self.degree = 6
        pick, small = self.random.choice, self.small
        right = [small() if self.random.random() < 0.6 else 0 for _ in range(4)] if self.random.random() < 0.4 else [0]
        match self.kind:
            case "regular":
                # t² y″ + t p y′ + q y with integer or other exponents r₁, r₂ at the center.
                r, s = pick([0, 1, 2, 3, 4]), pick([0, 1, 2, 5, Fraction(1, 2), Fraction(-1), Fraction(-2)])
                self.left = [[r * s, small(), small()], [0, 1 - r - s, small(), pick([0, small()])], [0, 0, 1, pick([0, 1])]]
            case "euler":
                r, s = pick([0, 1, 2, 3]), pick([1, 2, 4, Fraction(1, 2), Fraction(-1)])
                a = small(zero=False)
                self.left = [[a * r * s], [0, a * (1 - r - s)], [0, 0, a]]
            case "bessel":
                n = pick([0, 1, 2, 3, Fraction(1, 2)])
                self.left = [[-n * n, 0, small(zero=False)], [0, 1], [0, 0, 1]]
            case "gauss":
                a, b, c = small(), small(), pick([1, 2, 3, Fraction(1, 2), 0, -1, -2])
                self.left = [[-a * b], [c, -(a + b + 1)], [0, 1, -1]]
            case "kummer":
                a, b = small(), pick([1, 2, Fraction(3, 2), 0, -1, -3])
                self.left = [[-a], [b, -1], [0, 1]]
            case "legendre":
                # (1 − x²) y″ − 2(m+1) x y′ + k y about 1.
                k, m = pick([0, 2, 6, 12, small()]), pick([0, 0, 1, Fraction(1, 2)])
                self.left = [[k], [-2 * (m + 1), -2 * (m + 1)], [0, -2, -1]]
            case "first":
                a = pick([1, 2, 3, 5, 9, small()])
                self.left = [[-a, small(), pick([0, small()])], [0, 1, pick([0, small()])]]
            case "third":
                r, s, t = pick([0, 1, 2]), pick([1, 3, 4]), pick([2, 6, Fraction(1, 2), -1])
                # (θ − r)(θ − s)(θ − t) y with θ = t d/dt, and a perturbation.
                e1, e2, e3 = r + s + t, r * s + r * t + s * t, r * s * t
                self.left = [[-e3, small()], [0, 1 - e1 + e2], [0, 0, 3 - e1], [0, 0, 0, 1]]
            case "irregular":
                a = small(zero=False)
                self.left = pick([
                    [[a, small()], [0, 0, 1]],
                    [[a], [small(), 1], [0, 0, 1]],
                    [[a], [small(zero=False)], [0, 0, 1, small()]],
                    [[a, 1], [small(), 0, 1], [0, 0, 0, 1]],
                ])
        self.left = [[Fraction(c) for c in p] for p in self.left]
        self.right = [Fraction(c) for c in right]
        self.order = len(self.left) - 1
        self.write()
        self.choose_conditions()

    def small(self, size=3, zero=True):
        while True:
            value = Fraction(self.random.randint(-size, size), self.random.choice([1, 1, 1, 2, 3]))
            if value or zero:
                return value

    def write(self):
        c = self.center
        t = "x" if c == 0 else f"(x {'-' if c > 0 else '+'} {number(abs(c))})"
        power = lambda n: "" if n == 0 else t if n == 1 else f"{t}^{n}"
        terms = [
            (value, f"{power(n)} {NAMES[j]}".strip())
            for j in range(self.order, -1, -1) for n, value in enumerate(self.left[j])
        ]
        self.equation = f"{summed(terms)} = {summed([(v, power(n)) for n, v in enumerate(self.right)])}"

    def rows(self):
        """The equations for c_0 … c_{last}: the coefficients of 1, t, t², … of left side minus right side."""
        lines = self.degree + FURTHER
        width = lines + self.order + 1
        rows = []
        for n in range(lines):
            row = [Fraction(0)] * (width + 1)
            for j, p in enumerate(self.left):
                for i, value in enumerate(p):
                    # t^i y^(j): the coefficient of t^n holds c_{n−i+j} (n−i+j)!/(n−i)!.
                    if n >= i:
                        row[n - i + j] += value * (factorial(n - i + j) // factorial(n - i))
            row[width] = self.right[n] if n < len(self.right) else Fraction(0)
            rows.append(row)
        return rows

    def solved(self, given):
        """`None` if there is no power series; else for each c_0 … c_degree its value, or `None` where it is
        not determined."""
        rows = self.rows()
        width = len(rows[0]) - 1
        for order, value in given.items():
            row = [Fraction(0)] * (width + 1)
            row[order], row[width] = Fraction(factorial(order)), value
            rows.append(row)
        matrix = DomainMatrix([[QQ(v.numerator, v.denominator) for v in row] for row in rows], (len(rows), width + 1), QQ)
        reduced, pivots = matrix.rref()
        if width in pivots:
            return None
        reduced = reduced.to_list()
        found = {}
        for line, pivot in enumerate(pivots):
            if not any(reduced[line][pivot + 1 : width]):
                found[pivot] = reduced[line][width]
        return [found.get(k) for k in range(self.degree + FURTHER // 2)]

    def choose_conditions(self):
        """Values for what is not determined, mostly; sometimes one too few, sometimes a wrong one."""
        given = {}
        manner = self.random.choice(["fit", "fit", "fit", "few", "wrong", "more"])
        known = self.solved(given)
        while known is not None and None in known:
            k = known.index(None)
            if k > 3 or (manner == "few" and given):
                break
            given[k] = self.small()
            known = self.solved(given)
        if manner == "wrong":
            given[self.random.randrange(self.order + 1)] = self.small()
        if manner == "more" and known:
            k = self.random.randrange(self.order + 1)
            if known[k] is not None:
                given[k] = Fraction(int(known[k].numerator), int(known[k].denominator)) * factorial(k)
        if not given:
            given[0] = Fraction(int(known[0].numerator), int(known[0].denominator)) if known and known[0] is not None else self.small()
        self.given = given
        self.conditions = ", ".join(f"{NAMES[k]}({self.center}) = {v}" for k, v in sorted(given.items()))
