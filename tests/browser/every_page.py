"""Every page that people can open, as data: add a page by adding a line.

Addresses may contain {call}, {player}, {set}, {room}, {opponent}, {file}, {team} and {invite}, which the test fills in.
A test compares this list with the routes that answer GET.
"""

#: Pages without sign-in: name, address.
OPEN_PAGES = (
    ("team", "/team"),
    ("team, wrong code", "/team?code=no"),
    ("sign in", "/team/{team}"),
    ("coach signs in", "/coach/sign-in"),
    ("begin a team", "/begin/{invite}"),
)

#: Pages of a player with a set in progress and a finished one. Reps shown by script are covered by the test itself.
PLAYER_PAGES = (
    ("home", "/home"),
    ("first rep", "/first-rep"),
    ("first rep, tapped", "/first-rep?choice_1=d"),
    ("first rep, another lane tapped", "/first-rep?choice_1=b"),
    ("no signal", "/no-signal"),
    ("set", "/sets/{set}"),
    ("right, reloaded", "/sets/{set}/reps/1"),
    ("wrong, reloaded", "/sets/{set}/reps/2"),
    ("wrong in two parts, reloaded", "/sets/{set}/reps/3"),
    ("rep of two parts", "/sets/{set}/reps/4"),
    ("rep", "/sets/{set}/reps/5"),
    ("room", "/room"),
    ("own data", "/my-data"),
    ("help", "/help"),
    ("problem", "/sets/nothing-here"),
)

#: Pages of the team's owner.
COACH_PAGES = (
    ("board", "/coach/board?call={call}"),
    ("board of a stage", "/coach/board?call={call}&stage=1"),
    ("call", "/coach/call?name={call}"),
    ("player", "/coach/players/{player}?call={call}"),
    ("a player's data", "/coach/players/{player}/data"),
    ("assign", "/coach/assign?call={call}"),
    ("assign to some", "/coach/assign?call={call}&pick=behind"),
    ("walk-through sheet", "/coach/sheets/walk-through?call={call}"),
    ("scout cards", "/coach/sheets/scout-cards?call={call}"),
    ("sets", "/coach/sets"),
    ("set of the coach", "/coach/sets/{set}"),
    ("change of a set", "/coach/sets/{set}/change"),
    ("why each got these reps", "/coach/sets/{set}/picks"),
    ("a set on what each needs", "/coach/assign?mix=1"),
    ("room", "/coach/room?call={call}"),
    ("the wall", "/coach/room/{room}"),
    ("days", "/coach/days"),
    ("results", "/coach/results"),
    ("roster", "/coach/roster"),
    ("roster import", "/coach/roster/import"),
    ("coaches", "/coach/coaches"),
    ("audit", "/coach/audit"),
    ("erasing", "/coach/erasing"),
    ("season", "/coach/season"),
    ("help for coaches", "/coach/help"),
    ("opponents", "/coach/opponents"),
    ("opponent", "/coach/opponents/{opponent}"),
    ("play list import", "/coach/opponents/{opponent}/import"),
    ("defense", "/coach/defense"),
    ("sound", "/coach/defense/sound"),
    ("sound against an opponent", "/coach/defense/sound?call={call}&against={opponent}"),
    ("install", "/coach/defense/install"),
    ("call on the field", "/coach/defense/calls/{call}"),
    ("a man of a call", "/coach/defense/calls/{call}?man=mike"),
    ("taking a call out", "/coach/defense/calls/{call}/remove"),
    ("set-up, words", "/coach/set-up/words"),
    ("set-up, asks", "/coach/set-up/asks"),
    ("versions", "/coach/defense/versions"),
    ("mend", "/coach/defense/mend?call={call}&against={opponent}"),
    ("a file of the defense", "/coach/defense/files/{file}"),
)

#: Addresses that aren't pages: files, what scripts or machines fetch, and redirects.
NO_PAGES = frozenset(
    {
        "/",
        "/join",
        "/join/{code}",
        "/coach",
        "/sets/{set_id}/calendar.ics",
        "/coach/sets/{set_id}/calendar.ics",
        "/coach/sets-due.ics",
        "/coach/sets.csv",
        "/coach/call/questions.zip",
        "/coach/results.xapi.json",
        "/api/room",
        "/coach/room/{room_id}/state",
        "/api/sets/{set_id}",
        "/api/sets/{set_id}/reps/{rep_id}",
        "/sw.js",
        "/healthz",
        "/readyz",
        "/metrics",
        "/coach/roster/roster.csv",
        "/coach/defense/archive.zip",
        "/coach/results.csv",
        "/coach/opponents/{opponent_id}/plays.csv",
        "/my-data.json",
        "/my-data.csv",
        "/coach/players/{player_id}/data.json",
        "/coach/players/{player_id}/data.csv",
    }
)
