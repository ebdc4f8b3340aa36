"""Heavy and hostile problems: each is answered, without a crash, in bounded time and memory."""

import json
import resource
import subprocess

from derive import BINARY
from hostile_problems import problems

# A process that needs more than this has no limit on its work. The time is processor time, far
# above the two seconds of the page's rule, so that a busy machine fails nothing; the memory is the
# address space.
SECONDS = 20
BYTES = 1 << 30

ALL = list(problems())


def limits():
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    resource.setrlimit(resource.RLIMIT_AS, (BYTES, BYTES))


def processor_time():
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def answer(equation, conditions, options):
    """Exit code, JSON and processor time of one call; the arguments may hold anything but NUL."""
    before = processor_time()
    done = subprocess.run(
        [BINARY, *(text.replace("\0", "\N{SYMBOL FOR NULL}") for text in (equation, conditions)), *options],
        capture_output=True, text=True, preexec_fn=limits, check=False,
    )
    seconds = processor_time() - before
    assert done.returncode in (0, 1), (equation[:100], conditions[:100], options[:4], done.returncode, done.stderr[:300])
    return done.returncode, json.loads(done.stdout), seconds


def test_every_problem_is_answered():
    times, worked, refused = [], 0, 0
    for equation, conditions, options in ALL:
        code, found, seconds = answer(equation, conditions, options)
        name = (equation[:60], conditions[:30], *options[:2])
        times.append((seconds, name))
        severities = {d["severity"] for d in found["diagnostics"]}
        if code == 0:
            worked += 1
            assert "error" not in severities, name
            assert found["table"], name
            assert not any(row["agreed"] is False for row in found["table"]), name
        else:
            refused += 1
            assert "error" in severities, name
            for diagnostic in found["diagnostics"]:
                assert diagnostic["message"].endswith("."), (name, diagnostic)
                assert 0 <= diagnostic["start"] <= diagnostic["end"], (name, diagnostic)
    print(f"\n{worked} worked, {refused} refused; slowest (processor seconds):")
    for seconds, name in sorted(times, reverse=True)[:5]:
        print(f"  {seconds:.2f}  {name}")
    assert len(ALL) >= 150
    # Neither half is empty: the list is about both.
    assert worked >= 90 and refused >= 30, (worked, refused)
