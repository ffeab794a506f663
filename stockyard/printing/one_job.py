"""All papers of a job in one PDF: the job sheet, the pull list, the cut cards, the sheets for the router."""

from __future__ import annotations

from collections.abc import Sequence

from stockyard.printing.cut_cards import print_cards
from stockyard.printing.job_sheet import print_job_sheet
from stockyard.printing.output import Paper
from stockyard.printing.page import page_size
from stockyard.printing.papers import JobPapers
from stockyard.printing.pull_list import print_pull_list
from stockyard.printing.routed_sheet import RoutedSheet
from stockyard.printing.router_sheet import print_router_sheets
from stockyard.routing import DrawingRules


def job_pdf(
    papers: JobPapers,
    size: str = "letter",
    sheets: Sequence[RoutedSheet] = (),
    rules: DrawingRules = DrawingRules(),
) -> bytes:
    """Return job sheet, pull list, cut cards and the sheets for the router as one PDF; letter or a4.

    Raises:
        BadInput: a name with a character the typefaces lack, or a card that contradicts itself.
    """
    paper = Paper(page_size(size), f"Papers: {papers.pull_list.job}")
    if _sawn(papers):
        print_job_sheet(paper, papers, size)
        paper.next_page()
    walk = papers.pull_list
    # What is done or at the saw already needs no walk.
    if walk.stops or walk.buy or walk.cautions or not (papers.cards or sheets):
        print_pull_list(paper, walk, size)
        if papers.cards or sheets:
            paper.next_page()
    if papers.cards:
        print_cards(paper, papers.cards, size)
        if sheets:
            paper.next_page()
    print_router_sheets(paper, sheets, rules, walk.unit, size)
    return paper.finish()


def saw_pdf(papers: JobPapers, size: str = "letter") -> bytes:
    """Return what lies at the saw: job sheet and cut cards; size and errors as `job_pdf`."""
    paper = Paper(page_size(size), f"Cut cards: {papers.pull_list.job}")
    if _sawn(papers):
        print_job_sheet(paper, papers, size)
        paper.next_page()
    print_cards(paper, papers.cards, size)
    return paper.finish()


def _sawn(papers: JobPapers) -> bool:
    return any(card.steps for card in papers.cards)
