"""Read a printed page back: where every letter stands, which typefaces it carries."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from typing import Any

import pdfplumber
from pypdf import PdfReader

# Printers leave a quarter of an inch and less unprinted (common practice, no source).
UNPRINTED = 18.0


def pages(data: bytes) -> Iterator[Any]:
    """Yield the pages of a PDF."""
    with pdfplumber.open(BytesIO(data)) as pdf:
        yield from pdf.pages


def overlaps(page: Any) -> list[tuple[str, str]]:
    """Return pairs of letters that lie on each other; their boxes are taken as high as a capital."""
    boxes = sorted((_ink(c) for c in page.chars if not c["text"].isspace()), key=lambda box: box[0])
    found = []
    for i, (x0, y0, x1, y1, text) in enumerate(boxes):
        for left, low, right, high, other in boxes[i + 1 :]:
            if left >= x1:
                break
            if low < y1 and y0 < high and right > x0:
                found.append((text, other))
    return found


def _ink(c: dict[str, Any]) -> tuple[float, float, float, float, str]:
    # Of the line's height the capitals fill the middle; letters side by side may touch.
    x, y = (0.12, 0.16) if c["upright"] else (0.16, 0.12)
    x, y = x * c["width"], y * c["height"]
    return c["x0"] + x, c["top"] + y, c["x1"] - x, c["bottom"] - y, c["text"]


def outside(page: Any) -> list[str]:
    """Return letters nearer to the edge of the page than printers print."""
    return [
        c["text"]
        for c in page.chars
        if c["x0"] < UNPRINTED
        or c["top"] < UNPRINTED
        or c["x1"] > page.width - UNPRINTED
        or c["bottom"] > page.height - UNPRINTED
    ]


def text_of(data: bytes) -> list[str]:
    """Return the words of each page in the order in which they were written."""
    return [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(data)).pages]


def fonts_not_embedded(data: bytes) -> set[str]:
    """Return the names of typefaces that a page uses but the file does not carry."""
    missing = set()
    for page in PdfReader(BytesIO(data)).pages:
        for reference in page["/Resources"]["/Font"].values():
            font = reference.get_object()
            if "/FontDescriptor" not in font or "/FontFile2" not in font["/FontDescriptor"]:
                missing.add(str(font["/BaseFont"]))
    return missing
