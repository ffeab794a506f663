"""The yard's commands as a person types them: what they print, and how they end."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from stockyard import yard
from stockyard.cli.common import data_folder
from stockyard.cli.main import build
from stockyard.measure import TICKS_PER_MM
from stockyard.yard import jobs, plans, pulling
from stockyard.yard.check import check
from tests.cli.typed import Run, plan_on, tags_of
from tests.yard.shop import store

MM = TICKS_PER_MM


def test_a_sheets_whole_life(run: Run, tmp_path: Path) -> None:
    sheet = tags_of(run("shelve", "birch ply 18", "--count", "10", "--at", "R1-B2-S3"))[0]
    plan_on(tmp_path / "yard.db", sheet)
    assert "kitchen: all pulled, 1 at the saw." in run("pull", sheet).stdout
    cut = json.loads(run("cut", sheet, "--offcut", "998 x 1219", "--json").stdout)
    offcut = cut["offcuts"][0]["tag"]
    assert f"{offcut}, 998 mm × 1219 mm, is at R2." in run("return", offcut, "--at", "R2").stdout
    told = run("tag", offcut).stdout
    assert f"came from {sheet}" in told and "put at R2" in told
    assert "gave 2 × side for kitchen" in run("tag", sheet).stdout
    assert "is true" in run("yard", "check").stdout
    for _ in range(3):
        run("undo", "--yes")
    assert "promised to kitchen" in run("tag", sheet).stdout


def test_find_tells_what_it_understood_and_where(run: Run) -> None:
    run("shelve", "birch 18", "--offcut", "23 1/2 in x 48 in", "--at", "r1 b2 s3")
    said = run("find", "20in", "x", "30in", "18", "ply").stdout
    assert said.startswith("Looking for at least 508 mm × 762 mm, 18 ply:")
    assert "596.9 × 1219.2" in said and "R1-B2-S3" in said
    assert "nothing on the racks" in run("find", "3000 x 3000").stdout
    fits = json.loads(run("find", "500 x 500", "--json").stdout)
    assert fits[0]["place"] == "R1-B2-S3"


def test_a_missing_piece_tells_which_job_to_plan_again(run: Run, tmp_path: Path) -> None:
    sheet = tags_of(run("shelve", "birch 18", "--at", "R2"))[0]
    plan_on(tmp_path / "yard.db", sheet)
    assert f"The plan of kitchen needed {sheet}" in run("gone", sheet, "--why", "warped", "--later").stdout
    assert "broken" in run("jobs", "list").stdout
    run("release", "kitchen")
    run("jobs", "remove", "kitchen", "--yes")


def test_a_count_goes_on_and_settles(run: Run) -> None:
    tags = tags_of(run("shelve", "birch 18", "--count", "3", "--at", "R1-B2-S3"))
    other = tags_of(run("shelve", "birch 18", "--at", "R2"))[0]
    assert "1 of 3 seen" in run("count", "R1-B2-S3", tags[0]).stdout
    said = run("count", "R1-B2-S3", "-", given=f"{tags[1]}\n{other}\n").stdout
    assert "2 of 3 seen" in said and "recorded elsewhere" in said and "missing" in said
    run("count", "R1-B2-S3", "--done", ends=2)
    run("count", "R1-B2-S3", "--done", "--yes", "--why", "stolen")
    assert "gone (missing at R1-B2-S3: stolen)" in run("tag", tags[2]).stdout
    assert "at R1-B2-S3" in run("tag", other).stdout
    run("undo", "--yes")
    assert "at R2" in run("tag", other).stdout


def test_looking_at_a_count_opens_none_and_an_empty_one_asks_again(run: Run) -> None:
    tags = tags_of(run("shelve", "birch 18", "--count", "3", "--at", "R1-B2-S3"))
    before = run("ledger", "--json").stdout
    shown = json.loads(run("count", "R1-B2-S3", "--json").stdout)
    assert shown["number"] is None and len(shown["missing"]) == 3
    said = run("count", "R1-B2-S3", "--done", "--yes", ends=2).stderr
    assert "Nothing was seen" in said and "all 3 pieces" in said and "--empty" in said
    assert run("ledger", "--json").stdout == before, "nothing was opened, nothing written off"
    run("count", "R1-B2-S3", "--done", "--yes", "--empty")
    assert "gone" in run("tag", tags[0]).stdout


def test_several_tags_are_typed_on_a_line(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    tags = tags_of(run("shelve", "birch 18", "--count", "3", "--at", "R1-B2-S3"))
    monkeypatch.setattr("stockyard.cli.record._typing", lambda: True)
    said = run("count", "R1-B2-S3", given=f"{tags[0]} {tags[1]}\n{tags[0]} XXXXX {tags[2]}\n\n").stdout
    assert f"{tags[0]} was seen already" in said and "XXXXX" in said and "3 of 3 seen" in said


def test_a_sheet_ripped_down_asks_for_another_label(run: Run, tmp_path: Path) -> None:
    tag = tags_of(run("shelve", "birch 18", "--at", "R1-B2-S3"))[0]
    said = run("measure", tag, "2440 x 800").stdout
    assert "no longer FULL" in said and "label" not in said
    run("labels", "--out", str(tmp_path / "labels.pdf"))
    assert f"stockyard labels {tag}" in run("measure", tag, "2440 x 700").stdout


def test_a_table_to_fill_in_is_written_and_what_is_judged_is_told(run: Run, tmp_path: Path) -> None:
    table = tmp_path / "pieces.csv"
    told = run("shelve", "--template", str(table)).stdout
    assert "along the grain" in told and f"stockyard shelve --from {table}" in told
    assert "cannot write" in run("shelve", "--template", str(table), ends=2).stderr
    cells = {"material": "birch 18", "size": "600 x 800", "place": "R2"}
    columns = table.read_text(encoding="utf-8-sig").strip().split(",")
    with table.open("a", encoding="utf-8", newline="") as out:
        out.write(",".join(cells.get(column, "") for column in columns) + "\r\n")
    done = run("shelve", "--from", str(table))
    assert "No kind is said, taken as offcuts: smaller than what is on sale (line 2)." in done.stderr
    assert "offcut" in run("tag", tags_of(done)[0]).stdout


def test_a_csv_is_shelved_whole_or_not_at_all(run: Run, tmp_path: Path) -> None:
    table = tmp_path / "pieces.csv"
    table.write_text("material,place,size,kind\nbirch 18,R2,500 x 400,offcut\nteak,R2,1 x 1,offcut\n")
    said = run("shelve", "--from", str(table), ends=2).stderr
    assert "line 3: no material is 'teak'" in said
    assert run("find", "1 x 1").stdout.count("\n") == 2
    table.write_text("material,place,size,kind,count\nbirch 18,R2,500 x 400,offcut,4\n")
    assert len(tags_of(run("shelve", "--from", str(table)))) == 4


@pytest.mark.parametrize(
    ("words", "ends", "said"),
    [
        (("tag", "89ENX"), 2, "its check does not fit"),
        (("tag", "89ENY"), 2, "no piece has the tag"),
        (("tag", "!"), 2, "is not a tag"),
        (("shelve", "birch 18", "--at", "R9"), 2, "there is no place R9"),
        (("shelve", "teak", "--at", "R2"), 2, "no material is 'teak'"),
        (("shelve", "birch 18", "--at", "R2", "--offcut", "0 x 5"), 2, "a length must be more than 0"),
        (("shelve", "birch 18", "--at", "R2", "--offcut", "1,200 x 5"), 2, "1200 or 1.200"),
        (("shelve", "--from", "/nowhere.csv"), 2, "cannot read /nowhere.csv"),
        (("shelve",), 2, "say the material and the place"),
        (("place", "add", "R2"), 1, "there is a place R2 already"),
        (("place", "add", "R3", "--stores", "pile"), 2, "flat, upright or brackets"),
        (("material", "add", "Birch Ply", "18 mm"), 1, "already"),
        (("price", "add", "birch 18", "1 x 1", "5x"), 2, "is not an amount"),
        (("jobs", "show", "shed"), 2, "there is no job 'shed'"),
        (("undo", "1", "--yes"), 1, "cannot be undone"),
        (("undo", "99", "--yes"), 2, "the ledger has no entry 99"),
        (("undo", "9" * 20, "--yes"), 2, "a number is too large"),
        (("material", "change", "birch 18", "--least", "9" * 20), 2, "a number is too large"),
        (("undo",), 2, "say --yes"),
        (("yard", "new"), 1, "exists already"),
        (("yard", "settings", "kerf=99"), 2, "it must be from"),
        (("yard", "new", "--set", "kerf"), 2, "is not NAME=VALUE"),
        (("yard", "settings", "kerf=1/8"), 2, "looks like inches in a shop of millimetres"),
        (("material", "add", "pine", "1x6"), 2, "is not a length: say what it measures"),
        (("material", "add", "pine", "4/4", "--measured", "15/16"), 2, "looks like inches"),
        (("yard", "import", "/nowhere"), 2, "is not an export"),
        (("yard", "restore", "/nowhere", "--yes"), 2, "there is no backup"),
        (("find", "ply", "--yard", "/nowhere/y.db"), 2, "there is no yard at"),
        (("count", "R7"), 2, "there is no place R7"),
        (("return", "89ENY", "--at", "R2"), 2, "no piece has the tag"),
    ],
)
def test_what_is_refused_is_one_line_and_the_right_end(
    run: Run, words: tuple[str, ...], ends: int, said: str
) -> None:
    result = run(*words, ends=ends)
    assert said in result.stderr
    assert len(result.stderr.splitlines()) == 1


LISTS = (
    ("material", "list"), ("price", "list"), ("price", "list", "--log"), ("place", "list"), ("jobs", "list"),
    ("ledger",), ("yard", "settings"), ("yard", "backups"), ("yard", "check"), ("find", "ply"),
)  # fmt: skip


@pytest.mark.parametrize("words", LISTS, ids=[" ".join(w) for w in LISTS])
def test_every_list_prints_a_table_and_json(run: Run, words: tuple[str, ...]) -> None:
    run("shelve", "birch 18", "--count", "2", "--at", "R2")
    run("yard", "backup")
    assert run(*words).stdout.strip()
    json.loads(run(*words, "--json").stdout)


def test_export_import_backup_restore_by_command(run: Run, tmp_path: Path) -> None:
    run("shelve", "birch 18", "--count", "2", "--at", "R2")
    for target in ("all.json", "tables"):
        run("yard", "export", str(tmp_path / target))
        run("yard", "import", str(tmp_path / target), "--yard", str(tmp_path / f"{target}.db"))
    run("yard", "backup", str(tmp_path / "kept.db"))
    run("shelve", "birch 18", "--at", "R2")
    run("yard", "restore", str(tmp_path / "kept.db"), "--yes")
    run("yard", "rebuild", str(tmp_path / "again.db"))
    with yard.open(tmp_path / "again.db") as y:
        assert check(y) == ()
        assert y.one("SELECT count(*) FROM piece") == 2


def test_labels_that_cannot_be_written_keep_pieces_from_being_shelved_twice(run: Run, tmp_path: Path) -> None:
    nowhere = tmp_path / "none" / "labels.pdf"
    run("shelve", "birch 18", "--at", "R2", "--labels", str(nowhere), ends=2)
    assert "nothing on the racks" in run("find", "1 x 1").stdout


def test_a_thickness_named_in_inches_is_inches_in_any_shop(run: Run) -> None:
    assert "19.1 mm thick" in run("material", "add", "maple ply", "3/4").stdout


def test_a_part_that_was_spoiled_is_named_and_the_job_goes_on(run: Run, tmp_path: Path) -> None:
    sheet = tags_of(run("shelve", "birch 18", "--at", "R2"))[0]
    plan_on(tmp_path / "yard.db", sheet)
    said = run("cut", sheet, "--part", "1:side:700 x 500", "--later").stdout
    assert "Its plan does not give 1 × side.\nNext: stockyard plan 'kitchen'" in said
    assert "open" in run("jobs", "list").stdout


def test_a_promised_piece_that_measures_less_asks_for_a_new_plan(run: Run, tmp_path: Path) -> None:
    sheet = tags_of(run("shelve", "birch 18", "--at", "R2"))[0]
    plan_on(tmp_path / "yard.db", sheet)
    assert f"The plan of kitchen needed {sheet}" in run("measure", sheet, "2400 x 1220").stdout


def test_a_pulled_piece_that_comes_back_smaller_asks_for_a_new_plan(run: Run, tmp_path: Path) -> None:
    sheet = tags_of(run("shelve", "birch 18", "--at", "R2"))[0]
    plan_on(tmp_path / "yard.db", sheet)
    run("pull", sheet)
    said = run("return", sheet, "--at", "R2", "--size", "2400 x 1220").stdout
    assert f"The plan of kitchen needed {sheet}" in said


def test_changes_to_materials_and_places(run: Run) -> None:
    run("material", "change", "birch 18", "--density", "700", "--no-grain", "--least", "2")
    run("place", "change", "R2", "--rated-load", "250", "--walk", "1")
    run("price", "end", "birch 18", "2440 x 1220", "--from", "Mill")
    assert "700 kg/m³" in run("material", "list").stdout
    assert "250 kg" in run("place", "list").stdout
    assert len(run("price", "list").stdout.splitlines()) == 1
    run("place", "change", "R2", "--walk", "1", ends=1)


def test_the_data_folder_follows_the_platform() -> None:
    home = {"HOME": "/home/ann"}
    assert data_folder("linux", home) == Path("/home/ann/.local/share/stockyard")
    assert data_folder("linux", home | {"XDG_DATA_HOME": "/data"}) == Path("/data/stockyard")
    assert data_folder("darwin", home) == Path("/home/ann/Library/Application Support/stockyard")
    assert data_folder("win32", {"LOCALAPPDATA": "/local", "HOME": "/h"}) == Path("/local/stockyard")


def test_nothing_heavy_is_imported_to_find_or_to_help(tmp_path: Path) -> None:
    path = tmp_path / "yard.db"
    from stockyard.settings import Settings

    yard.new(path, Settings()).close()
    program = (
        "import sys\nfrom stockyard.cli.main import build\n"
        "try:\n    build()(sys.argv[1:])\nexcept SystemExit:\n    pass\n"
        "heavy = {'ortools', 'numba', 'numpy', 'pandas', 'reportlab', 'openpyxl', 'sqlite_utils', 'rich'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    for words in (
        ["--help"],
        ["find", "anything", "--yard", str(path)],
        ["tag", "89ENY", "--yard", str(path)],
    ):
        done = subprocess.run(
            [sys.executable, "-c", program, *words], capture_output=True, text=True, check=True,
            env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)},
        )  # fmt: skip
        assert done.stdout.splitlines()[-1] == "[]", words


def test_what_is_left_on_the_bench_is_told(run: Run, tmp_path: Path) -> None:
    sheet = tags_of(run("shelve", "birch ply 18", "--at", "R1-B2-S3"))[0]
    assert "Nothing is off the racks" in run("bench").stdout
    plan_on(tmp_path / "yard.db", sheet)
    run("pull", sheet)
    assert "pulled for kitchen" in run("bench").stdout
    assert f"not wanted for kitchen any more: {sheet}" in run("release", "kitchen").stdout
    assert "wants a place" in run("bench").stdout
    assert "bench" in run("place", "list").stdout
    assert json.loads(run("bench", "--json").stdout)[0]["tag"] == sheet


def test_gone_tells_what_the_new_plan_leaves_on_the_bench(run: Run, tmp_path: Path) -> None:
    first, second = tags_of(run("shelve", "birch ply 18", "--count", "2", "--at", "R1-B2-S3"))
    plan_on(tmp_path / "yard.db", first)
    run("pull", first)
    with yard.open(tmp_path / "yard.db") as y:
        job = jobs.job(y, "kitchen")
        (layout,) = plans.standing_plan(y, job.id).layouts  # type: ignore[union-attr]
        plans.release_plan(y, plans.standing_plan(y, job.id).id)  # type: ignore[union-attr]
        both = [replace(layout, number=n, tag=t, leftovers=()) for n, t in ((1, first), (2, second))]
        store(y, job.id, both)
    result = run("gone", second, "--later")
    assert "plan it again" in result.stdout
    with yard.open(tmp_path / "yard.db") as y:
        assert [p.tag for p in pulling.pulled_for(y, job.id)] == [first]


def test_find_names_promised_pieces_when_nothing_is_free(run: Run, tmp_path: Path) -> None:
    sheet = tags_of(run("shelve", "birch ply 18", "--at", "R1-B2-S3"))[0]
    plan_on(tmp_path / "yard.db", sheet)
    said = run("find", "2000 x 1000 ply").stdout
    assert "1 promised piece would be" in said and f"{sheet}  birch ply 18 mm" in said
    assert "promised to kitchen" in said
    assert "promised" not in run("find", "3000 x 1000 ply").stdout


def test_a_tag_seen_by_mistake_is_taken_back(run: Run) -> None:
    sheet = tags_of(run("shelve", "birch ply 18", "--at", "R1-B2-S3"))[0]
    assert "0 of 0 seen" in run("count", "R2", sheet).stdout
    assert sheet not in run("count", "R2", "--not-seen", sheet).stdout
    run("count", "R2", "--not-seen", sheet, ends=2)
    run("yard", "check")


def test_an_inch_yard_is_told_in_its_own_units(tmp_path: Path) -> None:
    app, at = build(), {"STOCKYARD_YARD": str(tmp_path / "inch.db"), "COLUMNS": "200"}

    def say(*words: str) -> str:
        done = CliRunner().invoke(app, list(words), env=at)
        assert done.exit_code == 0, done.output
        return done.output

    say("yard", "new", "--inches", "--set", "currency=$", "--set", "whole_area=1.5 m²", "--set", "kerf=3 mm")
    said = say("yard", "settings")
    assert "≈2325 in²" in said and "≈0.118 in" in said
    say("material", "add", "birch ply", "3/4", "--density", "680")
    assert "costs $89.99." in say("price", "add", "birch", "96 x 48", "$89.99")
    assert "only one price so far" in say("stock-up", "birch")
    say("place", "add", "R1", "--rated-load", "1000")
    say("place", "add", "R2", "--rated-load", "450 kg", "--inside-size", "24 x 24 x 24")
    said = say("place", "list")
    assert "1000 lb" in said and "992 lb" in said and "kg" not in said
    assert "Look again: R2, " in say("shelve", "birch", "--at", "R2")
    assert "sq ft" in say("keep", "40 x 20", "birch", "ply") and "$" in say("keep", "40 x 20", "birch", "ply")


def test_no_open_job_points_to_the_finished_ones(run: Run, tmp_path: Path) -> None:
    sheet = tags_of(run("shelve", "birch ply 18", "--at", "R1-B2-S3"))[0]
    plan_on(tmp_path / "yard.db", sheet)
    assert "2 parts, scrap" in run("cut", sheet).stdout
    assert "1 job done: 'stockyard jobs list --all'" in run("jobs", "list").stdout


def test_the_stock_is_listed_through_a_sieve(run: Run, tmp_path: Path) -> None:
    run("material", "add", "white oak", "4/4", "--board")
    sheets = tags_of(run("shelve", "birch 18", "--count", "3", "--at", "R1-B2-S3"))
    offcut = tags_of(run("shelve", "birch 18", "--offcut", "900 x 400", "--at", "R1-B2-S3"))[0]
    board = tags_of(run("shelve", "oak", "--size", "2400 x 180", "--at", "R2"))[0]
    plan_on(tmp_path / "yard.db", sheets[0])

    def listed(*words: str) -> set[str]:
        return {line["tag"] for line in json.loads(run("stock", *words, "--json").stdout)}

    assert listed() == {*sheets, offcut, board}
    assert listed("--full") == set(sheets) and listed("--boards") == {board} == listed("oak")
    assert listed("--offcuts", "--at", "R1-B2-S3") == {offcut} and listed("--offcuts", "--at", "R2") == set()
    assert listed("--promised") == {sheets[0]} and listed("plywood", "--free") == {*sheets[1:], offcut}
    run("labels", *sheets, "--out", str(tmp_path / "labels.pdf"))
    assert listed("--unlabelled") == {offcut, board}
    told = run("stock", "birch").stdout.splitlines()
    assert told[1].split()[0] == offcut and told[-1] == "4 pieces, 9.29 m²."
    run("stock", "--full", "--boards", ends=2)
    run("stock", "walnut", ends=2)


def test_a_place_shows_what_lies_there_in_order(run: Run) -> None:
    tags = tags_of(run("shelve", "birch 18", "--count", "2", "--at", "R1-B2-S3"))
    top = tags_of(run("shelve", "birch 18", "--offcut", "900 x 400", "--at", "R1-B2-S3"))[0]
    told = run("place", "show", "R1-B2-S3").stdout.splitlines()
    assert told[0].startswith("R1-B2-S3: flat stack, 3 pieces, 76 kg")
    assert [line.split()[:2] for line in told[2:]] == [["1", top], ["2", tags[1]], ["3", tags[0]]]


def test_places_and_materials_are_renamed_and_retired(run: Run) -> None:
    tag = tags_of(run("shelve", "birch 18", "--at", "R1-B2-S3"))[0]
    run("place", "change", "R1-B2-S3", "--code", "LEFT-1")
    assert "at LEFT-1" in run("tag", tag).stdout
    assert "in use: 1 piece lies there" in run("place", "retire", "LEFT-1", ends=1).stderr
    run("move", tag, "--to", "R2")
    run("place", "retire", "LEFT-1")
    assert "LEFT-1" not in run("place", "list").stdout
    assert "is retired: take it back" in run("move", tag, "--to", "LEFT-1", ends=2).stderr
    run("place", "add", "LEFT-1", "--stores", "upright")
    run("move", tag, "--to", "LEFT-1")
    run("material", "change", "birch ply 18", "--name", "baltic birch", "--thickness", "3/4")
    assert "baltic birch 3/4" in run("tag", tag).stdout
    assert "1 piece of it is here" in run("material", "retire", "baltic", ends=1).stderr
    run("gone", tag, "--why", "sold")
    run("material", "retire", "baltic")
    assert (
        "baltic" not in run("material", "list").stdout
        and "retired" in run("material", "list", "--all").stdout
    )
    assert "birch" not in run("price", "list").stdout, "it is no longer on sale"
    assert "no material" in run("shelve", "baltic", "--size", "1 x 1", "--at", "LEFT-1", ends=2).stderr
    run("material", "add", "baltic birch", "3/4")
    run("shelve", "baltic", "--size", "2440 x 1220", "--at", "LEFT-1")
    assert "is true" in run("yard", "check").stdout


def test_a_pieces_material_is_put_right(run: Run, tmp_path: Path) -> None:
    run("material", "add", "birch ply", "12 mm")
    tag = tags_of(run("shelve", "birch 18", "--at", "R1-B2-S3"))[0]
    run("labels", "--out", str(tmp_path / "labels.pdf"))
    plan_on(tmp_path / "yard.db", tag)
    told = run("correct", tag, "--material", "birch 12").stdout
    assert "birch ply 12 mm" in told and f"stockyard labels {tag}" in told
    assert f"The plan of kitchen needed {tag}" in told
    run("correct", tag, "--material", "birch 12", ends=1)
    run("correct", tag, ends=2)
    with yard.open(tmp_path / "yard.db") as y:
        assert check(y) == ()


def test_no_piece_is_silently_free(run: Run) -> None:
    """By area of the one size on sale, 58.50: 1220 x 1220 is half of it."""
    priced = run("shelve", "birch 18", "--size", "1220 x 1220", "--at", "R1-B2-S3")
    assert "taken as 29.25 EUR each" in priced.stderr
    tag = tags_of(priced)[0]
    assert "carries 29.25 EUR, by area from other sizes" in run("tag", tag).stdout
    run("correct", tag, "--cost", "29.25")
    assert run("tag", tag).stdout.splitlines()[1].endswith("carries 29.25 EUR")
    run("material", "add", "oak", "4/4", "--board")
    free = run("shelve", "oak", "--size", "2400 x 180", "--at", "R2")
    assert "counts as free until one is named" in free.stderr
    assert "No price" not in run("shelve", "oak", "--size", "2400 x 180", "--at", "R2", "--cost", "9").stderr
    assert "No price" not in run("shelve", "birch 18", "--at", "R2").stderr
