"""Answers: each is stored exactly once, under an id made on the phone, and never changed.

Checks in this order: the player, the set, the rep, and whether it is a choice of that rep; then an insert, which
succeeds or finds the answer already stored. The reply goes out only after the commit. Knows nothing of pages or
football: the rep as shown says what is right.

Without signal a player is not told right or wrong: only the server judges, since right answers sent ahead, even
encrypted, could be read on the phone (a test compares the bytes).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import prod
from typing import Any

from sqlalchemy import update
from sqlmodel import col

from server.database.store import TeamSession
from server.database.tables import Answer, Assignment, GradedAnswer, KeptRep, Member, PlayerSet
from server.errors import BadInput, NotFound, Refusal
from server.i18n.lazy_text import LazyText
from server.playbook.kept_reps import KeptReps
from server.sets.player_sets import SetPlace, SetProgress, get_own, is_over_for, progress_in

BETWEEN_PARTS = " · "


@dataclass(frozen=True, slots=True)
class GivenAnswer:
    """An answer as it arrives, to a rep by its id or by its place in the set. ``took_ms`` comes from the phone, None
    when it sent none."""

    id: str
    rep: str | int
    chosen: tuple[str, ...]
    attempt: int = 1
    took_ms: int | None = None


@dataclass(frozen=True, slots=True)
class SentAnswer:
    """An answer, the player who sent it, in which set, and when it arrived."""

    set_id: str
    member: Member
    given: GivenAnswer
    at: datetime


@dataclass(frozen=True, slots=True)
class RecordedAnswer:
    """The stored answer and its rep, the status of the new one (201 stored, 200 the same again, 409 another is stored),
    and the player's progress in the set."""

    status: int
    answer: GradedAnswer
    rep: KeptRep
    done: SetProgress


def problems_of(chosen: Sequence[str], shown: KeptRep) -> list[str]:
    """Why this can't be an answer to that rep, one line per problem."""
    if len(chosen) != len(shown.parts):
        return [LazyText("answer: expected {count} choices, found {found}", count=len(shown.parts), found=len(chosen))]
    found: list[str] = []
    for part, choice in zip(shown.parts, chosen, strict=True):
        known = [c["id"] for c in part["choices"]]
        if choice not in known:
            known_words = ", ".join(known)
            found.append(
                LazyText("answer: expected one of {known}, found {found!r}", known=known_words, found=choice[:40])
            )
    return found


def is_right(chosen: Sequence[str], shown: KeptRep) -> bool:
    """Whether all parts are right."""
    return all(choice in part["right"] for part, choice in zip(shown.parts, chosen, strict=True))


def words_of(ids: Sequence[Sequence[str]], shown: KeptRep, join: str = "{some} or {last}") -> str:
    """Choices in the words on the screen, with a dot between parts, since each part starts like a sentence."""
    return BETWEEN_PARTS.join(_words(part, wanted, join) for part, wanted in zip(shown.parts, ids, strict=True))


def _words(part: Mapping[str, Any], wanted: Sequence[str], join: str) -> str:
    either = join.replace("{some}", "").replace("{last}", "")
    named = [choice for choice in part["choices"] if choice["id"] in wanted]
    return either.join([*(c["label"] for c in named[:1]), *(c["phrase"] for c in named[1:])])


def key_of(ids: Sequence[Sequence[str]], shown: KeptRep) -> str:
    """Choices by their keys, which say the same in every rep and language: answers are counted and looked up by it."""
    return BETWEEN_PARTS.join(
        " | ".join(sorted(choice["key"] for choice in part["choices"] if choice["id"] in wanted))
        for part, wanted in zip(shown.parts, ids, strict=True)
    )


@dataclass(frozen=True, slots=True)
class PartSaid:
    """One part of an answer in words: the question, the player's choice, the right one."""

    prompt: str
    chosen: str
    right: str
    is_right: bool


def parts_in_words(chosen: Sequence[str], shown: KeptRep, join: str = "{some} or {last}") -> list[PartSaid]:
    """An answer part by part, in the words on the screen."""
    return [
        PartSaid(
            part["prompt"], _words(part, [choice], join), _words(part, part["right"], join), choice in part["right"]
        )
        for part, choice in zip(shown.parts, chosen, strict=True)
    ]


def explanation(chosen: Sequence[str], shown: KeptRep) -> str:
    """What the first wrong choice would leave, then why the right one is right."""
    for part, choice in zip(shown.parts, chosen, strict=True):
        leaves = next((c["leaves"] for c in part["choices"] if c["id"] == choice), "")
        if choice not in part["right"] and leaves:
            return f"{leaves} {shown.because}"
    return shown.because


def relation(chosen: Sequence[str], shown: KeptRep) -> str:
    """How the first wrong choice relates to the right one; empty when all are right."""
    for part, choice in zip(shown.parts, chosen, strict=True):
        if choice not in part["right"]:
            return next((c["relation"] for c in part["choices"] if c["id"] == choice), "")
    return ""


@dataclass(frozen=True, slots=True)
class AnswerRecorder:
    """Stores answers, those of many players at once in two statements."""

    kept_reps: KeptReps

    def record(self, t: TeamSession, sent: SentAnswer) -> RecordedAnswer:
        """Store an answer, or find the one already stored. Call within a writing transaction; reply only after it.

        All refusals come before the first write. Raises: NotFound when the player has no such set or the set no such
        rep; BadInput when it can't be an answer to it.
        """
        [outcome] = self.record_all(t, [sent])
        if isinstance(outcome, Refusal):
            raise outcome
        return outcome

    def record_all(self, t: TeamSession, sent: Sequence[SentAnswer]) -> list[RecordedAnswer | Refusal]:
        """`record` for answers in the order in which they came; a refusal is returned in its place."""
        outcomes: dict[int, RecordedAnswer | Refusal] = {}
        while len(outcomes) < len(sent):
            turn: dict[str, int] = {}  # one answer a player: his next one depends on what came of it
            for n, one in enumerate(sent):
                if n not in outcomes:
                    turn.setdefault(one.member.id, n)
            found = self._record_turn(t, [sent[n] for n in turn.values()])
            outcomes.update(zip(turn.values(), found, strict=True))
        return [outcomes[n] for n in range(len(sent))]

    def _record_turn(self, t: TeamSession, sent: Sequence[SentAnswer]) -> list[RecordedAnswer | Refusal]:
        progress = progress_in(t, [(one.set_id, one.member) for one in sent])
        graded: dict[int, tuple[SetProgress, KeptRep, GradedAnswer]] = {}
        outcomes: dict[int, RecordedAnswer | Refusal] = {}
        for n, one in enumerate(sent):
            try:
                graded[n] = self._grade(t, get_own(progress, one.set_id, one.member), one)
            except Refusal as refusal:
                outcomes[n] = refusal
        stored = t.add_each_once(Answer, [answer for _, _, answer in graded.values()])
        for (n, (before, rep, answer)), is_stored in zip(graded.items(), stored, strict=True):
            if is_stored:
                outcomes[n] = RecordedAnswer(201, answer, rep, finish(t, before.with_answer(answer), sent[n].at))
            else:
                status, other = find_stored(t, answer)
                outcomes[n] = RecordedAnswer(status, other, self.kept_reps.get(t, other.rep_id), before)
        return [outcomes[n] for n in range(len(sent))]

    def _grade(
        self, t: TeamSession, before: SetProgress, sent: SentAnswer
    ) -> tuple[SetProgress, KeptRep, GradedAnswer]:
        given, place = sent.given, before.find_rep(sent.given.rep)
        if place is None:
            raise NotFound("There is no such rep in this set for you.")
        if given.attempt != 1:
            raise BadInput(LazyText("attempt: expected 1, found {found}", found=given.attempt))
        shown = self.kept_reps.get(t, place.rep_id)
        if problems := problems_of(given.chosen, shown):
            raise BadInput(problems[0], problems)
        return before, shown, grade(before.assignment, sent.member, place, shown, given, sent.at)


def grade(
    assignment: Assignment, member: Member, place: SetPlace, shown: KeptRep, given: GivenAnswer, now: datetime
) -> GradedAnswer:
    """An answer with its result and its words."""
    return GradedAnswer(
        team_id=assignment.team_id,
        member_id=member.id,
        id=given.id,
        assignment_id=assignment.id,
        place=place.place,
        rep_id=shown.rep_id,
        attempt=given.attempt,
        chosen=list(given.chosen),
        is_right=is_right(given.chosen, shown),
        is_late=is_over_for(assignment, member.id, now),
        received_at=now,
        took_ms=given.took_ms,
        call=shown.call,
        stage=shown.stage,
        side=shown.to,
        position=shown.position,
        kind=shown.kind,
        choices=prod(len(part["choices"]) for part in shown.parts),
        chosen_key=key_of([[choice] for choice in given.chosen], shown),
        right_key=key_of([part["right"] for part in shown.parts], shown),
        chosen_words=words_of([[choice] for choice in given.chosen], shown),
        right_words=words_of([part["right"] for part in shown.parts], shown),
        relation=relation(given.chosen, shown),
        explanation=explanation(given.chosen, shown),
        job=shown.job,
        guess=shown.guess,
        changed_at=shown.changed_at,
    )


def find_stored(t: TeamSession, row: GradedAnswer) -> tuple[int, Answer]:
    """The row that kept this one from being stored: 200 and the same answer, or 409 and another one."""
    by_id = t.find(Answer, row.member_id, row.id)
    if by_id is not None:
        same = ("assignment_id", "rep_id", "attempt", "chosen")
        return (200 if all(getattr(by_id, f) == getattr(row, f) for f in same) else 409), by_id
    other = t.first(
        Answer,
        col(Answer.assignment_id) == row.assignment_id,
        col(Answer.member_id) == row.member_id,
        col(Answer.rep_id) == row.rep_id,
        col(Answer.attempt) == row.attempt,
    )
    assert other is not None, "an answer was refused by the database, but nothing stands in its way"
    return 409, other


def finish(t: TeamSession, done: SetProgress, now: datetime) -> SetProgress:
    """Store that the set is finished, if it is; a check that was decided before stays as it was decided."""
    opened = done.opened
    if opened is None or opened.finished_at is not None or not done.is_finished:
        return done
    own = (col(PlayerSet.team_id) == t.team_id, col(PlayerSet.member_id) == opened.member_id)
    one = (*own, col(PlayerSet.assignment_id) == opened.assignment_id)
    t.execute(update(PlayerSet).where(*one).values(finished_at=now))
    return replace(done, opened=replace(opened, finished_at=now))
