"""The derivative table beside sympy and symengine, on the page's examples.

    tests/.venv/bin/python tests/bench/sympy_table.py [--order 8] [--check]

All three start from the solved form as an expression of their own and end with the exact values of
the derivatives at the center; ours also keeps every reason. Each library takes the fastest of the
roads below; rounds alternate between the three, and the shortest processor time of each counts.
Prints one JSON line per example and one with the geometric means; all values must agree. With
--check the exit status says whether the targets were met.
"""

import argparse
import collections
import json
import math
import pathlib
import re
import subprocess
import sys
import time

import symengine as se
import sympy as sp
from sympy.core.cache import clear_cache

ROOT = pathlib.Path(__file__).resolve().parents[2]
ROUNDS = 3

# How many times as fast as the library at least.
SYMPY_TARGET = 20.0
SYMENGINE_TARGET = 1.0


def own(order):
    """Our tables: a list of what `web/examples/table.rs` prints."""
    command = ("cargo", "run", "--quiet", "--profile", "bench", "--package", "web", "--example", "table", "--", str(order))
    out = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout
    return [json.loads(line) for line in out.splitlines()]


def translated(case):
    """The solved form with x for the variable and y0, y1 … for the unknown and its derivatives."""
    def letter(found):
        name, primes = found.groups()
        if name == case["unknown"]:
            return f"y{len(primes)}"
        return "x" if name == case["independent"] and not primes else name + primes
    terms = [re.sub(r"([A-Za-z_]\w*)('*)", letter, term) for term in case["solved"]]
    return "+".join(f"({term})" for term in terms).replace("^", "**")


class Library:
    """What both libraries are asked for, in the words that they share."""

    def __init__(self, module, case, order):
        self.module, self.order = module, order
        self.x = module.Symbol("x")
        self.y = [module.Symbol(f"y{k}") for k in range(order + 2)]
        read = module.sympify
        self.initial = [read(value.replace("^", "**")) for value in case["initial"]]
        self.center = read(case["center"])
        self.right = read(translated(case))
        self.equation_order = len(self.initial)

    def total_derivative(self, expression):
        """d/dx of a function of x, y0, y1 …: the chain rule over the letters that occur."""
        found = expression.diff(self.x)
        for k in range(self.order + 1):
            slope = expression.diff(self.y[k])
            if slope != 0:
                found += slope * self.y[k + 1]
        return found

    def letters(self, expand):
        """Lower derivatives stay letters; each line is evaluated with the values known so far."""
        line = self.right
        values = {self.x: self.center, **dict(zip(self.y, self.initial))}
        for k in range(self.equation_order, self.order + 1):
            values[self.y[k]] = line.subs(values)
            if k < self.order:
                line = self.total_derivative(line)
                if expand:
                    line = line.expand()
        return [values[self.y[k]] for k in range(self.order + 1)]

    def letters_as_they_come(self):
        """Without multiplying out."""
        return self.letters(False)

    def letters_multiplied_out(self):
        """With like terms collected at each step, as the table is written."""
        return self.letters(True)

    def highest_replaced(self):
        """The right side is put in for the highest derivative after every step."""
        line, m = self.right, self.equation_order
        values = {self.x: self.center, **dict(zip(self.y, self.initial))}
        found = list(self.initial)
        for _ in range(m, self.order + 1):
            found.append(line.subs(values))
            line = self.total_derivative(line).subs({self.y[m]: self.right})
        return found


def with_function(case, order):
    """sympy's own way: y(x) as a function, `diff`, and lower derivatives replaced by their values."""
    library = Library(sp, case, order)
    y = sp.Function("y")(library.x)
    names = {library.y[k]: y.diff(library.x, k) for k in range(library.equation_order)}
    line = library.right.subs(names)
    values = list(library.initial)
    for k in range(library.equation_order, order + 1):
        # The highest derivatives first: y itself stands inside all of them.
        known = [(y.diff(library.x, j), values[j]) for j in range(k - 1, -1, -1)]
        values.append(line.subs(known).subs(library.x, library.center))
        if k < order:
            line = line.diff(library.x)
    return values


def roads(module, case, order):
    library = Library(module, case, order)
    found = {road.__name__: road for road in (
        library.letters_as_they_come, library.letters_multiplied_out, library.highest_replaced)}
    if module is sp:
        found["with_function"] = lambda: with_function(case, order)
    return found


def timed(road):
    """Processor time in ms, and the result. sympy's memory of earlier runs is emptied before."""
    clear_cache()
    start = time.process_time()
    found = road()
    return (time.process_time() - start) * 1e3, found


def same(ours, theirs):
    difference = sp.sympify(ours.replace("^", "**")) - sp.sympify(str(theirs))
    return difference == 0 or abs(sp.N(difference, 50)) < sp.Float("1e-40", 50)


def mean(ratios):
    return math.exp(sum(map(math.log, ratios)) / len(ratios))


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--order", type=int, default=8)
    parser.add_argument("--check", action="store_true")
    options = parser.parse_args()

    ours, theirs = {}, collections.defaultdict(dict)
    for attempt in range(ROUNDS):
        for case in own(options.order):
            best = ours.setdefault(case["case"], case)
            best["ms"] = min(best["ms"], case["ms"])
            for module in (sp, se):
                for name, road in roads(module, case, options.order).items():
                    ms, values = timed(road)
                    pairs = [] if attempt else list(zip(case["values"], values, strict=True))
                    wrong = [k for k, (a, b) in enumerate(pairs) if not same(a, b)]
                    if wrong:
                        sys.exit(f"{case['case']}: {module.__name__}.{name} differs at order {wrong[0]}")
                    key = (case["case"], module)
                    theirs[key][name] = min(ms, theirs[key].get(name, ms))

    ratios = {sp: [], se: []}
    for name, case in ours.items():
        line = {"case": name, "order": options.order, "route": case["route"], "ms": round(case["ms"], 4)}
        for module in (sp, se):
            times = theirs[name, module]
            best = min(times, key=times.get)
            ratios[module].append(times[best] / case["ms"])
            line |= {f"{module.__name__}_ms": round(times[best], 3), f"{module.__name__}_road": best,
                     f"times_as_fast_as_{module.__name__}": round(ratios[module][-1], 1)}
        print(json.dumps(line))
    print(json.dumps({"case": "all examples", **{
        f"times_as_fast_as_{module.__name__}": {"least": round(min(found), 1), "geometric_mean": round(mean(found), 1)}
        for module, found in ratios.items()}}))
    if options.check:
        sys.exit(min(ratios[sp]) < SYMPY_TARGET or min(ratios[se]) < SYMENGINE_TARGET)


main()
