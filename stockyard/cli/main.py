"""The command `stockyard`: every group of commands registered in one place."""

from __future__ import annotations

import os
import sys
import warnings
from contextlib import suppress
from functools import cache
from importlib import import_module
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from stockyard.cli import completing, streams
from stockyard.cli.faults import INTERRUPTED, REFUSED, ends_with, worded
from stockyard.cli.sections import sorted_out
from stockyard.errors import StockyardError
from stockyard.text import leaving

# Light modules only: anything heavy is imported inside the command that needs it.
GROUPS: tuple[str, ...] = (
    "yard",
    "stock",
    "places",
    "pieces",
    "amend",
    "flaws",
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
    "helping",
)


_WHOLE = 500
"""Letters of a command's first sentence in a list: all of them."""


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

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """List the commands by what one is doing."""
        shown = {name: self.get_command(ctx, name) for name in self.list_commands(ctx)}
        for title, names in sorted_out(list(shown)):
            with formatter.section(title.capitalize()):
                told = [
                    (name, command.get_short_help_str(_WHOLE)) for name in names if (command := shown[name])
                ]
                formatter.write_dl(told)


def _tell_version(wanted: bool) -> None:
    if wanted:
        import stockyard

        typer.echo(f"stockyard {stockyard.__version__}")
        raise typer.Exit


@cache
def build() -> typer.Typer:
    """Return the whole command-line application."""
    app = typer.Typer(
        cls=OneLineErrors,
        no_args_is_help=True,
        context_settings={"help_option_names": ["-h", "--help"]},
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        help="What is on the rack, which pieces to pull for a cut list, and how to cut them.",
    )
    app.callback(help=app.info.help)(_whole)
    for name in GROUPS:
        import_module(f"stockyard.cli.{name}").register(app)
    return app


def _whole(
    version: Annotated[
        bool, typer.Option("--version", callback=_tell_version, is_eager=True, help="Tell the version.")
    ] = False,
) -> None:
    """Keep the words after `stockyard` a command, however few commands there are."""


def _interrupted() -> int:
    """Say that a Ctrl-C came before the command was done; return the exit code for it."""
    typer.echo("stockyard: interrupted; 'stockyard ledger' shows what was recorded by then", err=True)
    return INTERRUPTED


def main() -> None:
    """Run the command line: whatever happens, it ends with an exit code and at most one line of error."""
    sys.exit(_complete() if completing.asked() else streams.finish(_run()))


def _complete() -> int:
    """Answer a shell that completes words; whatever is wrong, it is told nothing and sees no error."""
    with suppress(Exception, SystemExit):
        build()()
    return 0


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
