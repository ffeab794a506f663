"""From a problem file to files for the router, by the two commands a person types."""

from __future__ import annotations

import json
from pathlib import Path

import ezdxf
import pdfplumber
import pytest
from typer.testing import CliRunner

from stockyard.cli.main import build

PROBLEM = {
    "unit": "mm", "kerf": 6, "method": "router",
    "stock": [{"id": "S", "kind": "full", "material": "ply", "thickness": 18, "length": 1006, "width": 1006,
               "count": None, "cost": 40}],
    "parts": [{"id": "panel", "length": 600, "width": 400, "count": 4, "grain": "any"}],
}  # fmt: skip


SPOTS = [(0, 0, 600, 400), (606, 0, 400, 600), (406, 606, 600, 400), (0, 406, 400, 600)]
PLAN = {
    "contract": "stockyard/plan/1", "unit": "mm", "status": "proven",
    "bound": {"full_cost": 40, "stock_area": 1012036, "says": "one full piece is needed whatever you do"},
    "layouts": [{
        "stock": "S", "cuts": [], "leftovers": [],
        "parts": [dict(zip(("id", "x", "y", "dx", "dy"), ("panel", *box), strict=True)) for box in SPOTS],
    }],
    "unplaced": [],
}  # fmt: skip


@pytest.fixture
def planned(tmp_path: Path) -> Path:
    """A folder with problem.json and a plan of it: four parts round a hole."""
    (tmp_path / "problem.json").write_text(json.dumps(PROBLEM))
    (tmp_path / "plan.json").write_text(json.dumps(PLAN))
    return tmp_path


def run(folder: Path, *more: str) -> tuple[int, str]:
    done = CliRunner().invoke(
        build(),
        ["route", str(folder / "problem.json"), str(folder / "plan.json"), "--to", str(folder), *more],
    )
    return done.exit_code, done.output


def test_a_sheet_is_drawn_and_the_parts_are_all_on_it(planned: Path) -> None:
    code, said = run(planned)
    assert code == 0, said
    doc = ezdxf.readfile(planned / "sheet 1 S mm.dxf")
    assert not doc.audit().has_errors
    parts = [e for e in doc.modelspace() if e.dxf.layer == "PARTS"]
    assert len(parts) == 4 and all(e.closed for e in parts)
    labels = {e.dxf.text for e in doc.modelspace().query("TEXT")}
    assert {"panel 1", "panel 2", "panel 3", "panel 4"} <= labels
    code, said = run(planned, "--svg", "--unit", "in")
    assert code == 0 and (planned / "sheet 1 S in.svg").exists()


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--layer", "parts=a/b"], "layer"),
        (["--layer", "pockets=x"], "no layer"),
        (["--origin", "middle"], "origin"),
        (["--outline", "panel=plan.json"], "plan.json"),
        (["--outline", "panel"], "equals"),
    ],
)
def test_what_is_wrong_is_said_in_one_line_and_nothing_is_written(
    planned: Path, more: list[str], words: str
) -> None:
    before = sorted(planned.iterdir())
    code, said = run(planned, *more)
    assert code == 2 and words in said
    assert said.count("\n") == 1
    assert sorted(planned.iterdir()) == before


def test_a_folder_that_is_not_there(planned: Path) -> None:
    done = CliRunner().invoke(
        build(),
        ["route", str(planned / "problem.json"), str(planned / "plan.json"), "--to", str(planned / "none")],
    )
    assert done.exit_code == 2 and "no such folder" in done.output


def test_the_operator_reads_what_lies_where(planned: Path) -> None:
    code, said = run(planned, "--paper", "a4", "--origin", "upper right")
    assert code == 0, said
    with pdfplumber.open(planned / "router sheets.pdf") as pdf:
        text = pdf.pages[0].extract_text()
    for words in ("sheet 1 S", "Zero is its upper right corner", "panel 4", "600 x 400", "No tool paths"):
        assert words in text
