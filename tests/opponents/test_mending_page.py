"""The page of what would mend a call against an opponent: how far it is, and what each change gains and costs."""

import time

from server.database.tables import AccountRole as Role
from tests.harness.house import PAGE, House, TestClient

MEND, SOUND = "/coach/defense/mend", "/coach/defense/sound"
WAIT_S = 10.0


def add(house: House) -> str:
    return house.coach().post("/coach/opponents", data={"name": "Oakdale"}, headers=PAGE).url.path.rsplit("/", 1)[1]


def done(coach: TestClient, **asked: str) -> str:
    """The page, looked at again until nothing more is tried."""
    end = time.monotonic() + WAIT_S
    while time.monotonic() < end:
        page = coach.get(MEND, params={"call": "Hammer", **asked}, headers=PAGE)
        assert page.status_code == 200
        if "Look again" not in page.text:
            return page.text
        time.sleep(0.02)
    raise AssertionError("it never ended")


def test_each_change_with_what_it_gains_and_costs(house: House) -> None:
    foe, coach = add(house), house.coach()
    assert MEND in coach.get(SOUND, params={"call": "Hammer", "against": foe}, headers=PAGE).text
    page = done(coach, against=foe)
    assert "Sound on 87 of his 100 snaps; on 94 with: Mike 1." in page
    assert "2 single changes and 1 pairs tried; 3 gain more than they cost." in page
    assert "<strong>+9</strong> zone away from it 9" in page
    assert "<strong>−2</strong> power at the call 2" in page
    assert page.count('<th scope="row">') == 3
    assert "None of this kind." in done(coach, against=foe, show="free")


def test_nothing_found_offers_to_accept_to_those_who_may(house: House) -> None:
    foe = add(house)
    football = house.app.state.services.playbooks.football
    football.mend = lambda *_, **__: None
    page = done(house.coach(), against=foe)
    assert "Nothing of one or two changes mends it" in page
    assert "We live with this" in page
    assert "We live with this" not in done(house.coach(Role.POSITION_COACH), against=foe)
    lack = {"call": "Hammer", "play": "zone", "at": "away", "why": "we chase it", "against": foe}
    assert house.coach().post("/coach/defense/accepted", data=lack, headers=PAGE).url.path == SOUND
    assert "All that is short here is accepted." in done(house.coach(), against=foe)


def test_another_teams_opponent_and_none_are_refused(house: House) -> None:
    foe = add(house)
    stranger = house.coach(team=house.add_team())
    for against in (foe, ""):
        reply = stranger.get(MEND, params={"call": "Hammer", "against": against}, headers=PAGE)
        assert reply.status_code == 404
