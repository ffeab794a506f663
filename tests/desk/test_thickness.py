"""Pieces that are not as thick as their name: asked about, shown where they are fetched, warned of."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from stockyard.cli.main import build
from stockyard.desk import racks
from stockyard.desk.papers import papers_of
from stockyard.errors import Refused
from stockyard.printing.pull_text import pull_text
from stockyard.yard import jobs, measuring, pieces
from stockyard.yard.model import JobPart
from tests.yard.shop import MM, Shop, layout, make_shop, store


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = make_shop(tmp_path / "yard.db")
    yield made
    made.yard.close()


def to_shelve(thickness: str, *, sure: bool = False) -> racks.ToShelve:
    return racks.ToShelve(
        material="birch ply", place="R1-B2-S3", size="2440 x 1220", thickness=thickness, sure=sure
    )


def test_a_thickness_beyond_the_tolerance_is_asked_about_and_nothing_is_stored(shop: Shop) -> None:
    """EN 315: 18 mm plywood measures 17.06 to 18.74 mm."""
    before = len(pieces.on_hand(shop.yard))
    with pytest.raises(Refused, match=r"12 mm is not birch ply 18 mm, which is 17.1 mm to 18.7 mm by EN 315"):
        racks.shelve(shop.yard, to_shelve("12 mm"))
    with pytest.raises(Refused, match="EN 315"):
        racks.measure(shop.yard, shop.offcut.tag, "1200 x 600", "12 mm")
    assert len(pieces.on_hand(shop.yard)) == before
    assert pieces.by_tag(shop.yard, shop.offcut.tag).thickness is None
    racks.shelve(shop.yard, to_shelve("17.4 mm"))
    racks.shelve(shop.yard, to_shelve("12 mm", sure=True))
    assert len(pieces.on_hand(shop.yard)) == before + 2


def test_the_command_says_what_to_do(shop: Shop) -> None:
    file = str(shop.yard.path)
    size = ["shelve", "birch ply", "--size", "2440 x 1220", "--at", "R1-B1", "--thickness", "12"]
    asked = CliRunner().invoke(build(), [*size, "--yard", file])
    assert asked.exit_code == 1 and "--sure" in asked.output
    assert CliRunner().invoke(build(), [*size, "--sure", "--yard", file]).exit_code == 0


def planned_on(shop: Shop, *thick: float) -> str:
    """Plan two sides on as many sheets as there are thicknesses, each measured so; return the pull list."""
    job = jobs.add_job(
        shop.yard, "case", "sides", [JobPart(name="side", count=2, length=700 * MM, width=500 * MM)]
    )
    for sheet, mm in zip(shop.sheets, thick, strict=False):
        measuring.remeasure(shop.yard, sheet.tag, sheet.length, sheet.width, round(mm * MM))
    used = [replace(layout(n + 1, shop.sheets[n], parts=1)) for n in range(len(thick))]
    store(shop.yard, job.id, used)
    return pull_text(papers_of(shop.yard, job).pull_list)


def test_the_pull_list_says_what_a_piece_measures(shop: Shop) -> None:
    assert "17.4 mm thick" in planned_on(shop, 17.4)


def test_a_piece_that_can_not_be_its_material_is_marked(shop: Shop) -> None:
    assert "measures 12 mm: another material?" in planned_on(shop, 12)


def test_a_mixed_job_is_warned_of(shop: Shop) -> None:
    assert "side from 16.8 and 17.7 mm stock" in planned_on(shop, 16.8, 17.7)


def test_pieces_as_good_as_alike_are_no_news(shop: Shop) -> None:
    assert "stock: joints" not in planned_on(shop, 17.5, 17.7)
