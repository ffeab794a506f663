"""What the command line says of each fault: what was wrong, and what to type next."""

from __future__ import annotations

import ast
import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.cli import faults
from stockyard.errors import BadInput, Interrupted, Refused
from stockyard.yard import jobs
from stockyard.yard.check import Difference, Mend
from stockyard.yard.model import JobPart
from tests.cli.typed import Run, plan_on, tags_of

PACKAGE = Path(faults.__file__).parent.parent


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "yard.db"


def kitchen(run: Run, file: Path) -> str:
    """A job with a plan on one sheet at R2; return the sheet's tag."""
    (sheet,) = tags_of(run("shelve", "birch 18", "--at", "R2"))
    plan_on(file, sheet)
    return sheet


def unplanned(file: Path, name: str) -> None:
    with yard.open(file) as y:
        jobs.add_job(y, name, "a list", [JobPart(name="side", count=1, length=3200, width=3200)])


def told(run: Run, *words: str, ends: int) -> str:
    line = run(*words, ends=ends).stderr
    assert len(line.splitlines()) == 1
    return line.strip().removeprefix("stockyard: ")


def test_no_yard_and_no_yard_file(run: Run, tmp_path: Path) -> None:
    nowhere, letter = tmp_path / "none.db", tmp_path / "letter.txt"
    letter.write_text("Dear Ann")
    make = "make one with 'stockyard yard new'"
    assert (
        told(run, "find", "ply", "--yard", str(nowhere), ends=2) == f"there is no yard at {nowhere}: {make}"
    )
    assert told(run, "find", "ply", "--yard", str(letter), ends=2).startswith(f"{letter} is not a yard: ")
    with closing(sqlite3.connect(tmp_path / "other.db")) as db:
        db.execute("VACUUM")
    other = tmp_path / "other.db"
    said = told(run, "find", "ply", "--yard", str(other), ends=2)
    assert said.startswith(f"{other} is not a yard: restore a backup (")  # a new one is not made over it


def test_no_backup(run: Run) -> None:
    said = told(run, "yard", "restore", "/nowhere.db", "--yes", ends=2)
    assert said == "there is no backup at /nowhere.db: 'stockyard yard backups' lists those there are"


def test_a_damaged_yard(run: Run, file: Path) -> None:
    body = bytearray(file.read_bytes())
    body[4096:] = b"\xff" * (len(body) - 4096)
    file.write_bytes(body)
    said = told(run, "find", "ply", ends=1)
    assert said.startswith(f"{file} is damaged (")
    assert said.endswith("): restore a backup ('stockyard yard backups' lists them)")


def test_no_such_place(run: Run) -> None:
    said = told(run, "shelve", "birch 18", "--at", "R9", ends=2)
    assert said == "there is no place R9: add it with 'stockyard place add'"


def test_no_such_material(run: Run) -> None:
    said = told(run, "find", "teak", ends=2)
    assert said == "no material has the words 'teak': see 'stockyard material list'"


def test_a_job_without_a_plan(run: Run, file: Path) -> None:
    unplanned(file, "hall shelf")
    said = told(run, "pull-list", "hall shelf", ends=1)
    assert said == "job hall shelf has no plan yet: make one first ('stockyard plan \"hall shelf\"')"
    said = told(run, "part-labels", "hall shelf", ends=1)
    assert said == "job hall shelf has no plan that holds: make one first ('stockyard plan \"hall shelf\"')"


def test_a_plan_that_no_longer_holds(run: Run, file: Path) -> None:
    run("gone", kitchen(run, file), "--why", "warped", "--later")
    said = told(run, "pull-list", "kitchen", ends=1)
    assert said.startswith("the plan of job kitchen no longer holds (")
    assert said.endswith("): plan it again ('stockyard plan kitchen')")


def test_a_job_whose_plan_holds_pieces(run: Run, file: Path) -> None:
    kitchen(run, file)
    said = told(run, "jobs", "remove", "kitchen", "--yes", ends=1)
    assert said == "a plan of job kitchen holds pieces: release it first ('stockyard release kitchen')"


def test_a_piece_that_has_grown(run: Run) -> None:
    (tag,) = tags_of(run("shelve", "birch 18", "--offcut", "500 x 400", "--at", "R2"))
    said = told(run, "measure", tag, "510 x 400", ends=1)
    assert "cannot have grown: measure it again, or say --larger if the record is wrong" in said
    run("measure", tag, "510 x 400", "--larger")


def test_a_cut_piece_that_was_seen_in_a_count(run: Run, file: Path) -> None:
    sheet = kitchen(run, file)
    run("cut", sheet)
    run("count", "R2", sheet)
    said = told(run, "count", "R2", "--done", "--yes", ends=1)
    assert said.endswith(f": undo its cut, or say --not-seen {sheet}") and "cut" in said.partition(":")[0]


def test_no_price_and_no_density(run: Run) -> None:
    run("material", "add", "beech", "20 mm")
    assert told(run, "stock-up", "beech", ends=1) == (
        "no price of beech 20 mm was logged: add one with 'stockyard price add'"
    )
    (tag,) = tags_of(run("shelve", "beech", "--offcut", "500 x 400", "--at", "R2"))
    assert told(run, "lift", tag, ends=1) == (
        "beech 20 mm has no density: weigh a sheet and set it with 'stockyard material change'"
    )


def test_no_such_label_layout_and_an_own_one_that_is_not_readable(run: Run) -> None:
    (tag,) = tags_of(run("shelve", "birch 18", "--at", "R2"))
    said = told(run, "labels", tag, "--layout", "napkin", ends=2)
    assert said == "there is no label layout 'napkin': 'stockyard label-layouts' lists them"
    said = told(run, "yard", "settings", "own_label=" + "9" * 121, ends=2)
    assert said == "own_label is not readable: 'stockyard label-layouts' shows how to write it"


def codes_in_the_code() -> set[str]:
    """The codes that errors are made with: the second word of each, where it has one."""
    found = set()
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and len(node.args) > 1:
                code = node.args[1]
                if node.func.id in ("BadInput", "Refused") and isinstance(code, ast.Constant):
                    found.add(str(code.value))
    return found


def test_every_code_has_its_words_or_a_sentence_that_says_enough() -> None:
    says_enough = {
        "nothing to cut",
        "nothing to pull",
        "nothing to release",
        "no plan for piece",
        "cut already",
        "other size",
        "nothing to return",
        "no places",
    }
    assert codes_in_the_code() - says_enough == set(faults._NEXT)


def test_a_hint_without_its_field_is_left_out() -> None:
    assert faults.worded(Refused("job x has no plan yet", "no plan")) == "job x has no plan yet"


def test_how_a_command_ends_is_the_narrowest_kind() -> None:
    kinds = (Interrupted("stop"), Refused("no"), BadInput("what"))
    assert [faults.ends_with(e) for e in kinds] == [130, 1, 2]


@pytest.mark.parametrize("mend", list(Mend))
def test_what_mends_a_difference_is_said(mend: Mend) -> None:
    """A person may copy it: a command of this program, or a statement for SQLite."""
    said = faults.mending(Difference("something", mend, "hall shelf"))
    assert "'stockyard " in said or "SQLite" in said
    if mend in (Mend.DROP, Mend.PLAN_AGAIN):
        assert "hall shelf" in said


def test_a_check_says_what_to_do_about_what_it_found(run: Run, file: Path) -> None:
    with closing(sqlite3.connect(file)) as db:
        db.execute("CREATE TABLE bird (name TEXT)")
    result = run("yard", "check", ends=1)
    assert "- the schema has a table bird that is not ours\n" in result.stdout
    assert "To mend it: take the table bird out of the file with an SQLite program." in result.stdout
    assert "1 thing is not as it must be" in result.stderr
    (row,) = json.loads(run("yard", "check", "--json", ends=1).stdout)
    assert row["mend"] == "take the table bird out of the file with an SQLite program"
