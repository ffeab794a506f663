"""All papers of a job in one PDF: the pull list, then the cut cards in the order of work."""

from __future__ import annotations

from stockyard.printing.cut_cards import print_cards
from stockyard.printing.output import Paper
from stockyard.printing.page import page_size
from stockyard.printing.papers import JobPapers
from stockyard.printing.pull_list import print_pull_list


def job_pdf(papers: JobPapers, size: str = "letter") -> bytes:
    """Return pull list and cut cards as one PDF; `size` is letter or a4.

    Raises:
        BadInput: a name with a character the typefaces lack, or a card that contradicts itself.
    """
    paper = Paper(page_size(size), f"Papers: {papers.pull_list.job}")
    print_pull_list(paper, papers.pull_list, size)
    if papers.cards:
        paper.next_page()
        print_cards(paper, papers.cards, size)
    return paper.finish()
