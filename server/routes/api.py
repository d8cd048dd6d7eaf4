"""What the player's page may fetch and send by script: the layout of his set, its questions, his answers.

An answer is put under an id that the phone makes, so that it can be sent again until a reply arrives.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Any

from fastapi import APIRouter, Body, Request
from pydantic import Field
from starlette.responses import Response

from server.answers.recording import Given, take
from server.database.tables import Answer, KeptRep
from server.i18n.languages import language_of
from server.i18n.lazy_text import LazyText
from server.playbook.kept_reps import question_of
from server.reading.fields import AnswerId, ChoiceId, Id, Sent, TookMs
from server.sets.player_sets import is_over, own_progress
from server.web.deps import services_of, viewer_of
from server.web.packing import SLOT, json_around
from server.web.ready import HEADERS, QUESTION, question_reply
from server.web.responses import as_json
from server.web.translated_reps import draw_misses, translate_answer, translate_parts, translate_rep

router = APIRouter()


class AnswerBody(Sent):
    """An answer from the page's script."""

    rep_id: Id
    chosen: Annotated[list[ChoiceId], Field(min_length=1, max_length=8)]
    attempt: Annotated[int, Field(ge=1, le=1)] = 1
    took_ms: TookMs | None = None


@router.get("/api/sets/{set_id}")
async def set_layout(request: Request, set_id: Id) -> Response:
    """Which reps the set has for this player, and which come back when one is missed."""
    services, viewer = services_of(request), viewer_of(request)
    with services.store.read(viewer.team.id) as t:
        done = own_progress(t, set_id, viewer.member)
    done = await services.check_sessions.settle(viewer.team, done, services.now())
    return as_json(
        {
            "id": done.assignment.id,
            "call": done.assignment.call,
            "purpose": done.assignment.purpose,
            "due_at": done.assignment.due_at.isoformat(),
            "is_over": is_over(done.assignment, services.now()),
            "is_finished": done.is_finished,
            "next_place": done.next_place,
            "places": [
                {
                    "place": one.place,
                    "rep_id": one.rep_id,
                    "again_of": one.again_of,
                    "is_right": one.is_right,
                }
                for one in done.layout
            ],
        }
    )


@router.get(QUESTION)
async def question(request: Request, set_id: Id, rep_id: Id) -> Response:
    """The question of a rep in this set, without a trace of its answer. Asked again, it is given out by `ready`."""
    services, viewer = services_of(request), viewer_of(request)
    kept = services.kept_reps.find_asked(viewer.team.id, set_id, viewer.member.id, rep_id)
    if kept is None:
        with services.store.read(viewer.team.id) as t:
            kept = services.kept_reps.asked(t, set_id, viewer.member.id, rep_id)
    rep = await translate_rep(request, kept.rep)
    if rep is kept.rep:
        return question_reply(kept, request.headers)
    said = as_json(question_of(rep))
    said.headers.update(HEADERS)
    return said


@router.put("/api/sets/{set_id}/answers/{answer_id}")
async def put_answer(
    request: Request, set_id: Id, answer_id: AnswerId, body: Annotated[AnswerBody, Body()]
) -> Response:
    """Store an answer: 201 stored, 200 the same stood already, 409 another stands (it is sent back)."""
    services, viewer = services_of(request), viewer_of(request)
    given = Given(answer_id, body.rep_id, tuple(body.chosen), body.attempt, body.took_ms)
    outcome = await take(services.writes, services.kept_reps, viewer, set_id, given, services.now())
    request.state.is_late = outcome.answer.is_late
    after, later = await services.check_sessions.settle_soon(viewer.team, outcome.done, services.now())
    rep = await translate_rep(request, outcome.rep)
    [svg] = await draw_misses(request, [(outcome.answer, rep)])
    told = feedback(rep, translate_answer(request, outcome.answer, rep))
    told["parts"] = [asdict(one) for one in translate_parts(request, outcome.answer, rep)]
    reply: dict[str, Any] = {"answer": told, "next_place": after.next_place, "is_finished": after.is_finished}
    if outcome.status == 409:
        message = LazyText("Another answer stands for this rep, or under this id. It is the one that counts.")
        reply["error"] = {
            "code": "Conflict",
            "message": language_of(request.scope).translate(message),
            "details": [],
            "request_id": request.state.request_id,
        }
    sent = json_around(reply, svg, request.headers, outcome.status)
    sent.background = later
    return sent


def feedback(rep: KeptRep, answer: Answer) -> dict[str, Any]:
    """An answer that stands, and what came of it, with a slot for the picture."""
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
        "svg": SLOT,
    }
