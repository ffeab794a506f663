"""Pieces: shelving, finding, moving, measuring, and what a tag stands for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import (
    AsJson,
    YardFile,
    add_commands,
    open_yard,
    print_json,
    print_table,
    tags_given,
    tell_misfits,
)
from stockyard.errors import BadInput

if TYPE_CHECKING:
    from stockyard.yard import Yard
    from stockyard.yard.model import Piece
    from stockyard.yard.pieces import Arrival
    from stockyard.yard.search import Fit

Tag = Annotated[str, typer.Argument(metavar="TAG", help="The tag on its label.")]
Tags = Annotated[list[str], typer.Argument(metavar="TAG...", help="Tags, or - to scan them in.")]
At = Annotated[str, typer.Option("--at", metavar="PLACE", help="rack-bay-slot, such as R1-B2-S3.")]


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_commands(app, {"shelve": shelve, "find": find, "tag": tag, "move": move, "measure": measure})


def shelve(
    material: Annotated[str | None, typer.Argument(help="Words that name it: 'birch ply 18'.")] = None,
    at: Annotated[str | None, typer.Option("--at", metavar="PLACE", help="Where they go: R1-B2-S3.")] = None,
    count: Annotated[int, typer.Option(min=1, max=10_000, help="How many equal pieces.")] = 1,
    size: Annotated[str | None, typer.Option(help="Full pieces of this size: '1220 x 2440'.")] = None,
    offcut: Annotated[
        str | None, typer.Option(metavar="SIZE", help="An offcut: '23 1/2 x 48', along the grain first.")
    ] = None,
    thickness: Annotated[str | None, typer.Option(help="As measured, if it differs.")] = None,
    cost: Annotated[str | None, typer.Option(help="What one cost, if not today's price.")] = None,
    supplier: Annotated[str, typer.Option("--from-supplier", help="Who sold it.")] = "",
    note: Annotated[str, typer.Option(help="Anything worth knowing.")] = "",
    table: Annotated[
        Path | None, typer.Option("--from", metavar="CSV", help="Shelve all rows of a CSV file.")
    ] = None,
    template: Annotated[
        Path | None, typer.Option(metavar="CSV", help="Write an empty table for --from, tell its columns.")
    ] = None,
    labels: Annotated[
        Path | None, typer.Option("--labels", metavar="FILE", help="Print their edge labels to this PDF.")
    ] = None,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Put new pieces on a rack; each gets a tag."""
    if template is not None:
        _write_template(template)
        return
    from stockyard.yard import pieces
    from stockyard.yard.piece_table import MOST_BYTES, read_pieces

    with open_yard(file) as y:
        if table is not None:
            try:
                with table.open("rb") as source:
                    content = source.read(MOST_BYTES + 1)
            except OSError as error:
                raise BadInput(f"cannot read {table}: {error.strerror}") from None
            delivery = read_pieces(y, content, table.name)
            arrivals = delivery.arrivals
            for remark in delivery.judged:
                typer.echo(remark, err=True)
        else:
            if material is None or at is None:
                raise BadInput("say the material and the place: shelve 'birch ply 18' --at R1-B2-S3")
            arrivals = (_arrival(y, material, at, size, offcut, thickness, cost, count, supplier, note),)
        layout = None
        if labels is not None:
            from stockyard.desk.label_data import print_edge_labels, shop_layout
            from stockyard.printing.output import look_writable

            # What is wrong with them must show before the pieces are shelved, or it would be done twice.
            layout = shop_layout(y)
            look_writable(labels)
        shelved = pieces.shelve(y, arrivals)
        _print(y, shelved, as_json)
        tell_misfits(y, shelved)
        if labels is not None and layout is not None:
            for remark in print_edge_labels(y, shelved, layout, labels):
                typer.echo(remark, err=True)


def _write_template(path: Path) -> None:
    """Write an empty table of pieces where nothing is yet, and say what its columns hold."""
    from stockyard.yard.piece_table import COLUMNS, template

    try:
        with path.open("x", encoding="utf-8-sig", newline="") as out:
            out.write(template())
    except OSError as error:
        raise BadInput(f"cannot write {path}: {(error.strerror or str(error)).lower()}") from None
    print_table(("column", "what it holds"), list(COLUMNS.items()))
    typer.echo(f"Fill in {path}, a row a kind of piece, then: stockyard shelve --from {path}")


def _arrival(  # type: ignore[no-untyped-def]
    y: Yard, material: str, at: str, size, offcut, thickness, cost, count, supplier, note
) -> Arrival:
    from stockyard.measure import parse
    from stockyard.yard.intake import full_arrival, offcut_arrival, read_money
    from stockyard.yard.materials import named

    more: dict[str, object] = {"count": count, "supplier": supplier, "note": note}
    if thickness is not None:
        more["thickness"] = parse(thickness, y.unit)
    if cost is not None:
        more["cost"] = read_money(cost, y.settings.currency)
    if offcut is not None:
        if size is not None:
            raise BadInput("give --size for full pieces or --offcut, not both")
        return offcut_arrival(y, named(y, material), offcut, at, **more)
    return full_arrival(y, named(y, material), size, at, **more)


def find(
    words: Annotated[list[str], typer.Argument(metavar="WORDS...", help="At least this: 20 x 30 1/2 ply.")],
    grain: Annotated[
        bool, typer.Option("--grain", help="The first figure must lie along the grain.")
    ] = False,
    limit: Annotated[int, typer.Option(min=1, max=1000, help="How many to show.")] = 20,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Find pieces that are large enough, the best fit first."""
    from stockyard.measure import show
    from stockyard.yard import pieces, search

    with open_yard(file) as y:
        wanted = search.read_wanted(y, " ".join(words))
        fits = search.find(y, wanted, turn=not grain, limit=limit)
        promised = () if fits else search.find(y, wanted, turn=not grain, limit=limit, free=False)
        jobs = [pieces.told(y, f.piece) for f in promised]
        unit = y.unit
    if as_json:
        print_json(fits)
        return
    typer.echo(f"Looking for {wanted.says(unit)}:")
    if not fits:
        _tell_promised(promised, jobs)
        return
    rows = [
        (f.piece.tag, f.material, f"{show(f.piece.length, unit)} × {show(f.piece.width, unit)}", f.piece.kind,
         f.place, f"under {f.piece.depth}" if f.piece.depth else "", "turned" if f.turned else "")
        for f in fits
    ]  # fmt: skip
    print_table(("tag", "material", "size", "kind", "place", "depth", "lies"), rows)


def _tell_promised(promised: tuple[Fit, ...], jobs: list[str]) -> None:
    """Say that nothing free is large enough, and which pieces would be that are promised."""
    if not promised:
        typer.echo("nothing on the racks or the bench is large enough.")
        return
    would = "1 promised piece" if len(promised) == 1 else f"{len(promised)} promised pieces"
    typer.echo(f"nothing that is free is large enough; {would} would be:")
    rows = [(f.piece.tag, f.material, f.place, job) for f, job in zip(promised, jobs, strict=True)]
    print_table(("tag", "material", "place", "is"), rows)


def tag(tag: Tag, file: YardFile = None, as_json: AsJson = False) -> None:
    """Say what a tag stands for, and the history of its piece."""
    from stockyard.yard import ledger, pieces

    with open_yard(file) as y:
        life = ledger.history(y, tag)
        if as_json:
            print_json(life)
            return
        p = life.piece
        typer.echo(
            f"{p.tag}: {_described(y, p)}, {pieces.told(y, p)}" + (f", under {p.depth}" if p.depth else "")
        )
        for above in life.parents:
            typer.echo(f"  came from {above.tag}: {_described(y, above)}")
        for event in life.events:
            typer.echo(f"  {event.at[:10]}  {event.says}  (deed {event.deed})")
        for name, n, job in life.parts:
            typer.echo(f"  gave {n} × {name} for {job}")
        for left in life.offcuts:
            typer.echo(f"  gave {left.tag}: {_described(y, left)}, {pieces.told(y, left)}")
        if p.note:
            typer.echo(f"  note: {p.note}")


def move(
    tags: Tags,
    to: Annotated[str, typer.Option("--to", metavar="PLACE", help="Where to.")],
    file: YardFile = None,
) -> None:
    """Move pieces to another place, on top of what lies there."""
    from stockyard.yard import pieces

    with open_yard(file) as y:
        moved = pieces.move(y, tags_given(tags), to)
        _print(y, moved, False)
        tell_misfits(y, moved)


def measure(
    tag: Tag,
    size: Annotated[str, typer.Argument(help="length x width as measured, along the grain first.")],
    thickness: Annotated[str | None, typer.Option(help="As measured.")] = None,
    larger: Annotated[
        bool, typer.Option("--larger", help="The recorded size was too small: a mistake to correct.")
    ] = False,
    file: YardFile = None,
) -> None:
    """Correct the size of a piece to what was really measured."""
    from stockyard.cli.work import tell_broken
    from stockyard.measure import parse
    from stockyard.yard import measuring, plans
    from stockyard.yard.intake import read_size

    with open_yard(file) as y:
        thick = parse(thickness, y.unit) if thickness else None
        measured = measuring.remeasure(y, tag, *read_size(size, y.unit), thick, larger=larger)
        _print(y, (measured,), False)
        broken = plans.broken_plan(y, measured)
        tell_broken((broken,) if broken else ())


def _described(y: Yard, p: Piece) -> str:
    from stockyard.measure import show
    from stockyard.yard.materials import material

    size = f"{show(p.length, y.unit, mark=True)} × {show(p.width, y.unit, mark=True)}"
    return f"{material(y, p.material_id).title} {p.kind} {size}"


def _print(y: Yard, found: tuple[Piece, ...], as_json: bool) -> None:
    from stockyard.yard.pieces import told

    if as_json:
        print_json(found)
        return
    print_table(("tag", "piece", "where"), [(p.tag, _described(y, p), told(y, p)) for p in found])
