"""What a coach asks of his own defense: one snap drawn with every man's fit, and what a call is short against.

The words are the team's own, from the same values that score a player. Must not know: players, answers given, pages.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from itertools import product

from quizgen.drawing.scene import Scene
from quizgen.engine.fits import Fit
from quizgen.football.calling import call_sides, check_side
from quizgen.football.errors import CannotRun, NoRule
from quizgen.football.scheme import Play
from quizgen.football.sides import Side
from quizgen.football.team import TeamBook, find_named, may_be_run
from quizgen.reps import pass_pictures, pictures
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.ids import Setup, SetupIds
from quizgen.reps.snap import PassSnap, Snap
from quizgen.reps.why import because
from quizgen.reps.wording import Wording


class Hold(Enum):
    """How a call holds up: every lane owned in time; an owner late; a lane that nobody has; no rule to say."""

    SOUND = "sound"
    LATE = "late"
    OPEN = "open"
    NO_RULE = "no rule"


@dataclass(frozen=True, slots=True)
class WhiteboardMan:
    """One defender: the lane he owns in the team's words (empty: none), when he gets there, what he is told."""

    position: str
    lane: str
    arrival: str
    told: str


@dataclass(frozen=True, slots=True)
class Look:
    """One snap as a coach draws it. ``hold`` is None against a pass; ``lanes`` are the ones nobody has or has in time;
    ``free`` the rushers whom a protection leaves alone; ``adjusted`` what their formation makes of the call."""

    heading: str
    offense: str
    scene: Scene
    hold: Hold | None
    lanes: tuple[str, ...]
    men: tuple[WhiteboardMan, ...]
    free: tuple[str, ...] = ()
    adjusted: str = ""


@dataclass(frozen=True, slots=True)
class HeldCall:
    """How a call to one side holds up against one play from one formation, and the lanes it is short of."""

    call: str
    to: Side
    formation: str
    play: str
    play_to: Side
    hold: Hold
    lanes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """What an edit does to the gap-sound table: how many snaps it touches, how many of those were looked at, how many
    were and are sound, and those that hold up worse than before."""

    touched: int
    looked_at: int
    sound_before: int
    sound_after: int
    worse: tuple[HeldCall, ...]


def look(
    catalogue: Catalogue, call: str, to: Side, formation: str, play: str, play_to: Side, position: str = ""
) -> Look:
    """One snap with its picture, ``position`` marked as the player's own man (else the first man of the front).

    Raises:
        UnknownName: the team has no such call, formation, play, or no such position in the call's front.
        WrongSide: the call's own rule does not let it go to that side.
        CannotRun: the formation cannot run the play. NoRule: the engine has no rule for the snap.
    """
    team = catalogue.team
    setup = _setup(team, SetupIds(team), call, to, formation, team.play(play), play_to)
    names = [spot.position for spot in setup.front.spots]
    own = find_named("position", position or names[0], [p for p in team.positions if p.name in names]).name
    snap = catalogue.find_snap(setup)
    if snap is None:
        raise CannotRun(call, setup.front.name, play, f"{formation} has no man for one of its jobs")
    return _run(snap, own) if isinstance(snap, Snap) else _pass(snap, own)


def _setup(team: TeamBook, ids: SetupIds, call: str, to: Side, formation: str, play: Play, play_to: Side) -> Setup:
    pressure, found = team.pressure(call), team.formation(formation)
    check_side(pressure, to, found)
    played = team.played(pressure, to, found)
    return ids.setup(pressure, to, played, team.front(played.pressure.front), found, play, play_to)


def _run(snap: Snap, own: str) -> Look:
    answer = snap.answer
    hold, lanes = _hold(snap)
    men = tuple(_man(snap, fit) for fit in sorted(answer.fits, key=lambda fit: not fit.owns))
    scene = pictures.moved(snap, own, answer.fit(own).lanes if answer.fit(own).owns else (), answer.open)
    return Look(snap.heading, snap.play_words, scene, hold, lanes, men, adjusted=_adjusted(snap))


def _man(snap: Snap, fit: Fit) -> WhiteboardMan:
    w, answer = snap.wording, snap.answer
    owned = w.lanes(answer.lanes[index] for index in fit.lanes) if fit.owns else ""
    arrival = fit.clock.arrival.value if fit.clock else ""
    return WhiteboardMan(fit.man.position, owned, arrival, because(answer, fit, w))


def _hold(snap: Snap) -> tuple[Hold, tuple[str, ...]]:
    answer, w = snap.answer, snap.wording
    if answer.open:
        return Hold.OPEN, tuple(w.lane(answer.lanes[index]) for index in answer.open)
    if answer.late:
        return Hold.LATE, tuple(w.lane(answer.lanes[index]) for index in answer.late)
    return Hold.SOUND, ()


def _pass(snap: PassSnap, own: str) -> Look:
    answer, w = snap.answer, snap.wording
    men = tuple(_rusher(w, m.man.position, [w.blocker(p) for p in m.blockers]) for m in answer.matchups)
    scene = pass_pictures.moved(snap, own)
    words = pass_pictures.pass_words(snap)
    return Look(snap.heading, words, scene, None, (), men, answer.free, _adjusted(snap))


def _adjusted(snap: Snap | PassSnap) -> str:
    return f"{snap.adjusted_words}." if snap.adjusted_words else ""


def _rusher(w: Wording, position: str, blockers: list[str]) -> WhiteboardMan:
    if not blockers:
        return WhiteboardMan(position, "", "", w.say("no one has you: go."))
    has = w.all_of(w.phrase("the {man}", man=blocker) for blocker in blockers)
    return WhiteboardMan(
        position, "", "", w.say("{who} has you.", who=has) if len(blockers) == 1 else w.say("{who} have you.", who=has)
    )


def sound_table(catalogue: Catalogue, call: str, to: Side) -> Iterator[HeldCall]:
    """How a call to one side holds up against every run from every formation against which its rule lets it go there;
    what cannot be run is left out.

    Raises:
        UnknownName: the team has no such call.
    """
    team, ids = catalogue.team, SetupIds(catalogue.team)
    met = [one for one in team.snap_formations if to in call_sides(team.pressure(call), one)]
    for play, play_to, formation in product(team.schemes, Side, met):
        if not may_be_run(formation, play):
            continue
        held = _held(catalogue, _setup(team, ids, call, to, formation.name, play, play_to))
        if held is not None:
            yield held


def _held(catalogue: Catalogue, setup: Setup) -> HeldCall | None:
    """How a setup against a run holds up; None where the formation cannot run the play, on air and against a pass."""
    if setup.play is None or setup.play_to is None:
        return None
    names = (setup.pressure.name, setup.to, setup.formation.name, setup.play.name, setup.play_to)
    try:
        snap = catalogue.find_snap(setup)
    except NoRule:
        return HeldCall(*names, Hold.NO_RULE, ())
    return HeldCall(*names, *_hold(snap)) if isinstance(snap, Snap) else None


def change(before: Catalogue, after: Catalogue, most: int) -> Change:
    """What editing a team's content does to its gap-sound table, looking at no more than ``most`` of the snaps that it
    touches. Snaps are the same when everything that decides them is."""
    touched = [setup for digest, setup in after.setups.items() if digest not in before.setups]
    olds = {_key(setup): setup for digest, setup in before.setups.items() if digest not in after.setups}
    sound_before = sound_after = looked_at = 0
    worse = []
    for setup in touched:
        if looked_at == most:
            break
        new = _held(after, setup)
        if new is None:
            continue
        looked_at += 1
        old_setup = olds.get(_key(setup))
        old = _held(before, old_setup) if old_setup else None
        sound_before += old is not None and old.hold is Hold.SOUND
        sound_after += new.hold is Hold.SOUND
        if old is not None and list(Hold).index(new.hold) > list(Hold).index(old.hold):
            worse.append(new)
    return Change(len(touched), looked_at, sound_before, sound_after, tuple(worse))


def _key(setup: Setup) -> tuple[str, Side, str, str, Side | None]:
    play = setup.play.name if setup.play else ""
    return setup.pressure.name, setup.to, setup.formation.name, play, setup.play_to
