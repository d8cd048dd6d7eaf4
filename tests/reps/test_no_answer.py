"""What is sent before a player answers does not give the answer away.

The strongest check there is: two situations that look the same and differ only in the team's rules have different right
answers, and what is sent before the answer is the same to the byte.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace

import pytest

from quizgen.drawing.scene import BandState, MarkKind, OnHalf, OnMan, Tone
from quizgen.drawing.svg import draw
from quizgen.football.rules import EdgeRule, LeadRule, OptionRule, TeamRules
from quizgen.football.scheme import Phase
from quizgen.football.sides import Side
from quizgen.football.team import TeamBook
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.rep import Rep
from tests.reps.small_team import small_team

SWITCHED = OptionRule(Phase.QUARTERBACK, Phase.DIVE, Phase.PITCH)
# Each row: kind, play, position, and the rule whose change changes the right answer but nothing that can be seen.
ONLY_THE_RULE_DIFFERS = [
    ("pull-read", "Power", "Rush", replace(TeamRules(), edge=EdgeRule.SPILL)),
    ("edge", "Power", "Rush", replace(TeamRules(), edge=EdgeRule.SPILL)),
    ("edge", "Guard kick", "End", replace(TeamRules(), edge=EdgeRule.SPILL)),
    ("edge", "Lead", "Mike", replace(TeamRules(), lead=LeadRule.OUTSIDE)),
    ("option-man", "Veer", "End", replace(TeamRules(), options={"veer": SWITCHED, "zone read": SWITCHED})),
    ("option-man", "Zone read", "Rush", replace(TeamRules(), options={"veer": SWITCHED, "zone read": SWITCHED})),
]


def sent_before(rep: Rep) -> tuple[object, ...]:
    """Everything of a rep that reaches the phone before the answer."""
    parts = tuple((part.prompt, tuple((choice.id, choice.label) for choice in part.choices)) for part in rep.parts)
    return rep.stem, parts, draw(rep.scene)


def where(rep: Rep) -> tuple[object, ...]:
    return rep.call, rep.to, rep.formation, rep.play_to


@pytest.mark.parametrize(("kind", "play", "position", "rules"), ONLY_THE_RULE_DIFFERS)
def test_the_same_bytes_whichever_choice_is_right(kind: str, play: str, position: str, rules: TeamRules) -> None:
    def asked(of: TeamRules) -> dict[tuple[object, ...], Rep]:
        reps = Catalogue(small_team(of)).reps(kinds=[kind], schemes=[play], positions=[position])
        return {where(rep): rep for rep in reps}

    first, second = asked(TeamRules()), asked(rules)
    differ = [key for key in first.keys() & second.keys() if right(first[key]) != right(second[key])]
    assert differ
    for key in differ:
        assert sent_before(first[key]) == sent_before(second[key])
        assert first[key].id != second[key].id


def right(rep: Rep) -> list[frozenset[str]]:
    return [part.right for part in rep.parts]


def test_nothing_is_marked_in_a_question(sample: list[Rep], small: TeamBook) -> None:
    for rep in [*sample, *Catalogue(small).reps(positions=["Will", "End", "Sam"], sides=[Side.LEFT])]:
        scene = rep.scene
        assert scene.bands == ()
        assert scene.notes == ()
        assert scene.marks == ()
        assert scene.motions == ()
        assert {track.tone for track in scene.tracks} <= {Tone.NEUTRAL}
        assert not any(track.is_own for track in scene.tracks)
        assert [track.order for track in scene.tracks if track.order is not None] == []


def test_no_defender_has_a_track_before_the_answer(sample: list[Rep]) -> None:
    for rep in sample:
        starts = {(track.points[0].x, track.points[0].y) for track in rep.scene.tracks}
        assert not starts & {(man.x, man.y) for man in rep.scene.defenders}


def test_the_reason_and_the_leavings_are_not_in_the_bytes(sample: list[Rep]) -> None:
    for rep in sample[::29]:
        text = draw(rep.scene)
        assert rep.because not in text
        for part in rep.parts:
            for choice in part.choices:
                assert not choice.leaves or choice.leaves not in text


def test_ids_run_from_left_to_right_and_tell_nothing(sample: list[Rep]) -> None:
    for rep in sample:
        ids = [choice.id for part in rep.parts for choice in part.choices]
        assert ids == [chr(ord("a") + number) for number in range(len(ids))]
    # Over the sample every place is right somewhere: no place stands for "right".
    rights = {(rep.kind, min(part.right)) for rep in sample for part in rep.parts if rep.kind == "pull-read"}
    assert len(rights) >= 5


def test_taps_are_the_choices_and_are_drawn(sample: list[Rep]) -> None:
    for rep in sample[::13]:
        if not rep.scene.taps:
            continue
        choices = {choice.id: choice.label for part in rep.parts for choice in part.choices}
        assert {tap.id: tap.label for tap in rep.scene.taps}.items() <= choices.items()
        drawn = set(re.findall(r'data-choice="([a-z])"', draw(rep.scene)))
        assert drawn == {tap.id for tap in rep.scene.taps}


def test_moved_gaps_are_not_named_before_the_answer(sample: list[Rep]) -> None:
    for rep in sample:
        if rep.kind in ("moved-gap", "pull-read", "edge", "open-gap"):
            labels = [choice.label for part in rep.parts for choice in part.choices]
            assert all(label.startswith(("Between ", "Outside ", "Inside ")) for label in labels)


def test_a_man_taken_by_mistake_is_marked_and_never_one_who_is_right(sample: list[Rep]) -> None:
    marked = set()
    for rep in sample:
        targets = {tap.id: tap.target for tap in rep.scene.taps}
        right = {targets[one] for part in rep.parts for one in part.right if one in targets}
        for number, part in enumerate(rep.parts):
            for choice in part.choices:
                answer = [min(other.right) for other in rep.parts]
                answer[number] = choice.id
                target = targets.get(choice.id)
                if choice.id in part.right or choice.band or not isinstance(target, OnMan | OnHalf):
                    continue
                after = rep.after(answer)
                missed = [(mark.of, mark.half) for mark in after.marks if mark.kind is MarkKind.MISSED]
                half = target.half if isinstance(target, OnHalf) else None
                assert missed == ([(target.of, half)] if target not in right else [])
                assert not any(mark.kind is MarkKind.MISSED for mark in rep.moved.marks)
                marked.add(rep.kind)
    assert marked >= {"behind-you", "matchup", "hooked", "half-man"}


def free_after(rep: Rep, choice_id: str) -> set[str]:
    return {mark.of for mark in rep.after([choice_id]).marks if mark.kind is MarkKind.FREE}


def test_who_leaves_his_man_of_the_option_sees_whom_nobody_has(sample: list[Rep]) -> None:
    left = set()
    for rep in sample:
        if rep.kind != "option-man":
            continue
        part, own = rep.parts[0], rep.moved.find_own()
        assert own is not None
        right = next(choice for choice in part.choices if choice.id in part.right)
        assert [(note.text, note.at, note.tone) for note in rep.moved.notes] == [(right.label, own.id, Tone.RIGHT)]
        for choice in part.choices:
            if choice is right:
                continue
            notes = rep.after([choice.id]).notes
            assert [(note.text, note.at, note.tone) for note in notes] == [
                (right.label, own.id, Tone.RIGHT),
                (choice.label, own.id, Tone.WRONG),
            ]
            passer = next(man.id for man in rep.moved.blockers if man.label == "Q")
            free = free_after(rep, choice.id)
            assert free == ({passer} if right.label == "The quarterback" else set())
            left |= free
    assert left


def test_a_back_whom_he_lets_go_is_marked(sample: list[Rep]) -> None:
    seen = set()
    for rep in sample:
        if rep.kind != "after-release":
            continue
        part = rep.parts[0]
        already = free_after(rep, min(part.right))
        back = next(track.id.removeprefix("release-") for track in rep.moved.tracks if track.id.startswith("release-"))
        for choice in part.choices:
            if choice.id in part.right:
                continue
            lets_go = choice.leaves.startswith("No one would have")
            assert free_after(rep, choice.id) - already == ({back} if lets_go else set())
            seen.add(lets_go)
    assert seen == {True, False}


def test_count_marks_the_gaps_that_are_counted(sample: list[Rep]) -> None:
    seen = 0
    for rep in sample:
        if rep.kind != "count":
            continue
        gaps, ours = ([int(c.label) for c in part.choices if c.id in part.right] for part in rep.parts)
        states = Counter(band.state for band in rep.moved.bands)
        assert [states[BandState.RIGHT] + states[BandState.OPEN]] == gaps
        assert (states[BandState.RIGHT] > 0) is (ours != [0])
        seen += 1
    assert seen


def test_the_moved_picture_shows_his_own_lane(sample: list[Rep]) -> None:
    for rep in sample:
        if rep.kind not in ("track", "moved-gap", "pull-read", "edge"):
            continue
        part = rep.parts[0]
        right_bands = {choice.band for choice in part.choices if choice.id in part.right}
        assert {band.id for band in rep.moved.bands if band.state is BandState.RIGHT} == right_bands
        wrong = next(choice for choice in part.choices if choice.id not in part.right)
        after = rep.after([wrong.id])
        states = {band.id: band.state for band in after.bands}
        assert states[wrong.band] is BandState.WRONG
        assert {states[band] for band in right_bands} == {BandState.RIGHT}
        assert rep.after([min(part.right)]) is rep.moved
