"""Guaranteed digits at 400 places, beside programs that guarantee nothing.

    tests/.venv/bin/python tests/bench/enclosures.py [--check] [--quick]

15 digits against scipy's DOP853 at rtol 1e-13 (goal: not slower, on any problem), 30 digits against mpmath.odefun at 30
digits (goal: 30 times as fast), and both in WebAssembly under node (goal: within 2.5 times the native time). Ours
includes everything from the understood problem to 400 places asked for, as many drawn ones again, and their decimal
texts. The others evaluate right sides written in Python, which is how they are used. All run in turn, in several rounds
(mpmath in one), and the shortest time of each counts. One JSON line per problem, then geometric means and the worst
case. --quick leaves mpmath out.
"""

import argparse
import json
import math
import pathlib
import subprocess
import sys
import time

import mpmath as mp
import numpy as np
from scipy.integrate import solve_ivp

ROOT = pathlib.Path(__file__).resolve().parents[2]
PLACES = 400
ROUNDS = 4
# How the solver is built for both (Cargo.toml).
PROFILE = "bench"
SLOWER, FASTER, WASM = 1.0, 30.0, 2.5

# In the order of solver/benches/enclosures/cases.rs: end, initial values, right side given a module of functions.
CASES = [
    (20, [80], lambda m, x, y: [-y[0] / 5 + m.mpf(12) / 5]),
    (20, [0, 1], lambda m, x, y: [y[1], -y[0]]),
    (20, [1, 0], lambda m, x, y: [y[1], -m.sin(y[0])]),
    (5, [1, 0], lambda m, x, y: [y[1], x * y[0]]),
    (10, [1, 0], lambda m, x, y: [y[1], -x * y[0]]),
    (12, ["0.1"], lambda m, x, y: [y[0] * (1 - y[0])]),
    ("1.9", [0], lambda m, x, y: [x * x + y[0] * y[0]]),
    (15, [2, 0], lambda m, x, y: [y[1], 3 * (1 - y[0] * y[0]) * y[1] - y[0]]),
    (20, ["0.5", 0], lambda m, x, y: [y[1], -y[1] / 10 + y[0] - y[0] ** 3]),
    (20, [1, 0], lambda m, x, y: [y[1], -(y[0] ** 3)]),
    (20, [1, 0], lambda m, x, y: [y[1], -(1 + m.cos(2 * x) / 2) * y[0]]),
    (10, [1], lambda m, x, y: [-20 * y[0] + m.sin(x)]),
    (8, [1], lambda m, x, y: [m.sin(x * y[0])]),
    (5, [0], lambda m, x, y: [m.exp(-y[0]) + x]),
    (10, [1], lambda m, x, y: [m.sqrt(1 + y[0])]),
    (10, [1, 1], lambda m, x, y: [y[1], -3 * y[0] / (4 + x * x)]),
    (6, [0, 0, 1], lambda m, x, y: [y[1], y[2], -y[0] * y[2] / 2]),
    (10, [0, 0], lambda m, x, y: [y[1], 1 / (1 + y[0] * y[0]) - y[1] / 2]),
    (10, [1, 2], lambda m, x, y: [y[0] * (3 - y[1]), y[1] * (y[0] - 2)]),
    (20, [0, 1, 1], lambda m, x, y: [y[1] * y[2], -y[0] * y[2], -y[0] * y[1] / 2]),
    (20, [1, 0, 0, "0.5"], lambda m, x, y: [y[1], -2 * y[0] + y[2], y[3], y[0] - 2 * y[2]]),
]


class Doubles:
    sin, cos, exp, sqrt, mpf = math.sin, math.cos, math.exp, math.sqrt, float


def shortest(work, runs):
    """In processor time: a run that takes seconds is never left alone by other programs."""
    times = []
    for _ in range(runs):
        start = time.process_time()
        work()
        times.append((time.process_time() - start) * 1e3)
    return min(times)


def dop853(case):
    end, initial, right = case
    end, initial = float(end), [float(v) for v in initial]
    places = np.linspace(0, end, PLACES + 1)[1:]
    return shortest(lambda: solve_ivp(lambda x, y: right(Doubles, x, y), (0, end), initial, method="DOP853", rtol=1e-13, atol=1e-13, t_eval=places), 3)


def odefun(case):
    end, initial, right = case
    with mp.workdps(30):
        def work():
            solution = mp.odefun(lambda x, y: right(mp, x, y), 0, [mp.mpf(v) for v in initial])
            for k in range(1, PLACES + 1):
                solution(mp.mpf(end) * k / PLACES)

        return shortest(work, 1)


def lines(*command):
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    return [json.loads(line) for line in done.stdout.splitlines() if line.startswith("{")]


def mean(values):
    return math.exp(sum(map(math.log, values)) / len(values))


def in_turn(digits, module, other, rounds):
    """What ours says of each problem, with the shortest times: native, in WebAssembly, and the other's."""
    found = {}
    for turn in range(rounds):
        native = lines("cargo", "bench", "--quiet", "-p", "solver", "--bench", "enclosures", "--", str(digits))
        wasm = lines("node", "tests/bench/enclosures_wasm.mjs", str(module), str(digits))
        for index, (case, own, inside) in enumerate(zip(CASES, native, wasm, strict=True)):
            theirs = float("nan")
            if other and (other is not odefun or turn == 0):
                theirs = other(case)
            _, *times = found.get(index, (None, math.inf, math.inf, theirs))
            # Not a number is never less.
            now = (own["ms"], inside["ms"], theirs)
            found[index] = ({**own, "inside": inside["enclosed"]}, *(b if b < a else a for a, b in zip(times, now)))
    return [found[index] for index in range(len(CASES))]


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--quick", action="store_true")
    options = parser.parse_args()
    target = "wasm32-unknown-unknown"
    subprocess.run(["cargo", "bench", "--quiet", "-p", "solver", "--bench", "enclosures", "--no-run"], cwd=ROOT, check=True)
    build = ["cargo", "build", "--quiet", "--profile", PROFILE, "-p", "solver", "--example", "enclosures_wasm", "--target", target]
    subprocess.run(build, cwd=ROOT, check=True)
    about = json.loads(subprocess.run(["cargo", "metadata", "--format-version", "1", "--no-deps"], cwd=ROOT, check=True, capture_output=True, text=True).stdout)
    module = pathlib.Path(about["target_directory"]) / target / "release" / "examples" / "enclosures_wasm.wasm"
    met = True
    for digits, other, goal in [(15, dop853, SLOWER), (30, None if options.quick else odefun, FASTER)]:
        ratios, wasms = [], []
        for own, ms, wasm_ms, theirs in in_turn(digits, module, other, ROUNDS):
            ratios.append(theirs / ms)
            wasms.append(wasm_ms / ms)
            complete = own["enclosed"] == own.pop("inside") == PLACES and own["digits"] >= digits
            met &= complete and not ratios[-1] < goal and wasms[-1] <= WASM
            print(json.dumps({"wanted": digits, **own, "ms": ms, "wasm_ms": round(wasm_ms, 2), "wasm_ratio": round(wasms[-1], 2),
                              "other_ms": round(theirs, 1), "times_as_fast": round(ratios[-1], 2), "complete": complete}), flush=True)
        print(json.dumps({"wanted": digits, "times_as_fast": {"mean": round(mean(ratios), 2), "worst": round(min(ratios), 2)},
                          "wasm_ratio": {"mean": round(mean(wasms), 2), "worst": round(max(wasms), 2)}}), flush=True)
    sys.exit(options.check and not met)


if __name__ == "__main__":
    main()
