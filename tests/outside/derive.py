"""Runs the worksheet's machine way in and reads its JSON."""

import decimal
import json
import os
import pathlib
import subprocess

ROOT = pathlib.Path(__file__).resolve().parents[2]
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
BINARY = TARGET / "release" / "examples" / "derive"


def run(equation, conditions, *options, seconds=20):
    """The exit code and the JSON of one call."""
    done = subprocess.run(
        [BINARY, equation, conditions, *map(str, options)],
        capture_output=True, text=True, timeout=seconds, check=False,
    )
    assert done.returncode in (0, 1), f"{equation!r}: exit {done.returncode}: {done.stderr}"
    return done.returncode, json.loads(done.stdout)


def work(equation, conditions, *options, seconds=20):
    """The JSON of a problem that must have an answer."""
    code, answer = run(equation, conditions, *options, seconds=seconds)
    assert code == 0, f"{equation!r}, {conditions!r}: {answer['diagnostics']}"
    return answer


def middle(value):
    """The text of a point's value: of an enclosure the middle, of an estimate the digits shown."""
    if isinstance(value, str):
        return value
    with decimal.localcontext(prec=80):
        return str((decimal.Decimal(value["lower"]) + decimal.Decimal(value["upper"])) / 2)


def ends(value):
    """Both ends of an enclosure as texts; of an estimate `None`."""
    return None if isinstance(value, str) else (value["lower"], value["upper"])
