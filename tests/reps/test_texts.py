"""What a player reads: short and complete, over a sample of the demo and every rep of a small team's call."""

from __future__ import annotations

import re

import pytest

from quizgen.engine.fits import Threat
from quizgen.engine.reads import Read
from quizgen.football.scheme import SchemeFamily
from quizgen.football.sides import Side
from quizgen.football.team import TeamBook
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.kinds import KINDS
from quizgen.reps.rep import Rep, RepPart
from quizgen.reps.why import SENTENCES, THREATS
from quizgen.reps.wording import PLAY_SENTENCES

STEM_MAX = 140
RELATIONS = {"mirror side", "one gap in", "one gap out", "his gap on another call", "other"}
END_OF_SENTENCE = re.compile(r"[.!?](?=\s|$)")


@pytest.fixture(scope="module")
def reps(sample: list[Rep], small: TeamBook) -> list[Rep]:
    return [*sample, *Catalogue(small).reps(calls=["Hammer"], sides=[Side.LEFT])]


def sentences(text: str) -> int:
    return len(END_OF_SENTENCE.findall(text))


def test_every_kind_is_in_the_sample(reps: list[Rep]) -> None:
    assert {rep.kind for rep in reps} == set(KINDS)


def test_stems_are_short(reps: list[Rep]) -> None:
    assert [rep.stem for rep in reps if len(rep.stem) > STEM_MAX] == []


def test_reasons_have_one_or_two_sentences(reps: list[Rep]) -> None:
    assert [rep.because for rep in reps if not 1 <= sentences(rep.because) <= 2] == []


def test_texts_are_finished(reps: list[Rep]) -> None:
    texts = {rep.stem for rep in reps} | {rep.because for rep in reps}
    texts |= {choice.leaves for rep in reps for part in rep.parts for choice in part.choices if choice.leaves}
    wrong = [text for text in texts if "{" in text or "  " in text or " ." in text or text[-1] not in ".?!"]
    assert wrong == []
    assert [text for text in texts if text[0] != text[0].upper()] == []
    assert [text for text in texts if "None" in text or " the ." in text or "the  " in text] == []


def test_every_wrong_choice_says_in_one_sentence_what_it_leaves(reps: list[Rep]) -> None:
    for rep in reps:
        for part in rep.parts:
            for choice in part.choices:
                if choice.id in part.right:
                    assert (choice.leaves, choice.relation) == ("", "")
                else:
                    assert sentences(choice.leaves) == 1, choice.leaves
                    assert choice.relation in RELATIONS


def first_right(part: RepPart) -> str:
    return min(part.right)


def test_explain_gives_the_leaving_and_then_the_reason(reps: list[Rep]) -> None:
    for rep in reps:
        rights = [first_right(part) for part in rep.parts]
        assert rep.is_right(rights)
        assert rep.explain(rights) == rep.because
        for number, part in enumerate(rep.parts):
            for choice in part.choices:
                if choice.id not in part.right:
                    answer = [*rights[:number], choice.id, *rights[number + 1 :]]
                    assert not rep.is_right(answer)
                    assert rep.explain(answer) == f"{choice.leaves} {rep.because}"


def test_choices_of_a_part_read_differently(reps: list[Rep]) -> None:
    for rep in reps:
        for part in rep.parts:
            labels = [choice.label for choice in part.choices]
            assert len(set(labels)) == len(labels), (rep.kind, labels)


def test_no_two_parts_share_an_id(reps: list[Rep]) -> None:
    for rep in reps:
        ids = [choice.id for part in rep.parts for choice in part.choices]
        assert len(set(ids)) == len(ids)


def test_there_is_a_sentence_for_every_read_threat_and_family() -> None:
    assert set(SENTENCES) == set(Read) - {Read.SCRAPE}  # who scrapes has a phase, and is told that
    assert set(THREATS) == set(Threat)
    assert set(PLAY_SENTENCES) == set(SchemeFamily)
