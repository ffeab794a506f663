"""Lists are read as they were when the record of it was last looked through."""

from __future__ import annotations

from itertools import zip_longest

from tests.cutlist.as_read import KEPT, record


def test_lists_are_read_as_the_record_says() -> None:
    """After a change of the reader: write the record again and look through what changed in it."""
    kept = KEPT.read_text(encoding="utf-8").splitlines()
    title = ""
    for now, before in zip_longest(record(), kept):
        title = now if now and now.startswith("== ") else title
        assert now == before, title
