"""The job from end to end: a player answers on his phone, the coach sees who isn't there yet."""

import re

import pytest
from playwright.sync_api import Page, expect

from quizgen.reps.kinds import KINDS
from server.database.tables import Member
from tests.browser.pages import answer, poll, shown_rep, sign_in, sign_in_coach, start_set, tap
from tests.browser.site import Site

pytestmark = pytest.mark.browser


def test_one_rep_of_each_kind_by_touch_and_the_miss_on_the_board(phone: Page, laptop: Page, site: Site) -> None:
    player = site.next_player()
    reps = site.one_of_each(list(KINDS))
    missed = reps[1]  # asks in two parts; the first is missed
    with site.store.write(site.team.id) as t:  # his cells are about the position that he plays
        row = t.get(Member, player.id)
        row.positions = [missed.keys.position]
        t.add(row)
    set_id = site.lay_out(player, reps)
    sign_in(phone, site, player)
    expect(phone.get_by_role("heading", level=1)).to_have_text(reps[0].call)
    start_set(phone, set_id)
    for number, rep in enumerate(reps, start=1):
        assert shown_rep(phone) == rep.id
        expect(phone.locator(".set-number")).to_have_text(f"Rep {number} of {len(reps)}")
        expect(phone.locator(".stem")).to_have_text(rep.stem)
        answer(phone, site.parts(rep.id), right=rep is not missed)
        expect(phone.locator(".verdict h2")).to_have_text("That is it" if rep is not missed else "One of two")
        phone.locator(".bar a.button").tap()
    counts = [f"{len(reps) - 1} at once", "0 missed, then got", "1 still open"]
    expect(phone.locator(".counts li")).to_have_text(counts)
    assert site.answers(player) == [(n, rep is not missed) for n, rep in enumerate(reps, start=1)]

    sign_in_coach(laptop, site)
    of_call = [rep for rep in reps if (rep.call, rep.position) == (missed.call, missed.position)]
    row = laptop.locator(".board tr", has=laptop.get_by_role("rowheader", name=re.compile(rf"^{player.number} ")))
    cell = row.locator(f'a[href$="call={missed.keys.call}"]')
    expect(cell.locator(".count")).to_contain_text(f"{len(of_call) - 1} of {len(of_call)}")
    cell.click()
    expect(laptop.get_by_role("heading", level=1)).to_have_text(f"#{player.number} {player.name}")
    miss = laptop.locator(".miss")
    expect(miss).to_have_count(1)
    expect(miss.get_by_role("heading")).to_have_text(missed.stem)


def test_a_missed_rep_comes_back_in_another_guise(phone: Page, site: Site) -> None:
    player = site.next_player()
    first, second, guise = site.some(3, kinds=["track"])
    set_id = site.lay_out(player, [first, second], [guise])
    sign_in(phone, site, player)
    start_set(phone, set_id)
    answer(phone, site.parts(first.id), right=False)
    expect(phone.locator(".set-number")).to_have_text("Rep 1 of 2")
    phone.locator(".bar a.button").tap()
    answer(phone, site.parts(second.id))
    phone.locator(".bar a.button").tap()
    assert shown_rep(phone) == guise.id
    answer(phone, site.parts(guise.id))
    phone.get_by_role("link", name="See how you did").tap()
    phone.wait_for_url(f"**/sets/{set_id}")
    expect(phone.locator(".counts li")).to_have_text(["1 at once", "1 missed, then got", "0 still open"])


def test_by_keyboard_alone(laptop: Page, site: Site) -> None:
    player = site.next_player()
    rep, other = site.some(2, kinds=["track"])
    set_id = site.lay_out(player, [rep, other])
    sign_in(laptop, site, player)
    laptop.goto(f"{site.address}/sets/{set_id}/reps/1")
    laptop.locator("form.rep button[aria-disabled]").wait_for()
    poll(laptop, "document.documentElement.dataset.set === 'loaded'")
    wanted = site.parts(rep.id)[0]["right"][0]
    focused = "document.activeElement.closest('.choices') && document.activeElement.value"
    for _ in range(12):
        laptop.keyboard.press("Tab")
        if laptop.evaluate(focused):
            break
    laptop.keyboard.press("Space")
    for _ in range(12):
        if laptop.evaluate(focused) == wanted:
            break
        laptop.keyboard.press("ArrowDown")
    expect(laptop.locator(f'.tap.is-chosen[data-choice="{wanted}"]')).to_have_count(1)
    expect(laptop.locator(".tap.is-focus")).to_have_count(1)
    laptop.keyboard.press("Enter")
    expect(laptop.locator(".verdict h2")).to_have_text("That is it")
    assert laptop.evaluate("document.activeElement.className") == "verdict"
    for _ in range(8):
        laptop.keyboard.press("Tab")
        if laptop.evaluate("document.activeElement.matches('.bar a')"):
            break
    laptop.locator(".bar a:not([aria-disabled])").wait_for()
    laptop.keyboard.press("Enter")
    expect(laptop.locator(".stem")).to_have_text(other.stem)
    assert laptop.evaluate("document.activeElement.className") == "stem"


def seen_taps(page: Page, part: int) -> list[str]:
    """The choices of a part that can currently be tapped."""
    of_part = f'[data-part="{part}"]' if part > 1 else ":not([data-part])"
    taps = page.locator(f".picture .tap{of_part}").evaluate_all(
        "all => all.filter(one => one.querySelector('.gs-hit').getBoundingClientRect().width)"
        ".map(one => one.dataset.choice)"
    )
    return list(taps)


@pytest.mark.parametrize("kind", ["hooked", "matchup", "order"])
def test_a_rep_of_two_parts_asks_one_at_a_time_and_the_first_can_be_changed(phone: Page, site: Site, kind: str) -> None:
    player = site.next_player()
    [rep] = site.one_of_each([kind])
    set_id = site.lay_out(player, [rep])
    sign_in(phone, site, player)
    start_set(phone, set_id)
    first, second = site.parts(rep.id)
    right, other = first["right"][0], next(c["id"] for c in first["choices"] if c["id"] not in first["right"])
    button = phone.locator("form.rep button[type=submit]")
    assert len(seen_taps(phone, 1)) >= 2
    assert seen_taps(phone, 2) == []
    expect(button).to_have_text(f"1/2 {first['prompt']}")
    tap(phone, other, 1)
    assert seen_taps(phone, 1) == [other]
    assert len(seen_taps(phone, 2)) >= 2
    expect(button).to_have_text(f"2/2 {second['prompt']}")
    phone.get_by_role("button", name=f"Change {first['prompt']}").tap()
    plates = seen_taps(phone, 1)
    assert len(plates) >= 2
    tap(phone, right, 1)
    assert seen_taps(phone, 1) == [one for one in plates if one == right]  # some choices are words alone
    checked = phone.locator('.choices[data-part="1"] input:checked')
    assert checked.evaluate_all("all => all.map(one => one.value)") == [right]
    wrong = next(c["id"] for c in second["choices"] if c["id"] not in second["right"])
    tap(phone, wrong, 2)
    button.tap()
    expect(phone.locator(".result-asked")).to_have_text([f"Right: {first['prompt']}", f"Missed: {second['prompt']}"])
    words = {c["id"]: c["label"] for part in (first, second) for c in part["choices"]}
    expect(phone.locator(".result-chosen")).to_have_text([words[wrong]])
    assert site.answers(player) == [(1, False)]
    said = phone.locator(".result-parts").inner_text()
    phone.goto(f"{site.address}/sets/{set_id}/reps/1")
    assert phone.locator(".result-parts").inner_text() == said


def test_two_parts_by_keyboard_alone(laptop: Page, site: Site) -> None:
    player = site.next_player()
    [rep] = site.one_of_each(["hooked"])
    set_id = site.lay_out(player, [rep])
    sign_in(laptop, site, player)
    start_set(laptop, set_id)
    focused = "`${document.activeElement.closest('.choices')?.dataset.part}${document.activeElement.value}`"
    for number, part in enumerate(site.parts(rep.id), start=1):
        for _ in range(12):
            laptop.keyboard.press("Tab")
            if laptop.evaluate(focused).startswith(str(number)):
                break
        laptop.keyboard.press("Space")
        for _ in range(12):
            if laptop.evaluate(focused) == f"{number}{part['right'][0]}":
                break
            laptop.keyboard.press("ArrowDown")
        expect(laptop.locator(".choices.is-asked")).to_have_attribute("data-part", str(number))
    laptop.keyboard.press("Enter")
    expect(laptop.locator(".verdict h2")).to_have_text("That is it")


def test_without_any_script(device, site: Site) -> None:
    player = site.next_player()
    reps = site.some(2, kinds=["track"])
    set_id = site.lay_out(player, reps)
    page = device(viewport={"width": 390, "height": 844}, java_script_enabled=False).new_page()
    sign_in(page, site, player)
    page.locator(f'form[action="/sets/{set_id}/open"] button').click()
    for rep in reps:
        part = site.parts(rep.id)[0]
        label = next(c["label"] for c in part["choices"] if c["id"] == part["right"][0])
        page.get_by_label(label, exact=True).check()
        page.get_by_role("button", name="Answer").click()
        expect(page.locator(".verdict h2")).to_have_text("That is it")
        page.locator(".bar a").click()
    assert site.answers(player) == [(1, True), (2, True)]


def test_from_the_board_to_a_sent_set(laptop: Page, site: Site) -> None:
    sign_in_coach(laptop, site)
    laptop.get_by_role("link", name=re.compile("^Assign .")).click()
    call = laptop.get_by_label("Call", exact=True).input_value()
    laptop.get_by_label("Reps", exact=True).fill("3")
    laptop.get_by_role("button", name=re.compile("^Send to ")).click()
    laptop.wait_for_url(re.compile("/coach/sets/."))
    expect(laptop.get_by_role("heading", level=1)).to_contain_text(f"{call.capitalize()}, 3 reps")
    laptop.get_by_role("link", name="Change it…").click()
    says = laptop.locator(".says")
    expect(says).to_have_text("Nothing would change.")
    laptop.locator(".who-players summary").click()
    laptop.locator("input[name='players']:checked").first.uncheck()
    expect(says).to_have_text(re.compile(r"Let off: #\d+ "))
    laptop.get_by_label("Reps", exact=False).fill("5")
    laptop.get_by_label("Reps", exact=False).press("Tab")
    expect(says).to_have_text(re.compile(r"5 reps instead of 3 for the \d+ who have not finished\.\s+Let off"))
    laptop.get_by_role("link", name="Leave it").click()
    laptop.get_by_role("link", name="Call it back…").click()
    laptop.get_by_role("button", name="Call it back").click()
    expect(laptop.get_by_role("heading", level=1)).to_contain_text("called back")
