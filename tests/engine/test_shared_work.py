"""What situations share changes no answer: whatever was solved before, and in whatever order."""

from dataclasses import replace
from itertools import product
from random import Random

import pytest

from quizgen.content import load_team_dir
from quizgen.engine.report import check_situations, fit_report, situations
from quizgen.engine.shared_work import SharedWork
from quizgen.engine.verdict import solve
from quizgen.football.errors import CannotRun, NoRule
from quizgen.football.sides import Side
from quizgen.football.team import Situation
from server.commands.football import demo_team_dir
from tests.engine.generate import random_situations
from tests.engine.plays import PLAYS
from tests.engine.snap import ONE_BACK, TWO_BACKS, play, situation, six
from tests.harness.seed import run_seed

SEED = run_seed()
ZONE, KICK = play("zone: line"), play("base: line", "kick: fullback")


def report(s: Situation, shared: SharedWork | None = None) -> object:
    """Everything that is said about a situation, or why nothing is."""
    try:
        return fit_report(solve(s, shared))
    except NoRule as error:
        return type(error), str(error)


def test_snaps_of_the_demo_in_any_order() -> None:
    shared = SharedWork()
    wanted = Random(SEED).sample(list(situations(load_team_dir(demo_team_dir()))), 600)
    for s in wanted:
        assert report(s, shared) == report(s), f"seed {SEED}: {s}"


def test_every_offense_against_every_defense() -> None:
    drawn = list(random_situations(SEED, 6))
    shared = SharedWork()
    for number, (defense, offense, to) in enumerate(product(drawn, drawn, Side)):
        play = PLAYS[(SEED + number) % len(PLAYS)]
        s = replace(defense, formation=offense.formation, play=play, play_to=to)
        for rules in (s.rules, s.rules.all_stay):
            one = replace(s, rules=rules)
            assert report(one, shared) == report(one), f"seed {SEED}: {one}"


def test_what_a_formation_lacks_is_said_of_each_call() -> None:
    shared = SharedWork()
    s = situation(six(), ONE_BACK, KICK, Side.RIGHT)
    for name in ("first", "second"):
        with pytest.raises(CannotRun) as caught:
            solve(replace(s, pressure=replace(s.pressure, name=name)), shared)
        assert str(caught.value).startswith(f"no rule for call '{name}' from front")
        assert "has no" in str(caught.value)


def test_answers_of_a_table_are_each_for_their_own_situation() -> None:
    wanted = [situation(six(), formation, ZONE, to) for formation in (ONE_BACK, TWO_BACKS) for to in Side]
    assert [answer.situation for answer in check_situations(wanted)] == wanted
