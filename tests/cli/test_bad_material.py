"""What real material can not be is refused in one line that names the row, and nothing is stored."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.typed import Run

LISTS = {
    "unequal members": (
        "Part,Qty,Length,Width,Material,Matched set\n"
        "top,1,300,100,birch ply 18 mm,fronts across\nlow,1,310,100,birch ply 18 mm,fronts across",
        "line 2, column 1: set fronts: its parts can follow each other along only, not across",
    ),
    "bands wider than the part": (
        "18 mm birch ply\n1 strip 300 x 3, banded all round with 2 mm oak, finished sizes",
        "line 2, column 1: strip is 300 x 3 finished, and bands of 2 leave nothing of it",
    ),
    "an allowance larger than the part": (
        "oak 4/4\n1 slip 300 x 5",
        "line 2, column 1: part slip: the allowance of 6 mm is larger than its width of 5 mm",
    ),
    "unequal members, in a line": (
        "18 mm birch ply\n1 top 300 x 100, match fronts across\n1 low 310 x 100, match fronts across",
        "line 2, column 1: set fronts: its parts can follow each other along only, not across",
    ),
    "bands wider than the part, in a table": (
        "Part,Qty,Finished length,Finished width,Material,Edging\n"
        "strip,1,300,3,birch ply 18 mm,2 mm oak all round",
        "strip is 300 x 3 finished, and bands of 2 leave nothing of it",
    ),
    "an allowance larger than the part, in a table": (
        "Part,Qty,Length,Width,Material,Oversize\nslip,1,300,5,birch ply 18 mm,12 x 6",
        "line 2, column 1: part slip: the allowance of 6 mm is larger than its width of 5 mm",
    ),
    "stock too thin": (
        "oak 4/4\n1 leg 300 x 60 x 24",
        "line 2, column 1: part leg: planing 2.5 mm off each face leaves 21 mm of stock 26 mm thick",
    ),
    "an allowance that is none": (
        "Part,Qty,Length,Width,Material,Oversize\nleg,4,700,60,oak 4/4,a bit",
        "line 2, column 1: 'a bit' is not a length",
    ),
}


@pytest.mark.parametrize("name", LISTS)
def test_a_list_that_can_not_be_made_is_refused_by_its_line(run: Run, name: str) -> None:
    run("material", "add", "oak", "4/4", "--board", "--measured", "26", "--rough", "usual")
    text, says = LISTS[name]
    before = len(json.loads(run("ledger", "--json").stdout))
    done = run("paste", "--job", "x", "--first", "along", "--yes", given=text, ends=2)
    assert says in done.stderr and done.stderr.count("\n") == 1
    assert json.loads(run("jobs", "list", "--json").stdout) == []
    assert len(json.loads(run("ledger", "--json").stdout)) == before


def test_what_a_yard_can_not_hold_is_refused(run: Run, tmp_path: Path) -> None:
    before = len(json.loads(run("ledger", "--json").stdout))
    lies = ("--offcut", "500 x 300", "--at", "R2")
    done = run("shelve", "birch 18", *lies, "--flaw", "80 x 80 at 450, 0", ends=2)
    assert "the flaw 80 x 80 at 450, 0 reaches out of the piece, which is 500 x 300" in done.stderr
    table = tmp_path / "pieces.csv"
    table.write_text('material,size,place,flaws\nbirch 18,500 x 300,R2,"80 x 80 at 450, 0"\n', "utf-8")
    done = run("shelve", "--from", str(table), ends=2)
    assert "line 2: " in done.stderr and "80 x 80 at 450, 0 reaches out of the piece" in done.stderr
    # EN 315: 18 mm plywood is 18 + 0.74 to 18 - 0.94 mm thick.
    done = run("shelve", "birch 18", *lies, "--thickness", "12", ends=1)
    assert "12 mm is not birch ply 18 mm, which is 17.1 mm to 18.7 mm by EN 315" in done.stderr
    done = run("material", "change", "birch 18", "--rough", "12 x 6, 9 a face", ends=2)
    assert "leaves nothing of stock 17.7 mm thick" in done.stderr
    run("price", "add", "birch 18", "2440 x 1220", "9", "--per", "board foot", ends=2)
    assert len(json.loads(run("ledger", "--json").stdout)) == before


def test_a_batch_that_no_stock_can_serve_names_it_and_plans_nothing(run: Run) -> None:
    for size, thick in (("900 x 300", "17.4"), ("720 x 395", "18.1")):
        run("shelve", "birch 18", "--offcut", size, "--at", "R2", "--thickness", thick)
    run("price", "end", "birch 18", "2440 x 1220", "--from", "Mill")
    text = "18 mm birch ply\n1 long 850 x 250, batch dado\n1 wide 700 x 390, batch dado"
    sheet = "Part,Qty,Length,Width,Material,Batch\n" + "\n".join(
        f"{name},1,{size},birch ply 18 mm,dado" for name, size in (("long", "850,250"), ("wide", "700,390"))
    )
    for given in (text, sheet):
        done = run("paste", "--job", "x", "--first", "along", "--yes", given=given, ends=2)
        assert (
            "line 2, column 1: batch dado: no pieces that measure within 0.2 mm of each other" in done.stderr
        )
        assert done.stderr.count("\n") == 1 and "batch2=keep|none" in done.stderr
        assert json.loads(run("jobs", "list", "--json").stdout) == []
    run("paste", "--job", "x", "--first", "along", "--yes", "--answer", "batch2=keep", given=text)
    done = run("plan", "x", "--seconds", "1", ends=2)
    assert "batch dado: no pieces that measure within 0.2 mm of each other" in done.stderr
    assert "long and others" in done.stderr
    assert json.loads(run("jobs", "list", "--json").stdout)[0]["plan"] == ""


def problem(**changes: Any) -> str:
    stock = {"id": "s", "kind": "full", "material": "ply", "thickness": 18, "length": 800, "width": 400,
             "grain": True}  # fmt: skip
    part = {"id": "a", "length": 300, "width": 50}
    return json.dumps({"unit": "mm", "kerf": 3, "stock": [stock], "parts": [part]} | changes)


STOCK = json.loads(problem())["stock"][0]


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"stock": [STOCK | {"flaws": [{"x": 790, "y": 0, "dx": 80, "dy": 9}]}]},
         "stock[0].flaws[0]: it reaches"),
        ({"parts": [{"id": "a", "length": 300, "width": 50}, {"id": "b", "length": 310, "width": 50}],
          "groups": [{"id": "g", "run": "across", "members": ["a", "b"]}]}, "groups[0]"),
        ({"stock": [STOCK | {"measured": 17.4},
                    STOCK | {"id": "t", "measured": 18.2, "length": 900, "width": 300}],
          "parts": [{"id": "a", "length": 850, "width": 250, "batch": "d"},
                    {"id": "b", "length": 700, "width": 350, "batch": "d"}]}, "parts[0].batch: no pieces"),
        ({"parts": [{"id": "a", "length": 300, "width": 5, "over": {"width": 6}}]},
         "parts[0].over: the allowance"),
        ({"over": {"ply": {"face": 10}}},
         "parts[0].final_thickness: planing 10 mm off each face leaves nothing"),
    ],
)  # fmt: skip
def test_a_problem_that_can_not_be_is_refused_by_its_field(
    run: Run, changes: dict[str, Any], says: str
) -> None:
    done = run("solve", "-", given=problem(**changes), ends=2)
    assert says in done.stderr and done.stderr.count("\n") == 1 and not done.stdout
