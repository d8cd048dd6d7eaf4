"""Reps in Spanish: no English template left, the same choices and pictures, short enough for the phone."""

import re
from collections import defaultdict
from collections.abc import Callable
from functools import cache
from itertools import islice
from pathlib import Path

import pytest

from quizgen.content import load_team_dir
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.kinds import KINDS
from quizgen.reps.rep import Rep
from server.i18n.languages import language
from tests.i18n.texts import read_catalog

DEMO = Path(__file__).parents[2] / "seed_content" / "tarrow_falls"
A_KIND = 30
STEM_MAX, SENTENCES_MAX = 140, 2
# English words that appear in no Spanish sentence and in no football term.
ENGLISH = re.compile(
    r"\b(the|your?|they|their|his|he|him|is|are|was|to|of|from|who|what|when|where|which|would|goes?|comes?|has|"
    r"have|left|right|outside|inside|between|no one|open|blocks?|pulls (?!y|del )|rushes|yours|there|with|so|stay|"
    r"that|this)\b",
    re.IGNORECASE,
)
# The team's own words stay: its term for the hip, its positions, formations and calls.
OWN = re.compile(
    r"ride his hip|(Left|Right) corner|(^|(?<=, ))[A-Z][\w ]+ (left|right)(, [A-Z]\w+)?$|"
    r"inside zone|outside zone|pass rush"
)
SENTENCE = re.compile(r"[.!?](?=\s|$)")


def texts(rep: Rep) -> list[str]:
    found = [rep.stem, rep.because, rep.scene.description, rep.moved.description, rep.scene.title]
    for part in rep.parts:
        found += [part.prompt, *(choice.label for choice in part.choices), *(choice.leaves for choice in part.choices)]
    return [text for text in [*found, *(tap.label for tap in rep.scene.taps)] if text]


class Recorder:
    """Translates to Spanish and records each template."""

    def __init__(self) -> None:
        self.asked: set[str] = set()
        self._say: Callable[[str], str] = language("es").translate_template

    def __call__(self, template: str) -> str:
        self.asked.add(template)
        return self._say(template)


@cache
def sample() -> tuple[Recorder, list[tuple[Rep, Rep]]]:
    """Some reps of each kind, in English and in Spanish."""
    recorder = Recorder()
    english = Catalogue(load_team_dir(DEMO))
    spanish = english.said_by(recorder)
    reps = [rep for kind in KINDS for rep in islice(english.reps(kinds=[kind]), A_KIND)]
    return recorder, [(rep, spanish.rep(rep.id)) for rep in reps]


def test_the_sample_has_enough_reps_of_every_kind() -> None:
    kinds = defaultdict(int)
    for rep, _ in sample()[1]:
        kinds[rep.kind] += 1
    assert set(kinds) == set(KINDS)
    assert sum(kinds.values()) >= 300


def test_every_template_of_reps_is_in_the_catalogue() -> None:
    known = {message.id for message in read_catalog("es") if message.id}
    assert {template for template in sample()[0].asked if template} - known == set()


def test_nothing_is_left_in_english() -> None:
    left = {
        (rep.kind, text, found[0])
        for rep, spanish in sample()[1]
        for text in texts(spanish)
        if (found := ENGLISH.search(OWN.sub("", text)))
    }
    assert left == set()


def test_no_sentence_is_the_english_one() -> None:
    for rep, spanish in sample()[1]:
        assert spanish.stem != rep.stem
        assert spanish.because != rep.because
        assert len(texts(spanish)) == len(texts(rep))


def test_only_the_words_differ() -> None:
    for rep, spanish in sample()[1]:
        assert (spanish.id, spanish.picture, spanish.guise) == (rep.id, rep.picture, rep.guise)
        for part, other in zip(rep.parts, spanish.parts, strict=True):
            assert [choice.id for choice in other.choices] == [choice.id for choice in part.choices]
            assert other.right == part.right
            assert len({choice.label for choice in other.choices}) == len({choice.label for choice in part.choices})


@pytest.mark.parametrize("what", [0, 1], ids=["English", "Spanish"])
def test_stems_and_reasons_are_short(what: int) -> None:
    for pair in sample()[1]:
        rep = pair[what]
        assert len(rep.stem) <= STEM_MAX, rep.stem
        assert len(SENTENCE.findall(rep.because)) <= SENTENCES_MAX, rep.because


# Spanish grammar, common practice (school grammar; from memory): contractions, agreement of adjectives with nouns and
# of verbs with "tú".
@pytest.mark.parametrize(
    "wrong",
    [
        r"\b(de|a) el\b",
        r"\b(tackle|guard|end|wing|center|gap|back|receiver)s? (izquierda|derecha)\b",
        r"\b(mitad|a tu|a la|nuestra) (izquierdo|derecho)\b",
        r"(?<! y )\b[Tt]ú (tiene|tienen|llega|llegan|cuida|toma|entra)\b",
        r"\b(a|de|para|por|contra|en) tú\b",
        r"\bel (guard|tackle|center|end|wing) \w+ y el [^.,:;]*? (hace|te bloquea) ",
        r"  |\s[.,;:?]|\?\.|\.\.",
    ],
)
def test_words_agree(wrong: str) -> None:
    found = re.compile(wrong)
    bad = {text for _, spanish in sample()[1] for text in texts(spanish) if found.search(text)}
    assert bad == set()
