"""Pieces on a screen: in words, as a table, as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from stockyard.cli.common import print_json, print_table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stockyard.desk.flaws import ClearPart
    from stockyard.desk.shown import PieceLine
    from stockyard.figures import Terms


def described(p: PieceLine, terms: Terms) -> str:
    """Say what a piece is: birch ply 18 mm offcut 600 mm × 400 mm, 1 flaw."""
    from stockyard.figures import size
    from stockyard.wording import count

    flawed = f", {count(len(p.flaws), 'flaw')}" if p.flaws else ""
    holed = ", an L or a frame" if p.holed else ""
    return f"{p.material} {p.word} {size(p.length, p.width, terms.unit)}{holed}{flawed}"


def print_pieces(found: Sequence[PieceLine], terms: Terms, as_json: bool) -> None:
    """Print pieces as a table or as JSON."""
    if as_json:
        print_json(found, terms)
        return
    from stockyard.figures import caliper

    rows = [
        (p.tag, described(p, terms), caliper(p.thickness, terms.unit), p.lumber, p.supplier, p.says)
        for p in found
    ]
    print_table(("tag", "piece", "thick", "lumber", "from", "where"), rows)


def tell_clear(found: ClearPart, terms: Terms) -> None:
    """Say what is clear, the cuts that free it and what they gave."""
    from stockyard.figures import size
    from stockyard.measure import show

    p, c = found.piece, found.clear
    typer.echo(f"Biggest clear piece of {p.tag}: {size(c.length, c.width, terms.unit)}.")
    if found.offcuts:
        for left in found.offcuts:
            typer.echo(f"On the bench: {left.tag} {size(left.length, left.width, terms.unit)}")
        return
    for step in found.cuts:
        typer.echo(f"  {step.word} {step.off} off, to {show(step.keeps, terms.unit, mark=True)}")
    if found.others:
        typer.echo("  beside it: " + ", ".join(size(s.length, s.width, terms.unit) for s in found.others))
    if found.cuts:
        typer.echo(f"A plan cuts around flaws by itself. Cut it out now: stockyard clear {p.tag} --cut")
