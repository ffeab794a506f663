"""Bands of a stored job: kept with the part, both sizes on label and card, and band to be had."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from stockyard.desk.job_list import Ways, understand
from stockyard.desk.label_data import part_labels_of
from stockyard.desk.papers import papers_of
from stockyard.printing.cut_cards import cards_pdf
from stockyard.printing.papers import BandLine
from stockyard.printing.pull_list import pull_list_pdf
from stockyard.printing.pull_text import pull_text
from stockyard.yard import jobs
from stockyard.yard.model import Job
from stockyard.yard.planned import PlannedPart
from stockyard.yard.plans import standing_plan
from tests.yard.shop import MM, Shop, layout, make_shop, store


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = make_shop(tmp_path / "yard.db")
    yield made
    made.yard.close()


def words(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(pdf)).pages)


def banded_job(shop: Shop) -> Job:
    """Two doors of 716 x 396 finished, 1 mm oak all round, on one sheet of birch ply measured 17.7 mm."""
    text = "18 mm birch ply\n2 door 716 x 396 banded all round with 1 mm oak"
    found = understand(shop.yard, text, Ways(first="along", finished=True))
    assert not found.questions
    job = jobs.add_job(shop.yard, "cupboard", text, found.parts)
    placed = tuple(
        PlannedPart(name="door", length=714 * MM, width=394 * MM, x=n * 717 * MM, y=0) for n in range(2)
    )
    store(shop.yard, job.id, [replace(layout(1, shop.sheets[0], parts=0), placed=placed)])
    return job


def test_a_band_is_kept_with_its_part(shop: Shop) -> None:
    (door,) = jobs.job(shop.yard, banded_job(shop).name).parts
    assert (door.bands, door.band_material, door.band_thickness) == (("L1", "L2", "W1", "W2"), "oak", MM)
    assert (door.length, door.finished_length) == (714 * MM, 716 * MM)


def test_label_and_card_show_both_sizes_and_the_band(shop: Shop) -> None:
    job = banded_job(shop)
    plan = standing_plan(shop.yard, job.id)
    assert plan is not None
    label = part_labels_of(shop.yard, job, plan)[0]
    assert (label.length, label.width, label.cut) == (716 * MM, 396 * MM, (714 * MM, 394 * MM))
    assert label.band == "band oak 1 mm" and label.bands == ("L1", "L2", "W1", "W2")
    text = words(cards_pdf(papers_of(shop.yard, job).cards))
    assert "door: cut 714 × 394, finished 716 × 396; band oak 1 mm on both along its length" in text


def test_the_band_a_job_takes_stands_on_its_pull_list(shop: Shop) -> None:
    """By hand: each door 2 x (716 + 50) + 2 x (396 + 50) = 2424 mm, two of them 4848; 17.7 + 3 mm wide."""
    walk = papers_of(shop.yard, banded_job(shop)).pull_list
    assert walk.bands == (BandLine(what="band oak 1 mm", length=4848 * MM, width=20_700 * MM // 1000),)
    says = "4.9 m of band oak 1 mm, 20.7 mm wide or more"
    assert says in words(pull_list_pdf(walk)) and says in pull_text(walk)
