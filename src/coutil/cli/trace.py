"""`coutil trace` and `coutil true`: a pattern that exists already, read, told apart, mended."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Literal, cast

import click

from coutil.cli.common import as_json, force, leave, length, order_file, read_work, refusals

if TYPE_CHECKING:
    from coutil.make import Document
    from coutil.order.own import OwnPattern
    from coutil.trace import Traced


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), required=False, metavar="[FILE]")
@click.option("-o", "--out", type=click.Path(path_type=Path, file_okay=False), help="Folder for what is made of it.")
@click.option("--board", type=click.Choice(["a4", "letter"]), help="Print the marker board on this paper instead.")
@click.option("--sheets", type=click.IntRange(2, 12), default=6, show_default=True, help="Sheets of the board.")
@click.option(
    "--measured", nargs=2, metavar="ACROSS DOWN", help="Size of the printed chequer, if it is not 175 by 200 mm."
)
@click.option("--scale", metavar="LENGTH", help="What one unit of a drawing without a size measures.")
@click.option("--line", type=click.Choice(["net", "cut"]), help="What the outlines are: where it is sewn, or cut.")
@click.option("--allowance", metavar="LENGTH", help="What stands between cut line and net line.")
@force
@as_json
def trace(
    file: Path | None,
    out: Path | None,
    board: str | None,
    sheets: int,
    measured: tuple[str, str] | None,
    scale: str | None,
    line: str | None,
    allowance: str | None,
    force: bool,
    as_json: bool,
) -> None:
    """Read a pattern that exists already: an SVG, a DXF, or a photograph taken with the marker board round it.

    Tells which panels and edges it takes for what. With -o it writes a description to correct and to name in an order
    as [pattern] file; of a photograph also the outlines as a drawing, and a picture to check them by.

    Example:  coutil trace --board a4 -o board   then   coutil trace bodice.jpg -o bodice
    """
    with refusals():
        from coutil.cli.files import write_all
        from coutil.cli.show import written_files
        from coutil.make import Document

        if board is not None:
            from coutil.trace.board import board_pdf

            if out is None:
                raise click.UsageError("--board needs -o FOLDER to write to")
            if file is not None:
                raise click.UsageError(f"--board prints the marker board and traces nothing; leave {file} out")
            made = [Document("marker-board.pdf", board_pdf(board, sheets))]
            click.echo(written_files(write_all(out, made, force=force)), nl=False)
            return
        if file is None:
            raise click.UsageError("name a FILE to trace, or ask for --board")
        from coutil.order.own import OwnPattern
        from coutil.trace import report

        if line == "net" and allowance:
            raise click.UsageError("--allowance goes with --line cut: beyond a net line there is none in the file")
        own = OwnPattern(
            file.name,
            scale=length("--scale", scale, "mm") if scale else None,
            line=cast(Literal["net", "cut"] | None, line),
            allowance=length("--allowance", allowance) if allowance else None,
        )
        photograph = _is_photograph(file)
        if measured and not photograph:
            raise click.UsageError("--measured is for photographs; a drawing's size is told by --scale")
        traced, extra = _photograph(file, measured, own) if photograph else (_drawing(file, own), [])
        if photograph:
            from dataclasses import replace

            own = replace(own, file=f"{file.stem}.svg", scale=None)
        if as_json:
            import json

            click.echo(json.dumps(_plain(traced), ensure_ascii=False, indent=1))
        else:
            click.echo(report(traced, own), nl=False)
        if out is not None:
            written = write_all(out, [*_described(file, traced, own, copied=not photograph), *extra], force=force)
            click.echo(written_files(written), nl=False, err=as_json)


@click.command(name="true")
@order_file
@click.argument("seam")
@click.option("--side", type=click.Choice(["both", "left", "right"]), default="both", show_default=True, help="Side.")
@click.option(
    "--give",
    type=click.Choice(["share", "first", "second"]),
    default="share",
    show_default=True,
    help="Who gives way: both edges by half, or one of them.",
)
@click.option("-o", "--out", type=click.Path(path_type=Path, dir_okay=False), help="SVG file for the mended panels.")
@force
@as_json
def true_(order: Path, seam: str, side: str, give: str, out: Path | None, force: bool, as_json: bool) -> None:
    """Correct one SEAM of a pattern that was brought in, and tell every point that moves and by how much.

    Example:  coutil true mine.toml "front princess" --give first -o mended.svg
    """
    with refusals():
        from coutil.trace import true_seam

        work = read_work(order)
        if work.order.pattern is None:
            raise click.UsageError(
                "this order is drafted, and its seams match; coutil true is for a pattern of its own"
            )
        change = {"share": "share", "first": "a", "second": "b"}[give]
        mended = true_seam(
            work.pattern,
            seam,
            side=cast(Literal["both", "left", "right"], side),
            change=cast(Literal["share", "a", "b"], change),
        )
        if out is not None:
            from coutil.cli.files import write_one
            from coutil.sheets import panels_svg

            write_one(out, panels_svg(mended.pattern, work.order.name).encode(), force=force)
        from coutil.cli.show import mended_json, mended_text

        click.echo(mended_json(mended) if as_json else mended_text(mended), nl=False)
        leave(work)


def _is_photograph(file: Path) -> bool:
    """Whether the photograph's reader is to have it, by its name or by how it begins: it says what is wrong best."""
    from coutil.trace.model import PHOTOGRAPHS, is_picture

    if file.suffix.lower() in (ending for endings in PHOTOGRAPHS.values() for ending in endings):
        return True
    try:
        with file.open("rb") as f:
            return is_picture(f.read(16))
    except OSError:
        # The drawing's reader says why it cannot be read.
        return False


def _drawing(file: Path, own: OwnPattern) -> Traced:
    from coutil.trace import traced_of

    return traced_of(own, file.parent)


def _photograph(file: Path, measured: tuple[str, str] | None, own: OwnPattern) -> tuple[Traced, list[Document]]:
    """The shapes of a photograph, and the files that go with them: outlines to be read again, the picture to check."""
    from coutil.make import Document
    from coutil.sheets.traced import traced_svg
    from coutil.trace import TraceError, as_written, found_again
    from coutil.trace.photo import read_photo

    if own.scale is not None:
        raise click.UsageError("a photograph is scaled by its marker board; --scale is for drawings")
    size = None
    if measured is not None:
        size = (length("--measured", measured[0], "mm"), length("--measured", measured[1], "mm"))
    try:
        with _told() as tell:
            photo = read_photo(file, measured=size, name=file.stem, progress=tell)
    except TraceError as refused:
        raise TraceError.of(*refused.led(str(file))) from None
    click.echo(
        f"{file}: {photo.scale:.1f} pixels to the mm; the markers lie {photo.residual:.2f} mm off on average and "
        f"{photo.worst:.2f} mm at most; the outlines are known to about {2 * photo.expected_error:.2f} mm",
        err=True,
    )
    drawing = Document(f"{file.stem}.svg", traced_svg(photo.traced, file.stem).encode())
    # An order reads the drawing: sides are told by the numbers that they have there.
    traced = as_written(photo.traced, drawing.data)
    for doubt in photo.doubts:
        shape = photo.traced.shapes[doubt.shape]
        for side, start, end in found_again(shape, traced.shape(shape.name), doubt.side, doubt.start, doubt.end):
            click.echo(
                f"{shape.name}, side {side + 1}, from {start:.0f} to {end:.0f} mm: doubtful, {doubt.why}", err=True
            )
    return traced, [drawing, Document(f"{file.stem}-check.jpg", photo.overlay)]


def _described(file: Path, traced: Traced, own: OwnPattern, *, copied: bool) -> Iterator[Document]:
    """The description to correct; with the drawing itself beside it, since its name counts from there."""
    from coutil.make import Document
    from coutil.trace import own_text, proposed

    # Nobody lays paper on a table as straight as a drawing program does.
    yield Document(f"{file.stem}.toml", own_text(proposed(traced, own, askew=not copied)).encode())
    if copied:
        yield Document(file.name, file.read_bytes())


def _plain(traced: Traced) -> dict[str, object]:
    """The shapes as plain data, in mm."""

    def points(curves: tuple[object, ...]) -> list[list[list[float]]]:
        return [[[round(x, 4), round(y, 4)] for x, y in c.points(tolerance=0.02)] for c in curves]  # type: ignore[attr-defined]

    return {
        "source": traced.source,
        "scale": traced.scale,
        "unit": "mm",
        "notes": list(traced.notes),
        "shapes": [
            {
                "name": s.name,
                "line": s.line,
                "sides": points(s.sides),
                "net": points(s.net),
                "notches": [list(p) for p in s.notches],
                "points": {k: list(p) for k, p in s.points.items()},
                "levels": {k: [list(p) for p in ends] for k, ends in s.levels.items()},
            }
            for s in traced.shapes
        ],
    }


@contextmanager
def _told() -> Iterator[Callable[[str, float], None] | None]:
    """A line that says what is going on, on a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console

    with Console(stderr=True).status("Tracing") as status:
        yield lambda says, _share: status.update(says)
