"""The pull list: one walk from place to place, what to lift off, take and put back, then what to buy."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from stockyard import figures
from stockyard.printing import fonts
from stockyard.printing.cautions import PULLING
from stockyard.printing.output import Paper
from stockyard.printing.page import MARGIN, SMALLEST, bold, page_size, plain, wrap, write_lines
from stockyard.printing.papers import PullList
from stockyard.printing.pull_lines import (
    NOTHING,
    WALK,
    BandRow,
    BuyRow,
    EntryRow,
    LiftOffRow,
    PutBackRow,
    Row,
    Sources,
)

HEAD = 47.0
STOP_GAP = 3.5
# The cautions stand in the margin at the foot, as low as printers print.
FOOT = 20.0
SMALL = plain(SMALLEST)
NAME, KIND = bold(17), plain(SMALLEST)
STATION = WALK - 27


@dataclass(frozen=True, slots=True)
class Block:
    """Rows that hang on one station of the walk. `name` is printed beside them."""

    station: str
    name: str
    kind: str
    rows: tuple[Row, ...]

    def height(self, width: float) -> float:
        """Return the height it takes, the gap above included: rows and station side by side."""
        name, kind = _station_words(self)
        station = 12 + len(name) * NAME.step + len(kind) * KIND.step
        return STOP_GAP + max(sum(row.height(width) for row in self.rows), station)


def pull_list_pdf(pull_list: PullList, size: str = "letter") -> bytes:
    """Return the pull list of a job as a PDF; `size` is letter or a4."""
    paper = Paper(page_size(size), f"Pull list: {pull_list.job}")
    print_pull_list(paper, pull_list, size)
    return paper.finish()


def print_pull_list(paper: Paper, pull_list: PullList, size: str) -> None:
    """Draw the pull list; the last page is left open for the caller to end.

    Raises:
        BadInput: a name with a character the typefaces lack.
    """
    sources = Sources(pull_list)
    width, height = page_size(size)
    room = width - 2 * MARGIN
    foot = _foot(pull_list, sources, room)
    blocks = list(_blocks(pull_list, sources))
    pages = _pages(blocks, room - WALK, height - MARGIN - FOOT - HEAD - _foot_height(foot))
    for n, page in enumerate(pages, 1):
        if n > 1:
            paper.next_page()
        top = _head(paper, pull_list, height - MARGIN, room, f"page {n} of {len(pages)}")
        if blocks:
            _walk(paper, page, top, room, ends=n == len(pages))
        else:
            plain(12).write(paper, MARGIN, top - 18, NOTHING, room)
        write_lines(paper, MARGIN, FOOT + len(foot) * SMALL.step, foot, SMALL)


def _blocks(pull_list: PullList, sources: Sources) -> Iterator[Block]:
    rows: list[Row]
    for n, stop in enumerate(pull_list.stops, 1):
        rows = []
        for entry in stop.entries:
            if entry.on_top:
                rows.append(LiftOffRow(entry.on_top, pull_list.unit, sources))
            rows.append(EntryRow(entry, pull_list.unit, pull_list.finest, sources))
        if stop.put_back:
            rows.append(PutBackRow(stop.put_back))
        yield Block(str(n), stop.place, stop.storage, tuple(rows))
    if pull_list.buy or pull_list.bands:
        rows = [BuyRow(line, pull_list.unit, pull_list.finest) for line in pull_list.buy]
        rows += [BandRow(line, pull_list.unit) for line in pull_list.bands]
        yield Block("+", "BUY" if pull_list.buy else "BANDS", "not in the yard", tuple(rows))


def _pages(blocks: list[Block], width: float, height: float) -> list[list[Block]]:
    """Share the blocks out over pages; a block that is cut in two is named again on the next page."""
    pages: list[list[Block]] = [[]]
    left = height
    for block in blocks:
        rows: tuple[Row, ...] = ()
        for i, row in enumerate(block.rows):
            # What is lifted off belongs with what lies under it.
            with_next = block.rows[i : i + (2 if isinstance(row, LiftOffRow) else 1)]
            if replace(block, rows=(*rows, *with_next)).height(width) > left and (rows or pages[-1]):
                if rows:
                    pages[-1].append(replace(block, rows=rows))
                pages.append([])
                rows, left = (), height
            rows += (row,)
        pages[-1].append(replace(block, rows=rows))
        left -= pages[-1][-1].height(width)
    return pages


def _head(paper: Paper, pull_list: PullList, top: float, room: float, page: str) -> float:
    canvas = paper.canvas
    pieces = f"{_count(pull_list.pieces, 'piece')} from {_count(len(pull_list.stops), 'place')}"
    right = MARGIN + room
    aside = bold(12).width(pieces) + 20
    paper.text(MARGIN, top - 9, "PULL LIST", fonts.BOLD, SMALLEST)
    bold(23).write(paper, MARGIN, top - 33, pull_list.job, room - aside)
    paper.text(right, top - 9, f"{pull_list.date} · {page}", fonts.REGULAR, SMALLEST, align="right")
    paper.text(right, top - 22, pieces, fonts.BOLD, 12, align="right")
    paper.text(right, top - 34, _total(pull_list), fonts.REGULAR, SMALLEST, align="right")
    canvas.setLineWidth(2.2)
    canvas.line(MARGIN, top - 42, right, top - 42)
    return top - HEAD + 2


def _count(number: int, word: str) -> str:
    return f"{number} {word}" + ("" if number == 1 else "s")


def _total(pull_list: PullList) -> str:
    weights = [entry.lift.weight for stop in pull_list.stops for entry in stop.entries]
    known = sum(grams for grams in weights if grams is not None)
    text = f"{figures.weight(known, pull_list.unit)} to carry"
    unknown = sum(grams is None for grams in weights)
    return f"{text}, {unknown} not weighed" if unknown else text


def _walk(paper: Paper, blocks: list[Block], top: float, room: float, *, ends: bool) -> None:
    """Draw the blocks along the line that is walked, a numbered station for each."""
    canvas, x = paper.canvas, MARGIN + 10
    first, y, last = top - 15.0, top, top
    stations = []
    for block in blocks:
        stations.append((y - STOP_GAP, block))
        last = y - STOP_GAP - 15
        y -= block.height(room - WALK)
    canvas.setLineWidth(2.2)
    canvas.line(x, first, x, last if ends else y)
    for start, block in stations:
        canvas.setLineWidth(0.9)
        canvas.line(MARGIN + WALK, start, MARGIN + room, start)
        _station(paper, block, x, start - 15)
        y = start
        for above, row in zip((None, *block.rows), block.rows, strict=False):
            # What is lifted off and what lies under it stay together.
            if above is not None and not isinstance(above, LiftOffRow):
                canvas.setLineWidth(0.3)
                canvas.line(MARGIN + WALK, y, MARGIN + room, y)
            row.draw(paper, MARGIN + WALK, y, room - WALK)
            y -= row.height(room - WALK)


def _station(paper: Paper, block: Block, x: float, y: float) -> None:
    canvas = paper.canvas
    canvas.setFillGray(0)
    canvas.circle(x, y, 10, stroke=0, fill=1)
    canvas.setFillGray(1)
    style = bold(12)
    paper.text(
        x, y - style.size * fonts.CAP_HEIGHT / 2, block.station, style.face, style.size, align="centre"
    )
    canvas.setFillGray(0)
    lines, kind = _station_words(block)
    name = NAME.shrunk(block.name, STATION)
    paper.text(x + 15, y - 6, lines[0], name.face, name.size)
    below = write_lines(paper, x + 15, y - 9, lines[1:], name)
    write_lines(paper, x + 15, below, kind, KIND)


def _station_words(block: Block) -> tuple[list[str], list[str]]:
    """Return the name and the kind of a place in lines that fit beside its circle."""
    name = NAME.shrunk(block.name, STATION)
    return wrap(block.name, name, STATION), wrap(block.kind, KIND, STATION)


def _foot(pull_list: PullList, sources: Sources, room: float) -> list[str]:
    texts = [*pull_list.cautions, " ".join((*sources.lines(), *PULLING))]
    return [line for text in texts for line in wrap(text, SMALL, room)]


def _foot_height(lines: list[str]) -> float:
    return len(lines) * SMALL.step + 6
