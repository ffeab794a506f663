"""The job sheet: the whole job in the order of work, a row for each setting, its cuts to tick off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from stockyard.measure import show
from stockyard.printing import fonts
from stockyard.printing.card_lines import CAUTION, FENCE, WORDS, fence_box
from stockyard.printing.cautions import SAWING
from stockyard.printing.job_order import CardCuts, SettingRow, job_rows, moves
from stockyard.printing.output import Paper
from stockyard.printing.page import (
    MARGIN,
    SMALLEST,
    bold,
    page_size,
    plain,
    tick_box,
    warning_sign,
    whole,
    wrap,
    write_lines,
)
from stockyard.printing.papers import CutCard, JobPapers
from stockyard.printing.step_rows import in_mm
from stockyard.printing.words import spelled
from stockyard.saws import Machine
from stockyard.wording import count, runs

HEAD = 52.0
NUMBER = 30.0
ASIDE = 74.0
AIR = 5.0
WORD = bold(12)
CARD = plain(11)
_BOX = 11.0


@dataclass(frozen=True, slots=True)
class Entry:
    """A row as it is printed. `where` says on what machine; `cards` are what to cut, one box to tick each."""

    row: SettingRow
    figure: str
    exact: str
    where: str
    cards: tuple[str, ...]

    def height(self, width: float) -> float:
        """Return the height it takes."""
        room = width - NUMBER - FENCE - 10 - ASIDE
        words = WORD.step + sum(len(lines) for lines in self.lines(room)) * CARD.step
        words += sum(len(lines) for lines in self.grave(room)) * CAUTION.step
        return max(words, 31 + (11.5 if self.exact else 0)) + 2 * AIR

    def lines(self, room: float) -> list[list[str]]:
        """Return the lines of each card, behind its box."""
        return [wrap(text, CARD, room - _BOX - 6) for text in self.cards]

    def grave(self, room: float) -> list[list[str]]:
        """Return what stands out of the cautions, in lines."""
        return [wrap(text, CAUTION, room - 14) for text in self.row.grave]


def entries(papers: JobPapers) -> tuple[Entry, ...]:
    """Return the rows of the job sheet in words, in the order of work."""
    cards = papers.cards
    return tuple(_entry(row, cards[0]) for row in job_rows(cards, papers.work))


def _entry(row: SettingRow, card: CutCard) -> Entry:
    figure = show(row.figure, card.unit, finest=card.finest)
    return Entry(
        row=row,
        figure=figure,
        exact=in_mm(row.figure) if "≈" in figure and card.unit != "mm" else "",
        where=_where(row, card),
        cards=tuple(_card_words(cuts, row, card) for cuts in row.cards),
    )


def _where(row: SettingRow, card: CutCard) -> str:
    if not row.number:
        return row.word
    machine = "no saw of the shop reaches" if row.machine is None else spelled(row.machine, card.unit)
    machine = card.guide if row.machine is Machine.GUIDE else machine
    return f"{row.word}, {machine}" + (", need not be exact" if row.rough else "")


def _card_words(cuts: CardCuts, row: SettingRow, card: CutCard) -> str:
    word = "cut" if len(cuts.numbers) == 1 else "cuts"
    every = whole(f"{word} {runs(sorted(cuts.numbers))}")
    trims = [
        whole(f"trim {show(off, card.unit, finest=card.finest)} off at {runs(sorted(numbers))}")
        for off, numbers in cuts.trims.items()
        if row.number
    ]
    return "; ".join([whole(f"card {cuts.card}") + f" {cuts.tag or 'bought'}: {every}", *trims])


def job_sheet_pdf(papers: JobPapers, size: str = "letter") -> bytes:
    """Return the job sheet as a PDF; `size` is letter or a4."""
    paper = Paper(page_size(size), f"Job sheet: {papers.pull_list.job}")
    print_job_sheet(paper, papers, size)
    return paper.finish()


def print_job_sheet(paper: Paper, papers: JobPapers, size: str) -> None:
    """Draw the job sheet; the last page is left open for the caller to end.

    Raises:
        BadInput: a name with a character the typefaces lack.
    """
    width, height = page_size(size)
    room = width - 2 * MARGIN
    foot = wrap(spelled(SAWING, papers.pull_list.unit), plain(SMALLEST), room)
    floor = MARGIN + len(foot) * plain(SMALLEST).step
    pages = list(_pages(entries(papers), room, height - MARGIN - HEAD - floor))
    for n, page in enumerate(pages, 1):
        if n > 1:
            paper.next_page()
        _head(paper, papers, height - MARGIN, room, f"page {n} of {len(pages)}")
        top = height - MARGIN - HEAD
        for entry in page:
            _draw(paper, entry, MARGIN, top, room)
            top -= entry.height(room)
        write_lines(paper, MARGIN, floor, foot, plain(SMALLEST))


def _pages(found: Sequence[Entry], width: float, height: float) -> Iterator[list[Entry]]:
    page: list[Entry] = []
    left = height
    for entry in found:
        if page and entry.height(width) > left:
            yield page
            page, left = [], height
        page.append(entry)
        left -= entry.height(width)
    yield page


def _head(paper: Paper, papers: JobPapers, top: float, room: float, page: str) -> None:
    canvas, right = paper.canvas, MARGIN + room
    rows = job_rows(papers.cards, papers.work)
    said = f"{count(moves(rows), 'setting')}, {count(sum(row.cuts for row in rows), 'cut')}"
    waiting = max((row.waiting for row in rows), default=0)
    bench = (
        f"at most {count(waiting, 'piece')} waiting on the bench" if waiting else "nothing waits on the bench"
    )
    aside = max(bold(13).width(said), plain(SMALLEST).width(bench)) + 20
    paper.text(MARGIN, top - 9, "JOB SHEET", fonts.BOLD, SMALLEST)
    bold(23).write(paper, MARGIN, top - 35, papers.pull_list.job, room - aside)
    date = f"{papers.pull_list.date} · {page}"
    paper.text(right, top - 9, date, fonts.REGULAR, SMALLEST, align="right")
    paper.text(right, top - 24, said, fonts.BOLD, 13, align="right")
    paper.text(right, top - 37, bench, fonts.REGULAR, SMALLEST, align="right")
    canvas.setLineWidth(2.2)
    canvas.line(MARGIN, top - 44, right, top - 44)


def _draw(paper: Paper, entry: Entry, x: float, top: float, width: float) -> None:
    row, canvas = entry.row, paper.canvas
    room = width - NUMBER - FENCE - 10 - ASIDE
    if row.number:
        style = bold(15).shrunk(str(row.number), NUMBER - 6)
        paper.text(
            x + NUMBER / 2 - 3, top - AIR - 20, str(row.number), style.face, style.size, align="centre"
        )
    said = row.stays if row.number else "off"
    fence_box(
        paper, x + NUMBER, top - AIR, entry.figure, small=(entry.exact,) if entry.exact else (), said=said,
        set_it=not said,
    )  # fmt: skip
    left, y = x + NUMBER + FENCE + 10, top - AIR
    y = write_lines(paper, left, y, [entry.where], WORD.shrunk(entry.where, room))
    for lines in entry.lines(room):
        tick_box(canvas, left, y - _BOX - 1, _BOX)
        y = write_lines(paper, left + _BOX + 6, y, lines, CARD)
    for lines in entry.grave(room):
        warning_sign(canvas, left, y - CAUTION.step + 2, 10.5)
        y = write_lines(paper, left + 14, y, lines, CAUTION)
    right = x + width
    paper.text(right, top - AIR - 11, count(row.cuts, "cut"), WORD.face, WORD.size, align="right")
    if row.waiting:
        paper.text(right, top - AIR - 24, f"then {row.waiting} wait", WORDS.face, WORDS.size, align="right")
    canvas.setLineWidth(0.35)
    bottom = top - entry.height(width)
    canvas.line(x, bottom, right, bottom)
