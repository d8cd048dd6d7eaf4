"""A sample of every kind of rep as a phone shows it; `python -m tests.bench.every_rep` looks at all of them."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

import pytest

from quizgen.drawing.boxes import Box
from quizgen.drawing.picture import compose
from quizgen.drawing.scene import Defender
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.kinds import KINDS
from quizgen.reps.rep import Rep
from tests.bench.every_rep import faults_of, faults_of_picture

REPS_A_KIND = 25


@pytest.fixture(scope="module")
def chosen(demo: Catalogue) -> dict[str, list[Rep]]:
    """Reps of each kind, as unlike as can be: always the same ones."""
    return {kind: list(islice(demo.reps(kinds=[kind]), REPS_A_KIND)) for kind in KINDS}


@pytest.mark.slow
def test_no_rep_has_a_fault(chosen: dict[str, list[Rep]]) -> None:
    assert [kind for kind, reps in chosen.items() if len(reps) < REPS_A_KIND] == ["order"]  # it has 16 in all
    faults = {
        f"{rep.id} ({kind}): {fault}" for kind, reps in chosen.items() for rep in reps for fault in faults_of(rep)
    }
    assert faults == set()


def test_long_words_are_found(chosen: dict[str, list[Rep]]) -> None:
    rep = replace(chosen["track"][0], stem="Which gap is yours? " * 8, because="One. Two. Three.")
    assert {"stem too long", "reason not one or two sentences"} <= set(faults_of(rep))


def test_an_answer_in_the_question_is_found(chosen: dict[str, list[Rep]]) -> None:
    rep = chosen["moved-gap"][0]
    shows_it = replace(rep, scene=replace(rep.moved, taps=()))
    assert "question: the answer is in the bytes" in set(faults_of(shows_it))
    says_it = replace(rep, scene=replace(rep.scene, description=f"{rep.scene.description} {rep.because}"))
    assert "question: the answer is in the bytes" in set(faults_of(says_it))


def test_a_question_too_large_for_a_phone_with_bad_signal_is_found(chosen: dict[str, list[Rep]]) -> None:
    rep = chosen["track"][0]
    wordy = replace(rep, scene=replace(rep.scene, description="The line is up. " * 800))
    assert set(faults_of(wordy)) == {"question: more than 12 kB"}


def test_a_player_who_does_not_see_himself_is_found(chosen: dict[str, list[Rep]]) -> None:
    rep = chosen["track"][0]
    nobody = tuple(replace(man, is_own=False) for man in rep.scene.defenders)
    assert set(faults_of(replace(rep, scene=replace(rep.scene, defenders=nobody)))) == {
        "question: his own man is not drawn"
    }


def test_a_man_hidden_by_his_own_is_found(chosen: dict[str, list[Rep]]) -> None:
    rep = chosen["track"][0]
    own = rep.scene.find_own()
    assert own is not None
    crowd = tuple(Defender(f"e{number}", own.x, own.y, "X") for number in range(40))  # too many to stand apart
    hidden = replace(rep, scene=replace(rep.scene, defenders=(*rep.scene.defenders, *crowd)))
    assert "question: his own man hides another" in set(faults_of(hidden))


def test_targets_too_small_too_close_or_out_of_the_view_are_found(chosen: dict[str, list[Rep]]) -> None:
    picture = compose(chosen["track"][0].scene)
    one, *others = picture.cells

    def with_first(hit: Box) -> set[str]:
        return set(faults_of_picture(replace(picture, cells=(replace(one, hit=hit), *others))))

    assert set(faults_of_picture(picture)) == set()
    assert with_first(Box(one.hit.x, one.hit.y, 43.0, 48.0)) == {"target under 44 px"}
    assert with_first(others[0].hit) == {"targets overlap"}
    assert with_first(one.hit.moved(-30.0, 0.0)) == {"target beside the view"}
    assert with_first(one.hit.moved(0.0, picture.height)) == {"target above or below the view"}
    assert set(faults_of_picture(replace(picture, cells=tuple(others)))) == {"a tap is not drawn"}


def test_words_on_words_on_men_and_out_of_the_view_are_found(chosen: dict[str, list[Rep]]) -> None:
    picture = compose(replace(chosen["track"][0].moved, over=None))  # a coach's picture, which names the lanes
    word = picture.labels[0]
    x, y = picture.men[0].box().x, picture.men[0].box().y
    twice = replace(picture, labels=(*picture.labels, word))
    on_a_man = replace(picture, labels=(replace(word, path=((0.0, x, y),), from_s=0.0),))
    beside = replace(picture, labels=(replace(word, path=((0.0, -40.0, y),), from_s=0.0),))
    assert set(faults_of_picture(picture)) == set()
    assert set(faults_of_picture(twice)) == {"labels overlap"}
    assert set(faults_of_picture(on_a_man)) == {"label on a man"}
    assert set(faults_of_picture(beside)) == {"label beside the view"}
