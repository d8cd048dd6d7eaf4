"""Every text has a fitting translation: a fresh extraction equals the catalogue."""

import re
from string import Formatter

import pytest
from babel.messages.catalog import Message
from babel.messages.checkers import checkers

from server.i18n.languages import LANGUAGES, SOURCE
from tests.i18n.texts import found_texts, read_catalog, template

OTHERS = [code for code in LANGUAGES if code != SOURCE]
TAG = re.compile(r"</?\w+>")
PERCENT = re.compile(r"%\((\w+)\)s")


def texts_of(message: Message) -> list[str]:
    return [str(message.string)] if isinstance(message.string, str) else [str(one) for one in message.string]


def ids_of(message: Message) -> list[str]:
    return [message.id] if isinstance(message.id, str) else list(message.id)


def slots(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


@pytest.fixture(params=OTHERS)
def messages(request: pytest.FixtureRequest) -> list[Message]:
    return [message for message in read_catalog(request.param) if message.id]


def test_every_package_has_texts() -> None:
    rooms = {path.split("/")[0] for path, _ in found_texts()}
    assert rooms == {"quizgen", "server", "templates"}
    assert any(path.endswith(".js") for path, _ in found_texts())


def test_the_catalogue_has_exactly_the_texts_of_the_sources(messages: list[Message]) -> None:
    wanted = {message.id for message in template() if message.id}
    assert {message.id for message in messages} == wanted


def test_every_text_is_translated_and_none_is_fuzzy(messages: list[Message]) -> None:
    assert [message.id for message in messages if not all(texts_of(message))] == []
    assert [message.id for message in messages if message.fuzzy] == []


def test_slots_and_tags_are_those_of_the_source(messages: list[Message]) -> None:
    for message in messages:
        source = ids_of(message)[-1]
        for text in texts_of(message):
            assert set(PERCENT.findall(text)) == set(PERCENT.findall(source)), message.id
            if not PERCENT.search(source):
                assert slots(text) == slots(source), message.id
            assert TAG.findall(text) == TAG.findall(source), message.id


def test_babels_own_checks_pass(messages: list[Message]) -> None:
    for message in messages:
        for check in checkers:
            check(None, message)


def test_texts_of_scripts_are_marked_as_such(messages: list[Message]) -> None:
    fresh = {text for path, text in found_texts() if path.endswith(".js")}
    assert {m.id for m in messages if any(path.endswith(".js") for path, _ in m.locations)} == fresh
