"""A drawing inside an order: zlib (RFC 1950) in base64 (RFC 4648), so that order and drawing are one file."""

from __future__ import annotations

import base64
import binascii
import zlib
from typing import Final

# Signs that a packed drawing may have: it is kept with every version of the order. Our own DXF of all
# layers, drawn as fine polylines, needs 144,000; an SVG with curves 3,000 (docs/decisions/0011).
MOST_PACKED: Final = 300_000
# Bytes that it may unpack to: as large as any drawing that is read.
MOST_UNPACKED: Final = 20_000_000


class PackedError(ValueError):
    """A text that is no packed drawing, or a drawing too large to be packed; says what is wrong."""


def packed(data: bytes) -> str:
    """The bytes of a drawing as one line of text; raises PackedError if it is too long for an order."""
    text = base64.b64encode(zlib.compress(data, 9)).decode("ascii")
    if len(text) > MOST_PACKED or len(data) > MOST_UNPACKED:
        raise PackedError(
            f"{len(text) / 1000:.0f} kB packed, and an order carries {MOST_PACKED / 1000:.0f} kB at most: save only "
            "the pattern's own lines, as curves"
        )
    return text


def unpacked(text: str) -> bytes:
    """The bytes of a packed drawing; raises PackedError, before a small text can fill the memory."""
    try:
        small = base64.b64decode(text, validate=True)
        opener = zlib.decompressobj()
        data = opener.decompress(small, MOST_UNPACKED)
    except (binascii.Error, ValueError, zlib.error):
        raise PackedError("is no packed drawing; coutil writes it where an order is brought in") from None
    if not opener.eof or opener.unused_data:
        raise PackedError("is no whole packed drawing: a part is missing, too much, or it is too large")
    return data
