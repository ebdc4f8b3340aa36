"""The numbers in the prose of the worksheets that ship, each worked out anew: coefficients by
recurrences written here in fractions, true values by mpmath. Every decimal in the prose must belong
to a check, so that no number can be added or changed without one."""

import fractions
import re

import mpmath
import pytest
from derive import ROOT

F = fractions.Fraction
FILES = ROOT / "www" / "worksheets"
NUMBER = r"([-−]?\d+(?:\.\d+)?)(…|\\ldots|\.\.\.\.)?"


class Prose:
    """A file without its blocks, and which of its decimals have been checked."""

    def __init__(self, name):
        text = (FILES / name).read_text()
        self.text = re.sub(r"```.*?```", "", text, flags=re.S)
        self.seen = set()

    def check(self, before, value, after=""):
        """The one number between these words is this value, as far as it is written."""
        found = list(re.finditer(re.escape(before) + NUMBER + re.escape(after), self.text))
        assert len(found) == 1, f"{before!r} is there {len(found)} times"
        self.compare(found[0].group(1), value, found[0].group(2), found[0].start(1), before)

    def compare(self, written, value, cut, place, what):
        digits = len(written.partition(".")[2])
        claim, unit = mpmath.mpf(written.replace("−", "-")), mpmath.mpf(10) ** -digits
        wrong = abs(value) - abs(claim) if cut else abs(value - claim)
        # What is cut off is less than one unit, what is rounded half a one; nothing else is allowed.
        assert (0 <= wrong < unit and value * claim >= 0) if cut else wrong <= unit / 2, f"{what}: {written} of {mpmath.nstr(value, 12)}"
        self.seen.add(place)

    def table(self, first, value):
        """A table's cells, `value` of the names of row and column; a cell may be empty."""
        start = self.text.index("| " + first + " |")
        lines = self.text[start:].split("\n\n")[0].split("\n")
        head = [cell.strip() for cell in lines[0].strip("|").split("|")]
        place, cells = start + len(lines[0]) + len(lines[1]) + 2, 0
        for line in lines[2:]:
            row = None
            for part in re.finditer(r"\|([^|]*)", line):
                column, text = line[: part.start()].count("|"), part.group(1).strip()
                if column == 0:
                    row = text
                elif column < len(head) and text:
                    at = place + part.start(1) + part.group(1).index(text)
                    self.compare(text.rstrip("…"), value(row, head[column]), text.endswith("…"), at, f"{row}, {head[column]}")
                    cells += 1
            place += len(line) + 1
        return cells

    def complete(self):
        """Every decimal has been checked. (Sections such as 9.2.3 and 22.19(i) are none.)"""
        decimals = [m.start() for m in re.finditer(r"(?<![\d.])[-−]?\d+\.\d+(?![\d.]*\.\d|\d|\()", self.text)]
        left = [self.text[max(0, at - 40) : at + 20] for at in decimals if at not in self.seen]
        assert not left, left
        assert len(self.seen) > 20, len(self.seen)


def at(words):
    """The number in "at $x=-2$"."""
    return F(re.search(r"=\s*(-?[\d.]+)", words)[1])


def degree(words):
    return int(re.search(r"\d+", words)[0])


def partial(coefficients, n, x):
    return mpmath.mpf(0) + sum(mpmath.mpf(c.numerator) / c.denominator * mpmath.mpf(x) ** k for k, c in enumerate(coefficients[: n + 1]))


def real(x):
    return mpmath.mpf(x.numerator) / x.denominator


@pytest.fixture(autouse=True)
def precise():
    with mpmath.workdps(40):
        yield


def test_the_rainbow():
    prose = Prose("1-rainbow.md")
    c = [F(1), F(0), F(0)]
    for n in range(1, 60):
        c.append(c[n - 1] / ((n + 2) * (n + 1)))
    assert c[3] == F(1, 6) and c[6] == F(1, 180) and c[9] == F(1, 12960)
    ai, ai_slope = mpmath.airyai(0), mpmath.airyai(0, derivative=1)
    bi, bi_slope = mpmath.airybi(0), mpmath.airybi(0, derivative=1)

    def y(x):
        # The combination of Ai and Bi that begins with 1 and slope 0.
        return (bi_slope * mpmath.airyai(x) - ai_slope * mpmath.airybi(x)) / (ai * bi_slope - bi * ai_slope)

    def error(n, x):
        return abs(partial(c, n, x) - y(x))

    assert prose.table("| value", lambda row, _: ai if "Ai}(0)" in row else ai_slope) == 2
    prose.check("The true value is ", mpmath.airyai(1))
    prose.check("the true values are $", y(-1))
    prose.check("$, $", y(-2), "$ and $0.38")
    prose.check("$-0.014979$ and $", y(-5))
    assert prose.table("degree | at $x=-1$ | at $x=-2$ | at $x=-5$", lambda row, head: error(int(row), real(at(head)))) >= 9
    errors = [error(n, -5) for n in range(40)]
    assert max(errors) == errors[9]
    prose.check("errors first grow to ", errors[9], " (degree 9)")
    top = mpmath.findroot(lambda x: mpmath.airyai(x, derivative=1), -1)
    prose.check("is zero, at $x = ", top)
    prose.check("the brightness is ", (ai / mpmath.airyai(top)) ** 2)
    prose.check("first dark band, at $x = ", mpmath.findroot(mpmath.airyai, -2.3))
    # "Look the same between −2 and 2": less than a hundredth apart.
    assert all(error(12, real(F(k, 10))) < 0.01 for k in range(-20, 21))
    prose.check("part by more than ", mpmath.mpf("0.001"))
    prose.complete()


def clock(count):
    """Coefficients of θ″ = −sin θ, θ(0) = 0, θ′(0) = 1, with s = sin θ and c = cos θ."""
    t, s, c = [F(0), F(1)], [F(0)], [F(1)]
    for n in range(count):
        t.append(-s[n] / ((n + 2) * (n + 1)))
        # s′ = c θ′ and c′ = −s θ′.
        slope = [(k + 1) * t[k + 1] for k in range(n + 1)]
        s.append(sum((c[k] * slope[n - k] for k in range(n + 1)), F(0)) / (n + 1))
        c.append(-sum((s[k] * slope[n - k] for k in range(n + 1)), F(0)) / (n + 1))
    return t


def test_the_clock():
    prose = Prose("2-clock.md")
    c = clock(40)
    assert c[3] == F(-1, 6) and c[5] == F(1, 60) and c[7] == F(-13, 5040)
    half = mpmath.mpf(1) / 2

    def angle(t):
        # θ = 2 arcsin(k sn(t, k)) with k = sin(half the largest angle) = 1/2.
        return 2 * mpmath.asin(half * mpmath.ellipfun("sn", t, m=half**2))

    def error(n, t):
        return partial(c, n, t) - angle(t)

    quarter, beside = mpmath.ellipk(half**2), mpmath.ellipk(1 - half**2)
    prose.check("has the period $2\\pi = ", 2 * mpmath.pi)
    prose.check("At $t = 1$ the true angle is ", angle(1))
    rows = {"$\\sin t$": mpmath.sin(1) - angle(1)}
    assert prose.table("| error at $t = 1$", lambda row, _: rows.get(row) or error(degree(row), 1)) == 5
    assert abs(error(7, 1)) < 0.001 < abs(error(5, 1)) and abs(error(3, 1)) > abs(mpmath.sin(1) - angle(1))
    prose.check("for an error below ", mpmath.mpf("0.001"))
    # "About six times smaller" with each term.
    for n in (5, 7, 9):
        assert 5.5 < error(n - 2, 1) / -error(n, 1) < 7
    prose.check("for the whole swing, to $t = ", 2 * quarter)
    assert prose.table("error | at $t=1.5$ | at $t=2$ | at $t=2.1$ | at $t=2.5$", lambda row, head: error(degree(row), real(at(head)))) == 12
    for place in ("1.5", "2.1", "2.5"):
        for found in re.finditer(r"at \$t=" + re.escape(place) + r"\$", prose.text):
            prose.seen.add(found.start() + 6)
    prose.check("More terms help at ", mpmath.mpf("1.5"), ", help slowly")
    prose.check("help slowly at 2 and ", mpmath.mpf("2.1"))
    prose.check("and do harm at ", mpmath.mpf("2.5"))
    prose.check("In between, at about $t = ", beside)
    prose.check("for $t = \\pm ", beside)
    assert abs(angle(quarter) - mpmath.pi / 3) < 1e-30
    prose.check("is at $\\pi/3$ when $t = ", quarter)
    assert quarter < beside
    prose.check("The error of degree 15 there is ", abs(error(15, quarter)))
    prose.check("; of degree 25, ", abs(error(25, quarter)))
    prose.check("The period is $4 \\cdot ", quarter)
    prose.check("1.68575 = ", 4 * quarter)
    prose.check("$K(\\tfrac12) = ", quarter)
    prose.check("$K(\\tfrac{\\sqrt3}{2}) = ", beside)
    prose.complete()


def test_the_oyster_beds():
    prose = Prose("3-oysters.md")
    c = [F(1)]
    for n in range(30):
        square = sum(c[k] * c[n - k] for k in range(n + 1))
        c.append((c[n] - square / 4) / (n + 1))

    def stock(t):
        return 4 / (1 + 3 * mpmath.exp(-t))

    def error(n, t):
        return partial(c, n, t) - stock(t)

    assert abs(stock(mpmath.log(3)) - 2) < 1e-30
    prose.check("At $t = 1$ the formula gives ", stock(1))
    prose.check("Degree 4 is off by ", abs(error(4, 1)))
    prose.check("but degree 5 by ", abs(error(5, 1)))
    pole = mpmath.log(3) + mpmath.pi * 1j
    assert abs(1 + 3 * mpmath.exp(-pole)) < 1e-30
    prose.check("\\pi^2} = ", abs(pole))
    assert prose.table("error | at $t = 1$ | at $t = 2$ | at $t = 3$ | at $t = 4$", lambda row, head: error(degree(row), real(at(head)))) == 12
    # −(N − 1)(N − 3)/4 from 9/10 to 0.
    gone = mpmath.quad(lambda n: 4 / ((n - 1) * (n - 3)), [0, mpmath.mpf(9) / 10])
    assert abs(gone - 2 * mpmath.log(7)) < 1e-20
    prose.check("gone at $t = 2\\ln 7 = ", gone)
    prose.check("A bed at exactly $1$ stays at $1$; a bed at $", mpmath.mpf(9) / 10)
    level = 3 - 3 * mpmath.log(2)
    prose.check("$3 - 3\\ln 2 = ", level)
    prose.check("How far from ", level)
    n, k = [F(1)], [F(2)]
    for order in range(5):
        product = sum(n[j] * k[order - j] for j in range(order + 1))
        n, k = [*n, (3 * n[order] - product) / (order + 1)], [*k, (product - 2 * k[order]) / (order + 1)]
    prose.check("they give $N = ", partial(n, 5, half := mpmath.mpf(1) / 2))
    prose.check("$ and $C = ", partial(k, 5, half))
    prose.complete()
