"""The workbench's football: what a man may be given, the edits that a form makes, and what a draft does on the field.

Between quizgen and the pages, like `engine`. A draft's team is read again after each edit (25 ms for the demo's), and
the last few are kept, with how often each call is sound.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from cachetools import LRUCache

from server.errors import BadInput
from server.playbook.content_edits import MakeEdit
from server.playbook.engine import CallSide, Engine, FootballError
from server.playbook.playbooks import Playbook, hash_files, read_playbook

if TYPE_CHECKING:
    from quizgen.content.documents import Documents
    from quizgen.content.man_rows import Choices, ManInCall
    from quizgen.reps.call_field import CallField, SoundCount
    from quizgen.reps.wording import Say

KEPT_TEAMS = 8
KEPT_COUNTS = 64
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class FieldAsked:
    """What of a call is looked at: by names its formation and run (empty: before the snap), their sides, and by key the
    man who is chosen."""

    call: str
    to: CallSide
    formation: str
    man: str = ""
    run: str = ""
    run_to: CallSide = CallSide.RIGHT


class Workbench:
    """The teams of drafts, read and looked at; shared by all requests."""

    def __init__(self, football: Engine) -> None:
        self._football = football
        self._teams: LRUCache[str, Playbook] = LRUCache(KEPT_TEAMS)
        self._counts: LRUCache[tuple[str, str, str], SoundCount] = LRUCache(KEPT_COUNTS)
        self._keeping = threading.Lock()

    def playbook(self, files: Mapping[str, str]) -> Playbook:
        """The playbook of these files. Raises: BadInput listing their problems."""
        key = hash_files(files)
        return self._kept(self._teams, key, lambda: read_playbook(self._football, files))

    def sound(self, files: Mapping[str, str], call: str, to: CallSide) -> SoundCount:
        """How often a call to a side is sound in these files. Raises: BadInput."""
        from quizgen.reps.call_field import count_sound

        team = self.playbook(files).team
        return self._kept(
            self._counts, (hash_files(files), call, to.value), lambda: _or_bad(count_sound, team, call, to)
        )

    def sound_of(self, playbook: Playbook, call: str, to: CallSide) -> SoundCount:
        """The same for a playbook that is installed. Raises: BadInput."""
        from quizgen.reps.call_field import count_sound

        key = (playbook.content_hash, call, to.value)
        return self._kept(self._counts, key, lambda: _or_bad(count_sound, playbook.team, call, to))

    def field(self, files: Mapping[str, str], asked: FieldAsked, say: Say) -> CallField:
        """A call of these files on the field. Raises: BadInput."""
        from quizgen.reps.call_field import call_field

        team = self.playbook(files).team
        names = (asked.call, asked.to, asked.formation, asked.man)
        return _or_bad(call_field, team, *names, run=asked.run, run_to=asked.run_to, say=say)

    def sides(self, files: Mapping[str, str], call: str, formation: str) -> Sequence[CallSide]:
        """The sides that a call goes to against a formation. Raises: BadInput."""
        from quizgen.reps.call_field import sides_of

        return _or_bad(sides_of, self.playbook(files).team, call, formation)

    def _kept(self, kept: LRUCache[Any, T], key: Any, make: Callable[[], T]) -> T:
        with self._keeping:
            found = kept.get(key)
        if found is None:
            found = make()
            with self._keeping:
                kept[key] = found
        return found


def _or_bad(ask: Callable[..., T], *asked: Any, **more: Any) -> T:
    """What quizgen answers. Raises: BadInput with why it can't."""
    try:
        return ask(*asked, **more)
    except FootballError as error:
        raise BadInput(str(error)) from None


def men_of_call(documents: Documents, call: str) -> Sequence[ManInCall]:
    """The men of a call, with what each has. Raises: BadInput."""
    from quizgen.content.man_rows import men_of_call

    return _or_bad(men_of_call, documents, call)


def call_row(documents: Documents, call: str) -> Mapping[str, Any]:
    """The row of a call. Raises: BadInput."""
    from quizgen.content.man_rows import call_row

    return _or_bad(call_row, documents, call)


def choices_of(documents: Documents) -> Choices:
    """What a man may be given."""
    from quizgen.content.man_rows import choices_of

    return choices_of(documents)


def rows_of(documents: Documents, noun: str) -> Sequence[Mapping[str, Any]]:
    """The rows of a noun ("call", "front" ...), each with its ``key``."""
    from quizgen.content.documents import key_of_row
    from quizgen.content.edits import rows_of

    return [{**row, "key": key_of_row(row, {})} for row in rows_of(documents, noun)]


def place_edit(call: str, man: str, place: Mapping[str, Any]) -> MakeEdit:
    """Puts a man of a call elsewhere; an empty place lets him stand as the front has him."""
    from quizgen.content.man_rows import place_edit

    return lambda documents: place_edit(documents, call, man, place)


def nudge_edit(call: str, man: str, way: str, depth_yd: float) -> MakeEdit:
    """Moves a man of a call half a yard; ``depth_yd`` is where he stands when his row doesn't say."""
    from quizgen.content.man_rows import men_of_call, nudged, place_edit

    def make(documents: Documents) -> Any:
        place = next(one.place for one in men_of_call(documents, call) if one.key == man)
        return place_edit(documents, call, man, nudged(place, way, depth_yd))

    return make


def job_edit(call: str, man: str, does: str, job: Mapping[str, Any]) -> MakeEdit:
    """Gives a man of a call another job."""
    from quizgen.content.man_rows import job_edit

    return lambda documents: job_edit(documents, call, man, does, job)


def show_edit(call: str, man: str, place: Mapping[str, Any]) -> MakeEdit:
    """Lets a man show another place before the snap; an empty place: he shows none."""
    from quizgen.content.edits import set_show

    given = {name: value for name, value in place.items() if value not in ("", None)}
    return lambda documents: set_show(documents, man, call, given or None)


def add_call_edit(name: str, like: str) -> MakeEdit:
    """Adds a call as a copy of another."""
    from quizgen.content.edits import add_call

    return lambda documents: add_call(documents, name, like)


def remove_edit(noun: str, key: str) -> MakeEdit:
    """Takes a noun out."""
    from quizgen.content.edits import remove_row

    return lambda documents: remove_row(documents, noun, key)


def rename_edit(noun: str, key: str, name: str) -> MakeEdit:
    """Calls a noun something else, wherever it is named."""
    from quizgen.content.edits import rename

    return lambda documents: rename(documents, noun, key, name)


def field_edit(noun: str, key: str, field: str, value: Any) -> MakeEdit:
    """Sets one field of a row; None or empty: as without it."""
    from quizgen.content.edits import set_field

    return lambda documents: set_field(documents, noun, key, field, None if value in ("", []) else value)


def word_edit(letter: str, word: str) -> MakeEdit:
    """Sets the team's word for a gap; empty: its letter."""
    from quizgen.content.edits import set_word

    return lambda documents: set_word(documents, letter, word or None)


def rule_edit(rule: str, value: str, *, call: str = "", man: str = "") -> MakeEdit:
    """Sets what staffs differ on; empty: as without the rule."""
    from quizgen.content.edits import set_rule

    return lambda documents: set_rule(documents, rule, value or None, call=call, man=man)


def what_hangs_on(documents: Documents, noun: str, key: str) -> Sequence[str]:
    """The names of what names a noun."""
    from quizgen.content.edits import hangs_on

    return _or_bad(hangs_on, documents, noun, key)
