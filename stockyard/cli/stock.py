"""Materials, their prices, and places."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from stockyard.cli.common import AsJson, Commands, YardFile, add_group, open_yard, print_json, print_table
from stockyard.errors import BadInput

if TYPE_CHECKING:
    from stockyard.measure import Unit

Material = Annotated[str, typer.Argument(metavar="MATERIAL", help="Words that name it: 'birch ply 18'.")]
Code = Annotated[str, typer.Argument(metavar="PLACE", help="rack-bay-slot, such as R1-B2-S3.")]
Density = Annotated[int | None, typer.Option(help="kg/m³, for weights.")]
Note = Annotated[str | None, typer.Option(help="Anything worth knowing.")]
Supplier = Annotated[str, typer.Option("--from", metavar="SUPPLIER", help="Who sells it.")]
Size = Annotated[str, typer.Argument(metavar="SIZE", help="length x width, along the grain first.")]


def register(app: typer.Typer) -> None:
    """Add the groups to the application."""
    material: Commands = {"add": add_material, "change": change_material, "list": list_materials}
    price: Commands = {"add": add_price, "end": end_price, "list": list_prices}
    place: Commands = {"add": add_place, "change": change_place, "list": list_places}
    add_group(app, "material", "What pieces are made of.", material)
    add_group(app, "price", "What full pieces cost, as a log.", price)
    add_group(app, "place", "Racks, bays and slots.", place)


def add_material(
    name: Annotated[str, typer.Argument(help="Such as 'birch ply'.")],
    thickness: Annotated[str, typer.Argument(help="As the trade names it: '18 mm', '3/4', '4/4'.")],
    measured: Annotated[
        str | None, typer.Option(help="As a caliper says, if that differs: 0.703 in.")
    ] = None,
    board: Annotated[bool, typer.Option("--board/--sheet", help="What it comes as.")] = False,
    grain: Annotated[
        bool, typer.Option("--grain/--no-grain", help="Whether it has a grain direction.")
    ] = True,
    density: Density = None,
    least: Annotated[int, typer.Option(min=0, help="Full pieces to have at least.")] = 0,
    lead_days: Annotated[int, typer.Option(min=0, help="Days from order to delivery.")] = 0,
    note: Note = None,
    file: YardFile = None,
) -> None:
    """Record a material."""
    from stockyard.measure import named_thickness, parse, show
    from stockyard.yard import materials
    from stockyard.yard.model import Form

    with open_yard(file) as y:
        form = Form.BOARD if board else Form.SHEET
        thick = parse(measured, y.unit) if measured else named_thickness(thickness, y.unit)
        made = materials.add_material(
            y, name, form, thickness, thick, grain=grain, density=density, least_stock=least,
            lead_days=lead_days, note=note or "",
        )  # fmt: skip
        typer.echo(f"Added {made.title}, {show(thick, y.unit, mark=True)} thick.")


def change_material(
    material: Material,
    measured: Annotated[str | None, typer.Option(help="Thickness as a caliper says.")] = None,
    grain: Annotated[bool | None, typer.Option("--grain/--no-grain", help="Whether it has a grain.")] = None,
    density: Density = None,
    least: Annotated[int | None, typer.Option(min=0, help="Full pieces to have at least.")] = None,
    lead_days: Annotated[int | None, typer.Option(min=0, help="Days from order to delivery.")] = None,
    note: Note = None,
    file: YardFile = None,
) -> None:
    """Change what is known of a material."""
    from stockyard.measure import parse
    from stockyard.yard import materials

    with open_yard(file) as y:
        given = {
            "thickness": parse(measured, y.unit) if measured else None,
            "grain": grain, "density": density, "least_stock": least, "lead_days": lead_days, "note": note,
        }  # fmt: skip
        changes = {k: v for k, v in given.items() if v is not None}
        typer.echo(
            f"Changed {materials.change_material(y, materials.named(y, material).id, **changes).title}."
        )


def list_materials(file: YardFile = None, as_json: AsJson = False) -> None:
    """List the materials."""
    from stockyard.measure import show
    from stockyard.yard import materials

    with open_yard(file) as y:
        found, unit = materials.materials(y), y.unit
    if as_json:
        print_json(found)
        return
    rows = [
        (m.name, m.thickness_name, show(m.thickness, unit, mark=True), m.form,
         "grain" if m.grain else "no grain", m.density and f"{m.density} kg/m³", m.least_stock or "", m.note)
        for m in found
    ]  # fmt: skip
    print_table(("material", "thickness", "measured", "form", "grain", "density", "least", "note"), rows)


def add_price(
    material: Material,
    size: Size,
    price: Annotated[str, typer.Argument(help="For one piece, such as 58.50.")],
    supplier: Supplier = "",
    file: YardFile = None,
) -> None:
    """Log what one full piece of a size costs now."""
    from stockyard.desk.summary import money
    from stockyard.yard import materials, offers
    from stockyard.yard.intake import read_money, read_size

    with open_yard(file) as y:
        found = materials.named(y, material)
        currency = y.settings.currency
        amount = read_money(price, currency)
        offers.add_price(y, found.id, *read_size(size, y.unit), amount, supplier)
    typer.echo(f"{found.title} {size} costs {money(amount, currency)}.")


def end_price(material: Material, size: Size, supplier: Supplier = "", file: YardFile = None) -> None:
    """Record that a size is no longer on sale."""
    from stockyard.yard import materials, offers
    from stockyard.yard.intake import read_size

    with open_yard(file) as y:
        found = materials.named(y, material)
        offers.end_offer(y, found.id, *read_size(size, y.unit), supplier)
    typer.echo(f"{found.title} {size} is no longer on sale.")


def list_prices(
    material: Annotated[str | None, typer.Argument(metavar="[MATERIAL]", help="Only this one.")] = None,
    log: Annotated[bool, typer.Option("--log", help="Every price ever logged.")] = False,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """List today's prices."""
    from stockyard.measure import MONEY, show
    from stockyard.yard import materials, offers, pieces

    with open_yard(file) as y:
        wanted = materials.named(y, material).id if material else None
        found = (offers.price_log if log else offers.offers)(y, wanted)
        titles, unit = pieces.titles(y), y.unit
    if as_json:
        print_json(found)
        return
    rows = [
        (titles[o.material_id], f"{show(o.length, unit)} × {show(o.width, unit)}", f"{o.price / MONEY:.2f}",
         o.supplier, o.since[:10])
        for o in found
    ]  # fmt: skip
    print_table(("material", "size", "price", "supplier", "since"), rows)


Load = Annotated[
    str | None,
    typer.Option(metavar="WEIGHT", help="Rated load from the maker's plate: '450 kg' or '1000 lb'."),
]
Inside = Annotated[str | None, typer.Option(metavar="SIZE", help="Inside size: length x width x height.")]
Stores = Annotated[str | None, typer.Option(metavar="flat|upright|brackets", help="How pieces lie there.")]
Supports = Annotated[
    int | None, typer.Option(min=0, max=1000, help="Brackets or bearers under a long piece.")
]


def add_place(
    code: Code,
    stores: Stores = "flat",
    inside_size: Inside = None,
    supports: Supports = None,
    rated_load: Load = None,
    within: Annotated[str | None, typer.Option(help="The place it stands in.")] = None,
    file: YardFile = None,
) -> None:
    """Record a place. A new one comes last in the walk."""
    from stockyard.yard import places

    with open_yard(file) as y:
        values = _place_values(y.unit, stores, inside_size, supports, rated_load)
        made = places.add_place(y, code, values.pop("storage"), inside=within, **values)
    typer.echo(f"Added {made.code} ({made.storage}).")


def change_place(
    code: Code,
    stores: Stores = None,
    inside_size: Inside = None,
    supports: Supports = None,
    rated_load: Load = None,
    walk: Annotated[int | None, typer.Option(help="Its number in the walk through the shop.")] = None,
    file: YardFile = None,
) -> None:
    """Change what is known of a place."""
    from stockyard.yard import places

    with open_yard(file) as y:
        values = _place_values(y.unit, stores, inside_size, supports, rated_load)
        if walk is not None:
            values["walk"] = walk
        typer.echo(f"Changed {places.change_place(y, code, **values).code}.")


def _place_values(
    unit: Unit, stores: str | None, inside_size: str | None, supports: int | None, rated_load: str | None
) -> dict[str, Any]:
    """Return the fields of a place that were given, as the yard keeps them."""
    from stockyard.measure import parse
    from stockyard.yard.intake import read_weight
    from stockyard.yard.model import Storage

    values: dict[str, Any] = {}
    if stores is not None:
        kinds = {"flat": Storage.FLAT, "upright": Storage.UPRIGHT, "brackets": Storage.BRACKETS}
        if stores not in kinds:
            raise BadInput(f"'{stores[:20]}' is no way to store: write flat, upright or brackets")
        values["storage"] = kinds[stores]
    if inside_size is not None:
        sides = inside_size.lower().replace("×", "x").split("x")
        if len(sides) != 3:
            raise BadInput(f"'{inside_size[:40]}' is not an inside size: write length x width x height")
        values |= zip(("length", "width", "height"), (parse(s, unit) for s in sides), strict=True)
    if supports is not None:
        values["supports"] = supports
    if rated_load is not None:
        values["rated_load"] = read_weight(rated_load, unit)
    return values


def list_places(file: YardFile = None, as_json: AsJson = False) -> None:
    """List the places in walking order with what lies there."""
    from stockyard.printing.pull_lines import weight_text
    from stockyard.yard import pieces, places
    from stockyard.yard.model import State

    with open_yard(file) as y:
        found, unit = places.places(y), y.unit
        held = {r["place"]: r for r in y.rows("SELECT * FROM in_each_place")}
        off = len(pieces.on_hand(y, states=(State.BENCH, State.PULLED)))
    if as_json:
        print_json([{**_as_dict(p), "pieces": held[p.code]["pieces"]} for p in found])
        return
    rows: list[tuple[object, ...]] = [
        (p.code, p.storage, held[p.code]["pieces"],
         weight_text(round(held[p.code]["known_weight_kg"] * 1000), unit),
         weight_text(p.rated_load, unit) if p.rated_load else "not known")
        for p in found
    ]  # fmt: skip
    if off:
        rows.append(("bench", "see 'stockyard bench'", off, "", ""))
    print_table(("place", "storage", "pieces", "known weight", "rated load"), rows)


def _as_dict(value: object) -> dict[str, object]:
    from stockyard.cli.common import plain_data

    return dict(plain_data(value))
