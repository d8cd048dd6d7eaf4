"""Coaches' accounts: only the owner makes them; losing a passphrase or an account ends access at once."""

import re

import pytest
from starlette.testclient import TestClient

from server.accounts.members import remove_member
from server.accounts.permissions import check_access
from server.database.tables import AccountRole, Member
from tests.harness.house import PAGE, PASSPHRASE, House


def account(house: House, name: str) -> Member:
    with house.store.read(house.team.id) as t:
        return next(m for m in t.rows(Member) if m.sign_in_name == name and m.removed_at is None)


def sign_in(house: House, name: str, passphrase: str) -> TestClient | None:
    client = house.client()
    form = {"team": house.team.id, "name": name, "passphrase": passphrase}
    reply = client.post("/coach/sign-in", data=form, headers=PAGE)
    return client if reply.url.path == "/coach/board" else None


def shown(text: str) -> str:
    found = re.search(r'class="passphrase">([^<]+)<', text)
    assert found, text
    return found[1]


def test_a_new_account_with_a_passphrase_made_for_it(house: House) -> None:
    owner = house.coach()
    form = {"name": "Coach Line", "role": "position coach", "groups": ["line"]}
    made = shown(owner.post("/coach/coaches", data=form, headers=PAGE).text)
    assert len(made) >= 15
    assert made not in owner.get("/coach/coaches", headers=PAGE).text
    coach = sign_in(house, "coach line", made)
    assert coach is not None
    roster = coach.get("/coach/roster", headers=PAGE).text
    assert ("Gus" in roster, "Dale" in roster) == (True, False)


def test_a_chosen_passphrase_needs_length_and_nothing_else(house: House) -> None:
    """source: NIST SP 800-63B-4, 3.1.1.2: 15 characters or more where it is the only factor; no composition rules."""
    owner = house.coach()
    form = {"name": "new", "role": "coach", "passphrase": "x" * 14}
    refused = owner.post("/coach/coaches", data=form, headers=PAGE)
    assert (refused.status_code, "expected 15 to 200 characters, found 14" in refused.text) == (422, True)
    assert 'value="new"' in refused.text
    owner.post("/coach/coaches", data=form | {"passphrase": "all small letters"}, headers=PAGE)
    assert sign_in(house, "new", "all small letters") is not None


@pytest.mark.parametrize(
    ("form", "said"),
    [
        ({"name": " ", "role": "coach"}, "sign-in name: expected one or more characters"),
        ({"name": "Owner", "role": "coach"}, "is taken in this team"),
        ({"name": "x", "role": "position coach"}, "groups: expected one or more for a position coach"),
        ({"name": "x", "role": "coach", "groups": ["line"]}, "none for others"),
        ({"name": "x", "role": "position coach", "groups": ["band"]}, "found &#39;band&#39;"),
    ],
)
def test_a_bad_form_is_refused_and_stores_nothing(house: House, form: dict, said: str) -> None:
    reply = house.coach().post("/coach/coaches", data=form, headers=PAGE)
    assert (reply.status_code, said in reply.text) == (422, True)
    with house.store.read(house.team.id) as t:
        assert t.count(Member) == 6


def test_a_new_passphrase_ends_the_old_one_and_its_sessions(house: House) -> None:
    owner, coach = house.coach(), house.coach(AccountRole.COACH)
    made = shown(owner.post(f"/coach/coaches/{account(house, 'coach').id}/passphrase", headers=PAGE).text)
    assert coach.get("/coach/board", follow_redirects=False).status_code == 401
    assert sign_in(house, "coach", PASSPHRASE) is None
    assert sign_in(house, "coach", made) is not None


def test_an_account_is_removed_at_once_but_never_ones_own(house: House) -> None:
    owner, coach = house.coach(), house.coach(AccountRole.COACH)
    gone = account(house, "coach").id
    owner.post(f"/coach/coaches/{gone}/remove", headers=PAGE)
    assert coach.get("/coach/board", follow_redirects=False).status_code == 401
    assert sign_in(house, "coach", PASSPHRASE) is None
    assert owner.post(f"/coach/coaches/{gone}/remove", headers=PAGE).status_code == 404
    owner.post("/coach/coaches", data={"name": "coach", "role": "coach"}, headers=PAGE)  # the name is free again
    own = owner.post(f"/coach/coaches/{account(house, 'owner').id}/remove", headers=PAGE)
    assert (own.status_code, "another owner" in own.text) == (422, True)
    assert owner.get("/coach/board").status_code == 200


def test_two_owners_cannot_remove_each_other(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second owner has passed the access check when the first removes him; he must not remove the first."""
    owner = house.coach()
    owner.post("/coach/coaches", data={"name": "second", "role": "owner", "passphrase": PASSPHRASE}, headers=PAGE)
    first, second = account(house, "owner"), account(house, "second")

    def let_in_and_remove(method: str, route: str, role: AccountRole) -> None:
        check_access(method, route, role)
        with house.store.write(house.team.id) as t:
            remove_member(t, t.get(Member, first.id), house.clock())

    monkeypatch.setattr("server.web.deps.check_access", let_in_and_remove)
    assert owner.post(f"/coach/coaches/{second.id}/remove", headers=PAGE).status_code == 404
    assert account(house, "second").id == second.id


def test_only_the_owner_and_only_of_his_team(house: House) -> None:
    other = house.add_team()
    with house.store.read(other.id) as t:
        stranger = next(m.id for m in t.rows(Member) if m.sign_in_name == "coach")
    for role in (AccountRole.COACH, AccountRole.POSITION_COACH):
        assert house.coach(role).get("/coach/coaches", headers=PAGE).status_code == 403
    owner, player = house.coach(), house.member().id
    for one in (stranger, player, "nobody"):
        for what in ("remove", "passphrase"):
            assert owner.post(f"/coach/coaches/{one}/{what}", headers=PAGE).status_code == 404
