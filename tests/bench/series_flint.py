"""Exact Taylor coefficients of high degree, beside python-flint and in WebAssembly.

    tests/.venv/bin/python tests/bench/series_flint.py [--degree 1000] [--check]

Runs `cargo bench -p solver --bench series`, the same problems in a WebAssembly module under node
(the solver built for speed as the native one is; the page's own module is built for size, and ends
at degree 50), and every road through python-flint that
we know of, in rounds on the same machine; for each problem the fastest road and the shortest time
count. All three must give the same last coefficient. Prints one
JSON line per problem; with --check the exit status says whether the targets were met.
"""

import argparse
import json
import pathlib
import subprocess
import sys
import time

from flint import ctx, fmpq, fmpq_poly, fmpq_series, fmpz

ROOT = pathlib.Path(__file__).resolve().parents[2]
RUNS = 3
ROUNDS = 3
# How the solver is built for both (Cargo.toml).
PROFILE = "bench"

# Largest ratio to the reference library, and of WebAssembly to native code.
TARGETS = {"riccati_sparse": 1.5, "riccati": 1.5, "logistic": 1.5}
LINEAR_TARGET = 1.0
WASM_TARGET = 3.0


# --- Linear equations: Σ p_i(x)·y^(i) = 0, p as lists of integers -----------------------------

LINEAR = {
    "airy": ([[0, -1], [], [1]], [1, 2]),
    "two_terms": ([[3], [], [4, 0, 1]], [1, 2]),
    "three_terms": ([[0, 0, 1], [0, 1], [1]], [1, 2]),
    "three_terms_singular": ([[0, 1], [1], [1, 1]], [1, 2]),
}


def recurrence_in_fractions(coefficients, initial, degree):
    """c_{n+m} from the earlier ones, in reduced fractions."""
    order = len(coefficients) - 1
    c = [fmpq(v) for v in initial]  # orders 0 and 1 only: no factorial
    lead = coefficients[order][0]
    terms = [
        (i, s, v)
        for i, p in enumerate(coefficients)
        for s, v in enumerate(p)
        if v and (i, s) != (order, 0)
    ]
    for n in range(degree - order + 1):
        total = None
        for i, s, v in terms:
            index = n - s + i
            if index < 0 or n < s:
                continue
            factor = v
            for t in range(i):
                factor *= index - t
            if factor:
                part = c[index] * factor
                total = part if total is None else total + part
        divisor = lead
        for t in range(1, order + 1):
            divisor *= n + t
        c.append(fmpq(0) if total is None else total / -divisor)
    return c


def recurrence_in_integers(coefficients, initial, degree):
    """The integers lead^n·n!·c_n, and one reduction each."""
    order = len(coefficients) - 1
    lead = coefficients[order][0]
    terms = [
        (i, s, v)
        for i, p in enumerate(coefficients)
        for s, v in enumerate(p)
        if v and (i, s) != (order, 0)
    ]
    a = [fmpz(v) * lead**n for n, v in enumerate(initial)]
    for n in range(degree - order + 1):
        total = fmpz(0)
        for i, s, v in terms:
            index = n - s + i
            if index < 0 or n < s:
                continue
            factor = v * lead ** (n + order - index - 1)
            for t in range(s):
                factor *= n - t
            if factor:
                total -= a[index] * factor
        a.append(total)
    divisor, found = fmpz(1), []
    for n, value in enumerate(a):
        if n:
            divisor *= n * lead
        found.append(fmpq(value, divisor))
    return found


# --- y' = p + q·y + r·y² ----------------------------------------------------------------------

RICCATI = {
    "riccati_sparse": ([0, 0, 1], [], [1], fmpq(0)),
    "riccati": ([0, 0, 1], [], [1], fmpq(1)),
    "logistic": ([], [1], [-1], fmpq(1, 10)),
}


def newton(p, q, r, initial, degree):
    """Newton's iteration, the number of coefficients doubling."""
    y, known = fmpq_poly([initial]), 1
    while known <= degree:
        known = min(2 * known, degree + 1)
        ctx.cap = known
        series = lambda value: fmpq_series(value, prec=known)  # noqa: E731
        now = series(y)
        rest = series(p) + series(q) * now + series(r) * now * now - series(y.derivative())
        growth = (series(q) + 2 * series(r) * now).integral().exp()
        y = fmpq_poly(list(now + growth * (rest / growth).integral())[:known])
    return list(y)


def through_linear(p, q, r, initial, degree):
    """y = −u′/(r·u) with u″ = q·u′ − p·r·u (constant r and q), then one division of series."""
    (r,) = r
    q = q[0] if q else 0
    coefficients = [[v * r for v in p], [-q], [1]]
    u = recurrence_in_fractions(coefficients, [fmpq(1), -initial * r], degree + 1)
    ctx.cap = degree + 1
    u = fmpq_series(u, prec=degree + 2)
    return list((-u.derivative() / r) / u)


def logistic_formula(p, q, r, initial, degree):
    """1/(1 + (1/y0 − 1)·exp(−x)), for p = 0, q = 1, r = −1."""
    if p or q != [1] or r != [-1]:
        return None
    ctx.cap = degree + 1
    decay = (-fmpq_series([0, 1])).exp()
    return list(1 / (1 + (1 / initial - 1) * decay))


def convolution_in_integers(p, q, r, initial, degree):
    """The integers n!·y0_denominator^(n+1)·c_n; the sum of products as a dot product of Python's."""
    d = int(initial.q)
    a, binomials = [fmpz(int(initial.p))], [fmpz(1)]
    linear, square = (q[0] if q else 0), r[0]
    factorial, power = fmpz(1), fmpz(d)
    for n in range(degree):
        total = sum((b * a[k] * a[n - k] for k, b in enumerate(binomials) if a[k]), fmpz(0))
        value = square * total + linear * d * a[n]
        power *= d
        if n:
            factorial *= n
        if n < len(p) and p[n]:
            value += p[n] * factorial * power
        a.append(value)
        binomials = [fmpz(1)] + [s + t for s, t in zip(binomials, binomials[1:])] + [fmpz(1)]
    found, divisor = [], fmpz(d)
    for n, value in enumerate(a):
        if n:
            divisor *= n * d
        found.append(fmpq(value, divisor))
    return found


# --- Running ----------------------------------------------------------------------------------


def timed(road, arguments, degree):
    """Shortest time in ms and the result; one run only when it is slow."""
    times = []
    for _ in range(RUNS):
        start = time.process_time()
        found = road(*arguments, degree)
        times.append((time.process_time() - start) * 1e3)
        if found is None or times[0] > 2000:
            break
    return min(times), found


def reference(degree):
    """For each problem the time of each road, and the last coefficient."""
    roads = [
        (LINEAR, [recurrence_in_fractions, recurrence_in_integers]),
        (RICCATI, [newton, through_linear, logistic_formula, convolution_in_integers]),
    ]
    results = {}
    for problems, candidates in roads:
        for name, arguments in problems.items():
            times, lasts = {}, set()
            for road in candidates:
                ms, found = timed(road, arguments, degree)
                if found is None:
                    continue
                times[road.__name__] = ms
                lasts.add(str(found[degree] if len(found) > degree else fmpq(0)))
            if len(lasts) != 1:
                sys.exit(f"{name}: the reference library's roads differ")
            results[name] = (times, lasts.pop())
    return results


def run(*command):
    return subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout


def lines(text):
    return [json.loads(line) for line in text.splitlines() if line.startswith("{")]


def shortest(before, now):
    """The lines of `now`, each with the shorter of its time and the one before."""
    for old, new in zip(before, now):
        new["ms"] = min(old["ms"], new["ms"])
    return now


def digit_sum(fraction):
    """Sum of the 32-bit digits of the numerator, modulo 2^32."""
    numerator, total = abs(int(fraction.split("/")[0])), 0
    while numerator:
        numerator, digit = divmod(numerator, 1 << 32)
        total += digit
    return total % (1 << 32)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--degree", type=int, default=1000)
    parser.add_argument("--check", action="store_true")
    options = parser.parse_args()
    degree = options.degree
    sys.set_int_max_str_digits(0)

    cargo = ("cargo", "bench", "--quiet", "--package", "solver", "--bench", "series")
    run(*cargo, "--no-run")
    wasm = ("wasm32-unknown-unknown", "release", "examples")  # where that profile's builds go
    run("cargo", "build", "--quiet", "--profile", PROFILE, "--package", "solver", "--example", "series_wasm",
        "--target", wasm[0])
    target = json.loads(run("cargo", "metadata", "--format-version", "1", "--no-deps"))
    module = pathlib.Path(target["target_directory"]).joinpath(*wasm, "series_wasm.wasm")

    native, in_wasm, outside = [], [], {}
    for _ in range(ROUNDS):
        native = shortest(native, lines(run(*cargo, "--", str(degree))))
        in_wasm = shortest(in_wasm, lines(run("node", "tests/bench/series_wasm.mjs", str(module), str(degree))))
        for name, (times, last) in reference(degree).items():
            known, _ = outside.get(name, (times, last))
            outside[name] = ({road: min(ms, known[road]) for road, ms in times.items()}, last)

    met = True
    for own, other in zip(native, in_wasm, strict=True):
        name = own["case"]
        times, last = outside[name]
        same_problem = other["name_length"] == len(name)
        if own.get("last") != last or not same_problem or other["digits"] != digit_sum(last):
            sys.exit(f"{name}: results differ")
        road = min(times, key=times.get)
        ratio, wasm_ratio = own["ms"] / times[road], other["ms"] / own["ms"]
        met &= ratio <= TARGETS.get(name, LINEAR_TARGET) and wasm_ratio <= WASM_TARGET
        print(json.dumps({
            "case": name, "degree": degree, "wasm_profile": PROFILE, "native_ms": own["ms"], "wasm_ms": round(other["ms"], 3),
            "reference_ms": {key: round(value, 3) for key, value in times.items()}, "best": road,
            "ratio": round(ratio, 3), "wasm_ratio": round(wasm_ratio, 2),
        }))
    return 0 if met or not options.check else 1


if __name__ == "__main__":
    sys.exit(main())
