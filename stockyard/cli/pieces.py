"""Pieces: shelving, finding, moving, and what a tag stands for."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import (
    AsJson,
    Flaws,
    Sure,
    Tag,
    YardFile,
    add_commands,
    bytes_of,
    open_yard,
    print_json,
    print_table,
    tags_given,
    tell_remarks,
    terms_of,
)
from stockyard.cli.shown import described, print_pieces
from stockyard.errors import BadInput

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stockyard.desk.door import Yard
    from stockyard.desk.racks import Fit
    from stockyard.desk.shown import PieceLine
    from stockyard.figures import Terms
    from stockyard.measure import Unit

Tags = Annotated[list[str], typer.Argument(metavar="TAG...", help="Tags, or - to scan them in.")]
At = Annotated[str, typer.Option("--at", metavar="PLACE", help="rack-bay-slot, such as R1-B2-S3.")]


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_commands(app, {"shelve": shelve, "find": find, "tag": tag, "move": move})


def shelve(
    material: Annotated[
        str | None, typer.Argument(metavar="[MATERIAL]", help="Words that name it: 'birch ply 18'.")
    ] = None,
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
    flaw: Flaws = None,
    sure: Sure = False,
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
    from stockyard.desk import racks

    if offcut is not None and size is not None:
        raise BadInput("give --size for full pieces or --offcut, not both")
    with open_yard(file) as y:
        content = bytes_of(table, racks.MOST_BYTES) if table is not None else b""
        if labels is not None:
            _look_at_labels(y, labels)
        if table is not None:
            placed = racks.shelve_table(y, content, table.name)
        elif material is None or at is None:
            raise BadInput("say the material and the place: shelve 'birch ply 18' --at R1-B2-S3")
        else:
            wanted = racks.ToShelve(
                material=material, place=at, size=size, offcut=offcut, count=count, thickness=thickness,
                cost=cost, supplier=supplier, note=note, flaws=tuple(flaw or ()), sure=sure,
            )  # fmt: skip
            if racks.unpriced(y, wanted) and sys.stdin.isatty():
                asked = typer.prompt("No price is known: what did one cost? Enter: not known", default="")
                wanted = replace(wanted, cost=asked.strip() or None)
            placed = racks.shelve(y, wanted)
        for remark in placed.judged:
            typer.echo(remark, err=True)
        print_pieces(placed.pieces, terms_of(y), as_json)
        tell_remarks(placed.remarks)
        if labels is not None:
            _print_labels(y, [p.tag for p in placed.pieces], labels)


def _write_template(path: Path) -> None:
    """Write an empty table of pieces where nothing is yet, and say what its columns hold."""
    from stockyard.desk.racks import COLUMNS, template

    try:
        with path.open("x", encoding="utf-8-sig", newline="") as out:
            out.write(template())
    except OSError as error:
        raise BadInput(f"cannot write {path}: {(error.strerror or str(error)).lower()}") from None
    print_table(("column", "what it holds"), list(COLUMNS.items()))
    typer.echo(f"Fill in {path}, a row a kind of piece, then: stockyard shelve --from {path}")


def _look_at_labels(y: Yard, path: Path) -> None:
    """Show what is wrong with the labels before the pieces are shelved, or it would be done twice."""
    from stockyard.desk.labels import look_at_layout
    from stockyard.whole import look_writable

    look_at_layout(y)
    look_writable(path)


def _print_labels(y: Yard, tags: list[str], path: Path) -> None:
    from stockyard.desk.labels import edge_labels, note_printed
    from stockyard.whole import write_whole

    made = edge_labels(y, tags)
    write_whole(path, made.pdf)
    note_printed(y, made.tags)
    for remark in made.remarks:
        typer.echo(remark, err=True)


def find(
    words: Annotated[list[str], typer.Argument(metavar="WORDS...", help="At least this: 20 x 30 1/2 ply.")],
    grain: Annotated[
        bool, typer.Option("--grain", help="The first figure must lie along the grain.")
    ] = False,
    biggest: Annotated[bool, typer.Option("--biggest", help="The biggest clear of flaws first.")] = False,
    limit: Annotated[int, typer.Option(min=1, max=1000, help="How many to show.")] = 20,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Find pieces that are large enough clear of their flaws, the best fit first."""
    from stockyard.desk import racks
    from stockyard.figures import caliper, size

    with open_yard(file) as y:
        found = racks.find(y, " ".join(words), turn=not grain, limit=limit, biggest=biggest)
        terms = terms_of(y)
    if as_json:
        print_json(found.fits, terms)
        return
    typer.echo(f"Looking for {found.asked}:")
    if not found.fits:
        _tell_promised(found.promised)
        return
    rows = [
        (f.piece.tag, f.piece.material, size(f.piece.length, f.piece.width, terms.unit, mark=False),
         caliper(f.piece.thickness, terms.unit), f.piece.word, f.piece.supplier, f.place,
         f"under {f.piece.depth}" if f.piece.depth else "", "turned" if f.turned else "",
         _clear(f, terms.unit), f.piece.lumber)
        for f in found.fits
    ]  # fmt: skip
    print_table(
        ("tag", "material", "size", "thick", "kind", "from", "place", "depth", "lies", "clear", "lumber"),
        rows,
    )


def _clear(f: Fit, unit: Unit) -> str:
    """Write the largest rectangle that is clear of a piece with flaws, and where that is an L or a frame."""
    from stockyard.figures import size

    if not f.piece.flaws:
        return ""
    of = " of an L or a frame" if f.piece.holed else ""
    return f"{size(f.clear.length, f.clear.width, unit, mark=False)}{of}"


def _tell_promised(promised: Sequence[Fit]) -> None:
    """Say that nothing free is large enough, and which pieces would be that are promised."""
    if not promised:
        typer.echo("nothing on the racks or the bench is large enough.")
        return
    would = "1 promised piece" if len(promised) == 1 else f"{len(promised)} promised pieces"
    typer.echo(f"nothing that is free is large enough; {would} would be:")
    rows = [(f.piece.tag, f.piece.material, f.place, f.piece.says) for f in promised]
    print_table(("tag", "material", "place", "is"), rows)


def tag(tag: Tag, file: YardFile = None, as_json: AsJson = False) -> None:
    """Say what a tag stands for, and the history of its piece."""
    from stockyard.desk import history
    from stockyard.flaws import said

    with open_yard(file) as y:
        life, terms = history.life(y, tag), terms_of(y)
    if as_json:
        print_json(life, terms)
        return
    p = life.piece
    typer.echo(f"{p.tag}: {described(p, terms)}, {p.says}" + (f", under {p.depth}" if p.depth else ""))
    typer.echo(f"  {_known(p, terms)}")
    for f in p.flaws:
        typer.echo(f"  flaw {said(f.flaw, terms.unit)} from corner 0")
    for above in life.parents:
        typer.echo(f"  came from {above.tag}: {described(above, terms)}")
    for event in life.events:
        typer.echo(f"  {event.at[:10]}  {event.says}  (entry {event.deed})")
    for name, n, job in life.parts:
        typer.echo(f"  gave {n} × {name} for {job}")
    for left in life.offcuts:
        typer.echo(f"  gave {left.tag}: {described(left, terms)}, {left.says}")
    if p.note:
        typer.echo(f"  note: {p.note}")


def _known(p: PieceLine, terms: Terms) -> str:
    """Say the measured thickness of a piece, who sold it and what it cost."""
    from stockyard.figures import caliper, money

    thick = f"{caliper(p.thickness, terms.unit)} thick"
    said = [thick + (" as measured" if p.own_thickness else " as its material")]
    if p.lumber:
        said.append(p.lumber)
    if p.supplier:
        said.append(f"from {p.supplier}")
    if p.cost:
        said.append(
            f"carries {money(p.cost, terms.currency)}" + (", by area from other sizes" if p.guessed else "")
        )
    else:
        said.append("no price is known" if p.word == "full" else "carries no cost")
    return ", ".join(said)


def move(
    to: Annotated[str, typer.Option("--to", "--at", metavar="PLACE", help="Where to.")],
    tags: Annotated[
        list[str] | None, typer.Argument(metavar="[TAG]...", help="Tags, or - to scan them in.")
    ] = None,
    whole: Annotated[
        str | None, typer.Option("--all-at", metavar="PLACE", help="All that lies there, in its order.")
    ] = None,
    file: YardFile = None,
) -> None:
    """Move pieces, or all that lies at a place, to another place, on top of what lies there."""
    from stockyard.desk import racks

    if bool(tags) == (whole is not None):
        raise BadInput("say the tags of what is moved, or --all-at PLACE for all that lies there")
    with open_yard(file) as y:
        moved = racks.move_place(y, whole, to) if whole else racks.move(y, tags_given(tags or []), to)
        print_pieces(moved.pieces, terms_of(y), as_json=False)
    tell_remarks(moved.remarks)
