"""Each kind of change of a call, said to a coach."""

from dataclasses import replace

import pytest

from quizgen.content import load_team
from quizgen.engine.mending import Mending, WeightedSnap, steps
from quizgen.engine.report import situations
from quizgen.football.pressure import RunJob
from quizgen.football.sides import Side
from quizgen.football.team import TeamBook
from quizgen.reps.mending_words import JOB_NAMES, change_sentence, say_mendings
from quizgen.reps.wording import Wording
from server.commands.demo import demo_files


@pytest.fixture(scope="module")
def demo() -> TeamBook:
    return load_team(demo_files())


def test_every_change_that_is_tried_has_a_sentence_of_its_own(demo: TeamBook) -> None:
    for call in demo.pressures:
        tried = steps(call, demo.front(call.front), demo.rules)
        said = [change_sentence(Wording(), one.change.what) for one in tried]
        assert len(set(said)) == len(said), call.name
        assert all("{" not in one and one[0].isupper() and "None" not in one for one in said)


def test_what_is_said_is_what_is_written(demo: TeamBook) -> None:
    # The words beside each value are those of the trade (common practice).
    call = demo.pressures[0]
    told = {
        (one.change.key.split("].", 1)[1], one.change.after): change_sentence(Wording(), one.change.what)
        for one in steps(call, demo.front(call.front), demo.rules)
    }
    for (key, after), sentence in told.items():
        if key.endswith(".edge"):
            assert f" {after}" in sentence  # "boxes", "spills"
        elif key.endswith(".run") and after in ("force", "alley", "fold", "free", "cutback"):
            assert f": {after}, not" in sentence
        elif key.endswith(".pull_first"):
            assert ("hip" in sentence) == (after == "hip")
        elif key.startswith("align") and "not" in sentence:
            assert f" {after.rsplit(', ', 1)[1].split()[0]} yd, not" in sentence
        elif key.startswith("align") and "technique" in sentence:
            assert after.startswith("technique " + sentence.split()[-2])


def test_every_run_job_has_a_name() -> None:
    assert set(JOB_NAMES) == set(RunJob)


def test_runs_are_told_apart_by_play_and_by_their_side(demo: TeamBook) -> None:
    found = [s for s in situations(demo, call="Moraine") if s.called[1] is Side.LEFT]
    at = next(s for s in found if s.play_to is Side.LEFT)
    away = next(s for s in found if s.play is at.play and s.play_to is Side.RIGHT)
    change = steps(demo.pressures[0], demo.front(demo.pressures[0].front), demo.rules)[0].change
    won = tuple(WeightedSnap(s, weight) for s, weight in ((at, 2.0), (away, 1.5), (away, 1.5)))
    one = Mending((change,), demo.pressures[0], won, (), 5.0, 0.0, 60.0)
    [said] = say_mendings(
        Wording(),
        [
            one,
        ],
    )
    assert [(run.is_at_call, run.snaps) for run in said.won] == [(False, 3.0), (True, 2.0)]
    assert (said.lost, said.net, said.sound_after) == ((), 5.0, 65.0)
    assert replace(one, costs=2.0).net == 3.0
