"""The SVG: the same bytes each time, valid, without style or script, telling nothing before the answer."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from defusedxml.ElementTree import fromstring
from hypothesis import given, settings
from lxml import etree

from quizgen.drawing.palette import DARK, LIGHT, PRINT, stylesheet
from quizgen.drawing.scene import Scene
from quizgen.drawing.svg import draw, draw_print, stills
from tests.drawing import samples
from tests.drawing.valid import faults_in
from tests.drawing.wild import questions

ROOT = Path(__file__).parents[2]
SVG = "{http://www.w3.org/2000/svg}"
SAMPLES = pytest.mark.parametrize("scene", samples.ALL.values(), ids=samples.ALL)


def every_drawing(scene: Scene) -> list[str]:
    return [
        draw(scene),
        *stills(scene, (0.0, scene.end_s)),
        draw_print(scene),
        draw_print(scene, is_offense_view=False),
    ]


@SAMPLES
def test_svgwrite_finds_nothing_wrong(scene):
    for drawing in every_drawing(scene):
        assert faults_in(drawing) == []


@settings(max_examples=15)
@given(questions())
def test_svgwrite_finds_nothing_wrong_with_any_scene(scene):
    assert faults_in(draw(scene)) == []


def test_a_wrong_value_is_found():
    assert faults_in(draw(samples.TRACK).replace('rx="6"', 'rx="round"')) != []


@SAMPLES
def test_two_more_parsers_read_it(scene):
    for drawing in every_drawing(scene):
        assert etree.fromstring(drawing.encode()).tag == SVG + "svg"
        assert fromstring(drawing).tag == SVG + "svg"


@SAMPLES
def test_nothing_a_strict_content_policy_forbids(scene):
    for drawing in every_drawing(scene):
        for element in fromstring(drawing).iter():
            assert element.tag.removeprefix(SVG) not in ("style", "script", "foreignObject", "image", "a", "animate")
            for name, value in element.attrib.items():
                assert name != "style"
                assert not name.startswith("on")
                assert "http" not in value
                if name.endswith("href"):
                    assert value.startswith("#")


@SAMPLES
def test_it_is_an_image_with_a_title_and_a_description(scene):
    root = fromstring(draw(scene))
    assert root.get("role") == "img"
    title, description = root.findall(SVG + "title")[0], root.findall(SVG + "desc")[0]
    assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
    assert (title.text, description.text) == (scene.title, scene.description)
    assert root.get("viewBox").split()[0::2] == ["0", "360"]


def test_words_are_never_markup():
    scene = Scene('<b>&"', "</desc><script>alert(1)</script>", samples.line())
    root = fromstring(draw(scene))
    assert root.find(SVG + "title").text == '<b>&"'
    assert root.find(SVG + "desc").text == "</desc><script>alert(1)</script>"


@SAMPLES
def test_ids_are_used_once_and_every_reference_is_met(scene):
    for drawing in every_drawing(scene):
        ids = re.findall(r'\bid="([^"]+)"', drawing)
        assert len(ids) == len(set(ids))
        asked = re.findall(r'href="#([^"]+)"', drawing) + re.findall(r"url\(#([^)]+)\)", drawing)
        assert set(asked) <= set(ids)


def test_pictures_on_one_page_share_no_id():
    drawings = [draw(scene) for scene in samples.ALL.values()]
    drawings += [*stills(samples.PULL, (0.0, 1.0, 2.0)), draw(samples.PULL, at_s=1.0), draw_print(samples.PULL)]
    prefixes = [re.search(r'aria-labelledby="(\w+)t ', drawing).group(1) for drawing in drawings]
    assert len(prefixes) == len(set(prefixes))


@SAMPLES
def test_what_is_tapped_is_named_by_its_choice_and_by_nothing_else(scene):
    root = fromstring(draw(scene))
    groups = [group for group in root.iter(SVG + "g") if group.get("class") == "tap"]
    in_order = sorted(scene.taps, key=lambda tap: -tap.part)
    assert [group.get("data-choice") for group in groups] == [tap.id for tap in in_order]
    for group in groups:
        assert set(group.attrib) <= {"class", "data-choice", "data-part"}
        (area,) = [part for part in group if "gs-hit" in (part.get("class") or "").split()]
        if area.tag == SVG + "rect":
            assert float(area.get("width")) >= 44
            assert float(area.get("height")) >= 44


def test_before_the_answer_every_choice_looks_the_same():
    drawing = draw(samples.TRACK)
    for word in ("right", "wrong", "tick", "cross", "open"):
        assert f"-{word}" not in drawing
    groups = re.findall(r'<g class="tap".*?</g>', drawing)
    looks = {re.sub(r'[-\d.]+|data-choice="\w"|>[A-D]<', "", group) for group in groups}
    assert len(looks) == 1


def test_the_same_scene_gives_the_same_bytes_in_another_process():
    code = "import sys, samples; from quizgen.drawing.svg import draw; print(*map(draw, samples.ALL.values()))"
    here = [draw(scene) for scene in samples.ALL.values()]
    for seed in ("1", "2"):
        surroundings = {"PYTHONHASHSEED": seed, "PYTHONPATH": f"{ROOT}{os.pathsep}{Path(__file__).parent}"}
        done = subprocess.run(
            [sys.executable, "-c", code], cwd=ROOT, env=surroundings, capture_output=True, text=True, check=True
        )
        assert done.stdout.strip() == " ".join(here)


# -- motion ---------------------------------------------------------------------------------------


def key_at(keys: str, which: int) -> str:
    return "translate({})".format(keys.split(";")[which].split(" ", 1)[1])


def test_a_still_at_the_snap_shows_the_first_keys_and_one_at_the_end_the_last():
    scene = samples.PULL
    moving = [element for element in fromstring(draw(scene)).iter() if element.get("data-k")]
    assert len(moving) >= 9
    first, last = stills(scene, (0.0, scene.end_s))
    for element in moving:
        if element.get("data-from") is None:
            assert element.get("transform") == key_at(element.get("data-k"), 0)
            assert f'transform="{key_at(element.get("data-k"), 0)}"' in first
        if element.get("data-to") is None:
            assert f'transform="{key_at(element.get("data-k"), -1)}"' in last
    assert draw(scene).count('data-end="2.2"') == 1


def test_keys_are_in_the_form_the_page_reads():
    key = r"\d+(\.\d{1,2})? -?\d+(\.\d)? -?\d+(\.\d)?"
    found = re.findall(r'data-kw?="([^"]+)"', draw(samples.PULL))
    assert found
    for keys in found:
        assert re.fullmatch(f"{key}(;{key})+", keys)
        times = [float(one.split()[0]) for one in keys.split(";")]
        assert times[0] == 0
        assert times == sorted(set(times))


def test_bands_are_seen_only_in_their_time():
    root = fromstring(draw(samples.PULL))
    bands = [element for element in root.iter(SVG + "rect") if element.get("data-kw")]
    assert [(band.get("data-from"), band.get("data-to")) for band in bands] == [
        (None, "0.5"),
        ("1.4", None),
        ("0.5", None),
        ("1.4", None),
    ]
    assert [band.get("visibility") for band in bands] == [None, "hidden", "hidden", "hidden"]


def test_a_still_carries_no_motion():
    for drawing in (*stills(samples.PULL, (0.0, 1.0)), draw_print(samples.PULL), draw(samples.TRACK)):
        for word in ("data-k", "data-end", "data-from", "data-to", "hidden"):
            assert word not in drawing


def test_stills_share_one_frame():
    views = {re.search(r'viewBox="([^"]+)"', drawing).group(1) for drawing in stills(samples.PULL, (0.0, 1.0, 2.2))}
    assert len(views) == 1


# -- colours --------------------------------------------------------------------------------------


def colours(drawing: str) -> set[str]:
    return set(re.findall(r"#[0-9a-f]{6}\b", drawing))


def test_print_is_grey_and_carries_no_class_a_page_could_colour():
    drawing = draw_print(samples.PULL, at_s=samples.PULL.end_s)
    for colour in colours(drawing):
        assert colour[1:3] == colour[3:5] == colour[5:7]
    assert "gs-f-" not in drawing
    assert "gs-s-" not in drawing


def test_every_colour_comes_from_the_palette_and_has_its_class():
    palette = {getattr(LIGHT, name): name for name in LIGHT.__slots__}
    for scene in samples.ALL.values():
        for element in fromstring(draw(scene)).iter():
            for attribute in ("fill", "stroke"):
                value = element.get(attribute, "none")
                if value.startswith("#"):
                    assert value in palette
                    letter = attribute[0]
                    assert re.search(rf"\bgs-{letter}-[\w-]+", element.get("class"))


def test_the_style_sheet_knows_every_class_that_is_drawn():
    drawn = set()
    for scene in samples.ALL.values():
        drawn |= set(re.findall(r"gs-[fs]-[a-z-]+", draw(scene) + draw(scene, at_s=scene.end_s)))
    sheet = stylesheet()
    assert drawn
    for name in drawn:
        assert f".{name}{{" in sheet
    for palette in (LIGHT, DARK, PRINT):
        assert palette.ink in sheet


@SAMPLES
def test_a_drawing_fits_in_a_rep(scene):
    assert len(draw(scene).encode()) < 12_000
