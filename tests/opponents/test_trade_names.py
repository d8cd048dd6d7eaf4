"""Names that sheets commonly have for plays are proposed without the coach."""

from __future__ import annotations

import tomllib

import pytest

from quizgen.content import load_team_dir
from server.opponents.matching import MatchedBy, normalize
from server.opponents.play_list import find_play, propose
from server.opponents.trade_names import PASS, trade_names
from server.paths import SEED_CONTENT
from server.playbook.charted import UNCHARTED
from server.playbook.rep_summary import PlaySummary
from tests.opponents.play_sheets import LONGER_WORDS, SHORT_FORMS, Sheet

LEAST_SHARE = 0.85


@pytest.fixture(scope="module")
def plays() -> list[PlaySummary]:
    """The demo team's plays; the stage is no part of it."""
    team = load_team_dir(SEED_CONTENT / "tarrow_falls")
    runs = [PlaySummary(one.key, one.name, 2, one.family.value) for one in team.schemes]
    return [*runs, *(PlaySummary(one.key, one.name, 5, "") for one in team.protections)]


@pytest.mark.parametrize("sheet", [SHORT_FORMS, LONGER_WORDS], ids=["short forms", "longer words"])
def test_most_of_a_plain_list_maps_without_the_coach(sheet: Sheet, plays: list[PlaySummary]) -> None:
    found = {text: propose(text, plays, {})[0] for text, _ in sheet}
    wrong = {text: found[text] for text, meant in sheet if found[text] not in meant}
    share = 1 - len(wrong) / len(sheet)
    print(f"{share:.0%} of {len(sheet)} lines; not these: {wrong}")
    assert share >= LEAST_SHARE, wrong


def test_a_team_with_names_of_its_own_is_found_by_the_family(plays: list[PlaySummary]) -> None:
    own = [PlaySummary("hammer", "Hammer", 3, "power"), PlaySummary("whistle", "Whistle", 2, "outside zone")]
    assert find_play("Pwr O Rt", own) == ("hammer", MatchedBy.TRADE)
    assert find_play("Stretch", own) == ("whistle", MatchedBy.TRADE)
    assert find_play("Jet", own) == ("whistle", MatchedBy.TRADE)
    assert find_play("Veer", own) is None
    assert find_play("4 Verts", own) == (UNCHARTED, MatchedBy.TRADE)


def test_the_teams_own_name_comes_before_the_trades(plays: list[PlaySummary]) -> None:
    own = [PlaySummary("trey", "Counter trey", 3, "counter"), PlaySummary("verts", "Verts", 3, "trap"), *plays]
    assert find_play("Counter Trey Rt", own) == ("trey", MatchedBy.CLOSE)
    assert find_play("4 Verts", own) == ("verts", MatchedBy.CLOSE)


def test_every_name_is_written_once_and_as_it_is_compared() -> None:
    names = trade_names()
    assert all(names.spell_out(normalize(" ".join(name)).split()) == list(name) for name in names.names)
    assert all(means and means[-1] for means in names.names.values())
    assert (PASS,) in names.names.values()
    text = (SEED_CONTENT / "library" / "play_names.toml").read_text(encoding="utf-8")
    assert sum(len(play["says"]) for play in tomllib.loads(text)["play"]) == len(names.names)
