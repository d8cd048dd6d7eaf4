"""quizgen as the server uses it: a team's content, its reps, and what is drawn of them.

What serves people calls quizgen here alone; tests have a stand-in of the same shape. The commands that print a team's
football call it themselves. It must not decide anything about football.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Protocol

from quizgen.football.errors import GapsoundError as FootballError
from quizgen.football.sides import Side as CallSide
from server.playbook.rep_summary import PlaySummary, word

if TYPE_CHECKING:
    from quizgen.reps.whiteboard import Change, HeldCall

#: The words of quizgen that the rest of the server says, through this room alone.
__all__ = [
    "CallSide",
    "Catalogue",
    "Change",
    "Engine",
    "Football",
    "FootballError",
    "HeldCall",
    "TeamContent",
]


class TeamContent(Protocol):
    """What the server reads of a team: names, positions, calls, roster, time zone, end of the season."""

    @property
    def name(self) -> str:
        """The team's name."""

    @property
    def positions(self) -> Sequence[Any]:
        """Its positions, each with name, label and group."""

    @property
    def pressures(self) -> Sequence[Any]:
        """Its calls, each with a name."""

    @property
    def formations(self) -> Sequence[Any]:
        """The offense's formations, each with a name."""

    @property
    def schemes(self) -> Sequence[Any]:
        """The runs, each with a name."""

    @property
    def protections(self) -> Sequence[Any]:
        """The protections, each with a name."""

    @property
    def roster(self) -> Sequence[Any]:
        """Its players, each with number, name and positions."""

    @property
    def time_zone(self) -> str:
        """Where it is, as a name of the time zone database."""

    @property
    def season_end(self) -> str:
        """The last day of the season as a date; empty when it is not said."""


class Catalogue(Protocol):
    """The reps of a team, made one by one as they are asked for."""

    def reps(
        self,
        *,
        positions: Any = None,
        calls: Any = None,
        stages: Any = None,
        sides: Any = None,
        kinds: Any = None,
        schemes: Any = None,
    ) -> Iterator[Any]:
        """Those reps that meet all conditions given, unlike ones first."""
        ...

    def rep(self, rep_id: str, /) -> Any:
        """The rep of that id."""
        ...

    def said_by(self, say: Callable[[str], str], /) -> Catalogue:
        """The same reps in another language."""
        ...


class Football(Protocol):
    """quizgen as the server uses it."""

    def load_team(self, files: Mapping[str, str]) -> TeamContent:
        """A team from file names and their TOML."""
        ...

    def catalogue(self, team: Any) -> Catalogue:
        """The reps of that team."""
        ...

    def men(self, team: Any) -> Mapping[str, frozenset[str]]:
        """The positions that each call has on the field: {call: positions}."""
        ...

    def families(self, catalogue: Any) -> Mapping[str, Mapping[str, str]]:
        """Which calls ask much the same of a position: {position: {call: family}}."""
        ...

    def plays(self, catalogue: Any) -> Sequence[PlaySummary]:
        """What the opponents run, in the team's order."""
        ...

    def draw(self, scene: Any) -> str:
        """A scene as SVG."""
        ...

    def look(self, catalogue: Any, *asked: Any) -> Any:
        """One snap as a coach draws it: call, its side, formation, play, its side, position to mark."""
        ...

    def sound_table(self, catalogue: Any, call: str, to: CallSide) -> list[Any]:
        """How a call to one side holds up against every run from every formation."""
        ...

    def change(self, before: Any, after: Any, most: int) -> Any:
        """What an edit of the content does to the gap-sound table, looking at so many snaps at most."""
        ...

    def draw_end(self, scene: Any) -> str:
        """A moved scene as it stands at its end, ready to be played."""
        ...

    def draw_card(self, scene: Any) -> str:
        """A moved scene as the scout offense needs it: seen from its side, in grey, with its own ways only."""
        ...

    def draw_counts(self, scene: Any, counts: Mapping[tuple[int, str], int], right: Collection[tuple[int, str]]) -> str:
        """A scene with how often each thing in it was tapped, by part and choice id; a tick on what is right."""
        ...


class Engine:
    """quizgen itself."""

    def load_team(self, files: Mapping[str, str]) -> TeamContent:
        """A team from file names and their TOML. Raises: ContentProblems."""
        from quizgen.content import load_team

        return load_team(files)

    def catalogue(self, team: Any) -> Catalogue:
        """The reps of that team."""
        from quizgen.reps.catalogue import Catalogue as Reps

        return Reps(team)

    def men(self, team: Any) -> Mapping[str, frozenset[str]]:
        """The positions that each call has on the field: {call: positions}."""
        return {call.name: frozenset(spot.position for spot in team.front(call.front).spots) for call in team.pressures}

    def families(self, catalogue: Any) -> Mapping[str, Mapping[str, str]]:
        """Which calls ask much the same of a position: {position: {call: family}}."""
        from quizgen.reps.families import families

        return families(catalogue)

    def plays(self, catalogue: Any) -> Sequence[PlaySummary]:
        """What the opponents run, in the team's order."""
        from quizgen.reps.catalogue import setup_stage

        found = {setup.play: int(setup_stage(setup)) for setup in catalogue.setups.values() if setup.play}
        return [PlaySummary(play.name, stage, word(getattr(play, "family", None))) for play, stage in found.items()]

    def draw(self, scene: Any) -> str:
        """A scene as SVG."""
        from quizgen.drawing.svg import draw

        return draw(scene)

    def look(self, catalogue: Any, *asked: Any) -> Any:
        """One snap as a coach draws it: call, its side, formation, play, its side, position to mark."""
        from quizgen.reps.whiteboard import look

        return look(catalogue, *asked)

    def sound_table(self, catalogue: Any, call: str, to: CallSide) -> list[Any]:
        """How a call to one side holds up against every run from every formation."""
        from quizgen.reps.whiteboard import sound_table

        return list(sound_table(catalogue, call, to))

    def change(self, before: Any, after: Any, most: int) -> Any:
        """What an edit of the content does to the gap-sound table, looking at so many snaps at most."""
        from quizgen.reps.whiteboard import change

        return change(before, after, most)

    def draw_end(self, scene: Any) -> str:
        """A moved scene as it stands at its end, ready to be played."""
        from quizgen.drawing.svg import draw

        return draw(scene, at_s=scene.end_s)

    def draw_card(self, scene: Any) -> str:
        """A moved scene as the scout offense needs it: seen from its side, in grey, with its own ways only."""
        from quizgen.drawing.svg import draw_print

        own = {f"to-{blocker.id}" for blocker in scene.blockers}
        defenders = tuple(replace(one, is_own=False) for one in scene.defenders)
        tracks = tuple(track for track in scene.tracks if track.id in own)
        return draw_print(replace(scene, defenders=defenders, tracks=tracks, bands=(), notes=(), marks=(), motions=()))

    def draw_counts(self, scene: Any, counts: Mapping[tuple[int, str], int], right: Collection[tuple[int, str]]) -> str:
        """A scene with how often each thing in it was tapped, by part and choice id; a tick on what is right."""
        from quizgen.drawing.svg import draw

        def mark(key: tuple[int, str]) -> str:
            return ("✓" if key in right else "") + (str(min(counts[key], 999)) if counts.get(key) else "")

        taps = tuple(replace(tap, mark=mark((tap.part, tap.id)) or "0") for tap in scene.taps)
        return draw(replace(scene, taps=taps))
