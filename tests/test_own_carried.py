"""An order that carries the drawing of its own pattern: packed, read back, the same pattern without the file."""

from __future__ import annotations

import base64
import tomllib
import zlib
from pathlib import Path

import pytest
from click.testing import CliRunner

from coutil.book import BookError, open_book
from coutil.cli import coutil
from coutil.make import work_out
from coutil.order import (
    OrderError,
    OwnPattern,
    PackedError,
    packed,
    parse_order,
    read_order,
    unpacked,
    with_own,
    write_order,
)
from coutil.order.packed import MOST_PACKED, MOST_UNPACKED
from coutil.pattern.json import dumps
from coutil.sheets import panels_svg
from coutil.trace import TraceError, carried, carrying

DEMO = Path(__file__).parents[1] / "examples" / "sea-green.toml"
DRAWING = panels_svg(work_out(read_order(DEMO)).pattern, "mine").encode()
BODY = DEMO.read_text("utf-8").split("[style]")[0]
# As a maker writes it, with her remarks.
OWN = BODY + '[pattern]\nfile = "mine.svg"  # from the drawer\nline = "net"\n\n[build]\nallowance = "1 cm"\n'
DESCRIBED = '[pattern]\nfile = "mine.svg"\nline = "net"\n'


def fetch(name: str) -> bytes:
    return {"mine.svg": DRAWING, "drawer/mine.svg": DRAWING, "drawer/mine.toml": DESCRIBED.encode()}[name]


@pytest.mark.parametrize("data", [b"", b"<svg/>", bytes(range(256)) * 40, DRAWING])
def test_a_drawing_is_packed_and_unpacked(data: bytes) -> None:
    text = packed(data)
    assert unpacked(text) == data
    # RFC 4648 and RFC 1950, by the standard library's own readers.
    assert zlib.decompress(base64.b64decode(text)) == data
    assert text.isascii()
    assert "\n" not in text


def test_what_is_too_large_is_not_packed() -> None:
    import random

    with pytest.raises(PackedError, match=r"kB packed, and an order carries 300 kB at most"):
        packed(random.Random(5).randbytes(MOST_PACKED))


def test_a_small_text_does_not_fill_the_memory() -> None:
    bomb = base64.b64encode(zlib.compress(b"\0" * (2 * MOST_UNPACKED), 9)).decode()
    assert len(bomb) < 60_000
    with pytest.raises(PackedError, match="too large"):
        unpacked(bomb)


@pytest.mark.parametrize(
    "text",
    ["", "=", "ä", "AAAA", packed(DRAWING)[:-8], packed(DRAWING) + packed(b"more"), " " + packed(DRAWING)],
)
def test_what_is_no_packed_drawing_is_refused(text: str) -> None:
    with pytest.raises(PackedError, match="packed drawing"):
        unpacked(text)


def test_the_order_carries_its_drawing_and_all_else_stays() -> None:
    text = carrying(OWN, fetch)
    assert "# from the drawer" in text
    order, was = parse_order(text), parse_order(OWN)
    assert order.pattern is not None
    assert unpacked(order.pattern.drawing) == DRAWING
    # Line by line what it was, but for the one line that came.
    assert [line for line in text.splitlines() if not line.startswith("drawing")] == OWN.splitlines()
    assert order.build == was.build
    # It comes back as it is, and is written as it is.
    assert carrying(text, fetch) == text
    assert parse_order(write_order(order)) == order


def test_it_is_the_same_pattern_as_with_the_file(tmp_path: Path) -> None:
    (tmp_path / "mine.svg").write_bytes(DRAWING)
    beside = work_out(parse_order(OWN), tmp_path).pattern
    alone = work_out(parse_order(carrying(OWN, fetch)), tmp_path / "nowhere").pattern
    assert dumps(alone) == dumps(beside).replace(str(tmp_path / "mine.svg"), "mine.svg")


def test_a_description_comes_into_the_order_with_its_drawing() -> None:
    """Its drawing's name counts from the description."""
    text = carrying(BODY + '[pattern]\nfile = "drawer/mine.toml"\n', fetch)
    own = parse_order(text).pattern
    assert own is not None
    assert (own.file, own.line) == ("drawer/mine.svg", "net")
    assert unpacked(own.drawing) == DRAWING
    assert tomllib.loads(text)["body"] == tomllib.loads(BODY)["body"]


def test_a_draft_becomes_an_order_with_a_pattern() -> None:
    """Of the style only what says how it closes is kept: the shape is there already."""
    text = with_own(DEMO.read_text("utf-8"), carried(OwnPattern("mine.svg"), DRAWING))
    assert set(tomllib.loads(text).get("style", {})) <= {"closing", "lacing_gap"}
    assert [p.name for p in work_out(parse_order(text)).pattern.panels] == [
        "centre front",
        "side front",
        "side back",
        "centre back",
    ]


def test_what_cannot_be_carried_is_said() -> None:
    for data, says in ((b"", "mine.svg: empty"), (b"%PDF-1.7", "a PDF"), (b"\xff\xd8\xff\xe0" * 9, "photograph")):
        with pytest.raises(TraceError, match=says):
            carrying(OWN, lambda name, data=data: data)
    with pytest.raises(TraceError, match=r"mine\.toml.*file"):
        carrying(BODY + '[pattern]\nfile = "mine.toml"\n', lambda name: b'[pattern]\nfiel = "x"\n')
    with pytest.raises(OrderError, match="not TOML"):
        carrying("[pattern", fetch)
    assert carrying(BODY, fetch) == BODY


# --- into the book, from the command line


def test_an_order_comes_into_the_book_with_its_drawing(tmp_path: Path) -> None:
    file, book = tmp_path / "hers.toml", tmp_path / "book.db"
    file.write_text(OWN.replace("mine.svg", "drawer/mine.svg"), "utf-8")
    (tmp_path / "drawer").mkdir()
    with open_book(book) as b, pytest.raises(BookError, match=r"drawer/mine\.svg: cannot be read"):
        b.import_order(file)
    (tmp_path / "drawer" / "mine.svg").write_bytes(DRAWING)
    done = CliRunner().invoke(coutil, ["book", "import", str(file), "--book", str(book)], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    with open_book(book) as b:
        (line,) = b.orders()
        text = b.order(line.id).text
        assert not b.check()
    # Taken out, it is worked out where there is no drawing.
    out = tmp_path / "elsewhere" / "out.toml"
    out.parent.mkdir()
    out.write_text(text, "utf-8")
    made = CliRunner().invoke(coutil, ["walk", str(out)], catch_exceptions=False)
    assert made.exit_code == 0, made.output
    assert "front princess" in made.output
