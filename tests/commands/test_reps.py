"""The command ``reps``: its list, its formats, its files, and one clear message for everything that can't be done."""

import csv
import io
import json
import subprocess
import sys
import zipfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
from defusedxml.ElementTree import fromstring
from lxml import html

from quizgen.content import load_team_dir
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.kinds import KINDS
from quizgen.reps.rep import Rep
from server.commands.booklet import numbers_of
from server.commands.football import demo_team_dir
from server.commands.main import run
from server.commands.reps import FLAT_KEYS

ROOT = Path(__file__).parents[2]
ONE = ("--position", "Mike", "--call", "Moraine", "--stage", "3", "--to", "left", "--formation", "Tight I right")
SVG = "{http://www.w3.org/2000/svg}"
FULL = Path("/dev/full")


@pytest.fixture(scope="module")
def demo() -> Catalogue:
    return Catalogue(load_team_dir(demo_team_dir()))


@cache
def made(say: Callable[[str], str]) -> Catalogue:
    return Catalogue(load_team_dir(demo_team_dir()), say)


@pytest.fixture(autouse=True)
def made_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The command makes its catalogue at every start, in a second; here one for each language serves all tests."""
    monkeypatch.setattr("server.commands.reps.Catalogue", lambda _, say: made(say))


def printed(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert run(["reps", *arguments]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    return said.out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--position", "Mik"], "position: expected one of Pick, Tamp,"),
        (["--call", "moraines"], "call: expected one of Moraine, Esker,"),
        (["--stage", "6"], "--stage: expected one of 1 (Entry gaps and order), 2 (Fits without pullers),"),
        (["--stage", "two"], "found 'two'"),
        (["--to", "up"], "--to: expected left or right, found 'up'"),
        (["--play", "Sneak"], "scheme: expected one of Inside zone,"),
        (["--scheme", "Sneak"], "scheme: expected one of Inside zone,"),
        (["--formation", "T"], "formation: expected one of Open I right,"),
        (["--kind", "tracks"], "kind: expected one of track, adjust, order,"),
        (["--lang", "fr"], "--lang: expected one of en, es, found 'fr'"),
        (["--limit", "-1"], "--limit"),
        (["--limit", "many"], "--limit"),
        (["--id", "nonsense"], "rep: expected the id of a rep of this team, found 'nonsense'"),
        (["--team", "nowhere"], "--team: expected a folder of TOML files, found 'nowhere'"),
        (
            ["--json", "--csv"],
            "--csv: expected one of --json, --csv, --html, --svg, --png and --qti, found --json and --csv",
        ),
        (["--counts", "--html", "x.html"], "--counts: expected alone, or with --json or --csv, found --html"),
        (["--counts", "--id", "x"], "--counts: expected a filter, found --id"),
        (["--html", "reps.pdf"], "--html: expected a file name that ends in .html, found 'reps.pdf'"),
        (["--html", "no/such/place/x.html"], "--html: expected a place that can be written"),
        (["--svg", "pyproject.toml"], "--svg: expected a folder that can be written, found 'pyproject.toml'"),
    ],
)
def test_bad_input_is_one_line(
    arguments: list[str], message: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    assert run(["reps", *arguments]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    [line] = said.err.splitlines()
    assert message in line


def test_the_table_names_each_rep(capsys: pytest.CaptureFixture[str], demo: Catalogue) -> None:
    text = printed(capsys, *ONE, "--limit", "3")
    wanted = {"positions": ["Mike"], "calls": ["Moraine"], "stages": [3], "formations": ["Tight I right"]}
    listed = [rep for rep in demo.reps(**wanted) if rep.to.value == "left"][:3]  # type: ignore[arg-type]
    assert len(listed) == 3
    assert [rep.id in text for rep in listed] == [True] * 3
    assert text.rstrip().endswith("3 reps.")


def test_every_filter_filters(capsys: pytest.CaptureFixture[str]) -> None:
    play = ("--play", "Power", "--play", "Guard kick")
    rows = json.loads(printed(capsys, *ONE, *play, "--limit", "0", "--json"))
    assert rows
    for row in rows:
        of = (row["position"], row["call"], row["stage"], row["to"], row["formation"])
        assert of == ("Mike", "Moraine", 3, "left", "Tight I right")
    assert {row["play"] for row in rows} == {"Power", "Guard kick"}
    [kind] = {row["kind"] for row in json.loads(printed(capsys, "--kind", "edge", "--limit", "5", "--json"))}
    assert kind == "edge"


def test_finding_nothing_is_no_error(capsys: pytest.CaptureFixture[str]) -> None:
    assert "0 reps." in printed(capsys, "--kind", "track", "--stage", "3")
    assert json.loads(printed(capsys, "--kind", "track", "--stage", "3", "--json")) == []


def test_json_holds_the_whole_rep(capsys: pytest.CaptureFixture[str], demo: Catalogue) -> None:
    [row] = json.loads(printed(capsys, *ONE, "--limit", "1", "--json"))
    rep = demo.rep(row["id"])
    assert (row["stem"], row["because"], row["kind"]) == (rep.stem, rep.because, rep.kind)
    for said, part in zip(row["parts"], rep.parts, strict=True):
        assert said["prompt"] == part.prompt
        assert {choice["id"] for choice in said["choices"] if choice["right"]} == part.right
        assert [choice["leaves"] for choice in said["choices"]] == [choice.leaves for choice in part.choices]


def test_csv_has_one_line_per_rep(capsys: pytest.CaptureFixture[str]) -> None:
    rows = list(csv.DictReader(io.StringIO(printed(capsys, *ONE, "--limit", "4", "--csv"))))
    assert len(rows) == 4
    assert tuple(rows[0]) == FLAT_KEYS
    for row in rows:
        assert row["right"]
        assert len(row["wrong"].split(" | ")) == len(row["leaves"].split(" | "))


def test_a_seed_gives_another_order_the_same_each_time(capsys: pytest.CaptureFixture[str]) -> None:
    def ids(*more: str) -> list[str]:
        return [row["id"] for row in json.loads(printed(capsys, "--position", "Nose", "--json", "--limit", "6", *more))]

    assert ids() == ids()
    assert ids("--seed", "7") == ids("--seed", "7")
    assert ids("--seed", "7") != ids()
    assert ids("--seed", "7") != ids("--seed", "8")


def test_one_by_its_id_in_spanish(capsys: pytest.CaptureFixture[str]) -> None:
    [row] = json.loads(printed(capsys, *ONE, "--limit", "1", "--json"))
    [spanish] = json.loads(printed(capsys, "--id", row["id"], "--lang", "es", "--json"))
    assert spanish["id"] == row["id"]
    assert spanish["stem"] != row["stem"]
    assert [part["choices"][0]["id"] for part in spanish["parts"]] == [p["choices"][0]["id"] for p in row["parts"]]


def test_counts_are_what_is_listed(capsys: pytest.CaptureFixture[str]) -> None:
    listed = json.loads(printed(capsys, *ONE, "--limit", "0", "--json"))
    counted = json.loads(printed(capsys, *ONE, "--counts", "--json"))
    assert counted["total"] == len(listed) > 0
    assert counted["by_kind"] == {k: n for k in KINDS if (n := sum(row["kind"] == k for row in listed))}
    assert counted["by_stage"] == {"3": len(listed)}
    assert counted["by_position"] == {"Mike": len(listed)}
    rows = list(csv.DictReader(io.StringIO(printed(capsys, *ONE, "--counts", "--csv"))))
    assert sum(int(row["reps"]) for row in rows) == len(listed)
    assert f"{len(listed)} reps." in printed(capsys, *ONE, "--counts")


def test_the_page_holds_every_rep_and_needs_nothing_else(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, demo: Catalogue
) -> None:
    file = tmp_path / "reps.html"
    assert "12 reps in" in printed(capsys, "--limit", "12", "--html", str(file))
    text = file.read_text(encoding="utf-8")
    page = html.document_fromstring(text)
    leaves = page.findall(".//article")
    reps = [demo.rep(leaf.get("id").removeprefix("rep-")) for leaf in leaves]
    assert len(reps) == 12
    for leaf, rep in zip(leaves, reps, strict=True):
        check_leaf(leaf, rep)
    assert page.xpath("//script|//link|//img|//*[@src]") == []
    assert {a.get("href")[1:] for a in page.iter("a")} == {leaf.get("id") for leaf in leaves}
    assert "url(http" not in text
    assert "@import" not in text
    ids = [element.get("id") for element in page.xpath("//*[@id]")]
    assert len(ids) == len(set(ids))


def check_leaf(leaf: html.HtmlElement, rep: Rep) -> None:
    words = " ".join(leaf.text_content().split())
    assert rep.stem in words
    assert rep.because in words
    assert len(leaf.findall(".//svg")) >= 2
    lines = leaf.xpath(".//ul[contains(@class,'lines')]/li")
    choices = [(choice, part) for part in rep.parts for choice in part.choices]
    assert len(lines) == len(choices)
    for line, (choice, part) in zip(lines, choices, strict=True):
        assert choice.label in line.text_content()
        assert choice.leaves in line.text_content()
        assert ("is-right" in line.get("class")) is (choice.id in part.right)


@pytest.mark.slow
def test_the_page_in_spanish_names_kinds_and_stages(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "reps.html"
    for kind in KINDS:
        printed(capsys, "--kind", kind, "--limit", "1", "--lang", "es", "--html", str(file))
        page = html.document_fromstring(file.read_text(encoding="utf-8"))
        assert page.get("lang") == "es"
        heading = page.find(".//article/header/p").text_content()
        assert KINDS[kind].title not in heading
        assert "Stage" not in heading


def test_what_may_be_tapped_carries_the_number_of_its_choice(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, demo: Catalogue
) -> None:
    kinds = ("--kind", "hooked", "--kind", "half-man", "--kind", "behind-you")
    printed(capsys, *kinds, "--limit", "60", "--svg", str(tmp_path / "new" / "folder"))
    files = sorted((tmp_path / "new" / "folder").iterdir())
    assert len(files) == 120
    assert {file.name.split("-")[0] for file in files} == {"hooked", "half", "behind"}
    for file in files:
        root = fromstring(file.read_text(encoding="utf-8"))
        rep = demo.rep(file.stem.split("-")[-2])
        numbers = numbers_of(rep)
        written = [element.text for element in root.iter(SVG + "text")]
        if file.stem.endswith("question"):
            assert [written.count(str(number)) for number in numbers.values()] == [1] * len(numbers)
        taps = [group for group in root.iter(SVG + "g") if group.get("data-choice")]
        assert len(taps) == (len(numbers) if file.stem.endswith("question") else 0)


def test_png_pictures(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert "2 pictures" in printed(capsys, "--kind", "edge", "--limit", "1", "--png", str(tmp_path))
    for file in tmp_path.iterdir():
        head = file.read_bytes()[:24]
        assert head[:8] == b"\x89PNG\r\n\x1a\n"  # source: W3C, Portable Network Graphics, 5.2 PNG signature
        assert int.from_bytes(head[16:20]) == 720


def test_a_package_of_questions(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "questions.zip"
    printed(capsys, *ONE, "--limit", "3", "--qti", str(file))
    with zipfile.ZipFile(file) as package:
        assert sum(name.startswith("rep-") for name in package.namelist()) == 3
    for wrong in (tmp_path / "questions.xml", tmp_path / "nowhere" / "questions.zip"):
        assert run(["reps", *ONE, "--limit", "1", "--qti", str(wrong)]) == 2
        assert "--qti: expected a file name that ends in .zip" in capsys.readouterr().err


def test_png_without_the_library_is_one_line(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "resvg_py", None)
    assert run(["reps", "--limit", "1", "--png", str(tmp_path / "out")]) == 2
    [line] = capsys.readouterr().err.splitlines()
    assert "--png: expected the library resvg-py" in line
    assert not (tmp_path / "out").exists()


def test_a_page_that_can_not_be_written_leaves_the_old_file(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "reps.html"
    file.write_text("what was there", encoding="utf-8")

    def full(self: Path, *_: object, **__: object) -> int:
        self.write_bytes(b"half of it")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    assert run(["reps", "--limit", "1", "--html", str(file)]) == 2
    [line] = capsys.readouterr().err.splitlines()
    assert "expected a place that can be written" in line
    assert "No space left" in line
    assert file.read_bytes() == b"what was there"
    assert [one.name for one in tmp_path.iterdir()] == ["reps.html"]


CHECK = ("check", "--call", "Moraine", "--play", "Power")
FIT = (
    "fit",
    "--call",
    "Moraine",
    "--to",
    "left",
    "--formation",
    "Open I right",
    "--play",
    "Power",
    "--play-to",
    "left",
)
WHY = "standard output: expected to be read to its end, but"


@pytest.mark.slow
@pytest.mark.parametrize("command", [("reps", "--limit", "400", "--json"), CHECK, (*FIT, "--json")], ids=" ".join)
def test_a_reader_who_leaves_is_one_line(command: tuple[str, ...]) -> None:
    whole = [sys.executable, "-m", "server.commands.main", *command]
    with subprocess.Popen(whole, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        said = process.stderr.read().decode()
    assert process.returncode == 1
    assert said == f"{WHY} it was closed\n"


@pytest.mark.slow
@pytest.mark.skipif(not FULL.exists(), reason="this system has no /dev/full")
@pytest.mark.parametrize("command", [("reps", "--limit", "5"), (*CHECK, "--csv"), FIT], ids=" ".join)
def test_a_full_disk_is_one_line(command: tuple[str, ...]) -> None:
    with FULL.open("w") as full:
        whole = [sys.executable, "-m", "server.commands.main", *command]
        done = subprocess.run(whole, cwd=ROOT, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert (done.returncode, done.stderr) == (1, f"{WHY} No space left on device\n")
