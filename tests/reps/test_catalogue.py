"""The catalogue: ids from content alone, a stable and mixed order, filters, counts, and what cannot be asked."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections import Counter
from dataclasses import replace
from enum import Enum
from itertools import islice
from typing import Any

import pytest

from quizgen.football.errors import NoRule, UnknownName
from quizgen.football.rules import TeamRules
from quizgen.football.scheme import Job, Scheme, SchemeFamily
from quizgen.football.sides import Side
from quizgen.football.team import TeamBook
from quizgen.reps.catalogue import Catalogue, UnknownRep
from quizgen.reps.families import families
from quizgen.reps.ids import VERSION
from quizgen.reps.kinds import KINDS
from quizgen.reps.rep import Rep, Stage
from tests.reps.small_team import EVEN, TIGHT, TIGHT_LEFT, row, small_team


@pytest.fixture(scope="module")
def small() -> TeamBook:
    """Less than the other tests' team: these list everything again and again."""
    team = small_team()
    keep = ("Inside zone", "Guard kick", "Zone read")
    return replace(
        team,
        formations=(TIGHT, TIGHT_LEFT),
        schemes=tuple(play for play in team.schemes if play.name in keep),
        protections=team.protections[:1],
    )


@pytest.fixture(scope="module")
def catalogue(small: TeamBook) -> Catalogue:
    return Catalogue(small)


@pytest.fixture(scope="module")
def all_reps(catalogue: Catalogue) -> list[Rep]:
    return list(catalogue.reps())


# --- ids ----------------------------------------------------------------------------------------------------------
# The same digest worked out a second way: the standard library's own walk over dataclasses, then numbers, enums and
# order put right on the finished tree.
UNTOLD = {
    "goes_to",
    "adjust",
    "motions",
    "used_with",
    "meaning",
}  # said by the setup, or only in words
ANY_ORDER = {"rushes", "drops", "spots", "align", "conceded", "exchanges", "by_position"}


def tree(noun: Any) -> Any:
    if dataclasses.is_dataclass(noun) and not isinstance(noun, type):
        derived = {f.name for f in dataclasses.fields(noun) if not f.init}
        derived |= UNTOLD | ({"show"} if not getattr(noun, "show", ()) else set())
        found = {name: tree(getattr(noun, name)) for name in noun.__dataclass_fields__ if name not in derived}
        return {
            name: sorted(value, key=lambda one: json.dumps(one, sort_keys=True, separators=(",", ":")))
            if name in ANY_ORDER and isinstance(value, list)
            else value
            for name, value in found.items()
        }
    if hasattr(noun, "items"):
        return {key.value if isinstance(key, Enum) else key: tree(value) for key, value in noun.items()}
    if isinstance(noun, tuple):
        return list(map(tree, noun))
    if isinstance(noun, Enum):
        return noun.value
    return float(noun) if type(noun) in (int, float) else noun


def second_way(team: TeamBook, rep: Rep) -> str:
    pressure = next(p for p in team.pressures if p.name == rep.call)
    formation = next(f for f in team.snap_formations if f.name == rep.formation)
    played = team.played(pressure, rep.to, formation)
    front = next(f for f in team.fronts if f.name == played.pressure.front)
    play = next((p for p in (*team.schemes, *team.protections) if p.name == rep.play), None)
    names = {spot.position for spot in front.spots}
    men = sorted((p for p in team.positions if p.name in names), key=lambda p: p.name)
    whole = {
        "version": VERSION,
        **({"adjusted": tree(played.adjusted)} if played.adjusted else {}),
        "pressure": tree(played.pressure),
        "front": tree(front),
        "to": played.to.value,
        "formation": tree(formation),
        "play": None if play is None else tree(play),
        "play_to": None if rep.play_to is None else rep.play_to.value,
        "rules": tree(team.rules),
        "words": tree(team.words),
        "positions": [
            {"name": p.name, "label": p.label, "player_class": p.player_class.value, "mirrors": p.mirrors} for p in men
        ],
    }
    text = json.dumps(whole, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    kind = hashlib.sha256(f"{rep.kind}|{rep.position}".encode()).hexdigest()
    return hashlib.sha256(text.encode()).hexdigest()[:16] + kind[:8]


def test_ids_are_the_digest_of_what_decides_them(small: TeamBook, all_reps: list[Rep]) -> None:
    assert [rep.id for rep in all_reps[::7]] == [second_way(small, rep) for rep in all_reps[::7]]


def test_a_rep_of_a_checked_call_names_the_call_as_called_and_answers_as_it_is_played(demo: Catalogue) -> None:
    """Arete checks to Kame against a spread set in the gun: Sam rushes on Arete and is force on Kame."""
    wanted = {"calls": ["Arete"], "formations": ["Gun spread right"], "positions": ["Sam"], "sides": [Side.RIGHT]}
    reps = list(demo.reps(**wanted, schemes=["Inside zone"]))  # type: ignore[arg-type]
    assert reps
    for rep in reps:
        assert (rep.call, rep.to) == ("Arete", Side.RIGHT)
        assert "Kame" not in rep.stem
        assert rep.because.startswith("Now Kame right: ")
    asked = [rep for rep in demo.reps(**wanted) if rep.kind == "track"]  # type: ignore[arg-type]
    assert asked == []  # he has no gap on Kame


def test_ids_of_the_demo(demo: Catalogue, sample: list[Rep]) -> None:
    assert [rep.id for rep in sample[::41]] == [second_way(demo.team, rep) for rep in sample[::41]]


def test_no_id_twice(all_reps: list[Rep]) -> None:
    assert len({rep.id for rep in all_reps}) == len(all_reps)


def test_the_same_list_every_time_in_whatever_order_files_are_loaded(small: TeamBook, all_reps: list[Rep]) -> None:
    turned = replace(
        small,
        positions=small.positions[::-1],
        fronts=tuple(replace(front, spots=front.spots[::-1]) for front in small.fronts),
        pressures=tuple(replace(p, rushes=p.rushes[::-1], drops=p.drops[::-1]) for p in reversed(small.pressures)),
        formations=small.formations[::-1],
        schemes=small.schemes[::-1],
        protections=small.protections[::-1],
    )
    assert list(Catalogue(turned).reps()) == all_reps


def test_a_changed_play_changes_only_the_ids_that_it_touches(small: TeamBook, all_reps: list[Rep]) -> None:
    slower = replace(small.schemes[0], ball_s=2.9)
    edited = Catalogue(replace(small, schemes=(slower, *small.schemes[1:])))
    before, after = ({rep.id: rep for rep in reps} for reps in (all_reps, list(edited.reps())))
    assert {rep.play for rep in all_reps if rep.id not in after} == {slower.name}
    assert {rep.play for rep in after.values() if rep.id not in before} == {slower.name}
    assert all(rep.play != slower.name for name, rep in before.items() if name in after)


def test_a_changed_call_changes_only_the_ids_that_it_touches(small: TeamBook, all_reps: list[Rep]) -> None:
    edited = replace(small, pressures=(replace(small.pressures[0], peel=True), small.pressures[1]))
    kept = {rep.id for rep in Catalogue(edited).reps()} & {rep.id for rep in all_reps}
    assert {rep.call for rep in all_reps if rep.id in kept} == {small.pressures[1].name}
    assert {rep.call for rep in all_reps if rep.id not in kept} == {small.pressures[0].name}


# --- finding and listing ------------------------------------------------------------------------------------------


def test_a_rep_is_found_by_its_id(small: TeamBook, all_reps: list[Rep]) -> None:
    fresh = Catalogue(small)
    assert [fresh.rep(rep.id) for rep in all_reps[::23]] == all_reps[::23]


@pytest.mark.parametrize("rep_id", ["", "x", "0" * 24, "é" * 24])
def test_an_unknown_id(catalogue: Catalogue, rep_id: str) -> None:
    with pytest.raises(UnknownRep, match="expected the id of a rep"):
        catalogue.rep(rep_id)


def test_the_id_of_a_kind_that_asks_nothing_there(catalogue: Catalogue, all_reps: list[Rep]) -> None:
    track = next(rep for rep in all_reps if rep.kind == "track" and rep.position == "Mike")
    matchup = next(rep for rep in all_reps if rep.kind == "matchup" and rep.position == "Mike")
    with pytest.raises(UnknownRep):
        catalogue.rep(track.id[:16] + matchup.id[16:])


def test_listing_is_lazy(small: TeamBook) -> None:
    fresh = Catalogue(small)
    next(fresh.reps())
    assert fresh.solved_count <= 2


def test_kept_snaps_are_bounded(small: TeamBook) -> None:
    fresh = Catalogue(small, snaps_kept=32)
    assert sum(1 for _ in fresh.reps()) > 32
    assert fresh.solved_count <= 32


def test_filters(catalogue: Catalogue, all_reps: list[Rep]) -> None:
    wanted = {
        "positions": (["Will"], lambda rep: rep.position == "Will"),
        "calls": (["Hammer"], lambda rep: rep.call == "Hammer"),
        "stages": ([Stage.PULLS, Stage.PASS], lambda rep: rep.stage in (3, 5)),
        "sides": ([Side.LEFT], lambda rep: rep.to is Side.LEFT),
        "kinds": (["edge", "half-man"], lambda rep: rep.kind in ("edge", "half-man")),
        "schemes": (["Guard kick", "Half slide"], lambda rep: rep.play in ("Guard kick", "Half slide")),
    }
    for name, (values, is_wanted) in wanted.items():
        found = {rep.id for rep in catalogue.reps(**{name: values})}  # type: ignore[arg-type]
        assert found == {rep.id for rep in all_reps if is_wanted(rep)}, name
        assert found


@pytest.mark.parametrize(
    ("name", "value"),
    [("positions", "Wil"), ("calls", "Hamer"), ("kinds", "tracks"), ("schemes", "Sweep"), ("stages", 6)],
)
def test_an_unknown_name_in_a_filter(catalogue: Catalogue, name: str, value: object) -> None:
    with pytest.raises(UnknownName, match="expected one of"):
        catalogue.reps(**{name: [value]})  # type: ignore[arg-type]


def test_counts_are_what_is_listed(catalogue: Catalogue, all_reps: list[Rep]) -> None:
    counts = catalogue.counts()
    listed = Counter((rep.kind, rep.stage, rep.position, rep.call, rep.to) for rep in all_reps)
    assert dict(counts.reps) == dict(listed)
    assert counts.total == len(all_reps)
    assert (counts.cannot_run, counts.no_rule) == (0, {})


def test_every_kind_and_stage_is_there(all_reps: list[Rep]) -> None:
    assert {rep.kind for rep in all_reps} == set(KINDS) - {"adjust"}  # these calls go as called and change for nothing
    assert {rep.stage for rep in all_reps} == set(Stage)


def test_the_first_few_vary(catalogue: Catalogue) -> None:
    first = list(islice(catalogue.reps(positions=["Will"], calls=["Hammer"]), 12))
    assert {(rep.to, rep.play_to) for rep in first} >= {(to, play_to) for to in Side for play_to in Side}
    assert len({rep.formation for rep in first}) == 2
    assert len({rep.play for rep in first}) >= 4
    assert len({rep.kind for rep in first}) >= 4
    assert len({rep.picture for rep in first}) == 12


def test_the_first_few_of_the_demo_vary(demo: Catalogue) -> None:
    for position in ("Mike", "Nose", "Sam"):
        first = list(islice(demo.reps(positions=[position]), 24))
        assert len({rep.call for rep in first}) >= 8
        assert len({rep.formation for rep in first}) >= 8
        assert len({rep.play for rep in first}) >= 12
        sides = Counter(rep.to for rep in first)
        assert min(sides.values()) >= 8


def test_guises_ask_the_same_from_elsewhere(all_reps: list[Rep]) -> None:
    by_guise: dict[str, list[Rep]] = {}
    for rep in all_reps:
        by_guise.setdefault(rep.guise, []).append(rep)
    for reps in by_guise.values():
        assert len({(rep.kind, rep.position, rep.call, rep.play, rep.play_to is rep.to) for rep in reps}) == 1
        assert len({(rep.to, rep.formation, rep.play_to) for rep in reps}) == len(reps)
    most = max(by_guise.values(), key=len)
    assert {rep.to for rep in most} == set(Side)
    assert len({rep.formation for rep in most}) > 1


# --- what cannot be asked -----------------------------------------------------------------------------------------

WING_KICK = Scheme("Wing kick", SchemeFamily.SPLIT_ZONE, (row(Job.ZONE, "line"), row(Job.CROSS_KICK, "wing")))
COLLIDE = Scheme("Collide", SchemeFamily.BASE, (row(Job.DOWN, "line"), row(Job.REACH, "play side tackle")))


def with_play(small: TeamBook, play: Scheme) -> TeamBook:
    return replace(small, schemes=(*small.schemes, play))


def test_a_formation_that_cannot_run_a_play_has_no_reps(small: TeamBook, all_reps: list[Rep]) -> None:
    found = Catalogue(with_play(small, WING_KICK))
    assert list(found.reps(schemes=["Wing kick"])) == []
    assert found.counts(schemes=["Wing kick"]).cannot_run == 2 * 2 * 2 * 2  # calls, sides, formations, directions
    assert found.no_rule == {}
    assert {rep.id for rep in found.reps()} == {rep.id for rep in all_reps}


def test_a_situation_without_a_rule_is_left_out_of_a_listing_and_counted(small: TeamBook, all_reps: list[Rep]) -> None:
    found = Catalogue(with_play(small, COLLIDE))
    listed = [rep for rep in found.reps() if rep.play == "Collide"]
    counts = found.counts(schemes=["Collide"])
    assert counts.no_rule
    assert counts.no_rule == found.no_rule
    assert all("would run into each other" in message for message in counts.no_rule.values())
    assert len(counts.no_rule) + len({rep.id[:16] for rep in listed}) == 2 * 2 * 2 * 2


def test_the_message_comes_when_that_very_rep_is_asked_for(small: TeamBook, all_reps: list[Rep]) -> None:
    found = Catalogue(with_play(small, COLLIDE))
    without = next(iter(found.counts(schemes=["Collide"]).no_rule))
    kind = next(rep for rep in all_reps if rep.kind == "moved-gap").id[16:]
    with pytest.raises(NoRule, match="would run into each other"):
        found.rep(without + kind)


def test_a_team_with_nothing_has_nothing() -> None:
    empty = TeamBook("Empty", (), (), (), (), ())
    assert list(Catalogue(empty).reps()) == []
    assert Catalogue(empty).counts().total == 0
    assert families(Catalogue(empty)) == {}


# --- families -----------------------------------------------------------------------------------------------------


def test_families_are_calls_with_the_same_gap(small: TeamBook) -> None:
    # By hand: Anvil and Hammer differ only in the backers' gaps, which they trade. So the calls are like for everybody
    # but the two backers, for whom every run that leaves them their gap gives another one.
    found = families(Catalogue(small))
    assert set(found) == {p.key for p in small.positions}
    for position, calls in found.items():
        alike = calls["hammer"] == calls["anvil"] == "anvil"
        assert alike is (position not in ("will", "mike")), position


def test_a_call_twice_under_two_names_is_one_family() -> None:
    team = small_team(TeamRules())
    twin = replace(team.pressures[0], name="Zinc", key="zinc")
    found = families(Catalogue(replace(team, pressures=(*team.pressures, twin), formations=(EVEN,))))
    assert all(calls["zinc"] == calls["anvil"] for calls in found.values())
