"""Who is kept out by wrong tries: not a device that is known, not a school, not the owner; and no PIN is guessed."""

from datetime import timedelta

import pytest
from sqlmodel import col

from server.accounts.credentials import PIN_LENGTH, address_subject, device_cookie_name, token_hash
from server.accounts.sign_in import OF_SEASON, SEASON_S, take_try
from server.database.device_table import KnownDevice
from server.database.tables import FailedTry
from server.errors import TooManyTries
from tests.accounts.test_sign_in import try_pin
from tests.harness.house import PAGE, PASSPHRASE, PIN, House, TestClient

COOKIE = device_cookie_name(False)


def at(house: House, address: str) -> TestClient:
    """A device at another address."""
    return TestClient(house.app, headers=PAGE, client=(address, 50_000))


def shut(house: House, client: TestClient, number: int = 54) -> None:
    """Try wrong PINs until this device must wait."""
    while try_pin(client, house, number).status_code != 429:
        pass


def plant(house: House, subject: str, stretch: str, length_s: int, tries: int) -> None:
    """So many wrong tries in the current stretch."""
    index = int(house.clock.at.timestamp()) // length_s
    ends_at = house.clock.at + timedelta(seconds=length_s)
    with house.store.write(house.team.id) as t:
        row = {"team_id": t.team_id, "subject": subject, "stretch": f"{stretch}{index}"}
        t.session.merge(FailedTry(**row, tries=tries, ends_at=ends_at))


def test_a_teammates_wrong_tries_never_shut_a_device_that_was_signed_in_before(house: House) -> None:
    own = at(house, "10.0.0.1")
    assert try_pin(own, house, pin=PIN).status_code == 303
    own.post("/sign-out", headers=PAGE)
    shut(house, at(house, "10.0.0.1"))  # the school's address, from another phone
    assert try_pin(at(house, "10.0.0.1"), house, pin=PIN).status_code == 429
    assert try_pin(own, house, pin=PIN).status_code == 303


def test_a_number_is_shut_where_the_wrong_tries_came_from_and_nowhere_else(house: House) -> None:
    shut(house, at(house, "10.0.0.1"))
    assert try_pin(at(house, "10.0.0.1"), house, 33, PIN).status_code == 303
    assert try_pin(at(house, "192.0.2.9"), house, pin=PIN).status_code == 303


def test_from_many_addresses_a_number_has_one_limit_and_a_new_pin_opens_it(house: House) -> None:
    codes = [try_pin(at(house, f"10.0.0.{n}"), house).status_code for n in range(11)]
    assert codes == [401] * 10 + [429]
    with house.store.read(house.team.id) as t:
        player = house.member(54)
        assert t.count(FailedTry, col(FailedTry.subject).like("number:54%")) > 10
    house.coach().post("/coach/roster/codes", data={"players": [player.id]}, headers=PAGE)
    with house.store.read(house.team.id) as t:
        assert t.count(FailedTry, col(FailedTry.subject).like("number:54%")) == 0


def test_a_known_device_has_a_limit_of_its_own(house: House) -> None:
    own = house.client()
    try_pin(own, house, pin=PIN)
    codes = [try_pin(own, house).status_code for _ in range(11)]
    assert codes == [401] * 10 + [429]
    assert try_pin(house.client(), house, pin=PIN).status_code == 303  # they count for that device alone


def test_a_device_is_known_for_the_player_who_signed_in_on_it_only(house: House) -> None:
    own = house.client()
    assert try_pin(own, house, 33, PIN).status_code == 303
    shut(house, house.client(), 54)
    assert try_pin(own, house, 54, PIN).status_code == 429


@pytest.mark.parametrize("key", ["", "x", "a" * 43, "a" * 5000, "%00", "'; drop table member"])
def test_a_made_up_key_is_none(house: House, key: str) -> None:
    client = house.client()
    client.cookies.set(COOKIE, key)
    assert [try_pin(client, house).status_code for _ in range(6)] == [401] * 5 + [429]


def test_the_key_is_kept_hashed_and_the_same_for_all_who_share_the_device(house: House) -> None:
    client = house.client()
    keys = []
    for number in (54, 33):
        reply = try_pin(client, house, number, PIN)
        [cookie] = [one for one in reply.headers.get_list("set-cookie") if one.startswith(f"{COOKIE}=")]
        for flag in ("HttpOnly", "SameSite=lax", "Path=/", "Max-Age="):
            assert flag in cookie
        keys.append(cookie.split("=", 1)[1].split(";")[0])
    assert keys[0] == keys[1]
    with house.store.read(house.team.id) as t:
        rows = t.rows(KnownDevice)
    assert {row.key_hash for row in rows} == {token_hash(keys[0])}
    assert {row.member_id for row in rows} == {house.member(54).id, house.member(33).id}


def test_a_schools_address_is_slowed_and_not_shut(house: House) -> None:
    known, school = house.client(), address_subject("testclient")
    assert try_pin(known, house, 33, PIN).status_code == 303
    plant(house, school, "q", 900, 100)
    plant(house, school, "d", 86_400, 399)
    found = [try_pin(house.client(), house, 54) for _ in range(2)]
    assert [reply.status_code for reply in found] == [401, 429]
    assert 0 < int(found[1].headers["retry-after"]) <= 10
    assert "code sheet" not in found[1].text  # a new one would not help
    assert try_pin(known, house, 33, PIN).status_code == 303
    house.clock.move(seconds=10)
    assert try_pin(house.client(), house, 54, PIN).status_code == 303


def test_the_owner_always_gets_in(house: House) -> None:
    form = {"team": house.team.id, "name": "Owner", "passphrase": "wrong"}
    for _ in range(30):
        house.client().post("/coach/sign-in", data=form, headers=PAGE)
    waiting = house.client().post("/coach/sign-in", data=form | {"passphrase": PASSPHRASE}, headers=PAGE)
    assert waiting.status_code == 429
    assert 0 < int(waiting.headers["retry-after"]) <= 10
    assert "ask your coach" not in waiting.text
    house.clock.move(seconds=10)
    right = house.client().post("/coach/sign-in", data=form | {"passphrase": PASSPHRASE}, headers=PAGE)
    assert right.url.path == "/coach/board"


def test_a_pin_stays_unguessed_for_a_season(house: House) -> None:
    """The worst that we can think of: somebody knows the number, has as many addresses as he likes, and uses every try
    that is allowed, for 200 days that begin in the middle of a count. PINs are made at random, all of them as likely:
    no order of tries is better than another, each is worth one in a million. Of a whole roster of sixty, each tried so,
    he would get into one with a chance of 5 in 100."""
    allowed, now = 0, house.clock.at.replace(hour=0)
    begins = -(-int(now.timestamp()) // SEASON_S) * SEASON_S - SEASON_S // 2
    now += timedelta(seconds=begins - int(now.timestamp()))
    for day in range(200):
        for quarter in range(5):  # of which a day allows four
            for _ in range(11):
                try:
                    with house.store.write(house.team.id) as t:
                        take_try(t, "number:54", 10, now + timedelta(days=day, minutes=15 * quarter), OF_SEASON)
                    allowed += 1
                except TooManyTries:
                    break
    assert allowed > 500
    assert allowed / 10**PIN_LENGTH < 0.001


def test_after_a_season_of_wrong_tries_a_new_pin_opens_the_number(house: House) -> None:
    plant(house, "number:54", "s", SEASON_S, OF_SEASON)
    waiting = try_pin(house.client(), house, pin=PIN)
    assert waiting.status_code == 429
    assert "code sheet" in waiting.text
    house.coach().post("/coach/roster/codes", data={"players": [house.member(54).id]}, headers=PAGE)
    assert try_pin(house.client(), house).status_code == 401
