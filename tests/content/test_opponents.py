"""opponents.toml and accepted.toml: read, written back, and one clear message for each mistake."""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.content import load_team
from quizgen.content.dump import dump_team
from quizgen.football.errors import ContentProblems
from quizgen.football.opponent import AcceptedLack, ChartedOpponent, OpponentRun
from quizgen.football.sides import Side
from quizgen.football.team import TeamBook

FOE = '[[opponent]]\nname = "Oakdale"\n'
RUN = 'run = [{ play = "Power", formation = "Wing right", to = "left", count = 3 }]\n'
LACK = '[[accepted]]\ncall = "Moraine"\nplay = "Power"\nwhy = "we live with it"\n'

MISTAKES = [
    ("opponents.toml", FOE + RUN.replace("count = 3", "count = 0"), "opponent[1].run[1].count", "a number above 0"),
    ("opponents.toml", FOE + RUN.replace("count = 3", "count = nan"), "opponent[1].run[1].count", "a number above 0"),
    ("opponents.toml", FOE + RUN.replace('"left"', '"strong"'), "opponent[1].run[1].to", "one of left, right"),
    ("opponents.toml", FOE + RUN.replace("count = 3", "number = 3"), "opponent[1].run[1].count", "above 0"),
    ("opponents.toml", FOE + FOE, "opponent[2].name", "a name of its own"),
    ("opponents.toml", FOE + FOE.replace("Oakdale", "Oakdale!"), "opponent[2].key", "a key of its own"),
    ("opponents.toml", f"{FOE}next = true\n{FOE}key = 'b'\nnext = true\n", "opponent[2].next", "one next opponent"),
    ("accepted.toml", LACK.replace("Moraine", "Morain"), "accepted[1].call", "nearest is 'Moraine'"),
    ("accepted.toml", LACK.replace("Power", "Powr"), "accepted[1].play", "nearest is 'Power'"),
    ("accepted.toml", LACK.replace("we live with it", ""), "accepted[1].why", "why the staff lives with it"),
    ("accepted.toml", f'{LACK}lack = "12"\n', "accepted[1].lack", "12 of 0-9 and a-f"),
    ("accepted.toml", f'{LACK}formation = "Trips"\n', "accepted[1].formation", "one of Open I right"),
]


@pytest.mark.parametrize(("name", "text", "key", "expected"), MISTAKES)
def test_a_mistake_gets_a_message(demo_files: dict[str, str], name: str, text: str, key: str, expected: str) -> None:
    with pytest.raises(ContentProblems) as caught:
        load_team({**demo_files, name: text})
    found = [problem for problem in caught.value.problems if (problem.file, problem.key) == (name, key)]
    assert found, [str(problem) for problem in caught.value.problems]
    assert expected in str(found[0])


def test_what_was_counted_and_accepted_comes_back_the_same(demo: TeamBook) -> None:
    runs = (OpponentRun("Power", 3, "Wing left", Side.LEFT), OpponentRun("Jet sweep", 2.5))
    foes = (ChartedOpponent("Oakdale", runs), ChartedOpponent("Old name", (), is_next=True, key="first-name"))
    lacks = (
        AcceptedLack("Moraine", "we live with it"),
        AcceptedLack("Esker", "so it is", Side.LEFT, "", "Power", Side.RIGHT, "0123456789ab"),
    )
    team = replace(demo, opponents=foes, accepted=lacks)
    assert load_team(dump_team(team)) == team
