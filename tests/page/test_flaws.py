"""Flaws at the pages: noted beside the size, said and drawn where a piece is drawn."""

from __future__ import annotations

import re

from stockyard.desk import pulling, racks, shop
from stockyard.desk.door import Yardkeeper
from tests.page.conftest import Browser


def test_a_flaw_is_noted_said_and_drawn_at_its_place(bench: Browser, keeper: Yardkeeper) -> None:
    with keeper.open() as y:
        tag = racks.find(y, "1180 x 610").fits[0].piece.tag
    bench.post(f"/piece/{tag}/measure", size="1180 x 610", flaw="80 x 120 at 0, 0")
    assert "80 x 120 at 0, 0" in bench.get(f"/piece/{tag}")
    page = bench.get("/racks/place?code=SLOTS")
    drawn = [
        tuple(map(float, m)) for m in re.findall(r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)"', page)
    ]
    scale = 240 / 1180
    assert any(abs(x) < 1 and abs(y - 490 * scale) < 1 and abs(w - 80 * scale) < 1 for x, y, w in drawn)
    bench.post(f"/piece/{tag}/measure", size="1180 x 610", noflaw="yes")
    assert "80 x 120 at 0, 0, from" not in bench.get(f"/piece/{tag}")
    bench.post(f"/piece/{tag}/measure", 400, size="1180 x 610", flaw="9 x 9 at 1175, 0")


def test_a_flaw_is_drawn_on_the_piece_in_hand_at_the_saw(
    bench: Browser, keeper: Yardkeeper, job: int
) -> None:
    with keeper.open() as y:
        pulling.pull(y, (), str(job))
        tag = pulling.uncut(y, str(job))[0]
        p = racks.lines_of(y, [tag])[0]
        far = f"{p.length // 3200 - 12} mm x {p.width // 3200 - 12} mm"
        racks.measure(y, tag, None, flaws=[f"10 mm x 10 mm at {far}"])
    page = bench.get(f"/jobs/{job}/saw")
    assert page.count("<path d=") >= 1


def test_a_piece_comes_on_a_rack_with_its_flaws_and_shows_what_is_clear(
    bench: Browser, keeper: Yardkeeper
) -> None:
    bench.post(
        "/racks/shelve", material="birch ply", kind="offcut", size="1000 x 400", count="1", place="R2",
        flaw="100 x 400 at 600, 0; 20 x 20 at 0, 0",
    )  # fmt: skip
    with keeper.open() as y:
        (piece,) = racks.at_place(y, "R2")
        assert [(f.x // 3200, f.length // 3200) for f in piece.flaws] == [(600, 100), (0, 20)]
    page = bench.page
    assert "The biggest clear piece left: <strong>580 x 400 at 20, 0</strong>" in page.replace("×", "x")
    scale = 240 / 1000
    drawn = [
        tuple(map(float, m)) for m in re.findall(r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)"', page)
    ]
    assert any(abs(x - 20 * scale) < 1 and abs(w - 580 * scale) < 1 for x, _, w in drawn), "what is clear"
    assert any(abs(x - 600 * scale) < 1 and abs(w - 100 * scale) < 1 for x, _, w in drawn), "a flaw"
    bench.post(f"/piece/{piece.tag}/clear")
    with keeper.open() as y:
        sizes = {(p.length // 3200, p.width // 3200) for p in pulling.bench(y)}
        assert (580, 400) in sizes and not shop.check(y)[0].differences
    bench.post(f"/piece/{piece.tag}/clear", 409)
