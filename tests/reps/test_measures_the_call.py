"""Whether a rep measures the call: what its words and choices give away, and whether the snap has one answer for him.

The rules are the design's (a stem names no gap that the call decides; one man, one snap, one answer; no rep about a
duty that nobody has, two have or a late man has); what counts as a gap, a phase or a puller is the trade's.
"""

from __future__ import annotations

from collections import defaultdict

import pytest

from quizgen.football.formation import Role
from quizgen.football.scheme import Scheme
from quizgen.reps.catalogue import Catalogue, make
from quizgen.reps.ids import Setup
from quizgen.reps.kinds import KINDS
from quizgen.reps.mixing import mixed
from quizgen.reps.pull_read import pullers
from quizgen.reps.rep import LESSON_MAX, Rep
from quizgen.reps.snap import PassSnap, Snap

SETUPS = 300
OWN_LANE = ("track", "moved-gap", "pull-read", "edge", "support")


@pytest.fixture(scope="module")
def asked(demo: Catalogue) -> list[tuple[Setup, Snap | PassSnap, list[Rep]]]:
    """Setups of the demo, as unlike as can be, with all their reps."""
    found = []
    for setup in mixed(demo.setups.values(), "measures")[:SETUPS]:
        snap = demo.find_listed(setup)
        if snap is not None:
            reps = [make(kind, setup, snap, position) for kind, position in demo.asked(setup)]
            found.append((setup, snap, reps))
    return found


def right_keys(rep: Rep) -> set[str]:
    return {choice.key for part in rep.parts for choice in part.choices if choice.id in part.right}


def test_no_stem_names_a_gap(asked: list[tuple[Setup, Snap | PassSnap, list[Rep]]], demo: Catalogue) -> None:
    seen = set()
    for setup, _, reps in asked:
        gaps = {demo.wording.gap(gap) for gap in setup.formation.gaps} | set(demo.team.words.gaps.values())
        for rep in reps:
            assert not any(gap in rep.stem for gap in gaps), rep.stem
            assert "rush" not in rep.stem or rep.kind == "track"
            seen.add(rep.kind)
    assert seen >= set(KINDS) - {"order"}


def test_every_stem_names_the_call_and_its_side(asked: list[tuple[Setup, Snap | PassSnap, list[Rep]]]) -> None:
    for _, _, reps in asked:
        named = {rep: f"{rep.call}. " if rep.kind == "adjust" else f"{rep.call} {rep.to.value}. " for rep in reps}
        assert all(rep.stem.startswith(head) for rep, head in named.items())


def test_one_man_one_snap_one_answer(asked: list[tuple[Setup, Snap | PassSnap, list[Rep]]]) -> None:
    pairs = 0
    for _, _, reps in asked:
        lanes: dict[str, list[set[str]]] = defaultdict(list)
        for rep in reps:
            keys = right_keys(rep)
            if rep.kind in OWN_LANE and all(key.startswith("lane:") for key in keys):
                lanes[rep.position].append(keys)
        for found in lanes.values():
            pairs += len(found) - 1
            assert all(keys == found[0] for keys in found)
    assert pairs > 20


def test_a_duty_is_one_mans_and_in_time(asked: list[tuple[Setup, Snap | PassSnap, list[Rep]]]) -> None:
    checked = 0
    for _, snap, reps in asked:
        for rep in reps:
            if rep.kind not in (*OWN_LANE, "hooked") or isinstance(snap, PassSnap):
                continue
            fit = snap.answer.fit(rep.position)
            if fit.owns:
                for index in fit.lanes:
                    assert [one.man.position for one in snap.answer.owners(index)] == [rep.position]
                    assert index not in snap.answer.late
                checked += 1
            elif "when:last" in right_keys(rep):
                assert snap.answer.open == ()
                checked += 1
    assert checked > 500


def test_which_gap_he_left_is_his_by_the_fits(asked: list[tuple[Setup, Snap | PassSnap, list[Rep]]]) -> None:
    left = 0
    for _, snap, reps in asked:
        for rep in (one for one in reps if one.kind == "open-gap"):
            assert isinstance(snap, Snap)
            men = {f"lane:{snap.answer.lanes[i].name}": snap.answer.owners(i) for i in range(len(snap.answer.lanes))}
            owners = {fit.man.position for key in right_keys(rep) for fit in men[key]}
            (loser,) = owners
            assert loser != rep.position
            assert loser in rep.stem
            left += 1
    assert left > 100


def test_option_choices_are_the_phases_of_the_play(asked: list[tuple[Setup, Snap | PassSnap, list[Rep]]]) -> None:
    seen = 0
    for setup, snap, reps in asked:
        for rep in (one for one in reps if one.kind == "option-man"):
            assert isinstance(snap, Snap)
            assert isinstance(setup.play, Scheme)
            keys = {choice.key.removeprefix("phase:") for choice in rep.parts[0].choices}
            assert keys == {owner.phase.value for owner in snap.answer.phases}
            seen += 1
    assert seen > 10


def test_who_pulls_is_of_the_line_and_does_pull(asked: list[tuple[Setup, Snap | PassSnap, list[Rep]]]) -> None:
    seen = 0
    for _, snap, reps in asked:
        for rep in (one for one in reps if one.kind == "pull-read"):
            assert isinstance(snap, Snap)
            assert all(m.rule.pulls and m.player.attached for m in pullers(snap))
            sentence = next(part for part in rep.stem.split(". ") if " pull" in part)
            assert not any(role.value in sentence for role in (Role.FULLBACK, Role.TAILBACK, Role.SLOTBACK))
            seen += 1
    assert seen > 50


def test_count_has_the_same_five_numbers(asked: list[tuple[Setup, Snap | PassSnap, list[Rep]]]) -> None:
    numbers = {
        tuple(choice.label for choice in part.choices)
        for _, _, reps in asked
        for rep in reps
        if rep.kind == "count"
        for part in rep.parts
    }
    assert numbers == {("2", "3", "4", "5", "6")}


def test_edge_asks_for_a_side_of_one_block(asked: list[tuple[Setup, Snap | PassSnap, list[Rep]]]) -> None:
    labels = [[c.label for c in rep.parts[0].choices] for _, _, reps in asked for rep in reps if rep.kind == "edge"]
    assert labels
    for one, two in labels:
        words = {one.split(" the ")[0], two.split(" the ")[0]}
        assert words == {"Inside", "Outside"}
        assert one.split(" the ")[1] == two.split(" the ")[1]


def test_each_cross_is_asked_once(demo: Catalogue) -> None:
    asked = [(rep.position, rep.call, rep.to) for rep in demo.reps(kinds=["order"])]
    assert len(asked) == len(set(asked))
    assert len(asked) == 16  # Moraine, Cirque, Scree and Serac have a cross each in the content: two men, two sides


def test_a_corner_is_asked_more_than_whether_he_is_pass_first(demo: Catalogue) -> None:
    rights = {
        frozenset(right_keys(rep))
        for _, rep in zip(range(400), demo.reps(positions=["Left corner"], kinds=["support"]), strict=False)
    }
    assert len(rights) >= 5


def test_reasons_are_one_lesson(asked: list[tuple[Setup, Snap | PassSnap, list[Rep]]]) -> None:
    reps = [rep for _, _, reps in asked for rep in reps]
    assert max(len(rep.because) for rep in reps) <= LESSON_MAX
    longest = [max(len(rep.explain(answer)) for answer in wrong_answers(rep)) for rep in reps]
    assert sum(length > LESSON_MAX for length in longest) < 0.05 * len(reps)


def wrong_answers(rep: Rep) -> list[list[str]]:
    rights = [min(part.right) for part in rep.parts]
    return [
        [*rights[:number], choice.id, *rights[number + 1 :]]
        for number, part in enumerate(rep.parts)
        for choice in part.choices
        if choice.id not in part.right
    ]


def test_a_tracks_reason_says_where_that_is_in_this_formation(demo: Catalogue) -> None:
    for _, rep in zip(range(60), demo.reps(kinds=["track"]), strict=False):
        assert "in this formation" in rep.because
