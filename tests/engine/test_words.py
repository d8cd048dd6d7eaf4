"""What every man of the demo's table is told: no sentence contradicts the picture, none is too long to read.

The whole table is solved when GAPSOUND_TEST_LAWS is set (the long form of the laws), else every ninth snap of it.
"""

import os
import re
from collections.abc import Iterator
from functools import cache

import pytest

from quizgen.engine.fits import Fit
from quizgen.engine.reasons import PLAIN, Names, because, outside_of, why
from quizgen.engine.report import check_situations, situations
from quizgen.engine.verdict import RunAnswer
from quizgen.reps import why as lessons
from quizgen.reps.wording import Wording
from tests.page_solver.snaps import DEMO as TEAM

LONGEST = 140
EVERY = 1 if "GAPSOUND_TEST_LAWS" in os.environ else 9
BETWEEN = re.compile(r"between the ([\w' ]+?) and the ([\w' ]+?)(?:[.,;]|$)")

TEAMS_WORDS = Wording(TEAM.words)
VOICES: dict[str, Names | None] = {"fit": PLAIN, "fit by the team's names": TEAMS_WORDS, "lesson": None}


@cache
def answers() -> tuple[RunAnswer, ...]:
    """The table's snaps."""
    return tuple(check_situations(list(situations(TEAM))[::EVERY]))


def told(voice: str) -> Iterator[tuple[RunAnswer, Fit, str]]:
    """What each man is told on each snap in that voice."""
    names = VOICES[voice]
    for answer in answers():
        for fit in answer.fits:
            text = because(answer, fit, names) if names else lessons.because(answer, fit, TEAMS_WORDS)
            yield answer, fit, text


def where(answer: RunAnswer, fit: Fit) -> str:
    """The snap and the man, for a failure."""
    s = answer.situation
    call = f"{s.pressure.name} to {s.to.value}, {s.formation.name}, {s.play.name} to {s.play_to.value}"
    return f"{call}: {fit.man.position}"


def problems(answer: RunAnswer, fit: Fit, text: str) -> list[str]:
    """What is wrong with a sentence about this fit."""
    found = [f"twice {one!r}" for one, other in BETWEEN.findall(text) if one == other]
    own = [answer.lanes[i] for i in fit.lanes]
    edges = {answer.lanes[0].gaps[0], answer.lanes[-1].gaps[-1]}
    if "off the edge" in text and not any(edges & set(lane.gaps) for lane in own):
        found.append("off the edge, in an inside lane")
    is_inner = all(outside_of(lane) is not None or lane.side is None for lane in own)
    outward = ("nothing gets outside", "no ball gets outside", "turn it in from", "turn the ball in from")
    if is_inner and any(words in text.lower() for words in outward):
        found.append("the edge, in a lane with a blocker outside it")
    if "hip" in text and "hold your ground" in text:
        found.append("on his hip and hold your ground at once")
    if "play goes away" in text.lower() and any(lane.side is answer.situation.play_to for lane in own):
        found.append("the play goes away, on its side")
    if len(fit.lanes) == 1 and fit.lost_to in fit.lanes:
        found.append("beaten into his own lane")
    if re.search(r"\bowns?\b.*\bnobody\b|every lane you may fill", text) and fit.owns:
        found.append("no lane needs him, but he owns one")
    return found


@pytest.mark.parametrize("voice", VOICES)
def test_no_sentence_contradicts_the_picture(voice: str) -> None:
    wrong = [f"{where(a, f)}: {bad} in {text!r}" for a, f, text in told(voice) if (bad := problems(a, f, text))]
    assert not wrong, f"{len(wrong)}, the first {wrong[:3]}"


def test_each_sentence_of_a_lesson_is_short() -> None:
    long = {
        sentence: where(answer, fit)
        for answer, fit, text in told("lesson")
        for sentence in re.split(r"(?<=\.) ", text)
        if len(sentence) > LONGEST
    }
    assert not long, f"{len(long)}, the first {next(iter(long.items()))}"


def test_a_team_is_told_in_its_own_names() -> None:
    letters = [f"{side} {letter}" for side in ("left", "right") for letter in TEAM.words.gaps]
    plain = re.compile("|".join(rf"\b{name}\b" for name in letters), re.IGNORECASE)
    for answer, fit, text in told("fit by the team's names"):
        assert not plain.search(text), f"{where(answer, fit)}: {text}"
        assert not plain.search(why(answer, TEAMS_WORDS)), where(answer, fit)


def test_fit_and_lesson_say_the_same_of_one_man() -> None:
    """Section 8, law 12: one man, one snap, one answer: his lane and his phase in both."""
    for answer, fit, lesson in told("lesson"):
        said = because(answer, fit, TEAMS_WORDS)
        if fit.owns:
            own = [TEAMS_WORDS.lane(answer.lanes[i]).lower() for i in fit.lanes]
            assert any(lane in lesson.lower() for lane in own), f"{where(answer, fit)}: {lesson}"
            assert any(lane in said.lower() for lane in own), f"{where(answer, fit)}: {said}"
        if fit.phase is not None:
            assert TEAMS_WORDS.term(fit.phase.value) in lesson, f"{where(answer, fit)}: {lesson}"
            assert fit.phase.value in said, f"{where(answer, fit)}: {said}"
