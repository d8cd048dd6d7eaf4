"""A weighted set asks what the next opponent runs: counted shares of draws against SciPy's exact binomial interval. The
expected shares come from the rule by hand (add one to each count, at least three per cent)."""

import random
from collections import Counter
from datetime import UTC, datetime

import pytest
from scipy import stats

from server.commands.demo import demo_files
from server.database.tables import Assignment, KeptRep, Member, Opponent, Purpose, SetRep
from server.mastery.picker import RepOption, next_rep
from server.mastery.replay import replay
from server.mastery.values import LEFT, RIGHT, SIDES, TeamSettings
from server.opponents.tendencies import most_run, rep_weights
from server.playbook.engine import Engine
from server.playbook.playbooks import Playbook, read_playbook
from server.playbook.rep_summary import RepSummary, option
from server.sets.set_layout import plan
from tests.harness.fake_football import PLAYS
from tests.harness.house import PAGE, House

STATE = replay([], TeamSettings(), {})
SURE = 1e-5  # a share counts as wrong when fair draws would miss it this far this rarely


def rep(number: int, play: str, *, stage: int = 3, to: str = "left", kind: str = "pull-read") -> RepSummary:
    name = f"{play}-{stage}-{to}-{number}"
    return RepSummary(name, kind, stage, "Mike", "Hammer", to, f"formation {number}", f"{play} {to}", name, name, play)


def drawn(options: list[RepOption], settings: TeamSettings, draws: int) -> list[RepOption]:
    """The first reps of a number of sets."""
    found = []
    for seed in range(draws):
        chance = random.Random(seed)
        one = next_rep(STATE, "p", options, [], 0.0, settings, chance, opened_by_coach=(1, 2, 3, 4, 5))
        assert one is not None
        found.append(one)
    return found


def check_shares(counts: Counter, expected: dict[object, float]) -> None:
    total = counts.total()
    assert sum(expected.values()) == pytest.approx(1)
    for key, share in expected.items():
        assert stats.binomtest(counts[key], total, share).pvalue > SURE, (key, counts[key] / total, share)


def test_within_a_stage_plays_are_drawn_by_what_they_run_regardless_of_the_number_of_reps() -> None:
    reps = [rep(n, "power") for n in range(2)] + [rep(n, "counter") for n in range(7)]
    weights = rep_weights(reps, {"power": 27, "counter": 11, "zone": 99}, PLAYS)
    counts = Counter(o.rep.split("-")[0] for o in drawn([option(r, weights[r.id]) for r in reps], TeamSettings(), 2000))
    check_shares(counts, {"power": 28 / 40, "counter": 12 / 40})


def test_what_they_never_run_is_drawn_by_the_floor() -> None:
    reps = [rep(0, "power"), rep(0, "counter")]
    weights = rep_weights(reps, {"power": 197}, PLAYS)
    counts = Counter(o.rep.split("-")[0] for o in drawn([option(r, weights[r.id]) for r in reps], TeamSettings(), 4000))
    whole = 0.03 + 198 / 199
    check_shares(counts, {"power": 198 / 199 / whole, "counter": 0.03 / whole})


def test_without_weights_all_reps_are_drawn_alike() -> None:
    reps = [rep(n, "power") for n in range(4)]
    assert set(rep_weights(reps, {}, ()).values()) == {1.0}
    counts = Counter(o.rep for o in drawn([option(r) for r in reps], TeamSettings(), 1200))
    check_shares(counts, {r.id: 1 / 4 for r in reps})


def test_stages_are_drawn_by_their_mix() -> None:
    reps = [rep(0, "x", stage=stage, to=side) for stage in (1, 2, 3, 4, 5) for side in SIDES]
    settings = TeamSettings().with_opponent({2: 12, 3: 25, 5: 8})  # of 45; of 50 after adding one to each
    counts: Counter = Counter(o.stage for o in drawn([option(r) for r in reps], settings, 3000))
    whole = 1 + 2 * 0.01  # stages 1 and 4 have 1/50, which the floor raises to .03
    expected = {1: 0.03, 2: 13 / 50, 3: 26 / 50, 4: 0.03, 5: 9 / 50}
    check_shares(counts, {stage: share / whole for stage, share in expected.items()})


def test_the_plays_they_run_most_by_stage() -> None:
    assert most_run({"power": 3, "counter": 5, "zone": 1, "statue": 9, "veer": 0}, PLAYS) == {
        3: ["counter", "power"],
        2: ["zone"],
    }
    assert most_run({}, PLAYS) == {}


@pytest.fixture(scope="module")
def playbook() -> Playbook:
    return read_playbook(Engine(), demo_files())


def test_with_the_demo_teams_own_plays(playbook: Playbook) -> None:
    """Lay out a weighted set for each of many players, and count the plays of their first reps."""
    runs = {"power": 30.0, "dart": 10.0}

    plays = playbook.plays()
    pool = playbook.pool(playbook.calls[0], ["mike"], [3], ["left"], most_run(runs, plays))
    weights = rep_weights(pool, runs, plays)
    there = {r.scheme for r in pool}
    assert {"power", "dart"} < there
    now = datetime(2026, 11, 26, tzinfo=UTC)
    values = {"team_id": "t", "id": "a", "call": playbook.calls[0], "positions": ["mike"], "length": 1, "due_at": now}
    one = Assignment(**values, stages=[3], sides=["left"], created_at=now, created_by="c", is_weighted=True)
    counts: Counter = Counter()
    for n in range(600):
        member = Member(team_id="t", id=f"p{n}", role="player", name="x", positions=["mike"], created_at=now)
        [(first, _)] = plan(pool, member, STATE, TeamSettings(), one, 0.0, weights)
        counts[first.scheme] += 1
    raw = {"power": 31 / 50, "dart": 11 / 50}  # the ten plays with pullers: 40 snaps, one added to each
    by_hand = {scheme: raw.get(scheme, 0.03) for scheme in there}
    check_shares(counts, {scheme: share / sum(by_hand.values()) for scheme, share in by_hand.items()})


def test_only_weighted_sets_are(house: House) -> None:
    """The made-up reps are all on the play zone, so with a next opponent their weights differ only by stage."""
    with house.store.write(house.team.id) as t:
        t.add(
            Opponent(
                team_id=t.team_id,
                id="foe",
                name="Oakdale",
                key="o",
                runs=[("zone", "", "", 400.0)],
                stage_counts={"2": 400},
                is_next=True,
                changed_at=house.clock(),
            )
        )
    stages: dict[bool, Counter] = {}
    for is_weighted in (True, False):
        set_id = house.send_set(length="8", stages=["1", "2", "3"])
        with house.store.write(house.team.id) as t:
            row = t.get(Assignment, set_id)
            row.is_weighted = is_weighted
            assert row.purpose == Purpose.REPS
            t.add(row)
        house.open_set(house.player(), set_id)
        with house.store.read(house.team.id) as t:
            laid = [r.rep_id for r in t.rows(SetRep) if r.assignment_id == set_id and r.again_of is None]
            stages[is_weighted] = Counter(t.get(KeptRep, rep_id).stage for rep_id in laid)
    assert stages[True][2] > stages[False][2]
    assert house.coach().get("/coach/sets", headers=PAGE).status_code == 200
    assert {LEFT, RIGHT} == set(SIDES)
