"""Words into formations: places, gaps, keys, and what is refused. Yards are worked out by hand from the splits."""

from __future__ import annotations

import pytest

from quizgen.football.errors import FootballValueError
from quizgen.football.formation import Formation, Role
from quizgen.football.layout import attached, last_x, lay_out
from quizgen.football.rules import Measures
from quizgen.football.sides import Side

G, T, E, W = Role.GUARD, Role.TACKLE, Role.END, Role.WING
SIMPLE = Measures(guard_split_yd=1.0, tackle_split_yd=1.0, end_split_yd=1.5, man_width_yd=1.0)


def simple(left: tuple[Role, ...] = (G, T), right: tuple[Role, ...] = (G, T), **more: object) -> Formation:
    """A formation with two yards from man to man, two and a half to an end or wing."""
    return lay_out("any", left, right, quarterback_yd=1.5, measures=SIMPLE, **more)  # type: ignore[arg-type]


def places(formation: Formation) -> dict[str, tuple[float, float, bool, bool]]:
    return {p.key: (p.x, p.y, p.on_line, p.attached) for p in formation.players}


def test_men_stand_a_split_and_a_man_apart() -> None:
    found = places(simple(right=(G, T, E, W), receivers=[(Side.LEFT, 10.0, True)]))
    assert found == {
        "C": (0.0, 0.0, True, True),
        "LG": (-2.0, 0.0, True, True),
        "LT": (-4.0, 0.0, True, True),
        "RG": (2.0, 0.0, True, True),
        "RT": (4.0, 0.0, True, True),
        "RE": (6.5, 0.0, True, True),
        "RW": (9.0, 1.0, False, True),
        "QB": (0.0, 1.5, False, False),
        "WR1": (-14.0, 0.0, True, False),
    }


def test_default_splits_are_two_feet_and_three_for_the_end() -> None:
    # source: splits as taught, 2 ft; center to guard 1.57 yd, the median of tracked professional plays 2017-19.
    line = attached(Side.RIGHT, (G, T, E), Measures())
    assert line[0].x == pytest.approx(1.57, abs=0.005)
    assert line[2].x - line[1].x == pytest.approx(1.9)


@pytest.mark.parametrize(
    ("right", "gaps"),
    [
        ((G, T), ["right A", "right B", "right C"]),
        ((G, T, E), ["right A", "right B", "right C", "right D"]),
        ((G, T, E, W), ["right A", "right B", "right C", "right D", "right E"]),
        ((G, T, T, E), ["right A", "right B", "right C", "right D", "right E"]),
    ],
)
def test_each_attached_man_adds_a_gap(right: tuple[Role, ...], gaps: list[str]) -> None:
    formation = simple(right=right, receivers=[(Side.LEFT, 10.0, True)])
    assert [gap.name for gap in formation.gaps if gap.side is Side.RIGHT] == gaps


def test_a_wing_is_a_back_by_the_rules_of_the_game() -> None:
    """Six on the line and a wing, a quarterback and three backs: five backs, one too many."""
    backs = [(Role.TAILBACK, 0.0, 6.0), (Role.FULLBACK, 0.0, 4.0), (Role.SLOTBACK, -3.0, 4.0)]
    with pytest.raises(FootballValueError, match="no more than four backs"):
        simple(right=(G, T, W), backs=backs)


def test_a_second_tackle_has_a_key_of_its_own_and_mirrors() -> None:
    formation = simple(right=(G, T, T), receivers=[(Side.LEFT, 10.0, True)])
    assert {"RT", "RT2"} <= places(formation).keys()
    assert {"LT", "LT2"} <= places(formation.mirrored).keys()


def test_a_receiver_is_split_from_the_last_attached_man() -> None:
    formation = simple(left=(G, T, E), receivers=[(Side.LEFT, 3.0, False), (Side.RIGHT, 3.0, True)])
    assert places(formation)["WR1"][0] == -9.5
    assert places(formation)["WR2"][0] == 7.0
    assert last_x(Side.LEFT, formation.surface) == -6.5
    assert last_x(Side.LEFT, ()) == 0.0


def test_slotbacks_and_wings_in_the_backfield_have_a_side_and_other_backs_none() -> None:
    backs = [(Role.SLOTBACK, -5.0, 1.0), (Role.WING, 5.5, 1.0), (Role.TAILBACK, 1.5, 5.0), (Role.SLOTBACK, 0.0, 4.0)]
    found = {(p.role, p.x): p.side for p in lay_out("any", (G, T), (G, T), quarterback_yd=1.5, backs=backs[:3]).players}
    assert found[Role.SLOTBACK, -5.0] is Side.LEFT
    assert found[Role.WING, 5.5] is Side.RIGHT
    assert found[Role.TAILBACK, 1.5] is None


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ({"left": (T, G)}, "left: expected guard, tackle"),
        ({"right": (G, T, W, E)}, "right: expected guard, tackle"),
        ({"right": (G, T, Role.RECEIVER)}, "right: expected guard, tackle"),
        ({"right": (G, T, T, E, E, W)}, "at most 5 attached men"),
        ({"left": (G,)}, "a left tackle on the line"),
        ({"receivers": [(Side.LEFT, 0.5, True)]}, "a split between 1 and 25 yards"),
        ({"receivers": [(Side.LEFT, 26.0, True)]}, "a split between 1 and 25 yards"),
        ({"backs": [(Role.TAILBACK, 0.0, 0.2)]}, "a depth between 0.8 and 12 yards"),
        ({"backs": [(Role.TAILBACK, 26.0, 4.0)]}, "within 25 yards"),
        ({"backs": [(Role.CENTER, 0.0, 4.0)]}, "one of tailback"),
        ({"backs": [(Role.TAILBACK, 0.0, 1.7)]}, "no two men in one place"),
    ],
)
def test_what_makes_no_formation_is_refused(words: dict[str, object], message: str) -> None:
    with pytest.raises(FootballValueError, match=message):
        simple(**words)  # type: ignore[arg-type]
