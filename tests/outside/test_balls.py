"""Every enclosed elementary function, and the basic operations, on random and extreme operands, against
python-flint's arb at five times the precision: in double-doubles, in the big floats that give 30 and 50 digits, and
as closed constants. What the solver encloses must hold arb's value at both ends of the operand and between,
and must not be much wider than the values are apart. Operands have fixed seeds."""

import random
import subprocess
import sys
from fractions import Fraction

import flint
import pytest
from derive import BINARY
from flint import arb, fmpq

# e^(−55000) as a fraction is long.
sys.set_int_max_str_digits(100_000)

# Midpoints of double-doubles, and of the runs that give 30 and 50 digits.
BITS = [106, 160, 256]
PRECISE = 1400

ONE = arb(1)
FUNCTIONS = {
    "exp": arb.exp, "ln": arb.log, "sin": arb.sin, "cos": arb.cos, "tan": arb.tan, "cot": arb.cot,
    "sec": lambda x: 1 / x.cos(), "csc": lambda x: 1 / x.sin(),
    "arcsin": arb.asin, "arccos": arb.acos, "arctan": arb.atan, "arccot": lambda x: arb.pi() / 2 - x.atan(),
    "sinh": arb.sinh, "cosh": arb.cosh, "tanh": arb.tanh, "coth": lambda x: x.cosh() / x.sinh(),
    "sech": lambda x: 1 / x.cosh(), "csch": lambda x: 1 / x.sinh(),
    "arsinh": arb.asinh, "arcosh": arb.acosh, "artanh": arb.atanh,
}
POWERS = ["1/2", "-1/2", "1/3", "-7/3", "22/7", "1/100", "-5/2"]
TWO = {"add": arb.__add__, "subtract": arb.__sub__, "multiply": arb.__mul__, "divide": arb.__truediv__}
INSIDE = {"arcsin", "arccos", "artanh"}
WAVES = {"sin", "cos", "tan", "cot", "sec", "csc"}
GROWING = {"exp", "sinh", "cosh", "sech", "csch"}
# Where each is zero, extreme, infinite or at the end of its domain, beside multiples of π/2.
EDGES = [0, 1, -1, 2, Fraction(1, 2)]


def exact(number):
    """A fraction as an arb that is off by less than 2^−1400 of it."""
    return arb(fmpq(number.numerator, number.denominator))


def lies(value, low, high):
    """Is all of an arb between two fractions? Its own ends are taken exactly."""
    mid, radius = (Fraction(int(m)) * Fraction(2) ** int(e) for m, e in (value.mid().man_exp(), value.rad().man_exp()))
    return low <= mid - radius and mid + radius <= high


def near(places, dice):
    """Beside a place by a random power of two, or exactly on it."""
    place = dice.choice(places)
    return place + dice.choice([-1, 1]) * Fraction(dice.getrandbits(52) | 1, 1 << 52) / (1 << dice.randint(1, 130))


def quarter_turns(dice):
    """Near a multiple of π/2, as near as doubles, double-doubles or more digits get."""
    angle = arb.pi() / 2 * dice.randint(-60000, 60000)
    bits = dice.choice([53, 106, 180])
    mantissa, exponent = angle.mid().man_exp()
    value = Fraction(int(mantissa)) * Fraction(2) ** int(exponent)
    return Fraction(round(value * (1 << bits)), 1 << bits)


def operand(dice):
    """A midpoint: random, tiny, huge, subnormal, near an edge, an exact small number, or an angle near a zero or pole."""
    kind = dice.randrange(8)
    sign = dice.choice([-1, 1])
    if kind < 2:
        return sign * Fraction(dice.uniform(0, [1, 3, 20][dice.randrange(3)]))
    if kind == 2:
        return sign * Fraction(dice.getrandbits(52) | 1) * Fraction(2) ** dice.randint(-400, 0)
    if kind == 3:
        return sign * Fraction(dice.getrandbits(52) | 1) * Fraction(2) ** dice.randint(-52, 250)
    if kind == 4:
        return near(EDGES, dice)
    if kind == 5:
        return sign * Fraction(dice.randint(0, 40), dice.choice([1, 2, 3, 4, 7, 1000]))
    if kind == 6:
        return quarter_turns(dice)
    # Below the smallest normal double, or of more digits than any of the formats keeps.
    return sign * dice.choice([Fraction(dice.getrandbits(40) | 1, 1 << 1074), Fraction(dice.getrandbits(300), 3**190)])


def radius(dice, mid):
    """None, rounding, or wide."""
    share = dice.choice([0, 0, 2.0**-110, 1e-40, 1e-25, 1e-16, 1e-8, 1e-4, 1e-2])
    return Fraction(float(share * min(abs(mid), 10**6)))


def answers(lines):
    program = BINARY.with_name("balls")
    done = subprocess.run([program], input="\n".join(lines), capture_output=True, text=True, check=True, timeout=300)
    return [None if line == "none" else tuple(map(Fraction, line.split())) for line in done.stdout.splitlines()]


def function(name):
    if name.startswith("power:"):
        exponent = Fraction(name[6:])
        return lambda x: _power(x, exponent)
    return FUNCTIONS[name]


def _power(x, exponent):
    # Odd roots of negative numbers are negative.
    if x < 0 and exponent.denominator % 2:
        value = (-x) ** arb(fmpq(exponent.numerator, exponent.denominator))
        return -value if exponent.numerator % 2 else value
    return x ** arb(fmpq(exponent.numerator, exponent.denominator))


@pytest.fixture(autouse=True)
def precise():
    before, flint.ctx.prec = flint.ctx.prec, PRECISE
    yield
    flint.ctx.prec = before


def places(mid, wide, dice):
    """Both ends, the middle, and one between."""
    return [mid] if wide == 0 else [mid - wide, mid + wide, mid, mid + wide * Fraction(dice.uniform(-1, 1))]


def inner(value):
    """A fraction inside an arb."""
    mantissa, exponent = value.mid().man_exp()
    return Fraction(int(mantissa)) * Fraction(2) ** int(exponent)


def truth(name, place):
    """The value at a fraction."""
    return function(name)(exact(place))


def holds(name, place, low, high):
    """Is the value at a place between two fractions? With more bits where arb cannot tell."""
    for more in (1, 2, 4):
        with flint.ctx.workprec(PRECISE * more):
            value = truth(name, place)
            if value.is_finite() and lies(value, low, high):
                return True
    return False


def check(name, bits, mid, wide, found, dice):
    """Everything in the operand is held, and little else; is it, for the latter, a case that counts?"""
    low, high = found
    all_places = places(mid, wide, dice)
    for place in all_places:
        assert holds(name, place, low, high), (name, bits, mid, wide, float(low), float(high))
    # What the operand's rounding to the format makes of it belongs to what must be held.
    rounding = abs(mid) / 2 ** (bits - 8)
    values = [truth(name, mid + s * (wide + rounding)) for s in (-1, 1)]
    if not all(value.is_finite() for value in values):
        return False
    apart = [inner(value) for value in [*values, *(truth(name, place) for place in all_places)]]
    spread, size = max(apart) - min(apart), max(abs(value) for value in apart)
    # Across a wave or a turning point, or over half of the value, nothing is promised.
    if spread > size / 2 or wide > 1 or rounding > 1 and name in WAVES:
        return False
    allowed = 8 * spread + size / 2 ** (bits - 10) + wide * wide + wide * abs(mid) / 2**40 + Fraction(1, 10**290)
    assert high - low <= allowed, (name, bits, float(mid), float(wide), float(high - low), float(spread), float(size))
    return True


@pytest.mark.parametrize("name", [*FUNCTIONS, *(f"power:{exponent}" for exponent in POWERS)])
def test_functions(name):
    dice = random.Random(f"{name} 20261128")
    cases = []
    for _ in range(90):
        mid = operand(dice)
        if name in INSIDE and abs(mid) > 1:
            mid = 1 / mid
        if name == "arcosh" and mid < 1:
            mid = 1 + abs(mid)
        if name in ("ln", "arcosh") or name.startswith("power:") and Fraction(name[6:]).denominator % 2 == 0:
            mid = abs(mid)
        if mid == 0 and name.startswith("power:"):
            continue
        wide = radius(dice, mid)
        cases += [(bits, mid, wide) for bits in BITS]
        # Closed constants have no largest double; the text of e^(10⁶) would be long.
        if abs(mid) < 2000 or name not in GROWING:
            cases.append(("closed", mid, 0))
    lines = [f"{name} {bits} {mid} {wide}" if bits != "closed" else f"{name} closed {mid}" for bits, mid, wide in cases]
    held = narrow = 0
    for (bits, mid, wide), found in zip(cases, answers(lines), strict=True):
        if found is None:
            continue
        held += 1
        narrow += check(name, 106 if bits == "closed" else bits, mid, wide, found, dice)
    assert held > 0.7 * len(cases) and narrow > 0.65 * len(cases), (held, narrow, len(cases))


@pytest.mark.parametrize("name", TWO)
def test_basic_operations(name):
    dice = random.Random(f"{name} 20261128")
    cases = []
    for _ in range(150):
        a = operand(dice)
        # Some that nearly cancel.
        b = a + near([0], dice) * a if dice.random() < 0.3 else operand(dice)
        wide = [radius(dice, number) for number in (a, b)]
        cases += [(bits, (a, b), wide) for bits in BITS]
    lines = [f"{name} {bits} {a} {wide_a} {b} {wide_b}" for bits, (a, b), (wide_a, wide_b) in cases]
    held = narrow = 0
    for (bits, pair, wide), found in zip(cases, answers(lines), strict=True):
        if found is None:
            continue
        low, high = found
        held += 1
        corners = [(pair[0] + s * wide[0], pair[1] + t * wide[1]) for s in (-1, 1) for t in (-1, 1)]
        results = [worked(name, a, b) for a, b in [pair, *corners, [m + w * Fraction(dice.uniform(-1, 1)) for m, w in zip(pair, wide, strict=True)]]]
        assert all(low <= result <= high for result in results), (name, bits, pair, wide, float(low), float(high))
        scale = max(map(abs, pair)) if name in ("add", "subtract") else abs(results[0])
        narrow += high - low <= 4 * (max(results) - min(results)) + scale / 2 ** (bits - 10) + Fraction(1, 10**290)
    assert held > 0.8 * len(cases) and narrow > 0.97 * held, (held, narrow, len(cases))


def worked(name, a, b):
    if name == "divide":
        return a / b
    return a + b if name == "add" else a - b if name == "subtract" else a * b


# Of a number x: what is always the same, in Polish notation, and from where to where x is taken.
IDENTITIES = [
    ("add multiply sin x sin x multiply cos x cos x", 1, -40000, 40000),
    ("subtract multiply cosh x cosh x multiply sinh x sinh x", 1, -6, 6),
    ("exp ln x", "x", "1/1000000", 10**9), ("ln exp x", "x", -600, 600),
    ("multiply tan x cot x", 1, -90, 90), ("multiply sec x cos x", 1, -90, 90), ("multiply csc x sin x", 1, -90, 90),
    ("multiply tanh x coth x", 1, -900, 900), ("multiply sech x cosh x", 1, -600, 600), ("multiply csch x sinh x", 1, -600, 600),
    ("sin arcsin x", "x", -1, 1), ("cos arccos x", "x", -1, 1), ("tan arctan x", "x", -1000, 1000), ("cot arccot x", "x", -1000, 1000),
    ("sinh arsinh x", "x", -10**6, 10**6), ("cosh arcosh x", "x", 1, 10**6), ("tanh artanh x", "x", -1, 1),
    ("add arcsin x arccos x", "multiply two arctan one", -1, 1), ("power:1/3 multiply multiply x x x", "x", "1/1000", 10**6),
    ("multiply power:1/2 x power:1/2 x", "x", "1/1000000", 10**12), ("multiply power:-5/2 x power:5/2 x", 1, "1/1000", 10**3),
    ("divide sin x cos x", "tan x", -90, 90), ("divide add exp x divide one exp x two", "cosh x", -600, 600),
    ("add arctan x arccot x", "multiply two arctan one", -(10**9), 10**9),
]


def evaluated(formula, bits, numbers):
    """The balls of a formula in Polish notation for each x, as pairs of ends; one call of the program for each step."""
    known = {"one": [(Fraction(1), Fraction(1))] * len(numbers), "two": [(Fraction(2), Fraction(2))] * len(numbers), "x": [(x, x) for x in numbers]}
    stack = []
    for word in reversed(formula.split()):
        if word in known:
            stack.append(known[word])
            continue
        operands = [stack.pop() for _ in range(2 if word in TWO else 1)]
        lines = []
        for balls in zip(*operands, strict=True):
            ends = [f"{(ball[0] + ball[1]) / 2} {(ball[1] - ball[0]) / 2}" if ball else "nothing" for ball in balls]
            lines.append(f"{word} {bits} {' '.join(ends)}")
        stack.append(answers(lines))
    return stack.pop()


@pytest.mark.parametrize("identity", IDENTITIES, ids=lambda identity: identity[0])
def test_identities(identity):
    formula, same, low, high = identity
    dice = random.Random(f"{formula} 20261128")
    low, high = Fraction(low), Fraction(high)
    numbers = []
    while len(numbers) < 40:
        x = dice.choice([Fraction(dice.uniform(float(low), float(high))), operand(dice)])
        if low <= x <= high and not (x == 0 or abs(x) == 1):
            numbers.append(x)
    for bits in BITS:
        left = evaluated(formula, bits, numbers)
        right = [(Fraction(same), Fraction(same))] * len(numbers) if isinstance(same, int) else evaluated(same, bits, numbers)
        known = 0
        for x, a, b in zip(numbers, left, right, strict=True):
            if a and b:
                known += 1
                assert a[0] <= b[1] and b[0] <= a[1], (formula, bits, x)
        assert known > 0.8 * len(numbers), (bits, known)
