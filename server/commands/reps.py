"""The command ``reps``: a team's catalogue as a table, as data, as a page, as pictures.

It reads, asks and prints. The order is fixed; a seed gives another one, the same each time.
"""

from __future__ import annotations

import csv
import io
import json
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console
from rich.progress import track
from rich.table import Table

from quizgen.reps.catalogue import Catalogue, Counts, Filter
from quizgen.reps.ids import Setup
from quizgen.reps.kinds import KINDS
from quizgen.reps.rep import Rep, Stage
from server.commands.football import TeamDir, clear_errors, fail, load, side
from server.commands.output import AsJson, standard_output

if TYPE_CHECKING:
    from server.i18n.languages import Language

LIMIT = 40
Names = list[str] | None


@dataclass(frozen=True, slots=True)
class RepFilter:
    """What the command line asks for: which reps, in which order, how many (0: all), in which language."""

    filter: Filter
    rep_id: str
    seed: str
    limit: int
    language: Language


def reps(
    position: Annotated[Names, typer.Option(help="Only this position; may be given several times.")] = None,
    call: Annotated[Names, typer.Option(help="Only this call; may be given several times.")] = None,
    stage: Annotated[Names, typer.Option(help="Only this stage, 1 to 5; may be given several times.")] = None,
    to: Annotated[str | None, typer.Option(help="Only the call to this side: left or right.")] = None,
    play: Annotated[
        Names, typer.Option("--play", "--scheme", help="Only this run or protection; may be given several times.")
    ] = None,
    formation: Annotated[Names, typer.Option(help="Only this formation; may be given several times.")] = None,
    kind: Annotated[Names, typer.Option(help="Only this kind of rep; may be given several times.")] = None,
    rep_id: Annotated[str, typer.Option("--id", help="Only the rep of this id.")] = "",
    limit: Annotated[int, typer.Option(min=0, help="At most so many; 0: all.")] = LIMIT,
    seed: Annotated[str, typer.Option(help="Another order for each word or number given.")] = "",
    lang: Annotated[str, typer.Option(help="Language of the reps: en or es.")] = "en",
    counts: Annotated[bool, typer.Option("--counts", help="How many there are, by kind, stage and position.")] = False,
    as_json: AsJson = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print CSV, a line a rep.")] = False,
    page: Annotated[Path | None, typer.Option("--html", help="Write one page with pictures to this file.")] = None,
    svg: Annotated[Path | None, typer.Option("--svg", help="Write pictures as SVG into this folder.")] = None,
    png: Annotated[Path | None, typer.Option("--png", help="Write pictures as PNG into this folder.")] = None,
    qti: Annotated[Path | None, typer.Option("--qti", help="Write a QTI 3.0 package to this file.")] = None,
    team: TeamDir = None,
) -> None:
    """List the reps that a team's content gives, or write them with their pictures to leaf through."""
    from server.i18n.languages import LANGUAGES, language

    ways = {"--json": as_json, "--csv": as_csv, "--html": page, "--svg": svg, "--png": png, "--qti": qti}
    _check_ways([name for name, chosen in ways.items() if chosen], counts=counts, is_one=bool(rep_id))
    if lang not in LANGUAGES:
        fail(f"--lang: expected one of {', '.join(LANGUAGES)}, found {lang!r}")
    sides = None if to is None else (side("--to", to),)
    asked = Filter(position, call, _stages(stage), sides, kind, play, formation)
    wanted = RepFilter(asked, rep_id, seed, limit, language(lang))
    catalogue = Catalogue(load(team), wanted.language.translate_template)
    with clear_errors():
        if counts:
            _show_counts(catalogue, wanted, as_json=as_json, as_csv=as_csv)
        elif page is not None:
            _write_page(catalogue, wanted, page)
        elif folder := svg or png:
            _write_pictures(catalogue, wanted, folder, as_png=svg is None)
        elif qti is not None:
            _write_package(catalogue, wanted, qti)
        elif as_json:
            _print(json.dumps([row_of(rep) for rep in _found(catalogue, wanted)], indent=1, ensure_ascii=False))
        elif as_csv:
            _print(_csv_of([flat_row_of(rep) for rep in _found(catalogue, wanted)], FLAT_KEYS))
        else:
            _show_table(_found(catalogue, wanted))


def _check_ways(chosen: Sequence[str], *, counts: bool, is_one: bool) -> None:
    if len(chosen) > 1:
        fail(
            f"{chosen[1]}: expected one of --json, --csv, --html, --svg, --png and --qti, found {' and '.join(chosen)}"
        )
    if counts and chosen and chosen[0] not in ("--json", "--csv"):
        fail(f"--counts: expected alone, or with --json or --csv, found {chosen[0]}")
    if counts and is_one:
        fail("--counts: expected a filter, found --id")


def _stages(named: Names) -> tuple[int, ...] | None:
    """Parse stages; exit when one is unknown."""
    if named is None:
        return None
    known = {str(int(one)): int(one) for one in Stage}
    for text in named:
        if text not in known:
            each = ", ".join(f"{int(one)} ({one.title})" for one in Stage)
            fail(f"--stage: expected one of {each}, found {text!r}")
    return tuple(known[text] for text in named)


def _by(f: Filter) -> dict[str, Any]:
    """The filter as keyword arguments of the catalogue."""
    return {one.name: getattr(f, one.name) for one in fields(f)}


def _found(catalogue: Catalogue, wanted: RepFilter) -> list[Rep]:
    """The reps wanted. Raises: UnknownName, UnknownRep, NoRule."""
    if wanted.rep_id:
        return [catalogue.rep(wanted.rep_id)]
    listed = catalogue.reps(**_by(wanted.filter), seed=wanted.seed)
    return list(_watched(islice(listed, wanted.limit or None), "Working out the reps", wanted.limit or None))


def _watched(steps: Iterable[Any], what: str, total: int | None = None) -> Iterable[Any]:
    """The steps one by one, with a progress bar on standard error if that is a terminal."""
    console = Console(stderr=True)
    return track(steps, what, total=total, console=console, transient=True, disable=not console.is_terminal)


# -- in print ----------------------------------------------------------------------------------------------------------


def _print(text: str) -> None:
    with standard_output():
        sys.stdout.write(text if text.endswith("\n") else text + "\n")


def _print_table(*tables: Table | str) -> None:
    drawn = Console(file=io.StringIO(), width=None if sys.stdout.isatty() else 160, color_system=None)
    with drawn.capture() as captured:
        for table in tables:
            drawn.print(table)
    _print(captured.get())


def side_words(name: str, to: Any) -> str:
    """A name with its side: "Power left"."""
    return f"{name} {to.value}" if to is not None else name


def _show_table(found: Sequence[Rep]) -> None:
    table = Table("Id", "Kind", "Stage", "Position", "Call", "Against", "Question")
    for rep in found:
        against = f"{side_words(rep.play, rep.play_to)}, {rep.formation}" if rep.play else rep.formation
        call = side_words(rep.call, rep.to)
        table.add_row(rep.id, rep.kind, str(int(rep.stage)), rep.position, call, against, rep.stem)
    _print_table(table, _how_many(len(found)))


def _how_many(count: int) -> str:
    return f"{count} rep." if count == 1 else f"{count} reps."


def row_of(rep: Rep) -> dict[str, Any]:
    """A rep as JSON values with stable keys."""
    return {
        "id": rep.id,
        "kind": rep.kind,
        "stage": int(rep.stage),
        "position": rep.position,
        "call": rep.call,
        "to": rep.to.value,
        "formation": rep.formation,
        "play": rep.play,
        "play_to": rep.play_to.value if rep.play_to else None,
        "stem": rep.stem,
        "parts": [
            {
                "prompt": part.prompt,
                "choices": [
                    {
                        "id": choice.id,
                        "label": choice.label,
                        "right": choice.id in part.right,
                        "leaves": choice.leaves,
                        "relation": choice.relation,
                    }
                    for choice in part.choices
                ],
            }
            for part in rep.parts
        ],
        "because": rep.because,
    }


BEFORE_PARTS = ("id", "kind", "stage", "position", "call", "to", "formation", "play", "play_to", "stem")
FLAT_KEYS = (*BEFORE_PARTS, "right", "wrong", "leaves", "relations", "because")


def flat_row_of(rep: Rep) -> dict[str, Any]:
    """A rep as one row of a table; several values in one cell are separated by a bar."""
    row = row_of(rep)
    choices = [choice for part in row["parts"] for choice in part["choices"]]
    wrong = [choice for choice in choices if not choice["right"]]
    return {
        **{key: row[key] for key in BEFORE_PARTS},
        "right": " | ".join(choice["label"] for choice in choices if choice["right"]),
        "wrong": " | ".join(choice["label"] for choice in wrong),
        "leaves": " | ".join(choice["leaves"] for choice in wrong),
        "relations": " | ".join(choice["relation"] for choice in wrong),
        "because": row["because"],
    }


def _csv_of(rows: Iterable[dict[str, Any]], keys: Sequence[str]) -> str:
    text = io.StringIO()
    writer = csv.DictWriter(text, keys, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


# -- counted -----------------------------------------------------------------------------------------------------------


def _show_counts(catalogue: Catalogue, wanted: RepFilter, *, as_json: bool, as_csv: bool) -> None:
    def watch(setups: Sequence[Setup]) -> Iterable[Setup]:
        return _watched(setups, "Counting", len(setups))

    found = catalogue.counts(**_by(wanted.filter), watch=watch)
    if as_csv:
        rows = [cell._asdict() | {"stage": int(cell.stage), "to": cell.to.value, "reps": n} for cell, n in cells(found)]
        _print(_csv_of(rows, ("kind", "stage", "position", "call", "to", "reps")))
        return
    tables = tables_of(found, [position.name for position in catalogue.team.positions])
    if as_json:
        counts = {"total": found.total, **tables, "cannot_run": found.cannot_run, "no_rule": len(found.no_rule)}
        _print(json.dumps(counts, indent=1, ensure_ascii=False))
        return
    shown: list[Table | str] = []
    for what, rows_ in tables.items():
        table = Table(what.removeprefix("by_").capitalize(), "Reps")
        for name, count in rows_.items():
            table.add_row(f"{name}: {Stage(int(name)).title}" if what == "by_stage" else name, f"{count:,}")
        shown.append(table)
    rest = f"{found.cannot_run} situations that the formation cannot run, {len(found.no_rule)} without a rule."
    _print_table(*shown, f"{found.total:,} reps. {rest}", *sorted(set(found.no_rule.values())))


def cells(found: Counts) -> list[tuple[Any, int]]:
    """The counted cells in a stable order."""
    return sorted(found.reps.items(), key=lambda one: (one[0].kind, *map(str, one[0][1:])))


def tables_of(found: Counts, positions: Sequence[str]) -> dict[str, dict[str, int]]:
    """The counts by kind, by stage and by position, in the catalogue's, the teaching and the team's order."""
    by: dict[str, Counter[str]] = {"kind": Counter(), "stage": Counter(), "position": Counter()}
    for cell, count in found.reps.items():
        by["kind"][cell.kind] += count
        by["stage"][str(int(cell.stage))] += count
        by["position"][cell.position] += count
    orders = {"kind": tuple(KINDS), "stage": [str(int(one)) for one in Stage], "position": positions}
    return {f"by_{what}": {name: by[what][name] for name in order if by[what][name]} for what, order in orders.items()}


# -- in pictures -------------------------------------------------------------------------------------------------------


def _write_page(catalogue: Catalogue, wanted: RepFilter, file: Path) -> None:
    from server.commands.booklet import page_of, write_atomically

    if file.suffix.lower() not in (".html", ".htm"):
        fail(f"--html: expected a file name that ends in .html, found {str(file)!r}")
    if not file.parent.is_dir():
        fail(f"--html: expected a place that can be written, found {str(file)!r} (no such folder)")
    found = _found(catalogue, wanted)
    asked = _asked_words(wanted.filter) if not wanted.rep_id else {}
    text = page_of(catalogue.team.name, _watched(found, "Drawing", len(found)), asked, wanted.language)
    write_atomically("--html", file, text)
    _print(f"{_how_many(len(found)).rstrip('.')} in {file}, {len(text.encode()) // 1024} kB.")


def _asked_words(f: Filter) -> dict[str, list[str]]:
    """The filters used, by name, with their values."""
    chosen = {
        "position": f.positions,
        "call": f.calls,
        "stage": [str(one) for one in f.stages or ()],
        "side": [one.value for one in f.sides or ()],
        "play": f.schemes,
        "formation": f.formations,
        "kind": f.kinds,
    }
    return {name: list(values) for name, values in chosen.items() if values}


def _write_pictures(catalogue: Catalogue, wanted: RepFilter, folder: Path, *, as_png: bool) -> None:
    from server.commands.booklet import check_library, paint, pictures_of, write_atomically

    option = "--png" if as_png else "--svg"
    if as_png:
        check_library()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        fail(f"{option}: expected a folder that can be written, found {str(folder)!r} ({error.strerror})")
    found = _found(catalogue, wanted)
    for rep in _watched(found, "Drawing", len(found)):
        for what, drawing in pictures_of(rep):
            name = f"{rep.kind}-{rep.id}-{what}"
            content: str | bytes = paint(drawing) if as_png else drawing
            write_atomically(option, folder / f"{name}{'.png' if as_png else '.svg'}", content)
    _print(f"{2 * len(found)} pictures in {folder}.")


def _write_package(catalogue: Catalogue, wanted: RepFilter, file: Path) -> None:
    from server.commands.booklet import write_atomically
    from server.playbook.engine import Engine
    from server.playbook.question_package import make_package
    from server.playbook.stored_reps import snapshot

    if file.suffix.lower() != ".zip" or not file.parent.is_dir():
        fail(f"--qti: expected a file name that ends in .zip in a folder that exists, found {str(file)!r}")
    found, engine, now = _found(catalogue, wanted), Engine(), datetime.now(UTC)
    drawn = [snapshot(engine, "", rep, now) for rep in _watched(found, "Drawing", len(found))]
    write_atomically("--qti", file, make_package(drawn, catalogue.team.name, wanted.language.code))
    _print(f"{_how_many(len(found)).rstrip('.')} in {file}.")


def register(app: typer.Typer) -> None:
    """Add the command to the program."""
    app.command("reps")(reps)
