"""At the keyboard: help by what one is doing, completion, tables in narrow windows."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from stockyard import __version__
from stockyard.cli.main import build
from stockyard.cli.narrow import fitted
from stockyard.cli.sections import SECTIONS
from tests.cli.typed import Run, plan_on, tags_of

README = Path(__file__).parents[2] / "README.md"


EMPTY = {"clear", "depth", "from", "lies", "note", "least", "by", "use", "sawn", "larger", "lumber"}
"""Headings of columns that may be empty: those are left out of a narrow table."""


def names() -> list[str]:
    app = build()
    commands = [c.name or "" for c in app.registered_commands]
    return commands + [g.name or "" for g in app.registered_groups]


def test_every_command_is_in_one_section_and_the_readme_has_the_same() -> None:
    placed = [n for _, own in SECTIONS for n in own.split()]
    assert sorted(placed) == sorted(names())
    rows = dict(re.findall(r"^\| ([^|]+) \| (`.+) \|$", README.read_text(encoding="utf-8"), re.M))
    for title, own in SECTIONS:
        told = re.sub(r"\([^)]*\)", "", rows[title])
        assert re.findall(r"`([a-z-]+)`", told) == own.split()


def test_help_lists_sections_and_explains_one_command(run: Run) -> None:
    whole = run("help").stdout
    assert whole == run("-h").stdout and "..." not in whole.partition("Options:")[2]
    for title, own in SECTIONS:
        section = whole.partition(f"{title.capitalize()}:\n")[2].partition("\n\n")[0]
        assert re.findall(r"^  (\S+)  ", section, re.M) == own.split()
    told = run("help", "place", "add").stdout
    assert "Record a place." in told and told == run("place", "add", "-h").stdout
    assert "no command 'nothing'" in run("help", "nothing", ends=2).stderr
    assert run("--version").stdout.strip() == f"stockyard {__version__}"


def completed(yard: Path, *words: str, shell: str = "zsh") -> subprocess.CompletedProcess[str]:
    """Ask as a shell does what the last of `words` may become."""
    asks = {
        "STOCKYARD_YARD": str(yard), "PATH": "", "COMP_WORDS": " ".join(["stockyard", *words]),
        "COMP_CWORD": str(len(words)), "_TYPER_COMPLETE_ARGS": " ".join(["stockyard", *words]),
        "_STOCKYARD_COMPLETE": f"complete_{shell}",
    }  # fmt: skip
    program = "import sys; sys.argv[0] = 'stockyard'; from stockyard.cli.main import main; main()"
    return subprocess.run([sys.executable, "-c", program], env=asks, capture_output=True, text=True)


def test_jobs_tags_places_and_materials_are_completed(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "yard.db"
    tag = tags_of(run("shelve", "birch 18", "--at", "R1-B2-S3"))[0]
    plan_on(file, tag)
    asked = {
        ("tag", tag[:2].lower()): tag[:2].lower() + tag[2:],
        ("move", tag, "--to", "r1"): "r1-B2-S3",
        ("plan", "kit"): "kitchen",
        ("pull", "--job", "kit"): "kitchen",
        ("shelve", "bir"): r"birch\ ply\ 18\ mm",
        ("place", "show", "R"): "R1-B2-S3\nR2",
    }
    for words, wanted in asked.items():
        done = completed(file, *words, shell="bash")
        assert (done.stdout.strip(), done.stderr) == (wanted, ""), words
    assert "birch ply 18 mm" in completed(file, "shelve", "bir").stdout, "other shells quote by themselves"
    assert completed(file, "shelve", "oak", shell="bash").stdout.strip() == ""


@pytest.mark.parametrize("yard", ["missing.db", "other.db", "yard.db/no.db"])
def test_a_shell_sees_no_error_when_nothing_can_be_completed(tmp_path: Path, yard: str) -> None:
    (tmp_path / "other.db").write_bytes(b"no yard at all")
    done = completed(tmp_path / yard, "tag", "A", shell="bash")
    assert (done.stdout.strip(), done.stderr) == ("", "")
    assert not (tmp_path / "missing.db").exists()


def test_tables_fit_sixty_columns(run: Run, tmp_path: Path) -> None:
    """Every table of a filled yard keeps every word, and no line is longer than the window."""
    sheets = tags_of(run("shelve", "birch 18", "--count", "3", "--at", "R1-B2-S3", "--from-supplier", "Mill"))
    run("shelve", "birch 18", "--offcut", "900 x 400", "--at", "R1-B2-S3", "--note", "a knot at one end")
    plan_on(tmp_path / "yard.db", sheets[0])
    run("material", "change", "birch 18", "--least", "9", "--note", "ask for the longer lead time in August")
    run("pull", sheets[0])
    for words in (
        ("stock",), ("place", "show", "R1-B2-S3"), ("place", "list"), ("material", "list"), ("price", "list"),
        ("bench",), ("find", "300 x 300"), ("find", "2000 x 1000"), ("jobs", "list"), ("ledger",),
        ("reorder",), ("month",), ("tidy",), ("yard", "settings"), ("count", "R1-B2-S3"), ("keep-sizes",),
        ("place-for", sheets[1]), ("label-layouts",), ("stock-up", "birch"), ("cost", "kitchen"),
        ("month", "--jobs"),
    ):  # fmt: skip
        wide = run(*words).stdout
        narrow = run(*words, wide=60).stdout
        tables = [line for line in narrow.splitlines() if not line.endswith((".", "'"))]
        assert max(map(len, tables), default=0) <= 60, (words, narrow)
        lost = set(re.findall(r"\w+", wide)) - set(re.findall(r"\w+", narrow))
        assert lost <= EMPTY, words


def test_a_cell_goes_on_in_a_second_line_and_sizes_stay_whole() -> None:
    lines = fitted(["tag", "what"], [["K7Q3", "birch ply 18 mm 2440 mm × 1220 mm"]], 24)
    assert lines == ["tag   what", "K7Q3  birch ply 18 mm", "      2440 mm × 1220 mm"]
    assert fitted(["a", "b", "c"], [["x" * 20, "y" * 20, ""]], 30) == ["a:", "x" * 20, "  b: " + "y" * 20]
    assert fitted(["a"], [], 30) == ["a"]


def test_a_setting_says_what_it_does(run: Run) -> None:
    told = run("yard", "settings", "kerf", "fence").stdout
    assert "test cut" in told and "1/32 in" in told and "fence_step" in told and "keep_days" not in told
    whole = run("yard", "settings", "--explain", wide=60).stdout
    assert "Whose days and months" in " ".join(whole.split())
    run("yard", "settings", "guide_name=track saw")
    assert "track saw" in run("yard", "settings", "guide_name").stdout
    assert "no setting 'colour'" in run("yard", "settings", "colour", "kerf=9", ends=2).stderr
    assert "kerf 9" not in run("ledger").stdout
    exact = json.loads(run("yard", "settings", "--json").stdout)
    assert exact["small_worth"] == "40.0 %"


def test_plywood_finds_ply(run: Run) -> None:
    run("shelve", "birch 18", "--offcut", "900 x 600", "--at", "R1-B2-S3")
    assert "900 × 600" in run("find", "20x30", "plywood").stdout
    assert "900 × 600" in run("find", "20x30cm plywood").stdout


def test_the_words_on_screens_are_the_trades(run: Run, tmp_path: Path) -> None:
    """A ledger has entries, to who keeps one."""
    tag = tags_of(run("shelve", "birch 18", "--at", "R1-B2-S3"))[0]
    plan_on(tmp_path / "yard.db", tag)
    screens = [
        run("ledger"),
        run("tag", tag),
        run("undo", "-h"),
        run("yard", "settings"),
        run("ledger", "-h"),
    ]
    screens += [run("undo", "6", "--yes", ends=1), run("undo", "--yes"), run("undo", "99", "--yes", ends=2)]
    for shown in screens:
        assert not re.search(r"\bdeeds?\b|\bnet\b|keep_floor", shown.stdout + shown.stderr, re.IGNORECASE)
