"""A drawing inside an order: zlib (RFC 1950) in base64 (RFC 4648), so that order and drawing are one file."""

from __future__ import annotations

import base64
import binascii
import zlib
from typing import Final

from coutil.order.refusal import PackedError

# Signs that a packed drawing may have: it is kept with every version of the order. Our own DXF of all
# layers, drawn as fine polylines, needs 144,000; an SVG with curves 3,000 (docs/decisions/0011).
MOST_PACKED: Final = 300_000
# Bytes that it may unpack to: as large as any drawing that is read.
MOST_UNPACKED: Final = 20_000_000


def packed(data: bytes) -> str:
    """The bytes of a drawing as one line of text; raises PackedError if it is too long for an order."""
    text = base64.b64encode(zlib.compress(data, 9)).decode("ascii")
    if len(text) > MOST_PACKED or len(data) > MOST_UNPACKED:
        raise PackedError("packed_too_large", size=len(text) / 1000, most=MOST_PACKED / 1000)
    return text


def unpacked(text: str) -> bytes:
    """The bytes of a packed drawing; raises PackedError, before a small text can fill the memory."""
    try:
        small = base64.b64decode(text, validate=True)
        opener = zlib.decompressobj()
        data = opener.decompress(small, MOST_UNPACKED)
    except (binascii.Error, ValueError, zlib.error):
        raise PackedError("not_packed") from None
    if not opener.eof or opener.unused_data:
        raise PackedError("not_whole_packed")
    return data
