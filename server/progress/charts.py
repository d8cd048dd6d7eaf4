"""Small charts for coaches' pages, drawn on the server with svgwrite; the table beside each has the same numbers.

Colours come from the style sheet by class, so that charts follow light and dark. They are hidden from screen readers,
which read the table. Rejected: a charting script (weight, and a second way to draw). Knows nothing of where the counts
come from.
"""

from __future__ import annotations

from collections.abc import Sequence

import svgwrite
from svgwrite.container import Group

from server.progress.answer_counts import StageCount, Week

BAR, GAP, STEP = 10, 2, 34  # px: a bar, the gap between a stage's two bars, the step to the next stage
LABEL, WIDE = 18, 110
COLUMN, HIGH = 18, 64


def stage_chart(counts: Sequence[StageCount]) -> str:
    """A bar for each stage and side, as long as the share of right answers; only an outline where nothing was asked.

    Left and right differ in fill, solid and striped, not only in colour. Empty without counts.
    """
    if not any(one.answered for one in counts):
        return ""
    bars = Group()
    for n, stage in enumerate(dict.fromkeys(one.stage for one in counts)):
        pair = [one for one in counts if one.stage == stage]
        bars.add(svgwrite.text.Text(str(stage), insert=(0, n * STEP + BAR + 5), class_="label", debug=False))
        for m, one in enumerate(pair):
            y = n * STEP + m * (BAR + GAP)
            bars.add(_bar(LABEL, y, WIDE, BAR, one.right, one.answered, f"of-{one.side}", lies=True))
    return _drawing(bars, LABEL + WIDE, (n + 1) * STEP - (STEP - 2 * BAR - GAP), "chart-stages")


def week_chart(weeks: Sequence[Week]) -> str:
    """A column for each week, as high as the share of right answers; a line at the bottom for a week without
    answers."""
    if not any(week.answered for week in weeks):
        return ""
    columns = Group()
    for n, week in enumerate(weeks):
        columns.add(_bar(n * COLUMN, 0, COLUMN - 4, HIGH, week.right, week.answered, "of-week", lies=False))
    return _drawing(columns, len(weeks) * COLUMN, HIGH, "chart-weeks")


def _bar(x: int, y: int, wide: int, high: int, right: int, answered: int, kind: str, *, lies: bool) -> Group:
    """A horizontal or vertical bar in its track; a line in the middle of the track when nothing was answered."""
    one = Group()
    if not answered:
        ends = ((x, y + high / 2), (x + wide, y + high / 2)) if lies else ((x, y + high - 1), (x + wide, y + high - 1))
        one.add(_shape("line", start=ends[0], end=ends[1], class_="none"))
        return one
    share = right / answered
    size = (round(wide * share, 1), high) if lies else (wide, round(high * share, 1))
    at = (x, y) if lies else (x, round(y + high - size[1], 1))
    if right:
        one.add(_shape("rect", insert=at, size=size, class_=f"share {kind}"))
        if kind == "of-right":
            for stripe in range(x + 5, int(x + size[0]), 6):
                one.add(_shape("line", start=(stripe, y + 1), end=(stripe, y + high - 1), class_="stripe"))
    one.add(_shape("rect", insert=(x + 0.5, y + 0.5), size=(wide - 1, high - 1), class_="track"))
    return one


def _shape(name: str, **given: object) -> object:
    return getattr(svgwrite.shapes, name.capitalize())(debug=False, **given)


def _drawing(content: Group, wide: float, high: float, kind: str) -> str:
    drawing = svgwrite.Drawing(debug=False, size=(wide, high), class_=f"chart {kind}")
    drawing.viewbox(0, 0, wide, high)
    drawing["aria-hidden"] = "true"
    drawing.add(content)
    return str(drawing.tostring())
