"""From a problem file to files for the router, by the two commands a person types."""

from __future__ import annotations

import json
from pathlib import Path

import ezdxf
import pdfplumber
import pytest
from typer.testing import CliRunner

from stockyard import yard
from stockyard.cli.main import build
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.yard import jobs
from stockyard.yard.model import JobPart
from tests.cli.typed import Run
from tests.quick_plans import plan_here

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


def test_the_folder_is_made_where_none_is_and_refused_where_a_file_is(planned: Path) -> None:
    files = ["route", str(planned / "problem.json"), str(planned / "plan.json"), "--to"]
    assert CliRunner().invoke(build(), [*files, str(planned / "new" / "one")]).exit_code == 0
    assert list((planned / "new" / "one").glob("*.dxf"))
    done = CliRunner().invoke(build(), [*files, str(planned / "plan.json")])
    assert done.exit_code == 2 and "cannot use the folder" in done.output


def test_the_operator_reads_what_lies_where(planned: Path) -> None:
    code, said = run(planned, "--paper", "a4", "--origin", "upper right")
    assert code == 0, said
    with pdfplumber.open(planned / "router sheets.pdf") as pdf:
        text = pdf.pages[0].extract_text()
    for words in (
        "sheet 1 S", "Zero is its upper right corner", "panel 4", "600 x 400", "No tool paths",
        "Laid out for a bit no wider than 6 mm: it runs outside each outline, inside each hole.",
    ):  # fmt: skip
        assert words in text
    assert "One pass" not in text
    (planned / "problem.json").write_text(json.dumps(PROBLEM | {"one_pass": True}))
    run(planned, "--paper", "a4")
    with pdfplumber.open(planned / "router sheets.pdf") as pdf:
        text = " ".join(pdf.pages[0].extract_text().split())
    assert "One pass cuts two outlines that lie just the bit apart" in text


def test_a_job_goes_on_the_router_as_it_is_typed(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Said of its material, of the job, of a part; planned, drawn for the machine, cut."""
    plan_here(monkeypatch)
    part = JobPart(name="side", count=2, length=700 * MM, width=500 * MM, materials=("birch ply",))
    with yard.open(tmp_path / "yard.db") as y:
        jobs.add_job(y, "chest", "", [part])
    run("shelve", "birch ply 18", "--size", "2440 x 1220", "--at", "R1-B2-S3")
    run("material", "change", "birch ply 18", "--on", "router")
    assert "router" in run("material", "list").stdout
    run("plan", "chest", "--work", "2")
    drawings, papers = tmp_path / "drawings", tmp_path / "papers"
    run("route", "chest", "--to", str(drawings), "--layer", "parts=a/b", ends=2)
    run("route", "chest", "--to", str(drawings), "--paper", "a4", ends=2)
    assert not drawings.exists()
    run("route", "chest", "--to", str(drawings))
    (file,) = drawings.iterdir()
    assert not ezdxf.readfile(file).audit().has_errors
    run("papers", "chest", "--out", str(papers))
    assert {p.name for p in papers.iterdir()} == {
        "chest - pull list.pdf", "chest - router sheets.pdf", "chest - part labels.pdf",
    }  # fmt: skip
    assert "Routed" in run("draw", "chest").stdout
    run("pull", "--job", "chest")
    assert "2 parts" in run("cut", "--job", "chest").stdout
    assert "The record is true" in run("yard", "check").stdout
    run("change", "chest", "--on", "laser", ends=2)
    run("change", "chest", "--on", "saw", "--on", "router", ends=2)


def test_the_shape_of_a_part_is_given_as_a_file(run: Run, tmp_path: Path) -> None:
    with yard.open(tmp_path / "yard.db") as y:
        jobs.add_job(y, "seat", "", [JobPart(name="back", count=1, length=400 * MM, width=90 * MM)])
    drawing = ezdxf.new("R2000")
    drawing.units = 4
    drawing.modelspace().add_lwpolyline(
        [(0, 0), (400, 0), (400, 90, -0.1), (0, 90)], format="xyb", close=True
    )
    drawing.modelspace().add_line((0, 0), (1, 1))
    drawing.saveas(tmp_path / "back.dxf")
    said = run("change", "seat", "--outline", f"back={tmp_path / 'back.dxf'}", ends=2).stderr
    assert "LINE" in said and "no closed polyline" in said
    run("change", "seat", "--outline", "back=none.dxf", ends=2)
    drawing.modelspace().query("LINE")[0].destroy()
    drawing.saveas(tmp_path / "back.dxf")
    assert "outline" in run("change", "seat", "--outline", f"back={tmp_path / 'back.dxf'}").stdout
    run("change", "seat", "--on", "back=saw")
    (row,) = (line for line in run("jobs", "show", "seat").stdout.splitlines() if line.startswith("back"))
    assert row.split()[-2:] == ["saw", "back.dxf"]
    said = run("change", "seat", "--size", "back=410 x 90", ends=2).stderr
    assert "outline of back: it is 400 x 90 mm" in said and said.count("\n") == 1
    run("change", "seat", "--size", "back=410 x 90", "--outline", "back=")
