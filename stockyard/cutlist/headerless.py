"""Columns without a header: asked once which column is which."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from stockyard.cutlist.figures import Unclear
from stockyard.cutlist.model import Question, Reading
from stockyard.cutlist.tables import DELIMITERS, SPACES, Cell, Table, find_table, split_cells
from stockyard.errors import BadInput

_FIGURE = re.compile(r"[.,]?\d[\d.,/ '\"-]*(?:mm|cm|in|m)?$", re.IGNORECASE)
_SIZES = (
    ("length", "width", "thickness"),
    ("width", "length", "thickness"),
    ("thickness", "width", "length"),
)


def looks_tabular(line: str) -> tuple[str, list[Cell]] | None:
    """Return the delimiter and the cells of a line of at least three cells, two of them figures."""
    for delimiter in DELIMITERS:
        if delimiter in line and delimiter != SPACES:
            cells = split_cells(line, delimiter)
            if len(cells) >= 3 and sum(1 for c in cells if _FIGURE.match(c.text)) >= 2:
                return delimiter, cells
    return None


class Block:
    """Lines in columns that no header explains: one question for all of them."""

    def __init__(self) -> None:
        self.table: Table | None = None
        self._lines: list[int] = []
        self._text = ""
        self._shape: tuple[str, int] | None = None
        self._readings: tuple[Reading, ...] = ()

    @property
    def id(self) -> str:
        """The id of its question."""
        return "columns"

    def takes(self, number: int, line: str, answers: Mapping[str, str]) -> bool:
        """Whether a line belongs here; with an answer, `table` then reads it.

        Raises:
            BadInput: the answer names no columns that make a part.
        """
        found = looks_tabular(line)
        if not found or (self._shape and self._shape[0] != found[0]):
            return False
        delimiter, cells = found
        if self._shape is None:
            self._shape, self._text = (delimiter, len(cells)), line
            self._readings = _proposals(cells)
        self._lines.append(number)
        if self.id in answers:
            self.table = self._answered(answers[self.id], delimiter)
            return True
        return True

    def _answered(self, answer: str, delimiter: str) -> Table:
        header = next(
            (r.key for i, r in enumerate(self._readings, 1) if answer.strip() in (r.key, str(i))), answer
        )
        names = re.split(r"\s*[,;|\t]\s*", header.strip())
        try:
            table = find_table(delimiter.join(names))
        except Unclear as doubt:
            raise BadInput(f"the answer to columns: {doubt.message}") from None
        if table is None:
            raise BadInput(f"'{header[:60]}' names no columns: write for example name,count,length,width")
        return table

    def question(self) -> Question | None:
        """Return the open question, None when there is none."""
        if not self._lines or self.table:
            return None
        return Question(
            id=self.id, line=self._lines[0], column=1, text=self._text.strip()[:200], kind="block",
            unclear="columns without a header: which is which?", readings=self._readings,
            lines=tuple(self._lines),
        )  # fmt: skip


def _proposals(cells: Sequence[Cell]) -> tuple[Reading, ...]:
    """Return the column orders the first line allows: words are names, the first whole number counts."""
    figures = [i for i, c in enumerate(cells) if _FIGURE.match(c.text)]
    words = [i for i in range(len(cells)) if i not in figures]
    roles = dict(zip(words, ("name", "material", "note"), strict=False))
    counts = [i for i in figures if cells[i].text.isdigit() and len(cells[i].text) <= 3]
    if len(figures) > 2 and counts:
        roles[counts[0]] = "count"
        figures.remove(counts[0])
    if not 2 <= len(figures) <= 3:
        return ()
    out = []
    for order in _SIZES if len(figures) == 3 else _SIZES[:2]:
        full = roles | dict(zip(figures, order, strict=False))
        header = ",".join(full.get(i, "note") for i in range(len(cells)))
        out.append(Reading(header, header.replace(",", ", ")))
    return tuple(out)
