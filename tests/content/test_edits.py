"""Edits of a team's content: exact inverses, an order that doesn't matter, names that change everywhere at once, and
drafts that are wrong without breaking anything.

Nothing of the expected values comes from the engine: they are laws of edits, or lines counted in the demo's files.
"""

from __future__ import annotations

import json
import random
import re
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizgen.content import edits, load_team, read_team_dir
from quizgen.content.documents import Documents, StaleEdit, apply_changes, key_of_row, parse_files, write_files
from quizgen.content.edits import ContentEdit
from quizgen.content.rows import FILES
from quizgen.content.rule_rows import FitRuleRow
from quizgen.content.schema import words_of
from quizgen.engine.report import check_situations, situations
from quizgen.football.errors import ContentProblems, FootballValueError, GapsoundError, NoRule
from quizgen.football.keys import slug
from quizgen.football.pressure import CoverJob, RunJob

SEEDS = st.integers(0, 2**32)
CALLS = ("moraine", "esker", "drumlin", "varve", "kettle")
GAPS = [f"{way} {gap}" for way in ("to", "away") for gap in ("A", "B", "C", "D", "edge")]
RULES = words_of(FitRuleRow)


FILES_OF_DEMO = read_team_dir(Path(__file__).resolve().parent.parent.parent / "seed_content" / "tarrow_falls")
DEMO = parse_files(FILES_OF_DEMO)


def any_edit(documents: Documents, choose: random.Random) -> ContentEdit:
    """An edit of any kind that can be made of these documents; those that are refused are tried again."""
    while True:
        try:
            return choose.choice(MAKERS)(documents, choose)
        except (FootballValueError, IndexError):  # refused, or no row left of that kind
            continue


def key(documents: Documents, noun: str, choose: random.Random) -> str:
    return key_of_row(choose.choice(edits.rows_of(documents, noun)), {})


def name(choose: random.Random) -> str:
    return f"{choose.choice(['Larch', 'Éclair', 'No', 'Ox bow', 'Ash'])} {choose.randrange(40)}"


def place(choose: random.Random) -> dict[str, object]:
    if choose.random() < 0.5:
        return {"technique": choose.choice([1, 3, 5, "2i", 20, 40]), "side": choose.choice(["to", "away"])}
    on = choose.choice(["guard", "tackle", "last man", "number one"])
    return {"on": on, "side": choose.choice(["to", "away"]), "depth": choose.choice([1, 4.5, 9]), "out": 0.5}


def move(d: Documents, c: random.Random) -> ContentEdit:
    if c.random() < 0.5:
        return edits.move_man(d, key(d, "position", c), place(c), call=key(d, "call", c))
    return edits.move_man(d, key(d, "position", c), place(c), front=key(d, "front", c))


def rush(d: Documents, c: random.Random) -> ContentEdit:
    job = {"gap": c.choice(GAPS), "order": c.randint(1, 3)}
    return edits.set_rush(d, key(d, "position", c), key(d, "call", c), job)


def drop(d: Documents, c: random.Random) -> ContentEdit:
    job: dict[str, object] = {"cover": c.choice([*CoverJob]).value, "run": c.choice([*RunJob]).value}
    job |= {"side": c.choice(["to", "away"])}
    return edits.set_drop(d, key(d, "position", c), key(d, "call", c), job)


def rule(d: Documents, c: random.Random) -> ContentEdit:
    which = c.choice([*RULES])
    call, man = c.choice(["", key(d, "call", c)]), c.choice(["", key(d, "position", c)])
    return edits.set_rule(d, which, c.choice([None, *RULES[which]]), call=call, man=man)


def show(d: Documents, c: random.Random) -> ContentEdit:
    return edits.set_show(d, key(d, "position", c), key(d, "call", c), c.choice([None, place(c)]))


def adjust(d: Documents, c: random.Random) -> ContentEdit:
    rows = c.choice([[], [{"against": ["empty"], "check": edits.rows_of(d, "call")[0]["name"]}]])
    return edits.set_adjustments(d, key(d, "call", c), rows)


def field(d: Documents, c: random.Random) -> ContentEdit:
    front = edits.rows_of(d, "front")[0]["name"]
    return edits.set_field(
        d, "call", key(d, "call", c), *c.choice([("front", front), ("peel", True), ("to", ["field"])])
    )


def add(d: Documents, c: random.Random) -> ContentEdit:
    return edits.add_call(d, name(c), key(d, "call", c))


def remove(d: Documents, c: random.Random) -> ContentEdit:
    noun = c.choice([*edits.TABLES])
    return edits.remove_row(d, noun, key(d, noun, c))


def renamed(d: Documents, c: random.Random) -> ContentEdit:
    noun = c.choice([noun for noun in edits.TABLES if edits.rows_of(d, noun)])
    return edits.rename(d, noun, key(d, noun, c), name(c))


def word(d: Documents, c: random.Random) -> ContentEdit:
    return edits.set_word(d, c.choice("ABC"), c.choice([None, name(c)]))


def stand(d: Documents, c: random.Random) -> ContentEdit:
    return edits.stand_as_in_front(d, key(d, "position", c), key(d, "call", c))


MAKERS: list[Callable[[Documents, random.Random], ContentEdit]] = [
    *(move, rush, drop, rule, show, adjust, field, add, remove, renamed, word, stand)
]


def after_some(documents: Documents, choose: random.Random, most: int) -> Documents:
    """A team that nobody wrote: the demo after a number of edits."""
    for _ in range(choose.randrange(most)):
        if not all(edits.rows_of(documents, noun) for noun in edits.TABLES if noun != "coverage"):
            break
        documents = any_edit(documents, choose).apply(documents)
    return documents


@settings(max_examples=150, deadline=None)
@given(SEEDS)
def test_taking_an_edit_back_gives_what_was_there(seed: int) -> None:
    choose = random.Random(seed)
    before = after_some(DEMO, choose, 12)
    edit = any_edit(before, choose)
    assert edit.inverse.apply(edit.apply(before)) == before
    assert edit.inverse.inverse == edit


@settings(max_examples=150, deadline=None)
@given(SEEDS)
def test_edits_of_different_things_give_the_same_in_any_order(seed: int) -> None:
    choose = random.Random(seed)
    before = after_some(DEMO, choose, 6)
    one, other = any_edit(before, choose), any_edit(before, choose)
    if one.meets(other):
        return
    try:
        ways = [two.apply(first.apply(before)) for first, two in ((one, other), (other, one))]
    except StaleEdit:  # the one takes out the row that the other changes
        assert {one.kind, other.kind} & {"remove", "rename", "move", "rush", "drop", "rule", "show", "adjustments"}
        return
    assert without_order(ways[0]) == without_order(ways[1])


def without_order(documents: Documents) -> Documents:
    """The documents with each table's rows sorted: two new rows stand in the order in which they came."""

    def sort(value: object) -> object:
        if isinstance(value, dict):
            return {name: sort(one) for name, one in value.items()}
        if isinstance(value, list):
            return sorted((sort(one) for one in value), key=lambda one: json.dumps(one, sort_keys=True))
        return value

    return sort(documents)  # type: ignore[return-value]


@settings(max_examples=100, deadline=None)
@given(SEEDS)
def test_an_edit_comes_back_from_json(seed: int) -> None:
    edit = any_edit(DEMO, random.Random(seed))
    assert edits.edit_of(json.loads(json.dumps(edit.to_json()))) == edit


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_a_draft_of_random_edits_loads_or_lists_its_problems(seed: int) -> None:
    choose = random.Random(seed)
    documents = after_some(DEMO, choose, 12)
    try:
        team = load_team(write_files(documents, FILES_OF_DEMO, DEMO))
    except ContentProblems as listed:
        problems = listed.problems
    else:
        call = choose.choice(team.pressures)
        problems = ()
        with suppress(NoRule):
            assert all(one.lanes for one in check_situations(list(situations(team, call=call.name))[:6]))
    assert all(one.file in FILES and one.expected for one in problems)


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_writing_documents_and_reading_them_changes_nothing(seed: int) -> None:
    documents = after_some(DEMO, random.Random(seed), 12)
    files = write_files(documents, FILES_OF_DEMO, DEMO)
    assert parse_files(files) == documents


def test_a_file_that_no_edit_touches_keeps_its_comments() -> None:
    after = edits.set_word(DEMO, "A", "Alder").apply(DEMO)
    files = write_files(after, FILES_OF_DEMO, DEMO)
    changed = {name for name in files if files[name] != FILES_OF_DEMO[name]}
    assert changed == {"rules.toml"}


@pytest.mark.parametrize(
    ("noun", "old", "new"),
    [
        ("position", "Mike", "Buck"),
        ("position", "Jack", "Ansel Buck"),
        ("call", "Varve", "Delta"),
        ("front", "Granite", "Gneiss"),
        ("formation", "Open I right", "Ivory"),
        ("run", "Guard kick", "Kickout"),
    ],
)
def test_a_renamed_thing_has_its_new_name_everywhere_and_its_old_key(noun: str, old: str, new: str) -> None:
    known = slug(old)
    edit = edits.rename(DEMO, noun, known, new)
    after = edit.apply(DEMO)
    files = write_files(after, FILES_OF_DEMO, DEMO)
    quoted = re.compile(rf'"{re.escape(old)}"|\b{re.escape(old)}\b\s*=|\b{re.escape(old)}\]')
    left = [line for text in files.values() for line in text.splitlines() if quoted.search(line.split("#")[0])]
    assert left == []
    before_team, team = load_team(FILES_OF_DEMO), load_team(files)
    assert key_of_row(next(row for row in edits.rows_of(after, noun) if row["name"] == new), {}) == known
    assert [one.key for one in team.positions] == [one.key for one in before_team.positions]
    assert [one.key for one in team.pressures] == [one.key for one in before_team.pressures]
    assert [one.key for one in team.formations] == [one.key for one in before_team.formations]
    back = edit.inverse.apply(after)
    assert load_team(write_files(back, FILES_OF_DEMO, DEMO)) == before_team


def test_a_move_and_a_new_name_of_the_same_man_both_stand() -> None:
    moved = edits.move_man(DEMO, "mike", {"technique": 30, "side": "to"}, front="granite")
    called = edits.rename(DEMO, "front", "granite", "Gneiss")
    both = called.apply(moved.apply(DEMO))
    assert both == moved.apply(called.apply(DEMO))


def test_the_second_edit_of_one_thing_is_refused_with_what_stands_there() -> None:
    one = edits.set_word(DEMO, "A", "Alder")
    other = edits.set_word(DEMO, "A", "Aspen")
    assert one.meets(other)
    with pytest.raises(StaleEdit, match="Alder"):
        other.apply(one.apply(DEMO))


def test_who_drops_no_longer_rushes() -> None:
    job = {"cover": "hook", "run": "fill", "side": "to", "gap": "to A"}
    after = edits.set_drop(DEMO, "mike", "moraine", job).apply(DEMO)
    row = next(row for row in edits.rows_of(after, "call") if row["name"] == "Moraine")
    assert "Mike" not in [one["position"] for one in row["rush"]]
    assert [one for one in row["drop"] if one["position"] == "Mike"] == [{"position": "Mike", **job}]


@pytest.mark.parametrize(
    "make",
    [
        lambda d: edits.move_man(d, "mike", {"technique": "999x", "side": "to"}, front="granite"),
        lambda d: edits.move_man(d, "mike", {"on": "guard", "side": "to"}, front="granite"),
        lambda d: edits.move_man(d, "nobody", {"technique": 3, "side": "to"}, front="granite"),
        lambda d: edits.set_rush(d, "mike", "moraine", {"gap": "to Z"}),
        lambda d: edits.set_drop(d, "mike", "moraine", {"cover": "fly", "run": "fill"}),
        lambda d: edits.set_rule(d, "edge", "sometimes"),
        lambda d: edits.set_rule(d, "nothing", "box", call="moraine"),
        lambda d: edits.rename(d, "position", "mike", "Will"),
        lambda d: edits.rename(d, "position", "mike", "Mike"),
        lambda d: edits.rename(d, "position", "mike", " "),
        lambda d: edits.add_call(d, "Moraine", "esker"),
        lambda d: edits.set_field(d, "call", "moraine", "coverage", 3),
        lambda d: edits.remove_row(d, "call", "nothing"),
    ],
)
def test_a_value_that_no_file_could_hold_is_refused(make: Callable[[Documents], ContentEdit]) -> None:
    with pytest.raises(GapsoundError, match="expected"):
        make(DEMO)


def test_what_hangs_on_a_thing_is_named() -> None:
    checking = [
        row["name"]
        for row in edits.rows_of(DEMO, "call")
        if any(one.get("check") == "Varve" for one in row.get("adjust", []))
    ]
    assert checking
    assert set(checking) <= set(edits.hangs_on(DEMO, "call", "varve"))


def test_every_file_that_rows_stand_in_is_known() -> None:
    assert {name for name, _ in edits.TABLES.values()} <= set(FILES)


def test_changes_apply_one_after_the_other_or_not_at_all() -> None:
    good = edits.set_word(DEMO, "A", "Alder").changes[0]
    bad = replace(good, place=("rules.toml", "words", "gaps", "B"), before="Birch")
    with pytest.raises(StaleEdit):
        apply_changes(DEMO, (good, bad))
    assert DEMO["rules.toml"]["words"]["gaps"]["A"] == "Ash"
