"""The JSON API of the player's page: the layout of his set, its questions, his answers.

An answer is put under an id made on the phone, so that it can be sent again until a reply arrives.
"""

from __future__ import annotations

from dataclasses import asdict
from http import HTTPStatus
from typing import Annotated, Any

from fastapi import APIRouter, Body, Request
from pydantic import Field
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.responses import Response
from starlette.routing import Route

from server.accounts.sessions import Viewer
from server.answers.recording import GivenAnswer, RecordedAnswer, SentAnswer
from server.database.tables import GradedAnswer, KeptRep
from server.errors import NotAllowed
from server.i18n.languages import SOURCE, language_of
from server.i18n.lazy_text import LazyText
from server.playbook.kept_reps import KeptQuestion, question_of
from server.reading.fields import AnswerId, ChoiceId, Id, Sent, TookMs
from server.routes.player import open_if_new
from server.sets.player_sets import SetProgress, is_over_for, own_progress
from server.sets.set_names import name_of_set
from server.web.deps import AppServices, Services, SignedIn, in_thread, load_viewer, services_of, viewer_of
from server.web.responses import json_response
from server.web.translated_reps import draw_misses, translate_answer, translate_parts, translate_rep

router = APIRouter()
QUESTION = "/api/sets/{set_id}/reps/{rep_id}"
IMMUTABLE = {
    "Cache-Control": "private, max-age=31536000, immutable",
    "Vary": "Accept-Encoding, Accept-Language, Cookie",
}


class AnswerBody(Sent):
    """An answer from the page's script. ``player`` is whom the page belonged to when he answered."""

    rep_id: Id
    player: Id | None = None
    chosen: Annotated[list[ChoiceId], Field(min_length=1, max_length=8)]
    attempt: Annotated[int, Field(ge=1, le=1)] = 1
    took_ms: TookMs | None = None


@router.get("/api/sets/{set_id}")
def set_layout(request: Request, set_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """The set's reps for this player, and which of them return after a miss."""
    with services.store.read(viewer.team.id) as t:
        done = own_progress(t, set_id, viewer.member)
    return layout_reply(request, services, viewer, done)


@router.post("/api/sets/{set_id}/load")
def load_set(request: Request, set_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """`set_layout` of a set that is laid out first if needed: his home asks for it, so that he can start without
    signal."""
    with services.store.read(viewer.team.id) as t:
        done = own_progress(t, set_id, viewer.member)
    return layout_reply(request, services, viewer, open_if_new(services, viewer, done))


def layout_reply(request: Request, services: Services, viewer: Viewer, done: SetProgress) -> Response:
    """A set's reps for this player as JSON, settled first."""
    done = services.check_sessions.settle(viewer.team, done, services.now())
    names, language = services.playbooks.names_of(viewer.team), language_of(request.scope)
    return json_response(
        {
            "id": done.assignment.id,
            "call": name_of_set(names, language, done.assignment, is_own=True),
            "purpose": done.assignment.purpose,
            "due_at": done.assignment.due_at.isoformat(),
            "is_over": is_over_for(done.assignment, viewer.member.id, services.now()),
            "is_finished": done.is_finished,
            "next_place": done.next_place,
            "places": [
                {
                    "place": one.place,
                    "rep_id": one.rep_id,
                    "again_of": one.again_of,
                    "is_right": one.is_right,
                }
                for one in done.kept
            ],
        }
    )


async def question(request: Request) -> Response:
    """The question of a rep in this set, without its answer; later requests are served from memory.

    A plain Starlette route, because phones ask for this most: FastAPI's declared parameters take longer than the rest.
    """
    request.scope["route"] = QUESTION_ROUTE  # as FastAPI does for its own routes
    await load_viewer(request)
    services, viewer = services_of(request), viewer_of(request)
    set_id, rep_id = request.path_params["set_id"], request.path_params["rep_id"]
    kept = services.kept_reps.find_asked(viewer.team.id, set_id, viewer.member.id, rep_id)
    if kept is None:
        kept = await in_thread(read_question, services, viewer, set_id, rep_id)
    rep = kept.rep
    if language_of(request.scope).code != SOURCE:
        rep = await run_in_threadpool(translate_rep, request, kept.rep)
    reply = json_response(question_of(rep)) if rep is not kept.rep else kept_question(kept, request.headers)
    reply.headers.update(IMMUTABLE)
    return reply


QUESTION_ROUTE = Route(QUESTION, question, methods=["GET"])
router.routes.append(QUESTION_ROUTE)


def read_question(services: Services, viewer: Viewer, set_id: str, rep_id: str) -> KeptQuestion:
    """A rep of the viewer's copy of a set, from the database. Raises: NotFound."""
    with services.store.read(viewer.team.id) as t:
        return services.kept_reps.asked(t, set_id, viewer.member.id, rep_id)


def kept_question(kept: KeptQuestion, headers: Headers) -> Response:
    """A question's stored body, compressed if the client accepts that."""
    if "gzip" in headers.get("accept-encoding", ""):
        return Response(kept.question_gzip, media_type="application/json", headers={"Content-Encoding": "gzip"})
    return Response(kept.question, media_type="application/json")


@router.put("/api/sets/{set_id}/answers/{answer_id}")
async def put_answer(
    request: Request,
    set_id: Id,
    answer_id: AnswerId,
    body: Annotated[AnswerBody, Body()],
    services: AppServices,
    viewer: SignedIn,
) -> Response:
    """Store an answer: 201 stored, 200 the same was stored before, 409 another was (it is in the reply)."""
    if body.player not in (None, viewer.member.id):  # another player has signed in on this phone since
        raise NotAllowed("This answer belongs to another player. It is sent when he signs in again.")
    given = GivenAnswer(answer_id, body.rep_id, tuple(body.chosen), body.attempt, body.took_ms)
    sent = SentAnswer(set_id, viewer.member, given, services.now())
    outcome = await services.writes.write_item(viewer.team.id, services.recorder.record_all, sent)
    if is_waiting(request, outcome):
        return await run_in_threadpool(outcome_reply, request, services, viewer, outcome)
    return outcome_reply(request, services, viewer, outcome)


def is_waiting(request: Request, outcome: RecordedAnswer) -> bool:
    """Whether the reply waits for something: a translation, a picture of a wrong answer, a check session's verdict. If
    not, it is made on the event loop, since a thread would take longer than the reply."""
    return not outcome.answer.is_right or outcome.done.is_check or language_of(request.scope).code != SOURCE


def outcome_reply(request: Request, services: Services, viewer: Viewer, outcome: RecordedAnswer) -> Response:
    """The reply to a stored answer: the result, and how the set goes on."""
    request.state.is_late = outcome.answer.is_late
    after, later = services.check_sessions.settle_soon(viewer.team, outcome.done, services.now())
    rep = translate_rep(request, outcome.rep)
    [svg] = draw_misses(request, [(outcome.answer, rep)])
    given_answer = feedback(rep, translate_answer(request, outcome.answer, rep), svg)
    given_answer["parts"] = [asdict(one) for one in translate_parts(request, outcome.answer, rep)]
    reply: dict[str, Any] = {"answer": given_answer, "next_place": after.next_place, "is_finished": after.is_finished}
    if outcome.status == HTTPStatus.CONFLICT:
        message = LazyText("Another answer stands for this rep, or under this id. It is the one that counts.")
        reply["error"] = {
            "code": "Conflict",
            "message": language_of(request.scope).translate(message),
            "details": [],
            "request_id": request.state.request_id,
        }
    sent = json_response(reply, outcome.status)
    sent.background = later
    return sent


def feedback(rep: KeptRep, answer: GradedAnswer, svg: str) -> dict[str, Any]:
    """A stored answer and its result, with the picture after it."""
    return {
        "id": answer.id,
        "rep_id": answer.rep_id,
        "place": answer.place,
        "attempt": answer.attempt,
        "chosen": answer.chosen,
        "is_right": answer.is_right,
        "is_late": answer.is_late,
        "received_at": answer.received_at.isoformat(),
        "chosen_words": answer.chosen_words,
        "right": [part["right"] for part in rep.parts],
        "right_words": answer.right_words,
        "explanation": answer.explanation,
        "svg": svg,
    }
