"""The commands by what one is doing, as `stockyard --help` and the README list them."""

from __future__ import annotations

SECTIONS: tuple[tuple[str, str], ...] = (
    ("read a cut list and plan it", "paste change jobs plan compare release"),
    ("cut and put away", "pull cut spoiled return bench gone"),
    ("put pieces on racks, find them", "shelve find tag move measure clear correct place-for lift"),
    ("say what there is", "stock material price place count"),
    ("print", "labels part-labels papers pull-list draw route label-layouts calibrate"),
    ("decide", "keep keep-sizes tidy reorder stock-up cost month"),
    ("keep the record", "yard ledger undo"),
    ("have it all as pages at the bench", "serve"),
    ("try and prepare", "demo warm-up solve help"),
)


def sorted_out(names: list[str]) -> list[tuple[str, list[str]]]:
    """Return the sections with those of `names` that belong there; what belongs nowhere comes last."""
    placed = [(title, [n for n in own.split() if n in names]) for title, own in SECTIONS]
    known = {n for _, own in SECTIONS for n in own.split()}
    placed.append(("more", [n for n in names if n not in known]))
    return [(title, own) for title, own in placed if own]
