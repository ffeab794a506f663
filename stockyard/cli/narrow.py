"""Tables that fit a window: cells go on a second line, and where that is not enough each row is a block."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Sequence

_GAP = "  "
_LEAST = 24
# What stays on one line: the two sides of a size, a figure and its unit.
_TOGETHER = re.compile(r" (?=×)|(?<=×) |(?<=\d) (?=(?:mm|in|ft|m²|sq|kg|lb|[A-Z]{3})\b)")


def fitted(headings: Sequence[str], rows: Sequence[Sequence[str]], most: int | None) -> list[str]:
    """Return the lines of a table; `most` is how many letters a line may have, None any number.

    Columns in which nothing stands are left out of a table that would be too wide.
    """
    widths = _widths(headings, rows)
    if most is None or _whole(widths) <= most:
        return [_line(row, widths) for row in (headings, *rows)]
    used = [n for n, _ in enumerate(headings) if any(row[n] for row in rows)] or [0]
    headings, rows = [headings[n] for n in used], [[row[n] for n in used] for row in rows]
    most = max(most, _LEAST)
    narrow = _narrowed(
        _widths(headings, rows), [_longest_word(c) for c in zip(headings, *rows, strict=True)], most
    )
    if narrow is None:
        return list(_blocks(headings, rows, most))
    return [line for row in (headings, *rows) for line in _wrapped(row, narrow)]


def _widths(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> list[int]:
    return [max(map(len, column)) for column in zip(headings, *rows, strict=True)]


def _whole(widths: Sequence[int]) -> int:
    return sum(widths) + len(_GAP) * (len(widths) - 1)


def _longest_word(column: Sequence[str]) -> int:
    return max((len(word) for cell in column for word in _TOGETHER.sub("\xa0", cell).split(" ")), default=1)


def _narrowed(widths: list[int], least: list[int], most: int) -> list[int] | None:
    """Take from the widest column until the table fits; None where words would have to be broken."""
    while _whole(widths) > most:
        slack = [(w, n) for n, w in enumerate(widths) if w > least[n]]
        if not slack:
            return None
        widths[max(slack)[1]] -= 1
    return widths


def _wrapped(row: Sequence[str], widths: Sequence[int]) -> Iterator[str]:
    cells = [_broken(cell, width) for cell, width in zip(row, widths, strict=True)]
    for n in range(max(map(len, cells))):
        yield _line([lines[n] if n < len(lines) else "" for lines in cells], widths)


def _broken(cell: str, width: int) -> list[str]:
    whole = _TOGETHER.sub("\xa0", cell)
    lines = textwrap.wrap(whole, width, break_long_words=False, break_on_hyphens=False)
    return [line.replace("\xa0", " ") for line in lines] or [""]


def _blocks(headings: Sequence[str], rows: Sequence[Sequence[str]], most: int) -> Iterator[str]:
    """Yield each row as lines of heading and cell; the first line of all says what begins a block."""
    yield f"{headings[0] or 'each'}:" if rows else _line(headings, [0] * len(headings))
    for row in rows:
        yield row[0]
        for heading, cell in zip(headings[1:], row[1:], strict=True):
            if cell:
                said = f"{heading}: {cell}" if heading else cell
                yield from textwrap.wrap(
                    said, most, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False
                )


def _line(cells: Sequence[str], widths: Sequence[int]) -> str:
    return _GAP.join(c.ljust(w) for c, w in zip(cells, widths, strict=True)).rstrip()
