"""Keys: what a noun is known by for good, whatever it is called today.

A key is made of small letters and digits with single hyphens between. By default it is the slug of the noun's first
name; content that renames a noun writes the key down. Knows no noun.
"""

from __future__ import annotations

import re
import unicodedata

LONGEST_KEY = 60


def slug(name: str) -> str:
    """A name as a key: small letters without accents, digits, and "-" for what stands between them ("Trips right" ->
    "trips-right", "Will's 4-3" -> "will-s-4-3"); empty for a name without letters and digits.

    Letters of other scripts stay as they are. Rejected: python-slugify, which writes them in Latin letters from a
    table of 1 MB for one line of ours.
    """
    # Folding may bring up letters that can be taken apart, and the other way round: twice is enough for all of Unicode.
    for _ in range(2):
        name = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", name).casefold())
        name = "".join(letter for letter in name if not unicodedata.combining(letter))
    words = re.split(r"[\W_]+", re.sub(r"(?<=\d),(?=\d)", "", name))
    return "-".join(filter(None, words))[:LONGEST_KEY].strip("-")
