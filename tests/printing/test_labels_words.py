"""What labels say: sizes, names shortened or refused, missing glyphs, bands; and files whole or not there."""

from __future__ import annotations

import errno
import os
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.flaws import Flaw, flaws_text
from stockyard.measure import LONGEST, TICKS_PER_MM, Unit, parse
from stockyard.printing import fonts
from stockyard.printing.edge_labels import (
    Layout,
    edge_labels_pdf,
    place_edge_labels,
    printed_height,
    remarks,
)
from stockyard.printing.edge_strip import EdgeLabel
from stockyard.printing.layouts import LAYOUTS, layout_named
from stockyard.printing.marks import Line, Mark, Printed, Shape, Word
from stockyard.printing.output import Paper
from stockyard.printing.part_labels import BANDS, Arrow, PartLabel, part_labels_pdf, place_part_labels
from stockyard.tags import tag_number
from stockyard.whole import write_whole

SHEET = layout_named("letter-30")
LABEL = EdgeLabel(
    tag="K7Q3Z", full=False, length=1180 * TICKS_PER_MM, width=610 * TICKS_PER_MM, material="birch ply",
    thickness_name="18 mm", measured_thickness=18 * TICKS_PER_MM, unit=Unit.MM,
)  # fmt: skip
PART = PartLabel(
    job="Pantry", part="side", length=720 * TICKS_PER_MM, width=560 * TICKS_PER_MM, unit=Unit.MM,
    piece="K7Q3Z", k=2, n=6,
)  # fmt: skip


def words(label: EdgeLabel | PartLabel, name: str = "letter-30") -> list[str]:
    layout = layout_named(name)
    if isinstance(label, EdgeLabel):
        placed = place_edge_labels([label], layout)
    else:
        placed = place_part_labels([label], layout)
    return [m.text for _, marks in placed[0].design.pieces for m in marks if isinstance(m, Word)]


def test_a_ripped_down_piece_says_its_size_along_the_grain_first() -> None:
    assert words(LABEL) == ["K7Q3Z", "→ 1180 × 610 mm", "birch ply 18 mm", "✂"]
    assert "1180 × 610 mm" in words(replace(LABEL, grain=False))


def test_a_shaped_part_says_so_and_which_file_shows_it() -> None:
    """Where there is room; the word alone stays on the smallest label."""
    shaped = replace(PART, shaped=True, outline="seat with a long name.dxf")
    assert "shaped as in seat with a long name.dxf" in words(shaped)
    assert "shaped" in words(replace(shaped, outline=""))
    cramped = words(replace(shaped, then="plane to 18 mm, trim to 700 × 540 mm", band="banded " * 9))
    assert any("shaped" in text for text in cramped)
    assert not any("shaped" in text for text in words(PART))


def test_inches_carry_their_fractions() -> None:
    label = replace(
        LABEL, unit=Unit.INCH, length=parse("46 1/2", Unit.INCH), width=parse("24 13/64", Unit.INCH)
    )
    assert "→ 46 1/2″ × 24 13/64″" in words(label)


def test_a_full_piece_says_full_and_no_size() -> None:
    assert words(replace(LABEL, full=True))[:3] == ["K7Q3Z", "FULL", "birch ply 18 mm"]


def test_a_flaw_is_said_and_from_where_and_kept_longer_than_the_name() -> None:
    flaw = flaws_text([Flaw(0, 0, 80 * TICKS_PER_MM, 120 * TICKS_PER_MM)], Unit.MM)
    said = " ".join(words(replace(LABEL, flaws=flaw)))
    assert "flaw 80 x 120 at 0, 0 from corner 0" in said
    long = replace(LABEL, material="a very long name of a very rare and figured veneer ply " * 2, flaws=flaw)
    assert "flaw" in " ".join(words(long))


def test_a_figure_is_not_broken_over_two_lines() -> None:
    """A flaw of 4 1/2 is none of 4."""
    for name in ("ply", "maple ply", "rift white oak ply", "ply of a rather long name"):
        flaw = flaws_text([Flaw(0, 0, parse("3", Unit.INCH), parse("4 1/2", Unit.INCH))], Unit.INCH)
        for full in (True, False):
            said = words(replace(LABEL, material=name, unit=Unit.INCH, flaws=flaw, full=full))
            assert any("3 x 4 1/2" in line for line in said), said


def test_a_thickness_in_the_name_is_not_said_twice() -> None:
    assert "birch ply 18 mm" in words(replace(LABEL, material="birch ply 18 mm"))


def test_a_thin_edge_gets_a_flag_that_reads_from_both_faces() -> None:
    thin = replace(LABEL, measured_thickness=6 * TICKS_PER_MM, thickness_name="6 mm")
    (placed,) = place_edge_labels([thin], SHEET)
    panels = [frame for frame, marks in placed.design.pieces if any(isinstance(m, Word) for m in marks)]
    assert [frame.turned for frame in panels] == [False, False, True]
    assert words(thin).count("K7Q3Z") == 3
    low, middle, high = panels
    assert middle.height == pytest.approx(6.4) and low.height == high.height


@given(st.floats(3, 60))
def test_the_printed_height_leaves_a_margin(thickness: float) -> None:
    assert thickness - printed_height(thickness) >= 1
    assert printed_height(18) == 16


SHOP_WORDS = st.text("abcgjpy ABCJQÉß0123456789/×½(),-…″", min_size=1, max_size=90)
edge_labels = st.builds(
    EdgeLabel,
    tag=st.integers(0, 2**22).map(tag_number),
    full=st.booleans(),
    length=st.integers(1, LONGEST),
    width=st.integers(1, LONGEST),
    material=SHOP_WORDS,
    thickness_name=st.sampled_from(("18 mm", "3/4", "4/4", "0.703 in")),
    measured_thickness=st.integers(1, 120 * TICKS_PER_MM),
    unit=st.sampled_from(Unit),
    grain=st.booleans(),
)


@settings(deadline=None, max_examples=150)
@given(edge_labels, st.sampled_from(LAYOUTS), st.sampled_from((203, 300)))
def test_any_label_fits_or_is_refused(label: EdgeLabel, layout: Layout, dpi: int) -> None:
    """Whatever it says: every word, shape and code lies in its frame, every letter can be read."""
    try:
        placed = place_edge_labels([label], layout, dpi=dpi)
    except BadInput as error:
        assert label.tag in str(error)
        return
    for frame, marks in placed[0].design.pieces:
        for mark in marks:
            if isinstance(mark, Word) and mark.text != "✂":
                high, low = (r * mark.cap / fonts.CAP_HEIGHT for r in fonts.reach(mark.text, mark.face))
                wide = fonts.width(mark.text, mark.face, mark.cap / fonts.CAP_HEIGHT)
                assert mark.cap >= 1.49 and mark.x + wide <= frame.width + 0.3
                assert mark.y + high <= frame.height + 0.01 and mark.y - low >= -0.01
            elif isinstance(mark, Shape):
                assert all(-0.01 <= x <= frame.width + 0.01 for x, _ in mark.points)
                assert all(-0.01 <= y <= frame.height + 0.01 for _, y in mark.points)
            elif isinstance(mark, Printed):
                assert mark.x >= 0 and mark.x + mark.code.columns * mark.module <= frame.width
                assert mark.y >= 0 and mark.y + mark.height <= frame.height


LONG = "melamine-faced chipboard, light grey, moisture resistant, E1, from the second supplier"


def test_a_long_name_is_wrapped_or_shortened_with_a_sign() -> None:
    said = [w for w in words(replace(LABEL, material=LONG)) if w not in ("K7Q3Z", "✂")]
    text = " ".join(said[1:])
    assert text.endswith("… 18 mm") and LONG.startswith(text.removesuffix("… 18 mm"))
    assert len(text) > 30


def test_a_word_without_end_is_shortened_too() -> None:
    text = " ".join(words(replace(LABEL, material="x" * 300))[2:-1])
    assert text.startswith("xxx") and text.endswith("… 18 mm")


@pytest.mark.parametrize(
    ("label", "layout"),
    [
        (replace(LABEL, measured_thickness=3 * TICKS_PER_MM), "letter-80"),
        (replace(LABEL, measured_thickness=7 * TICKS_PER_MM), "a4-65"),
        (LABEL, "tape-24"),
    ],
)
def test_a_label_that_cannot_be_read_is_refused_by_name(label: EdgeLabel, layout: str) -> None:
    with pytest.raises(BadInput, match=r"edge label K7Q3Z: .*choose"):
        edge_labels_pdf([label], layout_named(layout))


def test_where_no_code_fits_it_is_said() -> None:
    wide = replace(LABEL, measured_thickness=7 * TICKS_PER_MM)
    placed = place_edge_labels([wide, LABEL], SHEET)
    assert [p.design.coded for p in placed] == [False, True]
    assert remarks(placed, SHEET) == ["no code fits the labels K7Q3Z: type those tags"]


@pytest.mark.parametrize("make", [edge_labels_pdf, part_labels_pdf])
def test_nothing_to_print(make) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadInput, match="no labels"):
        make([], SHEET)


@pytest.mark.parametrize("text", ["桐 plank", "a 木"])
def test_a_missing_glyph_is_an_error(text: str) -> None:
    with pytest.raises(fonts.MissingGlyph, match=r"U\+[0-9A-F]{4}"):
        edge_labels_pdf([replace(LABEL, material=text)], SHEET)
    with pytest.raises(fonts.MissingGlyph):
        part_labels_pdf([replace(PART, part=text)], SHEET)
    with pytest.raises(fonts.MissingGlyph):
        Paper((100, 100), "test").text(0, 0, text)


@pytest.mark.parametrize(
    ("text", "printed"),
    [("tab\there", "tab here"), ("line\nbreak", "line break"), ("zero\x00", "zero\\u0000")],
)
def test_what_does_not_print_is_written_out(text: str, printed: str) -> None:
    assert fonts.check(text) == printed
    assert edge_labels_pdf([replace(LABEL, material=text)], SHEET)
    assert part_labels_pdf([replace(PART, part=text)], SHEET)


@pytest.mark.parametrize("face", fonts.FACES)
def test_both_faces_hold_what_a_shop_writes(face: str) -> None:
    assert fonts.check("¼½¾⅛⅜⅝⅞×–—″′→←↑↓↔≥≤Ø☐≈…·°²✂ éÄößñ 0123456789", face)


@pytest.mark.parametrize("face", fonts.FACES)
def test_capitals_are_as_high_as_we_reckon(face: str) -> None:
    above, below = fonts.reach("HEZ", face)
    assert above == pytest.approx(fonts.CAP_HEIGHT) and below == 0
    assert fonts.reach("gj", face)[1] <= fonts.DESCENT
    assert fonts.width("HH", face, 10) == pytest.approx(2 * fonts.width("H", face, 10))


def test_a_part_label_says_everything() -> None:
    assert words(PART) == ["side", "720 × 560 mm", "2 of 6, from K7Q3Z", "Pantry"]
    assert "2 of 6, from a new piece" in words(replace(PART, piece=""))
    full = replace(
        PART, stuff="birch ply 18 mm", matched="fronts 2 of 3, below 1",
        cut=(722 * TICKS_PER_MM, 561 * TICKS_PER_MM),
    )  # fmt: skip
    assert words(full) == [
        "side", "720 × 560 mm", "2 of 6, from K7Q3Z", "fronts 2 of 3, below 1", "cut size 722 × 561 mm",
        "birch ply 18 mm", "Pantry",
    ]  # fmt: skip


def test_a_low_label_keeps_material_and_job_on_one_line() -> None:
    said = words(replace(PART, stuff="birch ply 18 mm", cut=(1, 1)), "letter-80")
    assert said == ["side", "720 × 560 mm", "2 of 6, from K7Q3Z", "birch ply 18 mm · Pantry"]


def test_inches_are_rounded_as_the_shop_sets_its_fence() -> None:
    """344.9 mm is 13.5787 in: 13 37/64 by 64ths, 13 19/32 by 32nds, 13 5/8 by 8ths."""
    odd = round(344.9 * TICKS_PER_MM)
    for finest, shown in ((64, "≈13 37/64″"), (32, "≈13 19/32″"), (8, "≈13 5/8″")):
        part = replace(PART, unit=Unit.INCH, length=odd, cut=(odd, odd), finest=finest)
        assert f"{shown} × " in words(part)[1] and f"cut size {shown} × {shown}" in words(part)
        edge = replace(LABEL, unit=Unit.INCH, length=odd, finest=finest)
        assert any(shown in text for text in words(edge))


def test_inches_that_had_to_be_rounded_stand_beside_the_millimetres_they_mean() -> None:
    sides = 717 * TICKS_PER_MM, 397 * TICKS_PER_MM
    door = replace(PART, unit=Unit.INCH, length=sides[0], width=sides[1], finest=32)
    assert words(door)[1:3] == ["≈28 7/32″ × ≈15 5/8″", "717 × 397 mm"]
    even = replace(door, length=parse("31 1/2", Unit.INCH), width=parse("4", Unit.INCH))
    assert words(even)[1:3] == ["31 1/2″ × 4″", "2 of 6, from K7Q3Z"]


def test_millimetres_are_rounded_to_the_nearest_tenth() -> None:
    """720.96 mm is nearer to 721 than to 720.9; 720.04 is nearer to 720."""
    long, short = round(720.96 * TICKS_PER_MM), round(720.04 * TICKS_PER_MM)
    assert words(replace(PART, length=long))[1] == "≈721 × 560 mm"
    assert words(replace(PART, length=short))[1] == "≈720 × 560 mm"


def filled(marks: tuple[Mark, ...]) -> list[Shape]:
    return [m for m in marks if isinstance(m, Shape)]


def test_banded_edges_are_heavy() -> None:
    bare = replace(PART, grain=Arrow.NONE)
    for bands in ((), ("L1",), ("L1", "W2"), BANDS):
        (placed,) = place_part_labels([replace(bare, bands=bands)], SHEET)
        shapes = filled(placed.design.pieces[0][1])
        assert len(shapes) == len(bands)
        for band, shape in zip(bands, shapes, strict=True):
            across = max(x for x, _ in shape.points) - min(x for x, _ in shape.points)
            up = max(y for _, y in shape.points) - min(y for _, y in shape.points)
            assert (across > up) == band.startswith("L")


def test_the_arrow_runs_with_the_grain() -> None:
    heads = {}
    for grain in Arrow:
        (placed,) = place_part_labels([replace(PART, grain=grain)], SHEET)
        heads[grain] = [shape.points[0] for shape in filled(placed.design.pieces[0][1])]
    assert heads[Arrow.NONE] == []
    (left, right), (low, high) = heads[Arrow.ALONG], heads[Arrow.ACROSS]
    assert left[1] == right[1] and low[0] == high[0]


def drawn(label: PartLabel) -> tuple[tuple[float, float, float, float], list[Shape]]:
    """Return the outline of the little drawing (left, low, right, high) and what is black in it."""
    (placed,) = place_part_labels([label], SHEET)
    marks = placed.design.pieces[0][1]
    ends = [p for m in marks if isinstance(m, Line) and m.weight < 0.3 for p in (m.start, m.end)]
    xs, ys = [p[0] for p in ends], [p[1] for p in ends]
    return (min(xs), min(ys), max(xs), max(ys)), filled(marks)


def test_each_band_lies_along_its_own_edge_from_corner_to_corner() -> None:
    """L1 above, L2 below, W1 on the left, W2 on the right, outside the outline, which it touches."""
    (left, low, right, high), shapes = drawn(replace(PART, grain=Arrow.NONE, bands=BANDS))
    sides = [(*map(min, zip(*s.points, strict=True)), *map(max, zip(*s.points, strict=True))) for s in shapes]
    (x1, y1, x2, y2), (x3, y3, x4, y4), (x5, y5, x6, y6), (x7, y7, x8, y8) = sides
    assert (y1, y4) == pytest.approx((high, low)) and y2 > high and y3 < low
    assert (x6, x7) == pytest.approx((left, right)) and x5 < left and x8 > right
    assert (x1, x2) == pytest.approx((x5, x8)) and (x3, x4) == pytest.approx((x5, x8)), "they meet at corners"
    assert (y5, y6) == pytest.approx((low, high)) and (y7, y8) == pytest.approx((low, high))
    _, (alone,) = drawn(replace(PART, grain=Arrow.NONE, bands=("L1",)))
    assert [min(p[0] for p in alone.points), max(p[0] for p in alone.points)] == pytest.approx([left, right])


@pytest.mark.parametrize("size", [(720, 560), (700, 30), (60, 58)])
@pytest.mark.parametrize("grain", [Arrow.ALONG, Arrow.ACROSS])
def test_the_arrow_lies_in_the_middle_with_heads_that_leave_a_line(
    size: tuple[int, int], grain: Arrow
) -> None:
    label = replace(PART, grain=grain, bands=(), length=size[0] * TICKS_PER_MM, width=size[1] * TICKS_PER_MM)
    (left, low, right, high), heads = drawn(label)
    one, two = (shape.points[0] for shape in heads)
    assert ((one[0] + two[0]) / 2, (one[1] + two[1]) / 2) == pytest.approx(
        ((left + right) / 2, (low + high) / 2)
    )
    assert left < one[0] and two[0] < right and low < one[1] and two[1] < high
    span = max(abs(two[0] - one[0]), abs(two[1] - one[1]))
    for shape in heads:
        deep = max(abs(shape.points[0][k] - shape.points[1][k]) for k in (0, 1))
        assert 0 < deep <= span / 3 + 0.01


def test_a_band_that_is_none() -> None:
    with pytest.raises(BadInput, match="L3"):
        replace(PART, bands=("L3",))


def test_part_labels_extract_in_reading_order() -> None:
    pdf = part_labels_pdf([PART, replace(PART, k=3)], SHEET)
    text = " ".join(pypdf.PdfReader(BytesIO(pdf)).pages[0].extract_text().split())
    assert text == "side 720 × 560 mm 2 of 6, from K7Q3Z Pantry side 720 × 560 mm 3 of 6, from K7Q3Z Pantry"


def test_a_file_is_whole_or_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "Etiketten für Regal 1.pdf"
    write_whole(target, b"first")
    write_whole(target, b"second")
    assert target.read_bytes() == b"second"

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(BadInput, match="no space left"):
        write_whole(target, b"third")
    assert target.read_bytes() == b"second"
    assert list(tmp_path.iterdir()) == [target]


@pytest.mark.parametrize("name", [".", "nowhere/labels.pdf"])
def test_a_place_that_is_no_file(name: str, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="cannot write"):
        write_whole(tmp_path / name, b"x")


def test_a_device_is_never_replaced() -> None:
    with pytest.raises(BadInput, match="not a plain file"):
        write_whole(Path(os.devnull), b"x")
