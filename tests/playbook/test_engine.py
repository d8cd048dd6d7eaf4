"""The engine's adapter: drawings for pages that quizgen doesn't make itself."""

import re
from dataclasses import replace

from quizgen.drawing.svg import draw
from server.playbook.engine import Engine
from tests.drawing import samples


def chosen_in(svg: str) -> list[str]:
    return re.findall(r'<g class="tap is-chosen"[^>]*>', svg)


def without_ids(svg: str) -> str:
    """The SVG without its element ids, which are derived from everything drawn."""
    return re.sub(r"g[0-9a-f]{8}", "", svg)


def test_tapped_choices_are_marked_and_nothing_else_changes() -> None:
    scene = samples.TRACK
    drawn = Engine().draw_tapped(scene, [scene.taps[1].id])
    [tap] = chosen_in(drawn)
    assert f'data-choice="{scene.taps[1].id}"' in tap
    assert without_ids(drawn.replace("tap is-chosen", "tap")) == without_ids(draw(scene))
    assert Engine().draw_tapped(scene, ["nosuch"]) == draw(scene)


def test_tapped_choices_are_marked_in_their_part_only() -> None:
    first, *others = samples.TRACK.taps
    scene = replace(samples.TRACK, taps=(replace(first, part=2), *others))
    assert chosen_in(Engine().draw_tapped(scene, [first.id, "nosuch"])) == []
    [tap] = chosen_in(Engine().draw_tapped(scene, ["nosuch", first.id]))
    assert f'data-choice="{first.id}"' in tap
    assert 'data-part="2"' in tap
