"""Pictures of where a wrong answer leads: where it takes the player, and what it leaves open.

A picture is drawn when first needed, after the answer is stored, and stored itself; in languages other than English it
is kept in memory only. When the content no longer has the rep, drawing fails or takes too long, the picture of the snap
is shown instead: nothing here delays or undoes an answer. Knows nothing of pages.

Rejected: drawing every possible wrong answer with the rep (most are never given); drawing again at each look (an edit
to the content would change what a past answer showed).
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass

import structlog

from server.database.store import Store, TeamSession
from server.database.tables import GradedAnswer, KeptRep, MissPicture, Team
from server.database.write_queue import WriteQueue
from server.i18n.languages import SOURCE, Language
from server.playbook.kept_reps import KeptReps
from server.playbook.playbooks import Playbooks

PICTURE_WAIT_S = 1.5  # for a player who waits for his result; after that the picture of the snap is shown
PAGE_OF_PICTURES_WAIT_S = 10.0  # for a coach who opens a page of many for the first time

log = structlog.get_logger()
_DRAWING = ThreadPoolExecutor(max_workers=2, thread_name_prefix="draw")


@dataclass(frozen=True, slots=True)
class WrongAnswer:
    """A wrong answer to a rep in the page's language."""

    rep: KeptRep
    chosen: tuple[str, ...]

    @property
    def key(self) -> tuple[str, str]:
        """The key of its picture."""
        return self.rep.rep_id, "+".join(self.chosen)


def _wrong(answer: GradedAnswer, rep: KeptRep) -> WrongAnswer:
    return WrongAnswer(rep, tuple(answer.chosen))


@dataclass(frozen=True, slots=True)
class MissPictures:
    """Finds, draws and keeps the pictures of wrong answers."""

    store: Store
    writes: WriteQueue
    playbooks: Playbooks
    kept_reps: KeptReps

    def after(
        self,
        team: Team,
        language: Language,
        answered: Sequence[tuple[GradedAnswer, KeptRep]],
        patience_s: float | None = None,
    ) -> list[str]:
        """The picture for each of these answers to reps in the page's language: the snap after a right answer, where it
        leads after a wrong one. ``patience_s`` None: as long as a player waits."""
        wrong = {one.key: one for answer, rep in answered if not answer.is_right for one in [_wrong(answer, rep)]}
        found: dict[tuple[str, str], str] = {}
        if wrong:
            drawing = _DRAWING.submit(self._find, team, language, list(wrong.values()), found)
            wait([drawing], PICTURE_WAIT_S if patience_s is None else patience_s)
        return [
            rep.after_svg if answer.is_right else found.get(_wrong(answer, rep).key, rep.after_svg)
            for answer, rep in answered
        ]

    def _find(
        self, team: Team, language: Language, wrong: Sequence[WrongAnswer], found: dict[tuple[str, str], str]
    ) -> None:
        """Put the pictures that exist or can be drawn into ``found``."""
        try:
            for one in wrong:
                kept = self.kept_reps.find_miss(team.id, language.code, *one.key)
                if kept is not None:
                    found[one.key] = kept
            if language.code == SOURCE:
                self._read(team, wrong, found)
            drawn = self._draw(team, language, [one for one in wrong if one.key not in found])
            found.update(drawn)
            if language.code == SOURCE:
                self._store(team, drawn)
            else:
                self._read(team, wrong, found)  # in English, when the content no longer has the rep
        except Exception:  # the answer is stored: a failing picture must not look as if it was not
            log.exception("picture of a wrong answer")

    def _read(self, team: Team, wrong: Sequence[WrongAnswer], found: dict[tuple[str, str], str]) -> None:
        """Add the stored ones."""
        lacking = [one for one in wrong if one.key not in found]
        if not lacking:
            return
        with self.store.read(team.id) as t:
            for one in lacking:
                row = t.find(MissPicture, *one.key)
                if row is not None:
                    found[one.key] = row.svg
                    self.kept_reps.keep_miss(team.id, SOURCE, *one.key, row.svg)

    def _draw(self, team: Team, language: Language, wrong: Sequence[WrongAnswer]) -> dict[tuple[str, str], str]:
        """Draw those whose rep the team's content still has."""
        if not wrong:
            return {}
        playbook = self.playbooks.of(team)
        svgs = playbook.misses([(one.rep, one.chosen) for one in wrong], language)
        drawn = {one.key: svg for one, svg in zip(wrong, svgs, strict=True) if svg is not None}
        for key, svg in drawn.items():
            self.kept_reps.keep_miss(team.id, language.code, *key, svg)
        return drawn

    def _store(self, team: Team, drawn: dict[tuple[str, str], str]) -> None:
        """Store these; when two do so at once, the first one stays."""
        if not drawn:
            return

        def store(t: TeamSession) -> None:
            for (rep_id, chosen), svg in drawn.items():
                t.add_once(MissPicture(team_id=team.id, rep_id=rep_id, chosen=chosen, svg=svg))

        self.writes.write(team.id, store)
