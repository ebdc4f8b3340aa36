"""The work of every hostile problem is bounded, as the page's worker does it.

Every answer is to come within two seconds in the browser. Time depends on the machine; allocations
do not, and nearly everything the solver does makes an expression, a number or a piece of text. The
bounds are a little above what the dearest problems take; those take half a second natively and
up to a little over two in the browser's module. `web/examples/answers.rs` says which stage it was.
"""

import json
import subprocess
from urllib.parse import quote

from derive import TARGET
from hostile_problems import problems

BINARY = TARGET / "release" / "examples" / "answers"
ALLOCATIONS = 8_000_000
KILOBYTES = 1_000_000
REPLY_BYTES = 25_000_000


def fragment(equation, conditions, options):
    """The problem as the page's address has it; the page has no points of its own to ask for."""
    fields = {"equation": equation, "conditions": conditions, "degree": "5"}
    for position, option in enumerate(options):
        if option in ("--degree", "--candidate", "--beside"):
            fields[option[2:]] = options[position + 1]
        if option == "--interval":
            fields["from"], fields["to"] = options[position + 1 : position + 3]
    return "&".join(f"{name}={quote(text)}" for name, text in fields.items())


def answers(fragments):
    done = subprocess.run([BINARY], input="\n".join(fragments), capture_output=True, text=True, check=True)
    return [json.loads(line) for line in done.stdout.splitlines()]


def test_no_problem_takes_too_much_work():
    asked = list(problems())
    found = answers(fragment(*problem) for problem in asked)
    assert len(found) == len(asked)
    allocations = [sum(one["allocations"].values()) for one in found]
    # Not only refusals, which cost little.
    assert sum(count > 1000 for count in allocations) >= 150
    dear = [
        (equation[:60], conditions[:30], options[:2], one)
        for (equation, conditions, options), one, count in zip(asked, found, allocations, strict=True)
        if count > ALLOCATIONS or sum(one["kilobytes"].values()) > KILOBYTES or max(one["replies"]) > REPLY_BYTES
    ]
    assert not dear, dear
    # The bounds are near: a problem that swells is noticed.
    assert max(allocations) > ALLOCATIONS / 4


def test_the_count_is_the_same_every_time():
    fragments = [fragment(*problem) for problem in list(problems())[:12]]
    first, again = answers(fragments), answers(fragments)
    assert [one["allocations"] for one in first] == [one["allocations"] for one in again]
