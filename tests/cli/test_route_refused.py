"""What the router can not have, typed: one line that says where, nothing half-written, nothing lost."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from typer.testing import CliRunner, Result

from stockyard import yard
from stockyard.cli.main import build
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.yard import jobs
from stockyard.yard.model import JobPart
from tests.cli.test_route import PLAN, PROBLEM
from tests.cli.typed import Run
from tests.quick_plans import plan_here


def typed(*words: str | Path) -> Result:
    return CliRunner().invoke(build(), [str(w) for w in words])


def one_line(result: Result, *wanted: str, ends: int = 2) -> None:
    """Look that a command ended so, with one line on standard error and nothing on standard output."""
    assert result.exit_code == ends, (result.output, result.exception)
    assert result.stdout == "" and result.stderr.startswith("stockyard: ")
    assert result.stderr.count("\n") == 1
    assert all(word in result.stderr for word in wanted), result.stderr


def written(folder: Path, problem: dict[str, Any]) -> Path:
    (folder / "problem.json").write_text(json.dumps(problem))
    (folder / "plan.json").write_text(json.dumps(PLAN))
    return folder / "problem.json"


@pytest.fixture
def chest(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """A yard whose ply goes on the router, with one sheet of it and a job that is not planned."""
    plan_here(monkeypatch)
    with yard.open(tmp_path / "yard.db") as y:
        jobs.add_job(y, "chest", "", [JobPart(name="side", count=2, length=700 * MM, width=500 * MM)])
    run("shelve", "birch ply 18", "--size", "2440 x 1220", "--at", "R1-B2-S3")
    run("material", "change", "birch ply 18", "--on", "router")
    return run


def test_a_bit_wider_than_the_part(chest: Run, tmp_path: Path) -> None:
    one_line(typed("solve", written(tmp_path, PROBLEM | {"kerf": 401})), "kerf", "401 mm", "panel")
    with yard.open(tmp_path / "yard.db") as y:
        jobs.add_job(y, "lath", "", [JobPart(name="strip", count=1, length=700 * MM, width=45 * MM)])
    chest("yard", "settings", "bit=40", "bit_margin=5.1")
    before = chest("ledger").stdout
    one_line(chest("plan", "lath", ends=2), "strip", "narrower than the router's bit", "45.1 mm")
    assert chest("ledger").stdout == before


def test_clamps_that_cover_the_sheet(chest: Run, tmp_path: Path) -> None:
    """The plan says what is in the way, promises nothing and buys nothing; a file's plan says it too."""
    covered = [PROBLEM["stock"][0] | {"flaws": [{"x": 0, "y": 0, "dx": 1006, "dy": 1006}]}]  # type: ignore[index]
    done = typed("solve", written(tmp_path, PROBLEM | {"stock": covered}), "--work", "1")
    assert done.exit_code == 3 and json.loads(done.stdout)["layouts"] == []
    assert "clear of clamps and flaws" in json.loads(done.stdout)["unplaced"][0]["reason"]
    chest("yard", "settings", "clamps=2440 x 1220 at 0, 0")
    said = typed("plan", "chest", "--work", "2", "--yard", tmp_path / "yard.db")
    assert said.exit_code == 3
    assert said.stdout.endswith("no piece of birch ply 18 mm is large enough clear of clamps and flaws.\n")
    assert said.stderr == "" and "promised" not in chest("stock").stdout
    chest("yard", "settings", "clamps=2440 x 1220", ends=2)
    chest("yard", "settings", "clamps=none wide at 0, 0", ends=2)


@pytest.mark.parametrize("layers", ["parts=a/b", "parts=x, tabs=X", "parts=", "holes=x"])
def test_a_layer_name_that_the_format_forbids(chest: Run, tmp_path: Path, layers: str) -> None:
    """At the settings it is not taken; at the drawing nothing is drawn, nor is the folder made."""
    before = chest("yard", "settings", "layers").stdout
    assert "layer" in chest("yard", "settings", f"layers={layers}", ends=2).stderr
    assert chest("yard", "settings", "layers").stdout == before
    written(tmp_path, PROBLEM)
    words = [w for one in layers.split(", ") for w in ("--layer", one)]
    drawn = tmp_path / "drawn"
    one_line(
        typed("route", tmp_path / "problem.json", tmp_path / "plan.json", "--to", drawn, *words), "layer"
    )
    assert not drawn.exists()


def test_a_name_for_new_machines_is_refused_for_the_oldest(chest: Run, tmp_path: Path) -> None:
    """R12 takes letters, figures, $, _ and - (the format's reference)."""
    chest("yard", "settings", "layers=parts=outside cut")
    assert "R12" in chest("yard", "settings", "drawing_form=R12", ends=2).stderr
    written(tmp_path, PROBLEM)
    files = [tmp_path / "problem.json", tmp_path / "plan.json", "--to", tmp_path / "drawn"]
    one_line(typed("route", *files, "--r12", "--layer", "parts=outside cut"), "outside cut", "R12")
    assert not (tmp_path / "drawn").exists()


def test_a_usual_name_that_the_oldest_can_not_hold_may_be_called_otherwise_once(
    chest: Run, tmp_path: Path
) -> None:
    chest("yard", "settings", "layers=parts=outside cut, labels=words")
    chest("plan", "chest", "--work", "2")
    to = ("--to", str(tmp_path / "drawn"))
    assert "'outside cut'" in chest("route", "chest", *to, "--r12", ends=2).stderr
    chest("route", "chest", *to, "--r12", "--layer", "parts=outside")
    (drawn,) = (tmp_path / "drawn").iterdir()
    layers = {layer.dxf.name for layer in ezdxf.readfile(drawn).layers}
    assert {"outside", "words", "TABS"} <= layers and "PARTS" not in layers


def test_a_folder_that_can_not_be_written(tmp_path: Path) -> None:
    """A file where the folder should be; one that holds something else under the second sheet's name."""
    problem = written(tmp_path, PROBLEM)
    (tmp_path / "plan.json").write_text(json.dumps(PLAN | {"layouts": PLAN["layouts"] * 2}))  # type: ignore[operator]
    files = ["route", problem, tmp_path / "plan.json", "--to"]
    one_line(typed(*files, tmp_path / "plan.json" / "in it"), "cannot use the folder")
    into = tmp_path / "drawn"
    (into / "sheet 2 S mm.dxf").mkdir(parents=True)
    one_line(typed(*files, into), "sheet 2 S mm.dxf")
    assert [p.name for p in into.iterdir()] == ["sheet 2 S mm.dxf"]


def drawing(folder: Path, shape: str) -> Path:
    doc = ezdxf.new("R2000")
    doc.units = 4
    space = doc.modelspace()
    space.add_lwpolyline([(0, 0), (700, 0), (700, 500), (0, 500)], close=shape != "open")
    if shape == "spline":
        space.add_spline([(10, 10), (20, 30), (40, 10)])
    elif shape == "arc":
        space.add_arc((100, 100), 20, 0, 270)
    elif shape == "block":
        doc.blocks.new("hinge")
        space.add_blockref("hinge", (0, 0))
    doc.saveas(folder / "side.dxf")
    if shape == "cut short":
        whole = (folder / "side.dxf").read_bytes()
        (folder / "side.dxf").write_bytes(whole[: len(whole) // 2])
    elif shape == "text":
        (folder / "side.dxf").write_text("a side, 700 x 500")
    elif shape == "bytes":
        (folder / "side.dxf").write_bytes(bytes(range(256)) * 40)
    elif shape == "nothing":
        (folder / "side.dxf").write_bytes(b"")
    return folder / "side.dxf"


@pytest.mark.parametrize(
    ("shape", "wanted"),
    [
        ("spline", "SPLINE (handle"), ("arc", "ARC (handle"), ("block", "INSERT (handle"),
        ("open", "LWPOLYLINE (handle"), ("cut short", "not a drawing"), ("text", "not a drawing"),
        ("bytes", "not a drawing"), ("nothing", "nothing in it"),
    ],
)  # fmt: skip
def test_an_outline_that_can_not_be_read(chest: Run, tmp_path: Path, shape: str, wanted: str) -> None:
    """Of a job's part and of a file's: named by its entity where there is one; the job keeps what it had."""
    before = chest("ledger").stdout
    said = chest("change", "chest", "--outline", f"side={drawing(tmp_path, shape)}", ends=2)
    assert wanted in said.stderr and said.stderr.count("\n") == 1
    assert chest("ledger").stdout == before
    written(tmp_path, PROBLEM)
    files = [tmp_path / "problem.json", tmp_path / "plan.json", "--to", tmp_path / "drawn"]
    one_line(typed("route", *files, "--outline", f"panel={tmp_path / 'side.dxf'}"), wanted)
    assert not (tmp_path / "drawn").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="the system has no such limit")
def test_a_disk_that_fills_up(tmp_path: Path) -> None:
    """The second sheet finds no room (the system lets no file grow beyond the first's): neither is left."""
    import resource
    import signal

    problem = written(tmp_path, PROBLEM)
    many = {"unit": "mm"} | PLAN | {"layouts": [PLAN["layouts"][0] | {"parts": []}, *PLAN["layouts"]]}  # type: ignore[index]
    (tmp_path / "plan.json").write_text(json.dumps(many))
    files = ["route", problem, tmp_path / "plan.json", "--to"]
    assert typed(*files, tmp_path / "first").exit_code == 0
    small, large = sorted(p.stat().st_size for p in (tmp_path / "first").iterdir())
    before, old = signal.signal(signal.SIGXFSZ, signal.SIG_IGN), resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, ((small + large) // 2, old[1]))
    try:
        done = typed(*files, tmp_path / "full")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, old)
        signal.signal(signal.SIGXFSZ, before)
    one_line(done, "cannot write", "sheet 2 S mm.dxf")
    assert list((tmp_path / "full").iterdir()) == []
