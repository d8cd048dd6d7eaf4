"""A sample of every kind has none of the faults that `tests.bench.diagram_faults` counts."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

import pytest

from quizgen.drawing.scene import Defender
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.kinds import KINDS
from tests.bench.diagram_faults import DEMO, faults_of, load_team_dir

OF_EACH_KIND = 4


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return Catalogue(load_team_dir(DEMO))


@pytest.mark.parametrize("kind", KINDS)
def test_a_sample_has_no_fault(catalogue: Catalogue, kind: str) -> None:
    reps = list(islice(catalogue.reps(kinds=[kind], seed="drawn"), OF_EACH_KIND))
    assert len(reps) == OF_EACH_KIND
    assert {f"{rep.id[:8]}: {fault}" for rep in reps for fault in faults_of(rep)} == set()


def test_men_on_one_spot_who_cannot_go_apart_are_found(catalogue: Catalogue) -> None:
    rep = next(catalogue.reps(kinds=["pull-read"]))
    crowd = tuple(Defender(f"e{number}", 0.0, -4.5, "X") for number in range(30))
    scene = replace(rep.scene, defenders=(*rep.scene.defenders, *crowd))
    assert "question: two of ours under 18 apart" in set(faults_of(replace(rep, scene=scene)))


def test_a_picture_without_a_ball_is_found(catalogue: Catalogue) -> None:
    rep = next(catalogue.reps(kinds=["track"]))
    assert "question: no ball" in set(faults_of(replace(rep, scene=replace(rep.scene, ball=None))))
