"""Help: `stockyard help`, and `stockyard help COMMAND`."""

from __future__ import annotations

from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from stockyard.cli.common import add_commands
from stockyard.errors import BadInput


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    add_commands(app, {"help": help_})


def help_(
    ctx: typer.Context,
    command: Annotated[
        list[str] | None, typer.Argument(metavar="[COMMAND]...", help="Such as cut, or place add.")
    ] = None,
) -> None:
    """Tell what the commands do, or how one is used."""
    inner: typer.Context | Any = ctx.find_root()
    for word in command or ():
        group = inner.command
        found = group.get_command(inner, word) if isinstance(group, TyperGroup) else None
        if found is None:
            raise BadInput(f"there is no command '{word[:40]}': 'stockyard help' lists them")
        inner = typer.Context(found, info_name=word, parent=inner)
    typer.echo(inner.get_help())
