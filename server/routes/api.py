"""What the player's page may fetch and send by script: the layout of his set, its questions, his answers.

An answer is put under an id that the phone makes, so that it can be sent again until a reply arrives.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Any

from fastapi import APIRouter, Body, Request
from sqlmodel import col
from starlette.responses import Response

from server.answers import Given, record
from server.inputs import AnswerBody, AnswerId, Id
from server.languages import language_of
from server.missed import pictures_after
from server.parts import parts_of, viewer_of
from server.replies import as_json
from server.sets import find_assignment, is_over, progress
from server.shown import question_of
from server.spoken import speak_answer, speak_one, speak_parts
from server.tables import Answer, RepShown, SetRep
from server.told import Told
from server.verdicts import settle, settle_soon

router = APIRouter()
FOREVER = "private, max-age=31536000, immutable"


@router.get("/api/sets/{set_id}")
async def set_layout(request: Request, set_id: Id) -> Response:
    """Which reps the set has for this player, and which come back when one is missed."""
    parts, viewer = parts_of(request), viewer_of(request)
    with parts.store.read(viewer.team.id) as t:
        assignment = find_assignment(t, set_id, viewer.member)
        done = progress(t, assignment, viewer.member.id)
    done = await settle(parts, viewer, done)
    with parts.store.read(viewer.team.id) as t:
        mine = (col(SetRep.assignment_id) == set_id, col(SetRep.member_id) == viewer.member.id)
        laid = t.rows(SetRep, *mine, order_by=(col(SetRep.place),))
    answered = {p.place: p.answer for p in done.places if p.answer is not None}
    return as_json(
        {
            "id": assignment.id,
            "call": assignment.call,
            "purpose": assignment.purpose,
            "due_at": assignment.due_at.isoformat(),
            "is_over": is_over(assignment, parts.now()),
            "is_finished": done.is_finished,
            "next_place": done.next_place,
            "places": [
                {
                    "place": one.place,
                    "rep_id": one.rep_id,
                    "again_of": one.again_of,
                    "is_right": answered[one.place].is_right if one.place in answered else None,
                }
                for one in laid
            ],
        }
    )


@router.get("/api/sets/{set_id}/reps/{rep_id}")
async def question(request: Request, set_id: Id, rep_id: Id) -> Response:
    """The question of a rep in this set, without a trace of its answer."""
    parts, viewer = parts_of(request), viewer_of(request)
    kept = parts.shown.find_asked(viewer.team.id, set_id, viewer.member.id, rep_id)
    if kept is None:
        with parts.store.read(viewer.team.id) as t:
            kept = parts.shown.asked(t, set_id, viewer.member.id, rep_id)
    headers = {"Cache-Control": FOREVER, "Vary": "Accept-Encoding, Accept-Language, Cookie"}
    rep = await speak_one(request, kept.rep)
    if rep is not kept.rep:
        said = as_json(question_of(rep))
        said.headers.update(headers)
        return said
    if "gzip" in request.headers.get("accept-encoding", ""):
        return Response(
            kept.question_gzip, media_type="application/json", headers={**headers, "Content-Encoding": "gzip"}
        )
    return Response(kept.question, media_type="application/json", headers={**headers, "Content-Encoding": "identity"})


@router.put("/api/sets/{set_id}/answers/{answer_id}")
async def put_answer(
    request: Request, set_id: Id, answer_id: AnswerId, body: Annotated[AnswerBody, Body()]
) -> Response:
    """Store an answer: 201 stored, 200 the same stood already, 409 another stands (it is sent back)."""
    parts, viewer = parts_of(request), viewer_of(request)
    given = Given(answer_id, body.rep_id, tuple(body.chosen), body.attempt, body.took_ms)
    with parts.store.write(viewer.team.id) as t:
        assignment = find_assignment(t, set_id, viewer.member)
        outcome = record(t, parts.shown, assignment, viewer.member, given, parts.now())
        request.state.is_late = outcome.answer.is_late
        stored = parts.shown.get(t, outcome.answer.rep_id)
    after, later = await settle_soon(parts, viewer, outcome.done)
    rep = await speak_one(request, stored)
    [svg] = await pictures_after(request, [(outcome.answer, rep)])
    told = feedback(rep, speak_answer(request, outcome.answer, rep), svg)
    told["parts"] = [asdict(one) for one in speak_parts(request, outcome.answer, rep)]
    reply: dict[str, Any] = {"answer": told, "next_place": after.next_place, "is_finished": after.is_finished}
    if outcome.status == 409:
        message = Told("Another answer stands for this rep, or under this id. It is the one that counts.")
        reply["error"] = {
            "code": "Conflict",
            "message": language_of(request.scope).tell(message),
            "details": [],
            "request_id": request.state.request_id,
        }
    sent = as_json(reply, outcome.status)
    sent.background = later
    return sent


def feedback(rep: RepShown, answer: Answer, svg: str) -> dict[str, Any]:
    """An answer that stands, and what came of it, drawn."""
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
