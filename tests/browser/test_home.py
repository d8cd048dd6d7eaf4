"""The player's first screen on a phone: nothing due, one due, all done, many calls; practice in a tap, by keyboard."""

import random
from datetime import timedelta
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from sqlmodel import col

from quizgen.football.keys import slug
from server.database.tables import Answer, Assignment, Member, Purpose
from tests.browser.pages import poll, shown_rep, sign_in, start_set, wait_for_rep
from tests.browser.site import Site, now

pytestmark = pytest.mark.browser
WIDE = "document.documentElement.scrollWidth - innerWidth"


def remember(site: Site, player: Member, call: str, letters: str, days_ago: float) -> None:
    """Add answers at that time, r for right and w for wrong, over all stages and from both sides in turn."""
    reps = site.some(len(letters), calls=[call], positions=[player.positions[0]])
    chance = random.Random(f"{call}{days_ago}")
    set_id = site.lay_out(player, reps)
    at = now() - timedelta(days=days_ago)
    with site.store.write(site.team.id) as t:
        for n, letter in enumerate(letters):
            rep = reps[n]
            t.add(
                Answer(
                    team_id=t.team_id,
                    member_id=player.id,
                    id=f"{chance.randrange(16**20):020x}",
                    assignment_id=set_id,
                    place=n + 1,
                    rep_id=rep.id,
                    attempt=1,
                    chosen=["x"],
                    is_right=letter == "r",
                    is_late=False,
                    received_at=at + timedelta(minutes=n),
                    call=slug(call),
                    stage=n // 2 % 5 + 1,
                    side=("left", "right")[n % 2],
                    position=player.positions[0],
                    kind=rep.kind,
                    choices=6,
                )
            )
        one = t.get(Assignment, set_id)
        one.due_at = at + timedelta(days=1)
        t.add(one)


def answer(page: Page, parts: list[dict[str, Any]]) -> None:
    """Choose the right answer in each part of the current rep, and send it."""
    for number, part in enumerate(parts, start=1):
        page.locator(f'.choices[data-part="{number}"] input[value="{part["right"][0]}"]').evaluate(
            "one => { one.checked = true; one.dispatchEvent(new Event('change', { bubbles: true })); }"
        )
    page.locator("form.rep button[type=submit][aria-disabled=false]").tap()


def main_button(page: Page) -> str:
    """The text of the large button."""
    large = page.locator("main .button-large")
    assert large.count() == 1
    box = large.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] < 844  # without scrolling
    return large.inner_text()


def test_nothing_due_and_nothing_yet(site: Site, phone: Page) -> None:
    sign_in(phone, site, site.next_player())
    expect(phone.get_by_role("heading", level=1)).to_have_text("Nothing due")
    assert phone.locator("main button:not(.thumb)").count() == 0  # nothing to begin; which thumb is a setting
    assert phone.evaluate(WIDE) <= 0


def test_a_due_set_first_then_all_done_then_practice_of_his_own(site: Site, phone: Page) -> None:
    player = site.next_player()
    call = site.catalogue.team.pressures[0].name
    first = site.lay_out(player, site.some(2, calls=[call], positions=[player.positions[0]]))
    sign_in(phone, site, player)
    expect(phone.get_by_role("heading", level=1)).to_have_text(call)
    assert main_button(phone) == "Start"
    start_set(phone, first)
    for _ in range(2):
        answer(phone, site.parts(shown_rep(phone)))
        phone.locator(".verdict").wait_for()
        phone.locator(".bar a.button").tap()
        phone.wait_for_timeout(100)
    phone.get_by_role("link", name="Done").tap()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Nothing due")
    assert main_button(phone) == f"Practice {call}: 4 reps"
    phone.locator("main .button-large").tap()
    wait_for_rep(phone)
    expect(phone.locator(".set-number")).to_have_text("Rep 1 of 4")
    with site.store.read(site.team.id) as t:
        mine = t.rows(Assignment, col(Assignment.created_by) == player.id)
        assert [(one.purpose, one.player_ids) for one in mine] == [(Purpose.PRACTICE, [player.id])]
    answer(phone, site.parts(shown_rep(phone)))
    phone.locator(".verdict").wait_for()
    phone.goto(f"{site.address}/home")
    assert main_button(phone) == "Go on"
    due = site.send(player, call=call)
    phone.reload()
    expect(phone.locator(f'form[action="/sets/{due}/open"] .button-large')).to_be_visible()
    expect(phone.get_by_role("heading", name="Your practice")).to_be_visible()


def test_many_calls_each_in_plain_words(site: Site, phone: Page) -> None:
    player = site.next_player()
    calls = [one.name for one in site.catalogue.team.pressures]
    for days_ago in (46, 44, 42, 40):
        remember(site, player, calls[0], "r" * 18, days_ago)
    for days_ago in (7, 5, 3, 1):
        remember(site, player, calls[1], "r" * 18, days_ago)
    remember(site, player, calls[2], "w" * 8, 1)
    for call in calls[3:]:
        site.send(player, call=call)
    sign_in(phone, site, player)
    words = phone.locator("main").inner_text()
    assert "How far to yours" in words
    phone.locator("details.past summary").first.tap()
    words = phone.locator("main").inner_text()
    assert "faded" in words  # 40 days ago
    assert "now 12 of 12" in words  # the last twelve
    assert "0 of 8 right" in words
    assert "several more" in words
    assert phone.locator(".far li").count() == len(calls)
    assert phone.evaluate(WIDE) <= 0
    small = phone.locator("main button, main select, main summary, main .pick").evaluate_all(
        "all => all.filter(one => one.getBoundingClientRect().height < 44).map(one => one.outerHTML)"
    )
    assert small == []
    fading = phone.locator(".far li", has_text=calls[0])
    fading.get_by_role("button", name="Practice").tap()
    wait_for_rep(phone)
    expect(phone.get_by_role("heading", level=1)).to_have_text(calls[0])


def test_by_keyboard_alone(site: Site, laptop: Page) -> None:
    player = site.next_player()
    call = site.catalogue.team.pressures[0].name
    remember(site, player, call, "rrrrwwrr", 2)
    sign_in(laptop, site, player)
    laptop.get_by_label("Call", exact=True).focus()
    laptop.keyboard.press("Tab")
    laptop.keyboard.press("ArrowRight")
    expect(laptop.get_by_label("6", exact=True)).to_be_checked()
    laptop.keyboard.press("Tab")
    expect(laptop.get_by_role("button", name="Practice", exact=True).last).to_be_focused()
    laptop.keyboard.press("Enter")
    wait_for_rep(laptop)
    expect(laptop.locator(".set-number")).to_have_text("Rep 1 of 6")


def test_a_practice_is_finished_without_signal(site: Site, phone: Page) -> None:
    player = site.next_player()
    call = site.catalogue.team.pressures[0].name
    remember(site, player, call, "rrww", 2)
    sign_in(phone, site, player)
    phone.locator("main .button-large").tap()
    wait_for_rep(phone)
    poll(phone, "document.documentElement.dataset.set === 'loaded'")
    before = len(site.answers(player))
    context: BrowserContext = phone.context
    context.set_offline(True)
    for n in range(4):
        answer(phone, site.parts(shown_rep(phone)))
        phone.get_by_role("heading", name="On this phone").wait_for()
        if n < 3:
            phone.get_by_role("button", name="Next rep").tap()
    assert len(site.answers(player)) == before
    context.set_offline(False)
    poll(phone, "['received', 'late'].includes(document.querySelector('.saved')?.dataset.state)")
    assert len(site.answers(player)) == before + 4
