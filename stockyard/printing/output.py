"""A PDF in memory.

Every paper is drawn on `Paper`: only the shipped typefaces, no missing glyph, printed at 100 %,
and the same input gives the same bytes on one machine.
"""

from __future__ import annotations

from io import BytesIO
from typing import Any

from stockyard.printing import fonts
from stockyard.text import leaving

MM = 72 / 25.4
"""Points in a millimetre."""

INCH = 72.0
"""Points in an inch."""


class Paper:
    """A PDF being drawn, in points from the lower left corner. `canvas` is reportlab's own."""

    def __init__(self, size: tuple[float, float], title: str) -> None:
        """Start with a first page of `size` (width, height in points)."""
        from reportlab.pdfgen.canvas import Canvas

        for face in fonts.FACES:
            fonts.font(face)
        self._buffer = BytesIO()
        self.size = size
        self.canvas: Any = Canvas(
            self._buffer, pagesize=size, invariant=True, pageCompression=1, initialFontName=fonts.REGULAR
        )
        self.canvas.setTitle(leaving(title))
        self.canvas.setCreator("stockyard")
        # A print dialogue that shrinks to fit would put every label beside its sticker.
        self.canvas.setViewerPreference("PrintScaling", "None")

    def text(
        self,
        x: float,
        y: float,
        text: str,
        face: str = fonts.REGULAR,
        size: float = 9,
        *,
        align: str = "left",
    ) -> float:
        """Write `text` with its base line at `y`; `align` is left, centre or right. Return its width.

        Raises:
            fonts.MissingGlyph: a character that `face` does not hold.
        """
        long = fonts.width(text, face, size)
        start = x - {"left": 0.0, "centre": long / 2, "right": long}[align]
        self.canvas.setFont(face, size)
        self.canvas.drawString(start, y, fonts.check(text, face))
        return long

    def next_page(self, size: tuple[float, float] | None = None) -> None:
        """End this page; the next one has `size`, or that of the page before."""
        self.canvas.showPage()
        if size is not None:
            self.size = size
            self.canvas.setPageSize(size)

    def finish(self) -> bytes:
        """End the last page and return the file's bytes."""
        self.canvas.save()
        return self._buffer.getvalue()
