"""`stockyard paste` as a person or a script meets it."""

from __future__ import annotations

import io
import json
import os
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest
from typer.testing import CliRunner

from stockyard.cli import paste as paste_module
from stockyard.cli.main import build
from stockyard.measure import Unit, parse
from stockyard.settings import inch_shop
from stockyard.yard import new
from stockyard.yard.jobs import job, jobs
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form
from stockyard.yard.opening import open_yard

LIST = 'Bench, 3/4 birch ply\n2 ea sides 17-1/2 x 16 1/4\n1 seat 17½" × 42"\n'
DOUBTFUL = LIST + "1 back 29 1/2 x 35 -1/8\n"


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[Path]:
    path = tmp_path / "yard.db"
    with new(path, inch_shop()) as made:
        add_material(made, "birch ply", Form.SHEET, "3/4", parse("17.7 mm", Unit.INCH), grain=True)
    yield path


def run(yard: Path, *words: str, text: str | bytes = "") -> tuple[int, str, str]:
    done = CliRunner().invoke(build(), ["paste", *words, "--yard", str(yard)], input=text)
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done.exit_code, done.stdout, done.stderr


def names(yard: Path) -> list[str]:
    with open_yard(yard) as y:
        return [j.name for j in jobs(y)]


def test_a_clear_list_is_shown_and_stored(yard: Path) -> None:
    code, out, err = run(yard, "--job", "bench", "--first", "along", text=LIST)
    assert (code, err) == (0, "")
    assert "17 1/2" in out and "birch ply 3/4" in out and "3 parts in 2 rows, cut sizes in inches." in out
    with open_yard(yard) as y:
        stored = job(y, "bench")
        assert sum(p.count for p in stored.parts) == 3 and stored.text == LIST


def test_an_open_question_refuses_with_its_place_and_stores_nothing(yard: Path) -> None:
    code, out, err = run(yard, "--job", "bench", "--first", "along", text=DOUBTFUL)
    assert code == 2 and names(yard) == []
    assert err.startswith("stockyard: line 4, column 17: '35 -1/8' may be 35-1/8 or 34-7/8")
    assert err.count("\n") == 1 and "--answer 'line4=1|2|the line written again|skip'" in err
    assert "sides" in out
    answered = run(yard, "--job", "bench", "--first", "along", "--answer", "line4=1", text=DOUBTFUL)
    assert answered[0] == 0 and names(yard) == ["bench"]


def test_questions_are_asked_where_somebody_is(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    replies = io.StringIO("what\n2\n1\ny\n")
    monkeypatch.setattr(paste_module, "_person", lambda _stack: replies)
    code, _, err = run(yard, "--job", "bench", text=DOUBTFUL)
    assert code == 0 and names(yard) == ["bench"]
    assert "does not answer first" in err and "line 4, column 17" in err
    with open_yard(yard) as y:
        assert job(y, "bench").parts[1].length == parse("42", Unit.INCH)


def test_whoever_says_no_stores_nothing(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(paste_module, "_person", lambda _stack: io.StringIO("n\n"))
    assert run(yard, "--job", "bench", "--first", "along", text=LIST)[0] == 0
    assert names(yard) == []
    monkeypatch.setattr(paste_module, "_person", lambda _stack: io.StringIO(""))
    assert run(yard, "--job", "bench", "--first", "along", text=LIST)[0] == 0
    assert names(yard) == []


def answering(monkeypatch: pytest.MonkeyPatch, replies: str) -> None:
    monkeypatch.setattr(paste_module, "_person", lambda _stack: io.StringIO(replies))


def test_enter_chooses_nothing(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A count, a material or a thickness is never what Enter happens to take."""
    for line in ("bottom 46 1/2 x 15", "2 sides 12 x 30", '2 pcs 3/4" ply', "side 12 x 30 in 3/4 birch ply"):
        answering(monkeypatch, "\n\n\n")
        code, _, err = run(yard, "--job", "bench", "--first", "along", text=line)
        assert code == 2 and "Enter alone answers nothing" in err and "(Enter)" not in err, line
        assert names(yard) == []


def test_answers_given_are_kept_when_a_person_stops(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answering(monkeypatch, "1\n")
    code, _, err = run(yard, "--job", "bench", text=DOUBTFUL)
    assert code == 2 and "take the list up again with stockyard paste --draft 'bench'" in err
    answering(monkeypatch, "2\nn\n")
    code, _, err = run(yard, "--draft", "Bench")
    assert code == 0 and "is the first one along the grain" not in err and "line 4, column 17" in err
    assert "the answers are kept" in err and names(yard) == []
    answering(monkeypatch, "y\n")
    code, _, err = run(yard, "--draft", "bench")
    assert code == 0 and names(yard) == ["bench"] and "line 4" not in err
    with open_yard(yard) as y:
        assert job(y, "bench").text == DOUBTFUL
        assert job(y, "bench").parts[2].length == parse("29 1/2", Unit.INCH)
    code, _, err = run(yard, "--draft", "bench")
    assert code == 2 and "no list is laid aside as 'bench': there are none" in err
    assert run(yard, "--draft", "x", "list.txt")[0] == 2


def test_a_question_about_several_lines_takes_an_answer_for_each(
    yard: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = "3/4 birch ply\nside 30 x 12\nback 30 x 11\nlid 12 x 11\n"
    answering(monkeypatch, "2: 4; 9: 1\n2: 4\n3: 1; 4: 2\ny\n")
    code, _, err = run(yard, "--job", "bench", "--first", "along", text=text)
    assert code == 0, err
    assert "   3 | back 30 x 11" in err and "One answer for all, or one for each: 2: ...; 4: ..." in err
    with open_yard(yard) as y:
        assert [p.count for p in job(y, "bench").parts] == [4, 1, 2]


def test_unattended_every_open_line_is_listed_with_its_place(yard: Path) -> None:
    text = "3/4 birch ply\nside 30 x 12\nback 30 x 11\n2 lids 12 x 35 -1/8\n4 thing 12\n2 x 3 x 20 x 30\n"
    code, out, err = run(yard, "--job", "bench", "--first", "along", "--yes", text=text)
    assert code == 2 and names(yard) == [] and "(3 more below that)" in err
    for place in ("lines 2, 3: ", "line 4, column 13: ", "line 5, column 1: ", "line 6, column 1: "):
        assert place in out, place


def test_words_not_understood_are_listed(yard: Path) -> None:
    text = "Bench, 3/4 birch ply\n2 sides 30 x 12, for the hall (see sketch)\n"
    code, out, _ = run(yard, "--job", "bench", "--first", "along", text=text)
    assert code == 0
    assert "Not understood on line 2: 'for the hall' is kept as a note." in out
    assert "Not understood on line 2: 'see sketch' is kept as a note." in out


def test_a_list_pasted_again_shows_how_it_differs(yard: Path) -> None:
    assert run(yard, "--job", "bench", "--first", "along", text=LIST)[0] == 0
    changed = LIST.replace("2 ea sides", "3 ea sides") + "1 lid 9 x 9\n"
    code, out, err = run(yard, "--job", "Bench", "--first", "along", text=changed)
    assert code == 1 and "this list differs as shown: say --yes" in err
    assert "changed: sides: count 2 -> 3" in out and "new: 1 lid 9 x 9, birch ply 3/4" in out
    code, _, err = run(yard, "--job", "bench", "--first", "along", text=LIST)
    assert code == 1 and "holds the same parts" in err
    with open_yard(yard) as y:
        assert job(y, "bench").parts[0].count == 2


def test_a_file_names_its_job_and_look_stores_nothing(yard: Path, tmp_path: Path) -> None:
    path = tmp_path / "hall bench.txt"
    path.write_text(LIST, encoding="utf-16")
    assert run(yard, str(path), "--first", "along", "--look")[0] == 0
    assert names(yard) == []
    assert run(yard, str(path), "--first", "along")[0] == 0
    assert names(yard) == ["hall bench"]
    assert run(yard, str(path), "--first", "along")[0] == 1


def test_json_says_what_was_understood(yard: Path) -> None:
    code, out, _ = run(yard, "--look", "--json", "--first", "along", text=LIST)
    said = json.loads(out)
    assert code == 0 and [r["count"] for r in said["rows"]] == [2, 1]
    assert said["parts"][0]["materials"] == ["birch ply 3/4"]


@pytest.mark.parametrize(
    ("words", "text", "says"),
    [
        (("--job", "x"), b"", "holds no parts"),
        (("--job", "x"), b"\x00\x01\x02" * 40, "not text"),
        (("--job", "x"), b"x" * 5_000_000, "longer than 2 MB"),
        (("--job", "x", "--answer", "line2"), LIST, "is no answer"),
        (("--job", "x", "--answer", "frist=1"), LIST, "no question 'frist'"),
        (("--job", "x", "--first", "up"), LIST, "neither along nor across"),
        (("--job", "x", "--band", "thick"), LIST, "not a length"),
        (("nowhere.txt",), "", "check the name"),
        (("--clipboard", "--edit"), "", "one list at a time"),
        ((), LIST, "needs a name"),
    ],
)
def test_bad_input_is_one_line_and_exit_2(
    yard: Path, words: tuple[str, ...], text: str | bytes, says: str
) -> None:
    code, _, err = run(yard, *words, text=text)
    assert code == 2 and says in err and err.count("\n") == 1
    assert names(yard) == []


def program(folder: Path, name: str, script: str) -> None:
    path = folder / name
    path.write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    path.chmod(path.stat().st_mode | stat.S_IXUSR)


@pytest.mark.skipif(os.name == "nt", reason="shell scripts")
def test_the_clipboard_and_its_absence(yard: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "bin"
    folder.mkdir()
    monkeypatch.setenv("PATH", str(folder))
    code, _, err = run(yard, "--clipboard", "--job", "bench")
    assert code == 2 and "no program reads the clipboard here" in err
    program(folder, "wl-paste", "echo '2 sides 12 x 30 in 3/4 birch ply'")
    assert run(yard, "--clipboard", "--job", "bench", "--first", "along")[0] == 0
    assert names(yard) == ["bench"]


@pytest.mark.skipif(os.name == "nt", reason="shell scripts")
def test_the_editor(yard: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("VISUAL", raising=False)
    monkeypatch.setenv("EDITOR", "true")
    code, _, err = run(yard, "--edit", "--job", "bench")
    assert code == 2 and "stayed empty" in err
    program(tmp_path, "write", "echo '2 sides 12 x 30 in 3/4 birch ply' >> \"$1\"")
    monkeypatch.setenv("EDITOR", str(tmp_path / "write"))
    assert run(yard, "--edit", "--job", "bench", "--first", "along")[0] == 0
    assert names(yard) == ["bench"]


def test_what_may_be_answered_is_always_said(yard: Path) -> None:
    _, out, err = run(yard, "--job", "bench", "--look", text="3/4 birch ply\n4 thing 12\n(2) x 3 (4) 5 x 6\n")
    assert "[1: only a title | the line written again | skip]" in out
    assert "[]" not in out and "=1|the line written again|skip'" in err


def test_an_open_unit_shows_the_figures_as_written(yard: Path) -> None:
    _, out, _ = run(yard, "--job", "bench", "--look", text="3/4 birch ply\n2 side 612 x 318\n")
    assert "612" in out and "318" in out and "1 row, sizes as written." in out
