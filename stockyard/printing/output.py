"""A PDF in memory, and a file that is either whole or not there.

Every paper is drawn on `Paper`: only the shipped typefaces, no missing glyph, printed at 100 %,
and the same input gives the same bytes on one machine.
"""

from __future__ import annotations

import os
import secrets
import stat
import tempfile
from contextlib import suppress
from io import BytesIO
from pathlib import Path
from typing import Any

from stockyard.errors import BadInput
from stockyard.printing import fonts

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
        self.canvas.setTitle(title)
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
        self.canvas.drawString(start, y, text)
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


def write_whole(path: Path, data: bytes) -> None:
    """Put `data` at `path`, written beside it, flushed to the disk and renamed into place.

    Whatever goes wrong, `path` holds either what it held before or all of `data`.

    Raises:
        BadInput: no such folder, not a plain file, not writable, disk full.
    """
    if path.is_symlink():
        path = path.resolve()
    with suppress(OSError):
        if not stat.S_ISREG(path.stat().st_mode):
            raise BadInput(f"cannot write {path}: it is not a plain file; give another name")
    beside = path.with_name(f".{path.name[:80]}.{secrets.token_hex(4)}.part")
    try:
        with beside.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except OSError as error:
        raise BadInput(f"cannot write {path}: {(error.strerror or str(error)).lower()}") from error
    finally:
        # Gone already when the rename went well.
        with suppress(OSError):
            beside.unlink()
    _flush_folder(path.parent)


def look_writable(path: Path) -> None:
    """Look that `write_whole` will be able to write `path`, before something is done that it shall tell of.

    Raises:
        BadInput: no such folder, not a plain file, not writable.
    """
    with suppress(OSError):
        if path.exists() and not stat.S_ISREG(path.stat().st_mode):
            raise BadInput(f"cannot write {path}: it is not a plain file; give another name")
    folder = path.resolve().parent
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name[:80]}.", suffix=".part", dir=folder)
        os.close(handle)
        Path(name).unlink()
        # A name may be too long where its draft's is not.
        with suppress(FileNotFoundError):
            path.lstat()
    except OSError as error:
        raise BadInput(f"cannot write {path}: {(error.strerror or str(error)).lower()}") from None


def _flush_folder(folder: Path) -> None:
    """Make the rename itself last through a power cut, where the system allows it."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
