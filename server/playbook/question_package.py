"""Questions as a 1EdTech QTI 3.0 content package, for programs that ask questions: a ZIP file with a manifest, an item
for each rep, and its picture.

A part that is answered by a tap in the picture is a hot-spot interaction with the lanes' and men's rectangles; any
other is a choice interaction. An item is right when every part is, scores 1 or 0, and tells the reason afterwards, as
the phone does. It names nobody. The vocabulary is QTI 3.0's ("Assessment, Section and Item Information Model" and its
best practices), from memory: no registry carries the schema. Knows no football: it reads reps as they are stored.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree as ET

from server.database.tables import KeptRep

ITEM = "http://www.imsglobal.org/xsd/imsqtiasi_v3p0"
MANIFEST = "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1"
XML = "http://www.w3.org/XML/1998/namespace"
SVG = "{http://www.w3.org/2000/svg}"
ITEM_TYPE, PICTURE_TYPE = "imsqti_item_xmlv3p0", "webcontent"
PACKAGE_TYPE = "application/zip"
#: The date in the ZIP file's entries, always the same, so that the same questions make the same bytes.
ENTRY_DATE = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class HotSpot:
    """What can be tapped in a picture for one choice: its rectangle from the picture's left and top, in its units."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def coords(self) -> str:
        """As QTI writes a rectangle: left, top, right, bottom in whole pixels."""
        return ",".join(str(round(one)) for one in (self.left, self.top, self.right, self.bottom))


def read_spots(svg: str) -> tuple[float, float, Mapping[str, HotSpot]]:
    """Width and height of a question's picture, and its spots by choice."""
    picture = ET.fromstring(svg)  # noqa: S314 - our own drawing
    x0, y0, width, height = (float(one) for one in picture.get("viewBox", "0 0 0 0").split())
    spots = {}
    for tap in picture.iter(f"{SVG}g"):
        choice = tap.get("data-choice")
        hit = next((one for one in tap.iter(f"{SVG}rect") if "gs-hit" in one.get("class", "").split()), None)
        if choice and hit is not None:
            left, top = float(hit.attrib["x"]) - x0, float(hit.attrib["y"]) - y0
            spots[choice] = HotSpot(left, top, left + float(hit.attrib["width"]), top + float(hit.attrib["height"]))
    return width, height, spots


def name_of(rep: KeptRep) -> str:
    """A rep's identifier in the package; a rep's id may begin with a digit, an identifier may not."""
    return f"rep-{rep.rep_id}"


def item_of(rep: KeptRep, language: str) -> bytes:
    """One rep as an assessment item."""
    width, height, spots = read_spots(rep.before_svg)
    item = ET.Element(
        "qti-assessment-item",
        {
            "xmlns": ITEM,
            "identifier": name_of(rep),
            "title": rep.stem[:200],
            "adaptive": "false",
            "time-dependent": "false",
            "xml:lang": language,
        },
    )
    for number, part in enumerate(rep.parts, start=1):
        declared = ET.SubElement(
            item,
            "qti-response-declaration",
            {"identifier": f"RESPONSE_{number}", "cardinality": "single", "base-type": "identifier"},
        )
        correct = ET.SubElement(declared, "qti-correct-response")
        ET.SubElement(correct, "qti-value").text = sorted(part["right"])[0]
    for name, base in (("SCORE", "float"), ("FEEDBACK", "identifier")):
        outcome = ET.SubElement(
            item, "qti-outcome-declaration", {"identifier": name, "cardinality": "single", "base-type": base}
        )
        if name == "SCORE":
            ET.SubElement(ET.SubElement(outcome, "qti-default-value"), "qti-value").text = "0"
    body = ET.SubElement(item, "qti-item-body")
    ET.SubElement(body, "p").text = rep.stem
    picture = {"src": f"pictures/{name_of(rep)}.svg", "width": str(round(width)), "height": str(round(height))}
    picture["alt"] = alt_of(rep.before_svg) or rep.stem
    parts = [(f"RESPONSE_{number}", part) for number, part in enumerate(rep.parts, start=1)]
    if not any(can_tap(part, spots) for _, part in parts):
        ET.SubElement(ET.SubElement(body, "p"), "img", picture)
    for name, part in parts:
        add_interaction(body, name, part, spots, picture)
    add_processing(item, parts)
    for name in ("right", "wrong"):
        feedback = ET.SubElement(
            item,
            "qti-modal-feedback",
            {"outcome-identifier": "FEEDBACK", "identifier": name, "show-hide": "show"},
        )
        ET.SubElement(ET.SubElement(feedback, "qti-content-body"), "p").text = rep.because
    return to_bytes(item)


def can_tap(part: Mapping[str, Any], spots: Mapping[str, HotSpot]) -> bool:
    """Whether every choice of a part has its place in the picture."""
    return all(choice["id"] in spots for choice in part["choices"])


def add_interaction(
    body: ET.Element, name: str, part: Mapping[str, Any], spots: Mapping[str, HotSpot], picture: Mapping[str, str]
) -> None:
    """A part's prompt and choices: in the picture if they have their places there, else as a list."""
    is_tapped = can_tap(part, spots)
    interaction = ET.SubElement(
        body,
        "qti-hotspot-interaction" if is_tapped else "qti-choice-interaction",
        {"response-identifier": name, "max-choices": "1"},
    )
    ET.SubElement(interaction, "qti-prompt").text = part["prompt"]
    if not is_tapped:
        for choice in part["choices"]:
            ET.SubElement(interaction, "qti-simple-choice", {"identifier": choice["id"]}).text = choice["label"]
        return
    ET.SubElement(interaction, "img", dict(picture))
    for choice in part["choices"]:
        about = {"identifier": choice["id"], "shape": "rect", "coords": spots[choice["id"]].coords}
        ET.SubElement(interaction, "qti-hotspot-choice", {**about, "hotspot-label": choice["label"]})


def add_processing(item: ET.Element, parts: Sequence[tuple[str, Mapping[str, Any]]]) -> None:
    """Right when each part has one of its right choices."""
    condition = ET.SubElement(ET.SubElement(item, "qti-response-processing"), "qti-response-condition")
    right = ET.SubElement(condition, "qti-response-if")
    every = ET.SubElement(right, "qti-and")
    for name, part in parts:
        one_of = ET.SubElement(every, "qti-or")
        for choice in sorted(part["right"]):
            match = ET.SubElement(one_of, "qti-match")
            ET.SubElement(match, "qti-variable", {"identifier": name})
            ET.SubElement(match, "qti-base-value", {"base-type": "identifier"}).text = choice
    set_values(right, "1", "right")
    set_values(ET.SubElement(condition, "qti-response-else"), "0", "wrong")


def set_values(branch: ET.Element, score: str, feedback: str) -> None:
    """Set the score and which feedback is shown."""
    for name, base, value in (("SCORE", "float", score), ("FEEDBACK", "identifier", feedback)):
        outcome = ET.SubElement(branch, "qti-set-outcome-value", {"identifier": name})
        ET.SubElement(outcome, "qti-base-value", {"base-type": base}).text = value


def alt_of(svg: str) -> str:
    """A picture's title, for who doesn't see it."""
    found = re.search(r"<title[^>]*>([^<]*)</title>", svg)
    return found[1] if found else ""


def manifest_of(reps: Sequence[KeptRep], title: str) -> bytes:
    """The package's list of what is in it."""
    manifest = ET.Element("manifest", {"xmlns": MANIFEST, "identifier": "gapsound-questions"})
    about = ET.SubElement(manifest, "metadata")
    ET.SubElement(about, "schema").text = "QTI Package"
    ET.SubElement(about, "schemaversion").text = "3.0.0"
    ET.SubElement(manifest, "organizations")
    resources = ET.SubElement(manifest, "resources")
    for rep in reps:
        name = name_of(rep)
        own = ET.SubElement(resources, "resource", {"identifier": name, "type": ITEM_TYPE, "href": f"{name}.xml"})
        ET.SubElement(own, "file", {"href": f"{name}.xml"})
        ET.SubElement(own, "dependency", {"identifierref": f"picture-{name}"})
        at = f"pictures/{name}.svg"
        picture = ET.SubElement(
            resources, "resource", {"identifier": f"picture-{name}", "type": PICTURE_TYPE, "href": at}
        )
        ET.SubElement(picture, "file", {"href": at})
    manifest.insert(0, ET.Comment(f" {title.replace('--', '-')} "))
    return to_bytes(manifest)


def to_bytes(element: ET.Element) -> bytes:
    """An XML file."""
    ET.indent(element)
    found: bytes = ET.tostring(element, encoding="utf-8", xml_declaration=True)
    return found


def make_package(reps: Iterable[KeptRep], title: str, language: str) -> bytes:
    """The package of these questions."""
    every = list({rep.rep_id: rep for rep in reps}.values())
    files = {"imsmanifest.xml": manifest_of(every, title)}
    for rep in every:
        files[f"{name_of(rep)}.xml"] = item_of(rep, language)
        files[f"pictures/{name_of(rep)}.svg"] = rep.before_svg.encode()
    found = io.BytesIO()
    with zipfile.ZipFile(found, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in files.items():
            package.writestr(zipfile.ZipInfo(name, ENTRY_DATE), content, zipfile.ZIP_DEFLATED)
    return found.getvalue()
