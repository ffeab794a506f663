"""Papers: pull list, cut cards and part labels of a planned job; its drawings on the screen."""

from __future__ import annotations

import sys
from pathlib import Path
from shutil import get_terminal_size
from typing import Annotated

import typer

from stockyard.cli.common import (
    AsJson,
    YardFile,
    add_commands,
    make_folder,
    open_yard,
    print_json,
    terms_of,
)

JobName = Annotated[str, typer.Argument(metavar="JOB", help="The job's name or number.")]
MOST_COLUMNS, MOST_ROWS = 110, 30


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_commands(app, {"papers": papers, "draw": draw, "pull-list": pull_list})


def papers(
    job: JobName,
    only: Annotated[
        str | None, typer.Option(metavar="WHICH", help="Just one of: pull, cards, router, labels.")
    ] = None,
    out: Annotated[Path, typer.Option(metavar="FOLDER", help="Where the PDFs go.")] = Path(),
    one_file: Annotated[bool, typer.Option("--one-file", help="Pull list and cut cards in one PDF.")] = False,
    paper: Annotated[str, typer.Option(help="letter or a4; the shop's setting if left out.")] = "",
    changed: Annotated[
        bool,
        typer.Option("--changed", help="Only the cut cards not as last printed, and their labels."),
    ] = False,
    yard: YardFile = None,
) -> None:
    """Print the papers of a planned job: pull list, cut cards, sheets for the router, part labels."""
    from stockyard.desk import paperwork
    from stockyard.whole import write_set

    with open_yard(yard) as y:
        made = paperwork.papers(y, job, only=only, one_file=one_file, paper=paper, changed=changed)
        make_folder(out)
        write_set(out, [(document.name, document.data) for document in made])
        for document in made:
            typer.echo(out / document.name)
        if only in (None, "cards"):
            paperwork.printed(y, job)


def draw(
    job: JobName,
    piece: Annotated[
        str | None, typer.Argument(metavar="[TAG]", help="One piece: its tag, or the number of its card.")
    ] = None,
    svg: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the drawing as SVG.")] = None,
    plain: Annotated[bool, typer.Option("--ascii", help="Draw with plain characters.")] = False,
    yard: YardFile = None,
) -> None:
    """Show how the pieces of a planned job are cut."""
    from stockyard.desk import paperwork
    from stockyard.whole import write_whole

    with open_yard(yard) as y:
        if svg is not None:
            drawn = paperwork.card_svg(y, job, piece)
        else:
            cards = paperwork.cards(y, job, piece)
    if svg is not None:
        write_whole(svg, drawn)
        typer.echo(svg)
        return
    from stockyard.printing.card_text import card_text

    wide = min(get_terminal_size().columns, MOST_COLUMNS)
    plain = plain or not _can_print("┌░→×")
    typer.echo("\n".join(card_text(card, wide, MOST_ROWS, ascii_only=plain) for card in cards), nl=False)


def pull_list(
    job: JobName,
    tags: Annotated[bool, typer.Option("--tags", help="Only tags, one a line, for 'pull -'.")] = False,
    every: Annotated[
        bool,
        typer.Option("--all", help="With --tags: every piece of the plan not cut yet, in cutting order."),
    ] = False,
    yard: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Show what a planned job still has to fetch: by place in walking order, then what to buy."""
    from stockyard.desk import pulling
    from stockyard.printing.pull_text import pull_text

    with open_yard(yard) as y:
        if tags and every:
            shown = pulling.uncut(y, job)
        else:
            walk, terms = pulling.walk(y, job), terms_of(y)
            shown = tuple(entry.tag for stop in walk.stops for entry in stop.entries)
    if tags:
        for tag in shown:
            typer.echo(tag)
    elif as_json:
        print_json(walk, terms)
    else:
        typer.echo(pull_text(walk), nl=False)


def _can_print(signs: str) -> bool:
    try:
        signs.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
