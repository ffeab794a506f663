"""A figure for the fence in large type: the fraction after a whole number somewhat smaller."""

from __future__ import annotations

from collections.abc import Iterator

from stockyard.printing import fonts
from stockyard.printing.output import Paper
from stockyard.printing.page import SMALLEST

FRACTION = 0.62
"""The size of a fraction over that of the whole number before it."""


def figure_width(text: str, size: float) -> float:
    """Return how wide a figure prints, in points."""
    return sum(fonts.width(part, fonts.BOLD, size * share) for part, share in _parts(text))


def fitting_size(text: str, most: float, room: float) -> float:
    """Return the size up to `most` at which `text` is no wider than `room`, its fraction never too small."""
    size = min(most, most * room / figure_width(text, most))
    return max(size, SMALLEST / FRACTION)


def draw_figure(paper: Paper, x: float, y: float, text: str, size: float) -> None:
    """Write a figure with its middle at `x` and its base line at `y`."""
    x -= figure_width(text, size) / 2
    for part, share in _parts(text):
        # The fraction stands at half the height of the whole number.
        rise = (1 - share) * size * fonts.CAP_HEIGHT / 2
        x += paper.text(x, y + rise, part, fonts.BOLD, size * share)


def _parts(text: str) -> Iterator[tuple[str, float]]:
    about, figure = ("≈", text[1:]) if text.startswith("≈") else ("", text)
    if about:
        yield about, FRACTION
    whole, space, fraction = figure.partition(" ")
    yield whole, 1.0
    if fraction:
        yield space + fraction, FRACTION
