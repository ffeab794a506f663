"""Flaws at the pages: noted beside the size, said and drawn where a piece is drawn."""

from __future__ import annotations

import re

from stockyard.desk import pulling, racks
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
