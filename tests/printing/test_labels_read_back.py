"""Mixed labels printed, rasterised and read back: codes, safe areas, overlaps, letter heights, order."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from io import BytesIO

import pdfplumber
import pypdf
import pytest

from stockyard.measure import TICKS_PER_MM
from stockyard.printing.edge_labels import edge_labels_pdf, place_edge_labels
from stockyard.printing.edge_strip import EdgeLabel
from stockyard.printing.layouts import layout_named
from stockyard.printing.marks import Frame, Printed, Word
from stockyard.printing.pages import Placed
from stockyard.printing.part_labels import part_labels_pdf, place_part_labels
from tests.printing.label_samples import edge_labels, part_labels
from tests.printing.reading import Box, codes, cropped, glyphs, label_box, picture, shapes

LAYOUTS = ("letter-30", "a4-21", "tape", "roll-62", "4x6", "letter-10")
FEW, MANY = 20, 1000
# ANSI Z535.2 as quoted by sign makers: an inch of letter height for 25 ft, that is distance / 300.
AT_ONE_METRE = 1000 / 300

counts = pytest.mark.parametrize(
    "count", [FEW, pytest.param(MANY // len(LAYOUTS) + 1, marks=pytest.mark.slow)]
)
layouts = pytest.mark.parametrize("name", LAYOUTS)


@cache
def printed(name: str, count: int, dpi: int = 203) -> tuple[list[EdgeLabel], list[Placed], bytes]:
    labels = edge_labels(count, seed=1 + LAYOUTS.index(name))
    layout = layout_named(name)
    placed = place_edge_labels(labels, layout, dpi=dpi)
    return labels, placed, edge_labels_pdf(labels, layout, dpi=dpi)


def panels(label: Placed) -> Iterator[tuple[Box, bool]]:
    """Yield the box of every frame that holds a code, and whether it stands on its head."""
    for frame, marks in label.design.pieces:
        if any(isinstance(m, Printed) for m in marks):
            x, y = label.x + frame.x, label.y + frame.y
            # A little white around it, as the quiet zone may reach out of the frame.
            yield Box(x - 1, y - 0.7, x + frame.width + 1, y + frame.height + 0.7), frame.turned


@layouts
@counts
@pytest.mark.parametrize("dpi", [203, 300])
def test_every_printed_code_is_its_tag(name: str, count: int, dpi: int) -> None:
    _, placed, pdf = printed(name, count, dpi)
    page, number = None, -1
    coded = 0
    for label in placed:
        if label.page != number:
            page, number = picture(pdf, label.page, dpi), label.page
        assert page is not None
        for box, _ in panels(label):
            assert set(codes(cropped(page, box, label.size[1], dpi))) == {label.design.name}
            coded += 1
    assert coded >= 0.9 * len(placed)


@layouts
@counts
def test_everything_stays_in_its_label_and_nothing_overlaps(name: str, count: int) -> None:
    _, placed, pdf = printed(name, count)
    check_page_by_page(placed, pdf, {p.design.name for p in placed})


def check_page_by_page(placed: list[Placed], pdf: bytes, names: set[str]) -> None:
    for page in sorted({p.page for p in placed}):
        marks = [*shapes(pdf, page), *glyphs(pdf, page)]
        for label in (p for p in placed if p.page == page):
            inside = [m for m in marks if m.meets(label_box(label))]
            safe = [safe_box(label, frame) for frame, found in label.design.pieces if found]
            words = [m for m in inside if m.text and m.text != "✂"]
            black = [m for m in inside if not m.text]
            assert words and label.design.name in names
            for mark in (*words, *black):
                assert any(mark.inside(box) for box in safe), f"{label.design.name}: {mark} leaves {safe}"
            assert_apart(words, black, label.design.name)


def safe_box(label: Placed, frame: Frame) -> Box:
    x, y = label.x + frame.x, label.y + frame.y
    return Box(x, y, x + frame.width, y + frame.height)


def assert_apart(words: list[Box], black: list[Box], name: str) -> None:
    for n, one in enumerate(black):
        assert not any(one.meets(other) for other in black[n + 1 :]), f"{name}: two shapes overlap"
        for letter in words:
            # FULL stands in white within its slab; every other letter keeps off the shapes.
            assert not letter.meets(one) or (letter.text in "FUL" and letter.inside(one)), f"{name}: {letter}"
    for n, letter in enumerate(words):
        for other in words[n + 1 :]:
            same_line = abs(letter.low - other.low) < 0.35 * (letter.high - letter.low)
            assert same_line or not letter.meets(other), f"{name}: {letter} and {other} overlap"


@layouts
def test_the_printed_height_is_less_than_the_edge(name: str) -> None:
    labels, placed, pdf = printed(name, FEW)
    thick = {label.tag: label.measured_thickness / TICKS_PER_MM for label in labels}
    for label in placed:
        edge = thick[label.design.name]
        if any(frame.turned for frame, _ in label.design.pieces):
            assert edge <= 9, f"{label.design.name} is a flag on an edge of {edge} mm"
            continue
        marks = [*shapes(pdf, label.page), *glyphs(pdf, label.page)]
        inside = [m for m in marks if m.meets(label_box(label)) and m.text != "✂"]
        height = max(m.high for m in inside) - min(m.low for m in inside)
        assert height <= edge - 1


@layouts
@counts
def test_the_tag_is_readable_at_a_metre(name: str, count: int) -> None:
    _, placed, pdf = printed(name, count)
    for label in placed:
        letters = [g for g in glyphs(pdf, label.page) if g.meets(label_box(label))]
        text = "".join(g.text for g in letters)
        heights = []
        for at in range(len(text)):
            if text.startswith(label.design.name, at):
                heights.append(min(g.high - g.low for g in letters[at : at + len(label.design.name)]))
        assert heights and max(heights) >= AT_ONE_METRE, label.design.name


def test_sizes_rank_as_the_eye_needs_them() -> None:
    """Tag, then FULL or the size, then material and thickness, each no larger than the one before."""
    for name in LAYOUTS:
        labels, placed, _ = printed(name, FEW)
        full = {label.tag: label.full for label in labels}
        for label in placed:
            words = [m for _, marks in label.design.pieces for m in marks if isinstance(m, Word)]
            tag = max(w.cap for w in words if w.text == label.design.name)
            if full[label.design.name]:
                second = max(w.cap for w in words if w.text == "FULL")
            else:
                second = max(w.cap for w in words if "×" in w.text)
            small = [w.cap for w in words if w.face == "DejaVuSans" and w.text != "✂"]
            assert tag >= second >= max(small) and min(small) >= 1.5 and second >= 2.1


@layouts
def test_text_comes_out_in_reading_order(name: str) -> None:
    labels, placed, pdf = printed(name, FEW)
    text = " ".join(" ".join(page.extract_text().split()) for page in pypdf.PdfReader(BytesIO(pdf)).pages)
    full = {label.tag: label for label in labels}
    at = 0
    for label in placed:
        wanted = full[label.design.name]
        second = "FULL" if wanted.full else wanted.sizes[1][0].split(" ×")[0]
        for word in (wanted.tag, second, wanted.thickness_name):
            assert word in text[at:], f"{word} of {wanted.tag}"
            at = text.index(word, at) + len(word)


@layouts
def test_fonts_are_embedded_and_scaling_is_off(name: str) -> None:
    _, _, pdf = printed(name, FEW)
    reader = pypdf.PdfReader(BytesIO(pdf))
    assert reader.viewer_preferences is not None and reader.viewer_preferences.print_scaling == "/None"
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index]
            assert "/FontFile2" in font.get_object()["/FontDescriptor"]


@layouts
def test_same_labels_same_bytes(name: str) -> None:
    labels, _, pdf = printed(name, FEW)
    assert edge_labels_pdf(labels, layout_named(name)) == pdf


def test_a_second_reader_sees_the_same_boxes() -> None:
    """pdfplumber, which shares nothing with the reader above, finds all marks in the labels too."""
    _, placed, pdf = printed("letter-30", FEW)
    with pdfplumber.open(BytesIO(pdf)) as document:
        page = document.pages[0]
        assert (page.width, page.height) == (612, 792)
        points = 72 / 25.4
        boxes = [label_box(p) for p in placed]
        for thing in (*page.rects, *page.curves):
            mark = Box(thing["x0"] / points, thing["y0"] / points, thing["x1"] / points, thing["y1"] / points)
            assert any(mark.inside(box) for box in boxes)
        assert len({c["text"] for c in page.chars}) > 20


@pytest.mark.parametrize("name", ["letter-30", "a4-21", "letter-80", "tape", "roll-62", "4x6"])
@counts
def test_part_labels_stay_in_their_labels(name: str, count: int) -> None:
    labels, layout = part_labels(count), layout_named(name)
    placed = place_part_labels(labels, layout)
    check_page_by_page(placed, part_labels_pdf(labels, layout), {label.part for label in labels})
