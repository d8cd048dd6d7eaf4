"""Many teams in PostgreSQL: python -m tests.bench.load_size [--teams 1000] [--players 60] [--answers 200]

The tables are filled with COPY. Measures a team's board, the first time and again, and the layout of a set.
"""

import argparse
import json
import random
import tempfile
import time
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from server.accounts.members import players
from server.database.store import open_store
from server.database.tables import TABLES
from server.sets.set_layout import plan
from tests.bench.load_report import CALL, Site, new_set, prepare
from tests.trust.live import report
from tests.trust.postgres import own_database


def fill_by_copy(url: str, site: Site, teams: int, answers_each: int) -> int:
    """Make that many copies of the team, with answers, by COPY; return the number of answers."""
    import psycopg

    chance, now = random.Random(9), int(time.time() * 1_000_000)
    store = open_store(site.settings)
    with store.engine.connect() as connection:
        rows = {t.__table__.name: connection.execute(t.__table__.select()).mappings().all() for t in TABLES}  # type: ignore[attr-defined]
    store.close()
    members = [row for row in rows["member"] if row["number"] is not None and row["removed_at"] is None]
    [rep, *_] = rows["rep_shown"]
    kept = ("team", "member", "content_file", "assignment", "rep_shown")
    with psycopg.connect(url.replace("+psycopg", ""), autocommit=False) as connection, connection.cursor() as cursor:
        for name in (*kept, "answer"):
            table = next(t.__table__ for t in TABLES if t.__table__.name == name)  # type: ignore[attr-defined]
            columns = [column.name for column in table.columns]
            with cursor.copy(
                f"COPY {name} ({', '.join(f'{c!r}' for c in columns)}) FROM STDIN".replace("'", '"')
            ) as copy:
                for team in range(1, teams):
                    mark = f"team-{team:06d}"
                    made = (
                        answers_of(mark, members, rows["assignment"], rep, answers_each, chance, now)
                        if name == "answer"
                        else rows[name]
                    )
                    for row in made:
                        copy.write_row([of_team(mark, f"{name}.{c}", row[c]) for c in columns])
        connection.commit()
        cursor.execute("ANALYZE")
        connection.commit()
        return int(cursor.execute("SELECT count(*) FROM answer").fetchone()[0])  # type: ignore[index]


def of_team(mark: str, column: str, value: Any) -> Any:
    """A value of the first team changed for another team."""
    if column.endswith(".team_id") or column in ("team.id", "team.join_code"):
        return mark
    if isinstance(value, datetime):
        return int(value.timestamp() * 1_000_000)
    return json.dumps(value) if isinstance(value, list | dict) else value


def answers_of(
    mark: str, members: Sequence[Any], sets: Sequence[Any], rep: Any, each: int, chance: random.Random, now: int
) -> Iterator[dict[str, Any]]:
    for member in members:
        for i in range(each):
            is_right = chance.random() < 0.6
            yield {
                **dict.fromkeys(
                    ("chosen_key", "right_key", "chosen_words", "right_words", "relation", "explanation"),
                    "a word or two",
                ),
                "team_id": mark,
                "member_id": member["id"],
                "id": f"{i:024d}",
                "assignment_id": sets[i % len(sets)]["id"],
                "place": 1,
                "rep_id": rep["rep_id"],
                "attempt": i + 1,
                "chosen": ["a"],
                "is_right": is_right,
                "is_late": False,
                "received_at": now - chance.randrange(30 * 86_400) * 1_000_000,
                "took_ms": 4000,
                "call": CALL,
                "stage": chance.choice((1, 2, 3)),
                "side": chance.choice(("left", "right")),
                "position": rep["position"],
                "kind": rep["kind"],
                "choices": 4,
            }


def size(url: str, teams: int, count: int, answers_each: int) -> None:
    """Times of a board, cold and again, and of drawing a set's reps."""
    with tempfile.TemporaryDirectory(prefix="gapsound-size-") as folder:
        site = prepare(Path(folder), count, 2, url)
        began = time.monotonic()
        with_answers = fill_by_copy(url, site, teams, answers_each)
        filled_s = time.monotonic() - began
        for one in look(site, [f"team-{n:06d}" for n in range(1, min(teams, 6))]):
            report("size", teams=teams, answers=with_answers, filled_s=round(filled_s, 1), **one)


def look(site: Site, team_ids: Sequence[str]) -> list[dict[str, float]]:
    from server.playbook.playbooks import Playbooks
    from server.progress.board import make_board
    from server.progress.team_state import TeamStates

    store, found = open_store(site.settings), []
    playbooks, team_states = Playbooks(store), TeamStates()
    for team_id in team_ids:
        with store.read(team_id) as t:
            team, members = t.team(), players(t)
        playbook = playbooks.of(team)
        times = []
        for _ in range(2):
            began = time.perf_counter()
            team_state = team_states.of(store, team_id, playbook)
            found_now = team_state.board([m.id for m in members], playbook.calls, datetime.now(UTC))
            make_board(members, playbook, found_now, playbook.calls)
            times.append(time.perf_counter() - began)
        position, now = members[0].positions[0], datetime.now(UTC)
        reps = playbook.pool(CALL.lower(), [position], [1, 2, 3], ["left", "right"])
        wanted = new_set(team_id, "a-set", position, members[0].id, now)
        began = time.perf_counter()
        plan(reps, members[0], team_state.state, team_state.settings, wanted, team_state.seconds(now))
        drawn_s = time.perf_counter() - began
        found.append({"board_s": round(times[0], 3), "again_s": round(times[1], 3), "set_drawn_s": round(drawn_s, 4)})
    store.close()
    return found


def main() -> None:
    wanted = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    wanted.add_argument("--teams", type=int, default=1000)
    wanted.add_argument("--players", type=int, default=60)
    wanted.add_argument("--answers", type=int, default=200, help="of each player")
    given = wanted.parse_args()
    with own_database() as database:
        size(database.url, given.teams, given.players, given.answers)


if __name__ == "__main__":
    main()
