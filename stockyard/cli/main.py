"""The command `stockyard`: every group of commands registered in one place."""

from __future__ import annotations

import os
import sys
import warnings
from importlib import import_module
from typing import Any

import typer
from typer.core import TyperGroup

from stockyard.cli import streams
from stockyard.cli.faults import INTERRUPTED, REFUSED, ends_with, worded
from stockyard.errors import StockyardError
from stockyard.text import leaving

# Light modules only: anything heavy is imported inside the command that needs it.
GROUPS: tuple[str, ...] = (
    "yard",
    "stock",
    "places",
    "pieces",
    "amend",
    "stock_list",
    "paste",
    "plan",
    "papers",
    "work",
    "saw",
    "change",
    "record",
    "labels",
    "advice",
    "money",
    "solve",
    "route",
    "serve",
)


class OneLineErrors(TyperGroup):
    """Turns our errors into one line on standard error and the right exit code."""

    def invoke(self, ctx: Any) -> Any:
        streams.forget_deeds()
        try:
            return super().invoke(ctx)
        except StockyardError as error:
            done = streams.deeds_done()
            typer.echo(f"stockyard: {leaving(worded(error))}{'; ' if done else ''}{done}", err=True)
            raise typer.Exit(ends_with(error)) from None
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
    return INTERRUPTED


def main() -> None:
    """Run the command line: whatever happens, it ends with an exit code and at most one line of error."""
    sys.exit(streams.finish(_run()))


def _run() -> int:
    if not sys.warnoptions:  # they are for who changes the program, not for who runs it
        warnings.simplefilter("ignore")
    try:
        streams.prepare(sys.argv[1:])
        build()()
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else 0 if ended.code is None else 1
    except KeyboardInterrupt:
        return _interrupted()
    except StockyardError as error:
        streams.tell(worded(error))
        return ends_with(error)
    except OSError as error:
        streams.tell_lost(error)
        return REFUSED
    except Exception as error:
        if os.environ.get("STOCKYARD_TRACEBACK"):
            raise
        streams.tell(streams.fault(error))
        return 70
    return 0
