"""A call as a coach edits it: one look drawn with everybody's way, what each man is told, and how often it is sound.

Solved straight from the content, without a catalogue, since after each edit one snap is asked for and not thousands.
Must not know: edits, forms, pages.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace

from quizgen.drawing.scene import BandState, Scene
from quizgen.drawing.svg import Link, draw_linked
from quizgen.engine.report import check_situations, situations
from quizgen.engine.verdict import solve
from quizgen.football.calling import call_sides
from quizgen.football.scheme import Scheme
from quizgen.football.sides import Side
from quizgen.football.team import Situation, TeamBook
from quizgen.reps import pictures
from quizgen.reps.snap import ON_AIR, Ground, Snap
from quizgen.reps.why import because
from quizgen.reps.wording import Say, Wording, as_is

WORST = 3


@dataclass(frozen=True, slots=True)
class FieldMan:
    """One of the eleven: by key and name, the letter he is drawn as, how deep he stands in yards, his lane in the
    team's words (empty: none), when he gets there, what he is told."""

    key: str
    name: str
    label: str
    depth_yd: float
    lane: str
    arrival: str
    told: str

    @property
    def is_late(self) -> bool:
        """Whether he is not there in time."""
        return bool(self.lane) and self.arrival not in ("", "on time")


@dataclass(frozen=True, slots=True)
class CallField:
    """A call against one look: before the snap, or after the blocks of a run. ``open`` are the lanes nobody has."""

    heading: str
    offense: str
    adjusted: str
    men: tuple[FieldMan, ...]
    open: tuple[str, ...]
    scene: Scene
    ids: Mapping[str, str]

    def drawn(self, addresses: Mapping[str, str], chosen: str) -> str:
        """The look as SVG, each man a link to his address by his key."""
        links = {
            self.ids[man.key]: Link(addresses[man.key], man.name, man.key == chosen)
            for man in self.men
            if man.key in addresses
        }
        return draw_linked(self.scene, links, at_s=self.scene.end_s)


@dataclass(frozen=True, slots=True)
class SoundCount:
    """Of how many runs to its side a call is sound; the plays that it is short against most often, with how often."""

    sound: int
    of: int
    worst: tuple[tuple[str, int], ...]


def sides_of(team: TeamBook, call: str, formation: str) -> tuple[Side, ...]:
    """The sides that a call's rule lets it go to against a formation.

    Raises:
        UnknownName: the team has no such call or formation.
    """
    return tuple(call_sides(team.pressure(call), team.formation(formation)))


def call_field(
    team: TeamBook,
    call: str,
    to: Side,
    formation: str,
    own: str,
    *,
    run: str = "",
    run_to: Side = Side.RIGHT,
    say: Say = as_is,
) -> CallField:
    """A call to a side against a formation, ``own`` the key of the man who is marked (empty: nobody); against a run
    after its blocks.

    Raises:
        UnknownName: the team has no such call, formation or run. CannotRun: the formation cannot run it. NoRule: the
        engine has no rule for the snap.
    """
    pressure, look = team.pressure(call), team.formation(formation)
    played = team.played(pressure, to, look)
    play: Scheme = next((one for one in team.schemes if one.name == run), ON_AIR)
    front = team.front(played.pressure.front)
    before = (team.rules, team.positions, front, played.pressure, played.to, look)
    on_air = play is ON_AIR
    answer = solve(Situation(*before, play, played.to if on_air else run_to, played.adjusted))
    snap = Snap("", Ground.AIR if on_air else Ground.RUN, answer, Wording(team.words, say), pressure)
    by_key = {position.key: position for position in team.positions}
    marked = by_key[own].name if own in by_key else ""
    fit = snap.find_fit(marked) if marked else None
    scene = pictures.moved(snap, marked, fit.lanes if fit and fit.owns else (), answer.open)
    if on_air:
        shown = tuple(replace(band, state=BandState.PLAIN) for band in scene.bands if band.state is not BandState.PLAIN)
        scene = replace(scene, motions=(), bands=shown)
    keys = {position.name: position.key for position in team.positions}
    cast = pictures.cast_of(snap)
    return CallField(
        snap.heading,
        "" if on_air else snap.play_words,
        f"{snap.adjusted_words}." if snap.adjusted_words else "",
        tuple(_man(snap, team, one.man.position, keys) for one in answer.fits),
        tuple(snap.wording.lane(answer.lanes[index]) for index in answer.open),
        replace(scene, shows_all=True),
        {keys[one.man.position]: cast.defender_id(one.man.position) for one in answer.fits},
    )


def _man(snap: Snap, team: TeamBook, name: str, keys: Mapping[str, str]) -> FieldMan:
    answer, w = snap.answer, snap.wording
    fit = answer.fit(name)
    lane = w.lanes(answer.lanes[index] for index in fit.lanes) if fit.owns else ""
    arrival = fit.clock.arrival.value if fit.clock and fit.owns else ""
    return FieldMan(keys[name], name, fit.man.label, fit.man.depth_yd, lane, arrival, because(answer, fit, w))


def count_sound(team: TeamBook, call: str, to: Side) -> SoundCount:
    """How often a call to one side is sound, over every run from every formation that it goes there against.

    Raises:
        UnknownName: the team has no such call. NoRule: the engine has no rule for a snap.
    """
    sound = total = 0
    short: Counter[str] = Counter()
    for answer in check_situations(one for one in situations(team, call=call) if one.called[1] is to):
        total += 1
        if answer.right.open or answer.right.late:
            short[answer.situation.play.name] += 1
        else:
            sound += 1
    return SoundCount(sound, total, tuple(short.most_common(WORST)))
