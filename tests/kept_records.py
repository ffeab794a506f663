"""What is written now beside the record of it that somebody has looked through."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import zip_longest
from pathlib import Path


def hold(record: Iterable[str], kept: Path) -> None:
    """Fail at the first line that differs, and name the section (`== title`) it stands in."""
    title = ""
    for now, before in zip_longest(record, kept.read_text(encoding="utf-8").splitlines()):
        title = now if now and now.startswith("== ") else title
        assert now == before, title
