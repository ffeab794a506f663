"""Pieces on a screen: in words, as a table, as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stockyard.cli.common import print_json, print_table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stockyard.desk.shown import PieceLine
    from stockyard.figures import Terms


def described(p: PieceLine, terms: Terms) -> str:
    """Say what a piece is: birch ply 18 mm offcut 600 mm × 400 mm."""
    from stockyard.figures import size

    return f"{p.material} {p.word} {size(p.length, p.width, terms.unit)}"


def print_pieces(found: Sequence[PieceLine], terms: Terms, as_json: bool) -> None:
    """Print pieces as a table or as JSON."""
    if as_json:
        print_json(found, terms)
        return
    from stockyard.figures import caliper

    rows = [(p.tag, described(p, terms), caliper(p.thickness, terms.unit), p.supplier, p.says) for p in found]
    print_table(("tag", "piece", "thick", "from", "where"), rows)
