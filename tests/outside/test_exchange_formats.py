"""Questions and answers as other programs read them.

source: 1EdTech's QTI 3.0, element and attribute names from memory (no registry carries its schema); that every
identifier that is used is declared, and every file listed, is what its information model asks of any package. xAPI:
ADL's Experience API 1.0.3, part two, sections 2.4 (statements), 2.4.2.4 (account), 2.4.4.1 (interaction activities),
4.6 (durations of ISO 8601), from memory; UUIDs are read by the standard library.
"""

import io
import json
import re
import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime
from uuid import UUID
from xml.etree import ElementTree as ET

import pytest

from quizgen.content import load_team_dir
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.kinds import KINDS
from server.database.tables import KeptRep, Member
from server.paths import SEED_CONTENT
from server.playbook.engine import Engine
from server.playbook.question_package import ITEM, MANIFEST, make_package
from server.playbook.stored_reps import snapshot
from server.progress.xapi import right_patterns
from tests.harness.house import PAGE, House, answer_url, chosen

Q = f"{{{ITEM}}}"
NCNAME = re.compile(r"[A-Za-z_][\w.-]*")


@pytest.fixture(scope="module")
def reps() -> list[KeptRep]:
    """One rep of each kind, as they are stored."""
    catalogue, now = Catalogue(load_team_dir(SEED_CONTENT / "tarrow_falls")), datetime(2026, 9, 1, tzinfo=UTC)
    return [snapshot(Engine(), "t", next(catalogue.reps(kinds=[kind])), now) for kind in KINDS]


@pytest.fixture(scope="module")
def package(reps: list[KeptRep]) -> zipfile.ZipFile:
    return zipfile.ZipFile(io.BytesIO(make_package(reps, "Tarrow Falls", "en")))


def items(package: zipfile.ZipFile) -> Iterator[ET.Element]:
    for name in package.namelist():
        if name.startswith("rep-"):
            yield ET.fromstring(package.read(name))


def test_the_manifest_lists_every_file_and_nothing_else(package: zipfile.ZipFile) -> None:
    manifest = ET.fromstring(package.read("imsmanifest.xml"))
    space = {"m": MANIFEST}
    assert package.namelist()[0] == "imsmanifest.xml"
    assert manifest.findtext("m:metadata/m:schemaversion", namespaces=space) == "3.0.0"
    listed = [one.get("href") for one in manifest.iterfind(".//m:file", space)]
    assert sorted(listed) == sorted(set(package.namelist()) - {"imsmanifest.xml"})
    known = {one.get("identifier") for one in manifest.iterfind(".//m:resource", space)}
    assert {one.get("identifierref") for one in manifest.iterfind(".//m:dependency", space)} <= known
    assert all(NCNAME.fullmatch(str(one)) for one in known)


def test_every_item_is_whole(package: zipfile.ZipFile, reps: list[KeptRep]) -> None:
    """What an item names is declared in it: responses, outcomes, choices, pictures."""
    found = {str(item.get("identifier")): item for item in items(package)}
    assert len(found) == len(reps)
    for rep in reps:
        item = found[f"rep-{rep.rep_id}"]
        assert {item.get("adaptive"), item.get("time-dependent")} == {"false"}
        declared = {one.get("identifier") for one in item.iterfind(f"{Q}qti-response-declaration")}
        outcomes = {one.get("identifier") for one in item.iterfind(f"{Q}qti-outcome-declaration")}
        interactions = [one for one in item.iter() if one.tag.endswith("-interaction")]
        assert {one.get("response-identifier") for one in interactions} == declared
        assert {one.get("identifier") for one in item.iter(f"{Q}qti-variable")} <= declared
        assert {one.get("identifier") for one in item.iter(f"{Q}qti-set-outcome-value")} == outcomes
        for part, one in zip(rep.parts, interactions, strict=True):
            choices = [c for c in one if c.tag in (f"{Q}qti-hotspot-choice", f"{Q}qti-simple-choice")]
            assert [c.get("identifier") for c in choices] == [c["id"] for c in part["choices"]]
        for picture in item.iter(f"{Q}img"):
            assert picture.get("src") in package.namelist()
            assert picture.get("alt")


def test_right_answers_score_and_others_do_not(package: zipfile.ZipFile, reps: list[KeptRep]) -> None:
    """The response processing, carried out here by the standard's meaning of and, or and match."""

    def holds(test: ET.Element, given: dict[str, str]) -> bool:
        kind = test.tag.removeprefix(Q)
        if kind in ("qti-and", "qti-or"):
            return (all if kind == "qti-and" else any)([holds(one, given) for one in test])
        variable, value = test
        return given[str(variable.get("identifier"))] == value.text

    for rep in reps:
        item = next(one for one in items(package) if one.get("identifier") == f"rep-{rep.rep_id}")
        condition = item.find(f".//{Q}qti-response-if/{Q}qti-and")
        assert condition is not None
        right = {f"RESPONSE_{n}": sorted(part["right"])[0] for n, part in enumerate(rep.parts, start=1)}
        assert holds(condition, right)
        for n, part in enumerate(rep.parts, start=1):
            for choice in part["choices"]:
                assert holds(condition, right | {f"RESPONSE_{n}": choice["id"]}) == (choice["id"] in part["right"])


def test_hot_spots_lie_in_the_picture_and_apart(package: zipfile.ZipFile) -> None:
    spots = 0
    for item in items(package):
        for interaction in item.iter(f"{Q}qti-hotspot-interaction"):
            picture = interaction.find(f"{Q}img")
            assert picture is not None
            wide, high = int(str(picture.get("width"))), int(str(picture.get("height")))
            boxes = []
            for spot in interaction.iter(f"{Q}qti-hotspot-choice"):
                left, top, right, bottom = (int(one) for one in str(spot.get("coords")).split(","))
                assert 0 <= left < right <= wide
                assert 0 <= top < bottom <= high
                assert spot.get("hotspot-label")
                boxes.append((left, top, right, bottom))
            for n, (left, top, right, bottom) in enumerate(boxes):
                for other in boxes[:n]:
                    across = min(right, other[2]) - max(left, other[0])
                    down = min(bottom, other[3]) - max(top, other[1])
                    assert across <= 1 or down <= 1, item.get("identifier")
            spots += len(boxes)
    assert spots > 40


def test_the_same_questions_make_the_same_bytes(reps: list[KeptRep]) -> None:
    assert make_package(reps, "T", "en") == make_package([*reps, reps[0]], "T", "en")


# Answers --------------------------------------------------------------------------------------------------------------


def answered(house: House) -> None:
    set_id, phone = house.send_set(), house.player(54)
    for n, place in enumerate(house.open_set(phone, set_id)[:2]):
        body = {"rep_id": place["rep_id"], "chosen": chosen(place["rep_id"], "ab"[n]), "took_ms": 4250}
        assert phone.put(answer_url(set_id), json=body).status_code == 201


def test_answers_are_statements_that_name_nobody(house: House) -> None:
    answered(house)
    reply = house.coach().get("/coach/results.xapi.json", headers=PAGE)
    assert reply.headers["content-type"].startswith("application/json")
    found = json.loads(reply.text)
    assert [one["result"]["success"] for one in found] == [False, True]
    for one in found:
        assert UUID(one["id"]).version == 5
        assert set(one["actor"]) == {"objectType", "account"}
        assert set(one["actor"]["account"]) == {"homePage", "name"}
        assert one["actor"]["account"]["name"] == f"{house.team.join_code}-54"
        assert one["verb"]["id"] == "http://adlnet.gov/expapi/verbs/answered"
        assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", one["timestamp"])
        assert one["result"]["duration"] == "PT4.25S"
        activity = one["object"]["definition"]
        ids = {choice["id"] for choice in activity["choices"]}
        assert set(one["result"]["response"].split("[,]")) <= ids
        assert one["result"]["success"] == (one["result"]["response"] in activity["correctResponsesPattern"])
    with house.store.read(house.team.id) as t:
        names = {member.name for member in t.rows(Member)}
    assert not [name for name in names if re.search(rf"\b{name}\b", reply.text)]
    again = json.loads(house.coach().get("/coach/results.xapi.json", headers=PAGE).text)
    assert [one["id"] for one in again] == [one["id"] for one in found]


def test_no_answers_are_an_empty_array(house: House) -> None:
    assert json.loads(house.coach().get("/coach/results.xapi.json", headers=PAGE).text) == []


def test_each_right_response_of_a_part_with_several_is_a_pattern() -> None:
    parts = [{"right": ["b", "a"]}, {"right": ["c"]}]
    assert right_patterns(parts) == ["a[,]c", "b[,]c"]


def test_a_calls_questions_come_as_a_package_from_its_page(house: House) -> None:
    coach = house.coach()
    house.send_set()
    page = coach.get("/coach/call?name=Hammer", headers=PAGE).text
    address = re.search(r'href="(/coach/call/questions\.zip[^"]*)"', page)
    assert address
    reply = coach.get(address[1].replace("&amp;", "&"), headers=PAGE)
    assert reply.headers["content-type"] == "application/zip"
    package = zipfile.ZipFile(io.BytesIO(reply.content))
    assert len(list(items(package))) > 1
    assert package.testzip() is None


def test_all_due_sets_are_one_calendar(house: House) -> None:
    """RFC 5545, section 3.6: an event for each; one that is over or called back is not to do."""
    ids = [house.send_set(hours=hours) for hours in (24, 48, 2)]
    house.coach().post(f"/coach/sets/{ids[1]}/call-back", headers=PAGE)
    house.clock.move(hours=3)
    text = house.coach().get("/coach/sets-due.ics", headers=PAGE).text
    assert text.count("BEGIN:VEVENT") == 1
    assert f"UID:{ids[0]}@gapsound" in text
    table = house.coach().get("/coach/sets.csv", headers=PAGE).text
    assert table.splitlines()[0].lstrip("\ufeff").startswith('"Set","Reps","Check","Sent","Due","Players"')
    assert len(table.splitlines()) == 4
