"""Which files are photographs, and who says what is wrong with the others."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from coutil.cli import coutil
from coutil.trace import TraceError
from coutil.trace.model import PHOTOGRAPHS, is_picture

HEADS = {
    "a.tif": b"II*\0" + b"a" * 20,
    "b.webp": b"RIFFaaaaWEBPVP8 aaaa",
    "c.heic": b"aaaaftypheic0000aaaa",
    "d.bmp": b"BM\x36\0\0\0\0\0\0\0\x36\0\0\0aaaa",
    "e.gif": b"GIF89a" + b"a" * 20,
}


@pytest.mark.parametrize("name", HEADS)
def test_other_pictures_are_refused_in_the_words_of_the_reader(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(HEADS[name])
    assert is_picture(HEADS[name])
    result = CliRunner().invoke(coutil, ["trace", str(tmp_path / name)])
    assert result.exit_code == 2
    assert "JPEG" in result.output
    assert "SVG" not in result.output


def test_the_kinds_that_are_named_are_those_that_the_reader_reads() -> None:
    from coutil.trace.photo_file import measure

    png = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\x10\0\0\0\x08\0"
    jpeg = b"\xff\xd8\xff\xc0\0\x11\x08\x08\0\x10\0\x03" + b"\0" * 12
    assert {measure(data)[0] for data in (png, jpeg)} == set(PHOTOGRAPHS)
    for data in HEADS.values():
        with pytest.raises(TraceError):
            measure(data)


@pytest.mark.parametrize("data", [b"BM is how this text begins", b"<svg/>", b"  0\nSECTION\n", b""])
def test_what_is_no_picture(data: bytes) -> None:
    assert not is_picture(data)
