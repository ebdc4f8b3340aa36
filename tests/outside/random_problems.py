"""Random initial value problems, each written twice: as text for the worksheet, and as a
sympy expression for the reference. Nothing here goes through the worksheet's parser.
"""

import random
from fractions import Fraction

import sympy as sp

X = sp.Symbol("x")
DERIVATIVES = sp.symbols("Y0:10")
FUNCTIONS = {
    "exp": sp.exp, "sin": sp.sin, "cos": sp.cos, "tan": sp.tan, "sinh": sp.sinh, "cosh": sp.cosh,
    "tanh": sp.tanh, "arctan": sp.atan, "arcsin": sp.asin, "arsinh": sp.asinh, "artanh": sp.atanh,
    "ln": sp.log, "sqrt": sp.sqrt,
}
# Functions whose argument must be positive get 1 + (something small) instead.
POSITIVE = {"ln", "sqrt"}
SMALL = {"arcsin", "artanh", "tan"}


def name(order):
    return "y" + "'" * order if order < 4 else f"y^({order})"


def written(fraction):
    """A fraction as people write it, sometimes as a decimal."""
    return str(fraction)


class Problem:
    """Text and reference of y^(m) = f, or leading·y^(m) + … = forcing."""

    def __init__(self, seed):
        self.random = random.Random(seed)
        pick = self.random.choice
        self.kind = pick(["linear", "standing", "polynomial", "functions", "functions", "quotient", "power"])
        self.order = pick([1, 1, 2, 2, 2, 3, 4]) if self.kind != "linear" else pick([1, 2, 3, 4, 5, 8])
        self.center = pick([Fraction(0)] * 3 + [Fraction(1), Fraction(-1, 2), Fraction(3), Fraction(2, 3)])
        self.values = [self.rational(3) for _ in range(self.order)]
        self.degree = self.order + pick([2, 3, 4]) if self.kind in ("functions", "quotient", "power") else self.order + 5
        getattr(self, self.kind)()
        shift = self.center
        self.conditions = ", ".join(f"{name(k)}({shift}) = {v}" for k, v in enumerate(self.values))

    def rational(self, size):
        return Fraction(self.random.randint(-size * 2, size * 2), self.random.choice([1, 1, 1, 2, 3]))

    def coefficient(self):
        value = 0
        while value == 0:
            value = self.rational(2)
        return value

    def power_of_x(self, highest=3):
        n = self.random.randint(0, highest)
        return {0: "", 1: "x"}.get(n, f"x^{n}"), X**n

    def sign(self, value):
        return "-" if value < 0 else "+"

    def term(self, value, factors, expression):
        """One signed term of a sum: text and reference."""
        size = abs(value)
        number = "" if size == 1 and factors else (f"({size})" if size.denominator != 1 else str(size))
        text = f" {self.sign(value)} {number}{' ' if number and factors else ''}{factors}"
        return text, sp.Rational(value.numerator, value.denominator) * expression

    def linear_terms(self):
        text, total = "", sp.Integer(0)
        for k in range(self.order):
            if self.random.random() < 0.75 or k == 0:
                c = self.coefficient()
                p, e = self.power_of_x()
                t, r = self.term(c, f"{p} {name(k)}".strip(), e * DERIVATIVES[k])
                text, total = text + t, total + r
        if self.random.random() < 0.5:
            c = self.coefficient()
            p, e = self.power_of_x()
            t, r = self.term(c, p, e)
            text, total = text + t, total + r
        return text, total

    def linear(self):
        text, total = self.linear_terms()
        self.equation = f"{name(self.order)} ={text.removeprefix(' +')}"
        self.right = total

    def standing(self):
        a = Fraction(self.random.randint(4, 9))
        b = self.random.choice([Fraction(1), Fraction(-1), Fraction(2), Fraction(1, 3)])
        while a + b * self.center**2 == 0:
            a += 1
        text, total = self.linear_terms()
        self.equation = f"({a} {self.sign(b)} {abs(b)} x^2) {name(self.order)}{text} = 0"
        lead = sp.Rational(a.numerator, a.denominator) + sp.Rational(b.numerator, b.denominator) * X**2
        self.right = -total / lead

    def atom(self):
        """A letter: x or a lower derivative."""
        if self.random.random() < 0.35:
            return "x", X
        k = self.random.randrange(self.order)
        return name(k), DERIVATIVES[k]

    def polynomial(self):
        text, total = "", sp.Integer(0)
        for _ in range(self.random.randint(1, 3)):
            factors, expression = [], sp.Integer(1)
            for _ in range(self.random.randint(1, 3)):
                t, e = self.atom()
                if self.random.random() < 0.25:
                    t, e = f"({t})^2" if "'" in t or "(" in t else f"{t}^2", e**2
                factors.append(t)
                expression *= e
            t, r = self.term(self.coefficient(), " ".join(factors), expression)
            text, total = text + t, total + r
        self.equation = f"{name(self.order)} ={text.removeprefix(' +')}"
        self.right = total

    def argument(self, function):
        t, e = self.atom()
        if function in POSITIVE:
            return f"5 + {t}^2" if t == "x" else f"5 + ({t})^2", 5 + e**2
        if function in SMALL:
            t2, e2 = (f"(x - ({self.center}))/4", (X - sp.Rational(self.center.numerator, self.center.denominator)) / 4)
            return t2, e2
        return t, e

    def functions(self):
        text, total = "", sp.Integer(0)
        for _ in range(self.random.randint(1, 2)):
            f = self.random.choice(sorted(FUNCTIONS))
            inner, expression = self.argument(f)
            factors, reference = f"{f}({inner})", FUNCTIONS[f](expression)
            if self.random.random() < 0.4:
                t, e = self.atom()
                factors, reference = f"{t} {factors}", e * reference
            t, r = self.term(self.coefficient(), factors, reference)
            text, total = text + t, total + r
        self.equation = f"{name(self.order)} ={text.removeprefix(' +')}"
        self.right = total

    def quotient(self):
        t, e = self.atom()
        below, reference = self.atom()
        c = self.random.randint(6, 12)
        bottom = f"{c} + ({below})^2"
        self.equation = f"{name(self.order)} = ({t} + 1)/({bottom}) - x"
        self.right = (e + 1) / (c + reference**2) - X

    def power(self):
        t, e = self.atom()
        p = self.random.choice([Fraction(1, 2), Fraction(3, 2), Fraction(-1, 2), Fraction(1, 3), Fraction(-2)])
        square = self.random.choice([1, 4])
        self.equation = f"{name(self.order)} = ({square} + ({t})^2)^({p}) + x"
        self.right = (square + e**2) ** sp.Rational(p.numerator, p.denominator) + X

    def reference(self):
        """Derivatives at the center by sympy: differentiate, substitute."""
        center = sp.Rational(self.center.numerator, self.center.denominator)
        known = [sp.Rational(v.numerator, v.denominator) for v in self.values]
        expression = self.right
        symbols = list(DERIVATIVES[: self.order])
        while len(known) <= self.degree:
            at = {X: center, **dict(zip(symbols, known))}
            known.append(expression.subs(at, simultaneous=True))
            if len(known) > self.degree:
                break
            # Every derivative is reduced to x and the lower ones by the equation itself.
            expression = sp.diff(expression, X) + sum(
                sp.diff(expression, symbols[k]) * (symbols[k + 1] if k + 1 < self.order else self.right)
                for k in range(self.order)
            )
        return known[: self.degree + 1]
