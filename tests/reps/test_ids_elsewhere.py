"""The same content gives the same ids in another process, whatever the hashing, and from files read in any order; an
edit of a file changes the ids that it touches and no others."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
import tomli_w

from quizgen.content import load_team, read_team_dir
from quizgen.reps.catalogue import Catalogue, setup_stage
from quizgen.reps.ids import Setup
from tests.reps.conftest import DEMO

ROOT = Path(__file__).parents[2]
PRINT_IDS = """
import hashlib, sys
from pathlib import Path
from quizgen.content import load_team_dir
from quizgen.reps.catalogue import Catalogue
catalogue = Catalogue(load_team_dir(Path(sys.argv[1])))
reps = [rep for _, rep in zip(range(40), catalogue.reps(seed="ids"))]
text = "\\n".join([*sorted(catalogue.setups), *(f"{rep.id} {rep.picture} {rep.guise} {rep.stem}" for rep in reps)])
print(hashlib.sha256(text.encode()).hexdigest(), len(catalogue.setups), len(reps))
"""


@pytest.fixture(scope="module")
def files() -> dict[str, str]:
    return dict(read_team_dir(DEMO))


@pytest.fixture(scope="module")
def setups(files: dict[str, str]) -> dict[str, Setup]:
    return dict(Catalogue(load_team(files)).setups)


def ids_in_a_process(seed: str, folder: Path) -> str:
    environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-c", PRINT_IDS, str(folder)]
    return subprocess.run(command, env=environment, check=True, capture_output=True, text=True).stdout


def shuffled_copy(files: dict[str, str], folder: Path) -> Path:
    """The same team as other bytes: files written in another order, tables of each file turned round, keys sorted."""
    for name in sorted(files, reverse=True):
        content = tomllib.loads(files[name])
        turned = {
            key: value[::-1] if is_list_of_tables(value) and may_turn(name) else value
            for key, value in sorted(content.items(), reverse=True)
        }
        (folder / name).write_text(tomli_w.dumps(turned), encoding="utf-8")
    return folder


def is_list_of_tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(one, dict) for one in value)


def may_turn(name: str) -> bool:
    return name != "rules.toml"


def test_another_process_and_another_order_of_files(files: dict[str, str], tmp_path: Path) -> None:
    here = ids_in_a_process("0", DEMO)
    assert here.split()[1:] == ["26148", "40"]
    assert ids_in_a_process("4294967295", DEMO) == here
    assert ids_in_a_process("random", shuffled_copy(files, tmp_path)) == here


def edited(files: dict[str, str], name: str, find: str, put: str) -> dict[str, Setup]:
    assert files[name].count(find) >= 1, (name, find)
    return dict(Catalogue(load_team({**files, name: files[name].replace(find, put, 1)})).setups)


def first_block(text: str, table: str) -> str:
    """The first table of that kind in a file, as text."""
    return re.split(rf"(?m)^\[\[{table}\]\]$", text)[1]


Touched = Callable[[Setup], bool]


def check_only(before: dict[str, Setup], after: dict[str, Setup], touched: Touched) -> None:
    gone = [setup for digest, setup in before.items() if digest not in after]
    new = [setup for digest, setup in after.items() if digest not in before]
    assert gone
    assert len(gone) == len(new)
    assert all(touched(setup) for setup in (*gone, *new))
    assert not any(touched(setup) for digest, setup in before.items() if digest in after)


def test_an_edit_of_one_play(files: dict[str, str], setups: dict[str, Setup]) -> None:
    name = re.search(r'name = "([^"]+)"', first_block(files["plays.toml"], "play"))
    assert name is not None
    play = next(s.play for s in setups.values() if s.play is not None and s.play.name == name.group(1))
    after = edited(files, "plays.toml", f'name = "{play.name}"', f'name = "{play.name}"\nball_s = 2.9')
    check_only(setups, after, lambda setup: setup.play is not None and setup.play.name == play.name)


def test_an_edit_of_one_call(files: dict[str, str], setups: dict[str, Setup]) -> None:
    call = re.search(r'name = "([^"]+)"', first_block(files["pressures.toml"], "pressure"))
    assert call is not None
    old = files["pressures.toml"]
    block = first_block(old, "pressure")
    peel = block.replace("peel = false", "peel = true") if "peel = false" in block else f"\npeel = true{block}"
    after = dict(Catalogue(load_team({**files, "pressures.toml": old.replace(block, peel, 1)})).setups)
    # a call that checks to it is played as it is
    check_only(setups, after, lambda setup: setup.played.pressure.name == call.group(1))


def test_an_edit_of_one_front(files: dict[str, str], setups: dict[str, Setup]) -> None:
    content = tomllib.loads(files["fronts.toml"])
    front = next(iter(content.values()))[-1]
    depth = next(spot for spot in front["spot"] if spot.get("depth", 0) > 3)
    depth["depth"] += 0.25
    after = dict(Catalogue(load_team({**files, "fronts.toml": tomli_w.dumps(content)})).setups)
    check_only(setups, after, lambda setup: setup.front.name == front["name"])


def test_what_is_no_part_of_a_question_changes_nothing(files: dict[str, str], setups: dict[str, Setup]) -> None:
    roster = tomllib.loads(files["roster.toml"])
    next(iter(roster.values()))[0]["name"] = "Somebody"
    remark = {name: f"# a remark\n{text}\n\n" for name, text in files.items()}
    after = Catalogue(load_team({**remark, "roster.toml": tomli_w.dumps(roster)})).setups
    assert after.keys() == setups.keys()
    assert {setup_stage(setup) for setup in after.values()} == {1, 2, 3, 4, 5}
