"""Every list as JSON: figures are the shop's, and the unit of each is named beside it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.cli.typed import Run, plan_on, tags_of

NAMED = {
    "unit": {"length", "width", "thickness", "height", "finished_length", "finished_width"},
    "currency": {"cost", "price", "money"},
    "weight_unit": {"weight", "rated_load", "known_weight"},
    "area_unit": {"area"},
}
LISTS = (
    ("find", "birch"), ("tag", "{tag}"), ("bench",), ("material", "list"), ("price", "list"),
    ("price", "list", "--log"), ("place", "list"), ("jobs", "list"), ("jobs", "show", "kitchen"),
    ("pull-list", "kitchen"), ("ledger",), ("paste", "{list}", "--look", "--first", "along"),
    ("count", "R2"), ("cost", "kitchen"), ("yard", "settings"),
)  # fmt: skip


def dicts(value: Any) -> Iterator[dict[str, Any]]:
    if isinstance(value, dict):
        yield value
    for inside in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        yield from dicts(inside)


@pytest.mark.parametrize("words", LISTS, ids=" ".join)
def test_a_figure_has_its_unit_beside_it(run: Run, tmp_path: Path, words: tuple[str, ...]) -> None:
    sheet, other = tags_of(run("shelve", "birch 18", "--count", "2", "--at", "R2"))
    plan_on(tmp_path / "yard.db", sheet)
    run("pull", sheet)
    written = tmp_path / "list.txt"
    written.write_text("birch ply 18 mm\n2 sides 720 x 560\n")
    filled = [word.format(tag=other, list=written) for word in words]
    for found in dicts(json.loads(run(*filled, "--json").stdout)):
        for unit, names in NAMED.items():
            figures = [v for name in names if (v := found.get(name)) is not None]
            assert not figures or found[unit] in ("mm", "EUR", "kg", "m²"), found
            assert all(0 <= v < 10_000 for v in figures), "ticks of 1/3200 mm are never shown"


def test_the_pull_list_and_a_pasted_list_say_the_shops_figures(run: Run, tmp_path: Path) -> None:
    """A sheet of 2440 x 1220 x 17.7 mm at 680 kg/m³ weighs 2.44 * 1.22 * 17.7 * 0.68 = 35.829 kg."""
    (sheet,) = tags_of(run("shelve", "birch 18", "--at", "R2", "--from-supplier", "Mill"))
    plan_on(tmp_path / "yard.db", sheet)
    walk = json.loads(run("pull-list", "kitchen", "--json").stdout)
    (entry,) = walk["stops"][0]["entries"]
    assert (entry["unit"], entry["length"], entry["width"], entry["thickness"]) == ("mm", 2440, 1220, 17.7)
    assert entry["lift"]["weight"] == pytest.approx(35.829) and entry["lift"]["weight_unit"] == "kg"
    assert "17.7 mm thick; from Mill" in run("pull-list", "kitchen").stdout
    written = tmp_path / "list.txt"
    written.write_text("birch ply 18 mm\n2 sides 720 x 560\n")
    said = json.loads(run("paste", str(written), "--look", "--first", "along", "--json").stdout)
    assert [(p["unit"], p["length"], p["width"]) for p in said["parts"]] == [("mm", 720, 560)]


def test_thickness_and_supplier_stand_where_a_piece_does(run: Run) -> None:
    words = ("shelve", "birch 18", "--at", "R2", "--from-supplier", "Yard Mill", "--thickness", "17.4")
    (tag,) = tags_of(run(*words))
    for shown in (run("find", "birch"), run("tag", tag), run("move", tag, "--to", "R1-B2-S3")):
        assert "17.4" in shown.stdout and "Yard Mill" in shown.stdout


def test_the_ledger_is_written_in_the_shops_units(run: Run) -> None:
    run("yard", "settings", "keep_area=80000 mm²", "kerf=2.8")
    run("material", "change", "birch 18", "--measured", "17.5", "--density", "690")
    run("place", "change", "R2", "--rated-load", "250")
    said = run("ledger").stdout
    assert "kerf 2.8 mm" in said and "keep_area 80000 mm²" in said
    assert not [
        word for word in said.replace("-", " ").split() if word.strip(",").isdecimal() and len(word) > 5
    ]
