"""What would mend a call: what is suggested does what is said of it, once it is written into the team's files."""

from dataclasses import replace
from random import Random

import pytest

from quizgen.content import load_team, load_team_dir
from quizgen.content.dump import dump_team
from quizgen.engine.mending import (
    ContentChange,
    Mending,
    MendingStep,
    NewOrder,
    WeightedSnap,
    mend,
    mending_values,
    steps,
)
from quizgen.engine.report import situations
from quizgen.engine.verdict import solve
from quizgen.football.errors import CannotRun, NoRule
from quizgen.football.rules import EdgeRule
from quizgen.football.team import Situation, TeamBook, situation
from server.commands.football import demo_team_dir
from tests.harness.seed import run_seed

SEED = run_seed()
CALLS = ("Moraine", "Esker", "Drumlin", "Kettle", "Cirque")


def is_sound(s: Situation) -> bool:
    """Whether a snap is sound; one without a rule is not."""
    try:
        return solve(s).sound
    except NoRule:
        return False


def can_run(s: Situation) -> bool:
    """Whether the formation can run the play."""
    try:
        solve(s)
    except CannotRun:
        return False
    return True


def demo() -> TeamBook:
    """The demo team with its calls unadjusted, so that there is something to mend."""
    team = load_team_dir(demo_team_dir())
    return replace(team, pressures=tuple(replace(one, adjust=()) for one in team.pressures))


def drawn(team: TeamBook, call: str, count: int) -> list[WeightedSnap]:
    """Some snaps of a call with weights of their own."""
    random = Random(f"{SEED}{call}")
    wanted = [s for s in situations(team, call=call) if can_run(s)]
    return [WeightedSnap(s, random.randint(1, 9)) for s in random.sample(wanted, count)]


def written(team: TeamBook, mending: Mending) -> TeamBook:
    """The team with the changed call, written to files and loaded anew."""
    calls = tuple(mending.pressure if one.name == mending.pressure.name else one for one in team.pressures)
    return load_team(dump_team(replace(team, pressures=calls)))


def again(team: TeamBook, snap: WeightedSnap) -> Situation:
    """The same snap with another team's content."""
    s = snap.situation
    return situation(team, *s.called, s.formation.name, s.play.name, s.play_to)


@pytest.mark.parametrize("call", CALLS)
def test_a_change_written_into_the_files_does_what_is_said_of_it(call: str) -> None:
    team = demo()
    snaps = drawn(team, call, 30)
    before = {index: is_sound(again(team, one)) for index, one in enumerate(snaps)}
    found = mend(team, call, snaps, paired=4)
    assert found, f"seed {SEED}: nothing mends {call}"
    for mending in [*found[:3], *Random(SEED).sample(found, min(3, len(found)))]:
        changed = written(team, mending)
        after = {index: is_sound(again(changed, one)) for index, one in enumerate(snaps)}
        weights = {index: one.weight for index, one in enumerate(snaps)}
        assert mending.sound_before == sum(weights[i] for i in before if before[i])
        assert mending.sound_after == sum(weights[i] for i in after if after[i]), f"seed {SEED}: {mending.changes}"
        assert mending.gains == sum(weights[i] for i in after if after[i] and not before[i])
        assert mending.costs == sum(weights[i] for i in after if before[i] and not after[i])


@pytest.mark.parametrize("call", CALLS)
def test_every_change_that_is_tried_can_be_loaded(call: str) -> None:
    team = demo()
    pressure = team.pressure(call)
    for one in steps(pressure, team.front(pressure.front), team.rules):
        changed = one.apply(pressure)
        assert changed != pressure, one.change
        calls = tuple(changed if other.name == call else other for other in team.pressures)
        loaded = load_team(dump_team(replace(team, pressures=calls)))
        assert loaded.pressure(call) == changed, one.change


def test_the_best_comes_first_and_a_pair_does_more_than_either() -> None:
    team = demo()
    found = mend(team, "Moraine", drawn(team, "Moraine", 40))
    assert [one.net for one in found] == sorted((one.net for one in found), reverse=True)
    single = {one.changes[0]: one.net for one in found if len(one.changes) == 1}
    for pair in (one for one in found if len(one.changes) == 2):
        assert all(pair.net > single[change] for change in pair.changes)
    assert all(one.sound_after == one.sound_before + one.gains - one.costs for one in found)


def test_a_sound_call_needs_nothing() -> None:
    team = demo()
    sound = [one for one in drawn(team, "Moraine", 40) if is_sound(one.situation)]
    assert sound
    assert mend(team, "Moraine", sound) == []
    assert mend(team, "Moraine", []) == []


def test_a_change_as_values() -> None:
    team = demo()
    for mending in mend(team, "Moraine", drawn(team, "Moraine", 20), paired=3):
        values = mending_values(mending)
        assert list(values) == ["changes", "gains", "costs", "sound_before", "sound_after"]
        assert [values[key] for key in list(values)[1:]] == [
            mending.gains,
            mending.costs,
            mending.sound_before,
            mending.sound_after,
        ]
        assert values["changes"] == [
            {"file": one.file, "key": one.key, "from": one.before, "to": one.after} for one in mending.changes
        ]


def test_the_edge_of_a_call_is_boxed_or_spilled() -> None:
    team = demo()
    pressure = team.pressure("Moraine")
    edges = [one for one in steps(pressure, team.front(pressure.front), team.rules) if one.change.key.endswith(".edge")]
    assert [one.change.key for one in edges] == [
        "pressure[Moraine].by_position.Pick.edge",
        "pressure[Moraine].by_position.Rake.edge",
    ]
    changed = edges[0].apply(pressure)
    assert dict(changed.changes("Pick"))["edge"] is EdgeRule(edges[0].change.after)


def test_who_looks_on_sees_singles_then_pairs() -> None:
    seen: list[int] = []

    def watch(tried):  # type: ignore[no-untyped-def]
        seen.append(len(tried))
        return iter(tried)

    team = demo()
    mend(team, "Moraine", drawn(team, "Moraine", 25), paired=5, watch=watch)
    assert len(seen) == 2
    assert seen[0] > 50
    assert seen[1] <= 10


def test_what_a_call_cannot_have_mends_nothing() -> None:
    # Twice the same rusher is refused; a man who would line up on a teammate is covered by no rule, so by no means
    # sound. A snap that the formation can't run counts neither way.
    team = demo()
    call = team.pressures[0]
    front = team.front(call.front)
    one, other = front.spots[:2]
    change = ContentChange("pressures.toml", "key", "", "", NewOrder("Mike", "Will"))
    tried = [
        (MendingStep(change, lambda call: replace(call, rushes=(*call.rushes, call.rushes[0]))),),
        (MendingStep(change, lambda call: replace(call, align=((one.position, other.alignment),))),),
    ]
    snaps = [WeightedSnap(s) for s in situations(team, call=call.name)]
    some = [*[snap for snap in snaps if not can_run(snap.situation)][:3]]
    some += [snap for snap in snaps if can_run(snap.situation) and not is_sound(snap.situation)][:20]
    assert {can_run(snap.situation) for snap in some} == {True, False}
    asked = iter([tried, []])
    assert mend(team, call.name, some, watch=lambda singles: next(asked)) == []
