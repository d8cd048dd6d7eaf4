"""Choices joined by "or" read as one sentence in each language; names keep their capitals."""

import pytest

from server.i18n.languages import language
from server.web.translated_reps import one_sentence


@pytest.mark.parametrize(
    ("code", "words", "said"),
    [
        (
            "en",
            "Between the left guard and the center or Between the center and the right guard",
            "Between the left guard and the center or between the center and the right guard",
        ),
        ("en", "Outside the left end or Outside the right end", "Outside the left end or outside the right end"),
        ("en", "Left Ash or Right Ash", "Left Ash or right Ash"),
        ("en", "Mike or Will", "Mike or Will"),
        ("en", "Outside the left end", "Outside the left end"),
        (
            "es",
            "Entre el guard izquierdo y el center o Entre el center y el guard derecho",
            "Entre el guard izquierdo y el center o entre el center y el guard derecho",
        ),
        ("es", "Ash izquierdo o Ash derecho", "Ash izquierdo o Ash derecho"),
        ("es", "Por fuera del end izquierdo o Mike", "Por fuera del end izquierdo o Mike"),
    ],
)
def test_after_or_a_place_continues_in_lower_case(code: str, words: str, said: str) -> None:
    assert one_sentence(words, language(code)) == said
