"""The table "to change X, open Y" in DEVELOPERS.md names files that are there."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parent.parent


def rows() -> list[tuple[str, list[str]]]:
    """Return each change of the table and the paths it names."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = text.partition("### To change X, open Y")[2].partition("\n## ")[0]
    cells = [line.strip("|").split("|") for line in table.splitlines() if line.startswith("| ")][1:]
    return [(what.strip(), re.findall(r"`([^`]+)`", where)) for what, where in cells]


def test_the_map_names_every_change_and_files_that_are_there() -> None:
    found = rows()
    assert len({what for what, _ in found}) == 30
    missing = [
        (what, path)
        for what, paths in found
        for path in paths
        if not ((ROOT / "stockyard" / path).exists() or (path == "db/" and (ROOT / path).is_dir()))
    ]
    assert not missing
    assert all(paths for _, paths in found)
