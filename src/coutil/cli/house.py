"""The command `coutil house`: the maker's own values in one file, and in the book."""

from __future__ import annotations

from pathlib import Path

import click

from coutil.cli.common import as_json, force, read, refusals


@click.command("house")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), metavar="[FILE]", required=False)
@click.option(
    "--unit", type=click.Choice(["cm", "mm", "in"]), default="cm", show_default=True, help="Unit of the file."
)
@click.option("--stamp", type=click.Path(path_type=Path, dir_okay=False), help="Print this order with FILE stamped in.")
@click.option("--keep", is_flag=True, help="Keep FILE in the book: orders made there from now on take from it.")
@click.option("--kept", is_flag=True, help="Print the house that the book keeps.")
@click.option("--book", metavar="PLACE", help="The book; else COUTIL_BOOK, else the one in the user's data folder.")
@force
@as_json
def house_(
    file: Path | None,
    unit: str,
    stamp: Path | None,
    keep: bool,
    kept: bool,
    book: str | None,
    force: bool,
    as_json: bool,
) -> None:
    """Write a commented house: what is the maker's and not one order's. Give it to commands with --house.

    With --stamp nothing is written: the order is printed with the house in it, so that a later change of the house
    leaves it as it is. With --keep FILE goes into the book, with --kept what the book keeps is printed.

    Example:  coutil house my-house.toml
    """
    with refusals():
        from typing import Literal, cast

        from coutil.order import new_house, read_house, stamped

        if keep or kept:
            text = _house_in_book(book, file if keep else None)
            file = None
        elif stamp is not None:
            if file is None:
                raise click.UsageError("name the house FILE that is to be stamped into the order")
            read(stamp)
            text = stamped(stamp.read_text("utf-8-sig"), read_house(file))
            file = None
        else:
            text = new_house(unit=cast(Literal["cm", "mm", "in"], unit))
        if file is not None:
            from coutil.cli.files import write_one

            write_one(file, text.encode(), force=force)
        if as_json:
            import json

            click.echo(json.dumps({"file": str(file) if file else None, "text": text}, ensure_ascii=False))
        elif file is not None:
            click.echo(f"{file}: a new house. State in it what is yours, then: coutil make ORDER --house {file}")
        else:
            click.echo(text, nl=False)


def _house_in_book(book: str | None, file: Path | None) -> str:
    """Keep a house file in the book; the house that the book keeps, "" for none."""
    from coutil.book import open_book

    with open_book(book, make=file is not None) as b:
        if file is not None:
            b.keep_house(file.read_text("utf-8-sig"))
        return b.house() or ""
