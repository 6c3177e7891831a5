"""A photograph's file: what it is and how large, told from its head before anything is decoded."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from coutil.trace.model import TraceError

# Largest file that is looked at, in bytes: a PNG of 40 megapixels of noise takes about 120 MB, a JPEG a quarter.
LARGEST_FILE: Final = 150_000_000
# Pixels that are decoded at most: 40 million take 120 MB as they are and some 600 MB at the worst in our hands, within
# the gigabyte that a photograph may take. JPEGs of up to 8 times as many are decoded at half or a quarter of the size.
MOST_PIXELS: Final = 40_000_000
# Photographs are worked on at no more than this: a good 12-megapixel picture has it all (found by trial).
ENOUGH_PIXELS: Final = 20_000_000
# A picture smaller than this shows a table of one metre at under 1.2 pixels to the mm: too coarse.
FEWEST_PIXELS: Final = 1_000_000
# Scans of a JPEG: progressive pictures have about ten. Thousands of empty ones are an attack on the decoder's time.
MOST_SCANS: Final = 60
# Longest side that is taken, in pixels; longer ones are panoramas, whose geometry is no longer that of one lens.
LONGEST: Final = 30_000


def load(source: Path | str | bytes) -> NDArray[np.uint8]:
    """Decode a photograph: rows, columns, blue-green-red. Raises TraceError for everything that is not one."""
    data = source if isinstance(source, bytes) else _read(Path(source))
    kind, wide, high, scans = measure(data)
    pixels = wide * high
    if max(wide, high) > LONGEST:
        raise TraceError("panorama", wide=wide, high=high)
    limit = MOST_PIXELS * (8 if kind == "JPEG" else 1)
    if pixels > limit:
        raise TraceError("too_many_pixels", wide=wide, high=high, most=limit // 1_000_000)
    if pixels < FEWEST_PIXELS:
        raise TraceError("too_few_pixels", wide=wide, high=high)
    if scans > MOST_SCANS:
        raise TraceError("jpeg_scans", scans=scans)
    flags = cv2.IMREAD_COLOR
    if kind == "JPEG" and pixels > 4 * ENOUGH_PIXELS:
        flags = cv2.IMREAD_REDUCED_COLOR_4
    elif kind == "JPEG" and pixels > 2 * ENOUGH_PIXELS:
        flags = cv2.IMREAD_REDUCED_COLOR_2
    try:
        picture = cv2.imdecode(np.frombuffer(data, np.uint8), flags)
    except (cv2.error, MemoryError) as e:
        raise TraceError("not_decoded", kind=kind) from e
    if picture is None:
        raise TraceError("not_decoded", kind=kind)
    while picture.shape[0] * picture.shape[1] > 2 * ENOUGH_PIXELS:
        picture = cv2.resize(picture, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    return np.asarray(picture, np.uint8)


def _read(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        if not path.is_file():
            raise TraceError("no_file", file=str(path))
        if size > LARGEST_FILE:
            raise TraceError(
                "photo_file_too_large", file=path.name, size=size // 1_000_000, most=LARGEST_FILE // 1_000_000
            )
        return path.read_bytes()
    except OSError as e:
        raise TraceError("photo_unreadable", file=str(path), reason=e.strerror or str(e)) from e


def measure(data: bytes) -> tuple[str, int, int, int]:
    """Kind, width, height and number of scans, from the head of the file. Raises TraceError for other kinds."""
    if len(data) > LARGEST_FILE:
        raise TraceError("picture_too_large", size=len(data) // 1_000_000)
    if data[:8] == b"\x89PNG\r\n\x1a\n" and data[12:16] == b"IHDR" and len(data) >= 24:
        # PNG specification (ISO/IEC 15948), 11.2.2: width and height are the first two numbers of IHDR.
        return "PNG", int.from_bytes(data[16:20], "big"), int.from_bytes(data[20:24], "big"), 1
    if data[:3] == b"\xff\xd8\xff":
        wide, high = _jpeg_size(data)
        return "JPEG", wide, high, data.count(b"\xff\xda")
    if data[4:8] == b"ftyp":
        raise TraceError("other_picture")
    if data[:5] == b"%PDF-":
        raise TraceError("pdf")
    if not data:
        raise TraceError("empty_file")
    raise TraceError("no_photograph")


def _jpeg_size(data: bytes) -> tuple[int, int]:
    """From the frame header (ITU-T T.81, B.2.2); markers C0 to CF apart from C4, C8 and CC begin a frame."""
    i = 2
    while i + 9 < len(data):
        if data[i] != 0xFF:
            break
        marker = data[i + 1]
        if marker == 0xFF:
            i += 1
            continue
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            return int.from_bytes(data[i + 7 : i + 9], "big"), int.from_bytes(data[i + 5 : i + 7], "big")
        if marker in (0x01, *range(0xD0, 0xD9)):
            i += 2
            continue
        if marker == 0xDA:
            break
        i += 2 + int.from_bytes(data[i + 2 : i + 4], "big")
    raise TraceError("jpeg_head")
