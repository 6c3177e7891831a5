"""docs/commands.md, made from the commands themselves."""

from __future__ import annotations

from collections.abc import Iterator

import click

from coutil.cli.commands import coutil


def commands_page() -> str:
    """The reference page of every command, argument and option, in Markdown."""
    return "\n".join(_lines()) + "\n"


def _lines() -> Iterator[str]:
    yield "# Commands"
    yield ""
    yield "Made from the code by `coutil.cli.page.commands_page`; a test fails when it is stale."
    yield ""
    yield "Every command ends with exit code 0, with 1 if the findings include a `stop`, or with 2 and one clear"
    yield "message if its input cannot be used. Files are written whole or not at all, and none is overwritten without"
    yield "`--force`."
    for name, command in _flat("coutil", coutil):
        yield ""
        yield f"## `{name}`"
        yield ""
        text = [" ".join(part.split()) for part in (command.help or "").split("\n\n")]
        for paragraph in text:
            yield (
                paragraph if not paragraph.startswith("Example:") else f"`{paragraph.removeprefix('Example:').strip()}`"
            )
            yield ""
        rows = list(_parameters(command))
        if rows:
            yield "| | |"
            yield "| --- | --- |"
            yield from rows


def _flat(name: str, group: click.Group) -> Iterator[tuple[str, click.Command]]:
    for key in sorted(group.commands):
        command = group.commands[key]
        if isinstance(command, click.Group):
            yield from _flat(f"{name} {key}", command)
        else:
            yield f"{name} {key}", command


def _parameters(command: click.Command) -> Iterator[str]:
    for p in command.params:
        if isinstance(p, click.Argument):
            yield f"| `{p.make_metavar(click.Context(command))}` | {'needed' if p.required else 'may be left out'} |"
        elif isinstance(p, click.Option):
            flags = ", ".join(p.opts)
            takes = "" if p.is_flag else " " + p.make_metavar(click.Context(command)).replace("|", ", ")
            yield f"| `{flags}{takes}` | {p.help or ''} |"
