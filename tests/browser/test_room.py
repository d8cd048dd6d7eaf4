"""The meeting room with one wall and six phones: one snap for all, each from his own man."""

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from sqlmodel import col

from server.database.meeting_tables import MeetingSnapShown
from server.database.tables import Answer, Assignment, Member, Purpose
from tests.browser.pages import sign_in, sign_in_coach, wait_for_rep
from tests.browser.site import Site

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.xdist_group("browser-room")]

PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


def start(wall: Page, site: Site, snaps: int) -> None:
    """Put the first snaps of the call that is offered on the wall."""
    sign_in_coach(wall, site)
    wall.get_by_role("link", name="Room").click()
    ticks = wall.locator("input[name=snaps]")
    for n in range(ticks.count()):
        ticks.nth(n).set_checked(n < snaps)
    wall.get_by_role("button", name="Put it on the wall").click()
    wall.wait_for_url("**/coach/room/*")


def come_in(device: Callable[..., BrowserContext], site: Site, player: Member) -> Page:
    page = device(**PHONE).new_page()
    sign_in(page, site, player)
    page.get_by_role("link", name="The room is on").click()
    page.get_by_role("button", name="I am in the room").click()
    page.wait_for_url("**/room")
    return page


def shown_snap(site: Site, place: int) -> MeetingSnapShown:
    with site.store.read(site.team.id) as t:
        sets = t.rows(
            Assignment, col(Assignment.purpose) == Purpose.MEETING, order_by=(col(Assignment.created_at).desc(),)
        )
        return t.get(MeetingSnapShown, sets[0].id, place)


def answer(page: Page, site: Site, player: Member, snap: MeetingSnapShown, *, is_right: bool) -> None:
    """Answer the question on this phone, and wait until the server has it."""
    wait_for_rep(page)
    form = page.locator("form.rep")
    rep = site.catalogue.rep(next(snap.reps[one] for one in player.positions if one in snap.reps))
    if form.locator(".list-toggle").is_visible():
        form.locator(".list-toggle").click()  # the words of what is tapped in the picture
    for n, part in enumerate(rep.parts):
        wanted = sorted(part.right)[0] if is_right else next(c.id for c in part.choices if c.id not in part.right)
        form.locator(f"input[name=choice_{n + 1}][value={wanted}]").check()
    form.locator("button[type=submit]").click()
    expect(page.get_by_text("Your answer is in")).to_be_visible()


def answers(site: Site, snap: MeetingSnapShown) -> list[Answer]:
    with site.store.read(site.team.id) as t:
        own = (col(Answer.assignment_id) == snap.assignment_id, col(Answer.place) == snap.place)
        return t.rows(Answer, *own)


def test_a_meeting(site: Site, laptop: Page, device: Callable[..., BrowserContext]) -> None:
    """The wall has the snap and a count until the fits are shown; then what the room took, and no names. What comes
    after the fits does not count; the next snap comes to every phone by itself."""
    start(laptop, site, 2)
    men = [site.next_player() for _ in range(6)]
    phones = [come_in(device, site, man) for man in men]
    snap = shown_snap(site, 1)
    expect(laptop.get_by_text("0 of 6 in")).to_be_visible()
    assert laptop.locator(".wall-list").count() == 0
    assert snap.offense not in laptop.locator("body").inner_text(), "the wall names the play before the fits"
    for n, page in enumerate(phones[:5]):
        answer(page, site, men[n], snap, is_right=n != 4)
    expect(laptop.get_by_text("5 of 6 in")).to_be_visible()
    stored = answers(site, snap)
    assert sorted(one.is_right for one in stored) == [False, True, True, True, True]

    late = phones[5].locator("form.rep")
    expect(late).to_be_visible()
    laptop.get_by_role("button", name="Show the fits").click()
    expect(laptop.locator(".wall-list")).to_be_visible()
    words = laptop.locator("body").inner_text()
    with site.store.read(site.team.id) as t:
        names = [t.get(Member, one.member_id).name for one in stored]
    assert not [name for name in names if f" {name}" in words], "a name beside an answer"
    expect(phones[0].get_by_role("heading", name="That is it")).to_be_visible()
    expect(phones[4].get_by_role("heading", name="Not that one")).to_be_visible()
    expect(phones[5].get_by_text("The fits are on the wall")).to_be_visible()
    assert len(answers(site, snap)) == 5

    laptop.reload()
    expect(laptop.locator(".wall-list")).to_be_visible()
    laptop.get_by_role("button", name="Next snap").click()
    second = shown_snap(site, 2)
    expect(laptop.get_by_text("2 of 2")).to_be_visible()
    expect(phones[5].locator("form.rep")).to_be_visible()
    answer(phones[5], site, men[5], second, is_right=True)
    laptop.get_by_role("button", name="End").click()
    expect(laptop.get_by_role("heading", name="how the room did")).to_be_visible()
    expect(phones[0].get_by_role("heading", name="No meeting is on")).to_be_visible()


def test_an_answer_aloud_and_a_late_one(site: Site, laptop: Page, phone: Page) -> None:
    """A man without a phone answers aloud; an answer sent after the fits gets one clear line and is not stored."""
    site.next_player()  # the first on the roster: his are the words said aloud
    start(laptop, site, 1)
    snap = shown_snap(site, 1)
    laptop.get_by_role("button", name="Answer aloud").click()
    said = laptop.locator(".wall-said")
    for fieldset in said.locator("fieldset").all():
        fieldset.locator("input").first.check()
    said.get_by_role("button", name="He said that").click()
    expect(laptop.get_by_text("1 of 1 in")).to_be_visible()
    assert len(answers(site, snap)) == 1

    player = site.next_player()
    sign_in(phone, site, player)
    phone.goto(f"{site.address}/room")
    phone.get_by_role("button", name="I am in the room").click()
    wait_for_rep(phone)
    form = phone.locator("form.rep")
    if form.locator(".list-toggle").is_visible():
        form.locator(".list-toggle").click()
    for fieldset in form.locator("fieldset.choices").all():
        fieldset.locator("input").first.check()
    phone.route("**/api/room", lambda route: route.abort())  # this phone has not heard yet
    laptop.get_by_role("button", name="Show the fits").click()
    expect(laptop.locator(".wall-list")).to_be_visible()
    form.locator("button[type=submit]").click()
    expect(phone.get_by_text("Answers that come after them don't count")).to_be_visible()
    assert len(answers(site, snap)) == 1
