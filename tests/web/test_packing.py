"""JSON around a text that was compressed beforehand is the JSON that any other reader of gzip and JSON finds."""

from __future__ import annotations

import gzip
import json
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from starlette.datastructures import Headers

from server.web.packing import SLOT, json_around
from tests.harness.house import House, answer_url, chosen

TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters=["\x00"]), max_size=400)


@given(text=TEXTS, before=TEXTS, after=TEXTS, repeated=st.integers(1, 40))
def test_gzip_and_json_of_the_standard_library_read_it(text: str, before: str, after: str, repeated: int) -> None:
    text, content = text * repeated, {"a": before, "deep": {"text": SLOT, "n": [1, None]}, "z": after}
    wanted = {"a": before, "deep": {"text": text, "n": [1, None]}, "z": after}
    packed = json_around(content, text, Headers({"accept-encoding": "br, gzip"}))
    plain = json_around(content, text, Headers())
    assert packed.headers["content-encoding"] == "gzip"
    assert json.loads(gzip.decompress(packed.body)) == json.loads(plain.body) == wanted
    whole = zlib.decompressobj(16 + zlib.MAX_WBITS)
    assert whole.decompress(packed.body) == plain.body
    assert (whole.eof, whole.unused_data) == (True, b"")  # one file and nothing behind it


def test_content_without_a_slot_or_with_two_is_a_fault_of_the_program() -> None:
    for content in ({"a": 1}, {"a": SLOT, "b": SLOT}):
        with pytest.raises(ValueError, match="unpack"):
            json_around(content, "text", Headers())


def test_an_answer_is_the_same_packed_and_plain(house: House) -> None:
    set_id, phone = house.send_set(), house.player()
    rep = house.open_set(phone, set_id)[0]["rep_id"]
    url, body = answer_url(set_id), {"rep_id": rep, "chosen": chosen(rep)}
    replies = [phone.put(url, json=body, headers={"accept-encoding": form}) for form in ("gzip", "identity", "gzip")]
    assert [one.status_code for one in replies] == [201, 200, 200]
    assert [one.headers["content-encoding"] for one in replies] == ["gzip", "identity", "gzip"]
    assert replies[0].json() == replies[1].json() == replies[2].json()
    assert replies[0].json()["answer"]["svg"].startswith("<svg")
