"""Fixtures for the tests of the yard."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stockyard.yard.check import check
from tests.yard.shop import Shop, make_shop


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """A small shop; after the test its record must still be true to itself."""
    made = make_shop(tmp_path / "yard.db")
    yield made
    found = check(made.yard)
    made.yard.close()
    assert found == ()
