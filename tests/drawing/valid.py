"""What svgwrite's validator finds wrong with a drawing: an unknown element, attribute or value.

source: SVG 1.1 (Second Edition), W3C, as svgwrite's tables have it. Left out is what is newer or not SVG's: data-*,
    aria-*, role, and paint-order of SVG 2.
"""

from __future__ import annotations

from lxml import etree
from svgwrite.validator2 import get_validator

NOT_ITS_OWN = ("data-", "aria-", "role", "paint-order")
NAMES = {"{http://www.w3.org/1999/xlink}href": "xlink:href"}


def faults_in(drawing: str) -> list[str]:
    """The faults of a drawing, one line each."""
    validator, found = get_validator("full"), []
    for element in etree.fromstring(drawing.encode()).iter():
        name = etree.QName(element).localname
        for attribute, value in element.attrib.items():
            known = NAMES.get(str(attribute), str(attribute))
            if known.startswith(NOT_ITS_OWN):
                continue
            try:
                validator.check_svg_attribute_value(name, known, value)
            except (TypeError, ValueError, KeyError) as error:
                found.append(f"{name} {known}: {error}")
    return found
