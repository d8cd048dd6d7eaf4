"""Charts match their counts: as long and high as the share of right answers, empty where nothing was asked."""

from datetime import date, timedelta
from xml.etree import ElementTree as ET

import pytest

from server.progress.answer_counts import StageCount, Week
from server.progress.charts import HIGH, WIDE, stage_chart, week_chart

MONDAY = date(2026, 11, 2)


def shapes(svg: str, name: str, kind: str) -> list[dict[str, str]]:
    """The attributes of the shapes with that tag and class."""
    root = ET.fromstring(svg)
    found = [one.attrib for one in root.iter() if one.tag.endswith(f"}}{name}")]
    return [one for one in found if kind in one.get("class", "").split()]


def count(stage: int, side: str, right: int, answered: int) -> StageCount:
    return StageCount(stage, side, right, answered, 1, None)


def test_a_bar_is_as_long_as_the_share_that_was_right() -> None:
    svg = stage_chart(
        [count(1, "left", 3, 4), count(1, "right", 1, 2), count(2, "left", 5, 5), count(2, "right", 0, 6)]
    )
    assert [float(bar["width"]) / WIDE for bar in shapes(svg, "rect", "share")] == pytest.approx([0.75, 0.5, 1.0])
    assert len(shapes(svg, "rect", "track")) == 4


def test_left_and_right_differ_by_more_than_colour() -> None:
    assert shapes(stage_chart([count(1, "right", 2, 2)]), "line", "stripe")
    assert not shapes(stage_chart([count(1, "left", 2, 2)]), "line", "stripe")


def test_what_was_never_asked_has_a_dotted_line_and_no_bar() -> None:
    svg = stage_chart([count(1, "left", 1, 1), count(1, "right", 0, 0)])
    assert len(shapes(svg, "rect", "track")) == 1
    assert len(shapes(svg, "line", "none")) == 1


def test_a_column_is_as_high_as_the_share() -> None:
    weeks = [Week(MONDAY + timedelta(weeks=n), right, 4) for n, right in enumerate((1, 4, 0))]
    columns = shapes(week_chart(weeks), "rect", "share")
    assert [float(one["height"]) / HIGH for one in columns] == pytest.approx([0.25, 1.0])
    assert [float(one["y"]) + float(one["height"]) for one in columns] == pytest.approx([HIGH, HIGH])


def test_no_answers_no_chart() -> None:
    assert stage_chart([]) == stage_chart([count(1, "left", 0, 0)]) == ""
    assert week_chart([]) == week_chart([Week(MONDAY, 0, 0)]) == ""


def test_it_has_no_inline_style_and_is_hidden_from_screen_readers() -> None:
    for svg in (stage_chart([count(1, "left", 1, 2)]), week_chart([Week(MONDAY, 1, 2)])):
        assert "style" not in svg
        assert ET.fromstring(svg).get("aria-hidden") == "true"
