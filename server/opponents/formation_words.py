"""What a play list's words for formations and directions mean: their left and right turned into ours.

A breakdown is written from behind the offense, so its right is our left, unless the coach says that it has our sides.
Formations are found as plays are: by the team's own names first, then by the trade's (`formation_names.toml`). Knows
nothing of sheets, pages or the database.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from server.opponents.matching import KEEP_NAME, MIN_SIMILARITY, MatchedBy, normalize
from server.paths import SEED_CONTENT
from server.playbook.rep_summary import FormationSummary

FILE = SEED_CONTENT / "library" / "formation_names.toml"
LEFT, RIGHT = "left", "right"
#: A formation that is not known: the run counts from any.
ANY = ""
#: Between the keys of two formations that are each other's mirror: half of the snaps each.
EITHER = "/"
SIDES: Mapping[str, str] = {
    **dict.fromkeys(("left", "lt", "l", "lft", "izquierda", "izq"), LEFT),
    **dict.fromkeys(("right", "rt", "r", "rgt", "derecha", "der"), RIGHT),
}
STRONG, WEAK = frozenset({"strong", "str", "s", "strg"}), frozenset({"weak", "wk", "w"})
#: Words for where a play goes or which side it is called from; they don't say which play it is.
DIRECTIONS = frozenset({*SIDES, *STRONG, *WEAK, "field", "boundary", "to", "the"})
#: Words that don't say which formation it is.
BESIDE = frozenset({*SIDES, *STRONG, *WEAK, "form", "formation", "the", "and", "formacion"})


@dataclass(frozen=True, slots=True)
class FormationNames:
    """Short words by what they stand for, and names (as their words) by the team's names that they may mean."""

    words: Mapping[str, str]
    names: Mapping[frozenset[str], tuple[str, ...]]

    def spell_out(self, words: Iterable[str]) -> frozenset[str]:
        """The words with short forms spelled out."""
        return frozenset(part for word in words for part in self.words.get(word, word).split())


@lru_cache(maxsize=1)
def formation_names() -> FormationNames:
    """The names as the file has them."""
    content = tomllib.loads(FILE.read_text(encoding="utf-8"))
    plain = FormationNames(content["words"], {})
    return FormationNames(
        content["words"],
        {plain.spell_out(name.split()): tuple(row["means"]) for row in content["formation"] for name in row["says"]},
    )


def find_side(text: str, *, is_ours: bool) -> str:
    """Our side that a text names with one of its words; empty where it names none or both."""
    sides = {SIDES[word] for word in _words(text) if word in SIDES}
    if len(sides) != 1:
        return ""
    side = sides.pop()
    return side if is_ours else _other(side)


def _words(text: str) -> list[str]:
    return normalize(text).split()


def _other(side: str) -> str:
    return RIGHT if side == LEFT else LEFT


def run_side(texts: Iterable[str], formation: FormationSummary | None, *, is_ours: bool) -> str:
    """Our side to which a run goes, from the first of these texts that names one; strong and weak go by the formation.
    Empty where none does."""
    for text in texts:
        words = set(_words(text))
        if side := find_side(text, is_ours=is_ours):
            return side
        if formation is not None and formation.strong and bool(words & STRONG) is not bool(words & WEAK):
            return formation.strong if words & STRONG else _other(formation.strong)
    return ""


def bare_name(name: str) -> tuple[str, ...]:
    """A formation's name as its words, without its side."""
    return tuple(word for word in _words(name) if word not in BESIDE)


def find_formation(word: str, formations: Sequence[FormationSummary], *, is_ours: bool) -> tuple[str, MatchedBy] | None:
    """The key of the team's formation that a word names or is close to, or the keys of it and its mirror where the word
    names no side; None when there is none."""
    bare = bare_name(word)
    if not bare:
        return None
    bases: dict[tuple[str, ...], list[FormationSummary]] = {}
    for one in formations:
        bases.setdefault(bare_name(one.name), []).append(one)
    side = find_side(word.partition(",")[0], is_ours=is_ours)
    if bare in bases:
        return _on_side(bases[bare], side), MatchedBy.SAME
    names = formation_names()
    spelled = names.spell_out(bare)
    by_words = {names.spell_out(base): base for base in reversed(bases)}
    if spelled in by_words:
        return _on_side(bases[by_words[spelled]], side), MatchedBy.CLOSE
    for meaning in names.names.get(spelled, ()):
        if (base := tuple(meaning.split())) in bases:
            return _on_side(bases[base], side), MatchedBy.TRADE
    joined = {" ".join(base): base for base in bases}
    near = difflib.get_close_matches(" ".join(bare), joined, n=1, cutoff=MIN_SIMILARITY)
    return (_on_side(bases[joined[near[0]]], side), MatchedBy.CLOSE) if near else None


def _on_side(same: Sequence[FormationSummary], side: str) -> str:
    """Of formations whose names differ by their side: the key of the one on that side, else of both."""
    if side:
        found = next((one for one in same if find_side(one.name, is_ours=True) in ("", side)), None)
        if found is not None:
            return found.key
    first = same[0]
    return EITHER.join(sorted({first.key, first.mirror} - {""}))


def propose_formation(
    word: str, formations: Sequence[FormationSummary], before: Mapping[str, str], *, is_ours: bool
) -> tuple[str, MatchedBy]:
    """What a word for a formation probably means: as mapped before, else one of the team's, else its own name."""
    known = before.get(normalize(word))
    if known is not None and known in (KEEP_NAME, ANY, *formation_targets(formations)):
        return known, MatchedBy.BEFORE
    return find_formation(word, formations, is_ours=is_ours) or (KEEP_NAME, MatchedBy.NONE)


def formation_targets(formations: Sequence[FormationSummary]) -> dict[str, str]:
    """What a word can mean among the team's formations: {target: name}; twins are one target more, named without
    side."""
    pairs = {EITHER.join(sorted((one.key, one.mirror))): _without_side(one.name) for one in formations if one.mirror}
    return {**pairs, **{one.key: one.name for one in formations}}


def _without_side(name: str) -> str:
    return " ".join(re.sub(r"(?i)\b(left|right|lt|rt|izquierda|derecha)\b", "", name).replace(" ,", ",").split())


def keys_of(target: str, word: str) -> tuple[str, ...]:
    """The formations that a target stands for, by their keys; the word itself where it keeps its name."""
    return (word,) if target == KEEP_NAME else tuple(target.split(EITHER))
