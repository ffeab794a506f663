"""Rough, then final, as people write it: what is sawn larger, and by how much."""

from __future__ import annotations

import pytest

from stockyard.cutlist import CutList, read
from stockyard.cutlist.write import write
from stockyard.measure import TICKS_PER_INCH as INCH
from stockyard.measure import Unit
from stockyard.rough import AS_IS, OWN, USUAL


def inches(text: str, **answers: str) -> CutList:
    return read(text, unit=Unit.INCH, first="along", answers=answers)


# How such lists are written: common practice, no source.
@pytest.mark.parametrize(
    ("said", "rough", "over"),
    [
        (", rough cut", USUAL, (0, 0)), (", cut oversize", USUAL, (0, 0)), ("(oversize)", USUAL, (0, 0)),
        (", trim later", USUAL, (0, 0)), (", to be milled", USUAL, (0, 0)), (", rough", USUAL, (0, 0)),
        (", oversize for glue-up", USUAL, (0, 0)), (", trim after glue-up", USUAL, (0, 0)),
        (", as is", AS_IS, (0, 0)), (", no allowance", AS_IS, (0, 0)), (", rough sizes", AS_IS, (0, 0)),
        (" oversize 1/2", OWN, (1 / 2, 1 / 2)), (", 1/2 oversize", OWN, (1 / 2, 1 / 2)),
        ("(oversize 3/4 x 3/8)", OWN, (3 / 4, 3 / 8)), (", leave 1/4 over", OWN, (1 / 4, 1 / 4)),
        (" cherry oversize 1/2", OWN, (1 / 2, 1 / 2)), (", oversize 12 mm", OWN, (12 / 25.4, 12 / 25.4)),
        (", oversize 3/4 x 3/8", OWN, (3 / 4, 3 / 8)), (" oversize by 1 x 1/2 for glue-up", OWN, (1, 1 / 2)),
        (", leave 3/4 x 3/8 over", OWN, (3 / 4, 3 / 8)), (' oversize 3/4" x 3/8"', OWN, (3 / 4, 3 / 8)),
        ("", "", (0, 0)), (" rough cherry", "", (0, 0)),
    ],
)  # fmt: skip
def test_a_part_says_that_it_is_sawn_larger(said: str, rough: str, over: tuple[float, float]) -> None:
    found = inches(
        f"4/4 oak\n4 legs 28 x 2-1/4{said}".replace("4/4 oak\n", "" if "cherry" in said else "4/4 oak\n")
    )
    assert not found.questions and not found.unread
    (row,) = found.rows
    assert (row.length, row.width) == (28 * INCH, 2 * INCH + INCH // 4)
    assert row.rough == rough
    assert (row.over_length, row.over_width) == tuple(round(o * INCH) for o in over)
    again = read(write(found.rows), unit=Unit.MM)
    assert [(r.rough, r.over_length, r.over_width) for r in again.rows] == [(rough, *row_over(found))]


def row_over(found: CutList) -> tuple[int, int]:
    return found.rows[0].over_length, found.rows[0].over_width


def test_a_heading_says_it_for_all_below_and_a_part_says_otherwise() -> None:
    found = inches("4/4 oak, oversize 1/2\n4 legs 28 x 2\n1 top 30 x 9, as is")
    assert [(r.rough, r.over_width) for r in found.rows] == [(OWN, INCH // 2), (AS_IS, 0)]


def test_two_figures_of_an_allowance_are_no_part_of_its_own() -> None:
    found = inches("4/4 oak, oversize 1/2 x 1/4\n4 legs 28 x 2\n1 top: 30 x 9 - oversize 1 x 1/2")
    assert [(r.name, r.over_length, r.over_width) for r in found.rows] == [
        ("legs", INCH // 2, INCH // 4), ("top", INCH, INCH // 2),
    ]  # fmt: skip
    table = "Part,Qty,Length,Width,Oversize\nleg,4,28,2,oversize 1/2 x 1/4"
    assert inches(table).rows[0].over_width == INCH // 4


def test_a_column_says_it_row_by_row_and_rough_lengths_have_nothing_to_add() -> None:
    table = "Part,Qty,Length,Width,Oversize\nleg,4,28,2,1/2\nrail,2,30,3,yes\nshelf,1,20,8,none\ntop,1,30,9,"
    assert [r.rough for r in inches(table).rows] == [OWN, USUAL, AS_IS, ""]
    assert inches("Part,Qty,Rough length,Rough width\nleg,4,28,2").rows[0].rough == AS_IS


def test_an_allowance_that_is_none_is_asked() -> None:
    table = "Part,Qty,Length,Width,Oversize\nleg,4,28,2,a bit"
    (question,) = inches(table).questions
    assert (question.id, question.line) == ("rough2", 2) and "a bit" in question.unclear
    assert inches(table, rough2=AS_IS).rows[0].rough == AS_IS
