"""The rep `adjust`: they line up. Which side does the call's own rule send it to, and is it still that call?

Nothing of ours is drawn before the answer: where our men stand would tell the side. For the same reason the call stands
in the stem without its side. The second decision does not name a side either, so both can be on the phone at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from quizgen.drawing.scene import Scene, Span, Tap
from quizgen.football.calling import Adjusted, call_sides, find_named_side
from quizgen.football.formation import Role
from quizgen.football.pressure import GoesTo
from quizgen.football.sides import Ball, Side
from quizgen.reps import pictures
from quizgen.reps.choices import word_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.rep import RepPart
from quizgen.reps.snap import Ground, Snap
from quizgen.reps.wording import Wording, to_say

SIDE_KEYS: Mapping[Side, str] = MappingProxyType({Side.LEFT: "side:left", Side.RIGHT: "side:right"})
OFF_MIDDLE_YD = 0.5
BEHIND_CENTER, BACK_LEFT, BACK_RIGHT = (
    to_say("the {man} in the middle"),
    to_say("the {man} to your left"),
    to_say("the {man} to your right"),
)
STAYS, CHANGES = "say:stays", "say:changes"

# Why a call goes where it goes, by the word of its rule. Those that hang on the ball's place are not here: a picture of
# a rep doesn't say where the ball lies.
RULE_WORDS: Mapping[GoesTo, str] = MappingProxyType(
    {
        GoesTo.TIGHT_END: to_say("{call} goes to the tight end: {side}."),
        GoesTo.STRENGTH: to_say("{call} goes to the strength: {side}."),
        GoesTo.PASSING_STRENGTH: to_say("{call} goes to the passing strength: {side}."),
        GoesTo.BACK: to_say("{call} goes to the back: {side}."),
        GoesTo.AWAY_FROM_BACK: to_say("{call} goes away from the back: {side}."),
    }
)
AWAY_WORDS: Mapping[GoesTo, str] = MappingProxyType(
    {
        GoesTo.TIGHT_END: to_say("The tight end is on the other side."),
        GoesTo.STRENGTH: to_say("Their strength is on the other side."),
        GoesTo.PASSING_STRENGTH: to_say("Their passing strength is on the other side."),
        GoesTo.BACK: to_say("The back is on the other side."),
        GoesTo.AWAY_FROM_BACK: to_say("The back is on that side."),
    }
)


def asks(snap: Snap, position: str) -> bool:
    """Everybody, on a call whose rule names one side here, wherever the ball lies, and that has something to change."""
    return snap.find_fit(position) is not None and bool(snap.made.adjust) and find_rule(snap) is not None


def find_rule(snap: Snap) -> GoesTo | None:
    """The word of the call's rule that sends it to its side here; None where it names none, or hangs on the ball."""
    formation = snap.answer.situation.formation
    named = {find_named_side(snap.made, formation, ball) for ball in Ball}
    if len(call_sides(snap.made, formation)) != 1 or len(named) != 1:
        return None
    found = named.pop()
    return found[0] if found is not None and found[0] in RULE_WORDS else None


def parts(snap: Snap, position: str) -> tuple[RepPart, ...]:
    """Two decisions: a half of the field; the call as it is, changed, or another one."""
    return _side(snap), _say(snap)


def build(snap: Snap, position: str) -> Question:
    """Their line-up alone, with two halves of the field; after the answer ours too, each on his way."""
    w, (side, say) = snap.wording, parts(snap, position)
    stem = w.say("{call}. Which side is it, and do you play it as called?", call=snap.made.name)
    return Question(
        stem=stem,
        parts=(side, say),
        because=_because(snap),
        scene=_scene(snap, side),
        moved=pictures.moved(snap, position, snap.answer.fit(position).lanes),
    )


def _side(snap: Snap) -> RepPart:
    w, rule = snap.wording, find_rule(snap)
    assert rule is not None  # asks holds
    _, to = snap.answer.situation.called
    options = [
        (SIDE_KEYS[Side.LEFT], w.say("To our left"), w.say(AWAY_WORDS[rule])),
        (SIDE_KEYS[Side.RIGHT], w.say("To our right"), w.say(AWAY_WORDS[rule])),
    ]
    prompt = w.say("Which side is {call} now?", call=snap.made.name)
    return word_part(prompt, options, [list(Side).index(to)])


def _say(snap: Snap) -> RepPart:
    """As called, changed, or one of the calls that this one checks to against any look: always the same choices."""
    w, adjusted = snap.wording, snap.answer.situation.adjusted
    left = _becomes(w, adjusted)
    options = [(STAYS, w.say("As called"), left), (CHANGES, w.say("Some of us change"), left)]
    checks = list(dict.fromkeys(row.check for row in snap.made.adjust if row.check))
    options += [(f"say:{snap.key_of_call(name)}", w.say("Check {call}", call=name), left) for name in checks]
    right = 0 if adjusted is None else 2 + checks.index(adjusted.check) if adjusted.check else 1
    return word_part(w.say("What do you play?"), options, [right], start=len(Side))


def _becomes(w: Wording, adjusted: Adjusted | None) -> str:
    """What the call is here."""
    if adjusted is None:
        return w.say("Nothing they show changes it.")
    return w.say("It checks to {call}.", call=adjusted.check) if adjusted.check else w.say("It changes here.")


def _because(snap: Snap) -> str:
    """Where it goes by its rule; what of their look changes it, if anything does."""
    w, rule, adjusted = snap.wording, find_rule(snap), snap.answer.situation.adjusted
    assert rule is not None  # asks holds
    call, to = snap.answer.situation.called
    goes = w.say(RULE_WORDS[rule], call=call, side=w.side(to))
    if adjusted is None:
        return goes
    look = w.all_of(w.fact(fact, adjusted.to) for fact in adjusted.against)
    if adjusted.check:
        other = w.call(adjusted.check, adjusted.check_to or to)
        change = w.say("Against {look} it is {call}.", look=look, call=other)
    else:
        change = w.say("Against {look} some of us change.", look=look)
    return f"{goes} {change}"


def _scene(snap: Snap, side: RepPart) -> Scene:
    """Their men only, the receivers too, and nothing that names the side."""
    cast, formation = pictures.cast_of(snap), snap.answer.situation.formation
    center = cast.blocker_id(formation.center)
    halves = (Span.between(None, center), Span.between(center, None))
    taps = tuple(Tap(one.id, one.label, half) for one, half in zip(side.choices, halves, strict=True))
    theirs = pictures.question(snap, "", taps)
    words = f"{theirs.description} {_look(snap)}"
    title = f"{snap.made.name}, {formation.name}"
    return replace(theirs, title=title, description=words, defenders=(), shows_all=True)


def _look(snap: Snap) -> str:
    """Who is split out and who stands behind the line, since a rule may go by them: for those who can't see it."""
    w, formation = snap.wording, snap.answer.situation.formation
    others = [one for one in formation.players if one not in formation.surface and one.role is not Role.QUARTERBACK]
    split = [one for one in others if one.role is Role.RECEIVER]
    left, right = (sum(one.x * side.sign > 0 for one in split) for side in Side)
    said = [w.say("Split out: {left} to your left, {right} to your right.", left=left, right=right)]
    backs = [one for one in others if one.role is not Role.RECEIVER]
    if backs:
        where = (w.phrase(_place(one.x), man=w.blocker(one)) for one in backs)
        said.append(w.say("Behind their line: {backs}.", backs=w.all_of(where)))
    return " ".join(said)


def _place(x: float) -> str:
    """Where a back stands across the field."""
    if abs(x) < OFF_MIDDLE_YD:
        return BEHIND_CENTER
    return BACK_LEFT if x < 0 else BACK_RIGHT


KIND = RepKind("adjust", "How the call adjusts", Ground.AIR, asks, build, parts, tells_change=True)
