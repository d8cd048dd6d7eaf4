"""The statuses that each route may return: a general rule, and a table of additions. Also the API's schema with them.

The server publishes no schema; this one is for tests. A status that is missing here is a finding. Rejected: statuses in
the routes' decorators (nobody reads them there, and the general rule would be repeated forty times).
"""

from typing import Any

from fastapi import FastAPI

from server.accounts.permissions import ACCESS, EVERYONE
from server.routes.api import QUESTION

#: In addition to the rule in `statuses`.
OWN: dict[tuple[str, str], set[int]] = {
    ("GET", "/"): {303},
    ("GET", "/sw.js"): {200, 304},
    ("GET", "/join"): {308},
    ("GET", "/join/{code}"): {308},
    ("GET", "/team"): {200, 303},
    ("GET", "/team/{code}"): {429},
    ("POST", "/team/{code}"): {303, 401, 429},
    ("POST", "/coach/sign-in"): {303, 401, 429},
    ("POST", "/api/sets/{set_id}/load"): {200, 410},
    ("GET", "/coach"): {303},
    ("GET", "/coach/board"): {200, 304, 422},
    ("GET", "/coach/call"): {200, 304, 422},
    ("GET", "/coach/sets/{set_id}"): {304},
    ("GET", "/sets/{set_id}"): {410},
    ("POST", "/sets/{set_id}/open"): {410},
    ("GET", "/sets/{set_id}/reps/{place}"): {410},
    ("POST", "/sets/{set_id}/reps/{place}"): {409},
    ("PUT", "/api/sets/{set_id}/answers/{answer_id}"): {200, 201, 409},
    ("GET", "/coach/assign"): {200, 404},
    ("POST", "/coach/days"): {303, 404},
    ("POST", "/coach/coaches"): {200},
    ("POST", "/coach/coaches/{coach_id}/passphrase"): {200},
    ("POST", "/coach/roster/codes"): {200, 404},
    ("POST", "/coach/season"): {200, 303},
    ("POST", "/coach/opponents/next"): {303, 404},
    ("GET", "/coach/defense/sound"): {200, 404},
    ("GET", "/coach/defense/mend"): {200, 404},
    ("POST", "/begin/{token}"): {303, 429},
    ("POST", "/coach/defense/calls"): {303, 404},
    ("POST", "/coach/defense/install"): {303, 409},
    ("POST", "/coach/defense/draft/undo"): {303, 409},
    ("POST", "/coach/defense/draft/redo"): {303, 409},
    ("POST", "/coach/defense/draft/take-out"): {303, 404},
    ("POST", "/coach/defense/versions/bring-back"): {303, 404},
    ("POST", "/coach/defense/calls/{call}/field"): {303, 409},
    ("POST", "/coach/defense/calls/{call}/men/{man}"): {303, 409},
    ("POST", "/coach/defense/calls/{call}/remove"): {303, 409},
    ("POST", "/coach/defense/accepted"): {303, 404},
    ("POST", "/coach/opponents/{opponent_id}/import"): {200},
    ("POST", "/coach/opponents/{opponent_id}/import/map"): {200},
    ("POST", "/coach/opponents/{opponent_id}/import/try"): {200},
}
#: Routes that need no database.
WITHOUT_DATABASE = {("GET", "/healthz"), ("GET", "/sw.js")}
#: Routes that are missing from the application's schema.
UNLISTED = {("GET", "/metrics")}
READS = {"GET", "HEAD"}


def statuses(method: str, path: str) -> set[int]:
    """All statuses that this route may return.

    422 wherever input is possible, even in the address; 303 after a form; 401 and 403 where not everyone has access,
    with browsers redirected to sign-in; 400, 403 and 413 wherever a body is sent or could come from another site's
    page; 404 where the address names something; 304 where a reply has a tag.
    """
    found = {422} | OWN.get((method, path), {200} if method in READS else {303})
    if "{" in path:
        found |= {404} | ({200} if method in READS else {303} if method == "POST" else set())
    if ACCESS[method, path] != EVERYONE:
        found |= {401, 403} | ({303} if method in READS and not path.startswith("/api/") else set())
    if method not in READS:
        found |= {400, 403, 413}
    if (method, path) not in WITHOUT_DATABASE:
        found.add(503)
    return found


def schema_of(app: FastAPI) -> dict[str, Any]:
    """The application's own schema of its inputs, with every status of every route."""
    schema = app.openapi()
    schema["paths"][QUESTION] = question_schema(schema)
    for path, methods in schema["paths"].items():
        for method, operation in methods.items():
            operation["responses"] = {str(s): {"description": ""} for s in sorted(statuses(method.upper(), path))}
    return schema


def question_schema(schema: dict[str, Any]) -> dict[str, Any]:
    """The question's route, which is Starlette's own, so FastAPI does not describe it. Both ids have one form."""
    [set_id] = schema["paths"]["/api/sets/{set_id}"]["get"]["parameters"]
    ids = [{**set_id, "name": name} for name in ("set_id", "rep_id")]
    return {"get": {"operationId": "question", "parameters": ids, "responses": {}}}
