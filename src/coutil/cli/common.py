"""What the commands share: arguments, options, how a refusal and a stop are told."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from coutil.make import Work
    from coutil.order import House, Order

# Exit codes: nothing in the way; the findings include a stop; the input cannot be used.
FINE, STOPPED, UNUSABLE = 0, 1, 2

order_file = click.argument("order", type=click.Path(path_type=Path, dir_okay=False), metavar="ORDER")
as_json = click.option("--json", "as_json", is_flag=True, help="Print the machine form on standard output.")
_HOUSE = "coutil.house"


def _keep_house(ctx: click.Context, _: click.Parameter, path: Path | None) -> None:
    ctx.meta[_HOUSE] = path


house_file = click.option(
    "--house",
    type=click.Path(path_type=Path, dir_okay=False),
    callback=_keep_house,
    expose_value=False,
    help="The house file, from which the order takes what it does not say itself.",
)
force = click.option("--force", is_flag=True, help="Overwrite files that are there already.")


def read(path: Path) -> Order:
    """The order at `path`; what it leaves out is the house's that --house names."""
    from coutil.order import read_order

    return read_order(path, house=house())


def house() -> House | None:
    """The house that the command was given."""
    from coutil.order import read_house

    path = click.get_current_context().meta.get(_HOUSE)
    return None if path is None else read_house(path)


def read_work(path: Path) -> Work:
    """The order at `path`, worked out; a pattern of its own is looked for beside it."""
    from coutil.make import work_out
    from coutil.units import lead

    order = read(path)
    lead(order.told_in)
    return work_out(order, path.parent)


def length(option: str, text: str, unit: str = "cm") -> float:
    """A length given as an option, in mm; a plain number counts in `unit`."""
    from coutil.units import LengthError, parse_length
    from coutil.words import in_words, reason

    try:
        mm = parse_length(text, unit)
    except LengthError as e:
        raise click.UsageError(f"{option}: {in_words(reason('length', e))}") from None
    if mm <= 0.0:
        raise click.UsageError(f"{option} {text}: must be more than nothing")
    return mm


def leave(work: Work) -> None:
    """Exit with 1 if the findings include a stop."""
    if work.stopped:
        click.echo("There is a finding that says stop: do not cut by this pattern.", err=True)
        sys.exit(STOPPED)


@contextmanager
def refusals() -> Iterator[None]:
    """Turn what the rooms refuse into one clear message and exit 2; lengths are told as the order read has them."""
    from coutil.units import leading

    try:
        with leading("cm"):
            yield
    except BrokenPipeError:
        raise
    except (ValueError, OSError) as e:
        if not _speaks_of_input(e):
            raise
        click.echo(f"Error: {e}", err=True)
        sys.exit(UNUSABLE)


def _speaks_of_input(e: Exception) -> bool:
    """Errors that speak of the input; anything else is a fault of ours and must be seen whole."""
    from coutil.body import BodyError
    from coutil.book import BookError
    from coutil.order import OrderError
    from coutil.trace import TraceError
    from coutil.worn import WornError

    return isinstance(e, (OrderError, BodyError, BookError, TraceError, WornError, OSError))
