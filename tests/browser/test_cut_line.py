"""The line cut at every step from the first minute on: what is due can be done, and the page says what is true."""

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.line import Line, open_line
from tests.browser.pages import poll, shown_rep, sign_in, wait_for_rep
from tests.browser.site import PIN, Site

pytestmark = pytest.mark.browser
KEPT = "document.documentElement.dataset.kept === 'yes'"
SMALL = {"viewport": {"width": 360, "height": 640}, "has_touch": True, "is_mobile": True}
#: Each way to lose the server, each way to go on from there.
WAYS = [(how, then) for how in ("no signal", "server stopped") for then in ("goes on", "reloads", "opens a new tab")]
NEVER = """
const never = new Promise(() => {});
IDBFactory.prototype.open = () => new EventTarget();
CacheStorage.prototype.open = () => never;
"""
REFUSED = """
const refuse = () => { throw new DOMException('refused', 'SecurityError'); };
IDBFactory.prototype.open = refuse;
CacheStorage.prototype.open = refuse;
Object.defineProperty(window, 'localStorage', { get: refuse });
"""


@pytest.fixture
def line(site: Site) -> Iterator[Line]:
    with open_line(site.address) as one:
        yield one


@pytest.fixture
def small(device: Callable[..., BrowserContext]) -> Page:
    """A page on a small phone."""
    return device(**SMALL).new_page()


def lose(how: str, line: Line, context: BrowserContext) -> None:
    if how == "server stopped":
        line.cut()
    else:
        context.set_offline(True)


def find_again(how: str, line: Line, context: BrowserContext) -> None:
    if how == "server stopped":
        line.mend()
    else:
        context.set_offline(False)


def arrived(page: Page, site: Site, player, count: int) -> None:
    """Wait until so many answers are on the server, each once."""
    for _ in range(400):
        if len(site.answers(player)) >= count:
            break
        page.wait_for_timeout(50)
    assert [place for place, _ in site.answers(player)] == list(range(1, count + 1))


def choose(page: Page, site: Site) -> None:
    """Answer the rep that is shown, right, through its form: where to tap is another test's matter."""

    poll(page, "document.documentElement.dataset.set === 'loaded'")  # or another rep may take its place
    rep = page.locator("form.rep")
    for number, part in enumerate(site.parts(shown_rep(page)), start=1):
        rep.locator(f'.choices[data-part="{number}"] input[value="{part["right"][0]}"]').evaluate(
            "one => { one.checked = true; one.dispatchEvent(new Event('change', { bubbles: true })); }"
        )
    rep.locator("button[type=submit][aria-disabled=false]").tap()


def answer_without_signal(page: Page, site: Site, count: int) -> None:
    """Answer so many reps, all right, the last one without going on."""
    for n in range(count):
        wait_for_rep(page)
        choose(page, site)
        expect(page.get_by_role("heading", name="On this phone")).to_be_visible(timeout=12_000)
        if n < count - 1:
            page.get_by_role("button", name="Next rep").tap()


@pytest.mark.parametrize(("how", "then"), WAYS)
def test_cut_after_sign_in_the_set_that_is_due_is_done(
    small: Page, site: Site, line: Line, how: str, then: str
) -> None:
    """Home was all that he had opened: the set was never started."""
    player = site.next_player()
    set_id = site.send(player)
    sign_in(small, site, player, line.address)
    poll(small, KEPT)
    lose(how, line, small.context)
    page = small
    if then == "reloads":
        small.reload()
    elif then == "opens a new tab":
        page = small.context.new_page()
        page.goto(f"{line.address}/")
    page.locator(f'form[action="/sets/{set_id}/open"] button').tap()
    answer_without_signal(page, site, 4)
    expect(page.get_by_text("No signal.")).to_be_visible()
    assert site.answers(player) == []
    find_again(how, line, small.context)
    page.goto(f"{line.address}/home")
    arrived(page, site, player, 4)


@pytest.mark.parametrize(("how", "then"), WAYS)
@pytest.mark.parametrize("done", [0, 2], ids=["after Start", "in mid-set"])
def test_cut_in_a_set_the_rest_of_it_is_done(
    small: Page, site: Site, line: Line, how: str, then: str, done: int
) -> None:
    player = site.next_player()
    set_id = site.send(player)
    sign_in(small, site, player, line.address)
    small.locator(f'form[action="/sets/{set_id}/open"] button').tap()
    wait_for_rep(small)
    poll(small, "document.documentElement.dataset.set === 'loaded'")
    poll(small, f"caches.open('gapsound-pages-1').then(pages => pages.match('/sets/{set_id}/reps/1'))")
    poll(small, "navigator.serviceWorker.controller")
    for _ in range(done):
        choose(small, site)
        expect(small.locator(".verdict h2")).to_have_text("That is it")
        small.wait_for_timeout(650)
        small.locator(".bar a.button").tap()
        wait_for_rep(small)
    lose(how, line, small.context)
    page = small
    if then == "reloads":
        small.reload()
    elif then == "opens a new tab":
        page = small.context.new_page()
        page.goto(f"{line.address}/home")
        page.locator(f'form[action="/sets/{set_id}/open"] button').tap()
    answer_without_signal(page, site, 4 - done)
    assert len(site.answers(player)) == done
    find_again(how, line, small.context)
    page.goto(f"{line.address}/home")
    arrived(page, site, player, 4)


def test_cut_at_practice_it_says_so_and_names_what_is_here(small: Page, site: Site, line: Line) -> None:
    player = site.next_player()
    site.send(player)
    sign_in(small, site, player, line.address)
    call = small.get_by_role("heading", level=1).inner_text()
    poll(small, KEPT)
    line.cut()
    small.locator('form[action="/practice"] button').last.tap()
    expect(small.get_by_role("heading", name="Your set is on this phone")).to_be_visible()
    expect(small.locator(".here")).to_contain_text(f"{call}, 4 reps left")
    small.get_by_role("link", name=f"Go on with {call}").tap()
    answer_without_signal(small, site, 1)
    small.goto(f"{line.address}/my-data")
    expect(small.locator(".here")).to_contain_text("1 answer kept here")
    expect(small.locator(".here")).to_contain_text(f"{call}, 3 reps left")
    line.mend()
    small.get_by_role("link", name="Try again").tap()
    arrived(small, site, player, 1)


def test_a_practice_that_was_begun_is_done_without_signal(small: Page, site: Site, line: Line) -> None:
    player = site.next_player()
    site.send(player)
    sign_in(small, site, player, line.address)
    small.locator('form[action="/practice"] button').last.tap()
    wait_for_rep(small)
    small.goto(f"{line.address}/home")
    poll(small, KEPT)
    line.cut()
    small.locator('.later form[action$="/open"] button').tap()
    answer_without_signal(small, site, 4)
    line.mend()
    small.goto(f"{line.address}/home")
    arrived(small, site, player, 4)


@pytest.mark.parametrize("storage", [NEVER, REFUSED], ids=["never answers", "is refused"])
def test_storage_that_does_not_work_leaves_the_open_page_working(
    small: Page, site: Site, line: Line, storage: str
) -> None:
    player = site.next_player()
    set_id = site.send(player)
    small.add_init_script(storage)
    sign_in(small, site, player, line.address)
    small.locator(f'form[action="/sets/{set_id}/open"] button').tap()
    wait_for_rep(small)
    poll(small, "document.documentElement.dataset.set === 'loaded'")
    choose(small, site)
    expect(small.locator(".verdict h2")).to_have_text("That is it", timeout=4_000)
    small.wait_for_timeout(650)
    line.cut()
    small.locator(".bar a.button").tap()
    answer_without_signal(small, site, 1)
    expect(small.get_by_role("status")).to_contain_text("this browser stores nothing")
    line.mend()
    arrived(small, site, player, 2)


def test_storage_that_never_answers_costs_at_most_its_limit(small: Page, site: Site) -> None:
    """The page's own figure: fall back within 1.5 s."""
    small.add_init_script(NEVER)
    sign_in(small, site, site.next_player())
    took_ms = small.evaluate(
        "import('/static/outbox.js').then(async ({ Outbox }) => { const began = performance.now();"
        " const own = new Outbox('p', () => {}); await own.add({ id: '1' }); return performance.now() - began; })"
    )
    assert took_ms < 1_700  # 1.5 s and what a busy machine adds


def test_without_a_worker_a_form_says_so_and_works_again(
    device: Callable[..., BrowserContext], site: Site, line: Line
) -> None:
    page = device(**SMALL, service_workers="block").new_page()
    player = site.next_player()
    set_id = site.send(player)
    sign_in(page, site, player, line.address)
    start = page.locator(f'form[action="/sets/{set_id}/open"] button')
    line.cut()
    start.tap()
    expect(page.get_by_role("status")).to_have_text("No signal. Nothing is lost; try again when there is some.")
    expect(start).to_have_text("Start")
    line.mend()
    start.tap()
    wait_for_rep(page)


def test_an_answer_that_waits_is_neither_sent_nor_lost_by_the_next_player(small: Page, site: Site, line: Line) -> None:
    """He signs in on the same phone, in another tab, while the first one's page is still open."""
    first, second = site.next_player(), site.next_player()
    set_id = site.send(first, second)
    sign_in(small, site, first, line.address)
    small.locator(f'form[action="/sets/{set_id}/open"] button').tap()
    wait_for_rep(small)
    poll(small, "document.documentElement.dataset.set === 'loaded'")
    line.cut()
    answer_without_signal(small, site, 1)
    other = small.context.new_page()
    sign_in(other, site, second)  # the line is still cut; cookies don't tell ports apart
    line.mend()
    with small.expect_response("**/answers/*") as heard:
        small.evaluate("dispatchEvent(new Event('online'))")
    assert heard.value.status == 403
    expect(small.get_by_text("You were signed out")).to_be_visible()
    assert site.answers(first) == []
    assert site.answers(second) == []
    other.close()
    small.get_by_role("link", name="Sign in").tap()
    small.get_by_label("Your number").fill(str(first.number))
    small.get_by_label("PIN").fill(PIN)
    small.get_by_role("button", name="Sign in").tap()
    small.wait_for_url("**/home")
    arrived(small, site, first, 1)
    assert site.answers(second) == []


def test_pages_of_another_player_are_dropped(small: Page, site: Site) -> None:
    """He signed in where the worker did not see it, in a page of its own."""
    first, second = site.next_player(), site.next_player()
    set_id = site.send(first)
    sign_in(small, site, first)
    poll(small, KEPT)
    small.evaluate("caches.open('gapsound-pages-1').then(pages => pages.put('/owner', new Response('another')))")
    sign_in(small, site, second)
    poll(small, KEPT)
    kept = small.evaluate("caches.open('gapsound-pages-1').then(p => p.keys()).then(all => all.map(one => one.url))")
    assert not [url for url in kept if set_id in url]
    assert [url for url in kept if url.endswith("/home")]


def test_slow_is_not_called_no_signal(small: Page, site: Site, line: Line) -> None:
    player = site.next_player()
    set_id = site.send(player)
    sign_in(small, site, player, line.address)
    small.locator(f'form[action="/sets/{set_id}/open"] button').tap()
    wait_for_rep(small)
    poll(small, "document.documentElement.dataset.set === 'loaded'")
    line.hangs = True
    choose(small, site)
    expect(small.get_by_text("is still on its way")).to_be_visible()
    small.wait_for_timeout(4_500)  # 7 s after the tap
    expect(small.get_by_text("No signal.")).to_be_hidden()
    expect(small.get_by_text("No signal.")).to_be_visible(timeout=4_000)
    line.hangs = False
    arrived(small, site, player, 1)


def test_the_browser_is_asked_once_to_keep_what_is_stored(small: Page, site: Site) -> None:
    small.add_init_script(
        "const asked = 'asked'; StorageManager.prototype.persist = () => {"
        " sessionStorage.setItem(asked, Number(sessionStorage.getItem(asked)) + 1); return Promise.resolve(true); };"
    )
    player = site.next_player()
    set_id = site.send(player)
    sign_in(small, site, player)
    for n in range(2):
        small.goto(f"{site.address}/home")
        small.locator(f'form[action="/sets/{set_id}/open"] button').tap()
        wait_for_rep(small)
        choose(small, site)
        expect(small.locator(".verdict")).to_be_visible()
        assert small.evaluate("sessionStorage.getItem('asked')") == "1", n


def test_a_tap_that_waits_says_so_and_counts_once(
    device: Callable[..., BrowserContext], site: Site, line: Line
) -> None:
    page = device(**SMALL, service_workers="block").new_page()
    player = site.next_player()
    set_id = site.send(player)
    sign_in(page, site, player, line.address)
    page.wait_for_load_state("networkidle")
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.url) if request.method == "POST" else None)
    line.hangs = True
    start = page.locator(f'form[action="/sets/{set_id}/open"] button')
    start.tap()
    expect(start).to_have_text("Getting your reps")
    expect(start).to_have_attribute("aria-disabled", "true")
    start.dispatch_event("click")
    line.hangs = False
    wait_for_rep(page)
    assert [url for url in sent if url.endswith("/open")] == [f"{line.address}/sets/{set_id}/open"]
