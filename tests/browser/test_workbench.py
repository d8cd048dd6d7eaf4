"""A coach changes a call on the field: each change is answered at once, taken back, made again, installed, brought
back; by mouse, by keyboard alone, without a script; and two coaches at once."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from server.accounts.credentials import hash_passphrase
from server.accounts.members import add_coach
from server.accounts.sessions import Viewer
from server.database.tables import AccountRole
from server.playbook.workbench import call_row, show_edit
from server.team.draft import load_draft, newest_number, store_edit
from tests.browser.pages import sign_in_coach
from tests.browser.site import PASSPHRASE, Site, now

pytestmark = pytest.mark.browser
CALL = "/coach/defense/calls/moraine"


def open_call(page: Page, site: Site, query: str = "") -> None:
    page.goto(f"{site.address}{CALL}{query}")
    page.locator(".sound-number").wait_for()


def sound(page: Page) -> int:
    return int(page.locator(".sound-number strong").inner_text())


def is_chosen(page: Page, field: str, value: str) -> None:
    expect(page.locator(f"#{field}")).to_have_value(value)


def test_a_change_is_answered_on_the_field_and_can_be_taken_back_and_installed(site: Site, laptop: Page) -> None:
    sign_in_coach(laptop, site)
    open_call(laptop, site, "?to=right")
    before = sound(laptop)
    laptop.locator(".gs-link[aria-label='Will']").click()
    expect(laptop.locator("#panel h2")).to_have_text("Will")
    expect(laptop.locator(".told-line")).to_contain_text("Bay")
    laptop.locator("#gap").focus()
    laptop.locator("#gap").select_option("to C")
    expect(laptop.locator(".draft-state")).to_have_text("Draft: 1 change")
    expect(laptop.locator(".told-line")).to_contain_text("Cedar")
    assert sound(laptop) < before  # two men in one gap leave another
    expect(laptop.locator(".sound-strip")).to_contain_text("with this draft")
    expect(laptop.locator("#gap")).to_be_focused()
    laptop.get_by_role("button", name=re.compile("^Undo")).click()
    is_chosen(laptop, "gap", "to B")
    expect(laptop.locator(".draft-state")).to_have_text("As installed")
    assert sound(laptop) == before
    laptop.get_by_role("button", name=re.compile("^Redo")).click()
    is_chosen(laptop, "gap", "to C")
    laptop.get_by_role("link", name="Install", exact=True).click()
    expect(laptop.locator("table.told tbody tr").first).to_contain_text(re.compile("Will.*Bay.*Cedar"))
    laptop.get_by_label("A word for the staff").fill("Will outside")
    laptop.get_by_role("button", name=re.compile("^Install for")).click()
    row = laptop.locator("table.versions tbody tr").first
    expect(row).to_contain_text("Will outside")
    expect(laptop.locator(".edits")).to_contain_text("rush (Will)")
    laptop.get_by_role("button", name=re.compile("^Bring version 1 back")).click()
    expect(laptop.locator("table.told tbody tr").first).to_contain_text(re.compile("Will.*Cedar.*Bay"))
    laptop.get_by_role("button", name=re.compile("^Install for")).click()
    expect(laptop.locator("table.versions tbody tr")).to_have_count(3)


def test_where_a_man_stands_is_moved_by_half_yards(site: Site, laptop: Page) -> None:
    sign_in_coach(laptop, site)
    open_call(laptop, site, "?man=mike")
    depth = float(laptop.locator("#depth").input_value())
    laptop.get_by_role("button", name="Deeper").click()
    is_chosen(laptop, "depth", f"{depth + 0.5:g}")
    laptop.get_by_role("button", name="Out", exact=True).click()
    is_chosen(laptop, "out", "0.5")
    expect(laptop.locator(".draft-state")).to_have_text("Draft: 2 changes")
    for _ in range(2):
        laptop.get_by_role("button", name=re.compile("^Undo")).click()
        expect(laptop.locator("#panel h2")).to_have_text("Mike")
    expect(laptop.locator(".draft-state")).to_have_text("As installed")


def test_a_man_without_a_depth_of_his_own_moves_from_where_he_stands(site: Site, laptop: Page) -> None:
    sign_in_coach(laptop, site)
    open_call(laptop, site, "?man=nose")
    is_chosen(laptop, "depth", "")
    stands = float(laptop.locator("input[name=stands_depth]").input_value())
    laptop.get_by_role("button", name="Deeper").click()
    expect(laptop.locator("#depth")).not_to_have_value("")
    assert abs(float(laptop.locator("#depth").input_value()) - (stands + 0.5)) <= 0.25  # to the next half yard
    laptop.get_by_role("button", name=re.compile("^Undo")).click()
    expect(laptop.locator(".draft-state")).to_have_text("As installed")


def test_nothing_typed_is_lost_when_it_is_refused(site: Site, laptop: Page) -> None:
    sign_in_coach(laptop, site)
    open_call(laptop, site, "?man=will")
    laptop.locator("#shows_on").evaluate("one => { one.closest('details').open = true; }")
    laptop.locator("#shows_on").select_option("on guard")  # a landmark needs a depth
    expect(laptop.get_by_role("alert")).to_contain_text("depth")
    is_chosen(laptop, "shows_on", "on guard")
    expect(laptop.locator(".draft-state")).to_have_text("As installed")


def test_what_the_page_does_not_ask_stays_when_something_else_is_changed(site: Site, laptop: Page) -> None:
    place = {"on": "last man", "side": "to", "shade": "outside", "depth": 2}
    make = show_edit("moraine", "sam", place)
    with site.store.write(site.team.id) as t:
        assert store_edit(t, Viewer(site.team, site.coach, ""), make, newest_number(t), now())
    sign_in_coach(laptop, site)
    open_call(laptop, site, "?man=sam")
    laptop.locator("#cover").select_option("hook")
    expect(laptop.locator(".draft-state")).to_have_text("Draft: 2 changes")
    with site.store.read(site.team.id) as t:
        row = call_row(load_draft(t).replayed.documents, "moraine")
    assert row["show"] == [{"position": "Sam", **place}]
    for _ in range(2):
        laptop.get_by_role("button", name=re.compile("^Undo")).click()
    expect(laptop.locator(".draft-state")).to_have_text("As installed")


def test_what_can_not_be_stays_a_draft_that_says_why(site: Site, laptop: Page) -> None:
    sign_in_coach(laptop, site)
    open_call(laptop, site, "?man=sam")
    laptop.locator("#job").select_option("fill")
    expect(laptop.locator(".problem-list")).to_contain_text("Sam")
    laptop.goto(f"{site.address}/coach/defense/install")
    expect(laptop.get_by_role("button", name=re.compile("^Install for"))).to_be_disabled()
    laptop.get_by_role("button", name=re.compile("^Undo")).click()
    expect(laptop.get_by_role("heading", name="Nothing waits to be installed")).to_be_visible()


def test_by_keyboard_alone(site: Site, laptop: Page) -> None:
    sign_in_coach(laptop, site)
    open_call(laptop, site)
    laptop.locator(".gs-link").first.focus()
    for _ in range(11):
        if laptop.evaluate("document.activeElement.getAttribute('aria-label')") == "Will":
            break
        laptop.keyboard.press("Tab")
    laptop.keyboard.press("Enter")
    expect(laptop.locator("#panel h2")).to_have_text("Will")
    laptop.locator("#path").focus()
    laptop.keyboard.type("loop")
    expect(laptop.locator(".draft-state")).to_have_text("Draft: 1 change")
    expect(laptop.locator("#path")).to_be_focused()
    laptop.get_by_role("button", name=re.compile("^Undo")).focus()
    laptop.keyboard.press("Enter")
    expect(laptop.locator(".draft-state")).to_have_text("As installed")


def test_without_a_script_and_on_a_phone(site: Site, device: Callable[..., BrowserContext]) -> None:
    page = device(viewport={"width": 390, "height": 844}, java_script_enabled=False).new_page()
    sign_in_coach(page, site)
    open_call(page, site)
    page.get_by_role("link", name=re.compile("^Will rushes")).click()
    page.locator("#order").select_option("3")
    page.get_by_role("button", name="Keep in the draft").click()
    is_chosen(page, "order", "3")
    expect(page.locator(".draft-state")).to_have_text("Draft: 1 change")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.get_by_role("button", name=re.compile("^Undo")).click()
    is_chosen(page, "order", "2")


def test_two_coaches_at_once(site: Site, device: Callable[..., BrowserContext]) -> None:
    first, second = (device(viewport={"width": 1280, "height": 800}).new_page() for _ in range(2))
    sign_in_coach(first, site)
    with site.store.write(site.team.id) as t:
        add_coach(t, "lee", AccountRole.COACH, hash_passphrase(PASSPHRASE), now())
    sign_in_coach(second, site, "lee")
    for page in (first, second):
        open_call(page, site, "?man=will")
    first.locator("#order").select_option("3")
    expect(first.locator(".draft-state")).to_have_text("Draft: 1 change")
    second.locator("#order").select_option("4")
    expect(second.get_by_role("heading", name="Another coach changed this too")).to_be_visible()
    expect(second.locator(".both")).to_contain_text(re.compile(r"order 3.*order 4", re.S))
    second.get_by_role("button", name="Keep mine").click()
    is_chosen(second, "order", "4")
    second.get_by_role("button", name=re.compile("^Undo")).click()
    is_chosen(second, "order", "3")
    first.reload()
    first.get_by_role("button", name=re.compile("^Undo")).click()
    expect(first.locator(".draft-state")).to_have_text("As installed")


def test_a_new_call_begins_as_a_copy_and_is_taken_out_again(site: Site, laptop: Page) -> None:
    sign_in_coach(laptop, site)
    open_call(laptop, site)
    laptop.get_by_text("A new call like this one").click()
    laptop.get_by_label("Name", exact=True).fill("Harrow")
    laptop.get_by_role("button", name="Add it").click()
    expect(laptop.get_by_role("heading", name="Harrow")).to_be_visible()
    laptop.get_by_text("Front, coverage, side").click()
    laptop.get_by_role("link", name="Take this call out").click()
    expect(laptop.get_by_text("Nothing else names it.")).to_be_visible()
    laptop.get_by_role("button", name="Take it out of the draft").click()
    for _ in range(2):
        laptop.get_by_role("button", name=re.compile("^Undo")).click()
    expect(laptop.get_by_role("heading", name="Nothing waits to be installed")).to_be_visible()
