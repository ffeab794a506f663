"""How heavy a piece is, and how many people it asks for: a guide, never a limit to rely on."""

from __future__ import annotations

from dataclasses import dataclass

from stockyard import handling
from stockyard.desk.shelve_advice import stored
from stockyard.errors import BadInput, Refused
from stockyard.figures import GRAMS_PER_LB, weight
from stockyard.measure import TICKS_PER_INCH, Unit, Weight, parse
from stockyard.yard import Yard
from stockyard.yard.materials import material
from stockyard.yard.pieces import by_tag


@dataclass(frozen=True, slots=True, kw_only=True)
class Lifting:
    """How the hands are at the start of a lift, as typed: see `handling.Hoist`."""

    reach: str
    height: str
    travel: str
    twist: float = 0
    carried: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftAdvice:
    """The weight of a piece and the advice on it, in sentences; `people` is how many, without the weight."""

    tag: str
    weight: Weight
    says: tuple[str, ...]
    people: str = ""


def lift(yard: Yard, tag: str, lifting: Lifting | None = None) -> LiftAdvice:
    """Return the advice on lifting a piece; with `lifting` by the NIOSH equation too.

    Raises:
        BadInput: no such tag, or a text that is no length. Refused: its material has no density.
    """
    with yard.reading():
        piece = by_tag(yard, tag)
        own = material(yard, piece.material_id)
        grams = stored(piece, own).grams
        unit = yard.unit
    if grams is None:
        raise Refused(f"{own.title} has no density", "no density", {"material": own.title})
    says = [f"{piece.tag}: {handling.lift(grams, unit).says} (HSE guide figures)."]
    if lifting is not None:
        sides = (lifting.reach, lifting.height, lifting.travel)
        if not all(sides):
            raise BadInput("the NIOSH equation needs reach, height and travel together")
        inches = [parse(text, unit) / TICKS_PER_INCH for text in sides]
        hoist = handling.Hoist(
            horizontal=inches[0], vertical=inches[1], travel=inches[2], twist=lifting.twist,
            carried=lifting.carried,
        )  # fmt: skip
        says.append(_niosh(hoist, grams, unit))
    says.append("Guides only: go by your own strength, the maker's advice and your local rules.")
    people = handling.lift(grams).says.partition(": ")[2]
    return LiftAdvice(tag=piece.tag, weight=grams, says=tuple(says), people=people)


def _niosh(hoist: handling.Hoist, grams: int, unit: Unit) -> str:
    if reasons := handling.outside_niosh(hoist):
        return f"The NIOSH lifting equation does not cover it: {', '.join(reasons)}."
    pounds = handling.niosh_limit(hoist)
    if not pounds:
        return "NIOSH: out of the equation's reach; do not lift it this way."
    index = float(grams / GRAMS_PER_LB) / pounds
    return (
        f"NIOSH recommended weight {weight(round(pounds * GRAMS_PER_LB), unit)}, "
        f"lifting index {index:.2f} (1 or less is sought)."
    )
