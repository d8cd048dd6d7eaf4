"""Who can name his gap on which call, with honest uncertainty, and what to ask him next.

Pure functions on plain values. Knows nothing of databases, pages, clocks or football rules: calls, positions, gaps and
relations are names the caller passes in, time is an argument in seconds since 1970 UTC (`values.to_seconds` converts),
randomness is a `random.Random` the caller passes in.

Only answers need to be stored: replaying them reproduces the running state to the last bit.

    state = replay(answers, settings, families)
    predicted = state.update(answer)                    # one more AnswerFact, no older than the last
    found = readout(state, player, call, now, settings) # CallReadout: state, P(can), counts, last date, six parts
    cells = board(state, players, calls, now, settings) # {(player, call): Estimate} in one pass
    cells = reading.board(state, players, now)          # the same from a Reading(calls, settings) kept between answers
    names = not_there_yet(state, players, calls, now, settings)
    open_yet = missing_stages(state, player, call, now, settings)  # stages and sides with no recent right answer
    rep = next_rep(state, player, options, asked, now, settings, rng, length=8)
    rep = next_check_rep(state, player, call, options, asked, now, settings, rng)
    verdict = check_verdict(state, player, call, len(asked), now, settings)
    found = confusions(answers)                         # pass the answers of a season, a call, or since a date

`readout`, `board`, `not_there_yet` and `check_verdict` take `stage=` for one stage of a call; the first three also take
`side=` for one side. `families` is a plain mapping of call to family, or `Families` where positions differ. A change of
families or of `StateRules` needs a replay; a change of weights, opponent or taught stages does not. A bad value raises
`MasteryError`.

Modules: `values` (plain values and settings), `model` (the filter), `cells` (arithmetic on many calls at once),
`replay` (the running state), `judging` (the four states), `readout` (the evidence), `missing_stages` (what is missing),
`picker` (what to ask), `confusions` (where wrong answers go).
"""

from server.mastery.confusions import Certainty, Confusion, Scope, confusions
from server.mastery.judging import MissingForCan, Tally
from server.mastery.missing_stages import MissingReason, MissingStage, missing_stages
from server.mastery.model import PartKind
from server.mastery.picker import (
    CHECK_MAX,
    CHECK_MIN,
    Asked,
    RepOption,
    check_verdict,
    next_check_rep,
    next_rep,
    open_stages,
)
from server.mastery.readout import (
    AnswerCount,
    CallReadout,
    Estimate,
    EstimatePart,
    Reading,
    board,
    not_there_yet,
    readout,
)
from server.mastery.replay import MasteryState, replay
from server.mastery.values import (
    DAY_S,
    DEFAULT_STAGE_MIX,
    LEFT,
    RIGHT,
    SIDES,
    STAGES,
    AnswerFact,
    Families,
    MasteryError,
    State,
    StateRules,
    TeamSettings,
    shares,
    to_seconds,
)

__all__ = [
    "CHECK_MAX",
    "CHECK_MIN",
    "DAY_S",
    "DEFAULT_STAGE_MIX",
    "LEFT",
    "RIGHT",
    "SIDES",
    "STAGES",
    "AnswerFact",
    "Asked",
    "CallReadout",
    "Certainty",
    "Confusion",
    "AnswerCount",
    "Estimate",
    "Families",
    "MissingReason",
    "MissingStage",
    "MasteryError",
    "MasteryState",
    "EstimatePart",
    "PartKind",
    "Reading",
    "RepOption",
    "Scope",
    "MissingForCan",
    "State",
    "StateRules",
    "Tally",
    "TeamSettings",
    "board",
    "check_verdict",
    "confusions",
    "missing_stages",
    "next_check_rep",
    "next_rep",
    "not_there_yet",
    "open_stages",
    "readout",
    "replay",
    "shares",
    "to_seconds",
]
