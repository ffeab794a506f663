"""The two shipped typefaces: registered on demand, measured, and never printing a missing glyph.

DejaVu 2.37 (Bitstream Vera licence, beside the files): both faces hold the fractions, primes,
arrows and boxes a shop writes. Sizes and widths are points.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from stockyard.errors import BadInput

REGULAR = "DejaVuSans"
BOLD = "DejaVuSansCondensed-Bold"
FACES = (REGULAR, BOLD)

CAP_HEIGHT = 1493 / 2048
"""Height of a capital or figure over the size, the same in both faces (measured from their outlines)."""

DESCENT = 483 / 2048
"""How far g, j, p, q, y and brackets reach under the base line, over the size."""

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
    """Return how wide `text` prints, in points.

    Raises:
        MissingGlyph: a character that `face` does not hold.
    """
    advances = _advances(face)
    try:
        return size * sum([advances[ord(c)] for c in text])
    except KeyError as missing:
        raise MissingGlyph(text, chr(missing.args[0])) from None


def check(text: str, face: str = REGULAR) -> str:
    """Return `text` unchanged.

    Raises:
        MissingGlyph: a character that `face` does not hold.
    """
    width(text, face, 1)
    return text


def size_for_cap(height: float) -> float:
    """Return the size whose capitals are `height` points high."""
    return height / CAP_HEIGHT
