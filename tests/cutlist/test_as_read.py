"""Lists are read as they were when the record of it was last looked through."""

from __future__ import annotations

from tests.cutlist.as_read import KEPT, record
from tests.kept_records import hold


def test_lists_are_read_as_the_record_says() -> None:
    """After a change of the reader: write the record again and look through what changed in it."""
    hold(record(), KEPT)
