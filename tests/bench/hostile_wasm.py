"""Hostile problems and the page's examples in the page's own module, under node and natively.

    tests/.venv/bin/python tests/bench/hostile_wasm.py [--slowest 10] [--check]

The hostile problems are those of tests/outside; the examples are taken at degree 8, warm. Prints
the slowest hostile ones with their processor time in both and the dearest native stage, then every
example, and a summary. The site is target/site, or SITE. With --check the exit status says whether
every answer came within two seconds.
"""

import argparse
import json
import os
import pathlib
import subprocess
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "outside"))
from derive import ROOT  # noqa: E402
from hostile_problems import problems  # noqa: E402
from test_work import fragment  # noqa: E402

LIMIT_MS = 2000
# Longer fragments are no address of the page (web/src/address.rs).
LONGEST = 16_384
ANSWERS = ("cargo", "run", "--quiet", "--release", "--package", "web", "--example", "answers", "--")


def run(command, lines=()):
    done = subprocess.run(command, cwd=ROOT, input="\n".join(lines), check=True, capture_output=True, text=True)
    return done.stdout.splitlines()


def in_wasm(lines, repeats):
    site = os.environ.get("SITE", str(ROOT / "target" / "site"))
    return [json.loads(line) for line in run(("node", "tests/bench/worker.mjs", site, str(repeats)), lines)]


def native(lines):
    return [json.loads(line) for line in run(ANSWERS, lines)]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--slowest", type=int, default=10)
    parser.add_argument("--check", action="store_true")
    options = parser.parse_args()

    asked = [(name, text) for name in problems() if len(text := fragment(*name)) <= LONGEST]
    lines = [text for _, text in asked]
    rows = []
    for (problem, _), module, own in zip(asked, in_wasm(lines, 1), native(lines), strict=True):
        equation, conditions, switches = problem
        stages = own["ms"]
        rows.append({
            "case": [equation[:50], conditions[:25], *switches[:2]],
            "wasm_ms": module["answer_ms"], "native_ms": round(sum(stages.values()), 1),
            "dearest_stage": max(stages, key=stages.get), "allocations": sum(own["allocations"].values()),
        })
    rows.sort(key=lambda row: -row["wasm_ms"])
    for row in rows[: options.slowest]:
        print(json.dumps(row))
    examples = run((*ANSWERS, "--examples", "8"))
    for text, module in zip(examples, in_wasm(examples, 20), strict=True):
        print(json.dumps({"case": text, "degree": 8, **module}))
    slow = [row for row in rows if row["wasm_ms"] > LIMIT_MS]
    print(json.dumps({
        "case": "all hostile problems", "problems": len(rows), "over_two_seconds": len(slow), "slowest_ms": rows[0]["wasm_ms"],
        "wasm_over_native": round(sum(r["wasm_ms"] for r in rows) / sum(r["native_ms"] for r in rows), 2),
    }))
    return 1 if slow and options.check else 0


sys.exit(main())
