"""JSON with one long text in it that is sent to many: the text is compressed once, and the rest around it each time.

sources: RFC 1951, a compressed stream is a row of blocks; zlib's manual, after a full flush a block refers to nothing
before it and begins on a whole byte; RFC 1952, the head and the check sum of the whole. It must not know what the text
is.
"""

from __future__ import annotations

import json
import struct
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from starlette.datastructures import Headers
from starlette.responses import Response

#: Stands for the long text. No text that is sent to us may hold this sign, so nothing else is taken for it.
SLOT = "\x00"
SLOT_IN_JSON = '"\\u0000"'
KEPT_TEXTS = 1000
GZIP_HEAD = b"\x1f\x8b\x08\x00\x00\x00\x00\x00\x00\xff"
LEVEL = 5


@dataclass(frozen=True, slots=True)
class Packed:
    """A text as JSON, and the same as blocks of a stream that refer to nothing outside of them."""

    plain: bytes
    blocks: bytes


@lru_cache(maxsize=KEPT_TEXTS)
def pack(text: str) -> Packed:
    """A text, compressed for good."""
    plain = json.dumps(text).encode()
    stream = _stream(9)
    return Packed(plain, stream.compress(plain) + stream.flush(zlib.Z_FULL_FLUSH))


def json_around(content: Mapping[str, Any], text: str, headers: Headers, status: int = 200) -> Response:
    """Content as JSON with the text in the place of its one ``SLOT``, in the form that the one who asks takes."""
    body = json.dumps(content, allow_nan=False, separators=(",", ":"))
    before, after = (part.encode() for part in body.split(SLOT_IN_JSON))
    packed, own = pack(text), {"Vary": "Accept-Encoding", "Content-Encoding": "identity"}
    if "gzip" in headers.get("accept-encoding", ""):
        own["Content-Encoding"] = "gzip"
        return Response(_gzip(before, packed, after), status, own, "application/json")
    return Response(before + packed.plain + after, status, own, "application/json")


def _gzip(before: bytes, packed: Packed, after: bytes) -> bytes:
    stream, whole = _stream(LEVEL), before + packed.plain + after
    pieces = (
        GZIP_HEAD,
        stream.compress(before) + stream.flush(zlib.Z_FULL_FLUSH),
        packed.blocks,
        stream.compress(after) + stream.flush(zlib.Z_FINISH),
        struct.pack("<LL", zlib.crc32(whole), len(whole)),
    )
    return b"".join(pieces)


def _stream(level: int) -> Any:
    return zlib.compressobj(level, zlib.DEFLATED, -zlib.MAX_WBITS)
