"""`coutil worn`: the pattern sewn up on a form made from the tape, before the cloth is cut."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from coutil.cli.common import as_json, force, house_file, leave, length, order_file, read_work, refusals

if TYPE_CHECKING:
    from coutil.make import Work
    from coutil.worn.apart import Tried
    from coutil.worn.mend import Mended


@click.command()
@order_file
@house_file
@click.option("--fine", is_flag=True, help="With a mesh of 6 mm after the one of 12 mm.")
@click.option(
    "--mesh",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write form and cloth to this file for other programs: .obj (mm) or .gltf (metres).",
)
@click.option(
    "--mend",
    type=click.Choice(["top"]),
    help="Find the shaping above the bust that leaves so much stand-off there; with --leave and -o.",
)
@click.option("--leave", "left", metavar="LENGTH", help='The stand-off to be left, e.g. "15 mm".')
@click.option("-o", "--out", type=click.Path(path_type=Path, dir_okay=False), help="The mended order.")
@force
@as_json
def worn(
    order: Path,
    fine: bool,
    mesh: Path | None,
    mend: str | None,
    left: str | None,
    out: Path | None,
    force: bool,
    as_json: bool,
) -> None:
    """Try the pattern on: where it stands off, pulls and presses on a form made from the tape.

    Computed, not measured: what the tape does not tell is assumed and told, and a toile decides.

    Example:  coutil worn examples/sea-green.toml --fine --mesh worn.gltf
    """
    if (mend is None) != (left is None) or (mend is None) != (out is None):
        raise click.UsageError("--mend, --leave and -o belong together")
    kinds = {".obj", ".gltf"}
    if mesh is not None and mesh.suffix.lower() not in kinds:
        raise click.UsageError(f"--mesh {mesh}: the file must end in .obj or .gltf")
    with refusals():
        from coutil.cli.files import write_one
        from coutil.worn.apart import Trying
        from coutil.worn.told import reading_json

        work = read_work(order)
        said: dict[str, Any] = {}
        with Trying() as trying:
            if mend is not None and left is not None and out is not None:
                mended, work, text = _mended(trying, work, order, length("--leave", left), fine)
                write_one(out, text.encode(), force=force)
                said["mended"] = _mend_json(mended)
                if not as_json:
                    click.echo(_mend_text(mended, out))
            tried = _try(trying, work, fine)
        if mesh is not None:
            write_one(mesh, _mesh_file(tried, mesh).encode(), force=force)
        if as_json:
            said |= reading_json(tried.reading, work.pattern.cups)
            click.echo(json.dumps(said, ensure_ascii=False, indent=1))
        else:
            _show(tried, work)
        leave(work)


def _try(trying: Any, work: Work, fine: bool) -> Tried:
    """Try it on, with a bar on a terminal."""
    if not sys.stderr.isatty():
        tried: Tried = trying.on(work.order, work.pattern, fine=fine)
        return tried
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (TextColumn("Trying on"), BarColumn(), TextColumn("{task.description}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=1.0)
        told: Tried = trying.on(
            work.order,
            work.pattern,
            fine=fine,
            told=lambda done, part: bar.update(task, completed=done, description=part),
        )
        return told


def _mended(trying: Any, work: Work, path: Path, wanted: float, fine: bool) -> tuple[Mended, Work, str]:
    """The order whose top stands off as wanted: what was found, worked out, and its text."""
    from coutil.make import work_out
    from coutil.order import with_upper
    from coutil.worn.mend import cup_top, mend_top
    from coutil.worn.refusal import WornError

    if work.draft is None:
        raise WornError("own_pattern")
    order = work.order

    def at(upper: float) -> Work:
        return work_out(replace(order, style=replace(order.style, upper=round(upper, 3))), path.parent)

    def off(upper: float) -> float:
        there = at(upper)
        return cup_top(there.pattern, _try(trying, there, fine).reading)

    mended = mend_top(off, order.style.upper, wanted)
    return mended, at(mended.upper), with_upper(path.read_text("utf-8"), mended.upper)


def _mend_json(m: Mended) -> dict[str, Any]:
    return {
        "key": "style.upper",
        "was": m.was,
        "is": round(m.upper, 3),
        "before_mm": round(m.before_mm, 1),
        "after_mm": round(m.after_mm, 1),
        "met": m.met,
    }


def _mend_text(m: Mended, out: Path) -> str:
    from coutil.words import say

    args = {"file": out, "was": f"{m.was:g}", "upper": f"{round(m.upper, 3):g}"}
    args |= {"before": f"{m.before_mm:.0f} mm", "after": f"{m.after_mm:.0f} mm"}
    return say("worn.mended" if m.met else "worn.mended_partly", **args)


def _mesh_file(tried: Tried, path: Path) -> str:
    from coutil.words import say
    from coutil.worn.export import gltf_text, obj_text

    write = obj_text if path.suffix.lower() == ".obj" else gltf_text
    return write(tried.solids, note=say("worn.mesh_note"))


def _show(tried: Tried, work: Work) -> None:
    from coutil.cli import show
    from coutil.cli.worn_text import worn_text
    from coutil.worn.told import findings

    click.echo(show.whose(work.pattern) + worn_text(tried.reading), nl=False)
    click.echo(show.findings(findings(tried.reading, work.pattern.cups)), nl=False)
