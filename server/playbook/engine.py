"""The server's adapter for quizgen: a team's content, its reps and their drawings.

All pages call quizgen through this module alone, and tests have a stand-in for it; commands that print a team's
football call quizgen themselves. Decides nothing about football.

Most of quizgen is imported where it is called, so that a command without football starts without it.
"""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import astuple, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import quizgen
from quizgen.football.errors import GapsoundError as FootballError
from quizgen.football.sides import Side as CallSide
from server.playbook.rep_summary import FormationSummary, KeptSituation, PlaySummary, RepSummary, word

if TYPE_CHECKING:
    from quizgen.drawing.scene import Scene
    from quizgen.engine.mending import Mending, Watch
    from quizgen.football.opponent import AcceptedLack, ChartedOpponent
    from quizgen.football.team import TeamBook
    from quizgen.reps.answer_changes import AnswerChanges
    from quizgen.reps.catalogue import Catalogue
    from quizgen.reps.first_rep import FirstRep
    from quizgen.reps.held_against import HeldAgainst, ShortSnap
    from quizgen.reps.meeting import MeetingSnap
    from quizgen.reps.mending_words import SaidMending
    from quizgen.reps.whiteboard import Change, HeldCall, Look
    from quizgen.reps.wording import Say

#: What other rooms need of quizgen; they import it from here.
__all__ = [
    "AcceptedLack",
    "AnswerChanges",
    "CallSide",
    "Catalogue",
    "Change",
    "ChartedOpponent",
    "Engine",
    "FootballError",
    "HeldCall",
    "TeamBook",
]

T = TypeVar("T")
#: About as long as looking at one snap takes.
PAUSE_S = 0.005
QUIZGEN = Path(quizgen.__path__[0])


def pausing(items: Iterable[T]) -> Iterator[T]:
    """These items, with a pause after each for other threads."""
    for item in items:
        yield item
        time.sleep(PAUSE_S)


def name_in(nouns: Iterable[Any], key: str) -> str | None:
    """The name of the noun with this key; None when there is none."""
    return next((str(one.name) for one in nouns if one.key == key), None)


class Engine:
    """quizgen itself."""

    @cached_property
    def version(self) -> str:
        """A hash of quizgen's source: any change of it may change what it works out."""
        digest = hashlib.sha256()
        for path in sorted(QUIZGEN.rglob("*.py")):
            digest.update(path.read_bytes())
        return digest.hexdigest()

    def load_team(self, files: Mapping[str, str]) -> TeamBook:
        """A team from its TOML files by name. Raises: ContentProblems."""
        from quizgen.content import load_team

        return load_team(files)

    def named(self, files: Mapping[str, str]) -> dict[str, list[tuple[str, str]]]:
        """The nouns that a team can rename, as (key, name) by kind: position, call, front, formation, run ..."""
        from quizgen.content.documents import key_of_row, parse_files
        from quizgen.content.edits import TABLES, rows_of

        documents = parse_files(files)
        rows = {noun: rows_of(documents, noun) for noun in TABLES}
        return {noun: [(key_of_row(row, {}), str(row["name"])) for row in found] for noun, found in rows.items()}

    def catalogue(self, team: TeamBook) -> Catalogue:
        """The team's reps."""
        from quizgen.reps.catalogue import Catalogue

        return Catalogue(team)

    def men(self, team: TeamBook) -> Mapping[str, frozenset[str]]:
        """The positions on the field in each call, by their keys: {call: positions}."""
        keys = {position.name: position.key for position in team.positions}
        return {
            call.key: frozenset(keys[spot.position] for spot in team.front(call.front).spots) for call in team.pressures
        }

    def families(self, catalogue: Catalogue) -> Mapping[str, Mapping[str, str]]:
        """Which calls ask much the same of a position, by their keys: {position: {call: family}}."""
        from quizgen.reps.families import families

        return families(catalogue)

    def job_now(self, catalogue: Catalogue, kept: KeptSituation) -> str | None:
        """The hash of what is right now in a situation that was asked before: empty when the man is not asked that
        there any more, None when its call, formation, play or position is gone."""
        from quizgen.reps.ids import SETUP_HEX

        if kept.rep_id[:SETUP_HEX] in catalogue.setups:
            return kept.job
        team = catalogue.team
        plays: tuple[Any, ...] = (*team.schemes, *team.protections)
        position, call = name_in(team.positions, kept.position), name_in(team.pressures, kept.call)
        formation, play = name_in(team.snap_formations, kept.formation), name_in(plays, kept.play or "")
        if position is None or call is None or formation is None or (kept.play and play is None):
            return None
        reps = catalogue.reps(
            positions=[position],
            calls=[call],
            formations=[formation],
            sides=[CallSide(kept.to)],
            kinds=[kept.kind],
            schemes=[play] if play else None,
        )
        same = (rep.keys.job for rep in reps if (word(rep.play_to) or None) == kept.play_to)
        return next(same, "")

    def drill(self, catalogue: Catalogue) -> dict[str, Any]:
        """Which reps are worth asking, and how often a player who ignores the call is right, as plain values; seconds
        of work, with a pause after each snap so that requests go on."""
        from quizgen.reps.drill import drill

        found = drill(catalogue, pausing)
        return {"rates": found.rates, "reps": [astuple(rep) for rep in found.reps]}

    def drilled(self, catalogue: Catalogue, reps: Sequence[Sequence[Any]]) -> list[RepSummary]:
        """The reps of a drill, as values to choose from."""
        from quizgen.reps.catalogue import setup_stage
        from quizgen.reps.ids import picture_id, rep_id

        keys = {position.name: position.key for position in catalogue.team.positions}
        found = []
        for digest, kind, position, guise, worth in reps:
            setup = catalogue.setups[digest]
            play = setup.play.key if setup.play else ""
            found.append(
                RepSummary(
                    rep_id(digest, kind, position),
                    kind,
                    int(setup_stage(setup)),
                    keys[position],
                    setup.pressure.key,
                    word(setup.to),
                    setup.formation.key,
                    f"{play} {word(setup.play_to)}".strip(),
                    picture_id(digest, position),
                    guise,
                    play,
                    worth,
                )
            )
        return found

    def plays(self, team: TeamBook) -> Sequence[PlaySummary]:
        """The opponents' plays, in the team's order."""
        from quizgen.reps.rep import Stage
        from quizgen.reps.snap import stage_of

        runs = [PlaySummary(one.key, one.name, int(stage_of(one)), word(one.family)) for one in team.schemes]
        return [*runs, *(PlaySummary(one.key, one.name, int(Stage.PASS), "") for one in team.protections)]

    def formations(self, team: TeamBook) -> Sequence[FormationSummary]:
        """The formations as they may stand at the snap, in the team's order."""
        from quizgen.football.facts import strength

        return [
            FormationSummary(one.key, one.name, one.mirror_key, word(strength(one))) for one in team.snap_formations
        ]

    def draw(self, scene: Scene) -> str:
        """A scene as SVG."""
        from quizgen.drawing.svg import draw

        return draw(scene)

    def first_rep(self, catalogue: Catalogue, label: str, chosen: str) -> FirstRep:
        """The rep that shows a man with this letter how to tap; ``chosen`` is the lane that he tapped, or empty."""
        from quizgen.reps.first_rep import first_rep

        return first_rep(catalogue.wording, label, chosen)

    def look(self, catalogue: Catalogue, *asked: Any) -> Look:
        """One snap for a coach: call, its side, formation, play, its side, position to mark."""
        from quizgen.reps.whiteboard import look

        return look(catalogue, *asked)

    def sound_table(self, catalogue: Catalogue, call: str, to: CallSide) -> list[HeldCall]:
        """A call to one side against every run from every formation."""
        from quizgen.reps.whiteboard import sound_table

        return list(sound_table(catalogue, call, to))

    def hold_against(self, team: TeamBook, say: Say, *asked: Any) -> HeldAgainst:
        """A call to a side (None: both) against an opponent; see ``hold_against``."""
        from quizgen.reps.held_against import hold_against
        from quizgen.reps.wording import Wording

        return hold_against(team, Wording(team.words, say), *asked)

    def mend(
        self,
        team: TeamBook,
        call: str,
        to: CallSide | None,
        opponent: ChartedOpponent,
        *,
        watch: Watch,
        tell: Callable[[Mending], None],
    ) -> None:
        """Find what would mend a call against an opponent, and ``tell`` it; see ``mend``."""
        from quizgen.engine.against import weigh_snaps
        from quizgen.engine.mending import mend
        from quizgen.engine.report import situations

        wanted = [s for s in situations(team, call=call) if to in (None, s.called[1])]
        mend(team, call, weigh_snaps(wanted, opponent), watch=watch, tell=tell)

    def say_mendings(self, team: TeamBook, say: Say, found: Sequence[Mending]) -> Sequence[SaidMending]:
        """These mendings in a coach's words, the best first."""
        from quizgen.engine.mending import rank
        from quizgen.reps.mending_words import say_mendings
        from quizgen.reps.wording import Wording

        return say_mendings(Wording(team.words, say), sorted(found, key=rank))

    def short_snaps(self, team: TeamBook, *asked: Any) -> Sequence[ShortSnap]:
        """The snaps on which a call is short and that are not accepted; see ``short_snaps``."""
        from quizgen.reps.held_against import short_snaps

        return short_snaps(team, *asked)

    def meeting_snaps(
        self, catalogue: Catalogue, call: str, sides: Collection[CallSide], most: int
    ) -> list[MeetingSnap]:
        """Runs against a call that a whole room can be asked about; see ``find_snaps``."""
        from quizgen.reps.meeting import find_snaps

        return find_snaps(catalogue, call, sides, most)

    def meeting_snap(self, catalogue: Catalogue, digest: str) -> MeetingSnap:
        """The snap of that digest. Raises: FootballError when there is none."""
        from quizgen.reps.meeting import meeting_snap

        return meeting_snap(catalogue, digest)

    def filled(self, catalogue: Catalogue, digest: str, missing: Collection[str]) -> Scene:
        """The snap in motion as a room filled it; see ``filled``."""
        from quizgen.reps.meeting import filled

        return filled(catalogue, digest, missing)

    def crossings(self, team: TeamBook) -> Sequence[str]:
        """Which rushers get into each other's way, a line each."""
        from quizgen.engine.report import crossing_warnings

        return crossing_warnings(team)

    def side_rule(self, team: TeamBook, call: str, to: CallSide) -> tuple[str, int, int]:
        """The words of a call's own rule for its side (empty: none), against how many of the formations it goes to this
        side, and how many there are."""
        from quizgen.football.calling import call_sides

        pressure = team.pressure(call)
        met = sum(to in call_sides(pressure, one) for one in team.snap_formations)
        rule = ", ".join(one.value for one in pressure.goes_to)
        return rule if met < len(team.snap_formations) else "", met, len(team.snap_formations)

    def change(self, before: Catalogue, after: Catalogue, most: int) -> Change:
        """What an edit changes in the gap-sound table, over at most this many snaps."""
        from quizgen.reps.whiteboard import change

        return change(before, after, most)

    def answer_changes(self, before: Catalogue, after: Catalogue, most: int) -> AnswerChanges:
        """Which men are told something else, over at most this many snaps."""
        from quizgen.reps.answer_changes import answer_changes

        return answer_changes(before, after, most)

    def draw_end(self, scene: Scene) -> str:
        """The end of a moved scene, with its motion ready to play."""
        from quizgen.drawing.svg import draw

        return draw(scene, at_s=scene.end_s)

    def draw_card(self, scene: Scene) -> str:
        """A moved scene for the scout offense: seen from its side, in grey, with only its own paths."""
        from quizgen.drawing.svg import draw_print

        own = {f"to-{blocker.id}" for blocker in scene.blockers}
        defenders = tuple(replace(one, is_own=False) for one in scene.defenders)
        tracks = tuple(track for track in scene.tracks if track.id in own)
        return draw_print(replace(scene, defenders=defenders, tracks=tracks, bands=(), notes=(), marks=(), motions=()))

    def draw_counts(
        self, scene: Scene, counts: Mapping[tuple[int, str], int], right: Collection[tuple[int, str]]
    ) -> str:
        """A scene with the number of taps on each choice, by part and choice id; right ones are ticked."""
        from quizgen.drawing.svg import draw

        def mark(key: tuple[int, str]) -> str:
            return ("✓" if key in right else "") + (str(min(counts[key], 999)) if counts.get(key) else "")

        taps = tuple(replace(tap, mark=mark((tap.part, tap.id)) or "0") for tap in scene.taps)
        return draw(replace(scene, taps=taps))

    def draw_tapped(self, scene: Scene, chosen: Sequence[str]) -> str:
        """A scene with one choice of each part tapped, in order of the parts."""
        from quizgen.drawing.svg import draw

        tapped = set(enumerate(chosen, start=1))
        taps = tuple(replace(tap, is_chosen=(tap.part, tap.id) in tapped) for tap in scene.taps)
        return draw(replace(scene, taps=taps))
