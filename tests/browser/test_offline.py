"""Bad signal: answers are stored on the phone and reach the server exactly once."""

import pytest
from playwright.sync_api import Page, Route, expect

from server.accounts.sessions import end_sessions
from tests.browser.pages import answer, poll, shown_rep, sign_in, sign_out, start_set, wait_for_rep
from tests.browser.site import PIN, Site
from tests.harness.chromium import INSECURE_HOST

pytestmark = pytest.mark.browser


def begin(phone: Page, site: Site, count: int, address: str = ""):
    player = site.next_player()
    reps = site.some(count, kinds=["track"])
    set_id = site.lay_out(player, reps)
    sign_in(phone, site, player, address)
    start_set(phone, set_id)
    return player, reps, set_id


def test_a_loaded_set_is_finished_without_signal_and_sent_later(phone: Page, site: Site) -> None:
    player, reps, _ = begin(phone, site, 3)
    phone.context.set_offline(True)
    for number, rep in enumerate(reps, start=1):
        assert shown_rep(phone) == rep.id
        answer(phone, site.parts(rep.id))
        expect(phone.get_by_role("heading", name="On this phone")).to_be_visible()
        word = "answer" if number == 1 else "answers"
        expect(phone.get_by_role("status")).to_contain_text(f"{number} {word} on this phone")
        if number < len(reps):
            phone.get_by_role("button", name="Next rep").tap()
    expect(phone.get_by_text("That was the last one")).to_be_visible()
    assert site.answers(player) == []
    phone.context.set_offline(False)
    expect(phone.locator(".verdict h2")).to_have_text("That is it")
    expect(phone.get_by_role("status")).to_have_text("Received: 2 of 2 right. Why is at the end of the set.")
    assert site.answers(player) == [(1, True), (2, True), (3, True)]


def miss_all_without_signal(phone: Page, site: Site):
    """A set of two reps that are repeated when missed, both missed without signal."""
    player = site.next_player()
    first, second, guise, other = site.some(4, kinds=["track"])
    set_id = site.lay_out(player, [first, second], [guise, other])
    sign_in(phone, site, player)
    start_set(phone, set_id)
    poll(phone, "navigator.serviceWorker.controller")
    phone.reload()
    wait_for_rep(phone)
    poll(phone, "document.documentElement.dataset.set === 'loaded'")
    phone.context.set_offline(True)
    answer(phone, site.parts(first.id), right=False)
    expect(phone.get_by_text("Right or wrong shows then")).to_be_visible()
    phone.get_by_role("button", name="Next rep").tap()
    answer(phone, site.parts(second.id), right=False)
    expect(phone.get_by_text("That was the last one")).to_be_visible()
    return player, guise, other, set_id


def test_misses_without_signal_are_repeated_once_there_is_signal(phone: Page, site: Site) -> None:
    player, guise, other, set_id = miss_all_without_signal(phone, site)
    phone.context.set_offline(False)
    expect(phone.locator(".verdict h2")).to_have_text("Not that one")
    expect(phone.get_by_role("status")).to_have_text("Received: 0 of 1 right. Why is at the end of the set.")
    expect(phone.locator(".set-number")).to_have_text("Rep 2 of 2")
    for number, rep in ((1, guise), (2, other)):
        phone.locator(".bar a.button").tap()
        expect(phone.locator(".set-number")).to_have_text(f"Rep {number} of 2 that come back")
        assert shown_rep(phone) == rep.id
        answer(phone, site.parts(rep.id))
        expect(phone.locator(".verdict h2")).to_have_text("That is it")
    phone.get_by_role("link", name="See how you did").tap()
    phone.wait_for_url(f"**/sets/{set_id}")
    assert site.answers(player) == [(1, False), (2, False), (3, True), (4, True)]


def test_after_a_reload_without_signal_the_page_continues_once_there_is_signal(phone: Page, site: Site) -> None:
    player, guise, _, _ = miss_all_without_signal(phone, site)
    phone.reload()
    expect(phone.get_by_text("That was the last one")).to_be_visible()
    phone.context.set_offline(False)  # a reloaded page gets no online event here; the next try finds out
    expect(phone.get_by_role("heading", name="Your answers are in")).to_be_visible(timeout=25_000)
    expect(phone.get_by_text("That was the last one")).to_be_hidden()
    expect(phone.get_by_role("status")).to_have_text("Received: 0 of 2 right. Why is at the end of the set.")
    phone.get_by_role("button", name="Next rep").tap()
    assert shown_rep(phone) == guise.id
    assert site.answers(player) == [(1, False), (2, False)]


def test_reps_answered_in_another_tab_are_not_asked_again(phone: Page, site: Site) -> None:
    player, reps, set_id = begin(phone, site, 2)
    other = phone.context.new_page()
    other.goto(f"{site.address}/sets/{set_id}/reps/1")
    wait_for_rep(other)
    phone.context.set_offline(True)
    parts = site.parts(reps[0].id)
    answer(phone, parts)
    expect(phone.get_by_role("heading", name="On this phone")).to_be_visible()
    answer(other, parts, right=False)
    expect(other.get_by_role("heading", name="On this phone")).to_be_visible()
    phone.context.set_offline(False)
    for page in (phone, other):
        page.evaluate("dispatchEvent(new Event('online'))")
        expect(page.locator(".verdict")).to_be_visible()
    [(place, _)] = site.answers(player)
    assert place == 1
    assert phone.locator(".verdict h2").inner_text() == other.locator(".verdict h2").inner_text()


def test_a_reload_without_signal_continues_the_set(phone: Page, site: Site) -> None:
    player, reps, set_id = begin(phone, site, 3)
    poll(phone, "navigator.serviceWorker.controller")
    phone.reload()  # now the worker has cached the page and its files
    wait_for_rep(phone)
    poll(phone, "document.documentElement.dataset.set === 'loaded'")
    phone.context.set_offline(True)
    answer(phone, site.parts(reps[0].id))
    phone.get_by_role("button", name="Next rep").tap()
    phone.reload()
    wait_for_rep(phone)
    poll(phone, f"document.querySelector('form.rep')?.dataset.rep === '{reps[1].id}'")
    answer(phone, site.parts(reps[1].id), right=False)
    expect(phone.get_by_role("status")).to_contain_text("2 answers on this phone")
    phone.context.set_offline(False)  # a reloaded page gets no online event here; the next try finds out
    expect(phone.locator(".verdict h2")).to_have_text("Not that one", timeout=25_000)
    expect(phone.get_by_role("status")).to_have_text("Received: 1 of 1 right. Why is at the end of the set.")
    assert site.answers(player) == [(1, True), (2, False)]
    phone.goto(f"{site.address}/sets/{set_id}/reps/3")
    assert shown_rep(phone) == reps[2].id


def test_from_home_without_signal_the_set_continues(phone: Page, site: Site) -> None:
    player, reps, set_id = begin(phone, site, 3)
    poll(phone, "navigator.serviceWorker.controller")
    phone.reload()  # now the worker has cached the page and its files
    wait_for_rep(phone)
    poll(phone, "document.documentElement.dataset.set === 'loaded'")
    answer(phone, site.parts(reps[0].id))
    expect(phone.locator(".verdict h2")).to_have_text("That is it")
    phone.goto(f"{site.address}/home")
    phone.context.set_offline(True)
    go_on = phone.locator(f'form[action="/sets/{set_id}/open"] button')
    for rep in reps[1:]:
        phone.goto(f"{site.address}/home")
        go_on.tap()
        wait_for_rep(phone)
        poll(phone, f"document.querySelector('form.rep')?.dataset.rep === '{rep.id}'")
        answer(phone, site.parts(rep.id))
        expect(phone.get_by_role("heading", name="On this phone")).to_be_visible()
    phone.context.set_offline(False)
    phone.goto(f"{site.address}/home")
    # Sent by this page or, just before it was left, by the last one.
    for _ in range(100):
        if len(site.answers(player)) == 3:
            break
        phone.wait_for_timeout(50)
    assert site.answers(player) == [(1, True), (2, True), (3, True)]
    expect(phone.get_by_role("status").first).not_to_contain_text("not sent")


def test_an_answer_while_the_set_still_loads_keeps_its_verdict(device, site: Site) -> None:
    small = {"width": 390, "height": 844}
    phone = device(viewport=small, has_touch=True, is_mobile=True, service_workers="block").new_page()
    player = site.next_player()
    reps = site.some(2, kinds=["track"])
    set_id = site.lay_out(player, reps)
    sign_in(phone, site, player)
    held: list[Route] = []
    phone.route(f"**/api/sets/{set_id}", lambda route: held.append(route))
    phone.locator(f'form[action="/sets/{set_id}/open"] button').tap()
    wait_for_rep(phone)
    answer(phone, site.parts(reps[0].id))
    expect(phone.locator(".verdict h2")).to_have_text("That is it")
    assert held
    for route in held:
        route.continue_()
    poll(phone, "document.documentElement.dataset.set === 'loaded'")
    phone.wait_for_timeout(200)
    expect(phone.locator(".verdict h2")).to_have_text("That is it")


def test_a_page_that_opened_without_the_worker_gets_it(phone: Page, site: Site) -> None:
    begin(phone, site, 1)
    poll(phone, "navigator.serviceWorker.controller")
    # A hard reload opens the page without the worker, like a page that loads while the worker starts.
    phone.context.new_cdp_session(phone).send("Page.reload", {"ignoreCache": True})
    wait_for_rep(phone)
    poll(phone, "navigator.serviceWorker.controller")


def test_a_lost_reply_does_not_count_twice(phone: Page, site: Site) -> None:
    player, reps, _ = begin(phone, site, 2)
    lost: list[int] = []

    def lose_the_reply(route: Route) -> None:
        lost.append(route.fetch().status)
        route.abort()

    phone.route("**/answers/*", lose_the_reply, times=1)
    answer(phone, site.parts(reps[0].id))
    expect(phone.get_by_role("heading", name="On this phone")).to_be_visible()
    assert lost == [201]
    phone.evaluate("dispatchEvent(new Event('online'))")
    expect(phone.locator(".verdict h2")).to_have_text("That is it")
    assert site.answers(player) == [(1, True)]


def test_the_first_of_two_tabs_counts(phone: Page, site: Site) -> None:
    player, reps, set_id = begin(phone, site, 2)
    other = phone.context.new_page()
    other.goto(f"{site.address}/sets/{set_id}/reps/1")
    wait_for_rep(other)
    parts = site.parts(reps[0].id)
    answer(phone, parts)
    expect(phone.locator(".verdict h2")).to_have_text("That is it")
    answer(other, parts, right=False)
    expect(other.get_by_text("You had answered this rep before")).to_be_visible()
    expect(other.locator(".verdict h2")).to_have_text("That is it")
    assert site.answers(player) == [(1, True)]


def test_a_phone_whose_storage_was_cleared_goes_on_from_the_server(phone: Page, site: Site) -> None:
    player, reps, _ = begin(phone, site, 2)
    answer(phone, site.parts(reps[0].id))
    expect(phone.locator(".verdict h2")).to_have_text("That is it")
    phone.evaluate("indexedDB.deleteDatabase('gapsound')")
    phone.evaluate("caches.keys().then(names => Promise.all(names.map(name => caches.delete(name))))")
    phone.goto(f"{site.address}/home")
    phone.get_by_role("button", name="Go on").tap()
    wait_for_rep(phone)
    assert shown_rep(phone) == reps[1].id
    assert site.answers(player) == [(1, True)]


def test_the_next_player_on_this_phone_sends_nothing_of_the_first(phone: Page, site: Site) -> None:
    first, reps, _ = begin(phone, site, 2)
    phone.route("**/answers/*", lambda route: route.abort())
    answer(phone, site.parts(reps[0].id))
    expect(phone.get_by_role("status")).to_contain_text("1 answer on this phone")
    phone.goto(f"{site.address}/home")
    sign_out(phone)
    phone.unroute("**/answers/*")
    second = site.next_player()
    sign_in(phone, site, second)
    poll(phone, "document.documentElement.classList.contains('has-script')")
    phone.wait_for_timeout(500)
    assert site.answers(first) == []
    assert site.answers(second) == []
    sign_out(phone)
    sign_in(phone, site, first)
    expect(phone.get_by_role("status")).to_have_text("Received.")
    assert site.answers(first) == [(1, True)]


def test_cached_pages_of_a_signed_out_player_are_not_shown_to_the_next(phone: Page, site: Site) -> None:
    """After a new PIN from the coach, the phone asks for it, and another player signs in on it."""
    first, _, set_id = begin(phone, site, 1)
    poll(phone, "navigator.serviceWorker.controller")
    phone.goto(f"{site.address}/sets/{set_id}")
    kept = "caches.open('gapsound-pages-1').then(kept => kept.keys()).then(all => all.map(one => one.url))"
    assert [url for url in phone.evaluate(kept) if set_id in url]
    with site.store.write(site.team.id) as t:
        end_sessions(t, first.id)
    sign_in(phone, site, site.next_player())
    assert not [url for url in phone.evaluate(kept) if set_id in url]


def test_after_a_new_pin_stored_answers_are_sent_once_he_signs_in(phone: Page, site: Site) -> None:
    player, reps, set_id = begin(phone, site, 3)
    with site.store.write(site.team.id) as t:
        end_sessions(t, player.id)
    answer(phone, site.parts(reps[0].id))
    expect(phone.get_by_text("You were signed out")).to_be_visible()
    expect(phone.get_by_text("No signal")).to_be_hidden()
    phone.get_by_role("button", name="Next rep").tap()
    answer(phone, site.parts(reps[1].id), right=False)
    expect(phone.get_by_role("status")).to_contain_text("2 answers on this phone")
    phone.get_by_role("link", name="Sign in").tap()
    phone.get_by_label("Your number").fill(str(player.number))
    phone.get_by_label("PIN").fill(PIN)
    phone.get_by_role("button", name="Sign in").tap()
    expect(phone.get_by_role("status")).to_have_text("Received.")
    assert site.answers(player) == [(1, True), (2, False)]
    phone.locator(f'form[action="/sets/{set_id}/open"] button').tap()
    wait_for_rep(phone)
    assert shown_rep(phone) == reps[2].id


def test_without_https_it_works_and_says_what_is_missing(phone: Page, site: Site) -> None:
    address = site.address.replace("127.0.0.1", INSECURE_HOST)
    player, reps, _ = begin(phone, site, 2, address)
    assert phone.evaluate("isSecureContext") is False
    expect(phone.get_by_text("This address has no HTTPS")).to_be_visible()
    phone.context.set_offline(True)
    answer(phone, site.parts(reps[0].id))
    phone.get_by_role("button", name="Next rep").tap()
    answer(phone, site.parts(reps[1].id))
    phone.context.set_offline(False)
    expect(phone.locator(".verdict h2")).to_have_text("That is it")
    assert site.answers(player) == [(1, True), (2, True)]
