"""Sample answers for the mastery tests."""

from hypothesis import strategies as st

from server.mastery.readout import Estimate, board
from server.mastery.replay import MasteryState, replay
from server.mastery.values import DAY_S, LEFT, SIDES, STAGES, AnswerFact, TeamSettings

SETTINGS = TeamSettings()
FAMILIES = {"storm": "edge", "thunder": "edge", "anvil": "middle"}
CALLS = tuple(FAMILIES)


def fact(
    right: bool = True,
    *,
    at: float = 0.0,
    player: str = "p1",
    call: str = "storm",
    stage: int = 1,
    side: str = LEFT,
    choices: int = 6,
) -> AnswerFact:
    return AnswerFact(player, call, stage, side, choices, right, at)


def alternating(rights: list[bool], *, at: float = 0.0, **how: object) -> list[AnswerFact]:
    """Answers twenty seconds apart, left and right in turn, two at each stage."""
    return [
        fact(right, at=at + 20.0 * i, stage=i // 2 % 5 + 1, side=SIDES[i % 2], **how)  # type: ignore[arg-type]
        for i, right in enumerate(rights)
    ]


def seasoned(count: int = 200) -> list[AnswerFact]:
    """Old answers by other players on another call, so that the team no longer counts as new."""
    return [fact(i % 2 == 0, at=-300 * DAY_S, player=f"other {i % 20}", call="anvil") for i in range(count)]


def cell(state: MasteryState, now: float, stage: int | None = None, side: str | None = None) -> Estimate:
    return board(state, ["p1"], ["storm"], now, SETTINGS, stage, side)["p1", "storm"]


def after(facts: list[AnswerFact]) -> MasteryState:
    return replay(facts, SETTINGS, FAMILIES)


@st.composite
def histories(draw: st.DrawFn, max_size: int = 40) -> list[AnswerFact]:
    """Answers of two players on three calls, in order of time, seconds to weeks apart."""
    steps = draw(
        st.lists(
            st.tuples(
                st.sampled_from(("p1", "p2")),
                st.sampled_from(CALLS),
                st.sampled_from(STAGES),
                st.sampled_from(SIDES),
                st.integers(2, 12),
                st.booleans(),
                st.sampled_from((0.0, 15.0, DAY_S, 9 * DAY_S, 40 * DAY_S)),
            ),
            max_size=max_size,
        )
    )
    at, facts = 0.0, []
    for player, call, stage, side, choices, right, gap in steps:
        at += gap
        facts.append(AnswerFact(player, call, stage, side, choices, right, at))
    return facts
