"""Counts the random problems over all tests that deal in them: each such test records a property
"random problems": (class, how many, how many of them ended with "unable" or "cannot decide")."""

import collections

import pytest

CLASSES = {"numbers", "letters", "constants", "implicit", "singular", "systems"}
LEAST = 2000
MOST_UNDECIDED = 0.03


def counted(reporter):
    counts = collections.defaultdict(lambda: [0, 0])
    for reports in reporter.stats.values():
        for report in reports:
            # Each test has three reports; the last holds what was recorded.
            if getattr(report, "when", None) != "teardown":
                continue
            for name, value in report.user_properties:
                if name == "random problems":
                    kind, count, undecided = value
                    counts[kind][0] += count
                    counts[kind][1] += undecided
    return counts


def total(counts):
    return [sum(column) for column in zip(*counts.values(), strict=True)]


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session):
    """In a run with all the classes, too few problems or too many left open are an error."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    counts = counted(reporter) if reporter else {}
    if not CLASSES <= set(counts):
        return
    count, undecided = total(counts)
    if count < LEAST or undecided > MOST_UNDECIDED * count:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter):
    counts = counted(terminalreporter)
    if not counts:
        return
    terminalreporter.section("random problems")
    rows = [*sorted(counts.items()), ("together", total(counts))]
    for kind, (count, undecided) in rows:
        terminalreporter.line(f"{kind:10} {count:5}  unable or cannot decide: {undecided:3} ({undecided / count:.1%})")
    if CLASSES <= set(counts):
        terminalreporter.line(f"wanted: at least {LEAST}, at most {MOST_UNDECIDED:.0%} open")
