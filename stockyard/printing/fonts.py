"""The two shipped typefaces: registered on demand, measured, and never printing a missing glyph.

DejaVu 2.37 (Bitstream Vera licence, beside the files): both faces hold the fractions, primes,
arrows and boxes a shop writes. Sizes and widths are points.
"""

from __future__ import annotations

import struct
from functools import cache
from pathlib import Path
from typing import Any

from stockyard.errors import BadInput
from stockyard.text import leaving

REGULAR = "DejaVuSans"
BOLD = "DejaVuSansCondensed-Bold"
FACES = (REGULAR, BOLD)

CAP_HEIGHT = 1493 / 2048
"""Height of a capital or figure over the size, the same in both faces (measured from their outlines)."""

DESCENT = 483 / 2048
"""The deepest that ordinary letters and brackets reach under the base line, over the size."""

_FOLDER = Path(__file__).with_name("fonts")


class MissingGlyph(BadInput):
    """A character that the shipped typefaces cannot print."""

    def __init__(self, text: str, character: str) -> None:
        super().__init__(
            f"'{text[:60]}' cannot be printed: the typeface lacks {character!r} (U+{ord(character):04X}); "
            "write it another way"
        )
        self.character = character


@cache
def font(face: str) -> Any:
    """Return reportlab's font object for `face`, registered under that name."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    found = TTFont(face, str(_FOLDER / f"{face}.ttf"))
    pdfmetrics.registerFont(found)
    return found


@cache
def _advances(face: str) -> dict[int, float]:
    """Return the advance of every printable character of `face` for size 1."""
    shape = font(face).face
    controls = {*range(32), *range(127, 160), 0x2028, 0x2029}
    return {
        code: shape.charWidths.get(code, shape.defaultWidth) / 1000
        for code in shape.charToGlyph
        if code not in controls
    }


def width(text: str, face: str, size: float) -> float:
    """Return how wide `text` prints, in points: as it leaves, with what does not print written out.

    Raises:
        MissingGlyph: a character that `face` does not hold.
    """
    advances = _advances(face)
    try:
        return size * sum([advances[ord(c)] for c in leaving(text)])
    except KeyError as missing:
        raise MissingGlyph(text, chr(missing.args[0])) from None


@cache
def _outline(face: str, character: str) -> tuple[float, float, float]:
    """Return the leftmost, lowest and highest point of a character for size 1, from the font's glyf table."""
    shape = font(face).face
    glyph = shape.charToGlyph[ord(character)]
    # Both shipped files use long offsets (head.indexToLocFormat = 1).
    start, end = struct.unpack(">LL", shape.get_table("loca")[4 * glyph : 4 * glyph + 8])
    if start == end:
        return 0.0, 0.0, 0.0
    _, left, low, _, high = struct.unpack(">hhhhh", shape.get_table("glyf")[start : start + 10])
    return left / shape.unitsPerEm, low / shape.unitsPerEm, high / shape.unitsPerEm


def reach(text: str, face: str) -> tuple[float, float]:
    """Return how far the ink of `text` reaches above and below the base line for size 1, both positive.

    Raises:
        MissingGlyph: a character that `face` does not hold.
    """
    outlines = [_outline(face, c) for c in set(check(text, face))]
    return max((high for _, _, high in outlines), default=0), max((-low for _, low, _ in outlines), default=0)


def bearing(text: str, face: str) -> float:
    """Return how far right of its start the ink of `text` begins for size 1; negative for a J."""
    return _outline(face, leaving(text)[0])[0] if text else 0.0


def check(text: str, face: str = REGULAR) -> str:
    """Return `text` as it leaves for paper: one line, what does not print written out.

    Raises:
        MissingGlyph: a character that `face` does not hold.
    """
    width(text, face, 1)
    return leaving(text)
