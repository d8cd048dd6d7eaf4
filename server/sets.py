"""Sets: whom they are for, laid out for a player when he opens his copy, and how far he has come.

A copy is laid out whole at once, so that it can be finished without signal: places 1 to n are the set proper, and
place n + k holds the rep of place k in another guise, asked only if that one was missed. A check session has no second
guises; it is laid out as long as it can get, and once the call is decided what is left of it is no longer asked, though
an answer to it is kept. It must not know football or pages.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import bindparam, select
from sqlmodel import col

from server.facts import RepFacts, option
from server.mastery.picker import CHECK_MAX, CHECK_MIN, Asked, RepOption, next_check_rep, next_rep
from server.mastery.replay import MasteryState
from server.mastery.values import TeamSettings
from server.opponents import often, rep_weights
from server.playbooks import Playbook
from server.problems import BadInput, Expired, NotFound
from server.shown import LAID_OUT, Laid, ShownReps
from server.standing import Standing
from server.store import TeamSession, columns_of
from server.tables import Answer, Assignment, Member, PlayerSet, Purpose, RepShown, Role, SetRep

SETS_LOOKED_AT = 60
_answers = columns_of(Answer)
MARKS = select(_answers.place, _answers.is_right).where(
    _answers.team_id == bindparam("team_id"),
    _answers.assignment_id == bindparam("set_id"),
    _answers.member_id == bindparam("member_id"),
)
_sets, _copies = columns_of(Assignment), columns_of(PlayerSet)
SET = select(*_sets).where(_sets.team_id == bindparam("team_id"), _sets.id == bindparam("set_id"))
COPY = select(*_copies).where(
    _copies.team_id == bindparam("team_id"),
    _copies.assignment_id == bindparam("set_id"),
    _copies.member_id == bindparam("member_id"),
)


@dataclass(frozen=True, slots=True)
class Mark:
    """Of an answer no more than where it stands and whether it was right."""

    place: int
    is_right: bool


@dataclass(frozen=True, slots=True)
class Place:
    """One place of a player's set. ``is_right`` is None while he has not answered it; so is ``answer``, also where no
    more than marks were asked for."""

    place: int
    rep_id: str
    again_of: int | None
    is_right: bool | None = None
    answer: Answer | None = None


@dataclass(frozen=True, slots=True)
class Progress:
    """A player's copy of a set. ``opened`` is None and ``places`` empty until he opens it.

    ``places`` are those that he is asked: the set proper, then the missed ones in another guise. ``spare`` are those of
    a check session that are no longer asked, since the call was decided before; an answer to one is kept all the same.
    """

    assignment: Assignment
    opened: PlayerSet | None
    places: tuple[Place, ...]
    spare: tuple[Place, ...] = ()
    laid: tuple[Laid | SetRep, ...] = ()

    @property
    def total(self) -> int:
        """How many reps he is asked, as things stand; of a check session that goes on, at most."""
        return len(self.places) if self.opened else self.assignment.length

    @property
    def fewest(self) -> int:
        """How many reps it takes at least: all of them, but for a check session that goes on."""
        return min(CHECK_MIN, self.total) if self.is_check and not self.is_finished else self.total

    @property
    def answered(self) -> int:
        """How many he has answered."""
        return sum(p.is_right is not None for p in self.places)

    @property
    def right(self) -> int:
        """How many of his answers are right."""
        return sum(p.is_right is True for p in self.places)

    @property
    def again(self) -> int:
        """How many of the reps come back after a miss."""
        return sum(p.again_of is not None for p in self.places)

    @property
    def next_place(self) -> int | None:
        """The first place he has not answered; None when there is none."""
        return next((p.place for p in self.places if p.is_right is None), None)

    @property
    def is_finished(self) -> bool:
        """Whether he has answered all he is asked: as many as it took, in a check session."""
        return self.opened is not None and self.next_place is None

    @property
    def is_check(self) -> bool:
        """Whether the set is a check session."""
        return self.assignment.purpose == Purpose.CHECK

    def number_of(self, place: int) -> int:
        """The how-manieth rep of the set a place is, counted from 1."""
        return next((i for i, p in enumerate(self.places, start=1) if p.place == place), 0)

    def find(self, place: int) -> Place | None:
        """That place, if he is asked it; None otherwise."""
        return next((p for p in self.places if p.place == place), None)

    def find_rep(self, rep: str | int) -> Place | None:
        """A rep that he may answer, by its id or by its place; None when there is no such one."""
        return next((p for p in (*self.places, *self.spare) if rep in (p.rep_id, p.place)), None)


def is_over(assignment: Assignment, now: datetime) -> bool:
    """Whether a set is closed or past due."""
    return now > assignment.due_at or (assignment.closed_at is not None and now >= assignment.closed_at)


def is_for(assignment: Assignment, member: Member) -> bool:
    """Whether a set is meant for this player: he was picked for it, or nobody was and he plays one of its positions."""
    if member.role != Role.PLAYER or member.removed_at is not None:
        return False
    if assignment.player_ids:
        return member.id in assignment.player_ids
    return bool(set(member.positions) & set(assignment.positions))


def own_positions(assignment: Assignment, member: Member) -> list[str]:
    """The positions for which he answers this set, his first one first; all of his when he was picked for it and plays
    none of its positions any more."""
    own = [position for position in member.positions if position in assignment.positions]
    return own or (list(member.positions) if member.id in assignment.player_ids else [])


def find_copy(t: TeamSession, assignment_id: str, member: Member) -> tuple[Assignment, PlayerSet | None]:
    """A set that is this player's, and his copy of it, None until he opens it; both to be read only.

    Raises: NotFound, alike for a set that isn't his, another team's and none at all.
    """
    assignment = t.find_plain(Assignment, SET, set_id=assignment_id)
    opened = t.find_plain(PlayerSet, COPY, set_id=assignment_id, member_id=member.id)
    if assignment is None or not (opened or is_for(assignment, member)):
        raise NotFound("There is no such set for you.")
    return assignment, opened


def own_progress(t: TeamSession, assignment_id: str, member: Member) -> Progress:
    """How far a player has come in a set of his. Raises: NotFound."""
    assignment, _ = find_copy(t, assignment_id, member)
    return progress(t, assignment, member.id)


def progress(t: TeamSession, assignment: Assignment, member_id: str) -> Progress:
    """How far a player has come in a set."""
    opened = t.find(PlayerSet, assignment.id, member_id)
    if opened is None:
        return Progress(assignment, None, ())
    laid = [Laid(*row) for row in t.look(LAID_OUT, set_id=assignment.id, member_id=member_id)]
    answers = t.rows(Answer, col(Answer.assignment_id) == assignment.id, col(Answer.member_id) == member_id)
    return to_progress(assignment, opened, laid, answers)


def progress_in_marks(t: TeamSession, shown: ShownReps, assignment_id: str, member: Member) -> Progress:
    """The same as `own_progress` with a `Mark` of each answer in its place: for every answer that comes in.

    Raises: NotFound.
    """
    assignment, opened = find_copy(t, assignment_id, member)
    if opened is None:
        return Progress(assignment, None, ())
    laid = shown.layout(t, assignment_id, member.id).places
    marks = [Mark(*row) for row in t.look(MARKS, set_id=assignment_id, member_id=member.id)]
    return to_progress(assignment, opened, laid, marks)


def with_mark(before: Progress, mark: Mark) -> Progress:
    """How far he has come with one answer more, in marks."""
    given = [Mark(p.place, p.is_right) for p in (*before.places, *before.spare) if p.is_right is not None]
    return to_progress(before.assignment, before.opened, before.laid, [*given, mark])


def own_sets(t: TeamSession, member: Member) -> list[Progress]:
    """A player's sets of the last while, the one due first in front: so many that were sent, so many of his own."""
    sent = (col(Assignment.purpose) != Purpose.PRACTICE,)
    practices = (col(Assignment.purpose) == Purpose.PRACTICE, col(Assignment.created_by) == member.id)
    latest: dict[str, Any] = {"order_by": (col(Assignment.created_at).desc(),), "limit": SETS_LOOKED_AT}
    newest = [one for where in (sent, practices) for one in t.rows(Assignment, *where, **latest)]
    opened = {one.assignment_id: one for one in t.rows(PlayerSet, col(PlayerSet.member_id) == member.id)}
    mine = [a for a in newest if a.id in opened or is_for(a, member)]
    ids = [a.id for a in mine if a.id in opened]
    laid = t.rows(SetRep, col(SetRep.member_id) == member.id, col(SetRep.assignment_id).in_(ids))
    answers = t.rows(Answer, col(Answer.member_id) == member.id, col(Answer.assignment_id).in_(ids))
    found = []
    for assignment in sorted(mine, key=lambda a: (a.due_at, a.id)):
        rows = sorted((r for r in laid if r.assignment_id == assignment.id), key=lambda r: r.place)
        own = [a for a in answers if a.assignment_id == assignment.id]
        found.append(to_progress(assignment, opened.get(assignment.id), rows, own))
    return found


def to_progress(
    assignment: Assignment, opened: PlayerSet | None, laid: Sequence[Laid | SetRep], answers: Sequence[Answer | Mark]
) -> Progress:
    """How far a player has come, from his copy in order of places and his answers to it."""
    if opened is None:
        return Progress(assignment, None, ())
    places = asked_places(laid, answers)
    if assignment.purpose != Purpose.CHECK or opened.finished_at is None:
        return Progress(assignment, opened, places, laid=tuple(laid))
    asked = tuple(p for p in places if p.is_right is not None)
    return Progress(assignment, opened, asked, tuple(p for p in places if p.is_right is None), tuple(laid))


def asked_places(laid: Sequence[Laid | SetRep], answers: Sequence[Answer | Mark]) -> tuple[Place, ...]:
    """The places a player is asked: all of the set proper, and the second guise of those he missed."""
    by_place = {answer.place: answer for answer in answers}
    missed = {place for place, answer in by_place.items() if not answer.is_right}
    return tuple(
        to_place(one, by_place.get(one.place)) for one in laid if one.again_of is None or one.again_of in missed
    )


def to_place(laid: Laid | SetRep, given: Answer | Mark | None) -> Place:
    """A place with what is known of his answer."""
    is_right = None if given is None else given.is_right
    return Place(laid.place, laid.rep_id, laid.again_of, is_right, given if isinstance(given, Answer) else None)


def settings_for(assignment: Assignment, standing: Standing) -> TeamSettings:
    """By what a set's reps are drawn: what the next opponent runs, or the usual mix when it is not weighted."""
    now = standing.settings
    return now if assignment.is_weighted else TeamSettings(taught=now.taught, rules=now.rules)


def plan(
    reps: Sequence[RepFacts],
    member: Member,
    state: MasteryState,
    settings: TeamSettings,
    assignment: Assignment,
    now_s: float,
    weights: Mapping[str, float] | None = None,
) -> list[tuple[RepFacts, RepFacts | None]]:
    """Which reps to ask, in order, each with the one that comes back when it is missed (None: there is no other guise).

    ``weights`` by rep: among reps of the same question, how much more often it is drawn than another; None: all alike.
    The draw is seeded by set and player, so that laying out twice gives the same. Raises: BadInput when there are no
    reps at all.
    """
    rng = random.Random(f"{assignment.team_id}/{assignment.id}/{member.id}")  # noqa: S311 - a draw of reps, no secret
    by_id = {rep.id: rep for rep in reps}
    options = [option(rep, (weights or {}).get(rep.id, 1.0)) for rep in reps]
    is_check = assignment.purpose == Purpose.CHECK
    asked = (draw_check if is_check else draw)(options, member.id, state, settings, assignment, now_s, rng)
    if not asked:
        raise BadInput("This set has no reps for your position. Tell your coach.")
    if is_check:
        return [(by_id[one.option.rep], None) for one in asked]
    pictures = {one.option.picture for one in asked}
    planned: list[tuple[RepFacts, RepFacts | None]] = []
    for one in asked:
        rep = by_id[one.option.rep]
        other = other_guise(rep, [r for r in reps if r.picture not in pictures], rng)
        if other is not None:
            pictures.add(other.picture)
        planned.append((rep, other))
    return planned


def draw(
    options: Sequence[RepOption],
    player: str,
    state: MasteryState,
    settings: TeamSettings,
    assignment: Assignment,
    now_s: float,
    rng: random.Random,
) -> list[Asked]:
    """As many reps as the set is long, fewer when there are no more pictures."""
    asked: list[Asked] = []
    for _ in range(assignment.length):
        chosen = next_rep(state, player, options, asked, now_s, settings, rng, opened_by_coach=assignment.stages)
        if chosen is None:
            break
        asked.append(Asked(chosen, right=True))
    return asked


def draw_check(
    options: Sequence[RepOption],
    player: str,
    state: MasteryState,
    settings: TeamSettings,
    assignment: Assignment,
    now_s: float,
    rng: random.Random,
) -> list[Asked]:
    """The reps of a check session, as many as it can take to decide, those first that can sway it most."""
    # Beyond any chance: nobody knows yet how he will answer, so nothing is decided while it is laid out.
    undecided = replace(settings, rules=replace(settings.rules, can_at=2.0, cannot_at=-1.0))
    asked: list[Asked] = []
    while len(asked) < CHECK_MAX:
        chosen = next_check_rep(
            state,
            player,
            assignment.call,
            options,
            asked,
            now_s,
            undecided,
            rng,
            opened_by_coach=assignment.stages,
        )
        if chosen is None:
            break
        asked.append(Asked(chosen, right=True))
    return asked


def other_guise(rep: RepFacts, reps: Sequence[RepFacts], rng: random.Random) -> RepFacts | None:
    """The same question with another picture, from the other side where there is one; None when there is none."""
    same = [r for r in reps if r.guise == rep.guise]
    like = same or [r for r in reps if (r.kind, r.stage, r.position) == (rep.kind, rep.stage, rep.position)]
    other_side = [r for r in like if r.to != rep.to]
    pool = sorted(other_side or like, key=lambda r: r.id)
    return rng.choice(pool) if pool else None


def missing_reps(t: TeamSession, rows: Sequence[SetRep]) -> list[str]:
    """The reps of a layout that the team does not yet keep as shown."""
    wanted = list(dict.fromkeys(row.rep_id for row in rows))
    kept = {row[0] for row in t.values(RepShown, RepShown.rep_id, where=(col(RepShown.rep_id).in_(wanted),))}
    return [rep_id for rep_id in wanted if rep_id not in kept]


async def lay_out(
    playbook: Playbook, assignment: Assignment, member: Member, standing: Standing, now: datetime
) -> list[SetRep]:
    """Lay a set out for a player. Raises: Expired; BadInput when there are no reps for him."""
    if is_over(assignment, now):
        raise Expired("This set is closed. Ask your coach if you still need it.")
    positions = own_positions(assignment, member)
    runs = standing.play_counts if assignment.is_weighted else {}
    plays = await playbook.plays() if runs else ()
    reps = await playbook.pool(assignment.call, positions, assignment.stages, assignment.sides, often(runs, plays))
    weights = rep_weights(reps, runs, plays)
    now_s = standing.seconds(now)
    settings = settings_for(assignment, standing)
    return layout(assignment, member.id, plan(reps, member, standing.state, settings, assignment, now_s, weights))


def layout(assignment: Assignment, member_id: str, planned: Sequence[tuple[RepFacts, RepFacts | None]]) -> list[SetRep]:
    """The rows of a player's copy."""
    count = len(planned)
    rows: list[SetRep] = []
    for place, (rep, other) in enumerate(planned, start=1):
        rows.append(set_rep(assignment, member_id, place, rep.id))
        if other is not None:
            rows.append(set_rep(assignment, member_id, count + place, other.id, place))
    return rows


def set_rep(assignment: Assignment, member_id: str, place: int, rep_id: str, again_of: int | None = None) -> SetRep:
    """One place of a player's copy."""
    return SetRep(
        team_id=assignment.team_id,
        assignment_id=assignment.id,
        member_id=member_id,
        place=place,
        rep_id=rep_id,
        again_of=again_of,
    )


def store_opened(
    t: TeamSession,
    assignment: Assignment,
    member_id: str,
    shown: Sequence[RepShown],
    rows: Sequence[SetRep],
    now: datetime,
    state_before: str = "",
) -> None:
    """Store a player's copy; of two openings at once the first stands. ``state_before``: where he stood on the call.

    Raises: NotFound when he was erased while it was laid out.
    """
    t.get(Member, member_id, what="account")
    opened = PlayerSet(
        team_id=t.team_id,
        assignment_id=assignment.id,
        member_id=member_id,
        opened_at=now,
        state_before=state_before,
    )
    if not t.add_once(opened):
        return
    for one in shown:
        t.add_once(one)
    t.add(*rows)
