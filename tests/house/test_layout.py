"""Layout rules: which files belong where, and what no file may contain.

The expected values are the rules themselves, written out; nothing is computed from the code.
"""

import ast
import re
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
TOP_LEVEL = {"DEVELOPERS.md", "README.md", "pyproject.toml", "quizgen", "seed_content", "server", "templates", "tests"}
TRACKED_DOT_NAMES = (".ci", ".fonts", ".licences", ".lint", ".lock", ".gitignore")
NOT_TRACKED = {"__pycache__", "build", "dist", "htmlcov"}
TEXT_SUFFIXES = {
    ".css",
    ".html",
    ".ini",
    ".js",
    ".json",
    ".jsonc",
    ".mako",
    ".md",
    ".po",
    ".py",
    ".svg",
    ".toml",
    ".txt",
    "",
}
LONGEST_FILE = 500
CATCH_ALL_NAMES = {"common", "helpers", "misc", "util", "utils"}

# Built from pieces, so that this file doesn't contain what it looks for.
MACHINE_PATHS = (
    "/" + "work/",
    "/" + "tmp/gs",
    "/" + "root/",
    "/" + "home/",
    "/" + "opt/py",
    "/" + "opt/wheels",
    "C:" + "\\\\",
)
REGISTRY_HOSTS = ("pypi" + r"\.", "python" + "hosted", "npm" + "js", "deb" + r"\." + "debian", "index" + "-url")
LEFT_OVER = ("TO" + "DO", "FIX" + "ME", "XX" + "X", "NotImplemented" + "Error")

HANDLERS = "blur|change|click|error|focus|input|key[a-z]+|load|mouse[a-z]+|pointer[a-z]+|submit|toggle|touch[a-z]+"

BANNED_WORDS = re.compile(
    r"\b(streaks?|xp|leader ?boards?|flash ?cards?|decks?|hearts?|levels?|leagues?|mascots?)\b", re.IGNORECASE
)
# Phrases where the word means something else: log level, compression level, isolation level.
NOT_FOR_PLAYERS = re.compile(r"\b(log|logging|compression|isolation)[ _-]levels?\b", re.IGNORECASE)


def files_of(*rooms: str) -> list[Path]:
    """Every project file in these folders (in all when none is given)."""
    starts = [ROOT / name for name in (rooms or (*TOP_LEVEL, *TRACKED_DOT_NAMES))]
    found = [f for start in starts for f in ([start] if start.is_file() else sorted(start.rglob("*"))) if f.is_file()]
    return [f for f in found if not NOT_TRACKED & set(f.relative_to(ROOT).parts)]


def text_files_of(*rooms: str) -> list[Path]:
    """The text files in these folders."""
    return [f for f in files_of(*rooms) if f.suffix in TEXT_SUFFIXES]


def where(path: Path, text: str, match: re.Match[str]) -> str:
    """File and line of a match, for the message."""
    return f"{path.relative_to(ROOT)}:{text.count(chr(10), 0, match.start()) + 1}: {match.group()}"


def finds(pattern: re.Pattern[str], paths: list[Path]) -> list[str]:
    """Every match of the pattern."""
    texts = ((path, path.read_text(encoding="utf-8")) for path in paths)
    return [where(path, text, match) for path, text in texts for match in pattern.finditer(text)]


def docstrings_of(tree: ast.AST) -> set[int]:
    """The ids of docstring nodes."""
    kinds = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
    bodies = (node.body for node in ast.walk(tree) if isinstance(node, kinds))
    return {id(body[0].value) for body in bodies if body and isinstance(body[0], ast.Expr)}


def words_for_people(path: Path) -> list[str]:
    """Text in a file that users may see: all of a template or content file; in code, strings of several words."""
    text = path.read_text(encoding="utf-8")
    if path.suffix != ".py":
        return [text]
    tree = ast.parse(text)
    skip = docstrings_of(tree)
    strings = (n.value for n in ast.walk(tree) if isinstance(n, ast.Constant) and id(n) not in skip)
    return [s for s in strings if isinstance(s, str) and " " in s.strip()]


def test_top_level_is_the_fixed_one() -> None:
    names = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert names - NOT_TRACKED == TOP_LEVEL


def test_no_catch_all_module() -> None:
    assert [f for f in files_of("server", "quizgen", "tests") if CATCH_ALL_NAMES & {f.stem, f.parent.name}] == []


def test_no_module_of_server_hides_one_of_python() -> None:
    """`python3 server/start.py` puts server/ first on the path, where `server/html.py` would break the library."""
    assert {f.stem for f in (ROOT / "server").iterdir()} & set(sys.stdlib_module_names) == set()


@pytest.mark.parametrize("patterns", [MACHINE_PATHS, REGISTRY_HOSTS, LEFT_OVER], ids=["paths", "hosts", "left over"])
def test_no_file_contains(patterns: tuple[str, ...]) -> None:
    assert finds(re.compile("|".join(patterns)), text_files_of()) == []


def test_no_file_of_unknown_kind() -> None:
    """Text is checked above; all other kinds must be listed here, so that nothing is added unnoticed."""
    pictures = {".ico", ".png", ".webmanifest", ".woff2", ".ttf", ".csv"}
    assert {f.suffix for f in files_of()} - TEXT_SUFFIXES - pictures == set()


def test_no_banned_word_in_texts_for_users() -> None:
    bad = [
        f"{path.relative_to(ROOT)}: {match.group()!r} in {words[:80]!r}"
        for path in text_files_of("templates", "seed_content", "server", "quizgen")
        for words in words_for_people(path)
        for match in BANNED_WORDS.finditer(NOT_FOR_PLAYERS.sub("", words))
    ]
    assert bad == []


def test_templates_and_drawings_have_no_inline_style() -> None:
    """A strict content policy refuses style attributes and style elements."""
    pattern = re.compile(rf"""\sstyle\s*=\s*["'{{]|<style\b|\son(?:{HANDLERS})\s*=|javascript:""")
    assert finds(pattern, text_files_of("templates")) == []


def test_every_outside_table_names_its_source() -> None:
    tables = [f for f in text_files_of("tests/outside") if f.suffix != ".py" or f.name.startswith("test_")]
    assert tables
    without = [f.name for f in tables if not re.search(r"source:\s*\S", f.read_text(encoding="utf-8"))]
    assert without == []


def test_every_module_says_why_it_exists() -> None:
    modules = [f for f in files_of("server", "quizgen", "tests") if f.suffix == ".py"]
    without = [f for f in modules if not ast.get_docstring(ast.parse(f.read_text(encoding="utf-8")))]
    assert [str(f.relative_to(ROOT)) for f in without] == []


def test_no_file_is_too_long_to_read() -> None:
    sources = [f for f in files_of("server", "quizgen", "templates", "tests") if f.suffix in {".py", ".html", ".js"}]
    lengths = {str(f.relative_to(ROOT)): len(f.read_text(encoding="utf-8").splitlines()) for f in sources}
    vendored = "server/static/vendor/"
    assert {f: n for f, n in lengths.items() if n > LONGEST_FILE and not f.startswith(vendored)} == {}


@pytest.mark.parametrize(
    ("words", "is_bad"),
    [
        ("Keep your streak alive", True),
        ("Next level", True),
        ("Sort the deck", True),
        ("Isolation level of the transaction", False),
        ("The wing and the end", False),
        ("experience", False),
    ],
)
def test_the_banned_word_check_finds_what_it_should(words: str, is_bad: bool) -> None:
    assert bool(BANNED_WORDS.search(NOT_FOR_PLAYERS.sub("", words))) is is_bad
