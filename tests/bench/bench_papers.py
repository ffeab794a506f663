"""How long the papers of a large job take, imports aside: `python -m tests.bench.bench_papers [PIECES]`."""

from __future__ import annotations

import sys
from io import BytesIO
from time import process_time

from pypdf import PdfReader

from stockyard.printing.card_text import card_text
from stockyard.printing.fonts import BOLD, REGULAR, width
from stockyard.printing.one_job import job_pdf
from stockyard.printing.papers import CutCard, JobPapers
from tests.printing.samples import random_cards, random_pull_list


def big_job(pieces: int) -> JobPapers:
    """Return an invented job of so many pieces."""
    cards: list[CutCard] = []
    seed = 0
    while len(cards) < pieces:
        cards += random_cards(seed, min(5, pieces - len(cards)))
        seed += 1
    return JobPapers(pull_list=random_pull_list(1, pieces), cards=tuple(cards))


def main() -> None:
    """Print one line for paper and one for the screen."""
    pieces = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    papers = big_job(pieces)
    # Reading the typefaces is part of starting up.
    width("a", BOLD, 1), width("a", REGULAR, 1)
    start = process_time()
    data = job_pdf(papers, "letter")
    spent = process_time() - start
    pages = len(PdfReader(BytesIO(data)).pages)
    steps = sum(len(card.steps) for card in papers.cards)
    print(f"{pieces} pieces, {steps} cuts: {pages} pages, {len(data) / 1024:.0f} KiB in {spent:.2f} s")
    start = process_time()
    for card in papers.cards:
        card_text(card, 100, 30)
    print(f"the same on the screen in {process_time() - start:.2f} s")


if __name__ == "__main__":
    main()
