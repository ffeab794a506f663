"""The three streams closed, full or cut off, words that are no words: one line, and no deed without it."""

from __future__ import annotations

import json
import os
import re
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
import typer

from stockyard.cli.main import build
from stockyard.text import entering, leaving
from stockyard.yard import backup, cutting, exchange, offers
from tests.cli.test_route import PLAN, PROBLEM
from tests.yard.shop import SHEET, add_job, make_shop, plan_for

needs_posix = pytest.mark.skipif(sys.platform == "win32", reason="streams are closed by the shell")
BY_HAND = [sys.executable, "-m", "stockyard"]
# Each command that prints or changes something, {sheet} standing for a promised piece.
COMMANDS: dict[str, str] = {
    "yard settings": "yard settings", "set": "yard settings backups=7", "check": "yard check",
    "backup": "yard backup", "backups": "yard backups", "export": "yard export {new}.json",
    "rebuild": "yard rebuild {new}.db", "new": "yard new --yard {new}.db",
    "materials": "material list", "places": "place list", "prices": "price list", "find": "find 10 x 10",
    "material": "material add oak '19 mm'", "place": "place add R7", "price": "price add birch '9 x 9' 3",
    "shelve": "shelve 'birch ply' --at R2 --offcut '500 x 400'",
    "labels": "shelve 'birch ply' --at R2 --offcut '500 x 400' --labels {new}.pdf",
    "move": "move {free} --to R2", "tag": "tag {free}", "jobs": "jobs list", "ledger": "ledger",
    "measure": "measure {free} '900 x 800'", "gone": "gone {free} --why warped", "release": "release kitchen",
    "bench": "bench", "edge labels": "labels {free} --out {new}.pdf", "layouts": "label-layouts",
    "place for": "place-for {free}", "keep": "keep {free}", "tidy": "tidy", "lift": "lift {free}",
    "reorder": "reorder", "stock up": "stock-up birch", "month": "month", "draw": "draw kitchen",
    "undo": "undo --yes", "count": "count R2 {free}", "cut": "cut {sheet}", "pull": "pull {sheet}",
    "cost": "cost kitchen", "papers": "papers kitchen --out {new}", "pull list": "pull-list kitchen",
    "paste": "paste {list} --job shelf --yes", "plan": "plan kitchen --work 1",
    "return": "return {bench} --at R2", "part labels": "part-labels kitchen --out {new}.pdf",
    "calibrate": "calibrate --out {new}.pdf",
    "keep sizes": "keep-sizes", "use keep sizes": "keep-sizes --use", "job": "jobs show kitchen",
    "remove": "jobs remove hall --yes", "material change": "material change 'white oak' --density 700",
    "price end": "price end birch '2440 x 1220'", "place change": "place change R2 --supports 5",
    "restore": "yard restore {backup} --yes", "import": "yard import {all} --yard {new}.db",
    "solve": "solve {problem} --work 1", "route": "route {problem} {plan} --to {folder}",
    "compare": "compare hall --seconds 0.1", "change": "change hall --note side=urgent --later",
    "correct": "correct {free} --note bowed --later", "spoiled": "spoiled {sheet} 1:side --later",
    "stock": "stock --offcuts", "what lies there": "place show R2", "help": "help",
    "clear": "clear {free}", "flaw": "measure {free} --flaw '80 x 120 at 0, 0' --later",
    "retire": "place retire R2", "retire oak": "material retire 'white oak'",
}  # fmt: skip
# These take minutes, or do not end.
NOT_TRIED = {"demo", "warm-up", "serve"}
# The states of standard input, output and error.
STATES: dict[str, str] = {
    "in closed": "<&-", "in for writing": "0>/dev/null", "in empty": "</dev/null", "out closed": ">&-",
    "out full": ">/dev/full", "out for reading": "1</dev/null", "out cut off": "| true",
    "error closed": "2>&-", "error full": "2>/dev/full", "out and error full": ">/dev/full 2>&1",
    "out and error closed": ">&- 2>&-", "all closed": "<&- >&- 2>&-",
}  # fmt: skip


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with files to read, and a shop with a sheet that is promised and an offcut on the bench."""
    folder = tmp_path_factory.mktemp("template")
    shop = make_shop(folder / "yard.db")
    plan_for(shop, shop.sheets[1], job=add_job(shop.yard, "done"))
    bench = cutting.confirm_cut(shop.yard, shop.sheets[1].tag).offcuts[0].tag
    plan_for(shop, shop.sheets[0])
    add_job(shop.yard, "hall")
    offers.add_price(shop.yard, shop.ply.id, *SHEET, 600_000)
    backup.make(shop.yard, folder / "kept.db")
    exchange.export_json(shop.yard, folder / "all.json")
    shop.yard.close()
    for name, text in {
        "sheet": shop.sheets[0].tag, "free": shop.sheets[2].tag, "bench": bench,
        "list": "part,count,length,width,material\nside,2,700,500,birch ply 18",
        "problem": json.dumps(PROBLEM), "plan": json.dumps(PLAN),
    }.items():  # fmt: skip
        (folder / name).write_text(text)
    return folder


@pytest.fixture
def place(template: Path, tmp_path: Path) -> Path:
    """A copy of that folder."""
    shutil.copytree(template, tmp_path / "shop")
    return tmp_path / "shop"


def typed(place: Path, words: str) -> str:
    names = {n: (place / n).read_text() for n in ("sheet", "free", "bench")}
    files = {n: place / n for n in ("new", "list", "problem", "plan")}
    return words.format(folder=place, all=place / "all.json", backup=place / "kept.db", **names, **files)


def deeds(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as db:
        return [says for (says,) in db.execute("SELECT says FROM deed ORDER BY id")]


def in_shell(place: Path, line: str) -> tuple[int, str, str]:
    """Run a line of shell in which $stockyard is the command; return its code, output and errors."""
    env = os.environ | {
        "STOCKYARD_YARD": str(place / "yard.db"),
        "stockyard": " ".join(BY_HAND),
        "PYTHONPATH": os.pathsep.join(sys.path),
        "STOCKYARD_INTERPRET": "1",
    }
    done = subprocess.run(
        ["bash", "-c", f"set -o pipefail; $stockyard {line}"],
        capture_output=True, text=True, check=False, env=env, timeout=120,
    )  # fmt: skip
    return done.returncode, done.stdout, done.stderr


def look(place: Path, words: str, state: str) -> None:
    """Run one command in one state of the streams, and look that nothing is done untold."""
    before = deeds(place / "yard.db")
    code, out, error = in_shell(place, f"{typed(place, words)} {STATES[state]}")
    assert "Traceback" not in out + error, error
    assert "fault of stockyard" not in error, error
    assert "Exception ignored" not in error, error
    assert code in (0, 1, 2, 3, 141), (code, error)
    done = deeds(place / "yard.db")[len(before) :]
    if "error" not in state and "all" not in state and "out" in state:
        assert len(error.splitlines()) <= 2, error
        assert not done or "recorded all the same" in error, (done, error)
        if "closed" in state:
            assert done == []
    with closing(sqlite3.connect(place / "yard.db")) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)


@needs_posix
@pytest.mark.parametrize("state", STATES)
def test_a_deed_is_told_whatever_the_streams(place: Path, state: str) -> None:
    look(place, COMMANDS["shelve"], state)


@needs_posix
@pytest.mark.slow
@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_in_every_state_of_the_streams(place: Path, command: str, state: str) -> None:
    look(place, COMMANDS[command], state)


def test_every_command_is_tried() -> None:
    def every(command: Any, words: tuple[str, ...]) -> Iterator[str]:
        for name, inner in getattr(command, "commands", {}).items():
            yield from every(inner, (*words, name))
        if not hasattr(command, "commands"):
            yield " ".join(words)

    known = set(every(typer.main.get_command(build()), ()))
    tried = {name for name in known for line in COMMANDS.values() if f"{line} ".startswith(f"{name} ")}
    assert known - tried == NOT_TRIED


def forbidden_folder(place: Path) -> str:
    (place / "locked").mkdir(mode=0)
    return str(place / "locked")


BAD: dict[str, Callable[[Path], str]] = {
    "no such user": lambda _: "material list --yard '~nouser/x.db'",
    "a long path": lambda _: f"material list --yard {'x' * 300}",
    "a long path to write": lambda _: f"yard export {'x' * 300}",
    "a long path for labels": lambda _: f"{COMMANDS['labels'].replace('{new}', 'x' * 300)}",
    "not UTF-8": lambda _: "find $'\\xff\\xfe'",
    "a raised figure": lambda _: "cut {sheet} --part '²:a:100 x 100'",
    "five thousand digits": lambda _: f"cut {{sheet}} --part '{'1' * 5000}:a:100 x 100'",
    "an escape in a name": lambda _: "material add $'birch\\x1b[31m' '18 mm'",
    "a note that rings": lambda _: COMMANDS["shelve"] + " --note $'bell\\a'",
    "no home": lambda _: "material list --yard '~/x.db'",
    "labels to no folder": lambda p: COMMANDS["labels"].replace("{new}", f"{p}/none/new"),
}


@needs_posix
@pytest.mark.parametrize("bad", BAD)
def test_bad_words_give_one_line_and_no_deed(place: Path, bad: str, monkeypatch: pytest.MonkeyPatch) -> None:
    if bad == "no home":
        monkeypatch.delenv("HOME", raising=False)
    before = deeds(place / "yard.db")
    code, out, error = in_shell(place, typed(place, BAD[bad](place)))
    assert code in (1, 2), error
    assert out == ""
    assert re.fullmatch(r"(Usage:.*\nTry .*\n\n?)?(stockyard|Error): [^\n]+\n", error), error
    assert "fault of stockyard" not in error
    assert "No such option" not in error
    assert deeds(place / "yard.db") == before


@needs_posix
@pytest.mark.slow
@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_tried_above_is_one(place: Path, command: str) -> None:
    code, _, error = in_shell(place, typed(place, COMMANDS[command]))
    # The plan of this shop is no whole plan.
    assert code == (command == "check"), error


# Somebody else, who has read all of the program while still allowed to: once, then a copy for each command.
SOMEBODY = """
import importlib, json, os, pkgutil, sys, tempfile
import stockyard
from stockyard.cli.main import main
for found in pkgutil.walk_packages(stockyard.__path__, "stockyard."):
    if ".planning" not in found.name and "__main__" not in found.name:
        importlib.import_module(found.name)
stockyard.yard.schema.steps()
told = []
for words in json.loads(sys.argv[1]):
    with tempfile.TemporaryFile("w+") as said:
        if not (child := os.fork()):
            os.dup2(said.fileno(), 2)
            if os.geteuid() == 0:
                os.setgid(65534)
                os.setuid(65534)
            sys.argv[1:] = words
            main()
            os._exit(0)
        code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        said.seek(0)
        told.append((code, said.read()))
print(json.dumps(told))
"""
FORBIDDEN = [
    ["shelve", "birch ply", "--at", "R2", "--offcut", "500 x 400", "--labels", "{0}/l.pdf"],
    ["yard", "export", "{0}/all"],
    ["yard", "backup", "{0}/b.db"],
    ["yard", "rebuild", "{0}/b.db"],
    ["material", "list", "--yard", "{0}/y.db"],
    ["yard", "new", "--yard", "{0}/y.db"],
    ["yard", "restore", "{0}/y.db", "--yes"],
    ["yard", "import", "{0}/y.json", "--yard", "{0}/y.db"],
    ["yard", "backups", "--yard", "{0}/y.db"],
    ["shelve", "--from", "{0}/y.csv"],
]


@needs_posix
def test_a_folder_one_may_not_enter_is_told(place: Path) -> None:
    before = deeds(place / "yard.db")
    locked = forbidden_folder(place)
    folder = place
    while folder != folder.parent and folder.name.startswith(("test_", "pytest-", "popen-")):
        folder.chmod(0o777)
        folder = folder.parent
    for file in place.glob("yard.db*"):
        file.chmod(0o666)
    asked = json.dumps([[w.format(locked) for w in words] for words in FORBIDDEN])
    done = subprocess.run(
        [sys.executable, "-c", SOMEBODY, asked],
        capture_output=True, text=True, check=False, cwd="/",
        env=os.environ | {"STOCKYARD_YARD": str(place / "yard.db"), "PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    for words, (code, error) in zip(FORBIDDEN, json.loads(lines[-1]), strict=True):
        assert code in (1, 2), (words, error)
        assert re.fullmatch(r"stockyard: [^\n]+\n", error), (words, error)
        assert "fault of stockyard" not in error, words
    assert deeds(place / "yard.db") == before


@needs_posix
def test_what_old_yards_hold_is_not_obeyed_by_a_terminal(place: Path) -> None:
    """A name kept before the rule: no escape, bell or turning mark reaches the terminal or the JSON raw."""
    from tests.yard.test_check import without_rules

    name = "'ply' || char(27) || ']0;x' || char(7, 155, 8238)"
    without_rules(place / "yard.db", f"UPDATE material SET name = {name}")
    for line in ("material list", "material list --json", "find 10 x 10"):
        code, out, _ = in_shell(place, line)
        assert code == 0
        assert out.strip()
        assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202e]", out), line


@pytest.mark.parametrize("text", ["a\x1b[31m", "a\x00", "a\x7f", "a\x9b1m", "a\u202eb", "a\ud800", "\x08"])
def test_what_does_not_print_does_not_enter(text: str) -> None:
    with pytest.raises(Exception, match=r"does not print \(U\+"):
        entering(text)
    assert leaving(text).isprintable()


def test_what_prints_enters_and_leaves_as_it_is() -> None:
    text = "Küche ½ in × 3 — 板 (R1) עץ"
    assert entering(text) == leaving(text) == text
    assert entering("two\r\nlines\rand\ta tab") == "two\nlines\nand\ta tab"
    assert leaving("two\r\nlines\tof text") == "two lines of text"
