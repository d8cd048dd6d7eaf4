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
    kind: str = "",
    snap: str | None = None,
    position: str = "",
    weight: float = 1.0,
) -> AnswerFact:
    """An answer; each moment shows a snap of its own unless one is given."""
    shown = f"snap at {at}" if snap is None else snap
    how = {"kind": kind, "snap": shown, "position": position, "weight": weight}
    return AnswerFact(player, call, stage, side, choices, right, at, **how)  # type: ignore[arg-type]


def alternating(rights: list[bool], *, at: float = 0.0, **how: object) -> list[AnswerFact]:
    """Answers twenty seconds apart, left and right in turn, two at each stage."""
    return [
        fact(right, at=at + 20.0 * i, stage=i // 2 % 5 + 1, side=SIDES[i % 2], **how)  # type: ignore[arg-type]
        for i, right in enumerate(rights)
    ]


def on_days(days: tuple[float, ...], each: int = 10, **how: object) -> list[AnswerFact]:
    """Right answers on each of these days, left and right in turn, two at each stage."""
    return [one for day in days for one in alternating([True] * each, at=day * DAY_S, **how)]


def values_of(state: MasteryState) -> object:
    """Everything in a state as plain values, to compare two states to the last bit."""
    beliefs = {
        player: (belief.at, belief.index, [one.tolist() for one in belief.gather([tuple(belief.index)])])
        for player, belief in state.beliefs.items()
    }
    records = {
        (player, *job): (
            record.shown,
            {part: (p.mean.tolist(), p.cov.tolist(), p.team.mean.tolist(), p.at) for part, p in record.proofs.items()},
        )
        for player, jobs in state.records.items()
        for job, record in jobs.items()
    }
    difficulty = (state.difficulty.parts, state.difficulty.told)
    return state.answers, state.last_at, dict(state.positions), difficulty, beliefs, records


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
