"""Advice on pieces: where one goes, whether to keep it, what to clear, how to lift it."""

from __future__ import annotations

from typing import Annotated

import typer

from stockyard.cli.common import AsJson, YardFile, add_commands, open_yard
from stockyard.cli.tables import AsCsv, Cell, emit
from stockyard.errors import BadInput, Refused

Tag = Annotated[str, typer.Argument(metavar="TAG", help="The tag on its edge.")]


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_commands(
        app, {"place-for": place_for, "keep": keep, "tidy": tidy, "keep-sizes": keep_sizes, "lift": lift}
    )


def place_for(
    tag: Tag,
    every: Annotated[bool, typer.Option("--all", help="Show ruled-out places too.")] = False,
    file: YardFile = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """Suggest where a piece goes, best place first. You may put it anywhere all the same."""
    from stockyard.desk.shelve_advice import place_for as judged

    with open_yard(file) as y:
        found = judged(y, tag)
    shown = [s for s in found if s.ok] if not every else list(found)
    if not shown:
        raise Refused(f"no place is fit for it: {found[0].code}: {found[0].says}")
    rows: list[list[Cell]] = [[s.code, "yes" if s.ok else "no", s.says] for s in shown]
    emit(("place", "fit", "why"), rows if every else rows[:5], as_json=as_json, as_csv=as_csv)


def keep(
    what: Annotated[str, typer.Argument(metavar="TAG|SIZE", help="A tag, or a size such as '23 1/2 x 12'.")],
    material: Annotated[
        list[str] | None, typer.Argument(metavar="[MATERIAL]", help="With a size: what it is of.")
    ] = None,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Say whether a leftover is worth keeping, judged by your past cut lists."""
    from stockyard.desk.keep_advice import keep_piece, keep_size
    from stockyard.figures import money
    from stockyard.measure import MONEY

    words = " ".join(material or ())
    if not words and any(mark in what.lower() for mark in ("x", "×", "*")) and " " in what.strip():
        raise BadInput("a size needs its material: stockyard keep '23 1/2 x 12' birch ply 3/4")
    with open_yard(file) as y:
        advice = keep_size(y, words, what) if words else keep_piece(y, what)
        currency = y.settings.currency
    verdict, saves = advice.verdict, advice.saves_money
    if as_json:
        row: dict[str, Cell] = {
            "verdict": "keep" if verdict.keep else "bin",
            "chance": round(verdict.use.chance, 4),
            "jobs": round(verdict.use.jobs, 2),
            "saves": None if saves is None else saves / MONEY,
            "why": verdict.says,
        }
        emit(tuple(row), [tuple(row.values())], as_json=True, as_csv=False)
        return
    worth = f"; that is {money(saves, currency)} of new material" if saves and verdict.keep else ""
    typer.echo(f"{advice.material}: {verdict.says}{worth}.")


def tidy(
    limit: Annotated[int, typer.Option(min=1, help="How many to list.")] = 20,
    file: YardFile = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """List the offcuts to clear out, crowded places first. Nothing is changed."""
    from stockyard.desk.keep_advice import tidy as to_clear
    from stockyard.figures import size

    with open_yard(file) as y:
        found, unit = to_clear(y, limit=limit), y.unit
    if not found and not (as_json or as_csv):
        typer.echo("Nothing to clear: every offcut on the racks is likely enough to be used.")
        return
    rows: list[list[Cell]] = [
        [c.piece.tag, c.piece.place, c.piece.material,
         size(c.piece.length, c.piece.width, unit, mark=False), c.piece.age, c.piece.depth, c.why]
        for c in found
    ]  # fmt: skip
    emit(("tag", "place", "material", "size", "days", "on top", "why"), rows, as_json=as_json, as_csv=as_csv)


def keep_sizes(
    use: Annotated[bool, typer.Option("--use", help="Make them the shop's settings.")] = False,
    file: YardFile = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """Show which sheet leftovers your past cut lists say are worth keeping, beside the settings."""
    from stockyard.desk import keep_advice

    with open_yard(file) as y:
        learned = keep_advice.keep_sizes(y)
        rows: list[list[Cell]] = [[line.name, line.now, line.learned] for line in learned.lines]
        emit(("setting", "now", "from past jobs"), rows, as_json=as_json, as_csv=as_csv)
        if use:
            keep_advice.use_sizes(y, learned)
            typer.echo("These are the settings now.", err=True)


def lift(
    tag: Tag,
    reach: Annotated[str | None, typer.Option(help="Hands in front of the ankles, for NIOSH.")] = None,
    height: Annotated[str | None, typer.Option(help="Hands above the floor at the start.")] = None,
    travel: Annotated[str | None, typer.Option(help="How far up or down it goes.")] = None,
    twist: Annotated[float, typer.Option(min=0, help="Degrees you turn.")] = 0,
    carried: Annotated[bool, typer.Option("--carried", help="It is carried, not only lifted.")] = False,
    file: YardFile = None,
) -> None:
    """Say how heavy a piece is and how many people it asks for: a guide, never a limit to rely on."""
    from stockyard.desk import lifting

    said = (reach, height, travel)
    if any(said) and not all(said):
        raise BadInput("the NIOSH equation needs --reach, --height and --travel together")
    hands = None
    if reach and height and travel:
        hands = lifting.Lifting(reach=reach, height=height, travel=travel, twist=twist, carried=carried)
    with open_yard(file) as y:
        advice = lifting.lift(y, tag, hands)
    for sentence in advice.says:
        typer.echo(sentence)
