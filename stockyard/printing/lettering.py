"""Rows of text that fit a box: as large as it allows, never clipped, never below a least height.

Heights are those of capitals, in millimetres; widths too.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from stockyard.measure import Unit, show
from stockyard.printing import fonts
from stockyard.printing.marks import Word, natural
from stockyard.printing.words import NO_BREAK, unbroken


@dataclass(frozen=True, slots=True)
class Row:
    """One line of text: its share of the height, and the heights its capitals may have.

    `up` and `down` are how far its ink reaches from the base line, `left` where it begins, when
    capitals are 1 high.
    """

    text: str
    face: str
    share: float
    least: float
    most: float
    natural: float
    up: float
    down: float
    left: float


def row(text: str, face: str, share: float, least: float, most: float, *, down: float | None = None) -> Row:
    """Return `text` as a row; `down` overrides its reach below, so that like rows are set alike.

    Raises:
        fonts.MissingGlyph: a character that `face` does not hold.
    """
    high, low = (r / fonts.CAP_HEIGHT for r in fonts.reach(text, face))
    left = fonts.bearing(text, face) / fonts.CAP_HEIGHT
    # A J begins left of its start: it is moved right, and takes that much more room.
    wide = natural(text, face) + max(-left, 0.0)
    return Row(text, face, share, least, most, wide, max(high, 1.0), low if down is None else down, left)


def lines(texts: Sequence[str], face: str, share: float, least: float, most: float) -> tuple[Row, ...]:
    """Return the lines of one text as rows that are set in one size."""
    rows = [row(text, face, share, least, most) for text in texts]
    widest = max((r.natural for r in rows), default=0.0)
    return tuple(replace(r, natural=widest) for r in rows)


def gap(height: float) -> float:
    """Return the white between the ink of two rows in a box of `height`."""
    return min(max(height * 0.06, 0.3), 1.1)


def stack(
    rows: Sequence[Row], width: float, height: float, most: float = math.inf, step: float = 0.9
) -> tuple[float, ...] | None:
    """Return the cap heights of `rows` in a box, or None when one falls under its least.

    Height that a row cannot use, being as wide as the box, goes to the first. Regular rows keep to `most`;
    a row is at most `step` of the one above it.
    """
    usable = height - gap(height) * (len(rows) - 1)
    unit = usable / sum([r.share * (r.up + r.down) for r in rows])
    # When fair shares starve the first row, the others give way down to their least.
    for share in (unit, 0.0):
        caps = [_cap(r, share, width, most) for r in rows]
        rest = sum([cap * (r.up + r.down) for cap, r in zip(caps[1:], rows[1:], strict=True)])
        caps[0] = min((usable - rest) / (rows[0].up + rows[0].down), width / rows[0].natural, rows[0].most)
        for n, (above, below) in enumerate(pairwise(rows), start=1):
            # Lines of one text are equal.
            caps[n] = min(caps[n], caps[n - 1] * (1 if above.share == below.share else step))
        if all(cap >= r.least - 1e-9 for cap, r in zip(caps, rows, strict=True)):
            return tuple(caps)
    return None


def _cap(row: Row, unit: float, width: float, most: float) -> float:
    cap = min(max(row.share * unit, row.least), width / row.natural, row.most)
    return min(cap, most) if row.face == fonts.REGULAR else cap


def place(rows: Sequence[Row], caps: Sequence[float], x: float, height: float) -> list[Word]:
    """Return the rows as words from the top of a box at `x`.

    Spare height goes between texts, never between the lines of one, and then above and below.
    """
    used = sum(cap * (r.up + r.down) for cap, r in zip(caps, rows, strict=True))
    least = gap(height)
    spare = max(height - used - least * (len(rows) - 1), 0.0)
    breaks = sum(above.share != below.share for above, below in pairwise(rows))
    extra = min(spare / breaks, 1.4 * least) if breaks else 0.0
    y = height - (spare - extra * breaks) / 2
    words: list[Word] = []
    for n, (cap, r) in enumerate(zip(caps, rows, strict=True)):
        if n:
            y -= least + (extra if rows[n - 1].share != r.share else 0.0)
        y -= cap * r.up
        words.append(Word(x - r.left * cap, y, r.text, r.face, cap))
        y -= cap * r.down
    return words


def size_choices(
    length: int, width: int, unit: Unit, before: str = "", *, finest: int = 64
) -> list[tuple[str, ...]]:
    """Return a size (ticks) in lines, length first, `before` in front of it, inches to 1/`finest`.

    The second choice leaves `mm` away, the last is broken into two lines.
    """
    inch = unit is Unit.INCH
    first, second = (show(side, unit, finest=finest, mark=inch) for side in (length, width))
    both = f"{before}{first} × {second}"
    broken = f"{before}{first} ×", second
    return [(both,), broken] if inch else [(f"{both} mm",), (both,), broken]


def two_lines(text: str, face: str) -> tuple[str, str] | None:
    """Return `text` broken at the space that makes the longer line shortest, or None without a space.

    Figures and sizes stay on one line.
    """
    words = [word.replace(NO_BREAK, " ") for word in unbroken(text).split(" ")]
    breaks = [(" ".join(words[:n]), " ".join(words[n:])) for n in range(1, len(words))]
    return min(breaks, key=lambda pair: max(natural(line, face) for line in pair), default=None)


def shortened(text: str) -> Iterator[str]:
    """Yield `text` with ever more taken off its end, each marked with …, at least nine characters kept."""
    for end in range(min(len(text) - 1, 160), 8, -1):
        # Whole words look better, but a name that is one long word has to be cut within it.
        unbroken = end - text.rfind(" ", 0, end)
        if text[end].isspace() or (unbroken > 12 and end % 4 == 0):
            yield text[:end].rstrip(" ,;-") + "…"
