"""Advice on pieces: where one goes, whether to keep it, what to clear, how to lift it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import AsJson, YardFile, add_commands, open_yard
from stockyard.cli.tables import AsCsv, Cell, emit
from stockyard.errors import BadInput, Refused

if TYPE_CHECKING:
    from stockyard.handling import Hoist
    from stockyard.measure import Unit
    from stockyard.yard import Yard
    from stockyard.yard.model import Material

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
    if not found:
        raise Refused("there are no places yet: add one with 'stockyard place add'")
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
    from stockyard.desk.keep_advice import keep_or_bin
    from stockyard.desk.summary import money
    from stockyard.measure import MONEY

    with open_yard(file) as y:
        own, length, width, tag = _leftover(y, what, " ".join(material or ()))
        advice = keep_or_bin(y, own, length, width, tag=tag)
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


def _leftover(y: Yard, what: str, words: str) -> tuple[Material, int, int, str]:
    """Return material, length, width and tag (empty for a mere size) of what was asked about."""
    from stockyard.yard.intake import read_size
    from stockyard.yard.materials import material, named
    from stockyard.yard.pieces import by_tag

    if words:
        return (named(y, words), *read_size(what, y.unit), "")
    if any(mark in what.lower() for mark in ("x", "×", "*")) and " " in what.strip():
        raise BadInput("a size needs its material: stockyard keep '23 1/2 x 12' birch ply 3/4")
    piece = by_tag(y, what)
    return material(y, piece.material_id), piece.length, piece.width, piece.tag


def tidy(
    limit: Annotated[int, typer.Option(min=1, help="How many to list.")] = 20,
    file: YardFile = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """List the offcuts to clear out, crowded places first. Nothing is changed."""
    from stockyard.desk.keep_advice import tidy as to_clear
    from stockyard.measure import show

    with open_yard(file) as y:
        found, unit = to_clear(y, limit=limit), y.unit
    if not found and not (as_json or as_csv):
        typer.echo("Nothing to clear: every offcut on the racks is likely enough to be used.")
        return
    rows: list[list[Cell]] = [
        [c.piece.tag, c.piece.place, c.piece.material,
         f"{show(c.piece.length, unit)} × {show(c.piece.width, unit)}", c.piece.age, c.piece.depth, c.why]
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
    from stockyard.desk.keep_advice import learned_settings
    from stockyard.settings import show_value
    from stockyard.yard import change_settings

    names = ("keep_short_side", "keep_area", "whole_area", "keep_floor")
    with open_yard(file) as y:
        now, learned = y.settings, learned_settings(y)
        rows: list[list[Cell]] = [
            [n, *(show_value(n, getattr(s, n), y.unit) for s in (now, learned))] for n in names
        ]
        emit(("setting", "now", "from past jobs"), rows, as_json=as_json, as_csv=as_csv)
        if use:
            change_settings(y, learned)
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
    from stockyard import handling
    from stockyard.desk.shelve_advice import stored
    from stockyard.yard.materials import material
    from stockyard.yard.pieces import by_tag

    with open_yard(file) as y:
        piece, unit = by_tag(y, tag), y.unit
        own = material(y, piece.material_id)
    grams = stored(piece, own).grams
    if grams is None:
        raise Refused(
            f"{own.title} has no density: weigh a sheet and set it with 'stockyard material change'"
        )
    typer.echo(f"{piece.tag}: {handling.lift(grams).says} (HSE guide figures).")
    if reach and height and travel:
        typer.echo(_niosh(_hoist(unit, reach, height, travel, twist, carried), grams))
    elif reach or height or travel:
        raise BadInput("the NIOSH equation needs --reach, --height and --travel together")
    typer.echo("Guides only: go by your own strength, the maker's advice and your local rules.")


def _hoist(unit: Unit, reach: str, height: str, travel: str, twist: float, carried: bool) -> Hoist:
    from stockyard.handling import Hoist
    from stockyard.measure import TICKS_PER_INCH, parse

    inches = [parse(text, unit) / TICKS_PER_INCH for text in (reach, height, travel)]
    return Hoist(horizontal=inches[0], vertical=inches[1], travel=inches[2], twist=twist, carried=carried)


def _niosh(hoist: Hoist, grams: int) -> str:
    from stockyard import handling

    if reasons := handling.outside_niosh(hoist):
        return f"The NIOSH lifting equation does not cover it: {', '.join(reasons)}."
    pounds = handling.niosh_limit(hoist)
    kilos = pounds * handling.GRAMS_PER_LB / handling.GRAMS_PER_KG
    if not pounds:
        return "NIOSH: out of the equation's reach; do not lift it this way."
    index = grams / handling.GRAMS_PER_LB / pounds
    limit = f"NIOSH recommended weight {kilos:.1f} kg ({pounds:.1f} lb)"
    return f"{limit}, lifting index {index:.2f} (1 or less is sought)."
