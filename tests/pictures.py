"""Make the README's pictures from a fresh run of the demo: `python -m tests.pictures`."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pypdfium2

from stockyard.desk.tour import tour

TARGET = Path(__file__).parent.parent / "demo_data" / "pictures"
# File name, its paper, and words of the page shown: the first that has them.
SHOWN = (
    ("job-sheet.png", "toy crates - papers.pdf", "JOB SHEET"),
    ("pull-list.png", "market stall - papers.pdf", "PULL LIST"),
    ("cut-cards.png", "tool cabinet - papers.pdf", "card 2 of"),
    ("edge-labels.png", "edge labels.pdf", ""),
    ("part-labels.png", "reading nook - part labels.pdf", ""),
)
SCALE = 0.9


def main() -> None:
    """Run the demo and render the pages that the README shows, as grey pictures."""
    TARGET.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:

        def keep(name: str, data: bytes) -> Path:
            (Path(folder) / name).write_bytes(data)
            return Path(folder) / name

        tour(Path(folder) / "yard.db", print, keep, seconds=3.0)
        for name, paper, words in SHOWN:
            document = pypdfium2.PdfDocument(Path(folder) / paper)
            page = next(page for page in document if words in page.get_textpage().get_text_range())
            image = page.render(scale=SCALE, grayscale=True).to_pil()
            image.quantize(16).save(TARGET / name, optimize=True)


if __name__ == "__main__":
    main()
