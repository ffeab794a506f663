"""Labels from the yard: which pieces, what they say, and printed only when the file is there."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest
from typer.testing import CliRunner

from stockyard.cli.main import build
from stockyard.desk.label_data import (
    edge_labels_of,
    part_labels_of,
    part_labels_printed,
    pieces_to_label,
    shop_layout,
)
from stockyard.desk.labels import edge_labels, note_printed
from stockyard.desk.shown import lines
from stockyard.errors import Refused
from stockyard.planning.problem import Grain, Kind
from stockyard.printing.edge_strip import Room, design
from stockyard.printing.marks import Shape, Word
from stockyard.printing.part_labels import Arrow
from stockyard.yard import cutting, jobs, labels, measuring, pieces, pulling
from stockyard.yard.materials import materials
from stockyard.yard.model import Job, JobPart
from stockyard.yard.pieces import Arrival
from stockyard.yard.planned import GivenPart, PlannedPart, StoredPlan
from tests.yard.shop import MM, Shop, cut_off, layout, make_shop, store


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = make_shop(tmp_path / "yard.db")
    yield made
    made.yard.close()


def printed_text(path: Path) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in pypdf.PdfReader(path).pages)


def test_labels_say_what_the_yard_knows(shop: Shop) -> None:
    full, offcut = edge_labels_of(shop.yard, (shop.sheets[0], shop.offcut))
    assert full.full and not offcut.full
    assert (offcut.length, offcut.width) == (1200 * MM, 600 * MM)
    assert offcut.stuff == "birch ply 18 mm"
    # The material's thickness as measured, until the piece has one of its own.
    assert offcut.measured_thickness == 17_700 * MM // 1000
    measured = measuring.remeasure(shop.yard, shop.offcut.tag, 1200 * MM, 600 * MM, 18 * MM)
    assert edge_labels_of(shop.yard, (measured,))[0].measured_thickness == 18 * MM


def test_a_board_is_neither_full_nor_ripped_down(shop: Shop) -> None:
    """Its label shows its size and no mark of either kind."""
    size = {"length": 2400 * MM, "width": 180 * MM}
    (board,) = pieces.shelve(
        shop.yard, [Arrival(material_id=shop.oak.id, kind=Kind.FULL, place="R2", **size)]
    )
    (label,) = edge_labels_of(shop.yard, (board,))
    strip = design(label, Room(60.0, 20.0, 2.0, 2.0), 300)
    assert not label.full and not [m for m in strip.marks if isinstance(m, Shape)]
    words = " ".join(m.text for m in strip.marks if isinstance(m, Word))
    assert "2400" in words and "FULL" not in words
    (line,) = lines(shop.yard, (board,))
    assert line.word == "board"


def test_first_all_that_were_never_printed_then_none(shop: Shop, tmp_path: Path) -> None:
    chosen = pieces_to_label(shop.yard)
    assert [p.tag for p in chosen] == [p.tag for p in (*shop.sheets, shop.offcut)]
    made = edge_labels(shop.yard)
    assert made.remarks == () and made.tags == tuple(p.tag for p in chosen)
    (tmp_path / "labels.pdf").write_bytes(made.pdf)
    text = printed_text(tmp_path / "labels.pdf")
    assert [text.count(p.tag) for p in chosen] == [1] * 5
    assert len(labels.unlabelled(shop.yard)) == 5, "printed only once the person has them"
    assert note_printed(shop.yard, made.tags) == 5
    assert labels.unlabelled(shop.yard) == ()
    with pytest.raises(Refused, match="printed already"):
        pieces_to_label(shop.yard)


def test_one_again_a_place_again_and_only_the_new_ones(shop: Shop) -> None:
    y = shop.yard
    note_printed(y, edge_labels(y).tags)
    (new,) = pieces.shelve(y, [cut_off(shop.ply, 900, 400)])
    assert [p.tag for p in pieces_to_label(y, [shop.offcut.tag])] == [shop.offcut.tag]
    assert len(pieces_to_label(y, at=["R1-B2-S3"])) == 6
    assert [p.tag for p in pieces_to_label(y, at=["R1-B2-S3"], unprinted=True)] == [new.tag]
    assert len(pieces_to_label(y, [new.tag], ["R1-B2-S3"])) == 6, "named twice, printed once"
    with pytest.raises(Refused, match="no piece"):
        pieces_to_label(y, at=["R2"])


def test_a_file_that_cannot_be_written_prints_nothing(shop: Shop, tmp_path: Path) -> None:
    before = len(labels.unlabelled(shop.yard))
    words = ["labels", "--out", str(tmp_path / "no" / "x.pdf"), "--yard", str(shop.yard.path)]
    done = CliRunner().invoke(build(), words)
    assert done.exit_code == 2 and "cannot write" in done.stderr
    assert len(labels.unlabelled(shop.yard)) == before


def test_a_piece_that_is_gone_has_no_edge(shop: Shop) -> None:
    pulling.report_gone(shop.yard, shop.offcut.tag, "damaged")
    with pytest.raises(Refused, match=f"piece {shop.offcut.tag} is gone"):
        pieces_to_label(shop.yard, [shop.offcut.tag])


def planned(shop: Shop) -> tuple[Job, StoredPlan]:
    """A job of two sides and a back that may be turned, from the offcut and one sheet."""
    side = JobPart(
        name="side", count=2, length=700 * MM, width=500 * MM, bands=("L1",), finished_length=701 * MM
    )
    back = JobPart(name="back", count=1, length=600 * MM, width=300 * MM, grain=Grain.ANY)
    job = jobs.add_job(shop.yard, "kitchen", "2 sides, 1 back", [side, back])
    back_turned = PlannedPart(name="back", length=600 * MM, width=300 * MM, turned=True)
    stored = [layout(n, piece, parts=1) for n, piece in enumerate((shop.offcut, shop.sheets[0]), 1)]
    stored[1] = replace(stored[1], placed=(*stored[1].placed, back_turned))
    return job, store(shop.yard, job.id, stored)


def test_part_labels_of_a_plan(shop: Shop, tmp_path: Path) -> None:
    job, plan = planned(shop)
    one, two, back = part_labels_of(shop.yard, job, plan)
    assert (one.part, one.k, one.n, one.piece, one.bands) == ("side", 1, 2, shop.offcut.tag, ("L1",))
    assert (two.k, two.piece) == (2, shop.sheets[0].tag)
    assert (one.length, one.width) == (701 * MM, 500 * MM), "the finished size"
    assert (one.grain, back.grain) == (Arrow.ALONG, Arrow.ACROSS), "the back lies turned on its sheet"
    pdf, many = part_labels_printed(shop.yard, job, shop_layout(shop.yard))
    (tmp_path / "parts.pdf").write_bytes(pdf)
    assert many == 3
    assert f"1 of 2, from {shop.offcut.tag}" in printed_text(tmp_path / "parts.pdf")


def test_a_part_label_has_its_own_finished_width_and_the_size_off_the_saw(shop: Shop) -> None:
    """A door banded on both long edges: 596 wide as sawn, 598 with its bands."""
    door = JobPart(name="door", count=1, length=700 * MM, width=396 * MM, finished_width=398 * MM)
    plain = JobPart(name="plain", count=1, length=300 * MM, width=200 * MM, finished_length=300 * MM)
    job = jobs.add_job(shop.yard, "pantry", "doors", [door, plain])
    placed = tuple(
        PlannedPart(name=part.name, length=part.length, width=part.width) for part in (door, plain)
    )
    stored = replace(layout(1, shop.sheets[0], parts=0), placed=placed)
    plan = store(shop.yard, job.id, [stored])
    one, other = part_labels_of(shop.yard, job, plan)
    assert (one.length, one.width, one.cut) == (700 * MM, 398 * MM, (700 * MM, 396 * MM))
    assert (other.length, other.width, other.cut) == (300 * MM, 200 * MM, None)
    material = next(m for m in materials(shop.yard) if m.id == shop.sheets[0].material_id)
    assert one.stuff == material.title


def test_part_labels_after_a_cut_count_on(shop: Shop) -> None:
    job, plan = planned(shop)
    pulling.pull(shop.yard, [shop.offcut.tag], job.id)
    side = GivenPart(name="side", length=700 * MM, width=500 * MM)
    cutting.confirm_cut(shop.yard, shop.offcut.tag, parts=[side], offcuts=[])
    left = part_labels_of(shop.yard, job, plan)
    assert [(label.part, label.k) for label in left] == [("side", 2), ("back", 1)]


def test_no_plan_no_part_labels(shop: Shop) -> None:
    job = jobs.add_job(shop.yard, "bench", "1 top", [JobPart(name="top", count=1, length=MM, width=MM)])
    with pytest.raises(Refused, match="no plan that holds"):
        part_labels_printed(shop.yard, job, shop_layout(shop.yard))


def test_a_plan_that_gives_no_part_says_so(shop: Shop) -> None:
    """No machine of the shop can make it, say: nothing of it is cut."""
    job = jobs.add_job(shop.yard, "bench", "1 top", [JobPart(name="top", count=1, length=MM, width=MM)])
    store(shop.yard, job.id, [])
    with pytest.raises(Refused, match="the plan of job bench gives no part"):
        part_labels_printed(shop.yard, job, shop_layout(shop.yard))


def test_the_commands(shop: Shop, tmp_path: Path) -> None:
    yard = ["--yard", str(tmp_path / "yard.db")]
    out = tmp_path / "out.pdf"

    def run(*words: str) -> tuple[int, str]:
        done = CliRunner().invoke(build(), [*words, *yard])
        return done.exit_code, done.output

    assert run("labels", "--out", str(out)) == (0, f"{out}: 5 edge labels on a4-21. Print at 100 %.\n")
    assert run("labels", "--unprinted")[0] == 1
    assert run("labels", shop.offcut.tag.lower(), "--layout", "tape", "--out", str(out))[0] == 0
    assert run("labels", shop.offcut.tag, "--layout", "a9", "--out", str(out))[0] == 2
    assert run("labels", shop.offcut.tag, "--start", "22", "--out", str(out))[0] == 2
    code, listed = run("label-layouts", "--json")
    assert code == 0 and {
        "name": "a4-21",
        "labels": "3 × 7 labels of 63.50 × 38.10 mm",
        "used": True,
    } in json.loads(listed)
    assert run("calibrate", "--layout", "roll-62", "--out", str(out))[0] == 0
    assert run("part-labels", "kitchen")[0] == 2
    planned(shop)
    assert run("part-labels", "kitchen", "--out", str(out)) == (
        0, f"{out}: 3 part labels on a4-21. Print at 100 %.\n",
    )  # fmt: skip
