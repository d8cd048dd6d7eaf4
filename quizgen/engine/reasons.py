"""One sentence of why for every fit, made from the very value that scored it. Lanes and blockers are called as the
caller says: by plain names, or by a team's own."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import Protocol

from quizgen.engine.fits import Fit, Threat
from quizgen.engine.lanes import Lane
from quizgen.engine.movement import BlockerMove
from quizgen.engine.protection import Half, Matchup, PassAnswer, slide_side
from quizgen.engine.reads import Read
from quizgen.engine.timing import Arrival, arrival_s, ball_s, clock
from quizgen.engine.verdict import RunAnswer, can_fill
from quizgen.football.formation import OffensivePlayer, Role
from quizgen.football.rules import ReadPlay
from quizgen.football.scheme import Intent, Job, Phase, Slide
from quizgen.football.sides import Side

# How far out a lineman stands where there is one of his kind on each side; further out he is "outer".
USUAL_ORDER = {Role.GUARD: 1, Role.TACKLE: 2}


class Names(Protocol):
    """What lanes and blockers are called."""

    def lane(self, lane: Lane) -> str:
        """A lane after the snap."""
        ...

    def blocker(self, player: OffensivePlayer) -> str:
        """An offensive man."""
        ...


class PlainNames:
    """The names of ``gapsound fit --json``: "right C inside the kick", "right outer tackle"."""

    def lane(self, lane: Lane) -> str:
        """See ``Names``."""
        return lane.name

    def blocker(self, player: OffensivePlayer) -> str:
        """See ``Names``; of two tackles or guards on a side one is the outer one."""
        if player.attached and player.side and player.order > USUAL_ORDER.get(player.role, player.order):
            return f"{player.side.value} outer {player.role.value}"
        return player.word


PLAIN = PlainNames()
Sentence = Callable[[RunAnswer, Fit, Names], str]


def _lane(answer: RunAnswer, fit: Fit, names: Names) -> str:
    return names.lane(_own(answer, fit))


def _own(answer: RunAnswer, fit: Fit) -> Lane:
    assert fit.lane is not None  # only a man who covers or comes late may have none
    return answer.lanes[fit.lane]


def _puller(fit: Fit, names: Names) -> str:
    assert fit.puller is not None  # his read is about a puller
    return f"the {names.blocker(fit.puller.player)}"


def taken_on(answer: RunAnswer, fit: Fit) -> BlockerMove:
    """The blocker who has arrived beside the lane of a man who boxes, spills or fits off a lead or trap; he may be
    another man's."""
    if fit.threat in (Threat.KICK, Threat.LEAD):
        return fit.threats[0]
    lane = _own(answer, fit)
    arrived = [m for m in (lane.left, lane.right) if m is not None and m.word]
    return min(arrived, key=lambda m: (m.intent is not Intent.KICK, abs(m.x_to - fit.man.x)))


def outside_of(lane: Lane) -> BlockerMove | None:
    """The blocker on the outside of a lane; None for the outermost, and for one that reaches across the center."""
    return None if lane.side is None else lane.right if lane.side is Side.RIGHT else lane.left


def _kick(answer: RunAnswer, fit: Fit, names: Names) -> str:
    taken = taken_on(answer, fit)
    return f"{'trapped' if taken.job is Job.PULL_TRAP else 'kicked'} by the {names.blocker(taken.player)}"


def _keep(answer: RunAnswer, fit: Fit, names: Names) -> str:
    lane = _own(answer, fit)
    left = names.blocker(lane.left.player) if lane.left else None
    right = names.blocker(lane.right.player) if lane.right else None
    if left and right:
        return f"{names.lane(lane)} is still between the {left} and the {right}, wherever they take it"
    return f"{names.lane(lane)} is still outside the {left or right}, wherever he takes it"


def _over_the_top(answer: RunAnswer, fit: Fit, names: Names) -> str:
    where = _lane(answer, fit, names)
    return f"{_puller(fit, names)} pulls away: over the top to {where}, the first lane there that nobody owns"


def find_kicked(answer: RunAnswer, fit: Fit) -> str | None:
    """Whom the kicker takes, for another man who boxes or spills him too; None for everybody else."""
    if fit.read not in (Read.BOX, Read.SPILL):
        return None
    kicker = taken_on(answer, fit)
    return next((other.man.position for other in answer.fits if other is not fit and kicker in other.threats), None)


def _box(answer: RunAnswer, fit: Fit, names: Names) -> str:
    how = f"box it, outside shoulder, {_lane(answer, fit, names)}; ball inside"
    return _off_the_kick(answer, fit, names) or f"{_kick(answer, fit, names)}: {how}"


def _spill(answer: RunAnswer, fit: Fit, names: Names) -> str:
    how = f"spill it, inside shoulder, {_lane(answer, fit, names)}; ball bounces"
    return _off_the_kick(answer, fit, names) or f"{_kick(answer, fit, names)}: {how}"


def _off_the_kick(answer: RunAnswer, fit: Fit, names: Names) -> str:
    """The sentence of a man beside whom a teammate is kicked; empty for everybody else."""
    man = find_kicked(answer, fit)
    if man is None:
        return ""
    return f"the {names.blocker(taken_on(answer, fit).player)} kicks {man}: fit off him, {_lane(answer, fit, names)}"


def _chase(answer: RunAnswer, fit: Fit, names: Names) -> str:
    has_owner = any(owner.phase is Phase.QUARTERBACK for owner in answer.phases)
    first = "reverse first" if has_owner else "quarterback and reverse first"
    return f"the play goes away: chase flat in {_lane(answer, fit, names)}, {first}"


def _set_edge(answer: RunAnswer, fit: Fit, names: Names) -> str:
    lane = _own(answer, fit)
    outer = outside_of(lane)
    if outer is not None:
        return f"the {names.blocker(outer.player)} goes outside you: hold {names.lane(lane)}"
    return f"set the edge: nothing gets outside {names.lane(lane)}"


def _force(answer: RunAnswer, fit: Fit, names: Names) -> str:
    lane = _own(answer, fit)
    if outside_of(lane) is not None:
        return f"you are force, and the edge has a man: come inside him, {names.lane(lane)}"
    return f"you are force: turn it in from {names.lane(lane)}"


def _alley(answer: RunAnswer, fit: Fit, names: Names) -> str:
    if outside_of(_own(answer, fit)) is None:
        return f"alley, and nobody is force there: {_lane(answer, fit, names)} is yours, from the inside out"
    return f"alley: inside-out of force to {_lane(answer, fit, names)}"


def _extra(answer: RunAnswer, fit: Fit, names: Names) -> str:
    kept = kept_from(answer, fit)
    if kept is not None:
        lane, man = names.lane(answer.lanes[kept[0]]), kept[1]
        return f"{lane} is open, but you would cross {man}, and support never crosses: come late"
    late = "come late, inside-out or outside-in by your job"
    if answer.conceded:
        given_up = ", ".join(names.lane(answer.lanes[i]) for i in sorted(answer.conceded))
        return f"the call gives up {given_up}, and every other lane you may fill has an owner: {late}"
    return f"every lane you may fill has an owner: {late}"


def kept_from(answer: RunAnswer, fit: Fit) -> tuple[int, str] | None:
    """An open lane that support without one may fill and could get to, if he did not cross a teammate on the way, and
    that teammate; None where there is no such lane."""
    s = answer.situation
    for index in answer.open:
        lane = answer.lanes[index]
        if not can_fill(answer, fit.man, index, vacated=lane.is_merged):
            continue
        at_s, ball = arrival_s(fit.man, lane.middle_x, s.rules.timing, reads=True), ball_s(s, lane, answer.aim_x)
        if clock(at_s, ball, s.rules.timing).arrival is Arrival.NEVER:
            continue
        support = (other for other in answer.fits if other.owns and not other.man.gaps)
        # Somebody is in his way, since support leaves as few lanes open as can be without a crossing.
        return index, next(o.man.position for o in support if (o.man.x - fit.man.x) * (o.lanes[0] - index) < 0)
    return None


SENTENCES: Mapping[Read, Sentence] = MappingProxyType(
    {
        Read.KEEP: _keep,
        Read.HIP: lambda a, f, n: f"{_puller(f, n)} pulls: on his hip, flat, and {_lane(a, f, n)} is yours",
        Read.SQUAT: lambda a, f, n: f"{_puller(f, n)} pulls: stay, and {_lane(a, f, n)} is yours",
        Read.OVER_THE_TOP: _over_the_top,
        Read.FRONT_SHOULDER: lambda a, f, n: (
            f"{_puller(f, n)} pulls: meet him on his far shoulder, in {_lane(a, f, n)}"
        ),
        Read.INSIDE_FLOW: lambda a, f, n: f"a man comes back across: fit inside the block on you, in {_lane(a, f, n)}",
        Read.CROSS_FACE: lambda a, f, n: f"he reaches past you: cross his face, flat, to {_lane(a, f, n)}",
        Read.FLOW: lambda a, f, n: f"the ball goes away: run to {_lane(a, f, n)} at once",
        Read.OUTSIDE_DOWN: lambda a, f, n: (
            f"the man inside you blocks down: outside him to {_lane(a, f, n)}, ball bounces"
        ),
        Read.NEXT_MAN: lambda a, f, n: f"our edge takes the kick: over the top beside him, to {_lane(a, f, n)}",
        Read.TRAIL: lambda a, f, n: (
            f"the play goes away: trail as deep as the ball, and {_lane(a, f, n)} is yours if it comes back"
        ),
        Read.SQUEEZE: lambda a, f, n: (
            f"the man beside you goes inside: squeeze into his space, outside arm free, {_lane(a, f, n)}"
        ),
        Read.NO_ROOM: lambda a, f, n: (
            f"{_puller(f, n)} pulls, but every lane over there is owned: stay in {_lane(a, f, n)}"
        ),
        Read.TOLD_TO_STAY: lambda a, f, n: f"{_puller(f, n)} pulls: our rule is to stay in {_lane(a, f, n)}",
        Read.BOX: _box,
        Read.SPILL: _spill,
        Read.CLOSE: lambda a, f, n: (
            f"the man beside you blocks down: close with him and keep {_lane(a, f, n)}; "
            f"look for {f.man.rules.looks.meaning}"
        ),
        Read.SET_EDGE: _set_edge,
        Read.CHASE: _chase,
        Read.INSIDE_LEAD: lambda a, f, n: f"{_comes(a, f)} through your gap: inside half of him, {_lane(a, f, n)}",
        Read.OUTSIDE_LEAD: lambda a, f, n: f"{_comes(a, f)} through your gap: outside half of him, {_lane(a, f, n)}",
        Read.TWO_GAP: lambda a, f, n: (
            "two gaps: " + " and ".join(n.lane(a.lanes[i]) for i in f.lanes) + " are both yours"
        ),
        Read.EXCHANGE: lambda a, f, n: f"the block beside you makes you trade gaps: {_lane(a, f, n)} is yours",
        Read.FORCE: _force,
        Read.CRACK_REPLACE: lambda a, f, n: f"{f.man.replaces} is cracked: you are force now, in {_lane(a, f, n)}",
        Read.ALLEY: _alley,
        Read.FOLD: lambda a, f, n: f"fold: {_lane(a, f, n)} was left behind on your side",
        Read.FREE: lambda a, f, n: f"free: stay behind the ball; take the lane nobody has, {_lane(a, f, n)}",
        Read.CUTBACK: lambda a, f, n: f"cutback: {_lane(a, f, n)} is the way back",
        Read.EXTRA: _extra,
        Read.COVER: lambda a, f, n: "pass first: no fit of your own until the ball is across the line",
    }
)


def _comes(answer: RunAnswer, fit: Fit) -> str:
    return "a man traps" if taken_on(answer, fit).job is Job.PULL_TRAP else "a man leads"


THREATS: Mapping[Threat, str] = MappingProxyType(
    {
        Threat.HOOK: "{who} comes for your far shoulder: cross his face",
        Threat.WASH: "{who} comes in on you: squeeze and stay tight on his block",
        Threat.DOUBLE: "{who} come in together: hold your ground",
        Threat.KICK: "{who} wants to move you off the edge",
        Threat.LEAD: "{who} leads through on you",
        Threat.HINGE: "{who} swings back on you: stay square, and across his face when the ball comes back",
    }
)

# Blocks that do not wait for support that comes from depth.
IN_LINE = frozenset({Threat.HOOK, Threat.WASH, Threat.DOUBLE})
# A trap is for an inside man, who has no edge.
TRAPPED = "{who} wants to move you out"
# An arc is no lead through a gap.
ARCED = "{who} comes round the edge for you"
# A man on a puller's hip holds no ground: he is gone before they close.
CUT_OFF = "{who} both want to cut you off: go now"


def threat_words(fit: Fit, names: Names = PLAIN) -> str:
    """The threatening blockers in words; empty when there is none."""
    return " and ".join(f"the {names.blocker(m.player)}" for m in fit.threats)


def _on_option(answer: RunAnswer, fit: Fit, names: Names) -> str:
    """The sentence of a man whom an option gives a phase or whom the quarterback reads; empty for everybody else."""
    own = " and ".join(names.lane(answer.lanes[index]) for index in fit.lanes) if fit.owns else ""
    if fit.is_read:
        yours = (
            f"the {fit.phase.value} is yours{own and f', from {own}'}" if fit.phase else f"{own or 'the edge'} is yours"
        )
        slow = answer.option is not None and answer.option.plays is ReadPlay.SLOW and fit.phase is Phase.QUARTERBACK
        text = f"the quarterback reads you, so nobody blocks you: {yours}"
        return f"{text}; stay flat on the line until he gives the ball or keeps it" if slow else text
    if fit.phase is None:
        return ""
    if fit.left_lane is not None and not fit.owns:
        left = names.lane(answer.lanes[fit.left_lane])
        return f"the {fit.phase.value} is yours, over the top: nobody has {left} then"
    return f"the {fit.phase.value} is yours{own and f', from {own}'}"


def because(answer: RunAnswer, fit: Fit, names: Names = PLAIN) -> str:
    """Why he is there, what threatens him and where he ends up if he loses; one or two sentences."""
    text = _on_option(answer, fit, names) or SENTENCES[fit.read](answer, fit, names)
    sentence = text[0].upper() + text[1:] + "."
    if fit.threat is None or (fit.threat in IN_LINE and not fit.man.gaps):
        return sentence
    template = THREATS[fit.threat]
    if fit.threat is Threat.DOUBLE and fit.read is Read.HIP:
        template = CUT_OFF
    elif fit.threat is Threat.KICK and fit.threats[0].job is Job.PULL_TRAP:
        template = TRAPPED
    elif fit.threat is Threat.LEAD and fit.threats[0].job is Job.ARC:
        template = ARCED
    threat = template.format(who=threat_words(fit, names))
    return f"{sentence} {threat[0].upper()}{threat[1:]}{_lost(answer, fit, names)}."


def _lost(answer: RunAnswer, fit: Fit, names: Names) -> str:
    """Where he ends up when he is beaten; a man with two lanes who keeps one of them leaves the other."""
    if fit.lost_to is None:
        return ""
    ends = names.lane(answer.lanes[fit.lost_to])
    if fit.lost_to not in fit.lanes:
        return f"; beaten, you end up in {ends}"
    gone = " and ".join(names.lane(answer.lanes[index]) for index in fit.lanes if index != fit.lost_to)
    return f"; beaten, you have {ends} only and leave {gone}"


def why(answer: RunAnswer, names: Names = PLAIN) -> str:
    """The reason for the verdict in one sentence: a matching that holds, the lanes that have too few men, or the lanes
    that only men who cross could fill; what the call was adjusted against comes first."""
    adjusted = answer.situation.adjusted
    return f"{adjusted.words}; {_verdict(answer, names)}" if adjusted else _verdict(answer, names)


def _verdict(answer: RunAnswer, names: Names) -> str:
    def listed(indices: Iterable[int]) -> str:
        return ", ".join(names.lane(answer.lanes[i]) for i in indices)

    if answer.sound:
        rest = f"; conceded on purpose: {listed(sorted(answer.conceded))}" if answer.conceded else ""
        wanted = len(answer.lanes) - len(answer.conceded)
        return f"each of the {wanted} lanes has a man there in time{rest}"
    if answer.short is None:
        lack = listed(sorted({*answer.open, *answer.late}))
        return f"nobody in time for {lack}: two men of support would have to cross, and they never do"
    short_lanes, men = answer.short
    who = ", ".join(men) if men else "nobody"
    lanes_word = "lane" if len(short_lanes) == 1 else "lanes"
    return f"{len(short_lanes)} {lanes_word} ({listed(short_lanes)}) for {len(men)} men in time ({who})"


def because_rush(answer: PassAnswer, matchup: Matchup, names: Names = PLAIN) -> str:
    """Why a rusher takes the half he takes, in one sentence."""
    if matchup.is_free:
        return "Nobody has you: straight to the quarterback through your lane."
    blocker = f"the {names.blocker(matchup.blockers[0])}"
    if matchup.contains:
        return f"You contain: outside half of {blocker}, quarterback inside you."
    assert matchup.half is not None  # a man who is blocked takes a half
    help_ = f"; the {names.blocker(matchup.blockers[1])} helps on you" if not matchup.is_alone else ""
    s = answer.situation
    turns = "" if s.protection.slide is Slide.MAN else f"The center turns {slide_side(s).value}: "
    if not matchup.blockers[0].attached:
        lane = "away from the turn" if turns else "away from the side they call"
    elif matchup.half is Half.OUTSIDE:
        lane = "that is where your rush lane is"
    else:
        lane = "your rush lane is inside him"
    text = f"{turns}{matchup.half.value} half of {blocker}, {lane}{help_}."
    return text[0].upper() + text[1:]
