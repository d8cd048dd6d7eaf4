"""Importing a play list: any headings, any spreadsheet's encoding, previewed first, stored whole or not at all, and
nothing dropped silently."""

import re
from html import unescape

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlmodel import col
from starlette.testclient import TestClient

from server.database.tables import AuditEntry, Opponent, PlayWord
from server.errors import BadInput
from server.opponents.matching import KEEP_NAME, LEAVE_OUT, MatchedBy
from server.opponents.play_list import (
    LINES_MAX,
    TEXT_MAX,
    WORDS_MAX,
    Column,
    dry_run,
    find_columns,
    find_number,
    find_play,
    find_words,
    propose,
    read_lines,
    to_sheet,
)
from server.playbook.charted import UNCHARTED
from server.playbook.rep_summary import PlaySummary
from tests.harness.fake_football import PLAYS
from tests.harness.house import PAGE, House

NAMES = ("Inside zone", "Power", "Counter guard and tackle", "Zone read", "Quarterback power", "Down", "Half slide")
OURS = [PlaySummary(name, name, 2, "") for name in NAMES]
SNAPS = (
    "Oakdale at home,,,,\n"
    ",,,,\n"
    "#,DN,TO GO,O-Play (theirs),Dir.\n"
    "1,1,10,Zone Rt,R\n"
    "2,2,6,ZONE,L\n"
    "3,1,10,Powr,L\n"
    "4,3,4,PASS,\n"
    '5,1,10,"Jet\nSweep",R\n'
    "6,4,1,,\n"
    "7,1,10,punt,\n"
)


def sheet(text: str, plays: list | tuple = PLAYS, heading: int | None = None):
    return to_sheet(read_lines(text), plays, heading)


# Lines, headings, columns


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_titles_above_odd_headings(separator: str, end: str) -> None:
    found = sheet(SNAPS.replace(",", separator).replace("\n", end))
    assert found.names == ("#", "DN", "TO GO", "O-Play (theirs)", "Dir.")
    assert [line.number for line in found.snaps][:5] == [4, 5, 6, 7, 8]
    assert found.snaps[4].cells[3] == "Jet Sweep"
    assert find_columns(found, PLAYS) == {
        Column.PLAY: 3,
        Column.DIRECTION: 4,
        Column.DOWN: 1,
        Column.DISTANCE: 2,
    }


def test_the_column_of_plays_is_found_by_its_words_under_any_heading() -> None:
    found = sheet("A,B,Play\nzone,x,12\npower,y,9\nzone,y,8\n")
    assert find_columns(found, PLAYS)[Column.PLAY] == 0
    found = sheet("What,Times\nzone,12\nFlea flicker,3\n")
    assert find_columns(found, PLAYS) == {Column.PLAY: 0, Column.COUNT: 1}
    found = sheet("Play,N\nFlea flicker,3\nStatue,many\n")  # none of ours: the heading decides; N is not a count
    assert find_columns(found, PLAYS) == {Column.PLAY: 0}
    assert find_columns(sheet("A,B\nx,y\nz,y\n"), PLAYS) == {}


def test_without_headings_the_first_line_is_a_snap() -> None:
    assert sheet("zone\npower\nzone\n").heading is None
    assert sheet("Statue,1\nzone,2\n").heading is None
    assert sheet("Tear,Ace\nHook,Ace\nTear,Trips\n").heading is None
    chosen = sheet("Play\nzone\n", heading=0)
    assert (chosen.heading, len(chosen.snaps), chosen.names) == (None, 2, ("",))
    assert sheet("zone\npower\nlead\n", heading=2).snaps[0].cells == ("lead",)
    assert sheet("zone\n", heading=99).heading is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "found nothing"),
        ("\n , ,\n", "found nothing"),
        ('Play\n"zone\npower\n', "line 2: expected CSV, found a quotation mark"),
        ("Play\n" + "zone\n" * (LINES_MAX + 1), f"at most {LINES_MAX} lines"),
        ("x" * (TEXT_MAX + 1), "at most 800 kB"),
        (",".join("c" * 61), "line 1: expected at most 60 columns"),
        ("Play\n" + "x" * 501, "line 2: expected at most 60 columns and 500 characters"),
    ],
)
def test_a_text_that_is_not_a_play_list_gets_one_message(text: str, said: str) -> None:
    with pytest.raises(BadInput) as refusal:
        read_lines(text)
    assert said in refusal.value.message
    assert "\n" not in refusal.value.message


@given(st.text(alphabet='ab,;"\t\n 1', max_size=120))
def test_any_text_is_a_sheet_or_refused(text: str) -> None:
    try:
        found = sheet(text)
    except BadInput:
        return
    columns = find_columns(found, PLAYS)
    assert all(place < found.width for place in columns.values())
    words = find_words(found, {Column.PLAY: 0}, PLAYS, {})
    dry = dry_run(found, {Column.PLAY: 0}, {}, PLAYS)
    assert dry.lines + sum(one.lines for one in dry.left_out) == len(found.snaps)
    assert sum(one.lines for one in words) == dry.lines


@pytest.mark.parametrize(
    ("text", "number"),
    [("12", 12.0), ("2,5", 2.5), ("0", 0.0), ("-1", None), ("", None), ("nan", None), ("1_0", None), ("1e9", None)],
)
def test_counts(text: str, number: float | None) -> None:
    assert find_number(text) == number


# Words


@pytest.mark.parametrize(
    ("word", "play", "how"),
    [
        ("inside ZONE", "Inside zone", MatchedBy.SAME),
        ("Inside-Zone Rt", "Inside zone", MatchedBy.CLOSE),
        ("IZ", "Inside zone", MatchedBy.TRADE),
        ("26 Power", "Power", MatchedBy.CLOSE),
        ("Power O left", "Power", MatchedBy.TRADE),
        ("Quarterback Power strong", "Quarterback power", MatchedBy.CLOSE),
        ("Zone Raed", "Zone read", MatchedBy.CLOSE),
        ("Play action pass", UNCHARTED, MatchedBy.TRADE),
        ("PASS", UNCHARTED, MatchedBy.SAME),
        ("Half slide L", "Half slide", MatchedBy.CLOSE),
    ],
)
def test_a_word_close_to_a_play(word: str, play: str, how: MatchedBy) -> None:
    """The expected plays come from reading the words, not from running the code."""
    assert find_play(word, OURS) == (play, how)


@pytest.mark.parametrize("word", ["Jet sweep", "Punt", "right", "26", "", "Reverse", "=SUM(A1)"])
def test_an_unknown_word_keeps_its_own_name(word: str) -> None:
    assert find_play(word, OURS) is None
    assert propose(word, OURS, {}) == (KEEP_NAME, MatchedBy.NONE)


def test_an_earlier_choice_comes_before_a_similar_play() -> None:
    before = {"inside zone rt": "Power", "punt": LEAVE_OUT, "veer": "A play we no longer have"}
    assert propose("Inside-Zone RT", OURS, before) == ("Power", MatchedBy.BEFORE)
    assert propose("PUNT", OURS, before) == (LEAVE_OUT, MatchedBy.BEFORE)
    assert propose("veer", OURS, before) == (KEEP_NAME, MatchedBy.NONE)


def test_too_many_words_means_the_wrong_column() -> None:
    found = sheet("\n".join(f"word {chr(97 + n % 26)}{n}" for n in range(WORDS_MAX + 2)))
    with pytest.raises(BadInput, match="choose another column"):
        find_words(found, {Column.PLAY: 0}, PLAYS, {})


# What would be stored


def test_counted_by_hand() -> None:
    found = sheet(SNAPS)
    meant = {"Zone Rt": "zone", "ZONE": "zone", "Powr": "power", "PASS": UNCHARTED, "punt": LEAVE_OUT}
    dry = dry_run(found, find_columns(found, PLAYS), meant, PLAYS)
    assert dry.play_counts == {"zone": 2, "power": 1, UNCHARTED: 1, "Jet Sweep": 1}
    assert (dry.lines, dry.total) == (5, 5)
    assert [(one.why, one.lines, one.first) for one in dry.left_out] == [
        ("no play in the line", 1, (10,)),
        ("punt: left out by you", 1, (11,)),
    ]


def test_a_column_of_counts() -> None:
    found = sheet("Play,Count\nzone,12\npower,\nveer,lots\nlead,0\nZone,3\n")
    dry = dry_run(found, {Column.PLAY: 0, Column.COUNT: 1}, {}, PLAYS)
    assert dry.play_counts == {"zone": 15}
    assert [(one.lines, one.first) for one in dry.left_out] == [(2, (3, 4))]


# On the pages


def fields(page: str) -> dict[str, list[str] | str]:
    """What the page's form would send unchanged."""
    form = page[page.index('enctype="multipart/form-data"') :].partition("</form>")[0]
    found: dict[str, list[str] | str] = {"word": [], "meant": [], "formation_word": [], "formation_meant": []}
    tags = re.compile(
        r'<input type="hidden" name="(\w+)" value="([^"]*)">|<select[^>]* name="(\w+)">(.*?)</select>', re.S
    )
    sides = re.search(r'name="sides" value="(\w+)" checked', form)
    if sides:
        found["sides"] = sides[1]
    for name, value, select, options in tags.findall(form):
        if select:
            chosen = re.search(r'<option(?: value="([^"]*)")? selected>([^<]*)', options)
            value = "" if chosen is None else chosen[1] if " value=" in chosen[0] else chosen[2]
        one = found.setdefault(name or select, "")
        if isinstance(one, list):
            one.append(unescape(value))
        else:
            found[name or select] = unescape(value)
    return found


def send(coach: TestClient, path: str, form: dict):
    """Send a form as a browser does when it has a file."""
    parts = [
        (name, (None, one)) for name, value in form.items() for one in (value if isinstance(value, list) else [value])
    ]
    return coach.post(path, files=parts, headers=PAGE)


def add(house: House) -> str:
    reply = house.coach().post("/coach/opponents", data={"name": "Oakdale"}, headers=PAGE)
    return f"{reply.url.path}/import"


def upload(coach: TestClient, path: str, raw: bytes):
    return coach.post(path, files={"file": ("plays.csv", raw, "text/csv")}, headers=PAGE)


def stored(house: House) -> dict[str, float]:
    with house.store.read(house.team.id) as t:
        return t.rows(Opponent)[0].play_counts


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_from_file_to_what_they_run(house: House, encoding: str) -> None:
    coach, path = house.coach(), add(house)
    page = upload(coach, path, SNAPS.replace("Jet", "Jét").encode(encoding)).text
    form = fields(page)
    assert form["word"] == ["Zone Rt", "ZONE", "Powr", "PASS", "Jét Sweep", "punt"]
    assert form["meant"] == ["zone", "zone", "power", UNCHARTED, KEEP_NAME, KEEP_NAME]
    form["meant"][-1] = LEAVE_OUT  # type: ignore[index]
    tried = send(coach, f"{path}/try", form)
    assert tried.status_code == 200
    assert "no play in the line" in tried.text
    assert "punt: left out by you" in tried.text
    assert "not stored" in tried.text
    assert stored(house) == {}
    done = send(coach, f"{path}/store", fields(tried.text))
    assert done.url.path == path.removesuffix("/import")
    assert stored(house) == {"zone": 2, "power": 1, UNCHARTED: 1, "Jét Sweep": 1}
    with house.store.read(house.team.id) as t:
        assert t.rows(Opponent)[0].stage_counts == {"2": 2, "3": 1, "5": 1}
        actions = [one.action for one in t.rows(AuditEntry, order_by=(col(AuditEntry.at),))]
        assert actions[-2:] == ["changed what an opponent runs", "imported a play list"]


def test_an_earlier_choice_is_proposed_again(house: House) -> None:
    coach, path = house.coach(), add(house)
    form = fields(upload(coach, path, b"Play\nTear\nPunt\nHook\nTear\n").text)
    assert form["meant"] == [KEEP_NAME] * 3
    form["meant"] = ["veer", LEAVE_OUT, KEEP_NAME]
    send(coach, f"{path}/store", form)
    page = upload(coach, path, b"Name of the play,N\nTEAR,4\npunt,2\nhook,1\n").text
    assert fields(page)["meant"] == ["veer", LEAVE_OUT, KEEP_NAME]
    assert "as you said before" in page
    form = fields(page)
    form["meant"] = [KEEP_NAME, LEAVE_OUT, KEEP_NAME]
    send(coach, f"{path}/store", form)
    with house.store.read(house.team.id) as t:
        assert [(one.word, one.play) for one in t.rows(PlayWord)] == [("punt", "")]


def test_replacing_what_is_there_or_adding_to_it(house: House) -> None:
    coach, path = house.coach(), add(house)
    form = fields(upload(coach, path, b"Play,Count\nzone,5\nTear,1\n").text)
    for way, expected in (("replace", 5), ("add", 10), ("replace", 5)):
        send(coach, f"{path}/store", form | {"way": way})
        assert stored(house)["zone"] == expected


def test_an_import_sent_twice_is_stored_once(house: House) -> None:
    """A double tap, or a change by somebody else in the meantime."""
    coach, path = house.coach(), add(house)
    form = fields(upload(coach, path, b"Play,Count\nzone,5\n").text)
    looked = fields(send(coach, f"{path}/try", form).text) | {"way": "add"}
    assert send(coach, f"{path}/store", looked).url.path == path.removesuffix("/import")
    again = send(coach, f"{path}/store", looked)
    assert (again.status_code, "was changed since you looked" in again.text) == (422, True)
    assert stored(house) == {"zone": 5}
    looked = fields(send(coach, f"{path}/try", fields(again.text)).text) | {"way": "add"}
    send(coach, f"{path}/store", looked)
    assert stored(house) == {"zone": 10}


def test_other_columns_list_other_words_before_the_dry_run(house: House) -> None:
    coach, path = house.coach(), add(house)
    form = fields(upload(coach, path, b"Play,Second\nzone,power\nlead,power\n").text)
    form["play"] = "1"
    refused = send(coach, f"{path}/try", form)
    assert refused.status_code == 422
    assert "were changed" in refused.text
    assert fields(refused.text)["word"] == ["power"]
    assert send(coach, f"{path}/store", form).status_code == 422
    assert stored(house) == {}
    assert fields(send(coach, f"{path}/map", form).text)["listed"] == "1/1///theirs"


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"", "found nothing"),
        (b"PK\x03\x04" + b"\0" * 40, "workbook"),
        (b"\x89PNG\r\n\x1a\n\0\0", "a picture"),
        (b"Play\nzo\0ne\n", "no text"),
        (b"Play\n" + b"zone\n" * (LINES_MAX + 1), f"at most {LINES_MAX} lines"),
        (b"Play,Note\n" + b"zone," + b"x" * 400 + b"\n" + (b"zone," + b"x" * 400 + b"\n") * 2200, "at most 800 kB"),
        (b"Play\n" + b"zone\n" * 208_000, "at most 800 kB"),  # what this address accepts, but more than a form may hold
        (b'Play\n"zone\n', "quotation mark"),
    ],
)
def test_a_wrong_file_gets_one_message_on_the_page(house: House, raw: bytes, said: str) -> None:
    path = add(house)
    reply = upload(house.coach(), path, raw)
    assert reply.status_code == 422
    assert said in reply.text
    assert reply.text.count('role="alert"') == 1
    assert stored(house) == {}


def test_a_body_over_its_limit_is_refused_and_other_addresses_keep_the_small_limit(house: House) -> None:
    coach, path = house.coach(), add(house)
    assert upload(coach, path, b"x" * 1_100_000).status_code == 413
    big = "Play\n" + "zone\n" * 20_000  # 100 kB: more than any other address accepts
    assert upload(coach, path, big.encode()).status_code == 200
    assert coach.post(path.removesuffix("/import"), data={"snaps": "9" * 100_000}, headers=PAGE).status_code == 413
    assert upload(coach, "/coach/roster/import", big.encode()).status_code == 413


def test_the_largest_file_goes_through_all_steps(house: House) -> None:
    coach, path = house.coach(), add(house)
    raw = b"Play,Note\n" + b"zone,123456\r\n" * (LINES_MAX - 1)
    form = fields(upload(coach, path, raw).text)
    tried = send(coach, f"{path}/try", form)
    assert tried.status_code == 200, tried.text[:300]
    assert send(coach, f"{path}/store", fields(tried.text)).status_code == 200
    assert stored(house) == {"zone": LINES_MAX - 1}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"play": ""}, "the column of plays: expected one of the columns"),
        ({"play": "7"}, "the column of plays: expected one of the columns"),
        ({"meant": ["Statue", "zone"]}, "Statue: expected a play of your team"),
        ({"meant": ["", ""]}, "Nothing would be stored"),
        ({"meant": ["zone"]}, "words: expected a meaning for each of 2, found 1"),
    ],
)
def test_a_wrong_choice_gets_a_message_and_nothing_is_stored(house: House, change: dict, said: str) -> None:
    coach, path = house.coach(), add(house)
    form = fields(upload(coach, path, b"Play\nTear\nzone\n").text) | change
    for step in ("try", "store"):
        reply = send(coach, f"{path}/{step}", form)
        assert (reply.status_code, said in reply.text) == (422, True)
    assert stored(house) == {}


def test_cells_are_inert_on_pages_and_in_exports(house: House) -> None:
    coach, path = house.coach(), add(house)
    raw = b'Play\n"=HYPERLINK(""x"")"\n<script>alert(1)</script>\n@cmd\nzone\n'
    page = upload(coach, path, raw)
    tried = send(coach, f"{path}/try", fields(page.text))
    done = send(coach, f"{path}/store", fields(tried.text))
    for reply in (page, tried, done):
        assert "<script>alert" not in reply.text
    out = coach.get(f"{path.removesuffix('/import')}/plays.csv", headers=PAGE).content.decode("utf-8-sig")
    assert "\"'=HYPERLINK" in out
    assert "\"'@cmd" in out
    again = fields(upload(coach, path, out.encode()).text)
    assert "zone" in again["meant"]
