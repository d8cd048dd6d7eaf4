"""What a wrong answer leads to, drawn: where it takes him, and what it leaves open.

Drawn when it is first looked at, after the answer is stored, and kept; in another language than English in memory only.
A rep that the team's content no longer has keeps the picture of the snap that was stored with it. Nothing here holds up
or undoes an answer: whatever goes wrong or takes too long, that same picture is shown instead. It must not know pages.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass

import structlog

from server.database.store import Store, TeamSession
from server.database.tables import Answer, KeptRep, MissPicture, Team
from server.database.write_queue import WriteQueue
from server.i18n.languages import SOURCE, Language
from server.playbook.kept_reps import KeptReps
from server.playbook.playbooks import Playbooks

PATIENCE_S = 1.5  # of a player who waits for right or wrong; the picture of the snap stands in after that
PATIENCE_FOR_ALL_S = 10.0  # of a coach who looks at many of them for the first time

log = structlog.get_logger()
_DRAWING = ThreadPoolExecutor(max_workers=2, thread_name_prefix="draw")


@dataclass(frozen=True, slots=True)
class Wrong:
    """A wrong answer to a rep as it is said on the page."""

    rep: KeptRep
    chosen: tuple[str, ...]

    @property
    def key(self) -> tuple[str, str]:
        """Under which its picture is stored."""
        return self.rep.rep_id, "+".join(self.chosen)


def _wrong(answer: Answer, rep: KeptRep) -> Wrong:
    return Wrong(rep, tuple(answer.chosen))


@dataclass(frozen=True, slots=True)
class MissPictures:
    """Finds, draws and keeps the pictures of wrong answers, by what it is made of."""

    store: Store
    writes: WriteQueue
    playbooks: Playbooks
    kept_reps: KeptReps

    def after(
        self,
        team: Team,
        language: Language,
        answered: Sequence[tuple[Answer, KeptRep]],
        patience_s: float | None = None,
    ) -> list[str]:
        """The picture after each of these answers to reps as they are said on the page: of the snap where it was right,
        of what it leads to where it was wrong. ``patience_s`` None: as long as a player waits."""
        wrong = {one.key: one for answer, rep in answered if not answer.is_right for one in [_wrong(answer, rep)]}
        found: dict[tuple[str, str], str] = {}
        if wrong:
            drawing = _DRAWING.submit(self._find, team, language, list(wrong.values()), found)
            wait([drawing], PATIENCE_S if patience_s is None else patience_s)
        return [
            rep.after_svg if answer.is_right else found.get(_wrong(answer, rep).key, rep.after_svg)
            for answer, rep in answered
        ]

    def _find(self, team: Team, language: Language, wrong: Sequence[Wrong], found: dict[tuple[str, str], str]) -> None:
        """Put the picture of each wrong answer into ``found``, as far as there is one."""
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
        except Exception:  # the answer stands: a picture that fails must not look as if it did not
            log.exception("picture of a wrong answer")

    def _read(self, team: Team, wrong: Sequence[Wrong], found: dict[tuple[str, str], str]) -> None:
        """Add what is stored already."""
        lacking = [one for one in wrong if one.key not in found]
        if not lacking:
            return
        with self.store.read(team.id) as t:
            for one in lacking:
                row = t.find(MissPicture, *one.key)
                if row is not None:
                    found[one.key] = row.svg
                    self.kept_reps.keep_miss(team.id, SOURCE, *one.key, row.svg)

    def _draw(self, team: Team, language: Language, wrong: Sequence[Wrong]) -> dict[tuple[str, str], str]:
        """Those that the team's content still has, drawn."""
        if not wrong:
            return {}
        playbook = self.playbooks.of(team)
        svgs = playbook.misses([(one.rep, one.chosen) for one in wrong], language)
        drawn = {one.key: svg for one, svg in zip(wrong, svgs, strict=True) if svg is not None}
        for key, svg in drawn.items():
            self.kept_reps.keep_miss(team.id, language.code, *key, svg)
        return drawn

    def _store(self, team: Team, drawn: dict[tuple[str, str], str]) -> None:
        """Keep these; the first of two at once stands."""
        if not drawn:
            return

        def store(t: TeamSession) -> None:
            for (rep_id, chosen), svg in drawn.items():
                t.add_once(MissPicture(team_id=team.id, rep_id=rep_id, chosen=chosen, svg=svg))

        self.writes.write(team.id, store)
