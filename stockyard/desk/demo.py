"""The invented shop of the demo, built as a yard from the files that come with the program."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

from stockyard.desk.allowances import usual_over
from stockyard.errors import Refused
from stockyard.footage import Measure, price
from stockyard.measure import parse
from stockyard.rough import USUAL
from stockyard.settings import change, inch_shop
from stockyard.yard import Yard, new
from stockyard.yard.intake import read_money
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form, Material, Storage
from stockyard.yard.offers import add_price
from stockyard.yard.piece_table import read_pieces
from stockyard.yard.pieces import shelve
from stockyard.yard.places import add_place

# Grams in a pound, exactly (international yard and pound agreement, 1959), as a fraction of 10**5.
_POUND = 45_359_237
_SINCE = "2026-01-05T08:00:00Z"


def demo_folder() -> Path:
    """Return where the invented shop's files are: in the wheel, or in the source tree.

    Raises:
        Refused: neither is there.
    """
    for folder in (Path(str(files("stockyard") / "_demo")), Path(__file__).parents[2] / "demo_data"):
        if (folder / "shop.toml").is_file():
            return folder
    raise Refused("the demo's files are missing: the installation is incomplete, install it again")


def build_yard(path: Path) -> Yard:
    """Make the invented shop's yard at `path`, everything shelved, and return it open.

    Raises:
        Refused: something is there already.
    """
    shop = tomllib.loads((demo_folder() / "shop.toml").read_text(encoding="utf-8"))
    yard = new(path, change(inch_shop(), shop["settings"]))
    for row in shop["material"]:
        _add_material(yard, row)
    for row in shop["place"]:
        _add_place(yard, row)
    table = read_pieces(yard, (demo_folder() / "pieces.csv").read_bytes(), "pieces.csv")
    shelve(yard, table.arrivals)
    return yard


def _add_material(yard: Yard, row: dict[str, Any]) -> Material:
    def ticks(text: str) -> int:
        return parse(text, yard.unit)

    made = add_material(
        yard,
        row["name"],
        Form(row["form"]),
        row["thickness"],
        ticks(row["measured"]),
        grain=row["grain"],
        density=row["density"],
        least_stock=row.get("least_stock", 0),
        lead_days=row.get("lead_days", 0),
        over=usual_over(yard.settings) if row.get("rough") == USUAL else None,
    )
    for size in row["sizes"]:
        rate, sides = read_money(size["price"]), (ticks(size["length"]), ticks(size["width"]))
        if per := size.get("per"):
            whole = price(rate, Measure(per), *sides, made.thickness_name, made.thickness)
            add_price(yard, made.id, *sides, whole, size["supplier"], _SINCE, measure=Measure(per), rate=rate)
        else:
            add_price(yard, made.id, *sides, rate, size["supplier"], _SINCE)
    return made


def _add_place(yard: Yard, row: dict[str, Any]) -> None:
    plate = row.get("rated_load")
    length, width, height = (parse(row[side], yard.unit) for side in ("length", "width", "height"))
    add_place(
        yard,
        row["code"],
        Storage(row["storage"]),
        length=length,
        width=width,
        height=height,
        supports=row.get("supports", 0),
        rated_load=int(plate.removesuffix(" lb")) * _POUND // 10**5 if plate else None,
    )
