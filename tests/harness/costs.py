"""The cost of each test, printed at the end of a run, so that a suite that grows slow is noticed.

Processor time covers the test's process and the children it waited for; not the PostgreSQL server that all tests share,
nor a browser before it is closed.
"""

import os
import resource
from collections import Counter
from collections.abc import Generator
from pathlib import PurePath

import pytest

SLOWEST = 10


def cpu_s() -> float:
    """Processor time of this process and of its ended children, in seconds."""
    now = os.times()
    return now.user + now.system + now.children_user + now.children_system


class Costs:
    """The plugin. Workers store the processor time in the reports, which are sent to the main process."""

    def __init__(self) -> None:
        self.at_s = 0.0
        self.cpu_s: Counter[str] = Counter()
        self.took_s: Counter[str] = Counter()

    @pytest.hookimpl(wrapper=True, tryfirst=True)
    def pytest_runtest_protocol(self) -> Generator[None, object, object]:
        self.at_s = cpu_s()
        return (yield)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_makereport(self) -> Generator[None, pytest.TestReport, pytest.TestReport]:
        report = yield
        before, self.at_s = self.at_s, cpu_s()
        report.cpu_s = self.at_s - before  # type: ignore[attr-defined]
        return report

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.cpu_s[report.nodeid] += getattr(report, "cpu_s", 0.0)  # a worker that crashed has noted none
        self.took_s[report.nodeid] += report.duration

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        rooms: Counter[str] = Counter()
        for test, seconds in self.cpu_s.items():
            rooms["/".join(PurePath(test.partition("::")[0]).parts[1:-1]) or "top"] += seconds
        write = terminalreporter.write_line
        terminalreporter.section("costs")
        write("seconds, seconds of processor time, of the slowest tests:")
        for test, seconds in self.took_s.most_common(SLOWEST):
            write(f"{seconds:7.1f} {self.cpu_s[test]:7.1f}  {test}")
        write("processor time by room: " + ", ".join(f"{room} {seconds:.0f}" for room, seconds in rooms.most_common()))
        used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
        user, system = sum(one.ru_utime for one in used), sum(one.ru_stime for one in used)
        write(f"processor time in all: {user:.0f} s user, {system:.0f} s system")
