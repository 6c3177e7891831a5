"""The commands of `coutil`, each a sentence and an example long."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from coutil.cli.common import (
    STOPPED,
    as_json,
    force,
    house,
    house_file,
    leave,
    length,
    order_file,
    read,
    read_work,
    refusals,
)

if TYPE_CHECKING:
    from coutil.make import Work
    from coutil.pattern import Pattern

# The builds of coutil.order.sets, told here so that opening the command line loads no room; a test holds them to those.
BUILDS = {
    "fused": "a fused shell with foam cups and a lining",
    "strength": "silk over a boned strength layer, with cups and a lining",
    "lace": "lace over a fused shell, with cups and a lining",
    "velvet": "velvet, not fused, over a boned strength layer, with a lining",
    "corset": "two layers of strong cotton with bones between them, unlined",
    "light": "one fused layer with its edges finished, unlined",
}
PAPER_NAMES = ("a4", "letter", "a3", "a0", "roll")


lay_time = click.option(
    "--time",
    "seconds",
    type=click.FloatRange(0.2, 3600.0),
    metavar="SECONDS",
    help="Time for all lays together; more may save cloth. 0.2 to 3600, usually 4.",
)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="coutil", message="coutil %(version)s")
def coutil() -> None:
    """From a client's tape to a checked pattern with its pads, at full size.

    Start with:  coutil new my-order.toml  then  coutil make my-order.toml -o my-order
    """


@coutil.command()
@order_file
@house_file
@click.option(
    "-o", "--out", type=click.Path(path_type=Path, file_okay=False), required=True, help="Folder to write to."
)
@click.option(
    "--paper",
    "papers",
    type=click.Choice(PAPER_NAMES, case_sensitive=False),
    multiple=True,
    help="Print only on this paper; may be given more than once. All are made when none is named.",
)
@click.option(
    "--roll-width", metavar="LENGTH", help='Width of the paper roll, e.g. "91.4 cm" or "36 in" (the default).'
)
@lay_time
@click.option("--quick", is_flag=True, help="Give the lays little time: under 6 s for the whole job.")
@click.option("--no-lays", is_flag=True, help="Make the pattern only: no lays, docket, card or cutter files.")
@force
@as_json
def make(
    order: Path,
    out: Path,
    papers: tuple[str, ...],
    roll_width: str | None,
    seconds: float | None,
    quick: bool,
    no_lays: bool,
    force: bool,
    as_json: bool,
) -> None:
    """Do the whole job: pattern, pieces, checks, lays, docket and every sheet, into a folder.

    Example:  coutil make examples/sea-green.toml -o demo
    """
    with refusals():
        from coutil import make as job
        from coutil.cli.files import left_from_before, write_all

        if quick and seconds is not None:
            raise click.UsageError("give --quick or --time, not both")
        work = read_work(order)
        if not no_lays:
            work = _laid(work, job.QUICK if quick else seconds)
        width = length("--roll-width", roll_width) if roll_width else job.ROLL_WIDTH
        sheets = job.documents(work, papers=papers or PAPER_NAMES, roll_width=width)
        written = write_all(out, _with_progress(_kept(order, sheets)), force=force)
        if as_json:
            _print_pattern(work.pattern)
        else:
            from coutil.cli.show import findings, written_files

            click.echo(written_files(written), nl=False)
            click.echo(findings(work.findings), nl=False)
        stale = left_from_before(out, written)
        if stale:
            names = ", ".join(str(p.relative_to(out)) for p in stale)
            click.echo(f"\nIn {out} from before, not of this job: {names}. Do not cut by them.", err=True)
        leave(work)


@coutil.command()
@order_file
@house_file
@click.option("-o", "--out", type=click.Path(path_type=Path, dir_okay=False), help="PDF file to draw the lays in.")
@lay_time
@force
@as_json
def lay(order: Path, out: Path | None, seconds: float | None, force: bool, as_json: bool) -> None:
    """Lay the pieces on their cloth: how much of each is needed, and where each piece lies.

    Example:  coutil lay examples/sea-green.toml -o lays.pdf --time 20
    """
    with refusals():
        work = _laid(read_work(order), seconds)
        from coutil.cli import show

        assert work.plan is not None
        if out is not None:
            from coutil.cli.files import write_one
            from coutil.sheets.lays import lays_pdf

            if not work.plan.lays:
                raise click.UsageError("there is no lay to draw; see the findings without -o")
            write_one(out, lays_pdf(work.plan, work.order.name, pattern=work.pattern), force=force)
        not_taken = work.pattern.not_taken
        text = show.lays_json(work.plan, not_taken=not_taken) if as_json else show.lays_text(work.plan)
        click.echo(text if as_json else show.whose(work.pattern) + text, nl=False)
        if not as_json:
            click.echo(show.findings(work.plan.findings), nl=False)
        leave(work)


@coutil.command()
@order_file
@house_file
@click.option(
    "-o", "--out", type=click.Path(path_type=Path, file_okay=False), help="Folder for docket, quote and card."
)
@lay_time
@force
@as_json
def docket(order: Path, out: Path | None, seconds: float | None, force: bool, as_json: bool) -> None:
    """Reckon what to cut, what to buy and what it costs.

    Example:  coutil docket examples/sea-green.toml -o papers
    """
    with refusals():
        work = _laid(read_work(order), seconds)
        from coutil.cli import show

        assert work.docket is not None
        if out is not None:
            from coutil.cli.files import write_all
            from coutil.make import docket_documents

            written = write_all(out, docket_documents(work, work.docket), force=force)
            click.echo(show.written_files(written), nl=False, err=as_json)
        click.echo(show.docket_as_json(work.docket) if as_json else show.docket_text(work.docket), nl=False)
        leave(work)


@coutil.command()
@order_file
@house_file
@click.option("-o", "--out", type=click.Path(path_type=Path, dir_okay=False), help="SVG file for the panels at 1:1.")
@force
@as_json
def draft(order: Path, out: Path | None, force: bool, as_json: bool) -> None:
    """Draft the panels and tell their widths, level by level.

    Example:  coutil draft examples/sea-green.toml -o panels.svg
    """
    with refusals():
        work = read_work(order)
        if out is not None:
            from coutil.cli.files import write_one
            from coutil.sheets import panels_svg

            write_one(out, panels_svg(work.pattern, work.order.name).encode(), force=force)
        if as_json:
            _print_pattern(work.pattern)
        else:
            from coutil.cli.show import findings, widths

            click.echo(widths(work), nl=False)
            click.echo(findings(work.pattern.findings), nl=False)
        leave(work)


@coutil.command()
@order_file
@house_file
@as_json
def walk(order: Path, as_json: bool) -> None:
    """Walk every seam: compare its two edges from notch to notch.

    Example:  coutil walk examples/sea-green.toml
    """
    with refusals():
        work = read_work(order)
        from coutil.cli.show import walk_json, walked

        click.echo(walk_json(work.pattern) if as_json else walked(work.pattern), nl=False)
        leave(work)


@coutil.command()
@order_file
@house_file
@click.option("-o", "--out", type=click.Path(path_type=Path, dir_okay=False), help="PDF file to write the lesson to.")
@force
@as_json
def lesson(order: Path, out: Path | None, force: bool, as_json: bool) -> None:
    """Tell how to draft this very pattern by hand, step by step.

    Example:  coutil lesson examples/sea-green.toml -o lesson.pdf
    """
    with refusals():
        work = read_work(order)
        steps = work.lesson
        if not steps:
            raise click.UsageError("a pattern that was brought in has no lesson: coutil did not draft it")
        from coutil import sheets
        from coutil.cli import show

        if out is not None:
            from coutil.cli.files import write_one
            from coutil.make import lesson_of

            write_one(out, lesson_of(work), force=force)
        if as_json:
            click.echo(show.lesson_json(steps, not_taken=work.pattern.not_taken), nl=False)
        elif out is not None:
            click.echo(f"{out}: the lesson, {len(steps)} steps")
        else:
            click.echo(show.whose(work.pattern) + sheets.lesson_text(steps), nl=False)
        leave(work)


@coutil.command()
@click.argument("order", type=click.Path(path_type=Path, dir_okay=False), metavar="[ORDER]", required=False)
@click.option("--guide", is_flag=True, help="Print how to take each measurement.")
@as_json
def body(order: Path | None, guide: bool, as_json: bool) -> None:
    """Judge the body of an order, or print how to take each measurement.

    Example:  coutil body examples/sea-green.toml   or   coutil body --guide
    """
    with refusals():
        from coutil.cli import show

        if guide:
            click.echo(show.guide_json() if as_json else show.guide_text(), nl=False)
            return
        if order is None:
            raise click.UsageError("name an ORDER to judge, or ask for --guide")
        said = read(order)
        click.echo(show.body_json(said) if as_json else show.body_text(said), nl=False)
        if show.body_refused(said):
            sys.exit(STOPPED)


@coutil.command("open")
@click.option(
    "--book", metavar="PLACE", help="The book to open; else COUTIL_BOOK, else the one in the user's data folder."
)
@click.option("--port", type=click.IntRange(1, 65535), help="Port to serve on; a free one is taken when none is named.")
@click.option(
    "--listen",
    default="127.0.0.1",
    show_default=True,
    help="Address to serve on; another lets others in, 0.0.0.0 every machine near.",
)
@click.option("--name", "names", multiple=True, help="A name by which other machines call this one, with --listen.")
@click.option("--no-browser", is_flag=True, help="Print the link instead of opening the browser.")
def open_(book: str | None, port: int | None, listen: str, names: tuple[str, ...], no_browser: bool) -> None:
    """Open the order book in the browser: the whole job, live, and kept safe.

    With --listen other machines get in by a password of at least 10 signs, which is asked for; Enter makes one up. The
    addresses to type there are printed, and shown on the page with a picture for a camera. Nothing is encrypted.

    Example:  coutil open
    """
    with refusals():
        from coutil.web import open_page
        from coutil.web.server import is_loopback

        password = None
        if not is_loopback(listen):
            from coutil.cli.password import ask_password

            password = ask_password()
        open_page(
            book=book,
            port=port,
            listen=listen,
            names=names,
            password=password,
            browser=not no_browser,
            tell=lambda says: click.echo(says, err=True),
        )


@coutil.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), metavar="[FILE]", required=False)
@click.option("--bust", metavar="LENGTH", help="An order for the standard size with this bust.")
@click.option("--underbust", metavar="LENGTH", help="Underbust of that size, which tells its cup; or give --cup.")
@click.option("--cup", metavar="LETTER", help="Cup letter of that size, AA to H.")
@click.option(
    "--unit", type=click.Choice(["cm", "mm", "in"]), default="cm", show_default=True, help="Unit of the file."
)
@click.option("--name", default="new order", show_default=True, help="Name of the order.")
@click.option("--label", default="", help="Label of the client, as it is to be printed.")
@click.option(
    "--build",
    type=click.Choice(list(BUILDS)),
    help="A build to start from: " + "; ".join(f"{name}: {says}" for name, says in BUILDS.items()) + ".",
)
@force
@as_json
def new(
    file: Path | None,
    bust: str | None,
    underbust: str | None,
    cup: str | None,
    unit: str,
    name: str,
    label: str,
    build: str | None,
    force: bool,
    as_json: bool,
) -> None:
    """Write a commented order to fill in; with --bust an order for that standard size itself.

    Without --bust nothing is taken yet: until the client's readings stand in the file, nothing may be cut by it.

    Example:  coutil new my-order.toml --bust 96 --cup D
    """
    with refusals():
        from typing import Literal, cast

        from coutil.order import new_order

        chosen = cast(Literal["cm", "mm", "in"], unit)
        text = new_order(name=name, label=label, unit=chosen, body=_standard(bust, underbust, cup, unit), build=build)
        if file is not None:
            from coutil.cli.files import write_one

            write_one(file, text.encode(), force=force)
        if as_json:
            import json

            click.echo(json.dumps({"file": str(file) if file else None, "text": text}, ensure_ascii=False))
        elif file is not None:
            if bust is None:
                says = f"a new order. Put in the client's measurements, then: coutil make {file} -o FOLDER"
            else:
                says = f"a new order of a standard size, as asked for. Then: coutil make {file} -o FOLDER"
            click.echo(f"{file}: {says}")
        else:
            click.echo(text, nl=False)


def _standard(bust: str | None, underbust: str | None, cup: str | None, unit: str) -> Any:
    """The body of the standard size asked for as such, or None."""
    if bust is None:
        if underbust is not None or cup is not None:
            raise click.UsageError("--underbust and --cup go with --bust")
        return None
    if underbust is not None and cup is not None:
        raise click.UsageError("give --underbust or --cup, not both")
    from coutil.body import BodyError, as_asked_body, cup_letter
    from coutil.words import Key, Length

    size = length("--bust", bust, unit)
    # A size to start from is round in the unit of the file: 38 in becomes 96.5 cm in a file that speaks of cm.
    size = size if unit == "in" else float(round(size))
    if underbust is not None:
        cup = cup_letter(size, length("--underbust", underbust, unit))
        if cup is None:
            raise BodyError("no_cup", Key("underbust"), underbust=underbust, bust=Length(size, "both"))
    return as_asked_body(size, cup) if cup is not None else as_asked_body(size)


def _print_pattern(pattern: Pattern) -> None:
    from coutil.pattern.json import dumps

    click.echo(dumps(pattern))


def _laid(work: Work, seconds: float | None) -> Work:
    """The work with its lays and docket, with a bar on a terminal."""
    from coutil.make import lay_out

    if not sys.stderr.isatty():
        return lay_out(work, seconds=seconds)
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (TextColumn("Laying"), BarColumn(), TextColumn("{task.description}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=1.0)
        return lay_out(
            work, seconds=seconds, progress=lambda done, says: bar.update(task, completed=done, description=says)
        )


def _kept(path: Path, documents: Iterator[Any]) -> Iterator[Any]:
    """The documents; before them the order with the stamp of the house that it took from, where it took from one."""
    given = house()
    if given is not None:
        from coutil.make import Document
        from coutil.order import stamped

        # Under its own name: an order that bears none is called as its file is.
        yield Document(path.name, stamped(path.read_text("utf-8-sig"), given).encode())
    yield from documents


def _with_progress(documents: Iterator[Any]) -> Iterator[Any]:
    """The documents as they come, with a word for each on a terminal."""
    if not sys.stderr.isatty():
        yield from documents
        return
    from rich.console import Console

    with Console(stderr=True).status("Working") as status:
        for d in documents:
            status.update(f"{d.name} is ready")
            yield d
