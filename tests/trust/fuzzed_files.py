"""Parsers of files as targets: rosters and play lists in any encoding, backups."""

import functools
import gzip
import hashlib
import json
import random
import tempfile
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from server.database.backup import read_backup, restore, write_backup
from server.database.store import open_store
from server.errors import BadInput, Refusal
from server.opponents.formation_words import formation_targets
from server.opponents.matching import KEEP_NAME, LEAVE_OUT
from server.opponents.play_list import (
    Column,
    Placing,
    dry_run,
    find_columns,
    find_formation_words,
    find_words,
    most_common_cells,
    read_lines,
    to_sheet,
)
from server.opponents.tendencies import COUNT_MAX
from server.paths import SEED_CONTENT
from server.playbook.charted import UNCHARTED
from server.playbook.playbooks import PositionWords
from server.reading.csv_files import CsvSheet, decode, parse_csv, to_csv, unescape_formula
from server.settings import load_settings
from server.team.roster_csv import Use, parse_entry, propose
from tests.harness.databases import open_migrated
from tests.harness.fake_football import FILES, FORMATIONS, PLAYS, FakeFootball
from tests.trust.fuzzing import spoiled, spoiled_bytes

NOW = datetime(2026, 9, 1, 20, 0, tzinfo=UTC)
DEMO = {p.name: p.read_text(encoding="utf-8") for p in sorted((SEED_CONTENT / "tarrow_falls").glob("*.toml"))}
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252")


# rosters

SHEETS = (
    'Number,Name,Positions\n54,Dale,Mike\n33,Rory,"Will, Mike"\n',
    "sep=;\r\n#;First name;Pos\r\n7;'=Al;Nose\r\n",
    "No\tPlayer\tPos 1\tPos 2\n1\tÑandu\tMike\tWill\n",
)


WORDS = {key: PositionWords(key, key.title(), key[0].upper(), "Backers") for key in ("mike", "will")}


def spoiled_sheet(chance: random.Random) -> bytes:
    text = spoiled(chance, chance.choice(SHEETS), SHEETS)
    return encoded(chance, text)


def encoded(chance: random.Random, text: str) -> bytes:
    """A text as some program would encode it, sometimes a broken one."""
    raw = text.encode(chance.choice(ENCODINGS), "replace")
    return spoiled_bytes(chance, raw) if chance.random() < 0.4 else raw


def take_sheet(raw: bytes) -> None:
    sheet: CsvSheet = parse_csv(decode(raw))
    again = parse_csv(decode(b"".join(to_csv(sheet.header, [line.cells for line in sheet.lines]))))
    back = [tuple(unescape_formula(cell) for cell in line.cells) for line in again.lines]
    normalize = [line.cells for line in sheet.lines]
    if len(sheet.header) > 1:  # one column and an empty cell is an empty line
        assert [tuple(c.strip() for c in line) for line in back] == normalize, "it does not come back the same"
    uses = propose(sheet)
    columns = {use: [place for place, one in enumerate(uses) if one is use] for use in Use}
    if all(columns[use] for use in (Use.NUMBER, Use.NAME)):
        for line in sheet.lines:
            with suppress(BadInput):
                entry = parse_entry(line, columns, WORDS)
                assert 0 <= entry.number <= 99
                assert entry.name
                assert entry.positions


def take_sheet_text(text: str) -> None:
    parse_csv(text)


# play lists

#: A sheet of snaps, one of counts, one without headings under a title; all invented.
LISTS = (
    "Play,Down,Dist,Form,Dir\nZone Rt,1,10,Pro,R\nPOWER,2,7,Spread,L\nJet,3,2,Pro,R\npass,3,9,Pro,\nzone,1,9,,L\n",
    "sep=;\r\nScheme;Count\r\ncounter;12\r\nveer;7,5\r\n=lead;'3\r\n",
    'Week 3 at Ridgemont\n\nzone\t4\nhalf slide\t2\n"a\nb"\t1\n',
)
MEANT = (LEAVE_OUT, KEEP_NAME, UNCHARTED, *(play.name for play in PLAYS))


@dataclass(frozen=True)
class Listed:
    """A play list as a file, and a coach's choices for it: headings, columns, and random words."""

    raw: bytes
    heading: int | None
    columns: dict[Column, int]
    seed: int


def spoiled_list(chance: random.Random) -> Listed:
    text = spoiled(chance, chance.choice(LISTS), LISTS)
    raw = encoded(chance, text)
    columns = {one: chance.randrange(6) for one in Column if chance.random() < 0.5} if chance.random() < 0.5 else {}
    return Listed(raw, chance.choice((None, None, 0, 1, 2, 9, 99)), columns, chance.randrange(10**6))


def take_list(given: Listed) -> None:
    sheet = to_sheet(read_lines(decode(given.raw)), PLAYS, given.heading)
    columns = given.columns or find_columns(sheet, PLAYS)
    words = find_words(sheet, columns, PLAYS, {"zone": "power", "tear": "a play of last year"})
    chance = random.Random(given.seed)
    assert all(word.target in MEANT for word in words)
    meant = {word.text: chance.choice((word.target, chance.choice(MEANT))) for word in words}
    targets = ("+", "", *formation_targets(FORMATIONS))
    placing = Placing(FORMATIONS, {}, is_ours=chance.random() < 0.5)
    named = find_formation_words(
        sheet, columns, FORMATIONS, {"pro": "a formation of last year"}, is_ours=placing.is_ours
    )
    assert all(word.target in targets for word in named)
    placing = replace(
        placing, meanings={word.text: chance.choice((word.target, chance.choice(targets))) for word in named}
    )
    dry = dry_run(sheet, columns, meant, PLAYS, placing)
    assert dry.lines + sum(one.lines for one in dry.left_out) == len(sheet.snaps), "a line is gone without a word"
    assert all(0 < count <= COUNT_MAX * len(sheet.snaps) for count in dry.play_counts.values())
    assert all(most_common_cells(sheet, columns, column) is not None for column in Column)
    if not dry.lines:
        raise BadInput("nothing would be stored")


# backups


@functools.cache
def backup_sample() -> bytes:
    """A backup of a made-up team."""
    from server.team.install import add_team

    with tempfile.TemporaryDirectory(prefix="gapsound-fuzz-") as name:
        store = open_migrated(load_settings(data_dir=Path(name), database_url=""))
        add_team(store, FakeFootball(), FILES, NOW)
        write_backup(store, Path(name) / "backup", NOW)
        store.close()
        return (Path(name) / "backup").read_bytes()


@functools.cache
def scratch() -> Path:
    return Path(tempfile.mkdtemp(prefix="gapsound-fuzz-"))


def spoiled_backup(chance: random.Random) -> bytes:
    if chance.random() < 0.3:
        return spoiled_bytes(chance, backup_sample())
    text = spoiled(chance, gzip.decompress(backup_sample()).decode(), ("[]\n", '{"rows": {}}\n', '["team", 3]\n'))
    return gzip.compress(text.encode("utf-8", "replace"), 1)


def take_backup(raw: bytes) -> None:
    path = scratch() / "backup"
    path.write_bytes(raw)
    for table, row in read_backup(path):
        assert isinstance(table, str)
        assert isinstance(row, dict)


def spoiled_rows(chance: random.Random) -> bytes:
    """A backup with a valid checksum, with rows that don't fit the tables."""
    head, *lines, _ = gzip.decompress(backup_sample()).splitlines()
    rows = [json.loads(line) for line in lines]
    for _ in range(chance.choice((1, 1, 3))):
        table, row = chance.choice(rows)
        name = chance.choice(sorted(row))
        way = chance.randrange(5)
        if way == 0:
            row.pop(name)
        elif way == 1:
            row[chance.choice(("x", "Team_id", "id; --", ""))] = 1
        elif way == 2:
            row[name] = chance.choice((None, 3, -1, 1e300, "text", [], {}, True, 10**30, "\ud800"))
        elif way == 3:
            rows.append([table, dict(row)])
        else:
            rows.remove([table, row])
        if not rows:
            break
    counts: dict[str, int] = {}
    digest, body = hashlib.sha256(), b""
    for table, row in rows:
        line = json.dumps([table, row], separators=(",", ":"), sort_keys=True).encode() + b"\n"
        digest.update(line)
        body += line
        counts[table] = counts.get(table, 0) + 1
    foot = json.dumps({"rows": counts, "sha256": digest.hexdigest()}).encode() + b"\n"
    return gzip.compress(head + b"\n" + body + foot, 1)


def take_restore(raw: bytes) -> None:
    path = scratch() / "rows"
    path.write_bytes(raw)
    with tempfile.TemporaryDirectory(prefix="gapsound-fuzz-") as name:
        store = open_store(load_settings(data_dir=Path(name), database_url=""))
        try:
            restore(store, path)
        except Refusal:
            assert store.teams() == [], "half of it was restored"
            raise
        finally:
            store.close()
