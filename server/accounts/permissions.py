"""Which role may use which route: one table, checked at every request. The app won't start with a route it lacks.

Each route decides what it shows of the team's data: a position coach sees his groups only, a player only himself.
"""

from __future__ import annotations

from server.database.tables import AccountRole
from server.errors import NeedsSignIn, NotAllowed
from server.i18n.lazy_text import LazyText

EVERYONE = frozenset(AccountRole)
SIGNED_IN = EVERYONE - {AccountRole.NOBODY}
COACHES = frozenset({AccountRole.OWNER, AccountRole.COACH, AccountRole.POSITION_COACH})
HEADS = frozenset({AccountRole.OWNER, AccountRole.COACH})
OWNERS = frozenset({AccountRole.OWNER})
PLAYERS = frozenset({AccountRole.PLAYER})

ACCESS: dict[tuple[str, str], frozenset[AccountRole]] = {
    ("GET", "/"): EVERYONE,
    ("GET", "/healthz"): EVERYONE,
    ("GET", "/readyz"): EVERYONE,
    ("GET", "/metrics"): EVERYONE,  # exists only when the settings enable it; see server/routes/metrics.py
    ("GET", "/sw.js"): EVERYONE,
    # signing in and out
    ("GET", "/team"): EVERYONE,
    ("GET", "/team/{code}"): EVERYONE,
    ("POST", "/team/{code}"): EVERYONE,
    ("GET", "/join"): EVERYONE,  # the old addresses
    ("GET", "/join/{code}"): EVERYONE,
    ("GET", "/coach/sign-in"): EVERYONE,
    ("POST", "/coach/sign-in"): EVERYONE,
    ("POST", "/sign-out"): SIGNED_IN,
    ("POST", "/language"): EVERYONE,
    ("GET", "/begin/{token}"): EVERYONE,
    ("POST", "/begin/{token}"): EVERYONE,
    # the player's pages
    ("GET", "/home"): PLAYERS,
    ("GET", "/first-rep"): PLAYERS,
    ("GET", "/no-signal"): PLAYERS,
    ("GET", "/sets/{set_id}"): PLAYERS,
    ("GET", "/sets/{set_id}/calendar.ics"): PLAYERS,
    ("POST", "/sets/{set_id}/open"): PLAYERS,
    ("POST", "/practice"): PLAYERS,
    ("POST", "/practice/{set_id}/drop"): PLAYERS,
    ("GET", "/sets/{set_id}/reps/{place}"): PLAYERS,
    ("POST", "/sets/{set_id}/reps/{place}"): PLAYERS,
    ("GET", "/room"): PLAYERS,
    ("POST", "/room/{room_id}/join"): PLAYERS,
    ("POST", "/room/{room_id}/{place}"): PLAYERS,
    # the same for the page's script
    ("GET", "/api/room"): PLAYERS,
    ("GET", "/api/sets/{set_id}"): PLAYERS,
    ("POST", "/api/sets/{set_id}/load"): PLAYERS,
    ("GET", "/api/sets/{set_id}/reps/{rep_id}"): PLAYERS,
    ("PUT", "/api/sets/{set_id}/answers/{answer_id}"): PLAYERS,
    # the coach's pages
    ("GET", "/coach"): COACHES,
    ("GET", "/coach/board"): COACHES,
    ("POST", "/coach/rep-next"): COACHES,
    ("GET", "/coach/call"): COACHES,
    ("GET", "/coach/players/{player_id}"): COACHES,
    ("GET", "/coach/sheets/walk-through"): COACHES,
    ("GET", "/coach/sheets/scout-cards"): COACHES,
    ("GET", "/coach/assign"): COACHES,
    ("POST", "/coach/sets"): COACHES,
    ("GET", "/coach/sets"): COACHES,
    ("GET", "/coach/sets/{set_id}"): COACHES,
    ("GET", "/coach/room"): COACHES,
    ("POST", "/coach/room"): COACHES,
    ("GET", "/coach/room/{room_id}"): COACHES,
    ("GET", "/coach/room/{room_id}/state"): COACHES,
    ("POST", "/coach/room/{room_id}"): COACHES,
    ("POST", "/coach/room/{room_id}/aloud/{place}"): COACHES,
    ("GET", "/coach/sets/{set_id}/calendar.ics"): COACHES,
    ("GET", "/coach/sets/{set_id}/picks"): COACHES,
    ("GET", "/coach/sets/{set_id}/change"): COACHES,
    ("POST", "/coach/sets/{set_id}/change"): COACHES,
    ("POST", "/coach/sets/{set_id}/call-back"): COACHES,
    ("GET", "/coach/days"): COACHES,
    ("POST", "/coach/days"): HEADS,
    ("POST", "/coach/days/suggested"): HEADS,
    ("POST", "/coach/days/{day_id}/delete"): HEADS,
    ("GET", "/coach/defense"): COACHES,
    ("GET", "/coach/defense/sound"): COACHES,
    ("GET", "/coach/defense/mend"): COACHES,
    ("POST", "/coach/defense/accepted"): HEADS,
    ("POST", "/coach/defense/accepted/{accepted_id}/undo"): HEADS,
    ("POST", "/coach/defense/rename"): HEADS,
    ("GET", "/coach/set-up/words"): HEADS,
    ("POST", "/coach/set-up/words"): HEADS,
    ("GET", "/coach/set-up/asks"): HEADS,
    ("POST", "/coach/set-up/asks"): HEADS,
    ("POST", "/coach/defense/calls"): HEADS,
    ("GET", "/coach/defense/calls/{call}"): COACHES,
    ("POST", "/coach/defense/calls/{call}/field"): HEADS,
    ("POST", "/coach/defense/calls/{call}/men/{man}"): HEADS,
    ("GET", "/coach/defense/calls/{call}/remove"): HEADS,
    ("POST", "/coach/defense/calls/{call}/remove"): HEADS,
    ("GET", "/coach/defense/install"): COACHES,
    ("POST", "/coach/defense/install"): HEADS,
    ("POST", "/coach/defense/draft/undo"): HEADS,
    ("POST", "/coach/defense/draft/redo"): HEADS,
    ("POST", "/coach/defense/draft/take-out"): HEADS,
    ("GET", "/coach/defense/versions"): COACHES,
    ("GET", "/coach/defense/archive.zip"): HEADS,
    ("POST", "/coach/defense/archive"): HEADS,
    ("POST", "/coach/defense/versions/bring-back"): HEADS,
    ("GET", "/coach/defense/files/{name}"): HEADS,
    ("POST", "/coach/defense/files/{name}"): HEADS,
    ("GET", "/coach/opponents"): COACHES,
    ("POST", "/coach/opponents"): HEADS,
    ("POST", "/coach/opponents/next"): HEADS,
    ("GET", "/coach/opponents/{opponent_id}"): COACHES,
    ("POST", "/coach/opponents/{opponent_id}"): HEADS,
    ("POST", "/coach/opponents/{opponent_id}/name"): HEADS,
    ("POST", "/coach/opponents/{opponent_id}/delete"): HEADS,
    ("GET", "/coach/opponents/{opponent_id}/plays.csv"): HEADS,
    ("GET", "/coach/opponents/{opponent_id}/import"): HEADS,
    ("POST", "/coach/opponents/{opponent_id}/import"): HEADS,
    ("POST", "/coach/opponents/{opponent_id}/import/map"): HEADS,
    ("POST", "/coach/opponents/{opponent_id}/import/try"): HEADS,
    ("POST", "/coach/opponents/{opponent_id}/import/store"): HEADS,
    ("GET", "/coach/roster"): COACHES,
    ("POST", "/coach/roster/codes"): HEADS,
    ("POST", "/coach/roster/team-code"): HEADS,
    ("GET", "/coach/roster/roster.csv"): COACHES,
    ("GET", "/coach/roster/import"): HEADS,
    ("POST", "/coach/roster/import"): HEADS,
    ("POST", "/coach/roster/import/take"): HEADS,
    ("POST", "/coach/roster/{player_id}/remove"): HEADS,
    ("GET", "/coach/players/{player_id}/data"): HEADS,
    ("GET", "/coach/players/{player_id}/data.json"): HEADS,
    ("GET", "/coach/players/{player_id}/data.csv"): HEADS,
    ("POST", "/coach/players/{player_id}/erase"): HEADS,
    ("GET", "/coach/results"): COACHES,
    ("GET", "/coach/results.csv"): COACHES,
    ("GET", "/coach/call/questions.zip"): COACHES,
    ("GET", "/coach/results.xapi.json"): COACHES,
    ("GET", "/coach/sets-due.ics"): COACHES,
    ("GET", "/coach/sets.csv"): COACHES,
    ("GET", "/coach/audit"): HEADS,
    ("GET", "/coach/coaches"): OWNERS,
    ("POST", "/coach/coaches"): OWNERS,
    ("POST", "/coach/coaches/{coach_id}/passphrase"): OWNERS,
    ("POST", "/coach/coaches/{coach_id}/remove"): OWNERS,
    ("GET", "/coach/erasing"): COACHES,
    ("POST", "/coach/erasing"): OWNERS,
    ("POST", "/coach/erasing/keep"): OWNERS,
    ("POST", "/coach/erasing/last-day"): OWNERS,
    ("GET", "/coach/season"): OWNERS,
    ("POST", "/coach/season"): OWNERS,
    ("POST", "/coach/season/longer"): OWNERS,
    ("GET", "/coach/help"): COACHES,
    ("GET", "/help"): PLAYERS,
    ("GET", "/my-data"): PLAYERS,
    ("GET", "/my-data.json"): PLAYERS,
    ("GET", "/my-data.csv"): PLAYERS,
    ("POST", "/coach/roster/{player_id}/bring-back"): HEADS,
}


#: Routes that accept a session for up to two seconds after it ended. They only serve questions of reps, which phones
#: fetch many at a time.
ACCEPTS_ENDED_SESSION = frozenset({"/api/sets/{set_id}/reps/{rep_id}"})


def check_access(method: str, route: str, role: AccountRole) -> None:
    """Check that a role may use a route. Raises: NeedsSignIn, NotAllowed; KeyError when the table lacks the route."""
    allowed = ACCESS["GET" if method == "HEAD" else method, route]
    if role in allowed:
        return
    if role is AccountRole.NOBODY:
        raise NeedsSignIn("Sign in first.")
    if allowed == PLAYERS:
        raise NotAllowed(LazyText("This page is for players. You are signed in as {role}.", role=role.value))
    raise NotAllowed(LazyText("This page is for coaches. You are signed in as {role}.", role=role.value))
