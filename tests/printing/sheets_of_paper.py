"""Read a printed page back: where the ink of every letter is, which typefaces the file carries."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO

import pypdfium2
from pypdf import PdfReader

# Printers leave a quarter of an inch and less unprinted (common practice, no source).
UNPRINTED = 18.0


@dataclass(frozen=True)
class Letter:
    """The n-th printed letter and the box around its ink, in points from the lower left corner."""

    n: int
    text: str
    x0: float
    y0: float
    x1: float
    y1: float


@dataclass(frozen=True)
class Page:
    """One page: its size in points and its letters."""

    width: float
    height: float
    letters: tuple[Letter, ...]

    def overlaps(self) -> list[tuple[str, str]]:
        """Return pairs of letters whose ink boxes lie on each other by more than a hair.

        Neighbours in a word are left out: a J reaches under the letter before it.
        """
        hair = 0.25
        rising = sorted(self.letters, key=lambda one: one.x0)
        found = []
        for i, one in enumerate(rising):
            for other in rising[i + 1 :]:
                if other.x0 >= one.x1 - hair:
                    break
                apart = abs(other.n - one.n) > 1
                if apart and other.y0 < one.y1 - hair and one.y0 < other.y1 - hair:
                    found.append((one.text, other.text))
        return found

    def outside(self) -> list[str]:
        """Return letters nearer to the edge of the page than printers print."""
        return [
            one.text
            for one in self.letters
            if min(one.x0, one.y0, self.width - one.x1, self.height - one.y1) < UNPRINTED
        ]


def pages(data: bytes) -> Iterator[Page]:
    """Yield the pages of a PDF."""
    document = pypdfium2.PdfDocument(BytesIO(data))
    for page in document:
        text = page.get_textpage()
        letters = []
        for i in range(text.count_chars()):
            letter = text.get_text_range(i, 1)
            if not letter.isspace():
                letters.append(Letter(i, letter, *text.get_charbox(i)))
        yield Page(*page.get_size(), tuple(letters))
    document.close()


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
