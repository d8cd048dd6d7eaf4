"""One sentence of why for every fit, made from the very value that scored it. Knows no team's vocabulary."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from quizgen.engine.fits import Fit, Threat
from quizgen.engine.lanes import Lane
from quizgen.engine.movement import BlockerMove
from quizgen.engine.protection import Half, Matchup, PassAnswer
from quizgen.engine.reads import Read
from quizgen.engine.verdict import RunAnswer
from quizgen.football.scheme import Intent

Sentence = Callable[[RunAnswer, Fit], str]


def _lane(answer: RunAnswer, fit: Fit) -> str:
    return _own(answer, fit).name


def _own(answer: RunAnswer, fit: Fit) -> Lane:
    assert fit.lane is not None  # only a man who covers or comes late may have none
    return answer.lanes[fit.lane]


def _puller(fit: Fit) -> str:
    assert fit.puller is not None  # his read is about a puller
    return f"the {fit.puller.player.word}"


def taken_on(answer: RunAnswer, fit: Fit) -> BlockerMove:
    """The blocker who has arrived beside the lane of a man who boxes, spills or fits off a lead or trap; he may be
    another man's."""
    if fit.threat in (Threat.KICK, Threat.LEAD):
        return fit.threats[0]
    lane = _own(answer, fit)
    arrived = [m for m in (lane.left, lane.right) if m is not None and m.word]
    return min(arrived, key=lambda m: (m.intent is not Intent.KICK, abs(m.x_to - fit.man.x)))


def _kick(answer: RunAnswer, fit: Fit) -> str:
    return f"the {taken_on(answer, fit).player.word}"


def _keep(answer: RunAnswer, fit: Fit) -> str:
    lane = _own(answer, fit)
    left = lane.left.player.word if lane.left else None
    right = lane.right.player.word if lane.right else None
    if left and right:
        return f"{lane.name} is still between the {left} and the {right}, wherever they take it"
    return f"{lane.name} is still outside the {left or right}, wherever he takes it"


def _over_the_top(answer: RunAnswer, fit: Fit) -> str:
    return f"{_puller(fit)} pulls away: over the top to {_lane(answer, fit)}, the first lane there that nobody owns"


SENTENCES: Mapping[Read, Sentence] = MappingProxyType(
    {
        Read.KEEP: _keep,
        Read.HIP: lambda a, f: f"{_puller(f)} pulls: on his hip, flat, and {_lane(a, f)} is yours",
        Read.SQUAT: lambda a, f: f"{_puller(f)} pulls: stay, and {_lane(a, f)} is yours",
        Read.OVER_THE_TOP: _over_the_top,
        Read.NO_ROOM: lambda a, f: f"{_puller(f)} pulls, but every lane over there is owned: stay in {_lane(a, f)}",
        Read.TOLD_TO_STAY: lambda a, f: f"{_puller(f)} pulls: our rule is to stay in {_lane(a, f)}",
        Read.BOX: lambda a, f: f"kicked by {_kick(a, f)}: box it, outside shoulder, {_lane(a, f)}; ball inside",
        Read.SPILL: lambda a, f: f"kicked by {_kick(a, f)}: spill it, inside shoulder, {_lane(a, f)}; ball bounces",
        Read.CLOSE: lambda a, f: f"the man beside you blocks down: close with him and keep {_lane(a, f)}",
        Read.SET_EDGE: lambda a, f: f"set the edge: nothing gets outside {_lane(a, f)}",
        Read.CHASE: lambda a, f: f"the play goes away: chase flat in {_lane(a, f)}, quarterback and reverse first",
        Read.INSIDE_LEAD: lambda a, f: f"a man leads through your gap: inside half of him, {_lane(a, f)}",
        Read.OUTSIDE_LEAD: lambda a, f: f"a man leads through your gap: outside half of him, {_lane(a, f)}",
        Read.TWO_GAP: lambda a, f: "two gaps: " + " and ".join(a.lanes[i].name for i in f.lanes) + " are both yours",
        Read.EXCHANGE: lambda a, f: f"the block beside you makes you trade gaps: {_lane(a, f)} is yours",
        Read.FORCE: lambda a, f: f"you are force: turn it in from {_lane(a, f)}",
        Read.CRACK_REPLACE: lambda a, f: f"{f.man.replaces} is cracked: you are force now, in {_lane(a, f)}",
        Read.ALLEY: lambda a, f: f"alley: inside-out of force to {_lane(a, f)}",
        Read.FOLD: lambda a, f: f"fold: {_lane(a, f)} was left behind on your side",
        Read.FREE: lambda a, f: f"free: stay behind the ball; take the lane nobody has, {_lane(a, f)}",
        Read.CUTBACK: lambda a, f: f"cutback: {_lane(a, f)} is the way back",
        Read.EXTRA: lambda a, f: (
            "every lane you may fill has an owner: come late, inside-out or outside-in by your job"
        ),
        Read.COVER: lambda a, f: "pass first: no fit of your own until the ball is across the line",
    }
)

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

# A man on a puller's hip holds no ground: he is gone before they close.
CUT_OFF = "{who} both want to cut you off: go now"


def threat_words(fit: Fit) -> str:
    """The threatening blockers in words; empty when there is none."""
    return " and ".join(f"the {m.player.word}" for m in fit.threats)


def _on_option(answer: RunAnswer, fit: Fit) -> str:
    """The sentence of a man whom an option gives a phase or whom the quarterback reads; empty for everybody else."""
    own = " and ".join(answer.lanes[index].name for index in fit.lanes) if fit.owns else ""
    if fit.is_read:
        yours = (
            f"the {fit.phase.value} is yours{own and f', from {own}'}" if fit.phase else f"{own or 'the edge'} is yours"
        )
        return f"the quarterback reads you, so nobody blocks you: {yours}"
    if fit.phase is None:
        return ""
    if fit.left_lane is not None and not fit.owns:
        left = answer.lanes[fit.left_lane].name
        return f"the {fit.phase.value} is yours, over the top: nobody has {left} then"
    return f"the {fit.phase.value} is yours{own and f', from {own}'}"


def because(answer: RunAnswer, fit: Fit) -> str:
    """Why he is there, what threatens him and where he ends up if he loses; one or two sentences without the team's
    own words."""
    text = _on_option(answer, fit) or SENTENCES[fit.read](answer, fit)
    sentence = text[0].upper() + text[1:] + "."
    if fit.threat is None:
        return sentence
    template = CUT_OFF if fit.threat is Threat.DOUBLE and fit.read is Read.HIP else THREATS[fit.threat]
    threat = template.format(who=threat_words(fit))
    lost = _lost(answer, fit)
    return f"{sentence} {threat[0].upper()}{threat[1:]}{lost}."


def _lost(answer: RunAnswer, fit: Fit) -> str:
    """Where he ends up when he is beaten; a man with two lanes who keeps one of them leaves the other."""
    if fit.lost_to is None:
        return ""
    ends = answer.lanes[fit.lost_to].name
    if fit.lost_to not in fit.lanes:
        return f"; beaten, you end up in {ends}"
    gone = " and ".join(answer.lanes[index].name for index in fit.lanes if index != fit.lost_to)
    return f"; beaten, you have {ends} only and leave {gone}"


def why(answer: RunAnswer) -> str:
    """The reason for the verdict in one sentence: a matching that holds, or the lanes that have too few men."""
    if answer.sound:
        conceded = ", ".join(answer.lanes[i].name for i in sorted(answer.conceded))
        rest = f"; conceded on purpose: {conceded}" if conceded else ""
        wanted = len(answer.lanes) - len(answer.conceded)
        return f"each of the {wanted} lanes has a man there in time{rest}"
    assert answer.short is not None
    short_lanes, men = answer.short
    names = ", ".join(answer.lanes[i].name for i in short_lanes)
    who = ", ".join(men) if men else "nobody"
    lanes_word = "lane" if len(short_lanes) == 1 else "lanes"
    return f"{len(short_lanes)} {lanes_word} ({names}) for {len(men)} men in time ({who})"


def because_rush(answer: PassAnswer, matchup: Matchup) -> str:
    """Why a rusher takes the half he takes, in one sentence."""
    turn = answer.situation.turn_to.value
    if matchup.is_free:
        return "Nobody has you: straight to the quarterback through your lane."
    blocker = f"the {matchup.blockers[0].word}"
    if matchup.contains:
        return f"You contain: outside half of {blocker}, quarterback inside you."
    assert matchup.half is not None  # a man who is blocked takes a half
    help_ = f"; the {matchup.blockers[1].word} helps on you" if not matchup.is_alone else ""
    lane = "that is where your rush lane is" if matchup.half is Half.OUTSIDE else "your rush lane is inside him"
    return f"The center turns {turn}: {matchup.half.value} half of {blocker}, {lane}{help_}."
