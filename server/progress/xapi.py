"""Answers as xAPI statements (ADL's Experience API, version 1.0.3, part two: data; from memory), for a record store.

An actor is an account of this server, named by team code and number: no name, nothing else about the player. The same
answer has the same statement id at every export, so that a store that has it takes it once. Knows nothing of pages.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from sqlmodel import col

from server.database.store import Store
from server.database.tables import Answer, KeptRep, Team
from server.progress.results_csv import ResultsFilter, batches_of

VERB = {"id": "http://adlnet.gov/expapi/verbs/answered", "display": {"en-US": "answered"}}
INTERACTION = "http://adlnet.gov/expapi/activities/cmi.interaction"
VERSION = "1.0.3"
#: Between the parts of a response, as the data model writes several choices.
AND = "[,]"


def statement_lines(store: Store, team: Team, wanted: ResultsFilter, base: str, until: datetime) -> Iterator[bytes]:
    """All answers up to a moment as a JSON array, in order, read and sent in batches; ``base`` is the server's
    address, which names what is meant and is not asked for."""
    numbers = {member.id: member.number for member in wanted.members}
    begun = False
    for lot in batches_of(store, team, wanted, until):
        with store.read(team.id) as t:
            ids = sorted({one.rep_id for one in lot})
            reps = {rep.rep_id: rep for rep in t.rows(KeptRep, col(KeptRep.rep_id).in_(ids))}
        for one in lot:
            said = statement_of(one, reps[one.rep_id], team, numbers[one.member_id], base)
            yield (b",\n" if begun else b"[\n") + json.dumps(said, ensure_ascii=False).encode()
            begun = True
    yield b"\n]\n" if begun else b"[]\n"


def statement_of(answer: Answer, rep: KeptRep, team: Team, number: int | None, base: str) -> dict[str, Any]:
    """One answer as a statement."""
    at = answer.received_at.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    result: dict[str, Any] = {
        "success": answer.is_right,
        "completion": True,
        "score": {"raw": int(answer.is_right), "min": 0, "max": 1},
        "response": AND.join(answer.chosen),
    }
    if answer.took_ms is not None:
        result["duration"] = f"PT{answer.took_ms / 1000:.2f}S"
    return {
        "id": str(uuid5(NAMESPACE_URL, f"{base}/{team.id}/{answer.member_id}/{answer.id}")),
        "actor": {
            "objectType": "Agent",
            "account": {"homePage": base, "name": f"{team.join_code}-{number if number is not None else 'gone'}"},
        },
        "verb": VERB,
        "object": activity_of(rep, base),
        "result": result,
        "context": {
            "contextActivities": {"parent": [{"id": f"{base}/sets/{answer.assignment_id}"}]},
            "extensions": {f"{base}/stage": answer.stage, f"{base}/call": answer.call, f"{base}/side": answer.side},
        },
        "timestamp": at,
        "version": VERSION,
    }


def activity_of(rep: KeptRep, base: str) -> dict[str, Any]:
    """A question as an activity: what was asked, its choices, and what was right."""
    return {
        "objectType": "Activity",
        "id": f"{base}/reps/{rep.rep_id}",
        "definition": {
            "type": INTERACTION,
            "name": {"en-US": rep.stem},
            "interactionType": "choice",
            "correctResponsesPattern": right_patterns(rep.parts),
            "choices": [
                {"id": choice["id"], "description": {"en-US": choice["label"]}}
                for part in rep.parts
                for choice in part["choices"]
            ],
        },
    }


def right_patterns(parts: Sequence[Mapping[str, Any]]) -> list[str]:
    """Every right response: a choice for each part, all that count where a part has several right ones."""
    found: list[list[str]] = [[]]
    for part in parts:
        found = [[*before, choice] for before in found for choice in sorted(part["right"])]
    return [AND.join(one) for one in found]
