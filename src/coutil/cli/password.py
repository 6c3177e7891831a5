"""The prompt of `coutil open --listen`: a password for other machines, typed or made up."""

from __future__ import annotations

import click

from coutil.web.password import FEWEST, made_up, trouble
from coutil.words import say


def ask_password() -> str:
    """A password that is good enough. Enter alone makes one up, which is shown; a typed one is asked for twice."""
    while True:
        password: str = click.prompt(
            say("door.prompt", fewest=FEWEST), hide_input=True, default="", show_default=False, err=True
        )
        if not password:
            made = made_up()
            click.echo(say("door.made", password=made), err=True)
            return made
        wrong = trouble(password)
        if (
            wrong is None
            and click.prompt(say("door.repeat"), hide_input=True, default="", show_default=False, err=True) != password
        ):
            wrong = say("door.differ")
        if wrong is None:
            return password
        click.echo(wrong, err=True)
