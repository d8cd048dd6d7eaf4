"""The rep `adjust`: the side of a call and what it becomes, worked out here from where their men stand.

The rules of the demo's calls are written in its own TOML: Kame goes to the only tight end, and checks to Arete
against a wing or an unbalanced line; Cirque checks to Kettle there. Where a tight end or a back stands is read off
the formation.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.content import load_team
from quizgen.drawing.svg import draw
from quizgen.football.formation import Formation, Role
from quizgen.football.pressure import GoesTo
from quizgen.football.sides import Side
from quizgen.football.team import TeamBook
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.rep import LESSON_MAX, Rep
from server.commands.demo import demo_files
from server.i18n.languages import language


def asked(team: TeamBook, call: str, position: str = "Mike") -> list[Rep]:
    return list(Catalogue(team).reps(kinds=["adjust"], calls=[call], positions=[position]))


def right(rep: Rep) -> list[str]:
    """The key that is right in each part."""
    return [
        key for part in rep.parts for key in [next(choice.key for choice in part.choices if part.right == {choice.id})]
    ]


def sent(rep: Rep) -> tuple[object, ...]:
    """All that is sent before the answer."""
    parts = tuple((part.prompt, tuple((choice.id, choice.label) for choice in part.choices)) for part in rep.parts)
    return rep.stem, parts, draw(rep.scene)


def ends(formation: Formation) -> list[Side | None]:
    return [player.side for player in formation.players if player.role is Role.END and player.attached]


def test_a_call_to_the_tight_end_goes_where_he_stands(demo: Catalogue) -> None:
    reps = asked(demo.team, "Kame")
    assert len(reps) >= 8
    for rep in reps:
        [side] = ends(demo.team.formation(rep.formation))
        assert right(rep)[0] == f"side:{side.value if side else None}"


@pytest.mark.parametrize(("call", "other"), [("Kame", "arete"), ("Cirque", "kettle")])
def test_a_wing_checks_the_call(demo: Catalogue, call: str, other: str) -> None:
    found = set()
    for rep in asked(demo.team, call):
        players = demo.team.formation(rep.formation).players
        has_wing = any(player.role is Role.WING for player in players)
        found.add(has_wing)
        if has_wing:
            assert right(rep)[1] == f"say:{other}"
    assert found == {True, False}


def test_what_is_sent_is_the_same_whichever_side_is_right(demo: Catalogue) -> None:
    turned = tuple(
        replace(call, goes_to=(GoesTo.AWAY_FROM_BACK,)) if call.name == "Serac" else call
        for call in demo.team.pressures
    )
    assert turned != demo.team.pressures
    first = {rep.formation: rep for rep in asked(demo.team, "Serac")}
    second = {rep.formation: rep for rep in asked(replace(demo.team, pressures=turned), "Serac")}
    assert len(first) >= 4
    assert first.keys() == second.keys()
    for formation, rep in first.items():
        assert {right(rep)[0], right(second[formation])[0]} == {"side:left", "side:right"}
        assert sent(rep) == sent(second[formation])


@pytest.mark.parametrize("code", ["en", "es"])
def test_nothing_sent_tells_where_ours_stand_or_names_the_side(demo: Catalogue, code: str) -> None:
    spoken = demo.said_by(language(code).translate_template)
    reps = list(spoken.reps(kinds=["adjust"], positions=["Will"]))
    assert {rep.call for rep in reps} == {"Cirque", "Kame", "Serac", "Varve"}
    for rep in reps:
        assert rep.scene.defenders == ()
        assert spoken.wording.call(rep.call, rep.to) not in f"{sent(rep)[0]}{sent(rep)[2]}"
        formation = demo.team.formation(rep.formation)
        shown = {(man.x, man.y) for man in rep.scene.blockers}
        assert {(player.x, player.y) for player in formation.players} == shown


def test_one_decision_does_not_help_with_the_other(demo: Catalogue) -> None:
    both: dict[tuple[str, str], set[str]] = {}
    for rep in asked(demo.team, "Cirque"):
        side, say = right(rep)
        both.setdefault((rep.call, say), set()).add(side)
    assert all(sides == {"side:left", "side:right"} for sides in both.values())
    assert {say for _, say in both} == {"say:stays", "say:changes", "say:kettle"}


def test_a_call_that_goes_as_called_or_by_the_ball_is_not_asked(demo: Catalogue) -> None:
    for call in demo.team.pressures:
        if not call.goes_to or call.goes_to[0] in (GoesTo.AS_CALLED, GoesTo.FIELD, GoesTo.BOUNDARY):
            assert asked(demo.team, call.name) == []


def test_every_lesson_is_short(demo: Catalogue) -> None:
    for rep in demo.reps(kinds=["adjust"], positions=["Mike"]):
        first, second = rep.parts
        for one in first.choices:
            assert all(len(rep.explain([one.id, other.id])) <= LESSON_MAX for other in second.choices)


def test_who_cannot_see_the_picture_hears_what_the_rule_goes_by() -> None:
    team = load_team(demo_files())
    found = {rep.keys.formation: rep for rep in Catalogue(team).reps(kinds=["adjust"], positions=["Mike"])}
    assert found
    for key, rep in found.items():
        formation = next(one for one in team.formations if one.key == key)
        split = [one for one in formation.players if one.role.value == "receiver" and one not in formation.surface]
        left, right = sum(one.x < 0 for one in split), sum(one.x > 0 for one in split)
        assert f"Split out: {left} to your left, {right} to your right." in rep.scene.description
        off = [one for one in formation.players if one.role.value == "tailback" and abs(one.x) > 0.5]
        for back in off:
            assert f"the tailback to your {'left' if back.x < 0 else 'right'}" in rep.scene.description
