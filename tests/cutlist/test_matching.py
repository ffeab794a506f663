"""Matched sets in lists: every way they are written is read, and what can be no set is asked about."""

from __future__ import annotations

import pytest

from stockyard.cutlist import CutList, read, write
from stockyard.cutlist.draft import Match
from stockyard.cutlist.matching import match_said
from stockyard.measure import Unit

HEAD = "18 mm oak ply\n"


def understood(text: str, **answers: str) -> CutList:
    return read(text, unit=Unit.MM, first="along", answers=answers)


def sets(found: CutList) -> list[tuple[str, str, str, int]]:
    return [(row.name, row.set_name, row.set_run, row.set_each) for row in found.rows]


@pytest.mark.parametrize(
    "words",
    [
        "grain matched", "grain-matched", "matched", "match", "matching grain", "matched set", "grain match",
        "continuous grain", "grain runs through", "figure matched", "veneer matched",
    ],
)  # fmt: skip
def test_words_for_a_set(words: str) -> None:
    for text in (f", {words}", f" ({words})", f" {words}"):
        found = understood(f"{HEAD}1 top 600 x 140{text}\n1 low 600 x 180{text}\n1 side 700 x 300")
        assert sets(found) == [
            ("top", "set 1", "across", 1), ("low", "set 1", "across", 1), ("side", "", "", 0),
        ], text  # fmt: skip
        assert (found.questions, found.unread) == ((), ()), text


def test_a_heading_makes_a_set_of_the_lines_below_it_and_names_it() -> None:
    found = understood("Drawer fronts, 18 mm oak ply, grain matched\n2 top 600 x 140\n2 low 600 x 180")
    assert sets(found) == [("top", "Drawer fronts", "across", 1), ("low", "Drawer fronts", "across", 1)]
    assert found.questions == ()


def test_names_put_lines_together_that_stand_apart() -> None:
    found = understood(
        f"{HEAD}1 top 600 x 140, match A\n1 left 500 x 200, match B\n1 low 600 x 180, matched set A\n"
        "1 right 400 x 200, match B"
    )
    assert sets(found) == [
        ("top", "A", "across", 1), ("left", "B", "along", 1), ("low", "A", "across", 1),
        ("right", "B", "along", 1),
    ]  # fmt: skip


def test_a_column_says_the_set() -> None:
    found = understood(
        "Name\tQty\tLength\tWidth\tMaterial\tMatched set\nside\t2\t700\t400\toak ply 18\t\n"
        "top\t2\t600\t140\toak ply 18\tfronts\nmid\t4\t600\t180\toak ply 18\tfronts\n"
        "door\t2\t500\t300\toak ply 18\tyes across\n"
    )
    assert sets(found) == [
        ("side", "", "", 0), ("top", "fronts", "across", 1), ("mid", "fronts", "across", 2),
        ("door", "set 1", "across", 0),
    ]  # fmt: skip
    assert found.questions == ()


def test_sets_that_follow_each_other_and_can_not_lie_flush_are_two() -> None:
    found = understood(
        f"{HEAD}1 top 600 x 140, matched\n1 low 600 x 180, matched\n1 upper 450 x 150, matched\n"
        "1 lower 450 x 190, matched"
    )
    assert [row.set_name for row in found.rows] == ["set 1", "set 1", "set 2", "set 2"]


def test_a_set_may_have_a_long_name_where_the_words_say_that_it_is_one() -> None:
    assert match_said("match fronts across") == Match("fronts", "across")
    assert match_said("matched set fronts") == Match("fronts", "")
    assert match_said("match fronts") is None and match_said("match the old door across") is None


def test_rows_come_back_as_they_were_written() -> None:
    found = understood(f"{HEAD}2 a 600 x 140, match A\n2 b 600 x 180, match A")
    again = read(write(found.rows), unit=Unit.MM)
    assert sets(again) == sets(found)


def test_equal_parts_are_asked_how_they_follow_each_other() -> None:
    text = f"{HEAD}2 door 700 x 400, matched pair"
    [question] = understood(text).questions
    assert (question.id, [r.key for r in question.readings]) == ("set2", ["across", "along", "loose"])
    assert sets(understood(text, set2="along")) == [("door", "set 1", "along", 0)]
    assert sets(understood(text, set2="loose")) == [("door", "", "", 0)]
    assert sets(understood(f"{text} across")) == [("door", "set 1", "across", 0)]


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ("1 a 600 x 140, match A\n1 b 500 x 150, match A",
         "set A: its 2 lines differ in length and in width, so they can not lie flush"),
        ("1 a 600 x 140, match A", "set A: it has one part only: what does it match?"),
        ("1 a 600 x 140, match A\n1 b 600 x 150, from 12 mm oak ply, match A",
         "set A: its parts are of several materials or thicknesses, but must come from one piece"),
        ("1 a 600 x 140, grain across, match A\n1 b 600 x 150, match A",
         "set A: the grain of its parts does not run the same way"),
        ("1 a 600 x 140, match A along\n1 b 600 x 150, match A",
         "set A: its parts can follow each other across only, not along"),
    ],
)  # fmt: skip
def test_what_can_be_no_set_is_asked(lines: str, words: str) -> None:
    found = understood(HEAD + lines)
    assert [q.unclear for q in found.questions] == [words]
    assert not any(name for _, name, _, _ in sets(understood(HEAD + lines, set2="loose")))


def test_a_remark_that_speaks_of_more_than_the_set_is_asked() -> None:
    text = f"{HEAD}1 a 600 x 140, grain matched to the old door\n1 b 600 x 150, grain matched"
    question = understood(text).questions[0]
    assert question.unclear == "'grain matched to the old door': which parts match?"
    assert [row.set_name for row in understood(text, line2="1").rows] == ["set 1", "set 1"]
    assert understood(text, line2="2").rows[0].set_name == ""


def test_batches_are_read_in_lines_headings_and_columns() -> None:
    found = understood(
        f"{HEAD}2 side 600 x 140, batch dado\n2 shelf 600 x 180 (same batch)\n1 back 600 x 220"
    )
    assert [row.batch for row in found.rows] == ["dado", "dado", ""]
    assert (found.questions, found.unread) == ((), ())
    found = understood("Shelves, 18 mm oak ply, one batch\n2 shelf 600 x 140")
    assert [row.batch for row in found.rows] == ["batch"]
    found = understood("Name\tQty\tLength\tWidth\tMaterial\tBatch\nside\t2\t700\t400\toak ply 18\tdado\n")
    assert [row.batch for row in found.rows] == ["dado"]
    assert [row.batch for row in read(write(found.rows), unit=Unit.MM).rows] == ["dado"]


def test_a_set_named_by_a_long_heading_takes_forty_letters_of_it() -> None:
    """So much stands on a part label beside the set's number; the rest is cut off."""
    heading = "Fronts of the chest below the window to the garden"
    found = understood(f"{heading}, 18 mm oak ply, grain matched\n1 top 600 x 140\n1 low 600 x 180")
    assert {name for _, name, _, _ in sets(found)} == {"Fronts of the chest below the window to "}
