"""Every rep can be drawn: the question, the moved picture and each miss, valid by svgwrite's check."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest

from quizgen.drawing.frame import frame_of
from quizgen.drawing.scene import BandState, End, Point, Scene, Tone
from quizgen.drawing.svg import draw
from quizgen.football.team import TeamBook
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.kinds import KINDS
from quizgen.reps.rep import Rep
from tests.drawing.valid import faults_in

SVG = "{http://www.w3.org/2000/svg}svg"

NOT_SMALL = ("adjust",)  # the small team's calls go as called and change for nothing


def misses(rep: Rep) -> list[Scene]:
    """The picture after each single wrong choice, the other parts right."""
    rights = [min(part.right) for part in rep.parts]
    return [
        rep.after([*rights[:number], choice.id, *rights[number + 1 :]])
        for number, part in enumerate(rep.parts)
        for choice in part.choices
        if choice.id not in part.right
    ]


@pytest.mark.parametrize("kind", KINDS)
def test_the_first_of_each_kind_is_valid(kind: str, small: TeamBook, demo: Catalogue) -> None:
    rep = next((demo if kind in NOT_SMALL else Catalogue(small)).reps(kinds=[kind]))
    for scene in (rep.scene, rep.moved, misses(rep)[0]):
        drawing = draw(scene)
        assert ET.fromstring(drawing).tag == SVG
        assert faults_in(drawing) == []


def test_a_sample_of_the_demo_can_be_drawn(sample: list[Rep]) -> None:
    for rep in sample[::19]:
        for scene in (rep.scene, rep.moved):
            assert draw(scene) == draw(scene)


def test_every_miss_is_a_scene(sample: list[Rep]) -> None:
    for rep in sample:
        for scene in misses(rep):
            assert {man.id for man in scene.men} == {man.id for man in rep.moved.men}


def test_nobody_jumps_when_the_answer_takes_the_place_of_the_question(sample: list[Rep]) -> None:
    for rep in sample[::7]:
        before = frame_of(rep.scene)
        for scene in (rep.moved, *misses(rep)):
            after = frame_of(scene)
            for man in rep.scene.men:
                assert after.px(Point(man.x, man.y)) == pytest.approx(before.px(Point(man.x, man.y)))


def test_the_line_before_the_snap_is_to_scale_after_the_answer_too(sample: list[Rep]) -> None:
    # Who pulls leaves the picture of the question narrower; where he came from is still drawn as far from the next man.
    for rep in sample[::3]:
        frame = frame_of(rep.moved)
        line = sorted(man.x for man in rep.moved.blockers if man.y == 0.0 and abs(man.x) < 4.0)
        for one, two in pairwise(line):
            assert frame.x_px(two) - frame.x_px(one) == pytest.approx((two - one) * frame.scale)


def test_a_card_shows_a_way_for_every_lineman_who_blocks_and_for_the_ball(small: TeamBook) -> None:
    # Base: five linemen go straight ahead, nobody else moves but the back with the ball, to the gap the play aims at.
    rep = next(Catalogue(small).reps(kinds=["support"], schemes=["Base"], formations=["Even"]))
    ways = {track.id: track for track in rep.moved.tracks if track.is_scout}
    on_line = {f"to-{man.id}" for man in rep.moved.blockers if abs(man.x) < 4.0 and man.y == 0.0}
    back = next(f"to-{man.id}" for man in rep.moved.blockers if man.label == "T")
    assert set(ways) == {*on_line, back}
    assert ways[back].points[-1].y < 0
    assert {ways[name].end for name in on_line} == {End.T}


def test_the_players_own_man_is_in_every_picture(sample: list[Rep]) -> None:
    for rep in sample:
        assert rep.moved.find_own() is not None
        # where he stands would tell the side of the call, which `adjust` asks
        assert (rep.scene.find_own() is None) == (rep.kind == "adjust")


def test_his_own_man_goes_where_he_is_told_whatever_he_tapped(sample: list[Rep]) -> None:
    seen = set()
    for rep in sample:
        if rep.kind not in ("track", "moved-gap", "pull-read", "edge", "support"):
            continue
        part = rep.parts[0]
        own = {choice.band for choice in part.choices if choice.id in part.right} - {""}
        if not own:
            continue
        wrong = next(choice for choice in part.choices if choice.id not in part.right)
        after = rep.after([wrong.id, *(min(other.right) for other in rep.parts[1:])])
        man = after.find_own()
        assert man is not None
        bands = [band for band in after.bands if band.id in own]
        x = after.place(man.id, after.end_s).x
        spans = [after.span_x(band.span, after.end_s) for band in bands]
        assert any((low is None or low < x) and (high is None or x < high) for low, high in spans), rep.id
        assert {band.state for band in bands} == {BandState.RIGHT}
        seen.add(rep.kind)
    assert seen >= {"moved-gap", "pull-read"}


def test_every_kind_moves_after_the_answer_and_the_ball_has_a_holder(sample: list[Rep]) -> None:
    for rep in sample:
        assert rep.moved.end_s > 0.5, (rep.kind, rep.id)
        assert rep.scene.ball is not None
        assert rep.moved.ball is not None
        if rep.play is not None:
            last = rep.moved.man(rep.moved.holder(rep.moved.end_s))
            assert last.y > 0.5, (rep.kind, rep.id)  # it has left the center


def test_who_tells_wrongly_where_he_ends_up_sees_that_lane_and_the_one_he_took(sample: list[Rep]) -> None:
    seen = 0
    for rep in sample:
        if rep.kind != "hooked":
            continue
        who, where = rep.parts
        right = {choice.band for choice in where.choices if choice.id in where.right}
        wrong = next(choice for choice in where.choices if choice.id not in where.right)
        after = rep.after([min(who.right), wrong.id])
        states = {band.id: band.state for band in after.bands if band.state is not BandState.PLAIN}
        assert states == {wrong.band: BandState.WRONG, **dict.fromkeys(right, BandState.RIGHT)}
        assert after.tracks == rep.moved.tracks
        assert after.motions == rep.moved.motions
        seen += 1
    assert seen


def test_the_loser_of_an_open_gap_leaves_it(sample: list[Rep]) -> None:
    for rep in sample:
        if rep.kind != "open-gap":
            continue
        opened = {choice.band for choice in rep.parts[0].choices if choice.id in rep.parts[0].right}
        lost = [track for track in rep.moved.tracks if track.tone is Tone.WRONG]
        assert lost
        for band in rep.moved.bands:
            if band.id in opened:
                x_from, x_to = rep.moved.span_x(band.span, rep.moved.end_s)
                x = lost[-1].points[-1].x
                assert (x_from is not None and x <= x_from) or (x_to is not None and x >= x_to)


def test_descriptions_say_where_he_stands(sample: list[Rep]) -> None:
    for rep in sample:
        assert rep.scene.description.startswith("Seen from behind your defense. On their line from your left: ")
        told = rep.moved if rep.kind == "adjust" else rep.scene  # its question tells neither his place nor the side
        assert f"You are {rep.position}, " in told.description
        assert "yard" in told.description
        assert told.title.startswith(f"{rep.call} {rep.to.value}, ")
        if rep.kind == "adjust":
            assert "You are" not in rep.scene.description
            assert rep.scene.title == f"{rep.call}, {rep.formation}"
