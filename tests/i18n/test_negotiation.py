"""Which language a request gets, Spanish contractions, and dates."""

from datetime import UTC, datetime

import pytest

from server.i18n.languages import Spoken, language, language_of, negotiate
from server.i18n.lazy_text import LazyText

MOMENT = datetime(2026, 11, 27, 0, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("accept", "code"),
    [
        ("", "en"),
        ("es", "es"),
        ("es-MX,es;q=0.9,en;q=0.8", "es"),
        ("en-US,en;q=0.9,es;q=0.8", "en"),
        ("fr,es;q=0.5,en;q=0.4", "es"),
        ("en;q=0.2,es;q=0.7", "es"),
        ("es;q=0,en", "en"),
        ("fr,de", "en"),
        ("*", "en"),
        (";;q=x,,es;q=high", "en"),
    ],
)
def test_the_best_match_for_the_browser_is_used(accept: str, code: str) -> None:
    assert negotiate(accept) == code


@pytest.mark.parametrize(("cookie", "code"), [("lang=es", "es"), ("lang=en", "en"), ("lang=xx", "es"), ("a=b", "es")])
def test_the_choice_on_the_device_comes_first(cookie: str, code: str) -> None:
    headers = [(b"cookie", cookie.encode()), (b"accept-language", b"es-MX")]
    assert language_of({"type": "http", "headers": headers}).code == code


# Spanish grammar, common practice (school grammar; from memory).
@pytest.mark.parametrize(
    ("template", "slots", "text"),
    [
        ("por fuera de {who}", {"who": "el kick"}, "por fuera del kick"),
        ("De {who}", {"who": "el lead"}, "Del lead"),
        ("Frente a {who}", {"who": "el guard izquierdo"}, "Frente al guard izquierdo"),
        ("pegado a {who}", {"who": "él"}, "pegado a él"),
        ("da {who}", {"who": "el paso"}, "da el paso"),
        ("{some} y {last}", {"some": "Mike", "last": "Inside"}, "Mike e Inside"),
        ("{some} y {last}", {"some": "Mike", "last": "hielo"}, "Mike y hielo"),
        ("{some} o {last}", {"some": "dive", "last": "option"}, "dive u option"),
        ("{some} y {last}", {"some": "Nose", "last": "Will"}, "Nose y Will"),
    ],
)
def test_spanish_contractions(template: str, slots: dict[str, str], text: str) -> None:
    assert Spoken(template).format(**slots) == text


def test_moments_are_in_the_teams_time_zone() -> None:
    assert language("en").moment(MOMENT, "America/Chicago") == "Thu 26 Nov, 6:30 PM"
    assert language("es").moment(MOMENT, "America/Chicago").replace("\xa0", " ") == "jue 26 nov, 6:30 p.m."
    assert language("es").day(MOMENT, "America/Chicago") == "26 nov"
    assert language("es").day(None, "America/Chicago") == "–"


def test_a_refusal_is_translated_with_its_slots() -> None:
    refusal = LazyText("number: expected the number on your jersey, found {found!r}", found="x")
    assert refusal == "number: expected the number on your jersey, found 'x'"
    assert language("en").translate(refusal) == refusal
    assert language("es").translate(refusal) == "número: se esperaba el número de tu jersey, se encontró 'x'"
    assert (
        language("es").translate("Nothing of the kind is in the catalogue") == "Nothing of the kind is in the catalogue"
    )
