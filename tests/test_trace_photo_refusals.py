"""What is refused, how soon, and what the refusal says to do. Pictures are rendered, not real."""

from __future__ import annotations

import dataclasses
import random
import struct
import time
import tracemalloc
import zlib
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

import scenes
from coutil.trace import photo, photo_file
from coutil.trace.model import TraceError
from coutil.trace.photo import read_photo
from coutil.trace.photo_pieces import find_pieces

cv2.setNumThreads(1)
U8 = NDArray[np.uint8]


def jpeg(picture: U8, quality: int = 90) -> bytes:
    ok, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, quality])
    assert ok
    return bytes(data)


def png_head(wide: int, high: int, body: bytes = b"") -> bytes:
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


@pytest.fixture(scope="module")
def good() -> scenes.Scene:
    look = scenes.Look("navy", "white", blur=0.8)
    return scenes.scene(5, tilt=12.0, pieces=1, nicks=0, sheets=4, look=look)


@pytest.fixture(scope="module")
def picture(good: scenes.Scene) -> U8:
    out = good.picture()
    read_photo(jpeg(out))
    return out


def refused(data: bytes, *words: str) -> str:
    with pytest.raises(TraceError) as e:
        read_photo(data)
    says = str(e.value)
    for w in words:
        assert w in says, says
    return says


def test_blurred_picture(picture: U8) -> None:
    says = refused(jpeg(np.asarray(cv2.GaussianBlur(picture, (0, 0), 14.0), np.uint8)), "blurred")
    assert "focus" in says


def test_slightly_blurred_picture_is_refused_or_right(good: scenes.Scene) -> None:
    """Blur that leaves the markers readable: either the refusal says so, or the outline keeps the promise."""
    import scene_truth

    said = []
    for spread in (2.0, 3.0, 4.0, 5.0):
        soft = dataclasses.replace(good, look=dataclasses.replace(good.look, blur=spread))
        try:
            got = read_photo(soft.jpeg())
        except TraceError as e:
            said.append((spread, str(e)))
            continue
        v = scene_truth.compare(soft, got)
        assert v.share_95 < 0.7
        assert v.worst < 2.0
    assert 5.0 in dict(said)
    assert 2.0 not in dict(said)
    assert all("blur" in says or "markers" in says for _, says in said)


def test_no_board(picture: U8) -> None:
    plain = np.full_like(picture, 90)
    noise = np.random.default_rng(1).integers(0, 60, picture.shape, dtype=np.uint8)
    refused(jpeg(plain + noise), "no markers", "coutil trace --board")


def test_one_sheet_only(good: scenes.Scene) -> None:
    alone = dataclasses.replace(good, sheets=good.sheets[:1])
    refused(jpeg(alone.picture()), "only one sheet")


def test_two_sheets_on_one_side_are_too_few_or_honest(good: scenes.Scene) -> None:
    """Where the markers cannot tell the far side of the pattern, the report says so or the picture is refused."""
    import scene_truth

    one_side = dataclasses.replace(good, sheets=good.sheets[:2])
    says, got = "", None
    try:
        got = read_photo(jpeg(one_side.picture()))
    except TraceError as e:
        says = str(e)
    if got is None:
        assert "sheets close to it" in says or "each side" in says
        return
    v = scene_truth.compare(one_side, got)
    assert v.worst < 2.0 or got.expected_error > 0.25


def test_pattern_leaves_the_picture(good: scenes.Scene, picture: U8) -> None:
    """The picture's lower part is cut off, through the pattern; the sheets above and beside it are still seen."""
    seen = good.camera.project(np.array(good.shapes[0].outline()))
    half = int(seen[:, 1].min() * 0.35 + seen[:, 1].max() * 0.65)
    refused(jpeg(np.ascontiguousarray(picture[:half])), "leaves the picture")


def test_white_paper_on_a_white_table(good: scenes.Scene, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(scenes.TABLES, "white", (0.84, 0.84, 0.82))
    pale = dataclasses.replace(good, look=dataclasses.replace(good.look, table="white"))
    refused(jpeg(pale.picture()), "colour")


def test_no_pattern_at_all(good: scenes.Scene) -> None:
    refused(jpeg(dataclasses.replace(good, shapes=()).picture()), "no paper")


def test_other_kinds_of_file(tmp_path: Path) -> None:
    refused(b"", "empty")
    refused(b"%PDF-1.7 and so on", "PDF")
    refused(b"\x00\x00\x00\x18ftypheic" + b"\0" * 100, "JPEG")
    refused(b"<svg xmlns='http://www.w3.org/2000/svg'/>", "not a photograph")
    refused(b"\xff\xd8\xff\xe0" + b"\0" * 50, "damaged")
    refused(png_head(2000, 2000), "cannot be decoded")
    with pytest.raises(TraceError, match="cannot be read"):
        read_photo(tmp_path / "nothing.jpg")
    with pytest.raises(TraceError, match="not a file"):
        read_photo(tmp_path)


def test_small_picture() -> None:
    refused(jpeg(np.zeros((300, 400, 3), np.uint8)), "too coarse")


def test_picture_bombs_are_refused_by_their_head() -> None:
    """Few bytes that claim to be a huge picture: refused at once, before anything is decoded."""
    start = time.perf_counter()
    tracemalloc.start()
    refused(png_head(60_000, 60_000), "panorama")
    refused(png_head(25_000, 25_000, zlib.compress(b"\0" * 10_000_000)), "million")
    frame = (
        b"\xff\xd8\xff\xc0\x00\x11\x08"
        + struct.pack(">HH", 29_000, 29_000)
        + b"\x03\x01\x22\x00\x02\x11\x01\x03\x11\x01"
    )
    refused(frame + b"\xff\xd9", "million")
    scans = (
        b"\xff\xd8\xff\xc2\x00\x11\x08" + struct.pack(">HH", 4000, 4000) + b"\x03\x01\x22\x00\x02\x11\x01\x03\x11\x01"
    )
    refused(scans + b"\xff\xda\x00\x02" * 5000 + b"\xff\xd9", "scans")
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 50_000_000
    assert time.perf_counter() - start < 2.0


def test_largest_png_that_is_taken_stays_within_a_gigabyte() -> None:
    """40 megapixels of nothing, compressed to next to nothing: decoded, then refused, in time."""
    rows = zlib.compress(b"\0" * ((6300 * 3 + 1) * 6300), 9)
    data = png_head(6300, 6300, rows)
    start = time.perf_counter()
    refused(data, "blurred")
    assert time.perf_counter() - start < 10.0


def test_damaged_files_never_crash(picture: U8) -> None:
    """Four hundred damaged heads and bodies of a small picture: TraceError or nothing, quickly."""
    small = np.asarray(cv2.resize(picture, (1200, 900), interpolation=cv2.INTER_AREA), np.uint8)
    whole = jpeg(small, 60)
    rng = random.Random(4)
    start = time.perf_counter()
    for k in range(400):
        data = bytearray(whole)
        if k % 3 == 0:
            data = data[: rng.randrange(2, 2000)]
        else:
            for _ in range(rng.randrange(1, 12)):
                data[rng.randrange(2, 700)] = rng.randrange(256)
        try:
            photo_file.measure(bytes(data))
            if k % 20 == 1:
                read_photo(bytes(data))
        except TraceError:
            pass
    assert time.perf_counter() - start < 60.0


def test_the_file_is_only_read_and_progress_is_told(tmp_path: Path, picture: U8) -> None:
    path = tmp_path / "pattern.jpg"
    path.write_bytes(jpeg(picture))
    before = (path.read_bytes(), path.stat().st_mtime_ns)
    told: list[tuple[str, float]] = []
    got = read_photo(path, progress=lambda says, share: told.append((says, share)))
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before
    shares = [s for _, s in told]
    assert shares == sorted(shares)
    assert shares[0] == 0.0
    assert shares[-1] == 1.0
    assert len(told) >= 5
    shown = cv2.imdecode(np.frombuffer(got.overlay, np.uint8), cv2.IMREAD_COLOR)
    assert shown is not None
    assert max(shown.shape) == 2400
    assert got.traced.shapes[0].sides[0].start == pytest.approx(got.traced.shapes[0].sides[-1].end, abs=1e-6)


def test_shapes_are_closed_anticlockwise_from_the_left(good: scenes.Scene) -> None:
    s = scenes.scene(11, tilt=10.0, pieces=3, look=good.look)
    got = read_photo(s.jpeg())
    lefts = []
    for shape in got.traced.shapes:
        for a, b in zip(shape.sides, shape.sides[1:] + shape.sides[:1], strict=True):
            assert a.end == pytest.approx(b.start, abs=1e-6)
        pts = np.array([p for c in shape.sides for p in c.points(tolerance=0.1)[:-1]])
        assert 0.5 * (pts[:, 0] * np.roll(pts[:, 1], -1) - np.roll(pts[:, 0], -1) * pts[:, 1]).sum() > 20_000
        lefts.append(pts[:, 0].min())
        assert pts.min() > -0.5
    assert lefts == sorted(lefts)
    assert len(lefts) == 3


def test_sheets_that_lie_far_apart_as_it_seems(picture: U8) -> None:
    """Sheets told wrongly, or seen at a grazing angle, may come to lie a kilometre off."""
    view, placed, _ = photo._camera(picture, (picture.shape[1], picture.shape[0]), (1.0, 1.0))
    far = dataclasses.replace(placed[-1], at=(800_000.0, 600_000.0))
    with pytest.raises(TraceError, match=r"lie 1\d\d\d m apart as it seems"):
        find_pieces(picture, view, [*placed[:-1], far])


def test_a_table_full_of_scraps(good: scenes.Scene) -> None:
    """Pieces without number would take time and memory without end."""
    spots = [(x, y) for x in range(-280, 281, 70) for y in range(-210, 211, 70)]
    out = dataclasses.replace(good, shapes=()).picture()
    for x, y in good.camera.project(np.array(spots, float)).tolist():
        cv2.circle(out, (round(x), round(y)), 75, (235, 235, 235), -1, cv2.LINE_AA)
    refused(jpeg(out), "pieces with", "plain cloth")
