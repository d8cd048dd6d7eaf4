"""The server against a plain model, for actions in any order, on both databases.

Hypothesis chooses the actions: sets sent, opened, answered (new, the same again, another, late, to a rep that is not
asked, to another player's or team's set), closed, extended; players removed and brought back, new PINs; the server
restarted on the same database. After each step the server's reply is the model's; sometimes everything is compared.
The long form: `python -m tests.bench.trust_model`.
"""

import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule, run_state_machine_as_test

from server.accounts.credentials import cookie_name, make_id, make_token, token_hash
from server.accounts.members import players
from server.app import make_app
from server.database.store import open_store
from server.database.tables import AccountRole, Answer, Assignment, Member, SignIn, Team
from server.progress.board import make_board
from tests.harness.fake_football import REPS, FakeFootball
from tests.harness.house import ORIGIN, PAGE, PIN, START, House, TestClient, local_time, make_house
from tests.trust.plain_model import PlainModel, PlainPlayer, PlainSet

pytestmark = pytest.mark.slow
JSON = {"accept": "application/json"}
SHOWN_PIN = re.compile(r'class="pin">(\d{3}) (\d{3})<')
POSITIONS = (("Mike",), ("Will",), ("Nose", "Mike"))
PICK = st.integers(min_value=0, max_value=10_000)
CHOSEN = st.lists(st.sampled_from("aabbbbcx"), min_size=1, max_size=3).map(tuple)


class Server(RuleBasedStateMachine):
    """One run: two new teams on a database shared by all runs, and two servers that alternate, since one's memory must
    not matter to the other."""

    house: House

    @initialize()
    def two_teams(self) -> None:
        self.house.clock.at = START  # the same in every run
        self.model = PlainModel()
        self.tokens: dict[str, str] = {}
        self.sent: list[tuple[PlainPlayer, PlainSet, str, str, tuple[str, ...]]] = []
        self.turn = 0
        self.other_store = open_store(self.house.settings)
        self.clients = [self.house.client(), self.other_server()]
        self.teams = [self.house.add_team() for _ in range(2)]
        for team in self.teams:
            with self.house.store.read(team.id) as t:
                for m in players(t):
                    assert m.number is not None
                    self.model.players[m.id] = PlainPlayer(m.id, team.id, m.number, tuple(m.positions), PIN)
        for player in self.model.players.values():
            self.tokens[player.id] = self.session(player.team, player.id)
            player.is_signed_in = True
        for team, call, hours in ((0, "Hammer", 12), (0, "Anvil", 30), (1, "Hammer", 30)):
            self.send_a_set(team=team, call=call, positions=("Mike",), length=4, hours=hours)
        for which in range(2):
            self.open_a_set(who=which, which=which, is_any=False)

    def other_server(self) -> TestClient:
        """A client of a second server, which shares only the database with the first."""
        app = make_app(self.house.settings, store=self.other_store, football=FakeFootball(), now=self.house.clock)
        return TestClient(app, headers={"origin": ORIGIN})

    # who does it

    def session(self, team_id: str, member_id: str) -> str:
        """A session stored directly, since hashing takes time."""
        token, now = make_token(team_id), self.house.clock()
        with self.house.store.write(team_id) as t:
            own = {"team_id": team_id, "member_id": member_id, "token_hash": token_hash(token)}
            t.add(SignIn(**own, created_at=now, seen_at=now, ends_at=now + timedelta(days=150)))
        return token

    def ask(self, token: str, method: str, path: str, **sent: object):
        self.turn += 1
        client = self.clients[self.turn % len(self.clients)]
        client.cookies.clear()
        headers = {**JSON, "cookie": f"{cookie_name(False)}={token}"}
        return client.request(method, path, headers=headers, follow_redirects=False, **sent)

    def coach(self, team: Team, method: str, path: str, **sent: object):
        with self.house.store.read(team.id) as t:
            owner = next(m.id for m in t.rows(Member) if m.role == AccountRole.OWNER)
        return self.ask(self.session(team.id, owner), method, path, **sent)

    def player(self, pick: int) -> PlainPlayer:
        return list(self.model.players.values())[pick % len(self.model.players)]

    def team_of(self, thing: PlainPlayer | PlainSet) -> Team:
        return next(team for team in self.teams if team.id == thing.team)

    def set_of(self, pick: int) -> PlainSet:
        return list(self.model.sets.values())[pick % len(self.model.sets)]

    @property
    def now(self) -> datetime:
        return self.house.clock.at

    # what coaches do

    @rule(
        team=st.integers(0, 1),
        call=st.sampled_from(("Hammer", "Anvil")),
        positions=st.sampled_from(POSITIONS),
        length=st.integers(1, 6),
        hours=st.integers(1, 30),
    )
    def send_a_set(self, team: int, call: str, positions: tuple[str, ...], length: int, hours: int) -> None:
        due = local_time(self.now, hours=hours)
        form = {"call": call, "positions": list(positions), "length": str(length), "due": due}
        form |= {"stages": ["1", "2", "3"], "sides": ["left", "right"]}
        reply = self.coach(self.teams[team], "POST", "/coach/sets", data=form)
        assert reply.status_code == 303, reply.text
        set_id = reply.headers["location"].rsplit("/", 1)[1]
        with self.house.store.read(self.teams[team].id) as t:
            due_at = t.get(Assignment, set_id).due_at
        assert timedelta(0) <= self.now + timedelta(hours=hours) - due_at < timedelta(minutes=1)
        self.model.sets[set_id] = PlainSet(set_id, self.teams[team].id, call, frozenset(positions), length, due_at)

    @precondition(lambda self: self.model.sets)
    @rule(pick=PICK, by_other=st.booleans())
    def close_a_set(self, pick: int, by_other: bool) -> None:
        one = self.set_of(pick)
        team = self.team_of(one) if not by_other else next(t for t in self.teams if t.id != one.team)
        reply = self.coach(team, "POST", f"/coach/sets/{one.id}/call-back")
        assert reply.status_code == (404 if by_other else 303)
        one.is_closed = one.is_closed or not by_other

    @precondition(lambda self: self.model.sets)
    @rule(pick=PICK, hours=st.integers(1, 40))
    def extend_a_set(self, pick: int, hours: int) -> None:
        one, due = self.set_of(pick), local_time(self.now, hours=hours)
        reply = self.coach(self.team_of(one), "POST", f"/coach/sets/{one.id}/change", data={"due": due})
        on_roster = (p for p in self.model.players.values() if p.team == one.team and not p.is_removed)
        if not any(one.positions & set(p.positions) for p in on_roster):
            assert reply.status_code == 422, "nobody is left in it"
            return
        assert reply.is_redirect
        with self.house.store.read(one.team) as t:
            one.due, one.is_closed = t.get(Assignment, one.id).due_at, False
        assert timedelta(0) <= self.now + timedelta(hours=hours) - one.due < timedelta(minutes=1)

    @rule(pick=PICK, is_back=st.booleans())
    def take_a_player_off_or_bring_him_back(self, pick: int, is_back: bool) -> None:
        player = self.player(pick)
        removed = [p for p in self.model.players.values() if p.is_removed]
        if is_back and removed:
            player = removed[pick % len(removed)]
        verb = "bring-back" if player.is_removed else "remove"
        reply = self.coach(self.team_of(player), "POST", f"/coach/roster/{player.id}/{verb}")
        assert reply.status_code == 303, reply.text
        player.is_removed = not player.is_removed
        player.is_signed_in, player.pin = False, ""

    @rule(pick=PICK)
    def make_a_new_pin(self, pick: int) -> None:
        player = self.player(pick)
        reply = self.coach(self.team_of(player), "POST", "/coach/roster/codes", data={"players": [player.id]})
        if player.is_removed:
            assert reply.status_code == 404
            return
        [shown] = SHOWN_PIN.findall(reply.text)
        player.pin, player.is_signed_in = "".join(shown), False

    # what players do

    @rule(pick=PICK, is_wrong=st.booleans())
    def sign_in(self, pick: int, is_wrong: bool) -> None:
        player = self.player(pick)
        self.house.clock.move(minutes=16)  # tries are counted by quarters of an hour
        pin = player.pin if player.pin and not is_wrong else "000000" if player.pin != "000000" else "000001"
        self.clients[0].cookies.clear()
        form = {"number": str(player.number), "pin": pin}
        reply = self.clients[0].post(
            f"/team/{self.team_of(player).join_code}", data=form, headers=PAGE, follow_redirects=False
        )
        if pin != player.pin or player.is_removed:
            assert reply.status_code == 401
            return
        assert reply.status_code == 303, reply.text
        self.tokens[player.id], player.is_signed_in = reply.cookies[cookie_name(False)], True

    @precondition(lambda self: self.model.sets)
    @rule(who=PICK, which=PICK, is_any=st.sampled_from((False, False, True)))
    def open_a_set(self, who: int, which: int, is_any: bool) -> None:
        """Usually one of his own sets; sometimes any set by any player."""
        player, one = self.player(who), self.set_of(which)
        fitting = [p for p in self.model.players.values() if self.model.is_his(p, one.id) and not p.is_removed]
        if fitting and not is_any:
            player = fitting[who % len(fitting)]
            self.be_signed_in(player)
        expected = self.model.to_open(player, one.id, self.now)
        reply = self.ask(self.tokens[player.id], "POST", f"/sets/{one.id}/open")
        assert reply.status_code == expected, reply.text
        if expected == 303 and (player.id, one.id) not in self.model.layouts:
            self.lay_out(player, one)

    def be_signed_in(self, player: PlainPlayer) -> None:
        """Another phone of his, without the time for hashing."""
        if not player.is_signed_in:
            self.tokens[player.id], player.is_signed_in = self.session(player.team, player.id), True

    def lay_out(self, player: PlainPlayer, one: PlainSet) -> None:
        """Check the layout and copy it into the model."""
        laid = self.ask(self.tokens[player.id], "GET", f"/api/sets/{one.id}").json()["places"]
        own = {p["place"]: p["rep_id"] for p in laid if p["again_of"] is None}
        known = {rep.id: rep for rep in REPS}
        assert sorted(own) == list(range(1, one.length + 1))
        assert len({p["rep_id"] for p in laid}) == len(laid)
        for p in laid:
            rep = known[p["rep_id"]]
            assert rep.call == one.call
            assert rep.position in one.positions & set(player.positions)
            assert p["again_of"] is None or known[own[p["again_of"]]].guise == rep.guise
        self.model.layouts[player.id, one.id] = {p["place"]: (p["rep_id"], p["again_of"]) for p in laid}

    @precondition(lambda self: self.model.sets)
    @rule(who=PICK, which=PICK, rep=PICK, old_id=st.none() | PICK, chosen=CHOSEN, any_rep=st.integers(0, 5))
    def answer(self, who: int, which: int, rep: int, old_id: int | None, chosen: tuple[str, ...], any_rep: int) -> None:
        player, one = self.player(who), self.set_of(which)
        laid = [found for found, _ in self.model.layouts.get((player.id, one.id), {}).values()]
        rep_id = laid[rep % len(laid)] if laid and any_rep else REPS[rep % len(REPS)].id
        if any_rep > 1:
            chosen = (chosen[0],) * (2 if "open-gap" in rep_id else 1)
        answer_id = self.sent[old_id % len(self.sent)][3] if old_id is not None and self.sent else make_id() + make_id()
        self.send(player, one, rep_id, answer_id, chosen)

    @precondition(lambda self: self.model.layouts)
    @rule(
        which=PICK, choices=st.lists(st.sampled_from("ab"), min_size=1, max_size=4), hours=st.sampled_from((0, 0, 13))
    )
    def answer_what_is_next(self, which: int, choices: list[str], hours: int) -> None:
        player_id, set_id = list(self.model.layouts)[which % len(self.model.layouts)]
        player, one = self.model.players[player_id], self.model.sets[set_id]
        self.house.clock.move(hours=hours)
        if not player.is_removed:
            self.be_signed_in(player)
        for choice in choices:
            place = self.model.next_place(player, set_id)
            if place is not None:
                rep_id = self.model.layouts[player_id, set_id][place][0]
                self.send(player, one, rep_id, make_id() + make_id(), (choice,) * (2 if "open-gap" in rep_id else 1))

    @precondition(lambda self: self.sent)
    @rule(which=PICK, choice=st.sampled_from("ab") | st.none(), is_new_id=st.booleans(), who=st.none() | PICK)
    def send_again(self, which: int, choice: str | None, is_new_id: bool, who: int | None) -> None:
        """The same answer again, or with another choice, under another id, or from another player."""
        player, one, rep_id, answer_id, chosen = self.sent[which % len(self.sent)]
        if not player.is_removed:
            self.be_signed_in(player)
        self.send(
            player if who is None else self.player(who),
            one,
            rep_id,
            make_id() + make_id() if is_new_id else answer_id,
            chosen if choice is None else (choice,) * len(chosen),
        )

    def send(self, player: PlainPlayer, one: PlainSet, rep_id: str, answer_id: str, chosen: tuple[str, ...]) -> None:
        self.sent.append((player, one, rep_id, answer_id, chosen))
        status, team_state = self.model.to_answer(player, one.id, rep_id, answer_id, chosen, self.now)
        body = {"rep_id": rep_id, "chosen": list(chosen)}
        reply = self.ask(self.tokens[player.id], "PUT", f"/api/sets/{one.id}/answers/{answer_id}", json=body)
        assert reply.status_code == status, reply.text
        if team_state is not None:
            said = reply.json()["answer"]
            assert (said["id"], said["rep_id"], tuple(said["chosen"])) == (
                team_state.id,
                team_state.rep_id,
                team_state.chosen,
            )
            assert (said["is_right"], said["is_late"]) == (team_state.is_right, team_state.is_late)

    # what happens

    @rule(hours=st.integers(1, 12))
    def time_goes_by(self, hours: int) -> None:
        self.house.clock.move(hours=hours)

    @rule()
    def start_the_first_server_again(self) -> None:
        house = self.house
        house.store.close()
        house.store = open_store(house.settings)
        house.app = make_app(house.settings, store=house.store, football=FakeFootball(), now=house.clock)
        self.clients[0] = house.client()

    # what must agree

    @precondition(lambda self: self.model.sets)
    @rule(who=PICK, which=PICK)
    def look_at_progress(self, who: int, which: int) -> None:
        player, one = self.player(who), self.set_of(which)
        reply = self.ask(self.tokens[player.id], "GET", f"/api/sets/{one.id}")
        if not player.is_signed_in or not self.model.is_his(player, one.id):
            assert reply.status_code == (404 if player.is_signed_in else 401)
            return
        said = reply.json()
        layout = self.model.layouts.get((player.id, one.id), {})
        given = self.model.answers.get((player.id, one.id), {})
        asked = self.model.asked(player, one.id)
        expected = {
            place: given[rep].is_right if rep in given and place in asked else None
            for place, (rep, _) in layout.items()
        }
        assert {p["place"]: p["is_right"] for p in said["places"]} == expected
        assert said["next_place"] == self.model.next_place(player, one.id)
        assert said["is_finished"] == (bool(layout) and self.model.next_place(player, one.id) is None)
        assert said["is_over"] == one.is_over(self.now)

    @rule(team=st.integers(0, 1))
    def look_at_the_board(self, team: int) -> None:
        self.check_board(self.teams[team])
        assert self.coach(self.teams[team], "GET", "/coach/board").status_code == 200

    def check_board(self, team: Team) -> None:
        services = self.house.app.state.services
        with self.house.store.read(team.id) as t:
            members, stored = players(t), t.team()

        playbook = services.playbooks.of(stored)
        team_state = services.team_states.of(self.house.store, team.id, playbook)
        found = make_board(
            members, playbook, team_state.board([m.id for m in members], playbook.calls, self.now), playbook.calls
        )
        lines = [line for group in found for line in group.lines]
        on_roster = {p.id for p in self.model.players.values() if p.team == team.id and not p.is_removed}
        assert {line.member.id for line in lines} == on_roster
        for line in lines:
            for cell in line.cells:
                expected = self.model.tally(self.model.players[line.member.id], cell.call)
                assert (cell.answered, cell.right) == expected, (line.member.number, cell.call)

    def check_rows(self, team: Team) -> None:
        with self.house.store.read(team.id) as t:
            stored = {
                (row.member_id, row.id, row.assignment_id, row.rep_id, tuple(row.chosen), row.is_right, row.is_late)
                for row in t.rows(Answer)
            }
        own = {p.id for p in self.model.players.values() if p.team == team.id}
        expected = {
            (player_id, a.id, a.set_id, a.rep_id, a.chosen, a.is_right, a.is_late)
            for (player_id, _), given in self.model.answers.items()
            for a in given.values()
            if player_id in own
        }
        assert stored == expected

    def teardown(self) -> None:
        for team in getattr(self, "teams", ()):
            self.check_rows(team)
            self.check_board(team)
        if hasattr(self, "other_store"):
            self.other_store.close()


def run_model(house: House, runs: int, steps: int) -> None:
    """Run the model that many times with that many steps."""
    machine = type("Machine", (Server,), {"house": house})
    run_state_machine_as_test(
        machine, settings=settings(max_examples=runs, stateful_step_count=steps, deadline=None, print_blob=True)
    )


def test_the_server_does_what_the_model_does(tmp_path: Path) -> None:
    for house in make_house(tmp_path):
        run_model(house, 10, 50)


def test_the_server_does_what_the_model_does_on_postgresql(tmp_path: Path, postgres_url: str) -> None:
    for house in make_house(tmp_path, database_url=postgres_url):
        run_model(house, 4, 50)
