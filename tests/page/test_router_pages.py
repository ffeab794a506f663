"""The router at the pages: said of a material, its drawings and its operator's sheets got from the plan."""

from __future__ import annotations

from io import BytesIO
from zipfile import ZipFile

import pytest

from stockyard.desk import job_list, jobs, planning, pulling, stock
from stockyard.desk.door import Yardkeeper
from stockyard.measure import TICKS_PER_MM as MM
from tests.page.conftest import Browser
from tests.printing.test_outline_check import drawn
from tests.quick_plans import plan_here

SEAT = "birch ply 18 mm\n1 seat 1300 x 700"


def test_a_material_goes_on_the_router_and_its_sheets_are_drawn(
    bench: Browser, keeper: Yardkeeper, job: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "Drawings for the router" not in bench.get(f"/jobs/{job}/plan")
    bench.get(f"/jobs/{job}/drawings.zip", 409)
    bench.get("/books/materials")
    assert "· on the router" in bench.post("/books/materials/change", title="birch ply 18 mm", on="router")
    plan_here(monkeypatch)
    with keeper.open() as y:
        assert [m.method for m in stock.list_materials(y)] == ["router"]
        planning.plan(y, "hall shelf", planning.How(work=2))
    assert "Drawings for the router" in bench.get(f"/jobs/{job}/plan")
    got = bench.client.get(f"/jobs/{job}/drawings.zip")
    assert got.headers["content-type"] == "application/zip"
    names = ZipFile(BytesIO(got.content)).namelist()
    assert names and all(name.endswith(" mm.dxf") for name in names)
    assert bench.client.get(f"/jobs/{job}/papers.pdf?only=router").content.startswith(b"%PDF")
    bench.get(f"/jobs/{job}/papers.pdf?only=cards", 409)
    assert "is cut" in bench.get(f"/jobs/{job}/saw")


def test_what_a_routed_sheet_leaves_over_stays_one_piece(
    bench: Browser, keeper: Yardkeeper, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One L with its corner missing in place of two rectangles; not where parts of the sheet went wrong."""
    plan_here(monkeypatch)
    with keeper.open() as y:
        stock.change_material(y, "birch ply", stock.MaterialFacts(method="router"))
        found = job_list.understand(y, SEAT, job_list.Ways(first="along"))
        number = jobs.add_job(y, "seat", SEAT, found.parts).number
        planning.plan(y, "seat", planning.How(work=2))
        pulling.pull(y, (), "seat")
        (tag,) = (line.tag for line in pulling.bench(y))
    page = bench.get(f"/jobs/{number}/saw")
    assert "stays whole" in page and "2440 × 1220 with 1 hole" in page
    assert "stays whole" not in bench.get(f"/jobs/{number}/saw?wrong=yes")
    sent = {"tag": tag, "one_piece": "yes"}
    assert "only where every part" in bench.post(f"/jobs/{number}/saw/cut", 400, **sent, n0="0")
    assert "2440 × 1220" in bench.post(f"/jobs/{number}/saw/cut", **sent, n0="1")
    with keeper.open() as y:
        (left,) = pulling.bench(y)
    assert (left.length, left.width) == (2440 * MM, 1220 * MM)


@pytest.mark.usefixtures("plans_here")
def test_a_job_is_put_on_the_router_and_a_part_given_its_shape(bench: Browser, job: int) -> None:
    """Part, job and shape by the page of the job; what cannot be is said and changes nothing."""
    said = f"/jobs/{job}/router"
    assert "cut on the router" in bench.post(said, of="sides", machine="router") + bench.get(f"/jobs/{job}")
    bench.post(said, of="", machine="router")
    assert bench.get(f"/jobs/{job}").count("cut on the router") == 2
    shape = {"shape": ("side.dxf", drawn([(0, 0), (720, 0), (720, 400), (300, 400)]), "image/vnd.dxf")}
    bench.post(said, of="sides", files=shape)
    assert bench.get(f"/jobs/{job}").count("its shape is a drawing") == 1
    for wrong in (b"no drawing", drawn([(0, 0), (300, 200), (300, 0), (0, 200)])):
        wrong_shape = {"shape": ("side.dxf", wrong, "")}
        assert "side.dxf: " in bench.post(said, 400, of="sides", files=wrong_shape).lower()
    assert "utline of sides: it is 720 x 400 mm" in bench.post(
        f"/jobs/{job}/change", 400, part0="sides", size0="700 x 400", was_size0="720 x 400"
    )
    assert "which part" in bench.post(said, 400, of="", files=shape)
    assert "say one of them" in bench.post(said, 400, of="sides", files=shape, plain="yes")
    empty = {"shape": ("side.dxf", b"", "image/vnd.dxf")}
    assert "there is nothing in it" in bench.post(said, 400, of="sides", machine="saw", files=empty)
    bench.post(said, 400, of="sides", machine="laser")
    bench.post(said, 400, of="nobody", machine="saw")
    bench.post(said, of="sides", plain="yes")
    assert "its shape is a drawing" not in bench.get(f"/jobs/{job}")
