"""Read a printed page back as a stranger would: pixels to codes, glyphs and shapes to boxes (mm)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import pypdfium2 as pdfium
import zxingcpp
from PIL import Image

from stockyard.printing.output import MM
from stockyard.printing.pages import Placed


@dataclass(frozen=True)
class Box:
    """A rectangle on the page, millimetres from the lower left corner; `text` for one character."""

    left: float
    low: float
    right: float
    high: float
    text: str = ""

    def inside(self, other: Box, slack: float = 0.02) -> bool:
        return (
            other.left - slack <= self.left
            and self.right <= other.right + slack
            and other.low - slack <= self.low
            and self.high <= other.high + slack
        )

    def meets(self, other: Box) -> bool:
        return (
            self.left < other.right
            and other.left < self.right
            and self.low < other.high
            and other.low < self.high
        )


def label_box(label: Placed, nudge: tuple[float, float] = (0, 0)) -> Box:
    """Return where a label lies on its page."""
    x, y = label.x + nudge[0], label.y - nudge[1]
    return Box(x, y, x + label.design.width, y + label.design.height)


@cache
def opened(pdf: bytes) -> pdfium.PdfDocument:
    return pdfium.PdfDocument(pdf)


def glyphs(pdf: bytes, page: int) -> list[Box]:
    """Return the ink box of every character in the order of the page's content."""
    text = opened(pdf)[page].get_textpage()
    found = []
    for n in range(text.count_chars()):
        character = text.get_text_range(n, 1)
        if character.strip():
            left, low, right, high = (v / MM for v in text.get_charbox(n))
            found.append(Box(left, low, right, high, character))
    return found


def shapes(pdf: bytes, page: int) -> list[Box]:
    """Return the box of every filled path: slabs, wedges, bands, arrow heads, and each code as one."""
    return [
        Box(*(v / MM for v in thing.get_bounds()))
        for thing in opened(pdf)[page].get_objects(filter=[pdfium.raw.FPDF_PAGEOBJ_PATH])
        if _filled(thing)
    ]


def _filled(thing: pdfium.PdfObject) -> bool:
    mode, stroked = pdfium.raw.c_int(), pdfium.raw.FPDF_BOOL()
    pdfium.raw.FPDFPath_GetDrawMode(thing.raw, mode, stroked)
    return mode.value != 0


def picture(pdf: bytes, page: int, dpi: int = 203) -> Image.Image:
    """Return a page as a printer of `dpi` would set it, in greys."""
    return opened(pdf)[page].render(scale=dpi / 72, grayscale=True).to_pil().convert("L")


def cropped(page: Image.Image, box: Box, height: float, dpi: int = 203) -> Image.Image:
    """Return one label cut out of its page of `height` millimetres."""
    step = dpi / 25.4
    return page.crop(
        (int(box.left * step), int((height - box.high) * step), int(box.right * step) + 1,
         int((height - box.low) * step) + 1)
    )  # fmt: skip


def codes(image: Image.Image) -> Iterator[str]:
    """Yield the text of every code found in a picture."""
    for found in zxingcpp.read_barcodes(image):
        yield found.text
