"""The linters of templates, scripts and style sheets work: each finds a planted fault."""

import os
import shutil
import subprocess
import sysconfig
from pathlib import Path

import pytest

from server.start import CHECKS

ROOT = Path(__file__).resolve().parents[2]
SCRIPTS = Path(sysconfig.get_path("scripts"))
FAULTS = [
    ("pages", "templates/page.html", "<p>Four down</p>\n", "<p>Four down</p></section>\n", "H025"),
    ("pages", "templates/page.html", '<p class="a">Nose</p>\n', '<p class="a" class="b">Nose</p>\n', "H037"),
    ("scripts", "server/static/page.js", "export const a = 1;\n", "export const a = b;\n", "no-undef"),
    (
        "scripts",
        "server/static/page.js",
        "export const a = (b) => b;\n",
        "export const a = (b, c) => b == 1;\n",
        "eqeqeq",
    ),
    ("styles", "server/static/page.css", "a { color: red; }\n", "a { colour: red; }\n", "noUnknownProperty"),
    ("styles", "server/static/page.css", "a { margin: 0; }\n", "a { margin: 0 !important; }\n", "noImportantStyles"),
]


@pytest.mark.parametrize(("check", "place", "good", "bad", "rule"), FAULTS, ids=[fault[-1] for fault in FAULTS])
def test_a_fault_is_found_and_named(tmp_path: Path, check: str, place: str, good: str, bad: str, rule: str) -> None:
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    shutil.copytree(ROOT / ".lint", tmp_path / ".lint")
    file = tmp_path / place
    file.parent.mkdir(parents=True)
    program, *arguments = dict(CHECKS)[check]
    if not (SCRIPTS / program).exists() and os.environ.get("CI") != "true":
        pytest.skip(f"no {program} for this kind of machine")

    def run(text: str) -> subprocess.CompletedProcess[str]:
        file.write_text(text, encoding="utf-8")
        return subprocess.run(
            (SCRIPTS / program, *arguments), cwd=tmp_path, capture_output=True, text=True, check=False
        )

    assert run(good).returncode == 0
    found = run(bad)
    assert found.returncode == 1
    assert rule in found.stdout + found.stderr
