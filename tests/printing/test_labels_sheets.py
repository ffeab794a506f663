"""Label geometries: the published figures add up, cells never overlap, own sheets are read or refused."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit
from stockyard.printing.calibration import calibration_pdf
from stockyard.printing.edge_labels import edge_labels_pdf, place_edge_labels
from stockyard.printing.layouts import LAYOUTS, OWN_EXAMPLE, describe, layout_named, own_layout
from stockyard.printing.part_labels import place_part_labels
from stockyard.printing.sheets import A4, LETTER, SHEETS, SheetLayout
from stockyard.printing.tapes import ROLL_62
from tests.printing.label_samples import edge_labels, part_labels
from tests.printing.reading import glyphs

BY_NAME = {sheet.name: sheet for sheet in SHEETS}


def test_six_of_each_page_at_least() -> None:
    assert sum(s.page == LETTER for s in SHEETS) >= 6
    assert sum(s.page == A4 for s in SHEETS) >= 6


def test_the_published_sums() -> None:
    """Makers' template figures: 30-up fills 8.5 × 11 in; A4 21-up leaves 7.21 and 15.15 mm."""
    for name in ("letter-30", "letter-30-even"):
        sheet = BY_NAME[name]
        across = sheet.left * 2 + 2 * sheet.across + sheet.width
        assert across == LETTER[0]
        assert 2 * sheet.top + 10 * sheet.down == LETTER[1]
    assert BY_NAME["letter-30"].across - BY_NAME["letter-30-even"].across == TICKS_PER_INCH // 32
    a4 = BY_NAME["a4-21"]
    assert A4[0] - (a4.left + 2 * a4.across + a4.width) == round(7.21 * TICKS_PER_MM)
    assert A4[1] - (a4.top + 7 * a4.down) == round(15.15 * TICKS_PER_MM)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda s: s.name)
def test_labels_lie_on_the_page_and_apart(sheet: SheetLayout) -> None:
    cells = list(sheet.cells(sheet.per_page))
    for n, cell in enumerate(cells):
        assert cell.x >= 0 and cell.x + cell.width <= sheet.page[0] + 100
        assert cell.y >= -100 and cell.y + cell.height <= sheet.page[1]
        for other in cells[n + 1 :]:
            assert (
                cell.x + cell.width <= other.x + 100
                or other.x + other.width <= cell.x + 100
                or other.y + other.height <= cell.y + 100
            )


@given(st.sampled_from(SHEETS), st.integers(1, 200), st.data())
def test_starting_at_a_label(sheet: SheetLayout, count: int, data: st.DataObject) -> None:
    start = data.draw(st.integers(1, sheet.per_page))
    every = list(sheet.cells(start - 1 + count))
    assert list(sheet.cells(count, start)) == every[start - 1 :]


@pytest.mark.parametrize("start", [0, -1, 31])
def test_a_start_that_is_no_label(start: int) -> None:
    with pytest.raises(BadInput, match="labels 1 to 30"):
        edge_labels_pdf(edge_labels(1), BY_NAME["letter-30"], start=start)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"across": 1000}, "overlap"),
        ({"down": 1000}, "overlap"),
        ({"left": 300_000}, "right edge"),
        ({"rows": 12}, "lower edge"),
        ({"width": 0}, "more than 0"),
        ({"height": 0}, "more than 0"),
        ({"page": (0, 10**6)}, "more than 0"),
        ({"page": (10**6, 0)}, "more than 0"),
        ({"left": -1}, "left and top at least 0"),
        ({"top": -1}, "left and top at least 0"),
        ({"columns": 0}, "1 to 50 columns"),
        ({"columns": 51}, "1 to 50 columns"),
        ({"rows": 0}, "1 to 100 rows"),
        ({"rows": 101}, "1 to 100 rows"),
    ],
)
def test_a_geometry_that_cannot_be(change: dict[str, object], says: str) -> None:
    with pytest.raises(BadInput, match=says):
        replace(BY_NAME["letter-30"], **change)


def test_a_sheet_of_ones_own() -> None:
    own = own_layout(OWN_EXAMPLE, Unit.MM)
    assert (own.page, own.columns, own.rows) == (A4, 3, 8)
    assert own.width == round(63.5 * TICKS_PER_MM) and own.down == round(33.9 * TICKS_PER_MM)
    inch = own_layout("page letter, 2 x 10, label 4 x 1, first 5/32 x 1/2, pitch 4 3/16 x 1", Unit.INCH)
    assert replace(inch, name="letter-20") == BY_NAME["letter-20"]
    assert (
        own_layout("page 100 x 50 mm, 1 x 1, label 90 x 40, first 0 x 0, pitch 90 x 40", Unit.MM).per_page
        == 1
    )
    assert layout_named("own", OWN_EXAMPLE).name == "own"


@pytest.mark.parametrize(
    "text", ["", "3 x 8", OWN_EXAMPLE + " x", OWN_EXAMPLE.replace("66 x", "6 x"), "page a4"]
)
def test_a_sheet_of_ones_own_that_cannot_be(text: str) -> None:
    with pytest.raises(BadInput):
        layout_named("own", text)


def test_no_such_layout() -> None:
    with pytest.raises(BadInput, match="no label layout 'a5-3'"):
        layout_named("a5-3")


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda one: one.name)
def test_page_sizes_are_exact(layout) -> None:  # type: ignore[no-untyped-def]
    labels = []
    for label in edge_labels(30):
        try:
            place_edge_labels([label], layout)
        except BadInput:
            continue
        labels.append(label)
    assert labels, "every layout takes some label"
    placed = place_edge_labels(labels, layout)
    pages = pypdf.PdfReader(BytesIO(edge_labels_pdf(labels, layout))).pages
    assert len(pages) == placed[-1].page + 1
    for label in placed:
        box = pages[label.page].mediabox
        assert float(box.width) * 25.4 / 72 == pytest.approx(label.size[0], abs=0.001)
        assert float(box.height) * 25.4 / 72 == pytest.approx(label.size[1], abs=0.001)
    assert describe(layout, Unit.MM) and describe(layout, Unit.INCH)


def test_tapes_are_never_wider_than_the_edge() -> None:
    labels = edge_labels(60)
    edge = {label.tag: label.measured_thickness / TICKS_PER_MM for label in labels}
    heights = []
    for label in place_edge_labels(labels, layout_named("tape")):
        flag = any(frame.turned for frame, _ in label.design.pieces)
        assert label.size[1] <= edge[label.design.name] or (flag and edge[label.design.name] < 9)
        heights.append(label.size[1])
    assert heights == sorted(heights), "one tape after the other"
    assert set(heights) == {9, 18, 24} or set(heights) == {9, 12, 18, 24}


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda one: one.name)
@pytest.mark.parametrize("unit", list(Unit))
def test_the_calibration_page(layout, unit: Unit) -> None:  # type: ignore[no-untyped-def]
    pdf = calibration_pdf(layout, unit, (3200, -1600))
    reader = pypdf.PdfReader(BytesIO(pdf))
    text = reader.pages[0].extract_text()
    assert pdf == calibration_pdf(layout, unit, (3200, -1600))
    if isinstance(layout, SheetLayout):
        assert len(reader.pages) == 1
        assert f"now {'1 mm' if unit is Unit.MM else '0.03937 in'}" in text
        assert {str(n) for n in range(1, layout.per_page + 1)} <= set(text.split())


def test_the_nudge_moves_everything_alike() -> None:
    """One millimetre right and two down."""
    labels, layout = edge_labels(6), BY_NAME["a4-14"]
    pdfs = [
        edge_labels_pdf(labels, layout, nudge=nudge) for nudge in ((0, 0), (TICKS_PER_MM, 2 * TICKS_PER_MM))
    ]
    starts = [glyphs(pdf, 0) for pdf in pdfs]
    assert len(starts[0]) == len(starts[1]) > 10
    for before, after in zip(*starts, strict=True):
        assert after.left - before.left == pytest.approx(1, abs=0.01)
        assert before.low - after.low == pytest.approx(2, abs=0.01)


@pytest.mark.parametrize(
    "layout", [x for x in LAYOUTS if x.name in ("tape", "tape-24", ROLL_62.name)], ids=lambda x: x.name
)
def test_a_part_label_lies_in_the_middle_of_its_tape(layout) -> None:  # type: ignore[no-untyped-def]
    for placed in place_part_labels(part_labels(4), layout):
        (frame, marks), *_ = placed.design.pieces
        assert frame.x == pytest.approx(placed.design.width - frame.x - frame.width)
        assert frame.y == pytest.approx(placed.design.height - frame.y - frame.height)
        assert frame.x >= 0 and frame.y >= 0 and marks


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda x: x.name)
def test_a_part_label_keeps_its_distance_on_a_sheet(sheet: SheetLayout) -> None:
    """The marks lie in the middle of the cell, and the cut line of plain sheets at the cell's own foot."""
    (placed,) = place_part_labels(part_labels(1), sheet)
    (frame, _), (around, cuts) = placed.design.pieces
    assert frame.x == pytest.approx(placed.design.width - frame.x - frame.width)
    assert 0 <= frame.y < placed.design.height - frame.height
    assert (around.x, around.y, around.width, around.height) == (
        0,
        0,
        placed.design.width,
        placed.design.height,
    )
    assert bool(cuts) is not sheet.die_cut
