"""Loads modules, teams and templates once the server answers, so that the first to ask doesn't wait for them; then
works out which reps of each playbook are worth asking, and which answers are about jobs that have changed since.

It runs in its own thread beside the requests; a request in between waits only for what it needs itself. Rejected:
warming at once, or with pauses between modules (the slowest replies of the first five seconds took 1.4 and 1.5 times as
long, on a busy machine). Knows nothing of a page's content.
"""

from __future__ import annotations

import gc
import importlib
import threading
import time
from collections.abc import Iterable
from contextlib import suppress
from queue import SimpleQueue

import structlog
from sqlmodel import col, func

from server.accounts.members import players
from server.database.tables import SignIn, Team
from server.errors import Refusal
from server.i18n.languages import SOURCE, language
from server.playbook.playbooks import Playbook
from server.progress.past_answers import mark_past_answers
from server.web.deps import Services
from server.web.responses import pages_in

AFTER_S = 0.5  # requests that waited for the server go first
MAX_TEAMS = 8
MODULES = ("quizgen.content", "quizgen.reps.catalogue", "quizgen.reps.families", "quizgen.drawing.svg", "scipy.special")

log = structlog.get_logger()


class WarmUp:
    """The thread that warms up, until it is done or stopped."""

    def __init__(self, services: Services) -> None:
        self.services = services
        self._is_over = threading.Event()
        self._to_prepare: SimpleQueue[tuple[str, str, Playbook] | None] = SimpleQueue()
        self._thread = threading.Thread(target=self._run, name="warm-up", daemon=True)

    def start(self) -> None:
        """Start after a short delay. From now on each playbook that is read is prepared too, one at a time."""
        self.services.playbooks.on_read = self._to_prepare.put
        self._thread.start()

    def stop(self) -> None:
        """Stop after the current step, without waiting for it."""
        self._is_over.set()
        self._to_prepare.put(None)

    def _run(self) -> None:
        if self._is_over.wait(AFTER_S):
            return
        began = time.monotonic()
        # What is loaded now stays; each scan of it by the garbage collector stopped all threads for up to .09 s.
        gc.disable()
        try:
            for name in MODULES:
                importlib.import_module(name)
            for team in self._teams():
                if self._is_over.is_set():
                    return
                self._load(team)
            compile_templates()  # last, since each page compiles its own while the first ones are waited for
        except Refusal as refusal:  # the database is away: the next request gets its own error and loads what it needs
            log.warning("warm-up ends early", reason=str(refusal))
        else:
            log.info("warm", seconds=round(time.monotonic() - began, 1))
        finally:
            gc.freeze()
            gc.enable()
        while (read := self._to_prepare.get()) is not None and not self._is_over.is_set():
            with suppress(Refusal):  # the database is away: sets are drawn as before until the next start
                self._prepare(*read)

    def _prepare(self, team_id: str, team_hash: str, playbook: Playbook) -> None:
        """What takes seconds and nobody waits for: which answers are about jobs that have changed, and which reps are
        worth asking."""
        services = self.services
        if mark_past_answers(services.writes, team_id, team_hash, playbook, services.now()):
            services.kept_reps.forget(team_id)
        playbook.prepare()

    def _teams(self) -> Iterable[Team]:
        """The teams used lately, the last one first."""
        found = []
        for team in self.services.store.teams():
            with self.services.store.read(team.id) as t:
                [(seen_at,)] = t.values(SignIn, func.max(col(SignIn.seen_at)))
            found.append((seen_at or team.created_at, team))
        return [team for _, team in sorted(found, key=lambda one: one[0], reverse=True)][:MAX_TEAMS]

    def _load(self, team: Team) -> None:
        """Load a team's content and its mastery state."""
        services = self.services
        try:
            playbook = services.playbooks.of(team)
        except Refusal:
            return  # its files have problems; its pages show them
        team_state = services.team_states.of(services.store, team.id, playbook)
        with services.store.read(team.id) as t:
            members = players(t)
        team_state.board([member.id for member in members], playbook.calls, services.now())


def compile_templates() -> None:
    """Compile all templates in the default language."""
    pages = pages_in(language(SOURCE))
    for name in pages.list_templates(extensions=["html"]):
        pages.get_template(name)
