"""Papers: pull list, cut cards and part labels of a planned job; its drawings on the screen."""

from __future__ import annotations

import sys
from pathlib import Path
from shutil import get_terminal_size
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import AsJson, YardFile, add_commands, open_yard, print_json
from stockyard.errors import BadInput

if TYPE_CHECKING:
    from stockyard.printing.papers import CutCard

JobName = Annotated[str, typer.Argument(metavar="JOB", help="The job's name or number.")]
MOST_COLUMNS, MOST_ROWS = 110, 30


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_commands(app, {"papers": papers, "draw": draw, "pull-list": pull_list})


def papers(
    job: JobName,
    only: Annotated[
        str | None, typer.Option(metavar="WHICH", help="Just one of: pull, cards, labels.")
    ] = None,
    out: Annotated[Path, typer.Option(metavar="FOLDER", help="Where the PDFs go.")] = Path(),
    one_file: Annotated[bool, typer.Option("--one-file", help="Pull list and cut cards in one PDF.")] = False,
    paper: Annotated[str, typer.Option(help="letter or a4; the shop's setting if left out.")] = "",
    yard: YardFile = None,
) -> None:
    """Print the papers of a planned job: pull list, cut cards, part labels."""
    from stockyard.desk.print_job import Which, print_job
    from stockyard.yard.jobs import job as job_named

    if only is not None and only not in tuple(Which):
        raise BadInput(f"'{only[:20]}' is no paper of a job: say {', '.join(Which)}")
    with open_yard(yard) as y:
        which = Which(only) if only else None
        written = print_job(y, job_named(y, job), out, only=which, one_file=one_file, size=paper)
    for path in written:
        typer.echo(path)


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
    from stockyard.desk.papers import job_cards
    from stockyard.yard.jobs import job as job_named

    with open_yard(yard) as y:
        cards = _chosen(job_cards(y, job_named(y, job)), piece)
    if svg is not None:
        _write_svg(cards, svg)
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
    from stockyard.desk.papers import papers_of, uncut_tags
    from stockyard.printing.pull_text import pull_text
    from stockyard.yard.jobs import job as job_named

    with open_yard(yard) as y:
        found = job_named(y, job)
        walk = papers_of(y, found).pull_list
        uncut = uncut_tags(y, found)
    if tags:
        walked = [entry.tag for stop in walk.stops for entry in stop.entries]
        for tag in uncut if every else walked:
            typer.echo(tag)
    elif as_json:
        print_json(walk)
    else:
        typer.echo(pull_text(walk), nl=False)


def _chosen(cards: tuple[CutCard, ...], piece: str | None) -> tuple[CutCard, ...]:
    if piece is None:
        return cards
    if piece.isdecimal() and len(piece) < 5:
        found = [card for card in cards if card.number == int(piece)]
    else:
        from stockyard.tags import read_tag

        tag = read_tag(piece)
        found = [card for card in cards if card.tag == tag]
    if not found:
        known = ", ".join(card.tag or str(card.number) for card in cards)
        raise BadInput(f"'{piece[:20]}' is not in this plan: its pieces are {known}")
    return tuple(found)


def _write_svg(cards: tuple[CutCard, ...], path: Path) -> None:
    from stockyard.printing.drawing_pdf import paper_metrics
    from stockyard.printing.drawing_svg import SVG_SIZE, draw_svg
    from stockyard.printing.output import write_whole
    from stockyard.printing.piece_drawing import draw_piece

    if len(cards) != 1:
        known = ", ".join(card.tag or str(card.number) for card in cards)
        raise BadInput(f"an SVG holds one piece: say which of {known}")
    drawing = draw_piece(cards[0], *SVG_SIZE, paper_metrics()).drawing
    title = f"{cards[0].job}: {cards[0].tag or cards[0].place}"
    write_whole(path, draw_svg(drawing, title).encode("utf-8"))
    typer.echo(path)


def _can_print(signs: str) -> bool:
    try:
        signs.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
