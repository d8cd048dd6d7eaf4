"""The commands that ask the gap engine: ``fit`` and ``check``. They read, ask and print; no football here."""

from __future__ import annotations

import csv
import json
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any, NoReturn, TypeVar

import typer
from rich.console import Console
from rich.markup import escape
from rich.progress import track
from rich.table import Table

from quizgen.content import load_team_dir
from quizgen.content.files import is_folder
from quizgen.engine.against import HUNDRED, CallAgainst, WeighedAnswer, by_call, find_accepted, weigh, weigh_snaps
from quizgen.engine.alignment import line_up
from quizgen.engine.crossing import crossings
from quizgen.engine.mending import Mending, WeightedSnap, mending_values
from quizgen.engine.mending import mend as find_mendings
from quizgen.engine.protection import solve_pass
from quizgen.engine.reasons import PLAIN, Names
from quizgen.engine.report import check_situations, fit_report, pass_report, row_values, situations
from quizgen.engine.verdict import RunAnswer, solve
from quizgen.football.errors import GapsoundError
from quizgen.football.opponent import OpponentRun
from quizgen.football.scheme import Protection
from quizgen.football.sides import Ball, Side
from quizgen.football.team import Situation, TeamBook, pass_situation, situation
from quizgen.reps.wording import Wording
from server.commands.output import AsJson, standard_output
from server.paths import SEED_CONTENT

TeamDir = Annotated[Path | None, typer.Option("--team", help="Folder of the team's TOML files.")]
BallPlace = Annotated[
    str | None, typer.Option(help="Where the ball lies, as the defense sees it: left, middle or right (else anywhere).")
]


def fail(message: str) -> NoReturn:
    """Print one problem per line on standard error and exit with code 2."""
    typer.echo(message, err=True)
    raise typer.Exit(2)


@contextmanager
def clear_errors() -> Iterator[None]:
    """Turn quizgen's deliberate errors into their message and exit code 2."""
    try:
        yield
    except GapsoundError as error:
        fail(str(error))


def demo_team_dir() -> Path:
    """The folder of the demo team."""
    return next(path.parent for path in sorted(SEED_CONTENT.glob("*/team.toml")))


def load(team: Path | None) -> TeamBook:
    """Load the team in a folder; with problems, print one per line and exit."""
    folder = team or demo_team_dir()
    if not is_folder(folder):
        fail(f"--team: expected a folder of TOML files, found {str(folder)!r}")
    with clear_errors():
        return load_team_dir(folder)


def side(option: str, text: str) -> Side:
    """Parse left or right; exit when it is neither."""
    try:
        return Side(text.strip().lower())
    except ValueError:
        fail(f"{option}: expected left or right, found {text!r}")


def ball_place(text: str | None) -> Ball | None:
    """Parse where the ball lies; exit when it is no such place."""
    try:
        return Ball(text.strip().lower()) if text is not None else None
    except ValueError:
        fail(f"--ball: expected left, middle or right, found {text!r}")


def fit(
    call: Annotated[str, typer.Option(help="Name of the call.")],
    to: Annotated[str, typer.Option(help="Side the call goes to: left or right.")],
    formation: Annotated[str, typer.Option(help="Name of the formation.")],
    play: Annotated[str, typer.Option(help="Name of the run, or of a protection.")],
    play_to: Annotated[str, typer.Option(help="Side the play goes to, or the center turns to: left or right.")],
    ball: BallPlace = None,
    motion: Annotated[str, typer.Option(help="Name of a motion of the formation; none: nobody moves.")] = "",
    team: TeamDir = None,
    as_json: AsJson = False,
) -> None:
    """Every defender's answer for one situation: lane, threat, where he ends up if he loses, and why."""
    loaded = load(team)
    sides, lies = (side("--to", to), side("--play-to", play_to)), ball_place(ball)
    names: Names = PLAIN if as_json else Wording(loaded.words)
    with clear_errors():
        if isinstance(loaded.play(play), Protection):
            passed = solve_pass(pass_situation(loaded, call, sides[0], formation, play, sides[1], lies, motion))
            report = pass_report(passed, names)
            show: Callable[[dict[str, Any]], None] = _show_pass
        else:
            one = situation(loaded, call, sides[0], formation, play, sides[1], lies, motion)
            report = {**fit_report(solve(one), names), "crossings": _crossings(one)}
            show = _show_fit
    with standard_output():
        if as_json:
            typer.echo(json.dumps(report, indent=2, ensure_ascii=False))
        else:
            show(report)


def _crossings(one: Situation) -> list[str]:
    found = crossings(line_up(one), one.formation, one.rules.timing)
    return [crossing.sentence for crossing in found]


def _heading(report: dict[str, Any]) -> str:
    motion = f" with {report['motion']} motion" if report["motion"] else ""
    call = f"{report['call']} to the {report['to']} from {report['formation']}{motion}"
    return f"{call}: {report['play']} to the {report['play_to']}"


def _show_fit(report: dict[str, Any]) -> None:
    console = Console()
    verdict = "gap sound" if report["sound"] else "NOT gap sound"
    console.print(f"[bold]{_heading(report)}[/bold]\n{verdict}: {report['why']}.")
    lanes = Table("Lane", "Between", "Owners", title="Lanes, left to right", title_justify="left")
    for lane in report["lanes"]:
        between = " and ".join(word or "the sideline" for word in lane["between"])
        lanes.add_row(lane["name"], between, ", ".join(lane["owners"]) or "nobody")
    console.print(lanes)
    fits = Table("Position", "Job", "Lane", "Arrives", "Why", title="Fits", title_justify="left")
    for one in report["fits"]:
        fits.add_row(one["position"], one["job"], one["lane"] or "-", one["arrival"] or "-", one["because"])
    console.print(fits)
    for key in ("open", "doubled", "late", "conceded", "crossings"):
        if report[key]:
            console.print(f"{key}: {'; '.join(report[key])}")
    for phase, position in report["phases"].items():
        console.print(f"{phase}: {position}")
    for key in ("frontside", "backside"):
        console.print(f"{key}: {report[key]['lanes']} lanes, {report[key]['defenders']} defenders")


def _show_pass(report: dict[str, Any]) -> None:
    console = Console()
    console.print(f"[bold]{_heading(report)}[/bold]")
    if report["adjusted"]:
        console.print(report["adjusted"])
    table = Table("Rusher", "Blocked by", "Half", "Why", title="Pass rush", title_justify="left")
    for one in report["rushers"]:
        table.add_row(one["position"], ", ".join(one["blockers"]) or "free", one["half"] or "-", one["because"])
    console.print(table)


def check(
    call: Annotated[str | None, typer.Option(help="Only this call.")] = None,
    play: Annotated[str | None, typer.Option(help="Only this run.")] = None,
    against: Annotated[str | None, typer.Option(help="Only what this opponent runs, each row with its weight.")] = None,
    unsound: Annotated[bool, typer.Option("--unsound", help="Only what is not gap sound.")] = False,
    ball: BallPlace = None,
    team: TeamDir = None,
    as_json: AsJson = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print CSV.")] = False,
) -> None:
    """The gap-sound table: every call, side, run, direction and formation; sound or not, and why."""
    if as_json and as_csv:
        fail("--csv: expected either --json or --csv, found both")
    loaded, lies = load(team), ball_place(ball)
    with clear_errors():
        opponent = loaded.opponent(against) if against is not None else None
        wanted = list(situations(loaded, call=call, play=play, ball=lies))
        names: Names = PLAIN if as_json or as_csv else Wording(loaded.words)
        answers = list(check_situations(watched(wanted, "Working out the table")))
        summary: list[str] = []
        if opponent is None:
            rows = [{**row_values(a, names), "accepted": find_accepted(loaded.accepted, a)} for a in answers]
            summary.append(_sum_of(answers))
        else:
            weighed, left = weigh(answers, opponent, loaded.accepted)
            rows = [_weighed_values(row, names) for row in weighed]
            summary += [_sum_of([row.answer for row in weighed]), *map(call_sentence, by_call(weighed))]
            summary += left_sentences(left)
        rows = [row for row in rows if not (unsound and row["sound"])]
    with standard_output():
        if as_json:
            typer.echo(json.dumps(rows, indent=1, ensure_ascii=False))
        elif as_csv:
            _print_csv(rows)
        else:
            _show_table(rows)
            typer.echo("\n".join(summary))


def _sum_of(answers: Sequence[RunAnswer]) -> str:
    sound = sum(answer.sound for answer in answers)
    return f"{len(answers)} situations tried: {sound} sound, {len(answers) - sound} not."


def _weighed_values(row: WeighedAnswer, names: Names) -> dict[str, Any]:
    return {**row_values(row.answer, names), "accepted": row.accepted, "weight": round(row.weight, WEIGHT_PLACES)}


def call_sentence(one: CallAgainst) -> str:
    """A call against a hundred snaps of an opponent: how many are sound, and what most of the others are."""
    sound = round(one.sound)
    others = round(HUNDRED) - sound
    sentence = f"{one.call}: sound on {sound} of his {HUNDRED:.0f} snaps"
    if others and one.short:
        most = one.short[0]
        count = min(round(most.snaps), others)
        part = "all of the others" if count == others else f"{count} of the other {others}"
        sentence += f"; {part} are his {most.play} from {' or '.join(most.formations)}"
    if round(one.accepted):
        sentence += f"; {round(one.accepted)} are accepted"
    return f"{sentence}."


def left_sentences(left: Sequence[OpponentRun]) -> list[str]:
    """What of his has no row in the table: passes, plays that the team lacks, runs that can't be run from there."""
    names = [f"{run.play}{f' from {run.formation}' if run.formation else ''} ({run.count:g})" for run in left]
    return [f"Not in the table: {', '.join(names)}."] if names else []


T = TypeVar("T")


def watched(steps: Sequence[T], words: str) -> Iterable[T]:
    """The same, with a bar on standard error where somebody looks at it."""
    console = Console(stderr=True)
    return track(steps, words, console=console, transient=True, disable=not console.is_terminal)


def mend(
    call: Annotated[str, typer.Option(help="Name of the call.")],
    to: Annotated[str | None, typer.Option(help="Only to this side: left or right.")] = None,
    against: Annotated[str | None, typer.Option(help="Weighed by what this opponent runs.")] = None,
    team: TeamDir = None,
    as_json: AsJson = False,
) -> None:
    """What would mend a call that is short: single changes and pairs, with what each gains and costs elsewhere."""
    loaded = load(team)
    only = side("--to", to) if to else None
    with clear_errors():
        opponent = loaded.opponent(against) if against is not None else None
        found = [s for s in situations(loaded, call=call) if only in (None, s.called[1])]
        wanted = [WeightedSnap(s) for s in found] if opponent is None else weigh_snaps(found, opponent)
        mendings = find_mendings(loaded, call, wanted, watch=lambda tried: watched(tried, "Trying changes"))
    with standard_output():
        if as_json:
            typer.echo(json.dumps([mending_values(one) for one in mendings], indent=1, ensure_ascii=False))
        else:
            _show_mendings(mendings)


def _show_mendings(found: Sequence[Mending]) -> None:
    table = Table("Change", "From", "To", "Gains", "Costs", "Sound before", "Sound after")
    for one in found[:MENDINGS_SHOWN]:
        columns = [[change.key for change in one.changes], [change.before or "-" for change in one.changes]]
        columns.append([change.after for change in one.changes])
        numbers = [f"{value:g}" for value in (one.gains, one.costs, one.sound_before, one.sound_after)]
        table.add_row(*("\n".join(escape(text) for text in column) for column in columns), *numbers)
    wide_console().print(table)
    typer.echo(
        f"{len(found)} changes, alone or in pairs, gain more than they cost; {len(found[:MENDINGS_SHOWN])} shown."
    )


PIPED_WIDTH = 400
MENDINGS_SHOWN = 20
LISTS = ("open", "doubled", "late")
WEIGHT_PLACES = 3


def _print_csv(rows: list[dict[str, Any]]) -> None:
    keys = ["call", "to", "formation", "motion", "play", "play_to", "sound", *LISTS, "why", "accepted"]
    if rows and "weight" in rows[0]:
        keys.append("weight")
    writer = csv.DictWriter(sys.stdout, keys, lineterminator="\n")
    writer.writeheader()
    for row in rows:
        flat = {key: "; ".join(row[key]) for key in LISTS}
        writer.writerow({**row, **flat, "sound": "yes" if row["sound"] else "no"})


def wide_console() -> Console:
    """A console that cuts no name: as wide as the screen, and as a table asks for where the output is piped."""
    return Console() if sys.stdout.isatty() else Console(width=PIPED_WIDTH)


def _show_table(rows: list[dict[str, Any]]) -> None:
    is_weighed = bool(rows) and "weight" in rows[0]
    table = Table("Call", "To", "Formation", "Motion", "Play", "To", "Sound", "Open", "Late", "Why")
    if is_weighed:
        table.add_column("Of his 100")
    for row in rows:
        table.add_row(
            row["call"],
            row["to"],
            row["formation"],
            row["motion"] or "",
            row["play"],
            row["play_to"],
            "yes" if row["sound"] else "accepted" if row["accepted"] else "[bold]no[/bold]",
            ", ".join(row["open"]),
            ", ".join(row["late"]),
            f"{row['why']} (accepted: {row['accepted']})" if row["accepted"] else row["why"],
            *([f"{row['weight']:.1f}"] if is_weighed else []),
        )
    wide_console().print(table)


def register(app: typer.Typer) -> None:
    """Add the engine's commands to the program."""
    app.command("fit")(fit)
    app.command("check")(check)
    app.command("mend")(mend)
