"""A team's content ready for use: from files in the database to reps, through quizgen, and back as stored reps.

Content is loaded once per change: a playbook is cached under the hash of its files. A team's engine work runs one job
at a time, in the calling thread. Decides nothing about football.
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import islice, product
from typing import TYPE_CHECKING, Any, TypeVar

from cachetools import LRUCache

from server.database.store import Store, TeamSession
from server.database.tables import ContentFile, KeptRep, Team
from server.database.write_queue import WriteQueue
from server.errors import BadInput
from server.i18n.languages import SOURCE, Language, language
from server.i18n.lazy_text import LazyText
from server.mastery.values import SIDES, STAGES
from server.playbook.engine import CallSide, Engine, FootballError
from server.playbook.kept_families import KeptFamilies
from server.playbook.noun_names import NounKind, NounNames, read_names
from server.playbook.rep_summary import FormationSummary, PlaySummary, RepSummary, facts
from server.playbook.stored_reps import draw_miss, draw_tapped, said_as, snapshot

if TYPE_CHECKING:
    from server.playbook.engine import Catalogue, TeamBook

T = TypeVar("T")
CellKey = tuple[str, str, int, str, str]
"""Call, position, stage, side and play (empty: any)."""

KEPT_PLAYBOOKS = 64
KEPT_CELLS = 4000
#: How many reps a set can draw from for each position, stage and side: the catalogue has thousands, and puts unlike
#: ones first.
POOL_PER_CELL = 20
#: And how many more of each play that is asked more often.
POOL_PER_PLAY = 6
SAMPLES = 3
SAMPLED = 24


@dataclass(frozen=True, slots=True)
class PositionWords:
    """A position as pages show it."""

    key: str
    name: str
    label: str
    group: str


@dataclass(slots=True)
class Playbook:
    """A team's content at one moment, with the reps chosen so far."""

    football: Engine
    content_hash: str
    team: TeamBook
    kept_families: KeptFamilies | None = None
    _catalogue: Catalogue | None = None
    _drill: Mapping[str, Any] | None = None
    _drilled: Mapping[tuple[str, str, int, str], Sequence[RepSummary]] | None = None
    _cells: LRUCache[CellKey, tuple[RepSummary, ...]] = field(default_factory=lambda: LRUCache(KEPT_CELLS))
    _families: Mapping[str, Mapping[str, str]] | None = None
    _plays: Sequence[PlaySummary] | None = None
    _formations: Sequence[FormationSummary] | None = None
    _crossings: Sequence[str] | None = None
    _names: Mapping[tuple[NounKind, str], str] | None = None
    _men: Mapping[str, frozenset[str]] | None = None
    _stages: dict[str, Mapping[str, frozenset[int]]] = field(default_factory=dict)
    _said: dict[str, Catalogue] = field(default_factory=dict)
    _translated: LRUCache[tuple[str, str], KeptRep] = field(default_factory=lambda: LRUCache(KEPT_CELLS))
    _keeping: threading.Lock = field(default_factory=threading.Lock)
    _working: threading.Lock = field(default_factory=threading.Lock)
    _comparing: threading.Lock = field(default_factory=threading.Lock)
    _listing: threading.Lock = field(default_factory=threading.Lock)

    @property
    def catalogue(self) -> Catalogue:
        """The team's reps, listed when first needed: the first pages after a start do without the engine."""
        with self._listing:
            if self._catalogue is None:
                self._catalogue = self.football.catalogue(self.team)
        return self._catalogue

    @property
    def positions(self) -> list[PositionWords]:
        """The defense's positions, in the team's order."""
        return [PositionWords(p.key, p.name, p.label, p.group) for p in self.team.positions]

    @property
    def calls(self) -> list[str]:
        """The keys of the calls, in the team's order."""
        return [pressure.key for pressure in self.team.pressures]

    @property
    def nouns(self) -> Mapping[NounKind, Sequence[Any]]:
        """The nouns that rows refer to, by kind."""
        return {
            NounKind.POSITION: self.team.positions,
            NounKind.CALL: self.team.pressures,
            NounKind.FORMATION: self.team.snap_formations,
            NounKind.PLAY: (*self.team.schemes, *self.team.protections),
        }

    def name(self, kind: NounKind, key: str) -> str:
        """What a noun is called in this content; the key itself where the content has no such noun."""
        if self._names is None:
            self._names = {(kind, noun.key): noun.name for kind, nouns in self.nouns.items() for noun in nouns}
        return self._names.get((kind, key), key)

    def names(self, kind: NounKind, keys: Iterable[str]) -> list[str]:
        """What these nouns are called."""
        return [self.name(kind, key) for key in keys]

    def find_key(self, kind: NounKind, typed: str) -> str | None:
        """The key of the noun that is typed by its name or its key, in upper or lower case; None when there is none."""
        wanted = typed.strip().casefold()
        nouns = self.nouns[kind]
        named = next((noun.key for noun in nouns if noun.name.casefold() == wanted), None)
        return named or next((noun.key for noun in nouns if noun.key.casefold() == wanted), None)

    def group_of(self, position: str) -> str:
        """The group of a position; empty for one the team no longer has."""
        return next((p.group for p in self.positions if p.key == position), "")

    def check_call(self, call: str) -> str:
        """The key of a call, typed by its name or key. Raises: BadInput."""
        if key := self.find_key(NounKind.CALL, call):
            return key
        known = ", ".join(one.name for one in self.team.pressures) or LazyText("none defined")
        raise BadInput(LazyText("call: expected one of {known}, found {found!r}", known=known, found=call[:60]))

    def has_job(self, call: str, positions: Collection[str]) -> bool:
        """Whether a call has one of these positions on the field; True without positions, and for an unknown call."""
        if self._men is None:
            self._men = self.football.men(self.team)
        return not positions or call not in self._men or not self._men[call].isdisjoint(positions)

    def families(self) -> Mapping[str, Mapping[str, str]]:
        """Which calls ask much the same of a position, compared once for each content: {position: {call: family}}.

        That takes seconds, so it runs outside the lock on engine work, on a catalogue of its own: a player's picture of
        a wrong answer doesn't wait for it (its longest wait was .35 of what it had been, in one run). The result is
        stored, so that the first page after a start doesn't wait either. Rejected: a process for the engine (everything
        in memory twice, and a slow start); a first page without families (its states would change a moment later).
        """
        with self._comparing:
            if self._families is None and self.kept_families is not None:
                self._families = self.kept_families.find()
            if self._families is None:
                apart = self._work(lambda: self.catalogue.said_by(language(SOURCE).translate_template))
                self._families = self.football.families(apart)
                if self.kept_families is not None:
                    self.kept_families.keep(self._families)
        return self._families

    def prepare(self) -> None:
        """Work out which reps are worth asking, and the call-blind rates; once for each content, as families are.

        That takes seconds: sets laid out before draw from the first few reps of the catalogue, all worth the same.
        Rejected: the first set waits for it.
        """
        found = self.kept_families.find_drill() if self.kept_families is not None else None
        if found is None:
            found = self.football.drill(self.catalogue.said_by(language(SOURCE).translate_template))
            if self.kept_families is not None:
                self.kept_families.keep(self.families(), found)
        cells: dict[tuple[str, str, int, str], list[RepSummary]] = {}
        for rep in self.football.drilled(self.catalogue, found["reps"]):
            cells.setdefault((rep.call, rep.position, rep.stage, rep.to), []).append(rep)
        self._drill, self._drilled = found, cells

    def guess_rate(self, kind: str, position: str) -> float:
        """How often a player who ignores the call is right, for a kind and a position; 0 when that is not known."""
        rates = self._drill["rates"].get(kind, {}) if self._drill is not None else {}
        return float(rates.get(position, rates.get("", 0.0)))

    def as_stored(self, t_id: str, rep: Any, now: datetime) -> KeptRep:
        """A rep of the catalogue, drawn, as it will be stored. Call it within `ask`."""
        return snapshot(self.football, t_id, rep, now, self.guess_rate(rep.kind, rep.keys.position))

    def plays(self) -> Sequence[PlaySummary]:
        """The opponents' plays, in the team's order, computed once."""
        if self._plays is None:
            self._plays = self.football.plays(self.team)
        return self._plays

    def formations(self) -> Sequence[FormationSummary]:
        """The opponents' formations as they may stand at the snap, in the team's order."""
        if self._formations is None:
            self._formations = self.football.formations(self.team)
        return self._formations

    def crossings(self) -> Sequence[str]:
        """Which rushers get into each other's way, a line each, computed once."""
        if self._crossings is None:
            self._crossings = self.football.crossings(self.team)
        return self._crossings

    def stages_of(self, call: str) -> Mapping[str, frozenset[int]]:
        """The stages of a call at which each position has a rep, computed once."""
        if call not in self._stages:
            self._stages[call] = self._work(lambda: self._find_stages(call))
        return self._stages[call]

    def _find_stages(self, call: str) -> Mapping[str, frozenset[int]]:
        found: dict[str, set[int]] = {p.key: set() for p in self.positions}
        for stage in STAGES:
            left = set(found)  # one rep of each position is enough
            while left and (rep := next(self.reps(call, left, [stage], SIDES), None)):
                found[rep.keys.position].add(stage)
                left.discard(rep.keys.position)
        return {position: frozenset(stages) for position, stages in found.items()}

    def pool(
        self,
        call: str,
        positions: Sequence[str],
        stages: Sequence[int],
        sides: Sequence[str],
        often: Mapping[int, Sequence[str]] | None = None,
    ) -> list[RepSummary]:
        """Reps to choose from: for each position, stage and side those worth asking; until these are worked out the
        first few, which are unlike one another, and a few more of the plays to ask ``often``, by stage."""
        if self._drilled is not None:
            keys = product([call], positions, stages, sides)
            return [rep for key in keys for rep in self._drilled.get(key, ())]
        found: dict[str, RepSummary] = {}
        for position in positions:
            for stage in stages:
                for side in sides:
                    for play in ("", *(often or {}).get(stage, ())):
                        found.update((rep.id, rep) for rep in self._cell((call, position, stage, side, play)))
        return list(found.values())

    def _cell(self, key: CellKey) -> tuple[RepSummary, ...]:
        with self._keeping:
            found = self._cells.get(key)
        if found is None:
            most = POOL_PER_PLAY if key[-1] else POOL_PER_CELL
            found = self._work(lambda: tuple(map(facts, islice(self._cell_reps(key), most))))
            with self._keeping:
                self._cells[key] = found
        return found

    def _cell_reps(self, key: CellKey) -> Iterator[Any]:
        call, position, stage, side, play = key
        return self.reps(call, [position], () if play else [stage], [side], [play] if play else ())

    def reps(
        self,
        call: str,
        positions: Iterable[str],
        stages: Sequence[int],
        sides: Iterable[str],
        plays: Sequence[str] = (),
    ) -> Iterator[Any]:
        """The catalogue's reps on a call, one by one; nouns by their keys; without stages or plays, of any."""
        wanted: dict[str, Any] = {"stages": stages} if stages else {}
        if plays:
            wanted["schemes"] = self.names(NounKind.PLAY, plays)
        return self.catalogue.reps(
            calls=[self.name(NounKind.CALL, call)],
            positions=self.names(NounKind.POSITION, positions),
            sides=[CallSide(side) for side in sides],
            **wanted,
        )

    def samples(
        self, t_id: str, call: str, positions: Sequence[str], stages: Sequence[int], sides: Sequence[str], now: datetime
    ) -> list[KeptRep]:
        """A few reps as they would be shown, of different kinds if possible."""
        if not (positions and stages and sides):
            return []

        def choose() -> list[KeptRep]:
            first = list(islice(self.reps(call, positions, stages, sides), SAMPLED))
            kinds = {rep.kind: rep for rep in reversed(first)}
            chosen = [*kinds.values(), *(rep for rep in first if rep is not kinds[rep.kind])][:SAMPLES]
            return [self.as_stored(t_id, rep, now) for rep in chosen]

        return self._work(choose)

    def snapshots(self, t_id: str, rep_ids: Sequence[str], now: datetime) -> list[KeptRep]:
        """These reps, drawn, as they will be stored."""
        if not rep_ids:
            return []
        return self._work(lambda: [self.as_stored(t_id, self.catalogue.rep(rep_id), now) for rep_id in rep_ids])

    def translated(self, shown: Sequence[KeptRep], language: Language) -> list[KeptRep]:
        """These reps in another language; as stored where the content has no such rep, or has other choices for it."""
        with self._keeping:
            found = {rep.rep_id: self._translated.get((language.code, rep.rep_id)) for rep in shown}
        missing = [rep for rep in shown if found[rep.rep_id] is None]
        if missing:
            made = self._work(lambda: [said_as(self.football, rep, self._in(language)) for rep in missing])
            found.update((rep.rep_id, rep) for rep in made)
            with self._keeping:
                self._translated.update(((language.code, rep.rep_id), rep) for rep in made)
        return [found[rep.rep_id] or rep for rep in shown]

    def misses(
        self, wrong: Sequence[tuple[KeptRep, Sequence[str]]], language: Language | None = None
    ) -> list[str | None]:
        """A picture of where each wrong answer leads; None where the content has no such rep, or has other choices for
        it. ``language`` None: English."""
        catalogue = self.catalogue if language is None else self._in(language)
        return self._work(lambda: [draw_miss(self.football, catalogue, *one) for one in wrong])

    def tapped(self, answered: Sequence[tuple[KeptRep, Sequence[str]]], language: Language) -> list[str]:
        """The question of each rep with the player's choices tapped; the stored question where the content has no such
        rep, or has other choices for it."""
        catalogue = self._in(language)
        return self._work(lambda: [draw_tapped(self.football, catalogue, *one) for one in answered])

    def _in(self, language: Language) -> Catalogue:
        """The catalogue in a language."""
        if language.code == SOURCE:
            return self.catalogue
        if language.code not in self._said:
            self._said[language.code] = self.catalogue.said_by(language.translate_template)
        return self._said[language.code]

    def cards(self, rep_ids: Sequence[str], language: Language | None = None) -> dict[str, str]:
        """The plays of these reps as cards for the scout offense, without reps that the content no longer has.

        ``language`` None: English.
        """
        catalogue = self.catalogue if language is None else self._in(language)

        def draw() -> dict[str, str]:
            found = {}
            for rep_id in rep_ids:
                try:
                    found[rep_id] = self.football.draw_card(catalogue.rep(rep_id).moved)
                except FootballError:
                    continue
            return found

        return self._work(draw)

    def counted(
        self, counts: Mapping[str, Mapping[tuple[int, str], int]], language: Language | None = None
    ) -> dict[str, str]:
        """Pictures of these reps with the number of taps on each choice, by rep, part and choice id.

        Reps that the content no longer has are left out. ``language`` None: English.
        """
        catalogue = self.catalogue if language is None else self._in(language)

        def draw() -> dict[str, str]:
            found = {}
            for rep_id, own in counts.items():
                try:
                    rep = catalogue.rep(rep_id)
                except FootballError:
                    continue
                right = {(n, choice) for n, part in enumerate(rep.parts, start=1) for choice in part.right}
                found[rep_id] = self.football.draw_counts(rep.scene, own, right)
            return found

        return self._work(draw)

    def ask(self, question: Callable[[Any], T], language: Language | None = None) -> T:
        """Ask the catalogue, in a language (None: English)."""
        catalogue = self.catalogue if language is None else self._in(language)
        return self._work(lambda: question(catalogue))

    def _work(self, job: Callable[[], T]) -> T:
        """Run engine work, one job at a time."""
        with self._working:
            return job()


class Playbooks:
    """The playbooks of all teams; the most recently used are cached. Without ``writes`` nothing is stored."""

    def __init__(self, store: Store, football: Engine | None = None, writes: WriteQueue | None = None) -> None:
        self.store = store
        self.writes = writes
        self.football = football or Engine()
        #: Called with a team's id, the hash of its content and each playbook of it that is read, to prepare it in the
        #: background; None: nothing is.
        self.on_read: Callable[[tuple[str, str, Playbook]], None] | None = None
        self._kept: LRUCache[tuple[str, str], Playbook] = LRUCache(KEPT_PLAYBOOKS)
        self._names: LRUCache[tuple[str, str], NounNames] = LRUCache(KEPT_PLAYBOOKS)
        self._loading = threading.Lock()
        self._keeping = threading.Lock()

    def of(self, team: Team) -> Playbook:
        """The playbook of a team's current content. Raises: BadInput when the stored files have problems."""
        kept = self._find((team.id, team.content_hash))
        if kept is None:
            with self._loading:
                key, files = read_files(self.store, team.id)  # the content may have changed since
                kept = self._find(key) or read_playbook(self.football, files)
                if self.writes is not None:
                    made_from = f"{kept.content_hash} {self.football.version}"
                    kept.kept_families = KeptFamilies(self.store, self.writes, team.id, made_from)
                with self._keeping:
                    self._kept[key] = kept
                if self.on_read is not None:
                    self.on_read((*key, kept))
        return kept

    def names_of(self, team: Team) -> NounNames:
        """What a team calls its nouns, from the database; content that no longer loads has names too."""
        key = (team.id, team.content_hash)
        with self._keeping:
            found = self._names.get(key)
        if found is None:
            with self.store.read(team.id) as t:
                found = read_names(t)
            with self._keeping:
                self._names[key] = found
        return found

    def _find(self, key: tuple[str, str]) -> Playbook | None:
        with self._keeping:
            return self._kept.get(key)


def read_files(store: Store, team_id: str) -> tuple[tuple[str, str], dict[str, str]]:
    """A team's stored files and their cache key, both from one moment."""
    while True:
        with store.read(team_id) as t:
            key = (team_id, t.team().content_hash)
            files = {one.path: one.text for one in t.rows(ContentFile)}
        with store.read(team_id) as t:
            if key == (team_id, t.team().content_hash):
                return key, files


def read_playbook(football: Engine, files: Mapping[str, str]) -> Playbook:
    """A playbook from files. Raises: BadInput with every problem of the files."""
    try:
        team = football.load_team(files)
        return Playbook(football, hash_files(files), team)
    except FootballError as error:
        problems = [str(problem) for problem in getattr(error, "problems", ())] or [str(error)]
        more = LazyText("{problem}, and {count} more", problem=problems[0], count=len(problems) - 1)
        raise BadInput(more if len(problems) > 1 else problems[0], problems) from None


def hash_files(files: Mapping[str, str]) -> str:
    """A hash of names and texts, in any order of the files."""
    digest = hashlib.sha256()
    for path in sorted(files):
        for part in (path, files[path]):
            encoded = part.encode()
            digest.update(len(encoded).to_bytes(8, "big") + encoded)
    return digest.hexdigest()


def store_files(t: TeamSession, files: Mapping[str, str]) -> None:
    """Make the team's stored files exactly these."""
    stored = {one.path: one for one in t.rows(ContentFile)}
    for path, text in files.items():
        row = stored.pop(path, None) or ContentFile(team_id=t.team_id, path=path)
        row.text = text
        t.add(row)
    for gone in stored.values():
        t.delete(gone)
