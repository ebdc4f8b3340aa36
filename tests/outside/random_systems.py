"""Random systems of two or three equations, each written twice: as text for the worksheet, and as
sympy expressions for the reference. Nothing here goes through the worksheet's parser.
"""

import random
from fractions import Fraction

import sympy as sp

T = sp.Symbol("t")
# (names, orders): mixed orders, and names that are variables elsewhere.
SHAPES = [
    ("uv", (1, 1)), ("uv", (1, 1)), ("xy", (1, 1)), ("xy", (2, 1)), ("xy", (1, 2)), ("uv", (2, 2)),
    ("uvw", (1, 1, 1)), ("xyz", (1, 1, 1)), ("uvw", (2, 1, 1)), ("xyz", (2, 1, 2)),
]
FUNCTIONS = {"sin": sp.sin, "cos": sp.cos, "exp": sp.exp, "arctan": sp.atan, "tanh": sp.tanh}
KINDS = ["linear", "polynomial", "functions", "coupled", "standing", "quotient"]
# Right sides that are polynomials: sympy differentiates these in a ring, much faster than as expressions.
POLYNOMIAL = ("linear", "polynomial", "coupled")


def symbols(name):
    return sp.symbols(f"{name}_0:12")


class System:
    """Text and reference of u^(m) = f(t, u, …, v, …), one equation for each unknown."""

    def __init__(self, seed):
        self.random = random.Random(10_000 + seed)
        pick = self.random.choice
        self.kind = KINDS[seed % len(KINDS)]
        names, self.orders = pick(SHAPES)
        self.names = list(names)
        self.symbols = {name: symbols(name) for name in self.names}
        self.center = pick([Fraction(0)] * 3 + [Fraction(1), Fraction(-1, 2)])
        self.values = {
            name: [self.small() for _ in range(order)] for name, order in zip(self.names, self.orders, strict=True)
        }
        self.degree = 6 if self.kind in POLYNOMIAL else 4
        self.solved = {}
        lines = getattr(self, self.kind)()
        self.random.shuffle(lines)
        self.equations = pick(["; ", "\n", ", "]).join(lines)
        given = [
            f"{name}{chr(39) * k}({self.center}) = {value}"
            for name in self.names for k, value in enumerate(self.values[name])
        ]
        self.random.shuffle(given)
        self.conditions = "; ".join(given)

    def small(self):
        return Fraction(self.random.randint(-4, 4), self.random.choice([1, 1, 2, 3]))

    def coefficient(self):
        value = Fraction(0)
        while value == 0:
            value = self.small()
        return value

    def lower(self):
        """An unknown or a derivative of it below its order: text and symbol."""
        at = self.random.randrange(len(self.names))
        name, k = self.names[at], self.random.randrange(self.orders[at])
        return name + "'" * k, self.symbols[name][k]

    def term(self, factors):
        value = self.coefficient()
        text, expression = f"({value})", sp.Rational(value.numerator, value.denominator)
        if self.random.random() < 0.3:
            text, expression = text + "*t", expression * T
        for _ in range(factors):
            more, symbol = self.lower()
            text, expression = text + "*" + more, expression * symbol
        return text, expression

    def sum(self, terms):
        return " + ".join(text for text, _ in terms), sum(expression for _, expression in terms)

    def right_sides(self, most):
        for name in self.names:
            yield name, *self.sum([self.term(self.random.randint(0, most)) for _ in range(self.random.randint(1, 3))])

    def highest(self, name):
        return name + "'" * self.orders[self.names.index(name)]

    def explicit(self, most):
        lines = []
        for name, text, expression in self.right_sides(most):
            self.solved[name] = expression
            lines.append(f"{self.highest(name)} = {text}")
        return lines

    def linear(self):
        return self.explicit(1)

    def polynomial(self):
        return self.explicit(3)

    def functions(self):
        lines = []
        for name, text, expression in self.right_sides(1):
            function = self.random.choice(sorted(FUNCTIONS))
            inner, symbol = self.lower()
            self.solved[name] = expression + FUNCTIONS[function](symbol)
            lines.append(f"{self.highest(name)} = {text} + {function}({inner})")
        return lines

    def quotient(self):
        lines = []
        for name, text, expression in self.right_sides(1):
            inner, symbol = self.lower()
            self.solved[name] = expression / (3 + symbol**2)
            lines.append(f"(3 + {inner}^2) {self.highest(name)} = {text}")
        return lines

    def standing(self):
        """A coefficient in t that does not vanish at the center."""
        lines = []
        for name, text, expression in self.right_sides(1):
            self.solved[name] = expression / (2 + T**2)
            lines.append(f"(2 + t^2) {self.highest(name)} = {text}")
        return lines

    def coupled(self):
        """A constant matrix in front of the highest derivatives."""
        size = len(self.names)
        matrix = sp.zeros(size)
        while matrix.det() == 0:
            matrix = sp.Matrix(size, size, lambda *_: self.random.randint(-2, 2))
        rights = list(self.right_sides(2))
        lines = []
        for row, (_, text, _) in enumerate(rights):
            left = " + ".join(f"({matrix[row, at]})*{self.highest(name)}" for at, name in enumerate(self.names) if matrix[row, at])
            lines.append(f"{left} = {text}")
        found = matrix.inv() * sp.Matrix([expression for _, _, expression in rights])
        self.solved = dict(zip(self.names, found, strict=True))
        return lines

    def states(self):
        """What a right side may hold, each with its derivative along a solution."""
        for name, order in zip(self.names, self.orders, strict=True):
            for k in range(order):
                yield self.symbols[name][k], self.solved[name] if k + 1 == order else self.symbols[name][k + 1]

    def given(self):
        """The center, then the initial values in the order of the states."""
        values = [self.center] + [value for name in self.names for value in self.values[name]]
        return [sp.Rational(value.numerator, value.denominator) for value in values]

    def reference(self):
        """For each unknown the values of its derivatives at the center, by sympy's own differentiation
        with respect to t along a solution, highest derivatives put in."""
        letters = [T] + [symbol for symbol, _ in self.states()]
        rates = [sp.Integer(1)] + [rate for _, rate in self.states()]
        lines = dict(self.solved)
        if self.kind in POLYNOMIAL:
            ring = sp.ring(letters, sp.QQ)[0]
            letters, rates = ring.gens, [ring.from_expr(sp.sympify(rate)) for rate in rates]
            lines = {name: ring.from_expr(sp.sympify(line)) for name, line in lines.items()}
            at = list(zip(ring.gens, map(sp.QQ.from_sympy, self.given()), strict=True))

            def value(line):
                return sp.QQ.to_sympy(line.evaluate(at))
        else:
            at = list(zip(letters, self.given(), strict=True))

            def value(line):
                return sp.sympify(line).subs(at)
        found = {}
        for name, order in zip(self.names, self.orders, strict=True):
            line = lines[name]
            values = [sp.Rational(value.numerator, value.denominator) for value in self.values[name]]
            for further in range(order, self.degree + 1):
                if further > order:
                    line = sum(line.diff(letter) * rate for letter, rate in zip(letters, rates, strict=True))
                values.append(value(line))
            found[name] = values
        return found
