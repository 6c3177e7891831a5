"""The command line. Opening it loads nothing but click; each command loads the rooms that it needs."""

from coutil.cli.book import book
from coutil.cli.commands import coutil
from coutil.cli.house import house_
from coutil.cli.trace import trace, true_
from coutil.cli.worn import worn

for command in (book, house_, trace, true_, worn):
    coutil.add_command(command)


def main() -> None:
    """Run the command line; exits 0, 1 (the findings include a stop) or 2 (input that cannot be used)."""
    coutil(prog_name="coutil")


__all__ = ["coutil", "main"]
