"""The table of the long report: figure, target, met or not, and a remark. Knows no model."""

from collections.abc import Sequence
from dataclasses import dataclass

from rich.console import Console
from rich.table import Table


@dataclass(frozen=True, slots=True)
class Row:
    """One figure; `target` and `met` are empty when it has no target."""

    what: str
    figure: str
    target: str = ""
    met: str = ""
    beside: str = ""


def at_most(what: str, figure: float, target: float, beside: str = "", digits: int = 4) -> Row:
    """A figure that should be at most this."""
    return Row(what, f"{figure:.{digits}f}", f"<= {target:g}", "met" if figure <= target else "NOT MET", beside)


def at_least(what: str, figure: float, target: float, beside: str = "", digits: int = 4) -> Row:
    """A figure that should be at least this."""
    return Row(what, f"{figure:.{digits}f}", f">= {target:g}", "met" if figure >= target else "NOT MET", beside)


def told(what: str, figure: float, beside: str = "", digits: int = 4) -> Row:
    """A figure without a target."""
    return Row(what, f"{figure:.{digits}f}", beside=beside)


def show(rows: Sequence[Row]) -> None:
    """Print the table, and how many targets are met."""
    table = Table(title="Mastery", title_justify="left")
    for column in ("what", "figure", "target", "met", "beside it"):
        table.add_column(column)
    for row in rows:
        table.add_row(row.what, row.figure, row.target, row.met, row.beside)
    console = Console(width=170)
    console.print(table)
    aimed = [row for row in rows if row.met]
    console.print(f"{sum(row.met == 'met' for row in aimed)} of {len(aimed)} targets met")
