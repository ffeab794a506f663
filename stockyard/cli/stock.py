"""Materials and their prices."""

from __future__ import annotations

from typing import Annotated

import typer

from stockyard.cli.common import (
    AsJson,
    Commands,
    YardFile,
    add_group,
    open_yard,
    print_json,
    print_table,
    terms_of,
)

Material = Annotated[str, typer.Argument(metavar="MATERIAL", help="Words that name it: 'birch ply 18'.")]
Density = Annotated[int | None, typer.Option(help="kg/m³, for weights.")]
Note = Annotated[str | None, typer.Option(help="Anything worth knowing.")]
Machine = Annotated[
    str | None, typer.Option("--on", metavar="MACHINE", help="What its sheets are cut on: saw or router.")
]
Rough = Annotated[
    str | None,
    typer.Option(
        metavar="OVER",
        help="Parts are sawn larger: usual, 'as is', '1/2 x 1/4, 3/32 a face' or 'jointer, planer'.",
    ),
]
Supplier = Annotated[str, typer.Option("--from", metavar="SUPPLIER", help="Who sells it.")]
Size = Annotated[str, typer.Argument(metavar="SIZE", help="length x width, along the grain first.")]


def register(app: typer.Typer) -> None:
    """Add the groups to the application."""
    material: Commands = {
        "add": add_material, "change": change_material, "retire": retire_material, "list": list_materials,
    }  # fmt: skip
    price: Commands = {"add": add_price, "end": end_price, "list": list_prices}
    add_group(app, "material", "What pieces are made of.", material)
    add_group(app, "price", "What full pieces cost, as a log.", price)


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
    machine: Machine = None,
    rough: Rough = None,
    file: YardFile = None,
) -> None:
    """Record a material."""
    from stockyard.desk import stock
    from stockyard.kinds import Form
    from stockyard.measure import show

    facts = stock.MaterialFacts(
        measured=measured, grain=grain, density=density, least_stock=least, lead_days=lead_days, note=note,
        method=machine, rough=rough,
    )  # fmt: skip
    with open_yard(file) as y:
        made = stock.add_material(y, name, thickness, Form.BOARD if board else Form.SHEET, facts)
        typer.echo(f"Added {made.title}, {show(made.thickness, y.unit, mark=True)} thick.")


def change_material(
    material: Material,
    name: Annotated[str | None, typer.Option(help="Its new name.")] = None,
    thickness: Annotated[str | None, typer.Option(help="What the trade calls its thickness, anew.")] = None,
    measured: Annotated[str | None, typer.Option(help="Thickness as a caliper says.")] = None,
    grain: Annotated[bool | None, typer.Option("--grain/--no-grain", help="Whether it has a grain.")] = None,
    density: Density = None,
    least: Annotated[int | None, typer.Option(min=0, help="Full pieces to have at least.")] = None,
    lead_days: Annotated[int | None, typer.Option(min=0, help="Days from order to delivery.")] = None,
    note: Note = None,
    machine: Machine = None,
    rough: Rough = None,
    file: YardFile = None,
) -> None:
    """Change what is known of a material, or rename it."""
    from stockyard.desk import stock

    facts = stock.MaterialFacts(
        name=name,
        thickness=thickness,
        measured=measured,
        grain=grain,
        density=density,
        least_stock=least,
        lead_days=lead_days,
        note=note,
        method=machine,
        rough=rough,
    )
    with open_yard(file) as y:
        typer.echo(f"Changed {stock.change_material(y, material, facts).title}.")


def retire_material(material: Material, file: YardFile = None) -> None:
    """Take a material out of use; its history stays. 'material add' takes it back."""
    from stockyard.desk import stock

    with open_yard(file) as y:
        typer.echo(f"{stock.retire_material(y, material).title} is retired.")


def list_materials(
    every: Annotated[bool, typer.Option("--all", help="Those that are retired too.")] = False,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """List the materials in use."""
    from stockyard.desk import stock
    from stockyard.measure import show

    with open_yard(file) as y:
        found, terms = stock.list_materials(y, every=every), terms_of(y)
    if as_json:
        print_json(found, terms)
        return
    rows = [
        (m.name, m.thickness_name, show(m.thickness, terms.unit, mark=True), m.form,
         "grain" if m.grain else "no grain", m.density and f"{m.density} kg/m³", m.least_stock or "",
         "; ".join(filter(None, ("retired" if m.retired else "", m.note))), m.method, m.milled)
        for m in found
    ]  # fmt: skip
    print_table(
        (
            "material",
            "thickness",
            "measured",
            "form",
            "grain",
            "density",
            "least",
            "note",
            "cut on",
            "sawn larger",
        ),
        rows,
    )


def add_price(
    material: Material,
    size: Size,
    price: Annotated[str, typer.Argument(help="For one piece, such as 58.50.")],
    supplier: Supplier = "",
    per: Annotated[
        str, typer.Option(metavar="MEASURE", help="Of lumber in random widths: board foot, m3 or m2.")
    ] = "",
    file: YardFile = None,
) -> None:
    """Log what one full piece of a size costs now; with --per what a board foot of such boards does."""
    from stockyard.desk import stock
    from stockyard.figures import money

    with open_yard(file) as y:
        made = stock.add_price(y, material, size, price, supplier, per)
        about = f" ({made.says})" if made.rate is not None else ""
        typer.echo(f"{made.material} {size} costs {money(made.price, y.settings.currency)}{about}.")


def end_price(material: Material, size: Size, supplier: Supplier = "", file: YardFile = None) -> None:
    """Record that a size is no longer on sale."""
    from stockyard.desk import stock

    with open_yard(file) as y:
        title = stock.end_price(y, material, size, supplier)
    typer.echo(f"{title} {size} is no longer on sale.")


def list_prices(
    material: Annotated[str | None, typer.Argument(metavar="[MATERIAL]", help="Only this one.")] = None,
    log: Annotated[bool, typer.Option("--log", help="Every price ever logged.")] = False,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """List today's prices."""
    from stockyard.desk import stock
    from stockyard.figures import size
    from stockyard.measure import MONEY

    with open_yard(file) as y:
        found, terms = stock.list_prices(y, material, log=log), terms_of(y)
    if as_json:
        print_json(found, terms)
        return
    rows = [
        (p.material, size(p.length, p.width, terms.unit, mark=False), f"{p.price / MONEY:.2f}", p.supplier,
         p.since[:10], p.says)
        for p in found
    ]  # fmt: skip
    print_table(("material", "size", "price", "supplier", "since", "lumber"), rows)
