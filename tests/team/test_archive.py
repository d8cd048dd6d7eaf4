"""A team as one archive: out and in again without loss; what is none is refused in one line and changes nothing."""

import io
import random
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizgen.content import load_team
from quizgen.content.documents import parse_files
from server.commands.demo import demo_files
from server.errors import BadInput
from server.team.archive import FILE_MAX, take_archive, unzipped, zipped
from server.team.draft import load_draft
from tests.content.test_edits import DEMO, after_some
from tests.harness.house import PAGE, House
from tests.team.test_draft import NOW, Staff, order, order_of, staff

__all__ = ["staff"]


@given(st.integers(0, 10_000))
@settings(max_examples=25, deadline=None)
def test_out_and_in_again_is_the_same(seed: int) -> None:
    import tomli_w

    documents = after_some(DEMO, random.Random(seed), 8)
    files = {name: tomli_w.dumps(document) for name, document in documents.items()}
    assert unzipped(zipped(files)) == files
    assert parse_files(unzipped(zipped(files))) == parse_files(files)


def test_the_same_content_is_the_same_archive() -> None:
    files = demo_files()
    assert zipped(files) == zipped(dict(reversed(files.items())))


def test_what_comes_in_is_a_draft_that_can_be_taken_back(staff: Staff) -> None:
    first = order_of(staff, "Will")
    staff.edit(staff.pat, order("Will", 4))
    archive = zipped(staff.draft().files)
    with staff.store.write(staff.team.id) as t:
        from server.team.draft import undo

        undo(t, staff.pat)
        assert take_archive(t, staff.lee, unzipped(archive), NOW)
    assert order_of(staff, "Will") == 4
    with staff.store.write(staff.team.id) as t:
        assert take_archive(t, staff.lee, unzipped(archive), NOW) is None  # it is that already
        undo(t, staff.lee)
        assert load_draft(t).edits == []
    assert order_of(staff, "Will") == first


def zip_of(**files: bytes) -> bytes:
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name.replace("__", "."), data)
    return written.getvalue()


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "expected a zip file"),
        (b"PK\x03\x04 not really", "expected a zip file"),
        (zip_of(other__txt=b"x"), "expected team.toml"),
        (zip_of(team__toml=b"name ="), "team.toml: expected TOML"),
        (zip_of(team__toml=b"\xff\xfe\x00"), "UTF-8"),
        (zip_of(team__toml=b"#" * (FILE_MAX + 1)), "at most"),
        (zipped(demo_files())[:-60], "expected a zip file"),
    ],
)
def test_what_is_no_archive_is_refused_in_one_line(data: bytes, message: str) -> None:
    with pytest.raises(BadInput, match=message):
        unzipped(data)


def test_a_folder_in_the_archive_is_fine_and_other_files_are_left_out() -> None:
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w") as archive:
        for name, text in demo_files().items():
            archive.writestr(f"our team/{name}", text)
        archive.writestr("our team/notes.docx", b"x")
    assert load_team(unzipped(written.getvalue())).name == load_team(demo_files()).name


def test_on_the_page(house: House, tmp_path: Path) -> None:
    coach = house.coach()
    reply = coach.get("/coach/defense/archive.zip")
    assert reply.headers["content-disposition"] == 'attachment; filename="team.zip"'
    assert "team.toml" in zipfile.ZipFile(io.BytesIO(reply.content)).namelist()
    changed = zip_of(team__toml=b"name = 'Other High'\n")
    sent = coach.post("/coach/defense/archive", files={"file": ("team.zip", changed)}, headers=PAGE)
    assert sent.url.path == "/coach/defense/install"
    assert "All of it replaced" in sent.text
    wrong = coach.post("/coach/defense/archive", files={"file": ("team.zip", b"no")}, headers=PAGE)
    assert wrong.status_code == 422
