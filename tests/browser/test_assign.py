"""Assigning a set in a browser: from the board in a few clicks and seconds, by keyboard, on every screen size; and a
check session on the phone that ends when the call is decided."""

import re
import time
from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, expect
from sqlmodel import col

from server.database.tables import Assignment, Member, PlayerSet, Purpose
from tests.browser.pages import answer, poll, shown_rep, sign_in, sign_in_coach, start_set
from tests.browser.site import Site

pytestmark = pytest.mark.browser
MOST_CLICKS, WITHIN_S = 5, 30.0
SCREENS = {"laptop": (1280, 800), "tablet": (820, 1180)}


def newest(site: Site) -> Assignment:
    """The newest set."""
    with site.store.read(site.team.id) as t:
        [row] = t.rows(Assignment, order_by=(col(Assignment.created_at).desc(),), limit=1)
        return row


class Clicks:
    """Clicks and counts them."""

    def __init__(self) -> None:
        self.count = 0

    def __call__(self, what: Locator) -> None:
        what.click()
        self.count += 1


@pytest.mark.parametrize("screen", SCREENS)
def test_from_the_board_to_a_sent_set_in_five_clicks(
    device: Callable[..., BrowserContext], site: Site, screen: str
) -> None:
    width, height = SCREENS[screen]
    page = device(viewport={"width": width, "height": height}).new_page()
    sign_in_coach(page, site)
    page.goto(f"{site.address}/coach/days")
    if page.get_by_role("button", name="Take it Thursday check").count():
        page.get_by_role("button", name="Take it Thursday check").click()
    page.goto(f"{site.address}/coach/board")
    start, click = time.monotonic(), Clicks()
    click(page.get_by_role("link", name=re.compile("^Assign .")).first)
    click(page.get_by_role("button", name="Thursday check"))
    expect(page.get_by_role("status")).to_have_text("Filled in as for Thursday check.")
    click(page.get_by_role("button", name=re.compile(r"^Only the \d+ who")))
    expect(page.locator(".samples .picture")).to_have_count(3)
    click(page.get_by_role("button", name=re.compile("^Send to ")))
    page.wait_for_url(re.compile("/coach/sets/."))
    took_s = time.monotonic() - start
    assert click.count <= MOST_CLICKS
    assert took_s < WITHIN_S
    sent = newest(site)
    assert (sent.purpose, sent.length) == (Purpose.CHECK, 9)
    assert sent.player_ids
    expect(page.get_by_role("heading", level=1)).to_contain_text(f"{sent.call.capitalize()}, check session")
    expect(page.get_by_text(f"it is for {len(sent.player_ids)} players")).to_be_visible()


def test_the_shortest_way_is_two_clicks(laptop: Page, site: Site) -> None:
    sign_in_coach(laptop, site)
    start, click = time.monotonic(), Clicks()
    click(laptop.get_by_role("link", name=re.compile("^Assign .")).first)
    expect(laptop.get_by_text("Ticked: the stage")).to_be_visible()
    click(laptop.get_by_role("button", name=re.compile("^Send to ")))
    laptop.wait_for_url(re.compile("/coach/sets/."))
    assert click.count == 2
    assert time.monotonic() - start < WITHIN_S


def test_another_call_loads_its_stages_and_samples(laptop: Page, site: Site) -> None:
    sign_in_coach(laptop, site)
    laptop.goto(f"{site.address}/coach/assign?call={site.catalogue.team.pressures[0].name}")
    other = site.catalogue.team.pressures[1].name
    before = laptop.locator(".samples").inner_html()
    laptop.get_by_label("Call", exact=True).focus()
    laptop.get_by_label("Call", exact=True).select_option(other)
    expect(laptop.locator("#at")).to_contain_text(f"of {other} now")
    expect(laptop.locator(".who-quick")).to_contain_text(other)
    assert laptop.locator(".samples").inner_html() != before
    assert laptop.evaluate("document.activeElement.id") == "call"
    # Stages that the coach ticked himself stay.
    for box in laptop.locator("#stages input").all():
        box.uncheck()
    laptop.get_by_label("4 Option and the perimeter").check()
    third = site.catalogue.team.pressures[2].name
    laptop.get_by_label("Call", exact=True).select_option(third)
    expect(laptop.locator("#at")).to_contain_text(f"of {third} now")
    ticked = laptop.locator("#stages input:checked").evaluate_all("all => all.map(one => one.value)")
    assert ticked == ["4"]


def test_from_nothing_a_group_gets_a_set_in_eight_taps_and_the_samples_follow(laptop: Page, site: Site) -> None:
    sign_in_coach(laptop, site)
    start, click = time.monotonic(), Clicks()
    click(laptop.get_by_role("link", name="Assign", exact=True))
    samples = laptop.locator(".samples")
    expect(samples.locator(".picture")).to_have_count(3)
    groups = laptop.locator(".group-pick")
    for other in groups.all()[1:]:
        click(other)
    first = laptop.locator(".who-group").first.locator("input[name='positions']:checked")
    names = [word.strip() for word in first.locator("xpath=..").all_inner_texts()]
    asked = re.compile("|".join(names))
    expect(samples.locator(".quiet")).to_have_text([asked] * 3)
    click(laptop.get_by_label("To our right"))
    expect(samples.locator(".quiet")).to_have_text([asked] * 3)
    click(laptop.locator("#send"))
    laptop.wait_for_url(re.compile("/coach/sets/."))
    assert click.count <= 8
    assert time.monotonic() - start < WITHIN_S
    sent = newest(site)
    groups_of = {one.key: one.group for one in site.catalogue.team.positions}
    assert len({groups_of[key] for key in sent.positions}) == 1
    assert sent.sides == ["left"]


def test_the_count_on_the_button_follows_what_is_ticked(laptop: Page, site: Site) -> None:
    sign_in_coach(laptop, site)
    laptop.goto(f"{site.address}/coach/assign")
    send = laptop.locator("#send")
    boxes = laptop.locator('input[name="positions"]')
    for box in boxes.all()[1:]:
        box.uncheck()
    first = boxes.first.get_attribute("value")
    with site.store.read(site.team.id) as t:
        count = sum(first in m.positions for m in t.rows(Member))
    expect(send).to_have_text(f"Send to {count} players" if count != 1 else "Send to 1 player")
    boxes.first.uncheck()
    expect(send).to_have_text("Send to 0 players")
    groups = laptop.locator(".group-pick")
    groups.first.click()
    expect(groups.first).to_have_attribute("aria-pressed", "true")
    ticked = set(laptop.locator("input[name='positions']:checked").evaluate_all("all => all.map((one) => one.value)"))
    assert ticked
    with site.store.read(site.team.id) as t:
        expect(send).to_have_text(f"Send to {sum(bool(ticked & set(m.positions)) for m in t.rows(Member))} players")
    groups.first.click()
    expect(send).to_have_text("Send to 0 players")
    laptop.locator(".who-players summary").click()
    laptop.locator('input[name="players"]').first.check()
    expect(send).to_have_text("Send to 1 player")


def test_by_keyboard_alone(laptop: Page, site: Site) -> None:
    sign_in_coach(laptop, site)
    laptop.get_by_role("link", name=re.compile("^Assign .")).first.focus()
    laptop.keyboard.press("Enter")
    laptop.wait_for_url("**/coach/assign*")
    sides = laptop.locator('input[name="sides"]')

    def tab_to(condition: str) -> None:
        for _ in range(80):
            laptop.keyboard.press("Tab")
            if laptop.evaluate(f"Boolean({condition})"):
                return
        raise AssertionError(f"the Tab key never got to {condition}")

    tab_to("document.activeElement.name === 'sides' && document.activeElement.value === 'right'")
    laptop.keyboard.press("Space")
    tab_to("document.activeElement.name === 'purpose'")
    laptop.keyboard.press("ArrowDown")
    expect(sides.last).not_to_be_checked()
    tab_to("document.activeElement.id === 'send'")
    assert laptop.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    laptop.keyboard.press("Enter")
    laptop.wait_for_url(re.compile("/coach/sets/."))
    sent = newest(site)
    assert (sent.sides, sent.purpose) == (["left"], Purpose.CHECK)


def test_the_form_on_a_phone(phone: Page, site: Site) -> None:
    sign_in_coach(phone, site)
    phone.goto(f"{site.address}/coach/assign?pick=behind")
    phone.locator(".who-players summary").tap()
    assert phone.evaluate("document.documentElement.scrollWidth") == 390
    small = phone.evaluate(
        """[...document.querySelectorAll('main a, main button:not(.unseen), main summary, main .pick, main select')]
           .map((one) => [one.textContent.trim(), one.getBoundingClientRect()])
           .filter(([, box]) => box.width && (box.height < 44 || box.width < 44)).map(([text]) => text)"""
    )
    assert [text for text in small if text != "Opponents"] == []  # a link in a line of text
    phone.get_by_label("Due", exact=False).fill("2020-01-01T12:00")
    phone.locator("#send").tap()
    expect(phone.get_by_role("alert")).to_contain_text("due: expected a day and time to come")
    expect(phone.get_by_label("Due", exact=False)).to_have_value("2020-01-01T12:00")


def send_check(page: Page, site: Site, player: Member) -> str:
    """Send a check to one player with the coach's form; return its id."""
    sign_in_coach(page, site)
    page.goto(f"{site.address}/coach/assign?players={player.id}&purpose=check")
    page.get_by_role("button", name="Send to 1 player").click()
    page.wait_for_url(re.compile("/coach/sets/."))
    return newest(site).id


def go_on(phone: Page, site: Site, count: int, *, right: bool) -> int:
    """Answer reps until the set ends, at most a given number; return how many it took."""
    for number in range(1, count + 1):
        answer(phone, site.parts(shown_rep(phone)), right=right)
        missed = re.compile("Not that one|One of two")
        expect(phone.locator(".verdict h2")).to_have_text("That is it" if right else missed)
        onward = phone.locator(".bar a.button")
        is_last = onward.text_content() == "See how you did"
        onward.tap()
        if is_last:
            return number
    return count


def copy_of(site: Site, set_id: str, player: Member) -> PlayerSet:
    """The player's copy of a set."""
    with site.store.read(site.team.id) as t:
        return t.get(PlayerSet, set_id, player.id)


#: A phone on which each rep takes as long as reading it: what is answered sooner counts less.
READS = "{ const now = performance.now.bind(performance); performance.now = () => now() * 50; }"


def test_a_check_on_the_phone_ends_when_the_call_is_decided(phone: Page, laptop: Page, site: Site) -> None:
    player = site.next_player()
    set_id = send_check(laptop, site, player)
    phone.add_init_script(READS)
    sign_in(phone, site, player)
    start_set(phone, set_id)
    expect(phone.locator(".set-number")).to_have_text("Rep 1, 9 at most")
    expect(phone).to_have_title(re.compile("Rep 1, 9 at most"))
    took = go_on(phone, site, 9, right=False)
    assert 4 <= took < 9
    expect(phone.get_by_role("heading", level=1)).to_have_text(re.compile(f"Not yours yet: 0 of {took}"))
    assert copy_of(site, set_id, player).state_after == "can't"
    laptop.reload()
    expect(laptop.get_by_text(f"Can't name it yet: 0 of {took}")).to_be_visible()


def test_a_check_finished_without_signal_keeps_every_answer(phone: Page, laptop: Page, site: Site) -> None:
    player = site.next_player()
    set_id = send_check(laptop, site, player)
    phone.add_init_script(READS)
    sign_in(phone, site, player)
    start_set(phone, set_id)
    phone.context.set_offline(True)
    for _ in range(9):
        answer(phone, site.parts(shown_rep(phone)), right=False)
        phone.get_by_role("heading", name="On this phone").wait_for()
        onward = phone.get_by_role("button", name="Next rep")
        if onward.is_visible():
            onward.tap()
    assert site.answers(player) == []
    phone.context.set_offline(False)
    phone.evaluate("dispatchEvent(new Event('online'))")
    is_in = "['received', 'late'].includes(document.querySelector('.saved')?.dataset.state)"
    poll(phone, f"document.querySelector('.verdict') || {is_in}")
    for _ in range(100):
        if len(site.answers(player)) == 9:
            break
        phone.wait_for_timeout(100)
    assert [place for place, _ in site.answers(player)] == list(range(1, 10))
    assert copy_of(site, set_id, player).state_after == "can't"
    phone.goto(f"{site.address}/sets/{set_id}")
    expect(phone.get_by_role("heading", level=1)).to_have_text(
        re.compile(r"Not yours yet: 0 of [4-8],.*; [1-5] more answered after it was decided, 0 right", re.DOTALL)
    )
