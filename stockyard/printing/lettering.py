"""Rows of text that fit a box: as large as it allows, never clipped, never below a least height.

Heights are those of capitals, in millimetres; widths too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from stockyard.printing import fonts
from stockyard.printing.marks import Word, natural


@dataclass(frozen=True, slots=True)
class Row:
    """One line of text: its share of the height, and the heights its capitals may have.

    `up` and `down` are how far its ink reaches from the base line when capitals are 1 high.
    """

    text: str
    face: str
    share: float
    least: float
    most: float
    natural: float
    up: float
    down: float


def row(text: str, face: str, share: float, least: float, most: float, *, down: float | None = None) -> Row:
    """Return `text` as a row; `down` overrides its reach below, so that like rows are set alike.

    Raises:
        fonts.MissingGlyph: a character that `face` does not hold.
    """
    high, low = (r / fonts.CAP_HEIGHT for r in fonts.reach(text, face))
    return Row(
        text, face, share, least, most, natural(text, face), max(high, 1.0), low if down is None else down
    )


def gap(height: float) -> float:
    """Return the white between the ink of two rows in a box of `height`."""
    return min(max(height * 0.05, 0.3), 0.9)


def stack(rows: Sequence[Row], width: float, height: float) -> tuple[float, ...] | None:
    """Return the cap heights of `rows` in a box, or None when one falls under its least.

    Height that a row cannot use, being as wide as the box, goes to the first.
    """
    usable = height - gap(height) * (len(rows) - 1)
    unit = usable / sum([r.share * (r.up + r.down) for r in rows])
    caps = [min(max(r.share * unit, r.least), width / r.natural, r.most) for r in rows]
    first = rows[0]
    rest = sum([cap * (r.up + r.down) for cap, r in zip(caps[1:], rows[1:], strict=True)])
    caps[0] = min((usable - rest) / (first.up + first.down), width / first.natural, first.most)
    for n, (above, below) in enumerate(pairwise(rows), start=1):
        # Lines of one text are equal; a row never outgrows the one above it.
        caps[n] = min(caps[n], caps[n - 1] * (1 if above.share == below.share else 0.9))
    if any(cap < r.least - 1e-9 for cap, r in zip(caps, rows, strict=True)):
        return None
    return tuple(caps)


def place(rows: Sequence[Row], caps: Sequence[float], x: float, height: float) -> list[Word]:
    """Return the rows as words from the top of a box at `x`, spare height shared between and around them."""
    used = sum(cap * (r.up + r.down) for cap, r in zip(caps, rows, strict=True))
    between = gap(height)
    if len(rows) > 1:
        between = min((height - used) / (len(rows) - 1), 2.2 * between)
    y = height - max(height - used - between * (len(rows) - 1), 0) / 2
    words = []
    for cap, r in zip(caps, rows, strict=True):
        y -= cap * r.up
        words.append(Word(x, y, r.text, r.face, cap))
        y -= cap * r.down + between
    return words


def two_lines(text: str, face: str) -> tuple[str, str] | None:
    """Return `text` broken at the space that makes the longer line shortest, or None without a space."""
    words = text.split()
    breaks = [(" ".join(words[:n]), " ".join(words[n:])) for n in range(1, len(words))]
    return min(breaks, key=lambda pair: max(natural(line, face) for line in pair), default=None)


def shortened(text: str) -> Iterator[str]:
    """Yield `text` with ever more taken off its end, each marked with …, at least twelve characters kept."""
    for end in range(len(text) - 1, 11, -1):
        # Whole words first look better, but a name that is one long word still has to be cut.
        if text[end].isspace() or (" " not in text[:end] and end % 4 == 0):
            yield text[:end].rstrip(" ,;-") + "…"
