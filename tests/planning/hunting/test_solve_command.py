"""`stockyard solve`: what goes where, and what it ends with."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from typer.testing import CliRunner

from stockyard.cli.main import build
from tests.planning.second_check import complaints
from tests.planning.test_files import EXAMPLE

SHEET = {
    "id": "new", "kind": "full", "material": "birch ply", "thickness": 18, "length": 2440, "width": 1220,
    "count": None, "cost": 58.25, "grain": True,
}  # fmt: skip
ENOUGH = {**EXAMPLE, "stock": [*EXAMPLE["stock"], SHEET]}


def run(problem: Any, *words: str) -> Result:
    text = problem if isinstance(problem, (str, bytes)) else json.dumps(problem)
    return CliRunner().invoke(build(), ["solve", "-", "--work", "1", *words], input=text)


def test_all_parts_placed_ends_with_0_and_the_plan_alone_on_standard_output() -> None:
    done = run(ENOUGH)
    assert done.exit_code == 0, done.stderr
    assert json.loads(done.stdout)["status"] in ("proven", "feasible")
    assert complaints(json.dumps(ENOUGH), done.stdout) == []
    assert done.stderr == ""


def test_parts_that_cannot_be_placed_end_with_3_and_the_plan_is_still_written() -> None:
    done = run(EXAMPLE)
    assert done.exit_code == 3
    plan = json.loads(done.stdout)
    assert plan["status"] == "short"
    assert plan["unplaced"] == [
        {
            "id": "side", "count": 1,
            "reason": "every piece of birch ply 18 mm that could give it is used for other parts",
        }
    ]  # fmt: skip
    assert complaints(json.dumps(EXAMPLE), done.stdout) == []


def test_nothing_can_be_placed() -> None:
    done = run({**EXAMPLE, "stock": []})
    assert done.exit_code == 3
    assert json.loads(done.stdout)["layouts"] == []


def test_no_parts_is_a_plan_of_nothing() -> None:
    done = run({**EXAMPLE, "parts": []})
    assert done.exit_code == 0
    assert complaints(json.dumps({**EXAMPLE, "parts": []}), done.stdout) == []


@pytest.mark.parametrize(
    ("problem", "words"),
    [
        ({**EXAMPLE, "kerf": -3}, "stockyard: kerf: '-3' must be 0 or more\n"),
        (b"\x00\x01\xff", "stockyard: the file is not text: byte 2 is not UTF-8\n"),
        ("", "stockyard: the file is not JSON: line 1, column 1: Expecting value\n"),
    ],
)
def test_a_wrong_file_ends_with_2_and_one_line(problem: Any, words: str) -> None:
    done = run(problem)
    assert (done.exit_code, done.stdout, done.stderr) == (2, "", words)


def test_a_file_that_is_not_there_ends_with_2() -> None:
    done = CliRunner().invoke(build(), ["solve", "nowhere.json"])
    assert (done.exit_code, done.stderr) == (2, "stockyard: nowhere.json: No such file or directory\n")


def test_unknown_keys_are_noted_on_standard_error() -> None:
    done = run({**ENOUGH, "colour": "red"})
    assert done.exit_code == 0
    assert "stockyard: note: 'colour' is not known and ignored\n" in done.stderr


def test_a_plan_that_fails_its_check_is_never_written(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("stockyard.desk.solving.faults", lambda *_: ("layout 1: overlap",))
    done = run(ENOUGH)
    assert (done.exit_code, done.stdout) == (1, "")
    assert "the plan failed its check and is not written: layout 1: overlap" in done.stderr


def test_the_same_file_seed_and_work_give_the_same_plan() -> None:
    assert run(ENOUGH, "--seed", "5").stdout == run(ENOUGH, "--seed", "5").stdout


@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal of its own")
def test_ctrl_c_keeps_the_best_plan(tmp_path: Path) -> None:
    """A job that cannot be proved soon: interrupted at the first word of progress, far from its limit."""
    import pty

    parts = [
        {
            "id": f"p{i}",
            "length": 211 + 37 * i % 600,
            "width": 97 + 53 * i % 400,
            "thickness": 18,
            "grain": "any",
        }
        for i in range(60)
    ]
    text = json.dumps({**ENOUGH, "parts": parts})
    (tmp_path / "job.json").write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "stockyard", "solve", str(tmp_path / "job.json"), "--seconds", "900"]
    ours, theirs = pty.openpty()
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=theirs, text=True) as process:
        os.close(theirs)
        told = b""
        while b"pieces" not in told:
            told += os.read(ours, 4096)
        process.send_signal(signal.SIGINT)
        out, _ = process.communicate(timeout=300)  # a third of its limit
    os.close(ours)
    assert process.returncode == 130
    assert complaints(text, out) == []
