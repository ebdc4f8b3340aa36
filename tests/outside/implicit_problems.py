"""Random equations that are implicit in their highest derivative, each written twice: as text for the
worksheet, and as left side minus right side in truncated power series over a number field of sympy.

The reference is the method of undetermined coefficients: nothing is differentiated."""

import random
from fractions import Fraction

import sympy as sp
from sympy.polys.domains import QQ

KINDS = ["coefficient", "chosen", "asked", "quadratic", "clairaut", "vanishing", "lane-emden", "inside"]


class Series:
    """Coefficients of 1, t, t², … (elements of a field) up to a fixed length."""

    def __init__(self, field, coefficients):
        self.field, self.c = field, list(coefficients)

    def _other(self, value):
        if isinstance(value, Series):
            return value
        if isinstance(value, Fraction):
            value = QQ(value.numerator, value.denominator)
        return Series(self.field, [self.field.convert(value)] + [self.field.zero] * (len(self.c) - 1))

    def __add__(self, other):
        return Series(self.field, (a + b for a, b in zip(self.c, self._other(other).c, strict=True)))

    def __mul__(self, other):
        other = self._other(other).c
        sums = (sum((self.c[i] * other[n - i] for i in range(n + 1)), self.field.zero) for n in range(len(self.c)))
        return Series(self.field, sums)

    def __neg__(self):
        return self * -1

    def __sub__(self, other):
        return self + -self._other(other)

    def __pow__(self, power):
        result = self._other(1)
        for _ in range(power):
            result = result * self
        return result

    __radd__, __rmul__ = __add__, __mul__

    def derivative(self, times):
        c = self.c
        for _ in range(times):
            c = [n * a for n, a in enumerate(c) if n] + [self.field.zero]
        return Series(self.field, c)


def exp(u):
    """w′ = u′ w, for u = 0 at the center."""
    assert not u.c[0]
    w = [u.field.one]
    for n in range(1, len(u.c)):
        w.append(sum((k * u.c[k] * w[n - k] for k in range(1, n + 1)), u.field.zero) / u.field.convert(n))
    return Series(u.field, w)


def sin_cos(u):
    assert not u.c[0]
    s, c = [u.field.zero], [u.field.one]
    for n in range(1, len(u.c)):
        by = u.field.convert(n)
        s.append(sum((k * u.c[k] * c[n - k] for k in range(1, n + 1)), u.field.zero) / by)
        c.append(-sum((k * u.c[k] * s[n - k] for k in range(1, n + 1)), u.field.zero) / by)
    return Series(u.field, s), Series(u.field, c)


def number(value):
    return f"({value})" if value.denominator != 1 else str(value)


def summed(terms):
    """The text of a sum of (coefficient, factors) pairs."""
    text = ""
    for value, factors in terms:
        if value:
            size = "" if abs(value) == 1 and factors else number(abs(value))
            text += f" {'-' if value < 0 else '+'} {size}{' ' if size and factors else ''}{factors}"
    return text.removeprefix(" + ").removeprefix(" ") or "0"


class Problem:
    """`residual(x, [y, y′, …])` is left side minus right side; `given` the conditions by order."""

    def __init__(self, seed):
        self.random = random.Random(90_000 + seed)
        self.kind = KINDS[seed % len(KINDS)]
        self.order = self.random.choice([1, 1, 1, 2])
        self.center = self.random.choice([Fraction(0)] * 3 + [Fraction(1), Fraction(-1), Fraction(1, 2)])
        self.degree = 6
        # The line that ties c_k is the one of power k − shift.
        self.shift = self.order
        # Values of y^(order) at the data, ascending; None where the conditions give it.
        self.choices = None
        getattr(self, self.kind.replace("-", "_"))()
        names = ["y", "y'", "y''", "y'''"]
        self.conditions = ", ".join(f"{names[k]}({self.center}) = {v}" for k, v in sorted(self.given.items()))

    def small(self, size=3, zero=True):
        value = Fraction(0)
        while not value:
            value = Fraction(self.random.randint(-size, size), self.random.choice([1, 1, 1, 2, 3]))
            if zero:
                return value
        return value

    def terms(self, pool, most):
        """A few terms: (coefficient, factors, function of x and the derivatives)."""
        picked = self.random.sample(pool, self.random.randint(1, most))
        return [(self.small(zero=False), text, function) for text, function in picked]

    def lower(self):
        """Factors in x and the lower derivatives."""
        pool = [
            ("x", lambda x, y: x), ("y", lambda x, y: y[0]), ("x y", lambda x, y: x * y[0]),
            ("y^2", lambda x, y: y[0] ** 2), ("x^2", lambda x, y: x**2), ("x y^2", lambda x, y: x * y[0] ** 2),
        ]
        if self.order == 2:
            pool += [("y'", lambda x, y: y[1]), ("y y'", lambda x, y: y[0] * y[1]), ("y'^2", lambda x, y: y[1] ** 2)]
        return pool

    def data(self):
        self.given = {k: self.small() for k in range(self.order)}
        return self.data_series()

    def highest(self):
        return "y'" if self.order == 1 else "y''"

    def coefficient(self):
        """(any coefficient) y^(m) = …, the coefficient not zero at the data."""
        x, y = self.data()
        c, y0 = self.center, self.given[0]
        shifted = "x" if c == 0 else f"(x - ({c}))"
        special = [
            (f"(2 + sin({shifted} y))", lambda x, y: 2 + sin_cos((x - c) * y[0])[0]),
            (f"e^(y - ({y0}))", lambda x, y: exp(y[0] - y0)),
            (f"cos(y - ({y0}))", lambda x, y: sin_cos(y[0] - y0)[1]),
            (f"(3 - e^({shifted}))", lambda x, y: 3 + -1 * exp(x - c)),
        ]
        while True:
            terms = self.terms(self.lower(), 3)
            constant = self.small()
            text, function = (
                self.random.choice(special) if self.random.random() < 0.4
                else (f"({summed([(constant, '')] + [(v, t) for v, t, _ in terms])})",
                      lambda x, y: sum((v * f(x, y) for v, _, f in terms), constant + 0 * x))
            )
            if function(x, y).c[0] != 0:
                break
        right = self.terms(self.lower(), 3)
        m = self.order
        self.equation = f"{text} {self.highest()} = {summed([(v, t) for v, t, _ in right])}"
        self.residual = lambda x, y: function(x, y) * y[m] - sum((v * f(x, y) for v, _, f in right), 0 * x)

    def powers(self):
        """Terms of a polynomial in the highest derivative."""
        self.data()
        m, p = self.order, self.highest()
        degree = self.random.choice([2, 3, 3, 4, 5])
        terms = [(self.small(zero=False), f"{p}^{degree}", lambda x, y: y[m] ** degree)]
        for k in range(1, degree):
            if self.random.random() < 0.6:
                t, f = self.random.choice([("", lambda x, y: 1 + 0 * x)] + self.lower()[:3])
                power = p if k == 1 else f"{p}^{k}"
                terms.append((self.small(zero=False), f"{t} {power}".strip(), lambda x, y, f=f, k=k: f(x, y) * y[m] ** k))
        terms += self.terms(self.lower(), 2)
        return terms

    def close(self, terms, value):
        """Adds the constant with which the data and this value satisfy the equation."""
        x, y = self.data_series()
        at = sum((v * f(x, [*y, Series(QQ, [QQ(value.numerator, value.denominator)])]) for v, _, f in terms), 0 * x).c[0]
        constant = Fraction(int(at.numerator), int(at.denominator))
        self.equation = f"{summed([(v, t) for v, t, _ in terms])} = {constant}"
        self.residual = lambda x, y: sum((v * f(x, y) for v, _, f in terms), -constant + 0 * x)

    def data_series(self):
        return Series(QQ, [QQ(self.center.numerator, self.center.denominator)]), [
            Series(QQ, [QQ(self.given[k].numerator, self.given[k].denominator)]) for k in range(self.order)
        ]

    def polynomial_at_data(self):
        """The residual as a polynomial in the highest derivative, at the data."""
        p = sp.Symbol("p")
        ring = QQ[p]
        x, y = self.data_series()
        lift = lambda s: Series(ring, [ring.convert(s.c[0])])
        total = self.residual(lift(x), [*map(lift, y), Series(ring, [ring.convert(p)])])
        return sp.Poly(ring.to_sympy(total.c[0]), p)

    def chosen(self):
        """Polynomial in the highest derivative, whose value is given; it is a simple zero."""
        while True:
            value = self.small(2)
            self.close(self.powers(), value)
            polynomial = self.polynomial_at_data()
            if polynomial.diff().eval(sp.Rational(value.numerator, value.denominator)) != 0:
                break
        self.given[self.order] = value

    def asked(self):
        """The same, not given: all real zeros are to be offered (or the only one taken)."""
        while True:
            self.chosen()
            polynomial = self.polynomial_at_data()
            zeros = sp.real_roots(polynomial, multiple=True)
            # Those with a closed form that a reader would write.
            simple = len(set(zeros)) == len(zeros) and all(z.is_algebraic and not z.has(sp.CRootOf) for z in zeros)
            # Mostly several.
            if simple and (len(zeros) > 1 or self.random.random() < 0.1) and all(sp.degree(sp.minimal_polynomial(z)) <= 2 for z in zeros):
                break
        del self.given[self.order]
        self.choices = zeros

    def quadratic(self):
        """a p² + b p + c = 0 with irrational zeros: one of them given, or both asked for."""
        m, p = self.order, self.highest()
        while True:
            self.data()
            terms = self.terms(self.lower(), 2)
            a = self.small(zero=False)
            middle = self.terms(self.lower()[:2], 1) if self.random.random() < 0.6 else []
            terms += [(v, f"{t} {p}", lambda x, y, f=f: f(x, y) * y[m]) for v, t, f in middle]
            constant = self.small(5)
            self.equation = f"{summed([(a, p + '^2')] + [(v, t) for v, t, _ in terms])} = {constant}"
            self.residual = lambda x, y: a * y[m] ** 2 + sum((v * f(x, y) for v, _, f in terms), -constant + 0 * x)
            polynomial = self.polynomial_at_data()
            discriminant = polynomial.discriminant()
            if discriminant > 0 and not sp.sqrt(discriminant).is_rational:
                break
        zeros = sorted(sp.roots(polynomial), key=float)
        if self.random.random() < 0.5:
            self.choices = zeros
        else:
            self.given[m] = self.random.choice(zeros)

    def clairaut(self):
        """y = x y′ + f(y′) and its relatives (d'Alembert's equation), the slope given."""
        self.order, self.shift = 1, 1
        slope = self.small(2, zero=False)
        a, b, k = self.small(zero=False), self.small(zero=False), self.random.choice([1, 1, 2, -1])
        f = self.random.choice([("y'^2", lambda p: p**2), ("y'^3", lambda p: p**3), ("y' - y'^2", lambda p: p - p**2)])
        c = self.center
        value = k * c * slope + a * f[1](slope) + b
        self.given = {0: value, 1: slope}
        self.equation = f"y = {summed([(Fraction(k), 'x y' + chr(39))])} {'-' if a < 0 else '+'} {number(abs(a))} ({f[0]}) {'-' if b < 0 else '+'} {number(abs(b))}"
        self.residual = lambda x, y: y[0] - k * x * y[1] - a * f[1](y[1]) - b + 0 * x
        if self.polynomial_at_data().diff().eval(sp.Rational(slope.numerator, slope.denominator)) == 0:
            self.clairaut()

    def vanishing(self):
        """x y′ = a y + g(x, y) about 0 (Briot and Bouquet), y(0) = 0; a is no positive integer."""
        self.order, self.center, self.given, self.shift = 1, Fraction(0), {0: Fraction(0)}, 0
        a = self.small(zero=False)
        while a > 0 and a.denominator == 1:
            a = self.small(zero=False)
        terms = self.terms(self.lower(), 3)
        terms = [t for t in terms if t[1] not in ("x", "y")] + [(self.small(zero=False), "x", lambda x, y: x)]
        self.equation = f"x y' = {summed([(a, 'y')] + [(v, t) for v, t, _ in terms])}"
        self.residual = lambda x, y: x * y[1] - a * y[0] - sum((v * f(x, y) for v, _, f in terms), 0 * x)

    def lane_emden(self):
        """x y″ + k y′ + x f(y) = 0 about 0, y(0) given."""
        self.order, self.center, self.shift = 2, Fraction(0), 1
        y0 = self.small(zero=False)
        self.given = {0: y0}
        k, n = self.random.choice([1, 2, 3, Fraction(1, 2)]), self.random.choice([1, 2, 3, 4, 5])
        a = self.small(zero=False)
        text, f = self.random.choice([
            (f"y^{n}", lambda y: y**n), (f"e^(y - ({y0}))", lambda y: exp(y - y0)), ("y", lambda y: y),
            (f"cos(y - ({y0}))", lambda y: sin_cos(y - y0)[1]),
        ])
        self.equation = f"x y'' {'+ ' + number(Fraction(k)) if k != 1 else '+'} y' {'-' if a < 0 else '+'} {number(abs(a))} x {text} = 0"
        self.residual = lambda x, y: x * y[2] + Fraction(k) * y[1] + a * x * f(y[0])

    def inside(self):
        """The highest derivative inside a function: y′ + sin(y′ − p) = … with y′ = p given."""
        self.order, self.shift = 1, 1
        self.data()
        p = self.small(2)
        a = self.small(2, zero=False)
        while a == -1:
            a = self.small(2, zero=False)
        text, f = self.random.choice([
            (f"sin(y' - ({p}))", lambda u: sin_cos(u)[0]), (f"e^(y' - ({p}))", lambda u: exp(u)),
        ])
        terms = [(Fraction(1), "y'", lambda x, y: y[1]), (a, text, lambda x, y: f(y[1] - p))]
        terms += self.terms(self.lower(), 2)
        self.close(terms, p)
        self.given[1] = p

    def reference(self, value=None):
        """The Taylor coefficients, as elements of a field: the given values, then c_k from the power
        k − shift, which is linear in it. `value` for the highest derivative where it is not given."""
        given = dict(self.given)
        if value is not None:
            given[self.order] = value
        highest = sp.sympify(given.get(self.order, 0))
        root = highest if isinstance(highest, sp.CRootOf) else next(iter(highest.atoms(sp.Pow)), None)
        field = QQ if root is None else QQ.algebraic_field(root)
        known = []
        length = self.degree + 2
        x = Series(field, [field.from_sympy(sp.Rational(self.center.numerator, self.center.denominator)), field.one]
                   + [field.zero] * (length - 2))
        for k in range(self.degree + 1):
            if k in given:
                known.append(field.from_sympy(sp.sympify(given[k])) / field.convert(int(sp.factorial(k))))
                continue
            power = k - self.shift

            def line(next_coefficient):
                c = Series(field, known + [next_coefficient] + [field.zero] * (length - k - 1))
                return self.residual(x, [c.derivative(j) for j in range(self.order + 1)]).c[power]

            at_zero = line(field.zero)
            slope = line(field.one) - at_zero
            assert slope, "the reference cannot tell"
            known.append(-at_zero / slope)
        return field, known
