"""Places: racks, bays and slots, and what lies in them."""

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

Code = Annotated[str, typer.Argument(metavar="PLACE", help="rack-bay-slot, such as R1-B2-S3.")]
Load = Annotated[
    str | None,
    typer.Option(metavar="WEIGHT", help="Rated load from the maker's plate: '450 kg' or '1000 lb'."),
]
Inside = Annotated[str | None, typer.Option(metavar="SIZE", help="Inside size: length x width x height.")]
Stores = Annotated[str | None, typer.Option(metavar="flat|upright|brackets", help="How pieces lie there.")]
Supports = Annotated[
    int | None, typer.Option(min=0, max=1000, help="Brackets or bearers under a long piece.")
]


def register(app: typer.Typer) -> None:
    """Add the group to the application."""
    commands: Commands = {
        "add": add_place, "change": change_place, "retire": retire_place, "list": list_places,
        "show": show_place,
    }  # fmt: skip
    add_group(app, "place", "Racks, bays and slots.", commands)


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
    from stockyard.desk import places

    facts = places.PlaceFacts(
        stores=stores, inside_size=inside_size, supports=supports, rated_load=rated_load, within=within
    )
    with open_yard(file) as y:
        made = places.add_place(y, code, facts)
    typer.echo(f"Added {made.code} ({made.storage}).")


def change_place(
    code: Code,
    new_code: Annotated[str | None, typer.Option("--code", metavar="PLACE", help="Its new code.")] = None,
    stores: Stores = None,
    inside_size: Inside = None,
    supports: Supports = None,
    rated_load: Load = None,
    within: Annotated[str | None, typer.Option(help="The place it stands in.")] = None,
    walk: Annotated[int | None, typer.Option(help="Its number in the walk through the shop.")] = None,
    file: YardFile = None,
) -> None:
    """Change what is known of a place, or rename it."""
    from stockyard.desk import places

    facts = places.PlaceFacts(
        code=new_code, stores=stores, inside_size=inside_size, supports=supports, rated_load=rated_load,
        within=within, walk=walk,
    )  # fmt: skip
    with open_yard(file) as y:
        typer.echo(f"Changed {places.change_place(y, code, facts).code}.")


def retire_place(code: Code, file: YardFile = None) -> None:
    """Take an empty place out of use; its history stays. 'place add' takes it back."""
    from stockyard.desk import places

    with open_yard(file) as y:
        typer.echo(f"{places.retire_place(y, code)} is retired.")


def list_places(file: YardFile = None, as_json: AsJson = False) -> None:
    """List the places in walking order with what lies there."""
    from stockyard.desk import places
    from stockyard.figures import weight

    with open_yard(file) as y:
        found, terms, off = places.list_places(y), terms_of(y), places.off_the_racks(y)
    if as_json:
        print_json(found, terms)
        return
    rows: list[tuple[object, ...]] = [
        (p.code, p.storage, p.pieces, weight(p.known_weight, terms.unit),
         weight(p.rated_load, terms.unit) if p.rated_load else "not known")
        for p in found
    ]  # fmt: skip
    if off:
        rows.append(("bench", "see 'stockyard bench'", off, "", ""))
    print_table(("place", "storage", "pieces", "known weight", "rated load"), rows)


def show_place(code: Code, file: YardFile = None, as_json: AsJson = False) -> None:
    """Show what lies at a place, in order from the top down."""
    from stockyard.desk.stock_list import at
    from stockyard.figures import size, weight
    from stockyard.wording import count

    with open_yard(file) as y:
        found, terms = at(y, code), terms_of(y)
    if as_json:
        print_json(found, terms)
        return
    rated = f" of {weight(found.rated_load, terms.unit)} rated" if found.rated_load else ""
    heavy = f", {weight(found.known_weight, terms.unit)}{rated}" if found.known_weight else ""
    typer.echo(f"{found.place}: {found.storage}, {count(len(found.pieces), 'piece')}{heavy}.")
    if found.inside:
        typer.echo(f"In it stand {', '.join(found.inside)}.")
    if found.pieces:
        rows = [
            (n, p.tag, p.material, p.word, size(p.length, p.width, terms.unit, mark=False),
             f"for {p.job}" if p.job else "")
            for n, p in enumerate(found.pieces, 1)
        ]  # fmt: skip
        print_table(
            (
                "from top" if found.storage == "flat stack" else "no.",
                "tag",
                "material",
                "is",
                f"size {terms.unit}",
                "",
            ),
            rows,
        )
