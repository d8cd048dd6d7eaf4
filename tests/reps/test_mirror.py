"""Turned round, a snap gives the same reps turned round: words, choices, right answers, pictures.

The demo flips most positions with the call; where two positions trade jobs instead (the corners) the mirrored rep is
the other one's. Shortened: see tests/harness/long_form.py.
"""

from __future__ import annotations

import re
from itertools import islice

import pytest

from quizgen.drawing.scene import Scene
from quizgen.football.sides import Side
from quizgen.football.team import TeamBook
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.rep import Rep
from tests.harness.long_form import length
from tests.reps.conftest import SAMPLE_EVERY, reps_of

SIDE_WORDS = {"left": "right", "right": "left", "Left": "Right", "Right": "Left"}


def turned_words(text: str) -> list[str]:
    """A text's words with left and right swapped, in no order: lists in a sentence run from left to right."""
    swapped = re.sub(r"\b(left|right|Left|Right)\b", lambda word: SIDE_WORDS[word.group()], text)
    return sorted(re.findall(r"[\w']+", swapped.lower()))


def words(text: str) -> list[str]:
    return sorted(re.findall(r"[\w']+", text.lower()))


def choices_of(rep: Rep, *, turned: bool) -> list[list[tuple[object, ...]]]:
    read = turned_words if turned else words
    return [
        sorted(
            (tuple(read(choice.label)), choice.id in part.right, choice.relation, tuple(read(choice.leaves)))
            for choice in part.choices
        )
        for part in rep.parts
    ]


def picture_of(scene: Scene) -> tuple[object, ...]:
    def near(x: float) -> float:
        return round(x, 6) + 0.0

    men = sorted((near(man.x), near(man.y)) for man in scene.men)
    own = scene.find_own()
    tracks = sorted(
        (tuple((near(p.x), near(p.y)) for p in track.points), track.tone.value, track.end.value, track.phase.value)
        for track in scene.tracks
    )
    spans = sorted(
        (*(near(x) for x in scene.span_x(band.span, scene.end_s) if x is not None), band.state.value)
        for band in scene.bands
        if None not in scene.span_x(band.span, scene.end_s)
    )
    ends = sorted((near(m.keys[-1].x), near(m.keys[-1].y), near(m.keys[-1].t_s)) for m in scene.motions)
    return men, own and (near(own.x), near(own.y)), tracks, spans, ends, sorted(mark.kind.value for mark in scene.marks)


def check_pair(first: Rep, second: Rep) -> None:
    assert (first.stage, first.call, first.play) == (second.stage, second.call, second.play)
    assert turned_words(first.stem) == words(second.stem)
    assert turned_words(first.because) == words(second.because)
    assert choices_of(first, turned=True) == choices_of(second, turned=False)
    assert picture_of(first.scene.mirrored()) == picture_of(second.scene)
    assert picture_of(first.moved.mirrored()) == picture_of(second.moved)


def key(rep: Rep, formation: str, to: Side, play_to: Side | None) -> tuple[object, ...]:
    return rep.kind, rep.position, rep.call, to, formation, rep.play, play_to


def turned_key(rep: Rep, twins: dict[str, str]) -> tuple[object, ...]:
    play_to = rep.play_to.other if rep.play_to else None
    return key(rep, twins[rep.formation], rep.to.other, play_to)


def test_the_small_team_turned_round(small: TeamBook) -> None:
    twins = {"Even": "Even twin", "Even twin": "Even", "Tight right": "Tight left", "Tight left": "Tight right"}
    reps = {key(rep, rep.formation, rep.to, rep.play_to): rep for rep in Catalogue(small).reps(calls=["Hammer"])}
    assert len(reps) > 1000
    for rep in islice((rep for rep in reps.values() if rep.to is Side.LEFT), 0, None, length(3, 1)):
        check_pair(rep, reps[turned_key(rep, twins)])
    assert {turned_key(rep, twins) for rep in reps.values()} == reps.keys()


def test_the_demo_turned_round(demo: Catalogue) -> None:
    twins = {f.name: f.mirror_name for f in demo.team.snap_formations if f.mirror_name}
    mirrors = {p.name for p in demo.team.positions if p.mirrors}
    by_place = {
        (s.pressure.name, s.to, s.formation.name, s.play.name if s.play else None, s.play_to): s
        for s in demo.setups.values()
    }
    some = sorted(demo.setups.values(), key=lambda setup: setup.digest)[:: SAMPLE_EVERY * length(2, 1)]
    pairs = 0
    for setup in some:
        if setup.formation.name not in twins:
            continue
        play_to = setup.play_to.other if setup.play_to else None
        play = setup.play.name if setup.play else None
        turned = by_place[setup.pressure.name, setup.to.other, twins[setup.formation.name], play, play_to]
        second = {(rep.kind, rep.position): rep for rep in reps_of(demo, [turned])}
        for rep in reps_of(demo, [setup]):
            named = " ".join([rep.because, *(c.label + c.leaves for part in rep.parts for c in part.choices)])
            if rep.position in mirrors or any(name in named for name in mirrors):
                continue
            check_pair(rep, second[rep.kind, rep.position])
            pairs += 1
    assert pairs > length(150, 300)


@pytest.mark.parametrize("text", ["Left B is open, right A is not."])
def test_turning_words(text: str) -> None:
    assert turned_words(text) == words("Right B is open, left A is not.")
