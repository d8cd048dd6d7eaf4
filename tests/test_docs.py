"""The documents say what is there, no more and no less: commands, sections.

Each comparison is an exact set equality between a page and the code, so that neither can grow without the other.
"""

import re
from pathlib import Path

import pydantic
import typer.core
import typer.main

from quizgen.reps.kinds import KINDS
from server.commands.main import app
from server.settings import PREFIX, Settings

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def section(page: str, title: str) -> str:
    """The text under a second-order heading."""
    _, found, rest = page.partition(f"\n## {title}\n")
    assert found, f"no section {title!r}"
    return rest.split("\n## ")[0]


def rows_of(page: str, title: str) -> list[list[str]]:
    """The cells of a section's table, row by row, without its heading."""
    lines = [line for line in section(page, title).splitlines() if line.startswith(("| ", "|-"))]
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines[2:]]


def first_column(page: str, title: str) -> list[str]:
    """The code words in the first column of a section's table."""
    return [row[0].strip("`") for row in rows_of(page, title)]


def test_the_readme_opens_with_the_job_and_gives_two_commands() -> None:
    title, opening, *_ = README.split("\n\n")
    assert title == "# Gapsound"
    assert "coach" in opening
    assert "player" in opening
    blocks = re.findall(r"^```\n(.*?)^```", section(README, "Start"), re.DOTALL | re.MULTILINE)
    assert blocks == ["python3 server/start.py demo\n", "python3 server/start.py test\n"]


def test_ci_runs_the_commands_of_the_readme() -> None:
    """The demo is started there by a small program that reads its command from the README."""
    ci = (ROOT / ".ci/run").read_text(encoding="utf-8").splitlines()
    assert "python3 server/start.py test" in ci
    assert "python3 .ci/time_demo.py" in ci
    assert "README.md" in (ROOT / ".ci/time_demo.py").read_text(encoding="utf-8")


def test_what_enables_skipped_tests_is_written_down() -> None:
    used = set(
        re.findall(r"GAPSOUND_TEST_[A-Z]+(?:_[A-Z]+)*", (ROOT / "tests/conftest.py").read_text(encoding="utf-8"))
    )
    told = set(re.findall(r"`(GAPSOUND_TEST_[A-Z_]+)`", section(DEVELOPERS, "Set-up")))
    assert told == used


def default_of(name: str, field: pydantic.fields.FieldInfo) -> str:
    """A setting's default as the README writes it."""
    if name == "data_dir":  # differs by operating system
        return "the user's data folder"
    return f"`{field.default}`" if field.default not in ("", None) else ""


def test_settings_in_the_readme_are_exactly_those_of_the_code() -> None:
    code = [
        [f"`{PREFIX}{name.upper()}`", default_of(name, field), field.description or ""]
        for name, field in Settings.model_fields.items()
    ]
    assert rows_of(README, "Settings") == code


def commands_of(group: typer.core.TyperGroup, prefix: str) -> list[list[str]]:
    """Every command under a group with the first paragraph of its help."""
    rows = []
    for name, command in group.commands.items():
        if isinstance(command, typer.core.TyperGroup):
            rows += commands_of(command, f"{prefix} {name}")
        else:
            rows.append([f"`{prefix} {name}`", " ".join((command.help or "").split("\n\n")[0].split())])
    return rows


def test_commands_in_the_readme_are_exactly_those_of_the_program() -> None:
    program = typer.main.get_command(app)
    assert isinstance(program, typer.core.TyperGroup)
    assert rows_of(README, "Commands") == commands_of(program, "gapsound")


def test_figures_on_the_page_are_exactly_those_that_can_be_run() -> None:
    runnable = {path.stem for path in (ROOT / "tests/bench").glob("*.py") if "__main__" in path.read_text("utf-8")}
    assert sorted(first_column(DEVELOPERS, "Figures and long forms")) == sorted(runnable)


def test_kinds_of_rep_on_the_page_are_exactly_those_of_the_catalogue() -> None:
    assert rows_of(DEVELOPERS, "Kinds of rep") == [[f"`{kind.id}`", kind.title] for kind in KINDS.values()]


def test_the_licence_is_the_same_everywhere() -> None:
    assert '\nlicense = "MIT AND OFL-1.1"' in (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    assert section(README, "Licence").strip().startswith("MIT (`.licences/MIT.txt`)")
    assert (ROOT / ".licences" / "MIT.txt").read_text(encoding="utf-8").startswith("MIT License\n")


def test_cautions_defer_to_those_who_decide() -> None:
    cautions = section(README, "Cautions").lower()
    for word in ("state association", "school", "athletic trainer", "contact", "heat"):
        assert word in cautions


def test_developers_page_has_its_sections_and_links_to_them() -> None:
    sections = re.findall(r"^## (.+)$", DEVELOPERS, re.MULTILINE)
    for title in (
        "Set-up",
        "The house",
        "Which test to write when",
        "Kinds of rep",
        "Decisions",
        "Changes",
    ):
        assert title in sections
    anchors = {re.sub(r"[^a-z0-9 -]", "", title.lower()).replace(" ", "-") for title in sections}
    linked = set(re.findall(r"\]\(#([^)]+)\)", DEVELOPERS))
    assert linked <= anchors


def test_developers_page_can_be_read_in_one_sitting() -> None:
    assert len(DEVELOPERS.encode()) <= 16_000


def test_every_decision_has_date_choice_and_what_was_rejected() -> None:
    decisions = re.split(r"\n- ", section(DEVELOPERS, "Decisions"))[1:]
    assert 0 < len(decisions) <= 10  # those that still shape the whole; all others stand beside their line
    wrong = [d[:60] for d in decisions if not re.match(r"\*\*20\d\d-\d\d-\d\d · .+?\.\*\*", d) or "Rejected:" not in d]
    assert wrong == []
