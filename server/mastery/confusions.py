"""Where wrong answers go: a player who answers A where B is right more often than his team's own mistakes explain.

Every count of 3 or more is set against the team's profile of wrong answers for the same right answer, leaving out whom
it is about, by an exact binomial tail, times the number of wrong answers he could have given, and all tests together
are held to a false share of 10 % (Benjamini and Hochberg 1995). Three of three misses are worth a look but too few to
confirm anything, so they are told as possible and are not among the tests. Must not know: what the answers mean.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from server.mastery.values import AnswerFact

FALSE_SHARE = 0.10
MIN_COUNT = 3


class Scope(StrEnum):
    """What wrong answers were pooled over."""

    PLAYER_CALL = "player and call"
    PLAYER_RELATION = "player, all calls, by relation"
    POSITION_CALL = "position and call"


class Certainty(StrEnum):
    """How far to trust a confusion."""

    POSSIBLE = "possible"
    CONFIRMED = "confirmed"


@dataclass(frozen=True, slots=True)
class Confusion:
    """`count` of `misses` wrong answers went to `chosen` where `right_answer` was right.

    `who` is a player, or a position when pooled over one. Pooled by relation, `call` and `right_answer` are empty and
    `chosen` is the relation. `answered` counts all answers to those questions, right ones too, `people` how many
    players gave the `count`. `expected` is the team's share of `chosen` among such misses; `p_value` is corrected for
    the number of choices, `false_share` for all tests made together (1 where no test was made).
    """

    scope: Scope
    certainty: Certainty
    who: str
    call: str
    right_answer: str
    chosen: str
    count: int
    misses: int
    answered: int
    people: int
    expected: float
    p_value: float
    false_share: float
    last_at: float

    @property
    def sentence(self) -> str:
        """The finding in words, with its counts."""
        if self.scope is Scope.PLAYER_RELATION:
            return f"{self.count} of {self.misses} misses go to the {self.chosen}, over all calls."
        return (
            f"{self.count} of {self.misses} misses on {self.call} answer {self.chosen} "
            f"where {self.right_answer} is right."
        )


@dataclass(frozen=True, slots=True)
class Answered:
    """How many answers, right ones too, a player has given for a position where one answer was right on a call."""

    player: str
    position: str
    call: str
    right_answer: str
    answered: int


@dataclass(slots=True)
class _Group:
    """Answers pooled for one test: who, where, and what was chosen."""

    who: str
    call: str
    right_answer: str
    wrong: list[AnswerFact]
    answered: int = 0


@dataclass(frozen=True, slots=True)
class _Way:
    """How one scope pools answers: whose they are, which call and right answer, and what counts as chosen."""

    scope: Scope
    who: Callable[[AnswerFact | Answered], str]
    call: Callable[[AnswerFact | Answered], str]
    right: Callable[[AnswerFact | Answered], str]
    chosen: Callable[[AnswerFact], str]


_WAYS = (
    _Way(Scope.PLAYER_CALL, lambda a: a.player, lambda a: a.call, lambda a: a.right_answer, lambda a: a.chosen),
    _Way(Scope.PLAYER_RELATION, lambda a: a.player, lambda a: "", lambda a: "", lambda a: a.relation),
    _Way(Scope.POSITION_CALL, lambda a: a.position, lambda a: a.call, lambda a: a.right_answer, lambda a: a.chosen),
)


def tail(count: int, misses: int, expected: float, choices: int) -> float:
    """Chance that `count` or more of `misses` go to one wrong answer of that share, times choices - 1; at most 1."""
    from scipy.special import bdtrc

    return min(1.0, float(bdtrc(count - 1, misses, expected)) * max(choices - 1, 1))


def confusions(answers: Iterable[AnswerFact], asked: Iterable[Answered] | None = None) -> list[Confusion]:
    """All confusions in these answers (choose those since a date, of a call, before), surest first.

    Answers that lack who, what was chosen, or what was right are left out of the scopes that need it. Wrong answers are
    enough where ``asked`` says how many there are in all; None counts those given.
    """
    facts = list(answers)
    counts = (
        [Answered(f.player, f.position, f.call, f.right_answer, 1) for f in facts] if asked is None else list(asked)
    )
    wrong = [fact for fact in facts if not fact.right]
    found: list[Confusion] = []
    for way in _WAYS:
        found.extend(_of_scope(way, wrong, counts))
    return sorted(found, key=lambda c: (c.certainty is Certainty.POSSIBLE, c.p_value, c.who, c.call, c.chosen))


def _of_scope(way: _Way, wrong: Sequence[AnswerFact], asked: Sequence[Answered]) -> list[Confusion]:
    needs_right = way.scope is not Scope.PLAYER_RELATION
    groups: dict[tuple[str, str, str], _Group] = {}
    team: dict[str, Counter[str]] = defaultdict(Counter)
    own: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    answered: Counter[tuple[str, str, str]] = Counter()
    for one in asked:
        answered[way.who(one), way.call(one), way.right(one)] += one.answered
    for fact in wrong:
        who, right, chosen = way.who(fact), way.right(fact), way.chosen(fact)
        if who and chosen and (right or not needs_right):
            key = (who, way.call(fact), right)
            groups.setdefault(key, _Group(*key, [], answered[key])).wrong.append(fact)
            team[right][chosen] += 1
            own[who, right][chosen] += 1
    tests = [
        test
        for group in groups.values()
        for test in _tests(way, group, team[group.right_answer], own[group.who, group.right_answer])
    ]
    if not tests:
        return []
    from scipy.stats import false_discovery_control

    few = [test for test in tests if len(test.group.wrong) <= MIN_COUNT]
    enough = [test for test in tests if len(test.group.wrong) > MIN_COUNT]
    shares = false_discovery_control([test.p_value for test in enough], method="bh") if enough else ()
    judged = [_judge(test, 1.0) for test in few]
    judged += [_judge(test, float(share)) for test, share in zip(enough, shares, strict=True)]
    return [confusion for confusion in judged if confusion is not None]


@dataclass(frozen=True, slots=True)
class _Test:
    way: _Way
    group: _Group
    chosen: str
    count: int
    expected: float
    p_value: float


def _tests(way: _Way, group: _Group, team: Counter[str], own: Counter[str]) -> Iterable[_Test]:
    counts = Counter(way.chosen(fact) for fact in group.wrong)
    if way.scope is Scope.PLAYER_RELATION:
        choices = len(team) + 1
    else:
        choices = max((fact.choices for fact in group.wrong), default=2)
    rest = sum(team.values()) - sum(own.values())
    for chosen, count in counts.items():
        if count >= MIN_COUNT:
            expected = (team[chosen] - own[chosen] + 1.0) / (rest + max(choices - 1, 1))
            yield _Test(way, group, chosen, count, expected, tail(count, len(group.wrong), min(expected, 1.0), choices))


def _judge(test: _Test, false_share: float) -> Confusion | None:
    misses = len(test.group.wrong)
    confirmed = false_share <= FALSE_SHARE
    if not confirmed and test.count < misses and test.p_value > FALSE_SHARE:
        return None
    mine = [fact for fact in test.group.wrong if test.way.chosen(fact) == test.chosen]
    return Confusion(
        test.way.scope,
        Certainty.CONFIRMED if confirmed else Certainty.POSSIBLE,
        test.group.who,
        test.group.call,
        test.group.right_answer,
        test.chosen,
        test.count,
        misses,
        test.group.answered,
        len({fact.player for fact in mine}),
        test.expected,
        test.p_value,
        false_share,
        max(fact.at for fact in mine),
    )
