"""The draft: edits stored one by one, taken back and made again, installed, by one coach and by two at once."""

import random
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from quizgen.content import edits
from quizgen.content.documents import parse_files, write_files
from server.accounts.members import add_coach
from server.accounts.sessions import Viewer
from server.commands.demo import demo_files
from server.database.draft_tables import DraftEdit
from server.database.store import Store
from server.database.tables import AccountRole, Team
from server.errors import BadInput, Outdated
from server.playbook.engine import Engine
from server.settings import load_settings
from server.team.draft import Draft, EditClash, bring_back, install, load_draft, redo, store_edit, undo
from server.team.install import add_team, update_in
from server.team.versions import versions
from tests.harness.databases import open_migrated

NOW = datetime(2026, 9, 1, 12, tzinfo=UTC)
Make = Callable[[Any], Any]


class Staff:
    """A team with two coaches, Pat and Lee."""

    def __init__(self, store: Store) -> None:
        self.store, self.football = store, Engine()
        self.team: Team = add_team(store, self.football, demo_files(), NOW).team
        self.pat, self.lee = self.coach("Pat"), self.coach("Lee")

    def coach(self, name: str) -> Viewer:
        with self.store.write(self.team.id) as t:
            return Viewer(self.team, add_coach(t, name, AccountRole.COACH, "", NOW), "")

    def edit(self, viewer: Viewer, make: Make, seen: int | None = None, *, anyway: bool = False) -> Any:
        with self.store.write(self.team.id) as t:
            base = load_draft(t).number if seen is None else seen
            return store_edit(t, viewer, make, base, NOW, anyway=anyway)

    def draft(self) -> Draft:
        with self.store.read(self.team.id) as t:
            return load_draft(t)

    def install(self, viewer: Viewer, note: str = "", seen: int | None = None, days: int = 0) -> None:
        with self.store.write(self.team.id) as t:
            base = load_draft(t).number if seen is None else seen
            install(t, self.football, viewer, note, base, NOW + timedelta(days=days))

    def call(self, key: str) -> Mapping[str, Any]:
        return next(one for one in edits.rows_of(self.draft().replayed.documents, "call") if name_key(one) == key)


def name_key(row: Mapping[str, Any]) -> str:
    return str(row.get("key") or row["name"]).lower()


def order(man: str, number: int, call: str = "moraine") -> Make:
    """An edit that changes a rusher's order and nothing else."""

    def make(documents: Any) -> Any:
        row = next(one for one in edits.rows_of(documents, "call") if name_key(one) == call)
        rush = next(one for one in row["rush"] if one["position"] == man)
        return edits.set_rush(
            documents, man.lower(), call, {k: v for k, v in rush.items() if k != "position"} | {"order": number}
        )

    return make


def order_of(staff: Staff, man: str, call: str = "moraine") -> int:
    return int(next(one for one in staff.call(call)["rush"] if one["position"] == man).get("order", 1))


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def staff(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Staff]:
    url = "" if request.param == "sqlite" else request.getfixturevalue("postgres_url")
    store = open_migrated(load_settings(data_dir=tmp_path, database_url=url))
    yield Staff(store)
    store.close()


def test_an_edit_is_in_the_draft_and_not_yet_asked_about(staff: Staff) -> None:
    before = staff.store.find_team(team_id=staff.team.id)
    staff.edit(staff.pat, order("Will", 3))
    assert order_of(staff, "Will") == 3
    after = staff.store.find_team(team_id=staff.team.id)
    assert before is not None
    assert after is not None
    assert after.content_hash == before.content_hash


def test_what_changes_nothing_is_no_edit(staff: Staff) -> None:
    assert staff.edit(staff.pat, order("Will", order_of(staff, "Will"))) is None
    assert not staff.draft().is_changed


def test_a_bad_value_is_refused_in_one_line_and_nothing_is_stored(staff: Staff) -> None:
    with pytest.raises(BadInput, match="expected"):
        staff.edit(staff.pat, order("Will", 0))
    assert not staff.draft().edits


def test_undo_goes_all_the_way_back_and_redo_all_the_way_again(staff: Staff) -> None:
    first = order_of(staff, "Will")
    for number in (3, 4, 5):
        staff.edit(staff.pat, order("Will", number))
    seen = []
    for _ in range(3):
        with staff.store.write(staff.team.id) as t:
            assert undo(t, staff.pat)
        seen.append(order_of(staff, "Will"))
    assert seen == [4, 3, first]
    with staff.store.write(staff.team.id) as t:
        assert undo(t, staff.pat) is None
    for number in (3, 4, 5):
        with staff.store.write(staff.team.id) as t:
            assert redo(t, staff.pat)
        assert order_of(staff, "Will") == number
    with staff.store.write(staff.team.id) as t:
        assert redo(t, staff.pat) is None


def test_after_a_new_edit_there_is_nothing_to_make_again(staff: Staff) -> None:
    staff.edit(staff.pat, order("Will", 3))
    with staff.store.write(staff.team.id) as t:
        undo(t, staff.pat)
    staff.edit(staff.pat, order("Will", 4))
    with staff.store.write(staff.team.id) as t:
        assert redo(t, staff.pat) is None
    assert order_of(staff, "Will") == 4


def test_numbers_of_edits_never_come_again(staff: Staff) -> None:
    numbers = []
    for number in (3, 4, 5):
        numbers.append(staff.edit(staff.pat, order("Will", number)).number)
        with staff.store.write(staff.team.id) as t:
            undo(t, staff.pat)
    staff.edit(staff.pat, order("Will", 6))
    staff.install(staff.pat)
    numbers.append(staff.edit(staff.pat, order("Will", 3)).number)
    assert numbers == [1, 2, 3, 5]


def test_edits_of_two_coaches_at_different_places_both_stand(staff: Staff) -> None:
    seen = staff.draft().number
    staff.edit(staff.pat, order("Will", 3), seen)
    assert isinstance(staff.edit(staff.lee, order("Mike", 4), seen), DraftEdit)
    assert (order_of(staff, "Will"), order_of(staff, "Mike")) == (3, 4)
    with staff.store.write(staff.team.id) as t:
        undone = undo(t, staff.pat)
    assert undone is not None
    assert order_of(staff, "Mike") == 4
    assert order_of(staff, "Will") != 3


def test_who_changes_the_same_is_told_and_decides(staff: Staff) -> None:
    seen = staff.draft().number
    staff.edit(staff.pat, order("Will", 3), seen)
    told = staff.edit(staff.lee, order("Will", 4), seen)
    assert isinstance(told, EditClash)
    assert [one.coach_id for one in told.others] == [staff.pat.member.id]
    assert order_of(staff, "Will") == 3
    staff.edit(staff.lee, order("Will", 4), seen, anyway=True)
    assert order_of(staff, "Will") == 4
    with pytest.raises(Outdated), staff.store.write(staff.team.id) as t:
        undo(t, staff.pat)  # Lee's came after it
    assert order_of(staff, "Will") == 4


def test_he_is_told_even_when_it_was_installed_meanwhile(staff: Staff) -> None:
    seen = staff.draft().number
    staff.edit(staff.pat, order("Will", 3), seen)
    staff.install(staff.pat)
    assert isinstance(staff.edit(staff.lee, order("Will", 4), seen), EditClash)


def test_an_install_is_a_version_that_says_who_when_and_why(staff: Staff) -> None:
    staff.edit(staff.pat, order("Will", 3))
    staff.install(staff.pat, "Will goes third", days=1)
    with staff.store.read(staff.team.id) as t:
        newest, first = versions(t)
        assert (newest.number, newest.coach_id, newest.note) == (2, staff.pat.member.id, "Will goes third")
        assert newest.installed_at == NOW + timedelta(days=1)
        assert newest.edits == [1]
        assert newest.content_hash == t.team().content_hash
        assert parse_files(first.files)["pressures.toml"] == parse_files(demo_files())["pressures.toml"]
    assert not staff.draft().is_changed
    assert order_of(staff, "Will") == 3


def test_an_install_counts_what_its_page_counted(staff: Staff) -> None:
    seen = staff.edit(staff.pat, order("Will", 3)).number
    staff.edit(staff.lee, order("Mike", 4))
    with pytest.raises(Outdated):
        staff.install(staff.pat, seen=seen)
    assert staff.draft().is_changed


def test_a_draft_with_problems_is_not_installed_and_not_lost(staff: Staff) -> None:
    staff.edit(staff.pat, lambda documents: edits.remove_row(documents, "front", "granite"))
    with pytest.raises(BadInput) as refused:
        staff.install(staff.pat)
    assert any("Granite" in line for line in refused.value.details or [str(refused.value.message)])
    assert len(staff.draft().edits) == 1


def test_an_older_version_comes_back_as_a_draft(staff: Staff) -> None:
    first = order_of(staff, "Will")
    staff.edit(staff.pat, order("Will", 3))
    staff.install(staff.pat)
    with staff.store.write(staff.team.id) as t:
        assert bring_back(t, staff.lee, 1, NOW)
    assert order_of(staff, "Will") == first
    staff.install(staff.lee, "as it was")
    with staff.store.write(staff.team.id) as t:
        assert bring_back(t, staff.lee, 3, NOW) is None
        hashes = [one.content_hash for one in versions(t)]
    assert len(hashes) == 3
    assert hashes[0] != hashes[1]


def test_an_edit_that_no_longer_fits_is_named_and_left_out(staff: Staff) -> None:
    staff.edit(staff.pat, order("Will", 3))
    with staff.store.write(staff.team.id) as t:
        update_in(t, staff.football, _with_order(demo_files(), 5), NOW)  # as the shell does
    draft = staff.draft()
    assert [one.number for one in draft.stale] == [1]
    assert order_of(staff, "Will") == 5
    with pytest.raises(BadInput, match="no longer fit"):
        staff.install(staff.pat)


def _with_order(files: Mapping[str, str], number: int) -> dict[str, str]:
    parsed = parse_files(files)
    return write_files(order("Will", number)(parsed).apply(parsed), files, parsed)


def test_two_hundred_edits_by_two_coaches_end_in_one_content_that_both_see(staff: Staff) -> None:
    chance = random.Random(20260901)
    men = [
        (str(rush["position"]), name_key(call))
        for call in edits.rows_of(staff.draft().replayed.documents, "call")
        for rush in call["rush"]
    ]
    wanted: dict[tuple[str, str], int] = {}
    seen = {viewer.member.id: 0 for viewer in (staff.pat, staff.lee)}
    met = 0
    for _ in range(200):
        viewer, (man, call), number = chance.choice((staff.pat, staff.lee)), chance.choice(men), chance.randint(1, 6)
        if chance.random() < 0.2:
            seen[viewer.member.id] = staff.draft().number
        result = staff.edit(viewer, order(man, number, call), seen[viewer.member.id])
        if isinstance(result, EditClash):
            met += 1
            seen[viewer.member.id] = staff.draft().number
        elif result is not None:
            wanted[man, call] = number
    assert met
    for (man, call), number in wanted.items():
        assert order_of(staff, man, call) == number
    assert not staff.draft().stale
    for viewer in (staff.pat, staff.lee):
        with staff.store.read(viewer.team.id) as t:
            assert load_draft(t).files == staff.draft().files
