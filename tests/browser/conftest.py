"""One server for each file, so that files don't see each other's data; each test has its own phones."""

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser.site import Site, open_site

expect.set_options(timeout=30_000)  # as long as pages and clicks are waited for; a wait ends as soon as it can


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    with open_site(tmp_path_factory.mktemp("site")) as running:
        yield running


@pytest.fixture
def device(browser: Browser) -> Iterator[Callable[..., BrowserContext]]:
    """Makes devices; any script error on their pages fails the test."""
    opened: list[BrowserContext] = []
    faults: list[str] = []

    def make(**settings: object) -> BrowserContext:
        context = browser.new_context(**settings)  # type: ignore[arg-type]
        context.on("weberror", lambda error: faults.append(str(error.error)))
        context.on("console", lambda said: faults.append(said.text) if "Content Security Policy" in said.text else None)
        opened.append(context)
        return context

    yield make
    for context in opened:
        context.close()
    assert faults == []


@pytest.fixture
def phone(device: Callable[..., BrowserContext]) -> Page:
    """A page on a phone: 390 by 844, touch."""
    return device(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True).new_page()


@pytest.fixture
def laptop(device: Callable[..., BrowserContext]) -> Page:
    """A page on a laptop."""
    return device(viewport={"width": 1280, "height": 800}).new_page()
