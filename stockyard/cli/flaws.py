"""What is clear of flaws in a piece, and cutting it out."""

from __future__ import annotations

from typing import Annotated

import typer

from stockyard.cli.common import AsJson, Tag, YardFile, add_commands, open_yard, print_json, terms_of
from stockyard.cli.shown import tell_clear


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    add_commands(app, {"clear": clear})


def clear(
    tag: Tag,
    cut: Annotated[bool, typer.Option("--cut", help="It was cut out: put it on the bench.")] = False,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Say what is clear of flaws in a piece and how to cut it out; --cut records that it was."""
    from stockyard.desk import flaws

    with open_yard(file) as y:
        found, terms = flaws.cut_clear(y, tag) if cut else flaws.clear(y, tag), terms_of(y)
    if as_json:
        print_json(found, terms)
        return
    tell_clear(found, terms)
