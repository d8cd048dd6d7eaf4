"""The meeting room: the coach's wall, and the same snap on the players' phones."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Path, Query, Request
from pydantic import Field, StringConstraints
from starlette.responses import Response

from server.accounts.credentials import make_id
from server.accounts.retention import check_season
from server.accounts.sessions import Viewer
from server.answers.meeting_answers import record_in_meeting
from server.answers.recording import GivenAnswer
from server.database.meeting_tables import Meeting, MeetingSnapShown
from server.database.store import TeamSession
from server.database.tables import Answer, KeptRep, Member
from server.errors import BadInput, NotFound
from server.i18n.languages import language_of
from server.mastery.values import SIDES
from server.playbook.engine import CallSide, FootballError
from server.playbook.noun_names import NounKind
from server.playbook.playbooks import Playbook
from server.progress.board import seen_players
from server.reading.fields import AnswerId, ChoiceId, Id, Sent, Text
from server.sets.meeting import (
    FITS,
    MOST_SNAPS,
    OVER,
    SNAP,
    MeetingNow,
    check_snaps,
    count_snap,
    find_meeting,
    find_own_meeting,
    get_led,
    join,
    missing_positions,
    move,
    open_meetings,
    position_in,
    results,
    silent,
    start,
    store_fits,
    version_of,
)
from server.web.deps import AppServices, Services, SignedIn
from server.web.responses import json_response, page, redirect_to
from server.web.translated_reps import draw_misses, translate_answer, translate_parts, translate_rep

router = APIRouter()
SideName = Annotated[str, StringConstraints(pattern="^(left|right)$")]
PlaceNumber = Annotated[int, Path(ge=1, le=MOST_SNAPS)]


class RoomFields(Sent):
    """What to ask the room: a call, its sides, and which groups are there; with the snaps ticked it starts."""

    call: Text = ""
    sides: Annotated[list[SideName], Field(max_length=2)] = Field(default_factory=lambda: list(SIDES))
    groups: Annotated[list[Text], Field(max_length=40)] = Field(default_factory=list)
    snaps: Annotated[list[Id], Field(max_length=40)] = Field(default_factory=list)


class RoomMove(Sent):
    """What the coach does next, and at which snap he saw the button."""

    action: Annotated[str, StringConstraints(pattern="^(fits|next|what-if|end)$")]
    place: Annotated[int, Field(ge=1, le=MOST_SNAPS)]
    seen: Annotated[int, Field(ge=0, le=9)] = 0


class RoomAnswer(Sent):
    """An answer from a phone in the room, or one that the coach taps for a player who said it aloud."""

    answer_id: AnswerId
    player: Id | None = None
    choice_1: ChoiceId | None = None
    choice_2: ChoiceId | None = None
    choice_3: ChoiceId | None = None
    choice_4: ChoiceId | None = None

    @property
    def given(self) -> tuple[str, ...]:
        """The choices in order of the parts."""
        return tuple(c for c in (self.choice_1, self.choice_2, self.choice_3, self.choice_4) if c is not None)


class WallFields(Sent):
    """``aloud``: the player who answers aloud."""

    aloud: Id | None = None


@router.get("/coach/room")
def choose_snaps(
    request: Request, fields: Annotated[RoomFields, Query()], services: AppServices, viewer: SignedIn
) -> Response:
    """Choose a call and its snaps for the room; a meeting that is on is one tap away."""
    return show_start(request, services, viewer, fields)


@router.post("/coach/room")
def start_meeting(
    request: Request, fields: Annotated[RoomFields, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Put the first snap on the wall; problems are shown on the form."""
    playbook, now = services.playbooks.of(viewer.team), services.now()
    try:
        check_season(viewer.team, services.settings.keep_results_days, now)
        call = playbook.check_call(fields.call)
        groups = fields.groups or seen_groups(playbook, viewer)
        positions = [p.key for p in playbook.positions if p.group in groups and viewer.sees_group(p.group)]
        if not positions:
            raise BadInput("groups: expected at least one of your groups, found none")
        offered = {one.digest: one for one in offered_snaps(request, playbook, call, fields.sides)}
        snaps, reps = make_snaps(services, viewer, [offered[d] for d in check_snaps(fields.snaps, offered)])
    except BadInput as refusal:
        return show_start(request, services, viewer, fields, refusal)
    sent = services.writes.write(viewer.team.id, lambda t: start(t, viewer, call, positions, snaps, reps, now))
    return redirect_to(f"/coach/room/{sent.id}")


def show_start(
    request: Request, services: Services, viewer: Viewer, fields: RoomFields, problem: BadInput | None = None
) -> Response:
    """The form that starts a meeting."""
    playbook, now = services.playbooks.of(viewer.team), services.now()
    call = playbook.check_call(fields.call) if fields.call and not problem else next(iter(playbook.calls), "")
    sides = fields.sides or list(SIDES)
    with services.store.read(viewer.team.id) as t:
        on = [one for one in open_meetings(t, now) if viewer.sees_all or one.created_by == viewer.member.id]
    return page(
        request,
        "coach/room_start.html",
        422 if problem else 200,
        problem=problem.message if problem else "",
        calls=playbook.calls,
        call=call,
        sides=sides,
        snaps=offered_snaps(request, playbook, call, sides) if call else [],
        chosen=fields.snaps,
        groups=seen_groups(playbook, viewer),
        picked=fields.groups or seen_groups(playbook, viewer),
        on=on[:1],
        zone=viewer.team.time_zone,
    )


def seen_groups(playbook: Playbook, viewer: Viewer) -> list[str]:
    """The groups that this coach sees, in the team's order."""
    return list(dict.fromkeys(p.group for p in playbook.positions if viewer.sees_group(p.group)))


def offered_snaps(request: Request, playbook: Playbook, call: str, sides: list[str]) -> list[Any]:
    """The snaps of a call that the room can be asked about, in the page's language."""
    wanted, name = [CallSide(side) for side in sides], playbook.name(NounKind.CALL, call)
    return playbook.ask(
        lambda catalogue: playbook.football.meeting_snaps(catalogue, name, wanted, MOST_SNAPS),
        language_of(request.scope),
    )


def make_snaps(services: Services, viewer: Viewer, chosen: list[Any]) -> tuple[list[MeetingSnapShown], list[KeptRep]]:
    """These snaps as they are stored, and the reps that they ask."""
    playbook, now, team_id = services.playbooks.of(viewer.team), services.now(), viewer.team.id
    football = playbook.football

    def make(_: object) -> tuple[list[MeetingSnapShown], list[KeptRep]]:
        rows, reps = [], []
        for one in chosen:
            reps += [playbook.as_stored(team_id, rep, now) for rep in one.reps.values()]
            rows.append(
                MeetingSnapShown(
                    team_id=team_id,
                    assignment_id="",
                    place=0,
                    digest=one.digest,
                    heading=one.heading,
                    offense=one.offense,
                    formation=one.formation,
                    reps={position: rep.id for position, rep in one.reps.items()},
                    own_fit=sorted(one.own_fit),
                    lanes=[{"key": lane.key, "name": lane.name, "owners": list(lane.owners)} for lane in one.lanes],
                    what_ifs=[{"words": w.words, "svg": football.draw_end(w.scene)} for w in one.what_ifs],
                    question_svg=football.draw(one.question),
                )
            )
        return rows, reps

    return playbook.ask(make)


@router.get("/coach/room/{room_id}")
def show_wall(
    request: Request, room_id: Id, fields: Annotated[WallFields, Query()], services: AppServices, viewer: SignedIn
) -> Response:
    """The wall: the snap alone, then the front as the room filled it; at the end how each snap went."""
    playbook, now = services.playbooks.of(viewer.team), services.now()
    groups = {p.key: p.group for p in playbook.positions}
    with services.store.read(viewer.team.id) as t:
        found = get_led(t, room_id, viewer, now)
        if found.meeting.phase == OVER:
            return page(request, "coach/room_end.html", meeting=found, results=results(t, found))
        seen = seen_players(t, playbook, viewer)
        quiet = silent(found, t, seen) if found.meeting.phase == SNAP else []
        counts = count_snap(t, found, groups) if found.meeting.phase == FITS else []
        missing = missing_positions(t, found) if found.meeting.phase == FITS else set()
    aloud = next((one for one in quiet if one.id == fields.aloud), None)
    asked = rep_of(services, viewer, found, aloud) if aloud else None
    return page(
        request,
        "coach/room.html",
        meeting=found,
        svg=wall_picture(services, viewer, playbook, found, missing),
        counts=counts,
        missing=missing,
        quiet=quiet,
        aloud=aloud,
        rep=translate_rep(request, asked) if asked else None,
        answer_id=make_id() + make_id(),
    )


def wall_picture(services: Services, viewer: Viewer, playbook: Playbook, found: MeetingNow, missing: set[str]) -> str:
    """What the wall shows now. The filled front is drawn once, when the fits are shown; a snap that an edit took from
    the content since is shown as it was asked."""
    snap, meeting = found.snap, found.meeting
    if meeting.phase == SNAP:
        return snap.question_svg
    if meeting.seen:
        return snap.what_ifs[meeting.seen - 1]["svg"]
    if not snap.fits_svg:
        football = playbook.football
        try:
            svg = playbook.ask(lambda c: football.draw_end(football.filled(c, snap.digest, missing)))
        except FootballError:
            svg = snap.question_svg
        services.writes.write(viewer.team.id, lambda t: store_fits(t, found.assignment.id, meeting.place, svg))
        return svg
    return snap.fits_svg


@router.get("/coach/room/{room_id}/state")
def wall_state(room_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """Where the meeting is and how many have answered, for the wall's script."""
    with services.store.read(viewer.team.id) as t:
        found = get_led(t, room_id, viewer, services.now())
    return json_response({"version": found.wall_version, "answered": found.answered, "asked": found.asked})


@router.post("/coach/room/{room_id}")
def move_on(room_id: Id, form: Annotated[RoomMove, Form()], services: AppServices, viewer: SignedIn) -> Response:
    """Show the fits, a what-if or the next snap, or end the meeting."""
    now = services.now()
    services.writes.write(viewer.team.id, lambda t: move(t, room_id, viewer, form.action, form.place, form.seen, now))
    return redirect_to(f"/coach/room/{room_id}")


@router.post("/coach/room/{room_id}/aloud/{place}")
def answer_aloud(
    room_id: Id, place: PlaceNumber, form: Annotated[RoomAnswer, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Store what a player said aloud, as his answer."""
    playbook, now = services.playbooks.of(viewer.team), services.now()
    with services.store.read(viewer.team.id) as t:
        get_led(t, room_id, viewer, now)
        member = next((one for one in seen_players(t, playbook, viewer) if one.id == form.player), None)
    if member is None:
        raise NotFound("There is no such player in your groups.")
    store_answer(services, viewer, member, room_id, place, form)
    return redirect_to(f"/coach/room/{room_id}")


@router.get("/room")
def show_room(request: Request, services: AppServices, viewer: SignedIn) -> Response:
    """The player's part of the meeting that is on for him: his question, then what came of it."""
    now = services.now()
    with services.store.read(viewer.team.id) as t:
        own = find_own_meeting(t, viewer.member, now)
        found = find_meeting(t, own.id, now) if own else None
        given = find_given(t, found, viewer.member) if found else None
    if found is None:
        return page(request, "player/room.html", meeting=None, rep=None, answer=None, said=[], picture="", answer_id="")
    asked = rep_of(services, viewer, found, viewer.member)
    rep = translate_rep(request, asked) if asked else None
    shared: dict[str, Any] = {"answer": None, "said": [], "picture": ""}
    if given is not None and rep is not None and found.meeting.phase == FITS:
        answer = translate_answer(request, given, rep)
        [picture] = draw_misses(request, [(given, rep)])
        shared = {"answer": answer, "said": translate_parts(request, given, rep), "picture": picture}
    return page(
        request,
        "player/room.html",
        meeting=found,
        is_in=any(one.id == viewer.member.id for one in found.joined),
        rep=rep,
        has_answered=given is not None,
        answer_id=make_id() + make_id(),
        **shared,
    )


@router.get("/api/room")
def room_state(services: AppServices, viewer: SignedIn) -> Response:
    """Where the meeting is, for the script of a player's page; empty when none is on for him."""
    with services.store.read(viewer.team.id) as t:
        own = find_own_meeting(t, viewer.member, services.now())
        meeting = t.find(Meeting, own.id) if own else None
    return json_response({"version": version_of(meeting) if meeting else ""})


@router.post("/room/{room_id}/join")
def join_room(room_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """A player comes in."""
    now = services.now()
    services.writes.write(viewer.team.id, lambda t: join(t, room_id, viewer.member, now))
    return redirect_to("/room")


@router.post("/room/{room_id}/{place}")
def answer_in_room(
    room_id: Id, place: PlaceNumber, form: Annotated[RoomAnswer, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Store a player's answer to the snap that is on; sending it twice stores it once."""
    store_answer(services, viewer, viewer.member, room_id, place, form)
    return redirect_to("/room")


def store_answer(
    services: Services, viewer: Viewer, member: Member, room_id: str, place: int, form: RoomAnswer
) -> None:
    """Store an answer. Raises: NotFound, BadInput, Conflict."""
    if not form.given:
        raise BadInput("answer: expected one of the choices, found none. Go back, choose, and send it again.")
    given, now = GivenAnswer(form.answer_id, place, form.given), services.now()
    services.writes.write(
        viewer.team.id, lambda t: record_in_meeting(t, services.recorder, member, room_id, place, given, now)
    )


def find_given(t: TeamSession, found: MeetingNow, member: Member) -> Answer | None:
    """A player's answer to the snap that is on; None without one."""
    rows = t.rows(Answer, Answer.assignment_id == found.assignment.id, Answer.member_id == member.id)
    return next((one for one in rows if one.place == found.meeting.place), None)


def rep_of(services: Services, viewer: Viewer, found: MeetingNow, member: Member) -> KeptRep | None:
    """The question for a player on the snap that is on; None where he has none."""
    position = position_in(member, found.snap, found.assignment)
    if position is None:
        return None
    with services.store.read(viewer.team.id) as t:
        return services.kept_reps.get(t, found.snap.reps[position])
