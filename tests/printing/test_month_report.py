"""The month's page holds every figure, whatever the figures are."""

from __future__ import annotations

import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.printing.month_report import Line, MonthBars, MonthReport, draw_month, nice_top
from stockyard.printing.page import SIZES

figure = st.floats(0, 5000, allow_nan=False)


def report(count: int = 12) -> MonthReport:
    months = tuple(
        MonthBars(
            month=f"2031-{n:02}", bought=5 + n % 4 * 3, used=4 + n % 5, scrapped=1 + n % 2, racks=6 + n % 7
        )
        for n in range(1, count + 1)
    )
    lines = (Line("bought", "8.00 m²", "€ 412.00"), Line("used in parts", "6.20 m²", "€ 318.40"))
    return MonthReport(
        title="Lantern Lane Joinery · December 2031", area_unit="m²", lines=lines, months=months
    )


def words(pdf: bytes) -> str:
    import pdfplumber

    with pdfplumber.open(io.BytesIO(pdf)) as opened:
        assert len(opened.pages) == 1
        return opened.pages[0].extract_text()


@pytest.mark.parametrize("size", SIZES.values())
def test_every_figure_is_on_the_page(size: tuple[float, float]) -> None:
    text = words(draw_month(report(), size))
    for word in ("Lantern Lane Joinery", "412.00", "2031-12", "on the racks", "scrapped"):
        assert word in text


def test_more_than_a_year_shows_the_last_twelve_months() -> None:
    longer = report(12)
    early = MonthBars(month="2030-12", bought=1, used=1, scrapped=1, racks=1)
    text = words(draw_month(
        MonthReport(title="t", area_unit="m²", lines=(), months=(early, *longer.months)), SIZES["a4"]
    ))  # fmt: skip
    assert "2030-12" not in text
    assert "2031-01" in text


def test_a_shop_without_a_past_has_a_page_too() -> None:
    assert "t" in words(
        draw_month(MonthReport(title="t", area_unit="sq ft", lines=(), months=()), SIZES["letter"])
    )


@given(figure)
def test_the_scale_is_round_and_holds_the_largest(most: float) -> None:
    top = nice_top(most)
    assert top >= most * (1 - 1e-9)
    assert top <= max(1, 2.5 * most)


@settings(max_examples=15)
@given(st.lists(st.tuples(figure, figure, figure, figure), max_size=12))
def test_any_figures_make_one_page(rows: list[tuple[float, float, float, float]]) -> None:
    months = tuple(
        MonthBars(month=f"2031-{n:02}", bought=a, used=b, scrapped=c, racks=d)
        for n, (a, b, c, d) in enumerate(rows, 1)
    )
    words(draw_month(MonthReport(title="t", area_unit="m²", lines=(), months=months), SIZES["letter"]))
