"""Option rules that name the owners of phases, by call too, and how the man read plays.

source: design rules R8 to R10; the published rows behind them stand in tests/outside.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.engine.reasons import because
from quizgen.football.defense import PlayerClass
from quizgen.football.errors import NoRule
from quizgen.football.pressure import RunJob
from quizgen.football.rules import LINEMAN_IN_B, OptionRule, ReadPlay, TeamRules
from quizgen.football.scheme import Phase, ReadMan, Scheme
from quizgen.football.sides import Letter, Side
from tests.engine.test_team_rules import front
from tests.outside.field import Defense, formation, option

ONE_BACK = formation("GT", "GT", ("tailback", 0.0, 6.9))
DIVE, QB, PITCH = Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH


SPEED = option("table", ReadMan.PLAY_EDGE, QB, PITCH, aim=Letter.C)


def phases(defense: Defense, play: Scheme, to: Side = Side.RIGHT) -> dict[str, Phase]:
    return {owner.position: owner.phase for owner in defense.against(ONE_BACK, play, to).phases}


def supported(*owners: tuple[Phase, tuple[str, ...]]) -> Defense:
    """The front with force and alley on both sides and these owners named."""
    defense = front(TeamRules(options={"table": OptionRule(QB, DIVE, PITCH, owners)}))
    for side in ("L", "R"):
        defense.support(f"{side} force", RunJob.FORCE, side, 6.0, 5.0, PlayerClass.SAFETY)
        defense.support(f"{side} alley", RunJob.ALLEY, side, 3.0, 9.0, PlayerClass.SAFETY)
    return defense


@pytest.mark.parametrize(
    ("names", "pitch"),
    [
        ((), "R force"),
        (("alley",), "R alley"),
        (("alley", "force"), "R alley"),
        (("R force", "alley"), "R force"),
        (("L force", "R alley"), "R alley"),  # the first of them plays on the other side
        (("fold", "force"), "R force"),
    ],
)
def test_the_first_man_named_for_a_phase_who_can_have_it_does(names: tuple[str, ...], pitch: str) -> None:
    defense = supported((PITCH, names)) if names else supported()
    assert phases(defense, SPEED) == {"end": QB, pitch: PITCH}


@pytest.mark.parametrize(("x", "pitch"), [(0.5, "Middle"), (-0.5, "R force")])
def test_a_man_of_no_side_has_a_phase_on_the_side_where_he_stands(x: float, pitch: str) -> None:
    defense = supported((PITCH, ("free", "force")))
    defense.support("Middle", RunJob.FREE, "R", x, 12.0, PlayerClass.SAFETY)
    defense.drops[-1] = replace(defense.drops[-1], toward=None)
    assert phases(defense, SPEED) == {"end": QB, pitch: PITCH}


def test_where_nobody_named_can_have_a_phase_there_is_no_rule() -> None:
    with pytest.raises(NoRule, match="none of L force, fold can have the pitch"):
        supported((PITCH, ("L force", "fold"))).against(ONE_BACK, SPEED, Side.RIGHT)


def test_the_man_read_may_be_named_and_then_the_next_phase_is_another_mans() -> None:
    found = phases(supported((QB, ("R alley",)), (PITCH, ("read man",))), SPEED)
    assert found == {"R alley": QB, "end": PITCH}


def test_a_dive_that_a_named_man_has_leaves_the_read_man_the_next_phase() -> None:
    defense = front(TeamRules(options={"table": OptionRule(DIVE, QB, PITCH, ((DIVE, ("Mike",)),))}))
    assert phases(defense, option("table", ReadMan.BACK_EDGE, DIVE, QB)) == {"Mike": DIVE, "rush": QB}


@pytest.mark.parametrize("names", [("read man", "Mike"), ("rush", "Mike")])
def test_the_man_read_on_the_back_side_may_be_named_for_the_dive_wherever_he_is(names: tuple[str, ...]) -> None:
    defense = front(TeamRules(options={"table": OptionRule(QB, DIVE, PITCH, ((DIVE, names),))}))
    assert phases(defense, option("table", ReadMan.BACK_EDGE, DIVE, QB))["rush"] is DIVE


def test_a_man_named_for_the_dive_has_it_only_where_it_hits() -> None:
    # Aimed at right A; the Will has left A, the Mike right A.
    defense = Defense(TeamRules(options={"table": OptionRule(QB, DIVE, PITCH, ((DIVE, ("Will", "Mike")),))}))
    defense.down("rush", "5", "L", "L edge").fill("Will", "guard", "L", "L A").fill("Mike", "guard", "R", "R A")
    assert phases(defense, option("table", ReadMan.BACK_EDGE, DIVE, QB)) == {"rush": QB, "Mike": DIVE}


def test_a_calls_own_rule_for_an_option_goes_before_the_teams() -> None:
    team = {"table": OptionRule(DIVE, QB, PITCH), "table" + LINEMAN_IN_B: OptionRule(DIVE, QB, PITCH)}
    defense = front(TeamRules(options=team))
    play = option("table", ReadMan.BACK_EDGE, DIVE, QB)
    assert phases(defense, play, Side.LEFT)["end"] is DIVE  # a lineman has right B
    defense.call_options.append(("table", OptionRule(QB, DIVE, PITCH)))
    assert phases(defense, play, Side.LEFT)["end"] is QB
    defense.call_options.append(("table" + LINEMAN_IN_B, OptionRule(DIVE, QB, PITCH)))
    assert phases(defense, play, Side.LEFT)["end"] is DIVE
    assert phases(defense, play, Side.RIGHT)["rush"] is QB


@pytest.mark.parametrize(("plays", "said"), [(ReadPlay.FAST, False), (ReadPlay.SLOW, True)])
def test_a_read_man_who_plays_slow_stays_on_the_line(plays: ReadPlay, said: bool) -> None:
    answer = front(TeamRules(options={"table": OptionRule(QB, DIVE, PITCH, plays=plays)})).against(
        ONE_BACK, SPEED, Side.RIGHT
    )
    assert ("stay flat on the line" in because(answer, answer.fit("end"))) is said
