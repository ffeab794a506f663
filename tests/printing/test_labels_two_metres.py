"""FULL and ripped-down told apart from two metres, photocopied grey, without reading a letter."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from stockyard.measure import TICKS_PER_MM
from stockyard.printing.edge_labels import edge_labels_pdf, place_edge_labels
from stockyard.printing.layouts import layout_named
from stockyard.printing.marks import Shape
from tests.printing.label_samples import edge_labels
from tests.printing.reading import cropped, label_box, picture

# Somebody without good glasses (20/40) tells two minutes of arc apart: 1.16 mm at two metres.
BLUR = 2000 * 2 * np.pi / (180 * 60)


def longest_bar(grey: np.ndarray, dpi: int) -> float:
    """Return the length in mm of the longest level bar still dark when blurred to what the eye resolves."""
    step = max(round(BLUR * dpi / 25.4), 1)
    rows, columns = (side // step for side in grey.shape)
    seen = grey[: rows * step, : columns * step].reshape(rows, step, columns, step).mean(axis=(1, 3))
    # Ink printed at 50 % is 128 of 255: what is much nearer to ink than to paper counts as dark.
    dark = seen < 128 + 0.35 * 127
    longest = max(len(run) for row in dark for run in "".join("#" if d else " " for d in row).split(" "))
    return longest * step * 25.4 / dpi


@pytest.mark.parametrize("name", ["letter-30", "a4-14", "tape", "roll-62"])
def test_full_is_heavy_and_ripped_down_is_slim(name: str) -> None:
    labels = [label for label in edge_labels(60, seed=7) if label.measured_thickness >= 11 * 3200]
    layout = layout_named(name)
    placed = place_edge_labels(labels, layout, dpi=203)
    pdf = edge_labels_pdf(labels, layout, dpi=203)
    full = {label.tag: label.full for label in labels}
    bars: dict[bool, list[float]] = {True: [], False: []}
    for label in placed:
        page = picture(pdf, label.page)
        ink = np.asarray(cropped(page, label_box(label), label.size[1]), dtype=float)
        # The photocopy at 50 %: black becomes mid grey.
        bars[full[label.design.name]].append(longest_bar(128 + ink / 255 * 127, 203))
    assert len(bars[True]) > 5 and len(bars[False]) > 5
    assert min(bars[True]) >= max(9, 1.25 * max(bars[False])), (min(bars[True]), max(bars[False]))


def test_the_slab_weighs_three_wedges() -> None:
    for thickness in (8, 9, 12, 18, 25, 40):
        black = {}
        for full in (True, False):
            label = replace(edge_labels(1)[0], full=full, measured_thickness=thickness * TICKS_PER_MM)
            (placed,) = place_edge_labels([label], layout_named("letter-30"))
            shapes = [m for _, marks in placed.design.pieces for m in marks if isinstance(m, Shape)]
            assert len(shapes) == 1
            black[full] = area(shapes[0])
        assert black[True] >= 3 * black[False]


def area(shape: Shape) -> float:
    """Return the area of a polygon (the shoelace formula)."""
    ends = zip(shape.points, (*shape.points[1:], shape.points[0]), strict=True)
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in ends)) / 2
