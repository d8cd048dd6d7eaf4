"""Marked tests get a real browser and database server, and a missing one is never silent."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import psycopg
import pytest

from tests.harness.chromium import ARGUMENTS

HERE = Path(__file__).resolve().parent
ONE_OF_EACH = """
import pytest

@pytest.mark.browser
def test_page():
    pass

def test_page_by_fixture(chromium_path):
    pass

def test_rows(postgres_url):
    pass

def test_plain():
    pass
"""


@pytest.mark.browser
def test_chromium_draws_a_page(chromium_path: str, tmp_path: Path) -> None:
    page = "data:text/html,<title>A gap</title><svg width='40' height='40'><rect width='40' height='40'/></svg>"
    run = subprocess.run(
        (chromium_path, "--headless", *ARGUMENTS, f"--user-data-dir={tmp_path}", "--dump-dom", page),
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert '<rect width="40" height="40">' in run.stdout


def test_each_test_gets_a_database_of_its_own(postgres_url: str) -> None:
    with psycopg.connect(postgres_url.replace("+psycopg", "")) as connection:
        connection.execute("CREATE TABLE note (words text)")
        connection.execute("INSERT INTO note VALUES ('kept')")
        assert connection.execute("SELECT words FROM note").fetchall() == [("kept",)]


def test_the_next_test_gets_an_empty_one(postgres_url: str) -> None:
    with psycopg.connect(postgres_url.replace("+psycopg", "")) as connection:
        assert connection.execute("SELECT to_regclass('note')").fetchone() == (None,)


@pytest.mark.parametrize("is_ci", [False, True], ids=["at home", "in CI"])
def test_without_them_tests_are_skipped_loudly_and_fail_in_ci(tmp_path: Path, is_ci: bool) -> None:
    shutil.copy(HERE.parent / "conftest.py", tmp_path)
    shutil.copy(HERE.parent.parent / "pyproject.toml", tmp_path)
    conftest = tmp_path / "conftest.py"
    hide = f"import tests.harness.postgres as p; p.DEBIANS = Path({str(tmp_path)!r})\n"
    conftest.write_text(conftest.read_text() + hide)
    (tmp_path / "tests").mkdir()
    (tmp_path / "tests/test_each.py").write_text(ONE_OF_EACH)
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("GAPSOUND_", "CI", "PYTEST_"))}
    run = subprocess.run(
        (sys.executable, "-m", "pytest", "-p", "no:cacheprovider"),
        cwd=tmp_path,
        env={**kept, "PATH": str(tmp_path), **({"CI": "true"} if is_ci else {})},
        capture_output=True,
        text=True,
        check=False,
    )
    if is_ci:
        assert run.returncode == 1
        assert "1 passed, 3 errors" in run.stdout
        assert "CI must not skip browser tests" in run.stdout
        return
    assert run.returncode == 0, run.stdout + run.stderr
    assert "1 passed, 3 skipped" in run.stdout
    lines = [line for line in run.stdout.splitlines() if line.startswith("skipped:")]
    assert [line.split(":")[1].strip() for line in lines] == ["2 browser test(s)", "1 postgres test(s)"]
    assert "apt-get install chromium" in lines[0]
    assert "apt-get install postgresql" in lines[1]
    assert re.search(r"^seed of this run: \d+ ", run.stdout, re.MULTILINE)
    assert re.search(r"\d  tests/test_each.py::test_plain$", run.stdout, re.MULTILINE)  # among the slowest
    assert re.search(r"^processor time by room: top \d+$", run.stdout, re.MULTILINE)
    assert re.search(r"^processor time in all: \d+ s user, \d+ s system$", run.stdout, re.MULTILINE)
