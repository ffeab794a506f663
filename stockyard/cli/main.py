"""The command `stockyard`: every group of commands registered in one place."""

from __future__ import annotations

import sys
from importlib import import_module
from typing import Any

import typer
from typer.core import TyperGroup

from stockyard.errors import Interrupted, StockyardError

# Light modules only: anything heavy is imported inside the command that needs it.
GROUPS: tuple[str, ...] = (
    "yard",
    "stock",
    "pieces",
    "paste",
    "plan",
    "papers",
    "work",
    "record",
    "labels",
    "advice",
    "money",
    "solve",
)


class OneLineErrors(TyperGroup):
    """Turns our errors into one line on standard error and the right exit code."""

    def invoke(self, ctx: Any) -> Any:
        try:
            return super().invoke(ctx)
        except StockyardError as error:
            typer.echo(f"stockyard: {error}", err=True)
            raise typer.Exit(error.exit_code) from None
        except KeyboardInterrupt:
            raise typer.Exit(_interrupted()) from None


def build() -> typer.Typer:
    """Return the whole command-line application."""
    app = typer.Typer(
        cls=OneLineErrors,
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        help="What is on the rack, which pieces to pull for a cut list, and how to cut them.",
    )
    app.callback(help=app.info.help)(_whole)
    for name in GROUPS:
        import_module(f"stockyard.cli.{name}").register(app)
    return app


def _whole() -> None:
    """Keep the words after `stockyard` a command, however few commands there are."""


def _interrupted() -> int:
    """Say that a Ctrl-C came before the command was done; return the exit code for it."""
    typer.echo("stockyard: interrupted; 'stockyard ledger' shows what was recorded by then", err=True)
    return Interrupted.exit_code


def main() -> None:
    """Run the command line."""
    try:
        build()()
    except KeyboardInterrupt:
        sys.exit(_interrupted())
