"""Rows of a pull list and part labels are drawn as they were when the record of it was last looked at."""

from __future__ import annotations

from tests.kept_records import hold
from tests.printing.as_drawn import KEPT, record


def test_papers_are_drawn_as_the_record_says() -> None:
    """After a change of the papers: write the record again, and look at the page and at what changed."""
    hold(record(), KEPT)
