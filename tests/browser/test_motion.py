"""The snap in motion: play, step, scrub; stills with reduced motion."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.pages import answer, sign_in, start_set
from tests.browser.site import Site

pytestmark = pytest.mark.browser

PLACES = "all => all.map(one => one.getAttribute('transform')).join()"


def after_an_answer(page: Page, site: Site) -> None:
    player = site.next_player()
    rep = site.some(1, kinds=["moved-gap"])[0]
    set_id = site.lay_out(player, [rep])
    sign_in(page, site, player)
    start_set(page, set_id)
    answer(page, site.parts(rep.id))
    page.locator(".verdict").wait_for()


def test_it_autoplays_and_can_be_stepped_and_scrubbed(phone: Page, site: Site) -> None:
    after_an_answer(phone, site)
    men = phone.locator(".moves [data-k]")
    time, end = phone.get_by_label("Time after the snap"), phone.locator(".moves svg.gs").get_attribute("data-end")
    start = men.evaluate_all(PLACES)
    expect(time).to_have_value(str(float(end)).removesuffix(".0"), timeout=15_000)
    last = men.evaluate_all(PLACES)
    assert last != start
    phone.get_by_role("button", name="One step back").tap()
    assert men.evaluate_all(PLACES) != last
    phone.get_by_role("button", name="One step on").tap()
    assert men.evaluate_all(PLACES) == last
    time.fill("0")
    assert men.evaluate_all(PLACES) == start
    phone.get_by_role("button", name="Play", exact=True).tap()
    expect(phone.get_by_role("button", name="Pause")).to_be_visible()
    phone.get_by_role("button", name="Pause").tap()
    expect(phone.get_by_role("button", name="Play", exact=True)).to_be_visible()


def test_without_script_the_snap_is_shown_at_its_end(device, site: Site) -> None:
    player = site.next_player()
    reps = site.some(2, kinds=["moved-gap"])
    set_id = site.lay_out(player, reps)
    page = device(viewport={"width": 390, "height": 844}, java_script_enabled=False).new_page()
    sign_in(page, site, player)
    page.locator(f'form[action="/sets/{set_id}/open"] button').click()
    for is_right in (True, False):
        part = site.parts(reps[0 if is_right else 1].id)[0]
        label = next(c["label"] for c in part["choices"] if (c["id"] in part["right"]) is is_right)
        page.get_by_label(label, exact=True).check()
        page.get_by_role("button", name="Answer").click()
        men = page.locator(".moves [data-k]").evaluate_all(
            "all => all.map(one => [one.dataset.k.split(';').at(-1).split(' ').slice(1).map(Number),"
            " one.getAttribute('transform').match(/[-\\d.]+/g).map(Number)])"
        )
        assert men
        assert all(place == last for last, place in men)
        assert page.locator('.moves svg.gs [visibility="hidden"]:not([data-to])').count() == 0
        page.locator(".bar a").click()


def test_reduced_motion_gives_stills(device, site: Site) -> None:
    page = device(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True, reduced_motion="reduce"
    ).new_page()
    after_an_answer(page, site)
    men = page.locator(".moves [data-k]")
    last = men.evaluate_all(PLACES)
    page.wait_for_timeout(900)
    assert men.evaluate_all(PLACES) == last  # nothing moves until he presses play
    seen = {last}
    for _ in range(3):
        page.get_by_role("button", name="One step back").tap()
        seen.add(men.evaluate_all(PLACES))
    assert len(seen) == 4
    expect(page.get_by_label("Time after the snap")).to_have_value("0")


def test_the_controls_stay_above_the_bar_on_a_low_screen(phone: Page, site: Site) -> None:
    phone.set_viewport_size({"width": 390, "height": 600})
    player = site.next_player()
    reps = site.one_of_each(["count"])
    set_id = site.lay_out(player, reps)
    sign_in(phone, site, player)
    start_set(phone, set_id)
    answer(phone, site.parts(reps[0].id), right=False)
    phone.locator(".verdict").wait_for()
    controls, bar = phone.locator(".player").bounding_box(), phone.locator(".bar").bounding_box()
    assert phone.locator(".picture svg.gs").bounding_box()["y"] + 300 > bar["y"]
    assert controls["y"] + controls["height"] <= bar["y"] + 1
    phone.get_by_role("button", name="One step on").tap()
    expect(phone.get_by_label("Time after the snap")).not_to_have_value("0")


def test_it_waits_until_it_is_in_view(device, site: Site) -> None:
    player = site.next_player()
    reps = site.one_of_each(["count"])
    set_id = site.lay_out(player, reps)
    page = device(viewport={"width": 320, "height": 420}, has_touch=True, is_mobile=True).new_page()
    sign_in(page, site, player)
    start_set(page, set_id)
    answer(page, site.parts(reps[0].id), right=False)
    page.locator(".verdict").wait_for()
    page.wait_for_timeout(1500)
    time = page.get_by_label("Time after the snap")
    expect(time).to_have_value("0")
    page.locator(".picture svg.gs").scroll_into_view_if_needed()
    expect(time).not_to_have_value("0", timeout=15_000)


@pytest.mark.parametrize("kind", ["count", "option-man", "support"])
def test_on_an_old_phone_choices_are_visible_and_the_replay_comes_before_the_reason(
    device, site: Site, kind: str
) -> None:
    player = site.next_player()
    [rep] = site.one_of_each([kind])
    set_id = site.lay_out(player, [rep])
    page = device(viewport={"width": 320, "height": 640}, has_touch=True, is_mobile=True).new_page()
    sign_in(page, site, player)
    start_set(page, set_id)

    def box(selector: str) -> dict[str, float]:
        found = page.locator(selector).first.bounding_box()
        assert found is not None
        return found

    pick = box(".choices .pick")
    assert pick["y"] + pick["height"] <= 640
    assert box(".bar")["y"] >= pick["y"] + pick["height"]
    answer(page, site.parts(rep.id), right=False)
    page.locator(".verdict").wait_for()
    assert box(".picture svg.gs")["y"] < box(".why")["y"]
    assert box(".picture svg.gs")["y"] < box(".bar")["y"] - 100


def test_no_one_is_in_reach_on_a_small_phone(device, site: Site) -> None:
    player = site.next_player()
    set_id = site.lay_out(player, site.one_of_each(["matchup"]))
    page = device(viewport={"width": 320, "height": 640}, has_touch=True, is_mobile=True).new_page()
    sign_in(page, site, player)
    start_set(page, set_id)
    pick, bar = (
        page.locator(".choices.is-asked .pick:not(.is-tapped)").bounding_box(),
        page.locator(".bar").bounding_box(),
    )
    assert pick["height"] >= 44
    assert pick["y"] + pick["height"] <= bar["y"] + 1
