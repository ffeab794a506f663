"""No letter on a page of the shop is lower than 2.5 mm: read from the PDFs, not from what drew them.

2.5 mm, of capitals and figures: at 300 times their height (ANSI Z535.2, as quoted), 0.75 m. Labels are made
to the size of the edge they stick to and have a test of their own.
"""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO

import pdfplumber
import pytest

from stockyard.measure import Unit
from stockyard.printing.drawing_file import DrawingRules
from stockyard.printing.month_report import draw_month
from stockyard.printing.one_job import job_pdf
from stockyard.printing.page import SIZES
from stockyard.printing.pull_list import pull_list_pdf
from stockyard.printing.router_sheet import router_sheets_pdf
from tests.printing.samples import random_papers, random_pull_list
from tests.printing.test_month_report import report
from tests.printing.test_routed_drawing import random_sheet

CAPITALS = 1493 / 2048
"""Capitals of both typefaces over their size, read from their outlines."""


def heights(data: bytes) -> Iterator[tuple[str, float]]:
    """Yield each letter with the height of its capitals in mm, also where it is turned."""
    with pdfplumber.open(BytesIO(data)) as document:
        for page in document.pages:
            for letter in page.chars:
                points = letter["size"] if letter["upright"] else letter["width"]
                points = max(points, abs(letter["matrix"][0]), abs(letter["matrix"][1]))
                yield letter["text"], points * CAPITALS * 25.4 / 72


def check(data: bytes) -> None:
    found = list(heights(data))
    assert len(found) > 50
    assert [(text, height) for text, height in found if height < 2.5] == []


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("seed", range(6))
def test_the_papers_of_a_job(size: str, seed: int) -> None:
    check(job_pdf(random_papers(seed), size))


@pytest.mark.parametrize("size", SIZES)
def test_a_long_pull_list(size: str) -> None:
    check(pull_list_pdf(random_pull_list(5, 30), size))


@pytest.mark.parametrize("size", SIZES)
def test_router_sheets(size: str) -> None:
    check(
        router_sheets_pdf(
            [random_sheet(seed) for seed in range(4)], DrawingRules(unit=Unit.MM), Unit.MM, size
        )
    )


@pytest.mark.parametrize("size", SIZES)
def test_the_month_report(size: str) -> None:
    check(draw_month(report(), SIZES[size]))
