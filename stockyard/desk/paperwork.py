"""Papers of a planned job by its name: PDFs, cut cards as values, a card as a drawing."""

from __future__ import annotations

from enum import StrEnum

from stockyard.desk.papers import job_cards, plan_to_print
from stockyard.desk.print_job import Document, Which, print_job
from stockyard.errors import BadInput, Refused
from stockyard.printing.papers import CutCard
from stockyard.tags import read_tag
from stockyard.yard import Yard, jobs
from stockyard.yard.plans import mark_printed, printed_plan

__all__ = ["Document", "OnPaper", "Which", "card_svg", "cards", "drawn", "on_paper", "papers", "printed"]


class OnPaper(StrEnum):
    """Which cut cards of a job are on paper: none, those of a plan before, or those that hold now."""

    NEVER = "never"
    BEFORE = "before"
    NOW = "now"


# A tag is at least this long; anything shorter that is a number is that of a card.
_SHORTEST_TAG = 5


def papers(
    yard: Yard,
    name: str,
    *,
    only: str | None = None,
    one_file: bool = False,
    paper: str = "",
    changed: bool = False,
) -> tuple[Document, ...]:
    """Return the papers of a job as PDFs; `only` one of pull, cards, router, labels; `paper` letter or a4.

    `changed`: only the cards that are not as they were last printed, and the labels of their parts.

    Raises:
        BadInput: no such job or paper. Refused: it has no plan that holds.
    """
    if only is not None and only not in tuple(Which):
        raise BadInput(f"'{only[:20]}' is no paper of a job: say {', '.join(Which)}")
    with yard.reading():
        which = Which(only) if only else None
        return print_job(
            yard, jobs.planned_job(yard, name), only=which, one_file=one_file, size=paper, changed=changed
        )


def printed(yard: Yard, name: str) -> None:
    """Note that the cut cards of a job are on paper as they are now: `papers` counts changes from here.

    Raises:
        BadInput: no such job. Refused: it has no plan.
    """
    plan = plan_to_print(yard, jobs.planned_job(yard, name))
    if plan is None:
        raise Refused(f"job {name} has no plan yet", "no plan", {"job": name})
    mark_printed(yard, plan)


def on_paper(yard: Yard, name: str) -> OnPaper:
    """Return which cut cards of a job are on paper.

    Raises:
        BadInput: no such job.
    """
    with yard.reading():
        job = jobs.planned_job(yard, name)
        plan, last = plan_to_print(yard, job), printed_plan(yard, job.id)
    if last is None:
        return OnPaper.NEVER
    return OnPaper.NOW if plan is not None and last.id == plan.id else OnPaper.BEFORE


def cards(yard: Yard, name: str, piece: str | None = None) -> tuple[CutCard, ...]:
    """Return the cut cards of a job, or the one of `piece`: its tag, or the number of its card.

    Raises:
        BadInput: no such job, or `piece` is not in its plan. Refused: it has no plan that holds.
    """
    with yard.reading():
        every = job_cards(yard, jobs.planned_job(yard, name))
    if piece is None:
        return every
    if piece.isdecimal() and len(piece) < _SHORTEST_TAG:
        found = tuple(card for card in every if card.number == int(piece))
    else:
        tag = read_tag(piece)
        found = tuple(card for card in every if card.tag == tag)
    if not found:
        raise BadInput(f"'{piece[:20]}' is not in this plan: its pieces are {_named(every)}")
    return found


def card_svg(yard: Yard, name: str, piece: str | None = None) -> bytes:
    """Return the drawing of one card as SVG; errors as `cards`.

    Raises:
        BadInput: the plan has several pieces and none was named.
    """
    found = cards(yard, name, piece)
    if len(found) != 1:
        raise BadInput(f"an SVG holds one piece: say which of {_named(found)}")
    return drawn(found[0])


def drawn(card: CutCard) -> bytes:
    """Return the drawing of a card as SVG."""
    from stockyard.printing.drawing_pdf import paper_metrics
    from stockyard.printing.drawing_svg import SVG_SIZE, draw_svg
    from stockyard.printing.piece_drawing import draw_piece

    drawing = draw_piece(card, *SVG_SIZE, paper_metrics()).drawing
    return draw_svg(drawing, f"{card.job}: {card.tag or card.place}").encode("utf-8")


def _named(every: tuple[CutCard, ...]) -> str:
    return ", ".join(card.tag or str(card.number) for card in every)
