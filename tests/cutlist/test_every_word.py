"""Each word of a list is used, asked about or listed: the lines a shop's week brought, one by one."""

from __future__ import annotations

import pytest

from stockyard.cutlist import CutList, read
from stockyard.cutlist.account import settled
from stockyard.cutlist.figures import Unclear
from stockyard.cutlist.model import Use
from stockyard.cutlist.questions import for_each
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit

INCH, MM = TICKS_PER_INCH, TICKS_PER_MM


def metric(text: str, **ways: object) -> CutList:
    return read(text, unit=Unit.MM, first="along", **ways)  # type: ignore[arg-type]


def inches(text: str, **ways: object) -> CutList:
    return read(text, unit=Unit.INCH, first="along", **ways)  # type: ignore[arg-type]


def made_of(found: CutList) -> list[tuple[str | None, str]]:
    return [(r.thickness_name, r.material) for r in found.rows]


def unread(found: CutList) -> list[str]:
    return [r.says for r in found.unread]


def test_a_material_at_the_end_of_a_line_holds_for_all_of_it() -> None:
    found = metric("2 sides 450 x 140 + 2 ends 330x140 in 12mm")
    assert not found.questions and made_of(found) == [("12 mm", "")] * 2
    found = metric("2 sides 450x140, 3 ends 330x140 & 1 lid 330 x 450, 12 mm birch ply")
    assert not found.questions and made_of(found) == [("12 mm", "birch ply")] * 3


def test_a_material_that_may_hold_for_one_part_of_a_line_is_asked() -> None:
    under = "18 mm MDF\n2 sides 450 x 140, 1 back 330 x 140 in 6mm hardboard"
    (question,) = metric(under).questions
    assert question.unclear == "'6mm hardboard': for sides too?"
    assert made_of(metric(under, answers={"line2": "1"})) == [("6 mm", "hardboard")] * 2
    assert made_of(metric(under, answers={"line2": "2"})) == [("18 mm", "MDF"), ("6 mm", "hardboard")]
    first = "2 sides 450 x 140 in 12mm, 2 ends 330x140"
    assert [q.id for q in metric(first).questions] == ["line1"]
    assert made_of(metric(first, answers={"line1": "1"})) == [("12 mm", "")] * 2
    said = "18 mm MDF\n2 sides 450 x 140, 1 back 330 x 140, all in 6mm hardboard"
    assert made_of(metric(said)) == [("6 mm", "hardboard")] * 2


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("quarter inch ply", "1/4"), ("in a quarter inch ply", "1/4"), ("half inch ply", "1/2"),
        ("in half an inch ply", "1/2"), ("three quarter ply", "3/4"), ("three-quarter inch ply", "3/4"),
        ("3 quarter inch ply", "3/4"), ("five eighths ply", "5/8"), ("quarter ply", "1/4"),
        ("(quarter inch ply)", "1/4"), ("one and a half inch ply", "1 1/2"),
    ],
)  # fmt: skip
def test_thicknesses_in_words(words: str, name: str) -> None:
    found = inches(f"2 backs 12 x 30 {words}")
    assert not found.questions and made_of(found) == [(name, "ply")]
    assert (found.rows[0].name, found.rows[0].note) == ("backs", "")


def test_a_number_word_before_a_fraction_may_be_the_count() -> None:
    (question,) = inches("three quarter inch ply shelves 12 x 30").questions
    assert [r.says for r in question.readings] == ['3 pieces, 1/4"', 'one piece, 3/4"']
    found = inches("three quarter inch ply shelves 12 x 30", answers={"line1": "1"})
    assert (found.rows[0].count, *made_of(found)) == (3, ("1/4", "ply"))
    found = inches("three quarter inch ply shelves 12 x 30", answers={"line1": "2"})
    assert (found.rows[0].count, *made_of(found)) == (1, ("3/4", "ply"))


@pytest.mark.parametrize(
    "line",
    [
        "two sides twelve inches by thirty inches", "2 sides twelve by thirty",
        "2 sides 12 inches x 30 inches", "2 sides one foot by two feet six", "2 sides 12in by 30in",
        "2 sides twelve x 30",
    ],
)  # fmt: skip
def test_sizes_in_words(line: str) -> None:
    found = inches(line)
    assert not found.questions
    (row,) = found.rows
    assert (row.name, row.count, row.length, row.width) == ("sides", 2, 12 * INCH, 30 * INCH)


def test_a_half_beside_a_whole_in_words() -> None:
    (row,) = inches("2 sides twelve and a half inches by 30 and 1/4").rows
    assert (row.length, row.width) == (INCH * 25 // 2, INCH * 121 // 4)


def test_a_half_in_a_name_stays_a_name() -> None:
    (row,) = inches("2 half shelves 12 x 30").rows
    assert (row.name, row.count) == ("half shelves", 2)


def test_the_same_as_before() -> None:
    for words in ("same", "(same ply)", "same material", "in the same ply", "as above", "ditto"):
        found = inches(f"2 sides 12 x 30 in 3/4 birch ply\n1 back 11 x 29, {words}")
        assert not found.questions and made_of(found) == [("3/4", "birch ply")] * 2, words
        assert found.rows[1].note == ""
    found = inches("2 sides 12 x 30 in 3/4 birch ply\n1 lid 9 x 9, 1/2 MDF\n1 back 11 x 29, same as sides")
    assert made_of(found)[2] == ("3/4", "birch ply")


def test_a_same_that_stands_for_nothing_or_two_things_is_asked() -> None:
    assert "stands for nothing" in inches("1 back 11 x 29, same ply").questions[0].unclear
    (first,) = inches("Hall (all 3/4 birch ply)\n2 sides 30 x 10 (same ply)").rows
    assert first.material == "birch ply", "what the heading says is the same"
    assert "is of 1/2 MDF" in inches("1 lid 9 x 9, 1/2 MDF\n1 back 11 x 29 (same oak)").questions[0].unclear
    unsettled = "all 3/4 birch ply\n1 top 9 x 9 & 2 ends 8 x 7, 1/2 red oak\n1 back 11 x 29, same material"
    assert "stands for nothing" in inches(unsettled).questions[-1].unclear
    text = "3/4 ply\n2 sides 12 x 30\n1/4 ply\n1 back 12 x 30 (same ply)"
    (question,) = inches(text).questions
    assert [r.says for r in question.readings] == ["of 3/4 ply", "of 1/4 ply"]
    assert made_of(inches(text, answers={"line4": "1"}))[1] == ("3/4", "ply")
    banded = "2 sides 30 x 12 in 3/4 ply 1L\n1 back 12 x 30, same"
    (question, *_) = inches(banded, finished=False).questions
    assert [r.says for r in question.readings] == [
        "the same material, no bands",
        "the same material and bands",
    ]
    assert inches(banded, finished=False, answers={"line2": "2"}).rows[1].bands == ("L1",)


def test_same_takes_the_unit_it_was_written_in() -> None:
    found = inches("2 sides 450mm x 140 x 18 MDF\n1 back 12 x 14 (same MDF)")
    assert found.rows[1].thickness == 18 * MM


@pytest.mark.parametrize(
    "title",
    [
        "all 18mm birch ply", "(all 18mm birch ply)", "Cabinet (all 18mm birch ply unless noted)",
        "Cabinet, everything in 18mm birch ply", "Cabinet - all parts 18 mm birch ply",
    ],
)  # fmt: skip
def test_a_title_holds_for_what_follows(title: str) -> None:
    found = metric(f"{title}\n2 sides 600 x 300\n1 back 580 x 300 in 6mm hardboard")
    assert not found.questions
    assert made_of(found) == [("18 mm", "birch ply"), ("6 mm", "hardboard")]
    assert "18" in found.ignored[0].says and "from here on" in found.ignored[0].says


def test_a_material_in_a_bracket_is_the_part_s() -> None:
    assert made_of(inches("2 sides 12 x 30 (3/4 ply)")) == [("3/4", "ply")]
    assert made_of(inches("2 sides (in 3/4 birch ply) 12 x 30")) == [("3/4", "birch ply")]
    (question,) = inches("2 sides 12 x 30 (3/4 ply), 1/2 MDF").questions
    assert "two thicknesses" in question.unclear


def test_a_title_that_may_name_a_material_is_asked_only_where_a_part_hangs_on_it() -> None:
    text = "Walnut table\n1 top 30 x 60"
    assert [q.id for q in inches(text).questions] == ["heading1"]
    assert made_of(inches(text, answers={"heading1": "yes"})) == [(None, "Walnut")]
    assert made_of(inches(text, answers={"heading1": "no"})) == [(None, "")]
    assert not inches("Walnut table\n1 top 30 x 60 in 3/4 oak").questions


def test_the_fraction_before_a_material_may_be_the_thickness() -> None:
    line = "2 sides 17 1/2 by 15 3/4 ply"
    (question,) = inches(line).questions
    assert (question.column, [r.says for r in question.readings]) == (19, ["15-3/4", "15, and 3/4 thick"])
    assert inches(line, answers={"line1": "1"}).rows[0].width == INCH * 63 // 4
    found = inches(line, answers={"line1": "2"})
    assert found.rows[0].width == 15 * INCH and made_of(found) == [("3/4", "ply")]
    for clear in (
        "2 sides 17 1/2 by 15-3/4 ply",
        "2 sides 17 1/2 by 15¾ ply",
        "2 sides 17 1/2 by 15 3/4, ply",
    ):
        assert not inches(clear).questions and made_of(inches(clear)) == [(None, "ply")]


def test_a_whole_beside_a_fraction_may_hold_the_count() -> None:
    (question,) = inches("bottom 46 1/2 x 15").questions
    assert [r.says for r in question.readings] == ["46 pieces, 1/2", "one piece, 46-1/2"]
    assert not inches('2 pcs 3/4" ply').rows


@pytest.mark.parametrize(
    ("words", "bands"),
    [
        ("edge band front (1 long)", ("L1",)), ("L1", ("L1",)), ("2L 1W", ("L1", "L2", "W1")),
        ("edging all edges", ("L1", "L2", "W1", "W2")), ("edged all round", ("L1", "L2", "W1", "W2")),
        ("(banded all round)", ("L1", "L2", "W1", "W2")), ("both long edges banded", ("L1", "L2")),
        ("1 long edge banded", ("L1",)), ("eb 1 long 2 short", ("L1", "W1", "W2")), ("1L", ("L1",)),
        ("18 mm ply, edged on both short edges", ("W1", "W2")), ("eb L1+W1", ("L1", "W1")),
    ],
)  # fmt: skip
def test_words_about_edge_bands(words: str, bands: tuple[str, ...]) -> None:
    found = metric(f"2 shelves 600x300 {words}")
    assert [q.id for q in found.questions] == ["finished"]
    (row,) = metric(f"2 shelves 600x300 {words}", finished=False).rows
    assert (row.name, row.bands, row.length, row.width) == ("shelves", bands, 600 * MM, 300 * MM)


@pytest.mark.parametrize(
    "words",
    ["banded front", "banded", "edged", "(banded)", "edge banded front and back", "1 long", "all edges"],
)
def test_band_words_that_leave_the_edges_open_are_asked(words: str) -> None:
    found = metric(f"2 shelves 600x300 {words}", finished=False)
    assert [q.id for q in found.questions] == ["edges1"]
    (row,) = metric(f"2 shelves 600x300 {words}", finished=False, answers={"edges1": "2L1S"}).rows
    assert row.bands == ("L1", "L2", "W1")
    assert (
        metric(f"2 shelves 600x300 {words}", finished=False, answers={"edges1": "none"}).rows[0].bands == ()
    )


def test_band_words_in_a_name_are_asked_and_stay_in_it() -> None:
    found = metric("2 banded shelves 600 x 300", finished=False)
    assert [q.id for q in found.questions] == ["edges1"] and found.rows[0].name == "banded shelves"


def test_what_the_band_is_made_of_is_not_the_part() -> None:
    found = metric("2 shelves 600x300, 18 mm MDF, 1mm oak edging all round", finished=False)
    assert not found.questions and made_of(found) == [("18 mm", "MDF")]
    row = found.rows[0]
    assert (row.bands, row.band_material, row.band_thickness) == (("L1", "L2", "W1", "W2"), "oak", 1 * MM)
    assert unread(found) == []
    (question, *_) = metric("2 shelves 600x300 1mm oak edging all round", finished=False).questions
    assert [r.says for r in question.readings] == ["the part is 1mm oak", "the band is 1mm oak"]


def test_the_same_band_words_are_asked_once_with_an_answer_for_each_line() -> None:
    text = "2 shelves 600x300 banded front\n1 top 800 x 300 banded front\n1 side 700 x 300 banded front"
    (question,) = metric(text, finished=False).questions
    assert question.lines == (1, 2, 3)
    found = metric(text, finished=False, answers={"edges1": "1: L1; 2: none; 3: W1"})
    assert [r.bands for r in found.rows] == [("L1",), (), ("W1",)]


def test_finished_sizes_ask_for_the_band_and_are_reduced_by_it() -> None:
    text = "2 shelves 600x300 edged all round"
    assert [q.id for q in metric(text, answers={"finished": "finished"}).questions] == ["band"]
    (row,) = metric(text, answers={"finished": "finished", "band": "2 mm"}).rows
    assert (row.length, row.width, row.finished_length) == (596 * MM, 296 * MM, 600 * MM)
    (row,) = metric(text, answers={"finished": "finished", "band": "nothing"}).rows
    assert (row.length, row.finished_length) == (600 * MM, 600 * MM)


def test_bands_and_grain_of_a_title_hold_below_it() -> None:
    found = metric("Shelves, 18 mm oak ply, edged all round, grain across\n2 shelf 600 x 300", finished=False)
    assert found.rows[0].bands == ("L1", "L2", "W1", "W2") and found.rows[0].grain == "across"


def test_counts_are_asked_once_with_an_answer_for_each_line() -> None:
    text = "side 600 x 300\nback 500 x 300\n2 ends 40 x 30\nlid 400 x 300"
    (question,) = metric(text).questions
    assert (question.id, question.lines) == ("count", (1, 2, 4))
    for answer in ("2; 1; 5", "1: 2; 2: 1; 4: 5"):
        assert [r.count for r in metric(text, answers={"count": answer}).rows] == [2, 1, 2, 5]
    (left,) = metric(text, answers={"count": "2: 3"}).questions
    assert (left.line, left.lines) == (1, (1, 4))
    assert [r.count for r in metric(text, answers={"count": "one"}).rows] == [1, 1, 2, 1]
    for wrong in ("2; 1", "none", "0"):
        with pytest.raises(BadInput):
            metric(text, answers={"count": wrong})


def test_answers_for_each_line_by_order_or_by_number() -> None:
    assert for_each("along", (3, 5)) == {3: "along", 5: "along"}
    assert for_each("a; b", (3, 5)) == {3: "a", 5: "b"}
    assert for_each("line 5: b", (3, 5)) == {5: "b"}
    with pytest.raises(BadInput):
        for_each("3: a; 4: b", (3, 5))


def test_words_nobody_understands_are_listed() -> None:
    found = metric("2 sides 600 x 300, for the door (see drawing) # scribe")
    assert unread(found) == [
        "'see drawing' is kept as a note", "'scribe' is kept as a note", "'for the door' is kept as a note",
    ]  # fmt: skip
    assert all(words in found.rows[0].note for words in ("for the door", "see drawing", "scribe"))


@pytest.mark.parametrize(
    "words", ["(see drawing 3)", "(oak to match the door 2)", ", half round the front", "(2 of them thinner)"]
)
def test_notes_with_figures_or_telling_words_are_asked(words: str) -> None:
    (question,) = metric(f"2 sides 600 x 300 {words}").questions
    assert question.id == "line1"
    if question.readings:
        kept = metric(f"2 sides 600 x 300 {words}", answers={"line1": "1"})
        assert not kept.questions and kept.unread


def test_cut_and_finish_say_nothing_of_sizes_unless_they_speak_of_them() -> None:
    for note in ("(oil finish)", "(cut corner)"):
        found = metric(f"2 sides 600 x 300 1L {note}")
        assert [q.id for q in found.questions] == ["finished"], note
    assert not metric("Cut sizes\n2 sides 600 x 300 1L").questions
    assert [q.id for q in metric("Cut list for Ana\n2 sides 600 x 300 1L").questions] == ["finished"]


def test_empty_cells_in_quotes_are_empty() -> None:
    found = metric('"name","qty","length","width","material","edges"\n"side","2","720","560","",""')
    assert not found.questions and made_of(found) == [(None, "")] and found.rows[0].bands == ()


def test_columns_that_are_not_read_are_told() -> None:
    found = metric("Pos,Part,Qty,Length,Width,Supplier\n1,side,2,720,560,Acme\n2,end,2,300,560,")
    assert found.ignored[0].says == "table header: Pos only numbers the rows; Supplier is kept as a note"
    assert [(r.name, r.note) for r in found.rows] == [("side", "Supplier: Acme"), ("end", "")]
    assert unread(found) == ["'Supplier: Acme' is kept as a note"]


def test_a_note_of_a_table_that_names_a_material_is_asked() -> None:
    text = "name,qty,length,width,note\nside,2,720,560,oak front"
    assert [q.id for q in metric(text).questions] == ["line2"]
    assert not metric(text, answers={"line2": "1"}).questions
    assert not metric(text.replace("note", "material,note").replace("oak front", "MDF,oak front")).questions


def test_a_line_with_a_word_that_nobody_claims_is_not_read() -> None:
    line = "2 sides of 600 x 300 odd"
    spans = [(0, 1, Use.COUNT), (2, 7, Use.NAME), (11, 20, Use.SIZE)]
    with pytest.raises(Unclear) as caught:
        settled(4, line, spans)
    assert (caught.value.start, caught.value.message) == (21, "'odd' is not understood")
    found = settled(4, line, [*spans, (21, 24, Use.NOTE)])
    assert [(line[s.start : s.end].strip(), s.use) for s in found if s.use is Use.JOINT] == [
        ("of", Use.JOINT)
    ]
    assert {s.line for s in found} == {4}


@pytest.mark.parametrize("words", ["no banding", "not banded", "without edging", "(no edge band)"])
def test_no_band_is_no_band(words: str) -> None:
    found = metric(f"2 shelves 600x300 {words}")
    assert not found.questions and found.rows[0].bands == () and found.rows[0].note == ""


def test_dozens_are_no_names() -> None:
    (question,) = metric("2 dozen shelves 500 x 300").questions
    assert [r.says for r in question.readings] == ["24 pieces in all"]
    (row,) = metric("2 dozen shelves 500 x 300", answers={"line1": "1"}).rows
    assert (row.count, row.name) == (24, "shelves")
    assert metric("dozen shelves 500 x 300").rows[0].count == 12
    for line in ("a dozen shelves 500 x 300", "half a dozen shelves 500 x 300"):
        assert metric(line).questions[0].id == "line1"


def test_a_length_behind_a_square_is_no_thickness() -> None:
    (question,) = inches("4 legs 1 3/4 sq 29 long in maple").questions
    assert question.id == "line1" and "'29'" in question.unclear


def test_a_sum_in_a_size_is_asked() -> None:
    for line in ("2 sides 600 + 18 x 300", "2 sides 600+18 x 300"):
        (question,) = metric(line).questions
        assert [r.says for r in question.readings] == ["618, the sum"]
        assert metric(line, answers={"line1": "1"}).rows[0].length == 618 * MM
    assert "a sum" in metric("2 sides 600 x 300 + 2 ends").questions[0].unclear


def test_same_does_not_reach_past_a_line_that_is_open() -> None:
    text = (
        "2 sides 600 x 300 in 18 mm ply\n1 back 500 x 300 in 6 mm MDF, 9 mm MDF\n1 lid 500 x 300 (same MDF)"
    )
    assert [q.id for q in metric(text).questions] == ["line2", "line3"]
    settled = metric(text, answers={"line2": "1 back 500 x 300 in 6 mm MDF"})
    assert made_of(settled)[2] == ("6 mm", "MDF")


def test_lines_under_a_title_in_doubt_hang_on_it() -> None:
    text = "18 mm MDF\n2 sides 600 x 300\nCabinet 2, 6 mm ply\n1 back 500 x 300\n1 lid 500 x 300 in 9 mm MDF"
    (question,) = metric(text).questions
    assert (question.line, question.lines) == (3, (3, 4))
    assert made_of(metric(text))[1] == (None, "")


def test_a_line_of_words_is_no_table_header() -> None:
    found = inches(
        "rails thirty-six inches x twelve inches - 1 off, edge band front (1 long)", finished=False
    )
    assert [(r.name, r.bands) for r in found.rows] == [("rails", ("L1",))]


def test_the_letter_of_a_name_stays_with_it() -> None:
    for line in ("2 pcs 600 x 300 panel A from the 18 mm MDF", "2 panel A 600 x 300 (18 mm MDF)"):
        assert metric(line).rows[0].name == "panel A"
    found = metric("2 pcs 600 x 300 panel A both long edges banded", finished=False)
    assert (found.rows[0].name, found.rows[0].bands) == ("panel A", ("L1", "L2"))
    assert metric("2 pcs 600 x 300 TOP edged all round", finished=False).rows[0].name == "TOP"
