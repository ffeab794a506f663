"""The router at the pages: said of a material, its drawings and its operator's sheets got from the plan."""

from __future__ import annotations

from io import BytesIO
from zipfile import ZipFile

import pytest

from stockyard.desk import planning, stock
from stockyard.desk.door import Yardkeeper
from tests.page.conftest import Browser
from tests.quick_plans import plan_here


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
