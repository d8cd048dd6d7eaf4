"""The board in a browser: from a name to the missed rep, filtered by stage and side, current while a player answers, by
keyboard alone, nothing wider than the screen."""

import re

import pytest
from playwright.sync_api import Page, expect
from sqlmodel import col

from server.database.tables import Answer, Assignment, Member
from tests.browser.pages import answer, sign_in, sign_in_coach, start_set
from tests.browser.site import Site

pytestmark = pytest.mark.browser
SIZES = {"laptop": (1280, 800), "tablet": (820, 1180)}


@pytest.fixture
def missed(phone: Page, site: Site) -> tuple[Member, list]:
    """A player who missed the first of his two reps; his phone shows the second."""
    player = site.next_player()
    with site.store.write(site.team.id) as t:  # a cell is about the position that he plays
        row = t.get(Member, player.id)
        row.positions = ["mike"]
        t.add(row)
    reps = site.some(2, kinds=["moved-gap"], positions=["Mike"])
    set_id = site.lay_out(player, reps)
    sign_in(phone, site, player)
    start_set(phone, set_id)
    answer(phone, site.parts(reps[0].id), right=False)
    phone.locator(".verdict").wait_for()
    return player, reps


def name_of(page: Page, player: Member):
    return page.locator(".board a.name", has=page.locator(".jersey", has_text=re.compile(rf"^{player.number}$")))


def cell_of(page: Page, player: Member, call: str):
    return page.locator(f'.board a.cell[href="/coach/players/{player.id}?call={call}"] .count')


@pytest.mark.parametrize("size", SIZES)
def test_from_a_name_to_his_wrong_rep_in_two_clicks(device, site: Site, missed, size: str) -> None:
    player, reps = missed
    width, height = SIZES[size]
    page = device(viewport={"width": width, "height": height}, has_touch=size == "tablet").new_page()
    sign_in_coach(page, site)
    page.goto(f"{site.address}/coach/board?call={reps[0].call}")
    name_of(page, player).click()
    page.get_by_role("link", name="His 1 wrong rep").click()
    miss = page.locator("#missed .miss")
    expect(miss.get_by_role("heading")).to_have_text(reps[0].stem)
    expect(miss.get_by_role("heading")).to_be_in_viewport()
    assert miss.locator(".tap.is-chosen").count() == 1
    miss.get_by_text("What his answer leads to").click()
    expect(miss.locator("details[open] svg").first).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_filtered_by_stage_and_side(laptop: Page, site: Site, missed) -> None:
    player, reps = missed
    rep = reps[0]
    other = "left" if rep.to.value == "right" else "right"
    sign_in_coach(laptop, site)
    laptop.goto(f"{site.address}/coach/board?call={rep.call}")
    expect(cell_of(laptop, player, rep.keys.call)).to_contain_text("0 of 1")
    sides = laptop.get_by_role("navigation", name="Call to which side")
    sides.get_by_role("link", name=other).click()
    expect(sides.get_by_role("link", name=other)).to_have_attribute("aria-current", "true")
    expect(cell_of(laptop, player, rep.keys.call)).to_have_count(0)
    sides.get_by_role("link", name=rep.to.value).click()
    laptop.get_by_role("navigation", name="Stage").get_by_role("link", name=f"{int(rep.stage)} ").click()
    expect(cell_of(laptop, player, rep.keys.call)).to_contain_text("0 of 1")
    assert f"side={rep.to.value}" in laptop.url
    laptop.get_by_role("link", name=re.compile("^Assign to th")).click()
    expect(laptop.get_by_role("heading", level=1)).to_be_visible()
    assert f"stages={int(rep.stage)}" in laptop.url


def test_it_follows_a_set_while_it_is_answered(laptop: Page, phone: Page, site: Site, missed) -> None:
    player, reps = missed
    asked: list[int] = []
    laptop.clock.install()
    sign_in_coach(laptop, site)
    laptop.goto(f"{site.address}/coach/board?call={reps[0].call}")
    laptop.on("response", lambda reply: asked.append(reply.status) if "/coach/board" in reply.url else None)
    name = name_of(laptop, player)
    name.focus()
    scroll = laptop.locator(".scroll-tall")
    scroll.evaluate("one => { one.scrollTop = 120; one.dataset.same = 'yes' }")
    expect(laptop.locator("#live [data-live-text]")).to_contain_text("answer")
    phone.locator(".bar a.button").tap()
    answer(phone, site.parts(reps[1].id))
    phone.locator(".verdict").wait_for()
    laptop.clock.run_for(11_000)
    expect(cell_of(laptop, player, reps[1].keys.call)).to_contain_text(re.compile("1 of (1|2)"), timeout=25_000)
    expect(name).to_be_focused()
    assert scroll.evaluate("one => [one.scrollTop, one.dataset.same]") == [120, "yes"]
    assert laptop.locator("#live [data-live-text]").get_attribute("role") == "status"
    before = len(asked)
    with laptop.expect_response("**/coach/board*"):
        laptop.clock.run_for(11_000)
    assert set(asked[before:]) == {304}


def test_by_keyboard_alone(laptop: Page, site: Site, missed) -> None:
    player, reps = missed
    sign_in_coach(laptop, site)
    laptop.goto(f"{site.address}/coach/board?call={reps[0].call}")
    laptop.get_by_label("Group").focus()
    own = f"/coach/players/{player.id}?call={reps[0].keys.call}"
    for _ in range(400):
        laptop.keyboard.press("Tab")
        if laptop.evaluate("document.activeElement.getAttribute('href')") == own:
            break
    laptop.keyboard.press("Enter")
    expect(laptop.get_by_role("heading", level=1)).to_have_text(f"#{player.number} {player.name}")
    laptop.get_by_role("link", name="His 1 wrong rep").focus()
    laptop.keyboard.press("Enter")
    expect(laptop.locator("#missed .miss").first).to_be_in_viewport()


@pytest.mark.parametrize("width", [1280, 820, 390])
def test_nothing_is_wider_than_the_screen_and_name_and_call_stay_in_sight(
    device, site: Site, missed, width: int
) -> None:
    player, reps = missed
    page = device(viewport={"width": width, "height": 800}).new_page()
    sign_in_coach(page, site)
    for path in (
        f"/coach/board?call={reps[0].call}",
        f"/coach/call?name={reps[0].call}",
        f"/coach/players/{player.id}?call={reps[0].call}",
    ):
        page.goto(site.address + path)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), path
    page.goto(f"{site.address}/coach/board")
    page.locator(".scroll-tall").evaluate("one => one.scrollTo(300, 300)")
    left = page.locator(".scroll-tall").bounding_box()
    corner = page.locator(".board thead th").first.bounding_box()
    assert left is not None
    assert corner is not None
    assert abs(corner["x"] - left["x"]) <= 3
    assert abs(corner["y"] - left["y"]) <= 3


def answer_every_call(site: Site, player: Member) -> None:
    """His answer again for each other call: a call that nobody was asked about has no column."""
    with site.store.write(site.team.id) as t:
        given = t.first(Answer, col(Answer.member_id) == player.id)
        assert given is not None
        for n, call in enumerate(one.key for one in site.catalogue.team.pressures if one.key != given.call):
            t.add(Answer(**given.model_dump() | {"id": f"{given.id}{n}"[-24:], "call": call, "attempt": n + 2}))


def test_what_to_rep_next_is_two_clicks_from_signing_in(laptop: Page, device, site: Site, missed) -> None:
    """The strip says what to rep and one tap assigns it; a thumb that taps twice assigns it once. Ten players are on
    the first screen of a laptop, the first one on that of a phone."""
    for one in range(2):
        other = site.next_player()
        site.lay_out(other, missed[1])
        with site.store.write(site.team.id) as t:
            given = t.first(Answer, col(Answer.is_right).is_(False))
            assert given is not None
            row = t.get(Member, other.id)
            row.positions = ["mike"]
            t.add(row, Answer(**given.model_dump() | {"id": f"again-{one}-{other.id}"[:40], "member_id": other.id}))
    sign_in_coach(laptop, site)
    laptop.set_viewport_size({"width": 1366, "height": 768})
    laptop.reload()
    names = laptop.locator(".board a.name").evaluate_all(
        "all => all.filter(one => one.getBoundingClientRect().bottom <= innerHeight).length"
    )
    assert names >= 9
    strip = laptop.locator("#rep-next")
    expect(strip).to_contain_text("asked are not there")
    strip.get_by_role("button").dblclick()
    laptop.wait_for_url("**/coach/sets/*")
    with site.store.read(site.team.id) as t:
        sent = [one for one in t.rows(Assignment) if one.player_ids and one.created_by == site.coach.id]
    assert len(sent) == 1
    phone = device(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True).new_page()
    sign_in_coach(phone, site)
    box = phone.locator(".board a.name").first.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] <= 844
    cell = phone.locator(".board a.cell").first
    cell.tap()
    expect(phone.locator("#reason")).to_contain_text("right")
    assert "/coach/board" in phone.url
    cell.tap()
    phone.wait_for_url("**/coach/players/**")


@pytest.mark.parametrize(("width", "least"), [(1280, 6), (1440, 7), (1024, 7)])
def test_most_calls_are_in_sight_and_a_cell_that_has_the_focus_is_not_under_the_names(
    device, site: Site, missed, width: int, least: int
) -> None:
    player, reps = missed
    answer_every_call(site, player)
    page = device(viewport={"width": width, "height": 800}).new_page()
    sign_in_coach(page, site)
    page.goto(f"{site.address}/coach/board?call={reps[0].call}")
    board = page.locator(".scroll-tall").bounding_box()
    assert board is not None
    rights = page.locator(".board thead th").evaluate_all("all => all.map(one => one.getBoundingClientRect().right)")
    assert sum(right <= board["x"] + board["width"] for right in rights) - 1 >= least
    cell = page.locator(f'.board a.cell[href="/coach/players/{player.id}?call={reps[0].keys.call}"]')
    page.locator(".scroll-tall").evaluate("one => one.scrollTo(9999, 0)")
    cell.focus()
    names, focused = page.locator(".board thead th").first.bounding_box(), cell.bounding_box()
    assert names is not None
    assert focused is not None
    assert focused["x"] >= names["x"] + names["width"] - 1
    assert focused["y"] >= names["y"] + names["height"] - 1
