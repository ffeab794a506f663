"""A job on the router as it is typed: split by material, job, part; counted, cut, undone, printed again."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import ezdxf
import pdfplumber
import pytest

from stockyard import yard
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.yard import jobs
from stockyard.yard.model import JobPart
from tests.cli.typed import Run, typist
from tests.quick_plans import plan_here

PARTS = [
    JobPart(name="side", count=2, length=700 * MM, width=500 * MM, materials=("birch ply",)),
    JobPart(name="lid", count=1, length=600 * MM, width=400 * MM, materials=("birch ply",)),
]


@pytest.fixture(scope="module")
def planned(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The yard with its ply on the router and a planned job of it, made once."""
    path = tmp_path_factory.mktemp("routed") / "yard.db"
    shutil.copy(made, path)
    with yard.open(path) as y:
        jobs.add_job(y, "chest", "", PARTS)
    type_ = typist(path)
    type_("shelve", "birch ply 18", "--size", "2440 x 1220", "--at", "R1-B2-S3")
    type_("material", "change", "birch ply 18", "--on", "router")
    with pytest.MonkeyPatch.context() as patch:
        plan_here(patch)
        type_("plan", "chest", "--work", "2")
    return path


@pytest.fixture
def run(planned: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Type a command at a copy of that yard."""
    plan_here(monkeypatch)
    shutil.copy(planned, tmp_path / "yard.db")
    return typist(tmp_path / "yard.db")


def machines(run: Run) -> dict[str, set[str]]:
    """The parts of the job that each machine cuts, as the plan's JSON has them: routed ones have no cuts."""
    plan = json.loads(run("plan", "chest", "--json", "--work", "2").stdout)
    found: dict[str, set[str]] = {"saw": set(), "router": set()}
    for layout in plan["layouts"]:
        found["saw" if layout["cuts"] else "router"] |= {p["id"] for p in layout["parts"]}
    return found


def words(file: Path) -> str:
    with pdfplumber.open(file) as pdf:
        return "\n".join(page.extract_text() for page in pdf.pages)


def test_a_job_is_split_by_material_job_and_part(run: Run) -> None:
    """The nearer word holds: the part's before the job's, the job's before the material's."""
    assert machines(run) == {"saw": set(), "router": {"side", "lid"}}
    run("change", "chest", "--on", "lid=saw")
    assert machines(run) == {"saw": {"lid"}, "router": {"side"}}
    run("change", "chest", "--on", "saw", "--on", "lid=router")
    assert machines(run) == {"saw": {"side"}, "router": {"lid"}}
    run("change", "chest", "--on", "lid=usual")
    assert machines(run) == {"saw": {"side", "lid"}, "router": set()}
    run("change", "chest", "--on", "usual")
    run("material", "change", "birch ply 18", "--on", "saw")
    assert machines(run) == {"saw": {"side", "lid"}, "router": set()}


def test_a_split_job_has_cards_for_the_saw_and_sheets_for_the_router(run: Run, tmp_path: Path) -> None:
    run("change", "chest", "--on", "lid=saw")
    run("papers", "chest", "--out", str(tmp_path))
    assert "lid" in words(tmp_path / "chest - cut cards.pdf")
    sheets = words(tmp_path / "chest - router sheets.pdf")
    assert "side, 1 of 2" in sheets and "lid" not in sheets


def test_a_place_is_counted_while_a_routed_job_stands(run: Run) -> None:
    """The promised sheet is seen like any other; one that is not there breaks the routed plan."""
    (tag,) = _tags(run)
    assert tag in run("count", "R1-B2-S3").stdout
    run("count", "R1-B2-S3", tag, "--done", "--yes")
    assert machines(run)["router"] == {"side", "lid"}
    said = run("count", "R1-B2-S3", "--done", "--empty", "--yes").stdout
    assert "chest" in said
    assert "The record is true" in run("yard", "check").stdout
    run("route", "chest", ends=1)


def test_a_sheet_that_is_pulled_is_no_difference_to_a_count(run: Run) -> None:
    (tag,) = _tags(run)
    run("pull", "--job", "chest")
    run("count", "R1-B2-S3", "--done", "--empty", "--yes")
    assert "3 parts" in run("cut", tag).stdout
    assert "The record is true" in run("yard", "check").stdout


def test_a_routed_cut_is_undone_and_done_again_and_printed_as_it_was(run: Run, tmp_path: Path) -> None:
    (tag,) = _tags(run)
    run("pull", "--job", "chest")
    run("papers", "chest", "--out", str(tmp_path / "before"))
    before = words(tmp_path / "before" / "chest - router sheets.pdf")
    stood = run("stock", "--json").stdout
    cut = run("cut", tag).stdout
    assert "3 parts" in cut
    run("papers", "chest", "--out", str(tmp_path / "after"))
    assert "Cut already" in words(tmp_path / "after" / "chest - router sheets.pdf")
    run("route", "chest", "--to", str(tmp_path / "drawn"))
    run("undo", "--yes")
    assert run("stock", "--json").stdout == stood
    run("papers", "chest", "--out", str(tmp_path / "undone"))
    assert words(tmp_path / "undone" / "chest - router sheets.pdf") == before
    assert run("cut", tag).stdout == cut
    run("route", "chest", "--to", str(tmp_path / "again"))
    (one,), (two,) = (list((tmp_path / name).iterdir()) for name in ("drawn", "again"))
    assert one.name == two.name and _corners(one) == _corners(two)
    assert "The record is true" in run("yard", "check").stdout


def _tags(run: Run) -> list[str]:
    plan = json.loads(run("plan", "chest", "--json", "--work", "2").stdout)
    return [x["stock"] for x in plan["layouts"]]


def _corners(file: Path) -> list[list[tuple[float, ...]]]:
    space = ezdxf.readfile(file).modelspace()
    return [list(e.get_points("xy")) for e in space.query("LWPOLYLINE")]


def test_drawings_of_a_plan_before_are_told(run: Run, tmp_path: Path) -> None:
    """Those of the same sheets in another form are none; they stay where they are."""
    drawn = tmp_path / "drawn"
    said = run("route", "chest", "--to", str(drawn))
    run("route", "chest", "--to", str(drawn), "--svg")
    assert said.stderr == "" and len(list(drawn.iterdir())) == 2
    old = drawn / "chest - card 2 of 2 K7Q3Z mm.dxf"
    old.write_text("0")
    (drawn / "chests - card 1 of 1 K7Q3Z mm.dxf").write_text("0")
    again = run("route", "chest", "--to", str(drawn))
    assert again.stderr == f"Drawings of another plan of this job lie there too: {old.name}\n"
    assert old.read_text() == "0"


def test_what_is_left_over_is_kept_whole(run: Run, tmp_path: Path) -> None:
    """An L as one piece with its hole as flaws: booked, printed on its label, undone."""
    (tag,) = _tags(run)
    run("pull", "--job", "chest")
    stood = run("stock", "--json").stdout
    run("cut", tag, "--whole", "--no-offcuts", ends=2)
    run("cut", "--job", "chest", "--whole", ends=2)
    said = run("cut", tag, "--whole").stdout
    (line,) = [line for line in said.splitlines() if line.startswith("On the bench")]
    assert "2440 mm × 1220 mm" in line and "flaw" in line
    kept = line.split()[3]
    run("return", kept, "--at", "R1-B2-S3")
    assert "2440 mm × 1220 mm, an L or a frame, 2 flaws" in run("tag", kept).stdout
    (row,) = (line for line in run("find", "600 x 600 birch").stdout.splitlines() if kept in line)
    assert "2440 × 1220" in row and row.endswith("of an L or a frame")
    run("papers", "chest", "--only", "router", "--out", str(tmp_path))
    sheet = words(tmp_path / "chest - router sheets.pdf")
    assert f"kept: {kept} 2440 x 1220 mm, one piece with 2 cut-outs, at R1-B2-S3" in sheet
    assert "put back" not in sheet
    assert "The record is true" in run("yard", "check").stdout
    run("undo", "--yes")
    run("undo", "--yes")
    assert run("stock", "--json").stdout == stood
