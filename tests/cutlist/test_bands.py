"""Bands as people write them: edges, material and thickness are read, and both sizes are known."""

from __future__ import annotations

import pytest

from stockyard.cutlist import read
from stockyard.cutlist.band_words import SaidBand, read_band
from stockyard.cutlist.model import CutList, Row
from stockyard.cutlist.write import write
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.measure import Length, Unit

ALL = ("L1", "L2", "W1", "W2")


def finished(text: str, *, thick: int = 0, trim: int = 0, **answers: str) -> CutList:
    return read(
        text, unit=Unit.MM, materials=("birch ply",), first="along", finished=True, band_thickness=thick,
        band_trim=trim, answers=answers,
    )  # fmt: skip


def the_row(text: str, *, thick: int = 0, **answers: str) -> Row:
    found = finished(f"18 mm birch ply\n{text}", thick=thick, **answers)
    assert not found.questions and not found.unread, found
    return found.rows[0]


# How lists are written: common practice, no source.
@pytest.mark.parametrize(
    ("said", "edges", "stuff", "thick"),
    [
        ("edge band front (1 long)", ("L1",), "", None),
        ("edging all edges", ALL, "", None),
        ("L1", ("L1",), "", None),
        ("2L 1W", ("L1", "L2", "W1"), "", None),
        ("banded all round with 1 mm oak", ALL, "oak", 1.0),
        (", 0.5mm oak edging 1 long", ("L1",), "oak", 0.5),
        (", edge banding 1 long 2mm", ("L1",), "", 2.0),
        ("banded (1 long) 2 mm", ("L1",), "", 2.0),
        (", 2mm ABS edging L1 L2", ("L1", "L2"), "ABS", 2.0),
        (", both long edges 6 mm solid oak lipping", ("L1", "L2"), "solid oak", 6.0),
        ("banded 4 edges with birch 0.6 mm", ALL, "birch", 0.6),
        (", EB: 2 long", ("L1", "L2"), "", None),
        ("edge band (1 long) 1 mm walnut", ("L1",), "walnut", 1.0),
        ("banded all round, 1 mm walnut", ALL, "walnut", 1.0),
        ("lipped all round 6 mm oak", ALL, "oak", 6.0),
        (", lipped 1 long, 10 mm", ("L1",), "", 10.0),
    ],
)
def test_what_is_said_of_a_band(said: str, edges: tuple[str, ...], stuff: str, thick: float | None) -> None:
    row = the_row(f"2 shelf 800 x 300 {said}", thick=3 * MM)
    ticks = round((3.0 if thick is None else thick) * MM)
    assert (row.bands, row.band_material, row.band_thickness) == (edges, stuff, ticks)
    along, across = (sum(edge.startswith(side) for edge in edges) for side in "LW")
    assert (row.finished_length, row.finished_width) == (800 * MM, 300 * MM)
    assert (row.length + across * ticks, row.width + along * ticks) == (800 * MM, 300 * MM)


def test_a_material_with_a_thickness_of_its_own_behind_a_band_is_the_parts() -> None:
    row = the_row("2 shelf 800 x 300 banded all round 1 mm oak ply 15 mm", thick=MM)
    assert (row.material, row.thickness, row.band_thickness) == ("oak ply", 15 * MM, MM)


def test_the_word_that_leads_to_the_band_is_not_asked_about() -> None:
    asked = finished("18 mm birch ply\n2 shelf 800 x 300 banded front with 1 mm oak").questions
    assert [q.unclear for q in asked if q.id == "edges2"] == ["'banded front': which edges?"]


@pytest.mark.parametrize(("said", "id"), [("all round", "edges2"), ("banded front", "edges2")])
def test_words_that_may_mean_bands_are_asked_and_then_counted(said: str, id: str) -> None:
    text = f"18 mm birch ply\n2 shelf 800 x 300 {said}"
    assert id in {q.id for q in finished(text, thick=MM).questions}
    row = finished(text, thick=MM, **{id: "L1"}).rows[0]
    assert (row.bands, row.width, row.finished_width) == (("L1",), 299 * MM, 300 * MM)


EDGES_COLUMN = """name\tqty\tlength\twidth\tedges
door\t2\t716\t396\t2L1S, 1 mm ABS
flap\t1\t500\t300\t4 in 0.8 mm oak
"""


def test_a_column_of_edges_tells_the_band_too() -> None:
    door, flap = finished(EDGES_COLUMN).rows
    assert (door.bands, door.band_material, door.band_thickness) == (("L1", "L2", "W1"), "ABS", MM)
    assert (door.length, door.width) == (715 * MM, 394 * MM)
    assert (flap.bands, flap.band_material, flap.band_thickness) == (ALL, "oak", 8 * MM // 10)


def test_words_nobody_knows_in_a_column_of_edges_are_asked() -> None:
    found = finished("name\tqty\tlength\twidth\tedges\ndoor\t2\t716\t396\tL1 wibble\n", thick=MM)
    assert [q.id for q in found.questions] == ["edges2"] and not found.rows[0].bands


def test_a_part_that_its_bands_leave_nothing_of_is_asked_by_name() -> None:
    text = "18 mm birch ply\n1 bead 300 x 12 banded all round with 6 mm oak"
    (question,) = finished(text).questions
    assert question.line == 2 and "bead is 300 x 12 finished" in question.unclear
    row = finished(text, **{question.id: "none"}).rows[0]
    assert (row.bands, row.length, row.width) == ((), 300 * MM, 12 * MM)


def test_cut_sizes_with_a_known_band_have_a_finished_size() -> None:
    text = "18 mm birch ply\n1 shelf 800 x 299 banded 1 long with 1 mm oak"
    found = read(text, unit=Unit.MM, materials=("birch ply",), first="along", finished=False)
    row = found.rows[0]
    assert (row.width, row.finished_length, row.finished_width) == (299 * MM, 800 * MM, 300 * MM)


def test_what_is_trimmed_later_is_sawn_over() -> None:
    """800 x 300 less a band of 2 mm at either end, plus 1 mm there to trim: 800 - 2 * 2 + 2 * 1 = 798."""
    row = finished("18 mm birch ply\n1 shelf 800 x 300 banded all round with 2 mm oak", trim=MM).rows[0]
    assert (row.length, row.width) == (798 * MM, 298 * MM)


def test_bands_survive_being_written_and_read_again() -> None:
    text = "18 mm birch ply\n1 shelf 800 x 300 banded all round with 0.8 mm solid oak\n2 bare 500 x 200"
    rows = finished(text).rows
    again = read(write(rows), unit=Unit.MM, materials=("birch ply",)).rows
    told = [(r.bands, r.band_material, r.band_thickness, r.length, r.finished_length) for r in rows]
    read_again = [(r.bands, r.band_material, r.band_thickness, r.length, r.finished_length) for r in again]
    assert read_again[0] == told[0] and read_again[1][:3] == ((), "", None)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("", SaidBand()), ("oak", SaidBand("oak")), ("2 mm oak", SaidBand("oak", Length(2 * MM))),
        ("1 mm 2 mm oak", SaidBand(note="band: 1 mm 2 mm oak")),
        ("oak (dark)", SaidBand(note="band: oak (dark)")),
    ],
)  # fmt: skip
def test_words_about_a_band_that_are_not_plain_stay_a_note(words: str, said: SaidBand) -> None:
    assert read_band(words, Unit.MM) == said


def test_a_bracket_that_only_closes_begins_no_further_bands() -> None:
    found = read("2 side 600 x 300 eb 1 long) 1 short", unit=Unit.MM, first="along")
    assert [q.unclear for q in found.questions] == ["'1' behind the size: the thickness?"]


@pytest.mark.parametrize(
    ("said", "bands"),
    [("all long", ("L1", "L2")), ("all short", ("W1", "W2")), ("1 long all short", ("L1", "W1", "W2"))],
)
def test_all_edges_of_a_kind_are_both_of_them(said: str, bands: tuple[str, ...]) -> None:
    (row,) = read(f"2 side 600 x 300, eb {said}", unit=Unit.MM, first="along").rows
    assert row.bands == bands
