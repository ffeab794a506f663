"""Flaws as a person types them: noted, shown, found around, cut out, refused in one line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.typed import Run, plan_on, tags_of


def test_a_bruised_corner_from_the_rack_to_a_clear_piece(run: Run) -> None:
    bruised = ("--offcut", "1600 x 600", "--flaw", "80 x 120 at 0, 0", "--at", "R2")
    tag = tags_of(run("shelve", "birch 18", *bruised))[0]
    assert "flaw 80 x 120 at 0, 0 from corner 0" in run("tag", tag).stdout
    found = run("find", "1500 x 590 ply").stdout
    assert tag in found and "1520 × 600" in found
    assert tag not in run("find", "1550 x 590 ply").stdout
    said = run("measure", tag, "--flaw", "30 x 30 at 1570, 570").stdout
    assert f"Biggest clear piece of {tag}: 1490 mm × 600 mm." in said
    assert "crosscut the end at corner 0 off, to 1520 mm" in said
    assert "crosscut the far end off, to 1490 mm" in said
    done = run("clear", tag, "--cut").stdout
    assert "On the bench:" in done and "1490 mm × 600 mm" in done
    assert "is true" in run("yard", "check").stdout
    run("undo", "--yes")
    run("measure", tag, "--no-flaw")
    assert "flaw 80" not in run("tag", tag).stdout.split("measured")[0]
    clear = json.loads(run("clear", tag, "--json").stdout)["clear"]
    assert (clear["unit"], clear["length"], clear["width"]) == ("mm", 1600, 600)


def test_what_is_cut_by_hand_asks_where_the_flaw_went(run: Run) -> None:
    bruised = ("--offcut", "1600 x 600", "--flaw", "80 x 120 at 0, 0", "--at", "R2")
    tag = tags_of(run("shelve", "birch 18", *bruised))[0]
    said = run("cut", tag, "--part", "2:side:700 x 500", "--offcut", "150 x 600").stdout
    assert f"{tag} had a flaw: what holds it now" in said


def test_the_biggest_clear_piece_comes_first_where_asked(run: Run) -> None:
    small, large = (
        tags_of(run("shelve", "birch 18", "--offcut", size, "--at", "R2"))[0]
        for size in ("900 x 600", "1000 x 700")
    )
    run("measure", large, "--flaw", "20 x 700 at 490, 0")
    assert tags_of(run("find", "ply", "--biggest"))[1:] == [small, large]


def test_a_flaw_where_a_part_would_lie_has_the_job_planned_again(run: Run, tmp_path: Path) -> None:
    sheet = tags_of(run("shelve", "birch 18", "--at", "R2"))[0]
    plan_on(tmp_path / "yard.db", sheet)
    said = run("measure", sheet, "--flaw", "50 x 50 at 100, 100", "--later").stdout
    assert f"The plan of kitchen needed {sheet}" in said
    assert "broken" in run("jobs", "list").stdout


@pytest.mark.parametrize(
    ("flaw", "says"),
    [
        ("80 x 120", "is not a flaw"),
        ("0 x 120 at 0, 0", "0"),
        ("80 x 120 at 1590, 0", "reaches out of"),
        ("1600 x 600 at 0, 0", "nothing of"),
    ],
)
def test_a_flaw_that_can_not_be_is_one_line_and_nothing_is_stored(run: Run, flaw: str, says: str) -> None:
    tag = tags_of(run("shelve", "birch 18", "--offcut", "1600 x 600", "--at", "R2"))[0]
    before = run("ledger").stdout
    refused = run("measure", tag, "--flaw", flaw, ends=2)
    assert says in refused.stderr and refused.stderr.count("\n") == 1
    run("shelve", "birch 18", "--offcut", "1600 x 600", "--flaw", flaw, "--at", "R2", ends=2)
    run("measure", tag, ends=2)
    assert run("ledger").stdout == before
