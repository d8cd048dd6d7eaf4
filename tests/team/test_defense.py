"""A team's defense on the web: drawn, checked against every run, edited, saved; nothing typed is lost."""

import html
import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from rich.console import Console

from server.app import make_app
from server.commands.demo import prepare
from server.database.store import Store
from server.database.tables import AuditEntry, ContentFile
from server.settings import load_settings
from tests.harness.databases import open_migrated
from tests.harness.house import PAGE, House, TestClient

PRESSURES = "/coach/defense/files/pressures.toml"
LOOP = 'position = "Will", gap = "to B", order = 2, path = "cross"'


@pytest.fixture(scope="module")
def real(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, Store]]:
    """The demo team with its coach signed in."""
    folder: Path = tmp_path_factory.mktemp("defense")
    settings = load_settings(data_dir=folder)
    store = open_migrated(settings)
    access = prepare(store, folder, Console(file=io.StringIO()), with_season=False)
    with TestClient(make_app(settings, store=store), headers=PAGE) as client:
        form = {"team": access.team_id, "name": access.coach_name, "passphrase": access.passphrase}
        assert client.post("/coach/sign-in", data=form).url.path == "/coach/board"
        yield client, store


def stored(store: Store, name: str) -> tuple[str, str]:
    """A stored file, and the hash of the stored content."""
    with store.read(store.teams()[0].id) as t:
        return t.get(ContentFile, name).text, t.team().content_hash


def test_a_snap_is_drawn_with_every_man(real: tuple[TestClient, Store]) -> None:
    client, _ = real
    asked = {"call": "Moraine", "to": "left", "formation": "Open I right", "play": "Guard kick", "play_to": "right"}
    reply = client.get("/coach/defense", params={**asked, "position": "Will"})
    assert reply.status_code == 200
    assert "right Cedar inside the kick" in reply.text
    assert reply.text.count('<th scope="row">') == 11
    assert 'class="gs"' in reply.text
    wrong = client.get("/coach/defense", params={**asked, "formation": "Nothing"})
    assert wrong.status_code == 422
    assert "formation: expected one of" in html.unescape(wrong.text)
    half = client.get("/coach/defense", params={"call": "Moraine"})
    assert half.status_code == 422


def test_the_gap_sound_table_links_each_cell_to_its_snap(real: tuple[TestClient, Store]) -> None:
    client, _ = real
    reply = client.get("/coach/defense/sound", params={"call": "Moraine", "to": "right"})
    assert reply.status_code == 200
    assert reply.text.count('class="hold hold-sound"') > 50
    assert client.get("/coach/defense/sound", params={"call": "Nothing"}).status_code == 422


def test_an_edit_is_previewed_before_it_is_saved(real: tuple[TestClient, Store]) -> None:
    client, store = real
    text, stands = stored(store, "pressures.toml")
    worse = text.replace(LOOP, LOOP.replace("to B", "to A"), 1)
    seen = client.post(PRESSURES, data={"text": worse, "stands": stands, "action": "look"})
    assert "Not saved yet" in seen.text
    assert "hold up worse than before" in seen.text
    assert stored(store, "pressures.toml") == (text, stands)
    same = client.post(PRESSURES, data={"text": text, "stands": stands})
    assert "Nothing is different" in same.text


def test_all_problems_are_listed_and_the_typed_text_comes_back(real: tuple[TestClient, Store]) -> None:
    client, store = real
    text, stands = stored(store, "pressures.toml")
    bad = text.replace('front = "Granite"', 'front = "Gravel <b>"', 2)
    for action, status in (("look", 200), ("save", 422)):
        reply = client.post(PRESSURES, data={"text": bad, "stands": stands, "action": action})
        assert reply.status_code == status
        assert reply.text.count("<li>pressures.toml") == 2
        assert "Gravel &lt;b&gt;" in reply.text
        assert "Gravel <b>" not in reply.text
    assert stored(store, "pressures.toml") == (text, stands)


def test_a_save_based_on_an_older_version_is_refused(real: tuple[TestClient, Store]) -> None:
    client, store = real
    text, stands = stored(store, "pressures.toml")
    better = text + "# looked over before the second game\n"
    reply = client.post(PRESSURES, data={"text": better, "stands": stands, "action": "save"})
    assert reply.url.path == "/coach/defense"
    assert stored(store, "pressures.toml")[0] == better
    with store.read(store.teams()[0].id) as t:
        assert "changed the defense" in {one.action for one in t.rows(AuditEntry)}
    late = client.post(PRESSURES, data={"text": text + "# mine\n", "stands": stands, "action": "save"})
    assert late.status_code == 422
    assert "somebody has saved since" in late.text
    assert "# mine" in late.text
    assert stored(store, "pressures.toml")[0] == better


def test_the_longest_file_that_the_form_accepts_gets_through(real: tuple[TestClient, Store]) -> None:
    """In the form's encoding: URL-encoded, each line end would take six bytes and the body would be refused."""
    client, store = real
    text, stands = stored(store, "pressures.toml")
    lines = "# a line of words\n" * 10_000
    longest = text + lines[: 60_000 - len(text)]
    assert 'maxlength="60000"' in client.get(PRESSURES).text
    is_multipart = 'enctype="multipart/form-data"' in client.get(PRESSURES).text
    form = {"text": longest.replace("\n", "\r\n")[:60_000], "stands": stands, "action": "look"}
    if is_multipart:
        reply = client.post(PRESSURES, files={name: (None, value) for name, value in form.items()})
    else:
        reply = client.post(PRESSURES, data=form)
    assert reply.status_code == 200


def test_only_head_coaches_edit_files_and_only_their_teams(house: House) -> None:
    from server.database.tables import AccountRole

    assert house.coach(AccountRole.POSITION_COACH).get(PRESSURES, headers=PAGE).status_code == 403
    owner = house.coach()
    for name in ("nothing.toml", "roster.toml"):
        assert owner.get(f"/coach/defense/files/{name}", headers=PAGE).status_code == 404
    assert owner.get("/coach/defense/files/..%2Fteam.toml", headers=PAGE).status_code in (404, 422)


def test_a_position_is_renamed_in_all_files_at_once_and_keeps_its_key(real: tuple[TestClient, Store]) -> None:
    client, store = real
    before = {row.path: row.text for row in rows_of_files(store)}
    assert sum('"Mike"' in text for text in before.values()) >= 3
    reply = client.post("/coach/defense/rename", data={"thing": "position/mike", "name": "Mac"})
    assert reply.status_code == 200
    assert reply.url.query == b"saved=1"
    after = {row.path: row.text for row in rows_of_files(store)}
    assert not [path for path, text in after.items() if '"Mike"' in text]
    assert sum('"Mac"' in text for text in after.values()) == sum('"Mike"' in text for text in before.values())
    assert 'key = "mike"' in after["positions.toml"]
    assert "Mac" in client.get("/coach/roster").text
    back = client.post("/coach/defense/rename", data={"thing": "position/mike", "name": "Mike"})
    assert back.url.query == b"saved=1"


@pytest.mark.parametrize(
    ("thing", "name", "said"),
    [
        ("position/mike", "Will", "a name that no other has"),
        ("position/mike", " ", "a name of 1 to 60 characters"),
        ("call/nothing", "Ridge", "no such thing"),
        ("nothing", "Ridge", "no such thing"),
    ],
)
def test_a_refused_name_comes_back_and_nothing_is_stored(
    real: tuple[TestClient, Store], thing: str, name: str, said: str
) -> None:
    client, store = real
    before = stored(store, "positions.toml")
    reply = client.post("/coach/defense/rename", data={"thing": thing, "name": name})
    assert reply.status_code == 422
    assert said in html.unescape(reply.text)
    assert f'value="{name}"' in reply.text
    assert stored(store, "positions.toml") == before


def rows_of_files(store: Store) -> list[ContentFile]:
    """All stored files of the team."""
    with store.read(store.teams()[0].id) as t:
        return t.rows(ContentFile)
