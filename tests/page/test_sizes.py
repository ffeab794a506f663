"""Parts that are banded or milled after the saw: the finished and the cut size stand on the pages."""

from __future__ import annotations

from html import unescape

import pytest

from stockyard.desk import job_list, jobs, planning, pulling, racks, stock
from stockyard.desk.at_the_saw import saw_steps
from stockyard.desk.door import Yardkeeper
from stockyard.kinds import Form
from tests.page.conftest import Browser

pytestmark = pytest.mark.usefixtures("plans_here")

LIST = (
    "Finished sizes\n18 mm birch ply\n2 doors 716 x 396 banded all round with 1 mm oak\n"
    "1 back 700 x 300\noak 4/4\n1 leg 700 x 60"
)
# By hand: 716 less twice 1; 700 and the handbooks' 12, 60 and their 6, 26 less twice 2.5.
DOOR = "finished 716 × 396, band oak 1 mm on both along its length and both along its width"
LEG = "trim to 700 × 60, plane to 21 mm"


def test_both_sizes_are_in_the_list_the_job_and_at_the_saw(bench: Browser, keeper: Yardkeeper) -> None:
    with keeper.open() as y:
        stock.add_material(y, "oak", "4/4", Form.BOARD, stock.MaterialFacts(measured="26", rough="usual"))
        racks.shelve(y, racks.ToShelve(material="oak", place="R2", size="2400 x 150"))
    read = unescape(bench.post("/lists/read", text=LIST, first="along"))
    assert f"2 × doors</strong>, 714 × 394 ({DOOR})" in read
    assert f"1 × leg</strong>, 712 × 66 ({LEG})" in read
    assert "1 × back</strong>, 700 × 300, 18 mm" in read
    with keeper.open() as y:
        found = job_list.understand(y, LIST, job_list.Ways(first="along"))
        number = jobs.add_job(y, "doors", LIST, found.parts).number
        planning.plan(y, "doors", planning.How(work=1))
        pulling.pull(y, (), "doors")
        steps = saw_steps(y, "doors")
    job = unescape(bench.get(f"/jobs/{number}"))
    assert f"714 × 394<br><small>{DOOR}</small>" in job
    assert f"712 × 66<br><small>{LEG}</small>" in job and "700 × 300</td>" in job
    freed = [s for s in steps if s.row and "leg" in f"{s.row.keeps} {s.row.rest}"]
    for step in steps:
        page = unescape(bench.get(f"/jobs/{number}/saw?at={step.key}"))
        assert (f"leg: rough 712 × 66, {LEG}." in page) == (step in freed or _ends(step.card.parts, step.row))
    assert freed and any("doors: cut 714 × 394, " + DOOR.replace(", b", "; b") in unescape(
        bench.get(f"/jobs/{number}/saw?at={s.key}")) for s in steps)  # fmt: skip


def _ends(parts: tuple[object, ...], row: object) -> bool:
    """Whether a piece with the leg has had its last cut."""
    return row is None and any(getattr(p, "line", "") == "leg" for p in parts)
