"""What a call becomes against a formation: rows in order, checks, the side of a check. Common practice throughout."""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.football.calling import PlayedCall, play_call
from quizgen.football.defense import Alignment, Landmark
from quizgen.football.errors import FootballValueError
from quizgen.football.facts import parse_fact
from quizgen.football.pressure import Adjustment, CallGap, CoverJob, Drop, GoesTo, Pressure, RunJob, Rush
from quizgen.football.sides import Letter, Side, Toward
from tests.football.test_facts import EMPTY, PRO, TRIPS
from tests.outside.field import Defense

LEFT, RIGHT = Side.LEFT, Side.RIGHT
WIDE = Alignment(Landmark.NUMBER_TWO, Toward.TO, depth_yd=5.0)


def named(name: str, *adjust: Adjustment, goes_to: tuple[GoesTo, ...] = ()) -> Pressure:
    """A call of a nose who rushes A, and a backer who fills B."""
    defense = Defense().down("nose", "1", "R", "R A").fill("backer", "guard", "R", "R B")
    return replace(defense.pressure()[1], name=name, adjust=adjust, goes_to=goes_to)


def row(against: str, check: str = "") -> Adjustment:
    """A row that checks, or moves the backer."""
    facts = tuple(parse_fact(words) for words in against.split(" + "))
    return Adjustment(facts, check) if check else Adjustment(facts, align=(("backer", WIDE),))


def played(calls: list[Pressure], to: Side, formation: object = TRIPS) -> PlayedCall:
    """The first of these calls against a formation."""
    return play_call(calls[0], to, formation, {call.name: call for call in calls}.__getitem__)  # type: ignore[arg-type]


def words(found: PlayedCall) -> str:
    """The call as played: its name, its side, whether the backer moved, what was adjusted."""
    moved = " moved" if dict(found.pressure.align).get("backer") == WIDE else ""
    why = f" ({found.adjusted.words})" if found.adjusted else ""
    return f"{found.pressure.name} {found.to.value}{moved}{why}"


BLITZ = named("blitz")
CASES = [
    ([named("base")], RIGHT, "base right"),
    ([named("base", row("trips to"))], RIGHT, "base right moved (trips to: adjusted)"),
    ([named("base", row("trips to"))], LEFT, "base left"),
    ([named("base", row("trips"))], LEFT, "base left moved (trips: adjusted)"),
    ([named("base", row("trips to + gun"))], RIGHT, "base right moved (trips to and gun: adjusted)"),
    ([named("base", row("trips to + under center"))], RIGHT, "base right"),
    ([named("base", row("trips", "blitz"), row("trips")), BLITZ], RIGHT, "blitz right (trips: checked to blitz)"),
    ([named("base", row("trips"), row("trips", "blitz")), BLITZ], RIGHT, "base right moved (trips: adjusted)"),
    # the other call is played as it is played here, but its own checks don't count
    (
        [named("base", row("trips", "blitz")), named("blitz", row("gun", "third"), row("trips to")), named("third")],
        RIGHT,
        "blitz right moved (trips: checked to blitz)",
    ),
    # the other call goes where its own rule lets it go, and its facts are seen from there
    (
        [named("base", row("trips", "blitz")), named("blitz", row("trips to"), goes_to=(GoesTo.AWAY_FROM_BACK,))],
        RIGHT,
        "blitz left (trips: checked to blitz left)",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("calls", "to", "expected"), CASES, ids=[case[2] for case in CASES])
def test_the_first_row_that_holds_counts(calls: list[Pressure], to: Side, expected: str) -> None:
    assert words(played(calls, to)) == expected


def test_a_formation_without_the_fact_changes_nothing() -> None:
    call = named("base", row("trips"), row("empty", "blitz"))
    assert played([call, BLITZ], RIGHT, PRO) == PlayedCall(call, RIGHT)
    assert words(played([named("base", row("empty", "blitz")), BLITZ], RIGHT, EMPTY)) == (
        "blitz right (empty: checked to blitz)"
    )


def test_a_row_changes_the_jobs_of_its_men_and_nobody_elses() -> None:
    gap = CallGap(Toward.AWAY, Letter.A)
    loose = Drop("nose", CoverJob.MAN, RunJob.ALLEY, Toward.TO, man="tailback")
    change = Adjustment((parse_fact("trips"),), rushes=(Rush("backer", gap),), drops=(loose,))
    call = named("base", change)
    found = played([call], RIGHT).pressure
    assert (found.rushes, found.find_drop("nose")) == ((Rush("backer", gap),), loose)
    assert set(found.positions) == set(call.positions)
    assert [d for d in found.drops if d.position != "nose"] == [d for d in call.drops if d.position != "backer"]


REFUSED = [
    (lambda: Adjustment(()), "against: expected at least one fact"),
    (lambda: Adjustment((parse_fact("trips"),)), "check: expected either a call to check to"),
    (lambda: replace(row("trips"), check="blitz"), "check: expected either a call to check to"),
    (lambda: replace(row("trips"), align=(("backer", WIDE), ("backer", WIDE))), "align: expected each position once"),
    (
        lambda: named("base", replace(row("trips"), align=(("Mike", WIDE),))),
        "adjust[1]: expected a man of this call: one of nose, backer",
    ),
    (
        lambda: named(
            "base",
            Adjustment(
                (parse_fact("trips"),), drops=(Drop("backer", CoverJob.POST, RunJob.FREE),)
            ),
        ),
        "adjust[1].coverage: expected 0 deep",
    ),
    (
        lambda: replace(named("base"), show=(("nose", WIDE),)),
        "show: expected a man who drops (a rusher comes from where he stands: 'align' says where)",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("make", "message"), REFUSED, ids=[message for _, message in REFUSED])
def test_what_can_not_be_is_refused(make: object, message: str) -> None:
    assert callable(make)
    with pytest.raises(FootballValueError) as caught:
        make()
    assert str(caught.value).startswith(message)
