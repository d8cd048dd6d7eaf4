"""A server that was killed is back soon: what only a later request needs is not imported before it answers."""

import subprocess
import sys

import pytest

HEAVY = ("quizgen.engine", "quizgen.content", "quizgen.reps", "scipy")


def imported(program: str) -> set[str]:
    """Which of the heavy modules a fresh process has after this program."""
    said = subprocess.run(
        [sys.executable, "-c", f"import sys\n{program}\nprint(*[name for name in {HEAVY!r} if name in sys.modules])"],
        capture_output=True,
        text=True,
        check=True,
    )
    return set(said.stdout.split())


@pytest.mark.parametrize("command", ["serve", "migrate"])
def test_a_start_waits_for_no_engine(command: str) -> None:
    assert (
        imported(
            f"sys.argv = ['gapsound', {command!r}]\nimport server.commands.main, server.app, server.commands.serving"
        )
        == set()
    )


def test_commands_that_ask_the_engine_have_it() -> None:
    assert "quizgen.engine" in imported("sys.argv = ['gapsound', 'fit']\nimport server.commands.main")


def test_once_it_answers_the_rest_is_brought_in() -> None:
    assert {"quizgen.content", "quizgen.reps", "scipy"} <= imported("import server.app\nserver.app.warm_up()")


def test_imports_leave_the_garbage_collector_on() -> None:
    program = (
        "sys.argv = ['gapsound', 'serve']\nimport gc\nfrom server.commands.serve import loading\n"
        "with loading():\n    import json\n    assert not gc.isenabled()\n"
        "assert gc.isenabled()"
    )
    assert imported(program) == set()


def test_content_that_stays_is_not_gone_over_again_and_again() -> None:
    """What stays, like a team's set-ups, makes Python's collector go over all that is there; garbage still goes."""
    program = (
        "import gc, weakref\nfrom server.commands.serving import put_requests_first\n"
        "sys.argv = ['gapsound', 'serve']\nclass Knot: pass\n"
        "def keep(): return [[] for _ in range(200_000)]\n"
        "whole = lambda: gc.get_stats()[2]['collections']\n"
        "began = whole()\nstays = keep()\nassert whole() > began\n"
        "put_requests_first()\nknot = Knot()\nknot.self = knot\ngone = weakref.ref(knot)\ndel knot\n"
        "began = whole()\nmore = keep()\nassert whole() == began\nassert gone() is None"
    )
    assert imported(program) == set()
