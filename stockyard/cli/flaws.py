"""What is clear of flaws in a piece, and cutting it out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import AsJson, Tag, YardFile, add_commands, open_yard, print_json, terms_of

if TYPE_CHECKING:
    from stockyard.desk.flaws import ClearPart
    from stockyard.figures import Terms

Flaws = Annotated[
    list[str] | None,
    typer.Option(
        "--flaw", metavar="FLAW",
        help="Size along and across, and where it begins: '80 x 120 at 300, 45', from the near left corner, "
        "good face up, length left to right. Chalk a 0 there.",
    ),
]  # fmt: skip


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    add_commands(app, {"clear": clear})


def clear(
    tag: Tag,
    cut: Annotated[bool, typer.Option("--cut", help="It was cut out: put it on the bench.")] = False,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Say what is clear of flaws in a piece and how to cut it out; --cut records that it was."""
    from stockyard.desk import flaws

    with open_yard(file) as y:
        found, terms = flaws.cut_clear(y, tag) if cut else flaws.clear(y, tag), terms_of(y)
    if as_json:
        print_json(found, terms)
        return
    tell_clear(found, terms)


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
