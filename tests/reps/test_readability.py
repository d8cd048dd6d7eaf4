"""Texts for players are easy to read: by two libraries for English, by a published scale for Spanish.

source: Kincaid, Fishburne, Rogers and Chissom 1975, Flesch-Kincaid grade: .39 words a sentence + 11.8 syllables a word
    − 15.59; computed by the library readability, and once more with the syllables that Pyphen counts
source: Fernández Huerta 1959, lecturabilidad: 206.84 − 60 syllables a word − 1.02 words a sentence; 60 to 70 is normal,
    70 and more is easy (read by sixth and seventh graders)
"""

from __future__ import annotations

import re
from itertools import islice
from pathlib import Path
from statistics import mean

import pyphen
import pytest
import readability

from quizgen.content import load_team_dir
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.kinds import KINDS
from quizgen.reps.rep import Rep
from server.i18n.languages import language

DEMO = Path(__file__).parents[2] / "seed_content" / "tarrow_falls"
OF_EACH_KIND = 25
GRADE_MAX = 8.0
EASY = 70.0
# A colon ends what is read at once, as a full stop does: "Now Kettle left: the guard kicks you."
END_OF_SENTENCE = re.compile(r"[.!?:](?=\s|$)")
WORD = re.compile(r"[^\W\d_]+(?:'[a-z]+)?")


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return Catalogue(load_team_dir(DEMO))


def sample(catalogue: Catalogue) -> list[Rep]:
    return [rep for kind in KINDS for rep in islice(catalogue.reps(kinds=[kind], seed="read"), OF_EACH_KIND)]


def texts_of(reps: list[Rep]) -> list[str]:
    """Stems, reasons, and the consequences of wrong answers."""
    texts = {rep.stem for rep in reps} | {rep.because for rep in reps}
    return sorted(texts | {c.leaves for rep in reps for part in rep.parts for c in part.choices if c.leaves})


@pytest.fixture(scope="module")
def english(catalogue: Catalogue) -> list[str]:
    return texts_of(sample(catalogue))


def by_readability(text: str) -> float:
    """The grade by the library readability, which expects one sentence a line and spaces around punctuation."""
    lines = END_OF_SENTENCE.sub(lambda end: f" {end.group()}\n", text)
    return float(readability.getmeasures(lines, lang="en")["readability grades"]["Kincaid"])


def counted(text: str, code: str) -> tuple[int, int, int]:
    """Sentences, words and syllables. Pyphen counts hyphenation points, a lower bound for syllables."""
    pattern = pyphen.Pyphen(lang=code, left=1, right=1)
    words = WORD.findall(text)
    return len(END_OF_SENTENCE.findall(text)), len(words), sum(len(pattern.positions(word)) + 1 for word in words)


def by_pyphen(text: str) -> float:
    sentences, words, syllables = counted(text, "en_US")
    return 0.39 * words / sentences + 11.8 * syllables / words - 15.59


def lecturabilidad(text: str) -> float:
    sentences, words, syllables = counted(text, "es")
    return 206.84 - 60 * syllables / words - 1.02 * words / sentences


def test_every_english_text_is_for_an_eighth_grader(english: list[str]) -> None:
    assert len(english) > 500
    assert {text: grade for text in english if (grade := by_readability(text)) > GRADE_MAX} == {}


def test_a_second_count_agrees(english: list[str]) -> None:
    assert {text: grade for text in english if (grade := by_pyphen(text)) > GRADE_MAX} == {}
    one, two = [by_readability(text) for text in english], [by_pyphen(text) for text in english]
    # They count syllables differently, by vowels and by hyphenation; in short sentences each of them weighs more.
    assert abs(mean(one) - mean(two)) < 3


def test_spanish_texts_are_easy(catalogue: Catalogue) -> None:
    texts = texts_of(sample(catalogue.said_by(language("es").translate_template)))
    assert len(texts) > 500
    score = {text: lecturabilidad(text) for text in texts}
    assert mean(score.values()) >= EASY
    assert {text: number for text, number in score.items() if number < 60} == {}


HARD = "Simultaneous penetration necessitates immediate reconsideration of individual responsibilities."


def test_the_scales_rate_hard_text_as_hard() -> None:
    for grade in (by_readability, by_pyphen):
        assert grade("They zone to your right. You rush left B.") < 2
        assert grade(HARD) > 12
    assert lecturabilidad("Corren a tu derecha. ¿Dónde encajas?") > EASY
    assert lecturabilidad("La reconsideración simultánea necesita responsabilidades individuales inmediatas.") < 60
