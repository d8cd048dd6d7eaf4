"""A run with a pass attached where nobody is left for one of the two: no rule, and that is said."""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.football.defense import PlayerClass
from quizgen.football.errors import NoRule
from quizgen.football.pressure import RunJob
from quizgen.football.rules import AttachedRule, TeamRules
from quizgen.football.scheme import AttachedPass, Flow, ThrowZone
from quizgen.football.sides import Side
from tests.engine.snap import ONE_BACK
from tests.outside.field import ZONE, Defense

BUBBLE = replace(ZONE, attached=AttachedPass(ThrowZone.FLAT, Flow.PLAY_SIDE))
THROW = TeamRules(attached=AttachedRule.THROW)


def test_the_only_man_with_a_gap_cannot_leave_it_to_a_teammate() -> None:
    alone = Defense(THROW).fill("Sam", "tackle", "R", "R B")
    with pytest.raises(NoRule, match="nobody else has the run when Sam has the throw"):
        alone.against(ONE_BACK, BUBBLE, Side.RIGHT)
    beside = Defense(THROW).fill("Sam", "tackle", "R", "R B").down("end", "5", "R", "R edge")
    phases = {one.phase.value: one.position for one in beside.against(ONE_BACK, BUBBLE, Side.RIGHT).phases}
    assert phases == {"run": "end", "throw": "Sam"}


def test_the_only_man_in_support_cannot_leave_the_run_to_another() -> None:
    alone = Defense(THROW).support("alley", RunJob.ALLEY, "R", 4.0, 6.0, PlayerClass.SAFETY)
    with pytest.raises(NoRule, match="nobody else has the run when alley has the throw"):
        alone.against(ONE_BACK, BUBBLE, Side.RIGHT)
