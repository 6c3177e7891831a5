"""The commands of `coutil book`: what a maker does with the book as a whole, away from the page."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from coutil.cli.common import as_json, force, refusals

# Exit code of a book that is not sound; the others are as everywhere in coutil (`coutil.cli.common`).
UNSOUND = 1

where = click.option(
    "--book",
    "address",
    metavar="PLACE",
    help="A path or postgresql+psycopg://USER@HOST/DATABASE; else COUTIL_BOOK, else the user's data folder.",
)
_file = click.Path(path_type=Path, dir_okay=False)


@click.group()
def book() -> None:
    """Keep the book of clients and orders: back it up, put it back, check, take out and bring in.

    Example:  coutil book backup
    """


@book.command("list")
@click.argument("search", nargs=-1)
@where
@as_json
def list_(search: tuple[str, ...], address: str | None, as_json: bool) -> None:
    """List the orders, or those whose name, client or notes hold every word of SEARCH.

    Example:  coutil book list sea-green
    """
    with refusals():
        from coutil.book import open_book

        with open_book(address, make=False) as b:
            lines = b.orders(" ".join(search))
        if as_json:
            _print([asdict(line) for line in lines])
            return
        for line in lines:
            due = f", due {line.due.isoformat()}" if line.due else ""
            click.echo(
                f"{line.id}  {line.name}  for {line.client_label or '(no label)'} (client {line.client_id}){due}"
            )
        if not lines:
            click.echo("No orders.")


@book.command()
@click.argument("target", type=click.Path(path_type=Path), required=False, metavar="[FOLDER or FILE]")
@where
@as_json
def backup(target: Path | None, address: str | None, as_json: bool) -> None:
    """Back the whole book up into one file, named by the time, and read it back to prove it.

    Without a FOLDER it goes into "backups" beside the book.

    Example:  coutil book backup /media/stick
    """
    with refusals():
        from coutil.book import open_book

        with open_book(address, make=False) as b:
            file = b.backup(target)
        _print({"file": str(file)}) if as_json else click.echo(f"{file}: the whole book")


@book.command()
@click.argument("file", type=_file)
@where
@click.option("--yes", is_flag=True, help="Do not ask.")
@as_json
def restore(file: Path, address: str | None, yes: bool, as_json: bool) -> None:
    """Replace the whole book by a backup. What it holds now is saved in "backups" first.

    Example:  coutil book restore coutil-book-2026-05-04-101500.zip
    """
    with refusals():
        from coutil.book import book_address, restore_book

        shown = book_address(address)
        if not yes:
            click.confirm(f"Replace all that is in {shown} by {file}?", abort=True, err=True)
        done = restore_book(file, address)
        if as_json:
            _print(asdict(done))
            return
        click.echo(f"{shown}: {done.clients} clients, {done.orders} orders, {done.versions} versions put back")
        if done.before is not None:
            click.echo(f"{done.before}: what was there before")


@book.command()
@where
@as_json
def check(address: str | None, as_json: bool) -> None:
    """Prove the book sound: the database, every order's text, every chain of versions.

    Example:  coutil book check
    """
    with refusals():
        from coutil.book import DamagedError, Fault, open_book

        try:
            with open_book(address, make=False) as b:
                shown, faults, count = b.shown, b.check(), len(b.orders())
        except DamagedError as e:
            shown, faults, count = "the book", (Fault("the database", str(e)),), 0
        if as_json:
            _print({"faults": [asdict(f) for f in faults]})
        elif not faults:
            click.echo(f"{shown}: sound; {count} orders")
        else:
            for f in faults:
                click.echo(str(f))
        if faults:
            sys.exit(UNSOUND)


@book.command()
@click.argument("file", type=_file)
@click.option("--order", type=int, metavar="NUMBER", help="One order, as its order file.")
@click.option("--client", type=int, metavar="NUMBER", help="All about one client, in one zip.")
@where
@force
@as_json
def export(file: Path, order: int | None, client: int | None, address: str | None, force: bool, as_json: bool) -> None:
    """Write the whole book, one order or all about one client into FILE.

    Example:  coutil book export book.zip   or   coutil book export sea-green.toml --order 3
    """
    with refusals():
        if order is not None and client is not None:
            raise click.UsageError("give --order or --client, not both")
        from coutil.book import open_book

        with open_book(address, make=False) as b:
            if order is not None:
                b.export_order(order, file, force=force)
                what = f"order {order}"
            elif client is not None:
                b.export_client(client, file, force=force)
                what = f"all about client {client}"
            else:
                b.export_book(file, force=force)
                what = "the whole book"
        _print({"file": str(file)}) if as_json else click.echo(f"{file}: {what}")


@book.command("import")
@click.argument("file", type=_file)
@click.option("--client", type=int, metavar="NUMBER", help="The client that an order is for.")
@where
@as_json
def import_(file: Path, client: int | None, address: str | None, as_json: bool) -> None:
    """Bring an order file, or what the file of a whole book holds, into the book. Nothing is overwritten.

    Example:  coutil book import examples/sea-green.toml
    """
    with refusals():
        from coutil.book import open_book

        whole = _starts_as_zip(file)
        if whole and client is not None:
            raise click.UsageError("--client goes with the file of one order")
        with open_book(address) as b:
            if whole:
                come = b.import_book(file)
                if as_json:
                    _print(asdict(come))
                    return
                click.echo(
                    f"added {come.clients} clients, {come.tapes} tapes, {come.orders} orders with {come.versions} "
                    f"versions; {come.there_already} were there already"
                )
                for note in come.notes:
                    click.echo(note)
                return
            entry = b.import_order(file, client_id=client)
        if as_json:
            _print({"order": entry.id, "client": entry.client_id, "name": entry.name})
        else:
            click.echo(f"order {entry.id}: {entry.name}, for {entry.client_label or '(no label)'}")


@book.command()
@click.argument("client", type=int)
@where
@click.option("--yes", is_flag=True, help="Do not ask.")
@as_json
def erase(client: int, address: str | None, yes: bool, as_json: bool) -> None:
    """Erase a client wholly: tapes, orders, every version, free pages too. There is no way back.

    Example:  coutil book erase 7
    """
    with refusals():
        from coutil.book import open_book

        with open_book(address, make=False) as b:
            who = b.client(client)
            if not yes:
                click.confirm(
                    f"Erase {who.label or '(no label)'} with {who.orders} orders and {who.tapes} tapes, for good?",
                    abort=True,
                    err=True,
                )
            done = b.erase_client(client)
        if as_json:
            _print(asdict(done))
            return
        click.echo(f"erased: {done.orders} orders, {done.versions} versions, {done.tapes} tapes")
        for line in done.mentions:
            click.echo(f"order {line.id}, {line.name}, of another client still holds the label in its text or history")
        for sentence in done.left:
            click.echo(sentence)


@book.command()
@where
def wipe(address: str | None) -> None:
    """Write the book's files anew, so that nothing deleted is left in them. Erasing does this by itself.

    Example:  coutil book wipe
    """
    with refusals():
        from coutil.book import open_book

        with open_book(address, make=False) as b:
            b.wipe()
            click.echo(f"{b.shown}: written anew")


def _starts_as_zip(file: Path) -> bool:
    """Whether the file begins as every zip does (PKWARE's APPNOTE: local file header signature)."""
    from coutil.book import BookError

    try:
        with file.open("rb") as f:
            return f.read(2) == b"PK"
    except OSError as e:
        raise BookError("unreadable", file=str(file), reason=e.strerror or str(e)) from None


def _print(data: Any) -> None:
    click.echo(json.dumps(data, ensure_ascii=False, default=str))
