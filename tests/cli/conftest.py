"""Fixtures for the tests of commands."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.cli.typed import Run, typist


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A yard with a material, a price and two places, made once."""
    path = tmp_path_factory.mktemp("made") / "yard.db"
    run = typist(path)
    run("yard", "new")
    run("material", "add", "birch ply", "18 mm", "--measured", "17.7", "--density", "680")
    run("price", "add", "birch 18", "2440 x 1220", "58.50", "--from", "Mill")
    run("place", "add", "R1-B2-S3")
    run("place", "add", "R2", "--stores", "brackets", "--supports", "4", "--rated-load", "300")
    return path


@pytest.fixture
def run(made: Path, tmp_path: Path) -> Run:
    """Type a command at a yard with a material, a price and two places; say how it shall end."""
    shutil.copy(made, tmp_path / "yard.db")
    return typist(tmp_path / "yard.db")
