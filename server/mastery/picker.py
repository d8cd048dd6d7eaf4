"""What to ask a player next: what matters against the next opponent and what he doesn't know yet.

A rep's weight is call weight x stage weight x one half x (1 - chance of knowing it)^2, and a tenth of that when the
same question was already asked this session; times its worth, which says how far the call decides its answer: what a
player gets right by the picture alone proves nothing and is asked rarely. Rules on top: stages in teaching order, both
sides, no picture twice in a set, a missed rep comes back in another guise. Randomness is a seeded `random.Random`.
Knows nothing of football, of how a rep is drawn, or of where sets are stored.
"""

import random
from collections import Counter, defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from server.mastery.cells import CELLS, cell_moments, cell_shares, outcomes, p_can
from server.mastery.model import guess_chance
from server.mastery.readout import board, cell_chances, parts_now
from server.mastery.replay import CallAnswer, MasteryState
from server.mastery.values import LEFT, RIGHT, SIDES, STAGES, State, TeamSettings

ASKED_FACTOR = 0.1
#: How much less a kind, or a guise, is drawn for each time that it was asked in this set. Rejected: only the kinds
#: asked least (a position's kinds whose answer never changes came as often as the others).
KIND_ASKED, GUISE_ASKED = 0.4, 0.5
#: Lowest weight of a call or stage: what a coach assigns is asked even if the opponent never runs it.
MIN_WEIGHT = 1e-6
REPEAT_AFTER = 2
MAX_SIDE_LEAD = 2
CHECK_MIN, CHECK_MAX = 4, 9
#: A check session asks a question (stage and side) this many times before it has asked all others.
CHECK_SAME_QUESTION = 2
#: Guess chance that a check session assumes before the rep is chosen: six choices.
CHECK_GUESS = guess_chance(6)


@dataclass(frozen=True, slots=True)
class RepOption:
    """A rep that could be asked.

    Reps that show the same picture share `picture`; `guise` is what makes the situation look different besides the side
    (the formation, say). `weight` is relative to other reps of the same question and must be above 0. `worth` is
    relative to all reps of its kind, 1 on average: how far the call decides the answer.
    """

    rep: str
    picture: str
    call: str
    stage: int
    side: str
    kind: str = ""
    guise: str = ""
    weight: float = 1.0
    worth: float = 1.0

    @property
    def cell(self) -> tuple[str, int, str]:
        """The question it asks: call, stage, side."""
        return self.call, self.stage, self.side


@dataclass(frozen=True, slots=True)
class Asked:
    """A rep asked this session, and whether the answer was right."""

    option: RepOption
    right: bool


def open_stages(state: MasteryState, player: str, call: str, opened_by_coach: Collection[int] = ()) -> frozenset[int]:
    """Stages of a call that a player may be asked: the first, each stage after one answered right from both sides, and
    those the coach opened. An open stage stays open."""
    record = state.record_of(player, call)
    right = {(s.stage, s.side) for s in record.shown if s.right} if record else set()
    allowed = {STAGES[0], *opened_by_coach}
    for stage in STAGES[:-1]:
        if stage in allowed and all((stage, side) in right for side in SIDES):
            allowed.add(stage + 1)
    return frozenset(allowed & set(STAGES))


def misses_to_repeat(asked: Sequence[Asked]) -> list[tuple[int, RepOption]]:
    """Missed reps not yet repeated in another guise, oldest first, each with how many reps ago it was asked."""
    waiting: list[tuple[int, RepOption]] = []
    for place, one in enumerate(asked):
        for entry in waiting:
            if _another_guise(one.option, entry[1]):
                waiting.remove(entry)
                break
        if not one.right:
            waiting.append((place, one.option))
    return [(len(asked) - place, option) for place, option in waiting]


def _another_guise(option: RepOption, missed: RepOption) -> bool:
    same = option.call == missed.call and option.stage == missed.stage and option.kind == missed.kind
    return same and option.picture != missed.picture and (option.side, option.guise) != (missed.side, missed.guise)


def next_rep(
    state: MasteryState,
    player: str,
    options: Sequence[RepOption],
    asked: Sequence[Asked],
    now: float,
    settings: TeamSettings,
    rng: random.Random,
    *,
    length: int | None = None,
    opened_by_coach: Collection[int] = (),
) -> RepOption | None:
    """The rep to ask next; None when every picture he may be asked was already in this set.

    `asked` are the reps of this set so far, `length` is the set's length (None: open end). A missed rep comes back
    after at least two others, or sooner when the set would end first.
    """
    fresh = _allowed(state, player, options, asked, opened_by_coach)
    if not fresh:
        return None
    left = None if length is None else length - len(asked)
    misses = misses_to_repeat(asked)
    for ago, missed in misses:
        if ago > REPEAT_AFTER or (left is not None and left <= len(misses)):
            repeats = [o for o in fresh if _another_guise(o, missed)]
            if repeats:
                return _draw_varied([o for o in repeats if o.side != missed.side] or repeats, asked, rng)
    too_recent = [missed for ago, missed in misses if ago <= REPEAT_AFTER]
    ahead = [o for o in fresh if not any(_another_guise(o, missed) for missed in too_recent)] or fresh
    return _draw(state, player, _even_sides(ahead, asked), asked, now, settings, rng)


def _allowed(
    state: MasteryState,
    player: str,
    options: Sequence[RepOption],
    asked: Sequence[Asked],
    opened_by_coach: Collection[int],
) -> list[RepOption]:
    seen = {one.option.picture for one in asked}
    stages = {call: open_stages(state, player, call, opened_by_coach) for call in {o.call for o in options}}
    return [o for o in options if o.picture not in seen and o.stage in stages[o.call]]


def _even_sides(options: list[RepOption], asked: Sequence[Asked]) -> list[RepOption]:
    """Only the side that is behind, when the other leads by two and there are reps for it."""
    lead = sum(1 if one.option.side == LEFT else -1 for one in asked)
    if abs(lead) < MAX_SIDE_LEAD:
        return options
    behind = RIGHT if lead > 0 else LEFT
    return [o for o in options if o.side == behind] or options


def cell_weights(
    chances: dict[tuple[str, int, str], float],
    cells: Sequence[tuple[str, int, str]],
    asked: Sequence[Asked],
    settings: TeamSettings,
) -> list[float]:
    """Draw weight of each question."""
    done = {one.option.cell for one in asked}
    by_stage = settings.weights()
    return [
        max(settings.call_weight(call), MIN_WEIGHT)
        * max(by_stage[stage - 1], MIN_WEIGHT)
        * 0.5
        * (1.0 - chances[call, stage, side]) ** 2
        * (ASKED_FACTOR if (call, stage, side) in done else 1.0)
        for call, stage, side in cells
    ]


def _draw(
    state: MasteryState,
    player: str,
    options: list[RepOption],
    asked: Sequence[Asked],
    now: float,
    settings: TeamSettings,
    rng: random.Random,
) -> RepOption:
    cells = sorted({o.cell for o in options})
    chances = cell_chances(state, player, sorted({cell[0] for cell in cells}), now)
    worths = cell_worths(options)
    weights = [
        weight * worths[cell] for cell, weight in zip(cells, cell_weights(chances, cells, asked, settings), strict=True)
    ]
    cell = rng.choices(cells, weights)[0]
    return _draw_varied([o for o in options if o.cell == cell], asked, rng)


def cell_worths(options: Sequence[RepOption]) -> dict[tuple[str, int, str], float]:
    """The mean worth of each question's reps, as they are weighted."""
    total: defaultdict[tuple[str, int, str], float] = defaultdict(float)
    worth: defaultdict[tuple[str, int, str], float] = defaultdict(float)
    for option in options:
        total[option.cell] += option.weight
        worth[option.cell] += option.weight * option.worth
    return {cell: worth[cell] / total[cell] for cell in total}


def _draw_varied(options: list[RepOption], asked: Sequence[Asked], rng: random.Random) -> RepOption:
    """One of these reps, drawn by weight and worth; kinds and guises already asked in this set come less often."""
    kinds = Counter(one.option.kind for one in asked)
    guises = Counter(one.option.guise for one in asked)
    ordered = sorted(options, key=lambda o: o.rep)
    return rng.choices(
        ordered,
        [o.weight * o.worth * KIND_ASKED ** kinds[o.kind] * GUISE_ASKED ** guises[o.guise] for o in ordered],
    )[0]


def check_verdict(
    state: MasteryState,
    player: str,
    call: str,
    asked: int,
    now: float,
    settings: TeamSettings,
    stage: int | None = None,
) -> State | None:
    """The verdict of a check session on a call after `asked` reps; None while it goes on.

    It stops when the call is decided (*can* or *can't*), or after nine reps with the state at that point.
    """
    found = board(state, [player], [call], now, settings, stage)[player, call].state
    if found in (State.CAN, State.CANNOT) or asked >= CHECK_MAX:
        return found
    return None


def next_check_rep(
    state: MasteryState,
    player: str,
    call: str,
    options: Sequence[RepOption],
    asked: Sequence[Asked],
    now: float,
    settings: TeamSettings,
    rng: random.Random,
    *,
    opened_by_coach: Collection[int] = STAGES,
) -> RepOption | None:
    """The next rep of a check session on a call; None when the call is decided or no picture is left.

    Both sides come first and stay within two of each other, and no question is asked a third time while there are
    others; of what is left, the rep whose answer is expected to change P(can) most. Reps in `asked` whose answers are
    not in the state yet (a session laid out in advance) count as asked with an unknown answer.
    """
    if check_verdict(state, player, call, len(asked), now, settings) is not None:
        return None
    fresh = _allowed(state, player, [o for o in options if o.call == call], asked, opened_by_coach)
    if not fresh:
        return None
    record = state.record_of(player, call)
    shown = record.shown if record else []
    unasked = set(SIDES) - {one.option.side for one in asked} if asked else set()
    pool = [o for o in fresh if o.side in unasked] or _even_sides(fresh, asked)
    times = Counter(one.option.cell for one in asked)
    pool = [o for o in pool if times[o.cell] < CHECK_SAME_QUESTION] or pool
    # Over 480 sessions a simulator, the share left undecided after nine reps fell from .42 to .37, .30 to .27 and .41
    # to .39; verdicts were right about as often. Rejected: stages by weight with sides in turn (the figures before);
    # the least expected error bar (as good, but it asks the side he is known to know); giving up early (what can still
    # be decided is worth two minutes).
    cells = list(dict.fromkeys(o.cell[1:] for o in sorted(pool, key=lambda o: (o.stage, o.side))))
    change = _expected_changes(state, player, call, _not_recorded(shown, asked), cells, now, settings)
    most = max(change.values())
    chosen = rng.choice([cell for cell in cells if change[cell] >= most * (1.0 - 1e-9)])
    return _draw_varied([o for o in pool if o.cell[1:] == chosen], asked, rng)


def _not_recorded(shown: Sequence[CallAnswer], asked: Sequence[Asked]) -> list[tuple[int, str]]:
    """Stage and side of the reps in `asked` whose answers are not yet at the end of the recorded ones."""
    given = [(one.stage, one.side, one.right) for one in shown]
    answers = [(one.option.stage, one.option.side, one.right) for one in asked]
    held = next(n for n in range(len(answers), -1, -1) if n == 0 or given[-n:] == answers[:n])
    return [(stage, side) for stage, side, _ in answers[held:]]


def _expected_changes(
    state: MasteryState,
    player: str,
    call: str,
    waiting: Sequence[tuple[int, str]],
    cells: Sequence[tuple[int, str]],
    now: float,
    settings: TeamSettings,
) -> dict[tuple[int, str], float]:
    """Expected change of the call's P(can) by an answer on each of these cells: its variance over right and wrong."""
    mean, cov = cell_moments(*parts_now(state, player, [call], now))
    theta, spread = mean[0], cov[0]
    for cell in waiting:
        right, wrong = outcomes(theta, spread, CELLS.index(cell), CHECK_GUESS)
        spread = right.chance * right.cov + wrong.chance * wrong.cov
    ends = [end for cell in cells for end in outcomes(theta, spread, CELLS.index(cell), CHECK_GUESS)]
    thetas, spreads = np.array([end.theta for end in ends]), np.array([end.cov for end in ends])
    can, _, _ = p_can(thetas, spreads, cell_shares(settings.weights()), settings.rules.known_share)
    right_chance = np.array([end.chance for end in ends[0::2]])
    change = right_chance * (1.0 - right_chance) * (can[0::2] - can[1::2]) ** 2
    return dict(zip(cells, change.tolist(), strict=True))
