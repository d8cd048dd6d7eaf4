"""Why a fit is right and what a wrong one leaves, in the team's words, made from the value that scored it.

Must not know: pictures, ids, which kind of rep asks.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from quizgen.engine.alignment import spot_x
from quizgen.engine.fits import Fit, Threat
from quizgen.engine.lanes import Lane
from quizgen.engine.reads import TAKES_ON, Read
from quizgen.engine.reasons import IN_LINE, find_kicked, kept_from, outside_of, taken_on
from quizgen.engine.verdict import RunAnswer
from quizgen.engine.what_if import to_the_spot
from quizgen.reps.wording import Wording, to_say

ON_A_BLOCKER_YD = 0.05
MOST_NAMED = 2  # more gaps than that are too long a list to read

Sentence = Callable[[RunAnswer, Fit, Wording], str]


def _mine(answer: RunAnswer, fit: Fit, w: Wording) -> str:
    return w.lanes(answer.lanes[index] for index in sorted(fit.lanes))


def _puller(fit: Fit, w: Wording) -> str:
    return w.blocker(fit.puller.player) if fit.puller else ""


def _kicker(answer: RunAnswer, fit: Fit, w: Wording) -> str:
    """The blocker who arrives in his gap, in words; empty where nobody does."""
    if fit.read in TAKES_ON or fit.threat in (Threat.KICK, Threat.LEAD):
        return w.blocker(taken_on(answer, fit).player)
    return ""


def _plain(template: str) -> Sentence:
    """A sentence whose slots are his lane, the puller, the man who kicks him and the gap he had."""

    def sentence(answer: RunAnswer, fit: Fit, w: Wording) -> str:
        return w.say(
            template,
            mine=_mine(answer, fit, w),
            puller=_puller(fit, w),
            kicker=_kicker(answer, fit, w),
            box=w.term("box"),
            spill=w.term("spill"),
            hip=w.term("hip"),
            stay=w.term("stay"),
            over=w.term("over the top"),
            force=w.term("force"),
            alley=w.term("alley"),
            fold=w.term("fold"),
            cutback=w.term("cutback"),
        )

    return sentence


def _keep(answer: RunAnswer, fit: Fit, w: Wording) -> str:
    lane = answer.lanes[fit.lanes[0]]
    left, right = (w.blocker(m.player) if m else None for m in (lane.left, lane.right))
    mine = _mine(answer, fit, w)
    if left and right:
        return w.say("{mine} stays between the {left} and the {right}.", mine=mine, left=left, right=right)
    return w.say("{mine} stays outside the {last}.", mine=mine, last=left or right)


def _edge(answer: RunAnswer, fit: Fit, w: Wording) -> str:
    mine = _mine(answer, fit, w)
    outer = outside_of(answer.lanes[fit.lanes[0]])
    if outer is not None and outer in fit.threats:
        return SENTENCES[Read.INSIDE_LEAD](answer, fit, w)
    if outer is not None:
        return w.say("The {lead} goes outside you, so hold {mine}.", lead=w.blocker(outer.player), mine=mine)
    return w.say("Set the edge: no ball gets outside {mine}.", mine=mine)


def _exchange(answer: RunAnswer, fit: Fit, w: Wording) -> str:
    pairs = [{pair.first, pair.second} for pair in answer.situation.pressure.exchanges]
    others = {name for pair in pairs if _written(fit) in pair for name in pair - {_written(fit)}}
    man = next(other.man.position for other in answer.fits if _written(other) in others)
    return w.say("You and {man} trade gaps on that block, so {mine} is yours.", man=man, mine=_mine(answer, fit, w))


def _written(fit: Fit) -> str:
    """The position whose job he does, as the call is written."""
    job = fit.man.rush or fit.man.drop
    return job.position if job else fit.man.position


def _close(answer: RunAnswer, fit: Fit, w: Wording) -> str:
    lane = answer.lanes[fit.lanes[0]]
    inner = lane.left if lane.side is not None and lane.side.sign > 0 else lane.right
    who = w.blocker(inner.player) if inner else ""
    return w.say("the {who} blocks down, so close with him and keep {mine}.", who=who, mine=_mine(answer, fit, w))


def _force(answer: RunAnswer, fit: Fit, w: Wording) -> str:
    force, mine = w.term("force"), _mine(answer, fit, w)
    if outside_of(answer.lanes[fit.lanes[0]]) is not None:
        return w.say("You are {force} and the edge has a man: come inside him, in {mine}.", force=force, mine=mine)
    return w.say("You are {force}: turn the ball in from {mine}.", force=force, mine=mine)


def _extra(answer: RunAnswer, fit: Fit, w: Wording) -> str:
    sentence = w.say("Each gap you may fill has a man, so come last.")
    if answer.conceded:
        given_up = w.lanes(answer.lanes[i] for i in sorted(answer.conceded))
        sentence = w.say(
            "We give up {given_up}, and each other gap you may fill has a man: come last.", given_up=given_up
        )
    return kept_apart(answer, fit, w) or with_left_open(sentence, answer, w)


def kept_apart(answer: RunAnswer, fit: Fit, w: Wording) -> str:
    """To a man whom only a teammate keeps from an open lane; empty for everybody else."""
    kept = kept_from(answer, fit)
    if kept is None:
        return ""
    lane = w.lane(answer.lanes[kept[0]])
    return w.say("No one has {lane}, but you would cross {man} to get there: come last.", lane=lane, man=kept[1])


def with_left_open(sentence: str, answer: RunAnswer, w: Wording) -> str:
    """A sentence to a man whom no gap needs, and what the call leaves open elsewhere, so that the picture and the words
    say the same."""
    if not answer.open:
        return sentence
    if len(answer.open) > MOST_NAMED:
        return f"{sentence} " + w.say("No one has {count} of the gaps, but that is not on you.", count=len(answer.open))
    opened = w.lanes(answer.lanes[index] for index in sorted(answer.open))
    return f"{sentence} " + w.say("No one has {opened}, but that is not on you.", opened=opened)


SENTENCES: Mapping[Read, Sentence] = MappingProxyType(
    {
        Read.KEEP: _keep,
        Read.HIP: _plain("The {puller} pulls, so {hip}: all of {mine} is yours."),
        Read.SQUAT: _plain("The {puller} pulls and our rule is {stay}: all of {mine} is yours."),
        Read.OVER_THE_TOP: _plain("The {puller} pulls, so {over} to {mine}: no one has it."),
        Read.FRONT_SHOULDER: _plain("The {puller} pulls, so meet him on his far shoulder in {mine}."),
        Read.INSIDE_FLOW: _plain("A man comes back across, so fit inside the block on you: {mine}."),
        Read.CROSS_FACE: _plain("He reaches past you, so cross his face flat to {mine}."),
        Read.FLOW: _plain("The ball goes away from you, so run to {mine} at once."),
        Read.OUTSIDE_DOWN: _plain("The man inside you blocks down and we {spill}: go outside him to {mine}."),
        Read.NEXT_MAN: _plain("Our edge takes the kick, so {over} beside him to {mine}."),
        Read.NO_ROOM: _plain("The {puller} pulls, but each gap over there has a man, so stay in {mine}."),
        Read.TOLD_TO_STAY: _plain("The {puller} pulls and our rule is {stay}: you keep {mine}."),
        Read.BOX: _plain("The {kicker} kicks you and we {box} it: outside arm free in {mine}."),
        Read.SPILL: _plain("The {kicker} kicks you and we {spill} it: get under him in {mine}."),
        Read.CLOSE: _close,
        Read.SET_EDGE: _edge,
        Read.CHASE: _plain("The play goes away, so chase flat in {mine} and watch for the ball to come back."),
        Read.TRAIL: _plain("The play goes away, so trail as deep as the ball: {mine} is yours if it comes back."),
        Read.SQUEEZE: _plain("The man next to you goes inside, so squeeze into his space: {mine}, outside arm free."),
        Read.INSIDE_LEAD: _plain("The {kicker} comes through your gap and we take his inside half: {mine}."),
        Read.OUTSIDE_LEAD: _plain("The {kicker} comes through your gap and we take his outside half: {mine}."),
        Read.TWO_GAP: _plain("You have two gaps: {mine}."),
        Read.EXCHANGE: _exchange,
        Read.FORCE: _force,
        Read.CRACK_REPLACE: lambda a, f, w: w.say(
            "{man} is cracked, so you are {force} now, in {mine}.",
            man=f.man.replaces,
            force=w.term("force"),
            mine=_mine(a, f, w),
        ),
        Read.ALLEY: _plain("You are the {alley} man: fit inside out in {mine}."),
        Read.FOLD: _plain("You {fold}: no one else on your side has {mine}."),
        Read.FREE: _plain("You are free: stay behind the ball; take the gap nobody has, {mine}."),
        Read.CUTBACK: _plain("You have {cutback}: {mine} is the way back."),
        Read.EXTRA: _extra,
        Read.COVER: _plain("You are pass first: come up when the ball is over the line."),
    }
)

THREATS: Mapping[Threat, str] = MappingProxyType(
    {
        Threat.HOOK: to_say("{who} wants your far shoulder, so cross his face or you end up in {lost}."),
        Threat.WASH: to_say("{who} comes in on you, so stay tight on him or you end up in {lost}."),
        Threat.KICK: to_say("If {who} wins, you end up in {lost}."),
        Threat.LEAD: to_say("{who} leads up on you; lose to him and you end up in {lost}."),
        Threat.HINGE: to_say("{who} swings back on you."),
        Threat.DOUBLE: to_say("{who} both come at you, so hold your ground."),
    }
)

# A man with a gap on each side of his blocker crosses nobody's face.
TWO_GAP_HOOK = to_say("{who} wants your far shoulder, so stay square or you have {lost} only.")


def because(answer: RunAnswer, fit: Fit, w: Wording) -> str:
    """Why he is there and what threatens it: one or two sentences."""
    sentence = _sentence(answer, fit, w)
    second = "" if fit.is_read else threat_sentence(answer, fit, w)
    return f"{sentence} {second}" if second else sentence


def lesson(answer: RunAnswer, fit: Fit, w: Wording, room: int) -> str:
    """Why he is there, as one sentence of at most ``room`` letters where that can be; his lane by the blockers beside
    it too where there is room."""
    short = _sentence(answer, fit, w)
    if len(fit.lanes) != 1 or fit.read is Read.KEEP:  # that one says it anyhow
        return short
    lane = answer.lanes[fit.lanes[0]]
    longer = _sentence(answer, fit, _Beside(w, lane))
    return longer if w.length(longer) <= room else short


class _Beside(Wording):
    """Another wording that names one lane by the blockers beside it too."""

    def __init__(self, of: Wording, beside: Lane) -> None:
        super().__init__(of.words, of.say_template)
        self._lane = beside

    def lane(self, lane: Lane) -> str:
        """A lane; the one by its neighbours too."""
        name = super().lane(lane)
        if lane != self._lane:
            return name
        return self.phrase("{lane} ({between})", lane=name, between=self.between(lane))


def _sentence(answer: RunAnswer, fit: Fit, w: Wording) -> str:
    """Why he is there: one sentence, without what threatens it."""
    mine = _mine(answer, fit, w)
    if fit.is_read:
        return _read(fit, w, mine)
    if fit.phase is not None:
        return _phase(answer, fit, w, mine)
    if kicked := find_kicked(answer, fit):
        kicker = w.blocker(taken_on(answer, fit).player)
        return w.say("The {kicker} kicks {man}, so fit off him in {mine}.", kicker=kicker, man=kicked, mine=mine)
    return SENTENCES[fit.read](answer, fit, w)


def _read(fit: Fit, w: Wording, mine: str) -> str:
    """To the man whom the quarterback reads: nobody blocks him."""
    if fit.phase is None:
        return w.say("They leave you alone to read you.")
    word = w.term(fit.phase.value)
    if not fit.owns:
        return w.say("They leave you alone to read you: the {word} is yours.", word=word)
    return w.say("They leave you alone to read you: the {word} is yours, from {mine}.", word=word, mine=mine)


def _phase(answer: RunAnswer, fit: Fit, w: Wording, mine: str) -> str:
    """To a man with a phase of an option."""
    assert fit.phase is not None
    word = w.term(fit.phase.value)
    if fit.left_lane is not None and not fit.owns:
        left = w.lane(answer.lanes[fit.left_lane])
        over = w.term("over the top")
        return w.say("The {word} is yours, so {over}: no one has {left} then.", word=word, over=over, left=left)
    if fit.owns:
        return w.say("The {word} is yours, from {mine}.", word=word, mine=mine)
    return w.say("The {word} is yours.", word=word)


def threat_sentence(answer: RunAnswer, fit: Fit, w: Wording) -> str:
    """Who may beat him and where he ends up then; empty when nobody may, when it leads nowhere, and for a block that
    does not wait for him: on support that comes from depth."""
    if fit.threat is None or (fit.lost_to is None and fit.threat is not Threat.DOUBLE):
        return ""
    if fit.threat in IN_LINE and not fit.man.gaps:
        return ""
    if fit.threat is Threat.DOUBLE and fit.read is Read.HIP:
        return w.say("{who} both want to cut you off, so go now.", who=w.blockers(fit.threats))
    lost = w.lane(answer.lanes[fit.lost_to]) if fit.lost_to is not None else ""
    template = TWO_GAP_HOOK if fit.threat is Threat.HOOK and fit.read is Read.TWO_GAP else THREATS[fit.threat]
    return w.say(template, who=w.blockers(fit.threats), lost=lost)


def keepers(answer: RunAnswer, index: int, but: str = "") -> tuple[str, ...]:
    """The positions who own a lane, ``but`` left out."""
    return tuple(fit.man.position for fit in answer.owners(index) if fit.man.position != but)


def leaves(answer: RunAnswer, fit: Fit, chosen: int, w: Wording) -> str:
    """Whose lane ``chosen`` is, or that it is the old spot: one short sentence before the reason."""
    there = w.all_of(keepers(answer, chosen, fit.man.position))
    name = w.lane(answer.lanes[chosen])
    if chosen in answer.open:
        return w.say("That is open, but not yours.")
    if chosen == _spot(answer, fit):
        return w.say("The old spot, now for {owners}.", owners=there) if there else w.say("That is just the old spot.")
    if not there:
        return w.say("{name} is not yours.", name=name)
    many = len(keepers(answer, chosen, fit.man.position)) > 1
    return w.say(to_say("{owners} have {name}.") if many else to_say("{owners} has {name}."), owners=there, name=name)


def find_spot_lane(answer: RunAnswer, fit: Fit) -> int | None:
    """The lane over the place where a man's gap was before the snap; None where a blocker stands right on it."""
    spot = spot_x(answer.situation.formation, fit.man.gaps[0])
    beside = (block for lane in answer.lanes for block in (lane.left, lane.right) if block is not None)
    if any(abs(block.x_to - spot) < ON_A_BLOCKER_YD for block in beside):
        return None
    return to_the_spot(answer, fit.man.position).lane


def _spot(answer: RunAnswer, fit: Fit) -> int | None:
    """The lane that covers the place where his gap was, when that is not his lane any more."""
    if not fit.man.gaps or not fit.owns:
        return None
    lane = find_spot_lane(answer, fit)
    return lane if lane not in fit.lanes else None
