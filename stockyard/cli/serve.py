"""`stockyard serve`: pages for the bench, from this computer to itself or to the shop's own network."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from stockyard.cli.common import YardFile, yard_path


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    app.command("serve")(serve)


def serve(
    network: Annotated[
        bool, typer.Option("--network", help="Let the shop's own network in; each station is paired once.")
    ] = False,
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="Where to listen; 0 takes any free port.")
    ] = 8020,
    name: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME", help="A further name by which browsers reach this computer."),
    ] = None,
    planners: Annotated[int, typer.Option(min=1, max=64, help="How many jobs may be planned at once.")] = 1,
    forget: Annotated[
        bool, typer.Option("--forget-stations", help="Make new keys: every station pairs again.")
    ] = False,
    yard: YardFile = None,
) -> None:
    """Serve pages for the bench until Ctrl-C: the whole job in a browser, offline.

    Only this computer reaches them unless --network is said.
    """
    from stockyard.page.serve import Wish, serve

    try:
        wish = Wish(network=network, port=port, names=tuple(name or ()), forget=forget, planners=planners)
        serve(yard_path(yard), wish, _say)
    except KeyboardInterrupt:
        typer.echo("Stopped: what was confirmed is in the yard.")


def _say(words: str) -> None:
    """Print at once, so that who reads it through a pipe has it too."""
    typer.echo(words)
    sys.stdout.flush()
