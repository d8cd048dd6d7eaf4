"""The rep `after-release`: the back goes out to your side, what now?"""

from __future__ import annotations

from quizgen.engine.alignment import Man
from quizgen.engine.protection import Release, on_release
from quizgen.football.errors import NoRule
from quizgen.football.formation import OffensivePlayer, Role
from quizgen.football.sides import Side
from quizgen.reps import pass_pictures
from quizgen.reps.choices import word_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.men import you_or
from quizgen.reps.rep import RepPart
from quizgen.reps.snap import Ground, PassSnap
from quizgen.reps.wording import to_say

BACKS = (Role.TAILBACK, Role.FULLBACK)


def asks(snap: PassSnap, position: str) -> bool:
    """Rushers and men under on the side of a back who goes out, where the call gives somebody the back."""
    man, back = snap.find_man(position), find_back(snap)
    if man is None or back is None or (man.drop is not None and man.drop.cover.is_deep):
        return False
    return find_jobs(snap, back, side_of(man)) is not None


def find_back(snap: PassSnap) -> OffensivePlayer | None:
    """The back who is not kept in, the tailback before the fullback; None for nobody."""
    kept = {player.key for player in snap.answer.protectors}
    men = [p for p in snap.answer.situation.formation.players if p.role in BACKS and p.key not in kept]
    return min(men, key=lambda p: BACKS.index(p.role), default=None)


def side_of(man: Man) -> Side | None:
    """The side a man plays on: his gap's, his job's, or where he lines up."""
    if man.gaps:
        return man.gaps[0].side
    if man.side is not None:
        return man.side
    return None if abs(man.x) < 1 else (Side.RIGHT if man.x > 0 else Side.LEFT)


def find_jobs(snap: PassSnap, back: OffensivePlayer, side: Side | None) -> dict[str, Release] | None:
    """What every position does then, or None where the call gives nobody the back."""
    if side is None:
        return None
    try:
        return on_release(snap.answer, back, side)
    except NoRule:
        return None


def _told(snap: PassSnap, position: str) -> tuple[OffensivePlayer, Side, Release, str]:
    """The back, his side, what the position does then, and who takes him."""
    man, back = snap.find_man(position), find_back(snap)
    assert man is not None  # asks holds
    assert back is not None
    side = side_of(man)
    assert side is not None
    jobs = find_jobs(snap, back, side)
    assert jobs is not None
    mine = jobs[position]
    taker = next(name for name, job in jobs.items() if job is Release.TAKE_BACK)
    return back, side, mine, taker


def parts(snap: PassSnap, position: str) -> tuple[RepPart, ...]:
    """Three choices: take him, keep rushing, keep covering."""
    w = snap.wording
    back, _, mine, taker = _told(snap, position)
    name = w.blocker(back)
    wrong = {
        Release.TAKE_BACK: w.say("{man} has the {back}.", man=taker, back=name),
        Release.KEEP_RUSHING: w.say("No one would have the {back}.", back=name),
        Release.KEEP_COVERING: w.say("No one would have the {back}.", back=name),
    }
    if mine is not Release.TAKE_BACK:
        wrong[Release.KEEP_RUSHING] = w.say("You do not rush on this call.")
        wrong[Release.KEEP_COVERING] = w.say("You rush on this call.")
    labels = {
        Release.TAKE_BACK: w.say("Take him now"),
        Release.KEEP_RUSHING: w.say("Keep rushing"),
        Release.KEEP_COVERING: w.say("Keep covering"),
    }
    order = list(Release)
    prompt = w.say("What do you do now?")
    left = pass_pictures.cast_of(snap).blocker_id(back) if mine is Release.TAKE_BACK else ""
    part = word_part(
        prompt,
        [(f"release:{one.value}", labels[one], wrong[one]) for one in order],
        [order.index(mine)],
        free=["" if one is mine else left for one in order],
    )
    return (part,)


def build(snap: PassSnap, position: str) -> Question:
    """The back on his way out."""
    w = snap.wording
    back, side, mine, taker = _told(snap, position)
    (part,), name = parts(snap, position), w.blocker(back)
    story = w.say("The {back} goes out to your side.", back=name)
    return Question(
        stem=f"{snap.heading}. {pass_pictures.pass_words(snap)} {story} {part.prompt}",
        parts=(part,),
        because=_because(snap, mine, you_or(w, position, [taker]), name),
        scene=pass_pictures.released_question(snap, position, back, side),
        moved=pass_pictures.moved(snap, position, (back, side), taker),
    )


def _because(snap: PassSnap, mine: Release, taker: str, back: str) -> str:
    w = snap.wording
    if mine is Release.TAKE_BACK:
        if snap.answer.situation.pressure.peel:
            return w.say("On this call the edge on his side peels off and takes the {back}: that is you.", back=back)
        return w.say("On this call the {back} is yours on that side.", back=back)
    rest = (
        to_say("{man} takes the {back}, so keep rushing.")
        if mine is Release.KEEP_RUSHING
        else to_say("{man} takes the {back}, so keep your pass job.")
    )
    return w.say(rest, man=taker, back=back)


KIND = RepKind("after-release", "The back goes out", Ground.PASS, asks, build, parts)
