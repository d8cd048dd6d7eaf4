"""The demo: an invented team in its own embedded database, with a set due, a season on the board, and sign-in data.

The first start makes all of it; later ones find it and start at once. What is printed is also stored beside the
database, readable only by this user, because a demo must be able to print its PIN again. Knows nothing of football.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import urlsplit

import segno
from rich.console import Console
from sqlmodel import col

from quizgen.content import read_team_dir
from server.accounts.credentials import hash_passphrase, hash_pin, make_id, make_passphrase, make_pin
from server.accounts.members import add_coach, players
from server.app import make_app
from server.commands.demo_fill import SET_LENGTH, fill_season, practice_time
from server.commands.serving import address_of, bind, run
from server.database.store import Store, TeamSession, open_store
from server.database.tables import AccountRole, Assignment, Member, Purpose, Team
from server.errors import BadInput
from server.logs import set_up_logs
from server.paths import SEED_CONTENT
from server.playbook.engine import Engine
from server.playbook.playbooks import Playbook
from server.sets.player_sets import is_over, own_sets
from server.settings import LOOPBACK, Settings, load_settings
from server.team.install import add_team, check_files, hash_content, update_team

COACH_NAME = "coach"
DUE_IN = timedelta(days=2)


@dataclass(frozen=True, slots=True)
class Access:
    """How to sign in to the demo."""

    team_id: str
    coach_name: str
    passphrase: str
    number: int
    pin: str


def demo_files() -> Mapping[str, str]:
    """The files of the invented team. Raises: BadInput when there are none."""
    folders = sorted(path.parent for path in SEED_CONTENT.glob("*/team.toml"))
    if not folders:
        raise BadInput("seed_content: expected the demo team's folder, found none")
    return read_team_dir(folders[0])


def start_demo(data: Path | None, host: str, port: int, *, with_season: bool) -> None:
    """Start the demo and serve it until it is stopped. Raises: BadInput, SettingProblem, Unavailable."""
    base = load_settings()
    settings = load_settings(data_dir=data or base.data_dir / "demo", database_url="", public_url="")
    listening = bind(host, port, may_move=True)
    found = int(listening.getsockname()[1])
    console = Console(stderr=True)
    if found != port:
        console.print(f"Port {port} is taken; the demo is on {found}.")
    store = open_store(settings)
    store.migrate()
    access = prepare(store, settings.data_dir, console, with_season=with_season)
    set_up_logs(as_json=False)
    app = make_app(settings, store=store)
    run(app, settings, listening, lambda: print_access(store, access, settings, host, found))


def prepare(store: Store, folder: Path, console: Console, *, with_season: bool) -> Access:
    """The demo team: made on the first start, brought up to date on later ones, always with a set due."""
    path = folder / "access.json"
    access = read_access(path)
    team = store.find_team(team_id=access.team_id) if access else None
    now, files = datetime.now(UTC), demo_files()
    if access is None or team is None:
        access = make_demo(store, files, now, console, with_season=with_season)
        write_access(path, access)
    elif team.content_hash != hash_content(files):
        update_team(store, Engine(), team.id, files, now)
    with store.write(access.team_id) as t:
        keep_set_due(t, access, now)
    return access


def make_demo(store: Store, files: Mapping[str, str], now: datetime, console: Console, *, with_season: bool) -> Access:
    """Make the team, its coach, its players with PINs, and a season."""
    with console.status("Making the demo team"):
        passphrase, secret_hash = make_passphrase(), ""
        secret_hash = hash_passphrase(passphrase)
        team = add_team(store, Engine(), files, now).team
        with store.write(team.id) as t:
            add_coach(t, COACH_NAME, AccountRole.OWNER, secret_hash, now)
            shown = choose_player(t, check_files(Engine(), files))
            pin = make_pin()
            shown.secret_hash = hash_pin(pin)
            t.add(shown)
    if with_season:
        with console.status("Playing an invented season"):
            playbook = check_files(Engine(), files)
            fill_season(store, team, playbook, shown, now)
    return Access(team.id, COACH_NAME, passphrase, shown.number or 0, pin)


def choose_player(t: TeamSession, playbook: Playbook) -> Member:
    """The player to print: a linebacker with one position, if there is one.

    Raises: BadInput when the team has no players.
    """
    everyone = players(t)
    if not everyone:
        raise BadInput("seed_content: expected players on the demo team's roster, found none")
    backers = [m for m in everyone if len(m.positions) == 1 and "backer" in playbook.group_of(m.positions[0]).lower()]
    return (backers or everyone)[0]


def keep_set_due(t: TeamSession, access: Access, now: datetime) -> None:
    """Make sure that the printed player has an unfinished set due."""
    owner = t.first(Member, col(Member.role) == AccountRole.OWNER.value)
    player = t.first(Member, col(Member.number) == access.number, col(Member.removed_at).is_(None))
    if owner is None or player is None:
        return
    wait_until = now + timedelta(hours=1)
    sets = [one for one in own_sets(t, player) if one.assignment.purpose != Purpose.PRACTICE]
    if any(not one.is_finished and not is_over(one.assignment, wait_until) for one in sets):
        return
    of_coach = col(Assignment.purpose) != Purpose.PRACTICE
    newest = t.first(Assignment, of_coach, order_by=(col(Assignment.created_at).desc(),))
    playbook = check_files(Engine(), demo_files())
    call = newest.call if newest else playbook.calls[0]
    played = {position for member in players(t) for position in member.positions}
    positions = sorted(position for position in played if playbook.has_job(call, [position]))
    t.add(
        Assignment(
            team_id=t.team_id,
            id=make_id(),
            call=call,
            positions=positions,
            stages=[1, 2, 3],
            sides=["left", "right"],
            length=SET_LENGTH,
            due_at=practice_time(now + DUE_IN, t.team().time_zone),
            created_at=now,
            created_by=owner.id,
        )
    )


def read_access(path: Path) -> Access | None:
    """The sign-in data of an earlier start; None when it can't be read."""
    try:
        return Access(**json.loads(path.read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None


def write_access(path: Path, access: Access) -> None:
    """Store the sign-in data, readable only by this user."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as out:
        json.dump(asdict(access), out)


def print_access(store: Store, access: Access, settings: Settings, host: str, port: int) -> None:
    """Print where coach and player sign in, and a QR code for phones."""
    team = store.find_team(team_id=access.team_id)
    assert isinstance(team, Team)
    address = address_of(settings, host, port)
    link = f"{address}/team/{team.join_code}"
    lines = (
        f"\n{team.name}: the demo is running. Everybody in it is invented.\n",
        f"Coach:   {address}/coach/sign-in",
        f"         sign-in name {access.coach_name}, passphrase {access.passphrase}",
        f"Player:  {link}",
        f"         number {access.number}, PIN {access.pin}\n",
    )
    sys.stdout.write("\n".join(lines) + "\n")
    if urlsplit(address).hostname in LOOPBACK:
        sys.stdout.write("Only this machine reaches it; for phones in the same network start it with --host 0.0.0.0.\n")
    else:
        sys.stdout.write("On a phone in the same network, scan this:\n")
        segno.make(link, error="l").terminal(out=sys.stdout, compact=True)
    sys.stdout.write("Ctrl+C stops the demo.\n")
    sys.stdout.flush()
