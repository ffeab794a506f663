"""Rules of the reader exactly at their bounds; each expected figure follows from the words of the rule."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from stockyard.cutlist import CutList, KnownMaterial, read
from stockyard.cutlist.band_words import read_band, split_cell
from stockyard.cutlist.decode import LONGEST_TEXT, checked, decode
from stockyard.cutlist.figures import Unclear
from stockyard.cutlist.lines import LONGEST_LINE
from stockyard.cutlist.questions import for_each
from stockyard.cutlist.spreadsheet import read_table
from stockyard.cutlist.tables import MOST_COLUMNS
from stockyard.cutlist.tokens import MOST_TOKENS, scan
from stockyard.errors import BadInput
from stockyard.measure import Unit


def along(text: str, unit: Unit = Unit.MM, **ways: object) -> CutList:
    return read(text, unit=unit, first="along", **ways)  # type: ignore[arg-type]


@pytest.mark.parametrize(("thick", "asked"), [("3", True), ("2.99", False), ("2 7/8", False), ("18", True)])
def test_a_bare_thickness_from_three_inches_on_looks_like_millimetres(thick: str, asked: bool) -> None:
    found = along(f"2 side 40 x 20 x {thick}", Unit.INCH)
    assert any(q.id == "unit" for q in found.questions) is asked


@pytest.mark.parametrize(("lines", "more"), [(12, False), (13, True)])
def test_twelve_lines_are_named_and_then_it_is_said_that_there_are_more(lines: int, more: bool) -> None:
    with pytest.raises(BadInput) as told:
        for_each("1; 2", tuple(range(1, lines + 1)))
    assert ("11, 12 ..." in str(told.value)) is more and "13" not in str(told.value).partition(" as ")[0]


def test_a_row_with_too_few_columns_is_asked_about_with_its_separator_put_in() -> None:
    """Three of five columns: what is offered is the row with two more semicolons."""
    (question,) = along("Part;Qty;Length;Width;Note\nside;2;720").questions
    assert question.unclear == "3 columns where the header has 5"
    assert [r.says for r in question.readings] == ["the last ones are empty"]
    apart = along("Part   Qty   Length   Width\nside   2     720").questions
    assert [q.unclear for q in apart] == ["no size: a title, or a part with something missing?"]


def test_a_dash_in_the_column_of_materials_names_none() -> None:
    known = [KnownMaterial(name="birch ply 18")]
    found = along(
        "Part;Material;Qty;Length;Width\nside;-;2;720;560\nback;Birch Ply 18;1;720;560", materials=known
    )
    assert [r.material for r in found.rows] == ["", "Birch Ply 18"]
    assert [r.thickness_name for r in found.rows] == [None, None]


def test_a_line_taken_for_a_title_is_marked_at_its_start() -> None:
    """Answered so, the line stays as it was written and holds no part."""
    (question,) = along("4 doors for the hall\n2 side 300 x 200").questions
    found = along("4 doors for the hall\n2 side 300 x 200", answers={question.id: question.readings[0].key})
    assert found.questions == () and [r.name for r in found.rows] == ["side"]
    assert any("4 doors for the hall" in remark.says for remark in found.ignored)


def test_two_figures_joined_tightly_are_lumber_or_a_size_but_a_thickness_said_settles_it() -> None:
    (question,) = along("2 shelf 2x4", Unit.INCH).questions
    assert question.unclear == "2x4 with no length: lumber, or a part of that size?"
    found = along("3/4 birch\n2 shelf 2x4", Unit.INCH)
    assert [(r.name, r.count, r.material) for r in found.rows] == [("shelf", 2, "birch")]
    assert found.questions == ()


@pytest.mark.parametrize("text", ["1 back 300 x 200 same, oak", "1 back 300 x 200 oak, same"])
def test_same_beside_another_material_is_asked_about_though_no_thickness_is_said(text: str) -> None:
    found = along(f"1 side 609 x 186 birch\n{text}")
    assert [r.name for r in found.rows] == ["side"]
    assert [q.unclear for q in found.questions] == ["'same' and a material of its own"]


@pytest.mark.parametrize(("start", "sum_"), [("1/2 + 18", "1/2 + 18"), ("18.5 + 609", "18.5 + 609")])
def test_a_figure_and_a_plus_at_the_very_start_are_a_sum_or_two_things(start: str, sum_: str) -> None:
    (question,) = along(f"{start} x 186, 2 off").questions
    assert question.unclear == f"'{sum_}': a sum, or two things?"


def test_a_headings_bare_thickness_is_weighed_though_all_sizes_have_their_unit() -> None:
    """18 inches is no thickness of a sheet: the heading looks like millimetres. At a part of its own it is
    said of that part, whose other figures are in inches.
    """
    (question,) = along('18 birch ply\n2 side 40" x 20"', Unit.INCH).questions
    assert question.unclear == "figures with no unit: the shop works in inches, these look like millimetres"
    assert along('2 side 40" x 20" 18 birch ply', Unit.INCH).questions == ()


@pytest.mark.parametrize(
    ("data", "text"),
    [
        ("2a".encode("utf-16-le"), "2a"), ("2a".encode("utf-16-be"), "2a"),
        (b"2\0", "2\0"), (b"\x002", "\x002"),  # too few to tell
        # Of six letters five with a nought beside them are more than a third of the bytes, four are not.
        ("18 mm\u2153".encode("utf-16-le"), "18 mm\u2153"),
        ("18 mm\u2153".encode("utf-16-be"), "18 mm\u2153"),
        ("18 m\u2153\u2153".encode("utf-16-le"), "1\x008\x00 \x00m\x00S!S!"),
        ("18 m\u2153\u2153".encode("utf-16-be"), "\x001\x008\x00 \x00m!S!S"),
        # A letter with its nought on the other side (\u0100) within the first 4096 bytes tells them apart.
        (("a" * 2047 + "\u0100").encode("utf-16-le"), "a\0" * 2047 + "\0\x01"),
        (("a" * 2048 + "\u0100").encode("utf-16-le"), "a" * 2048 + "\u0100"),
        (("a" * 2047 + "\u0100").encode("utf-16-be"), "\0a" * 2047 + "\x01\0"),
        (("a" * 2048 + "\u0100").encode("utf-16-be"), "a" * 2048 + "\u0100"),
    ],
)  # fmt: skip
def test_two_bytes_a_letter_are_known_by_where_the_noughts_stand(data: bytes, text: str) -> None:
    """RFC 2781: without a mark the order of the bytes is told by where the noughts stand."""
    assert decode(data) == text


@pytest.mark.parametrize(
    ("data", "where"),
    [
        (b"\x81", "line 1, column 1"), (b"ab\x81", "line 1, column 3"), (b"\n\x81", "line 2, column 1"),
        (b"2 a\n\n4 bc\x81d\n", "line 3, column 5"),
    ],
)  # fmt: skip
def test_a_byte_that_is_no_letter_is_pointed_at(data: bytes, where: str) -> None:
    """81 hex is no letter of Windows-1252 (Unicode's table of it)."""
    with pytest.raises(BadInput) as caught:
        decode(data)
    assert str(caught.value) == f"{where}: not text: save the list as UTF-8 text"


@pytest.mark.parametrize("take", [decode, read_table, lambda data: checked(data.decode())])
def test_a_list_may_be_as_long_as_is_read_and_no_longer(take: Callable[[bytes], object]) -> None:
    assert take(b" " * LONGEST_TEXT)
    with pytest.raises(BadInput, match=r"^the list is longer than 2 MB: is it the right file\?$"):
        take(b" " * (LONGEST_TEXT + 1))


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ("\x01", "line 1, column 1 (1)"),
        ("a\nbc\x07", "line 2, column 3 (7)"),
        ("\r\n\n\x1b", "line 3, column 1 (27)"),
    ],
)
def test_a_character_of_no_text_is_pointed_at(text: str, where: str) -> None:
    with pytest.raises(BadInput) as caught:
        checked(text)
    place, code = where.rstrip(")").split(" (")
    assert str(caught.value).startswith(f"{place}: a character that is not text (code {code})")


def test_lines_end_with_the_text_and_a_mark_before_it_is_no_letter() -> None:
    assert checked("\ufeffa\nb\n") == ["a", "b"] and checked("a\n\n") == ["a", ""] and checked("") == []


@pytest.mark.parametrize("title", ["Qty req", "the qty", "pcs no"])
def test_a_word_of_three_letters_tells_what_a_column_holds(title: str) -> None:
    assert [r.count for r in along(f"Part;{title};Length;Width\nside;2;600;300").rows] == [2]


def test_a_line_with_a_figure_at_the_start_of_a_cell_is_no_header() -> None:
    found = along("2 sides, length, width\nback, 600, 300")
    assert found.rows == () and len(found.questions) == 2


def test_a_mark_of_length_beside_one_figure_of_three_says_which_is_meant() -> None:
    (question,) = along("1 side 300 x 18 x 600 L").questions
    assert question.unclear == "say which figure is length, width, thickness"


@pytest.mark.parametrize(
    ("said", "unit", "band"),
    [
        ("", Unit.MM, ("", None, "")), ("oak", Unit.MM, ("oak", None, "")),
        ("1 mm oak", Unit.MM, ("oak", 3200, "")), ("2", Unit.MM, ("", 6400, "")),
        ("0.4 ABS white", Unit.MM, ("ABS white", 1280, "")), ("1/4 oak", Unit.MM, ("oak", 20320, "")),
        ("1 oak", Unit.INCH, ("oak", 81280, "")),
        ("1 mm 2 mm oak", Unit.MM, ("", None, "band: 1 mm 2 mm oak")),
        ("oak (old)", Unit.MM, ("", None, "band: oak (old)")),
        ("1 - oak", Unit.MM, ("", None, "band: 1 - oak")),
        ("1 -1/2 oak", Unit.MM, ("", None, "band: 1 -1/2 oak")),
    ],
)  # fmt: skip
def test_words_of_a_band_say_one_figure_and_a_material_or_are_a_note(
    said: str, unit: Unit, band: tuple[str, int | None, str]
) -> None:
    """3200 ticks are 1 mm, 81280 an inch; a fraction is of an inch."""
    found = read_band(said, unit)
    assert (found.material, found.thickness, found.note) == band


@pytest.mark.parametrize(
    ("cell", "fractions"),
    [
        ("4-Mar", ["3/4"]),
        ("Mar-4", ["3/4"]),
        ("3-May", ["3/5"]),
        ("3-Mai", ["3/5"]),
        ("2026-03-04", ["3/4"]),
        ("1-Jan", []),
        ("5-Dec", ["5/12"]),
        ("12-Jan", ["1/12"]),
    ],
)
def test_a_date_may_have_been_a_fraction_with_the_lesser_figure_on_top(
    cell: str, fractions: list[str]
) -> None:
    (question,) = along(f"Part,Qty,Length,Width\nside,2,600,{cell}").questions
    assert "looks like a date" in str(question.unclear)
    assert [r.says for r in question.readings] == fractions


@pytest.mark.parametrize("number", [12, 13])
def test_of_many_lines_twelve_are_named(number: int) -> None:
    text = "oak\n" + "\n".join(f"1 p{n} 100 x {600 + n}" for n in range(number))
    (warning,) = [w.says for w in along(text).warnings if "solid wood" in w.says]
    named = ", ".join(str(n) for n in range(2, 14)) + (" ..." if number > 12 else "")
    assert warning.endswith(f"(line {named})")
    with pytest.raises(BadInput) as caught:
        for_each("1; 2", range(2, number + 2))
    assert f"or for lines {named} as '2: ANSWER; {number + 1}: ...'" in str(caught.value)


def test_a_line_may_be_as_long_and_wide_as_is_read_and_no_more() -> None:
    part = "2 sides 600 x 300 # "
    assert len(along(part.ljust(LONGEST_LINE, "x")).rows) == 1
    assert len(along(part.ljust(LONGEST_LINE + 1, "x")).rows) == 0
    for mark in ",;\t|":
        most, more = (f"# a{mark * n}b" for n in (MOST_COLUMNS, MOST_COLUMNS + 1))
        assert along(most).questions == ()
        (question,) = along(more).questions
        assert question.unclear == f"more than {MOST_COLUMNS} columns on one line"


def test_a_line_may_hold_so_many_words_and_no_more() -> None:
    most = ", ".join(["door"] * (MOST_TOKENS // 2)) + ","
    assert len(scan(most)) == MOST_TOKENS
    with pytest.raises(Unclear, match="too much on one line"):
        scan(most + " door")


def test_a_row_of_empty_cells_is_named_as_such() -> None:
    found = along("Part;Qty;Length;Width\nside;2;600;300\n;;;\nback;1;600;300")
    assert [(r.line, r.says) for r in found.ignored] == [(1, "table header"), (3, "empty row")]
    assert [r.name for r in found.rows] == ["side", "back"]


@pytest.mark.parametrize(
    ("cell", "edges", "band"),
    [
        ("", "", ""), ("2L", "2L", ""), ("oak", "oak", ""), ("1 mm oak", "1 mm oak", ""),
        ("2L1S, 1 mm ABS", "2L1S", "1 mm ABS"), ("L1 in oak", "L1", "oak"), ("L1 in L2", "L1 in L2", ""),
        ("1 oak", "1", "oak"), ("4 oak", "4", "oak"), ("5 oak", "5 oak", ""), ("2L paint", "2L paint", ""),
        ("2 long edges oak", "2 long edges", "oak"), ("both ends 1/2 walnut", "both ends", "1/2 walnut"),
        ("L1 + W1 oak", "L1 W1", "oak"), ("L1 (oak)", "L1 (oak)", ""), ("L1 8O mm", "L1 8O mm", ""),
    ],
)  # fmt: skip
def test_a_cell_of_edges_is_parted_where_each_word_tells_an_edge_or_the_band(
    cell: str, edges: str, band: str
) -> None:
    """From five on a bare figure is no number of edges: then nothing is parted, and it is asked about."""
    assert split_cell(cell) == (edges, band)
