"""Lumber in the yard: how many board feet pieces are, and what a board foot of a job or a month cost."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from stockyard import footage
from stockyard.advice.costs import Amount, Flow
from stockyard.figures import money
from stockyard.footage import Measure
from stockyard.kinds import Form
from stockyard.measure import TICKS_PER_INCH, Area, Money
from stockyard.yard.materials import materials
from stockyard.yard.model import Material
from stockyard.yard.store import Yard


@dataclass(frozen=True, slots=True, kw_only=True)
class LumberCost:
    """How much of one material's boards, as the shop counts lumber, and what it cost."""

    material: str
    area: Area
    count: Fraction
    money: Money
    measure: str
    says: str


def board_feet(m: Material, length: int, width: int, *, tally: bool = False) -> Fraction:
    """Return the board feet of a piece of boards (ticks); `tally` as a lumber yard counts whole ones."""
    return footage.board_feet(length, width, m.thickness_name, m.thickness, tally=tally)


def measured(yard: Yard, m: Material, length: int, width: int, *, full: bool) -> str:
    """Say how much lumber a piece of boards is, `full` ones as they are tallied; empty for sheets."""
    if m.form is not Form.BOARD:
        return ""
    measure = footage.usual(yard.unit)
    return footage.words(
        footage.amount(measure, length, width, m.thickness_name, m.thickness, tally=full), measure
    )


_SIGN = {Flow.DRAWN: 1, Flow.REUSED: 1, Flow.RETURNED: -1}


def of_job(yard: Yard, number: int, amounts: Iterable[Amount]) -> tuple[LumberCost, ...]:
    """Return the boards that a job used up: what was drawn for it less what came back."""
    own = [(a, _SIGN[a.flow]) for a in amounts if a.job == number and a.flow in _SIGN]
    return tuple(_costs(yard, own))


def of_month(yard: Yard, month: str, amounts: Iterable[Amount]) -> tuple[LumberCost, ...]:
    """Return the boards bought in a month (YYYY-MM)."""
    return tuple(_costs(yard, [(a, 1) for a in amounts if a.flow is Flow.BOUGHT and a.day[:7] == month]))


def _costs(yard: Yard, amounts: Iterable[tuple[Amount, int]]) -> Iterator[LumberCost]:
    """Yield a line for each material of boards, by name. Counted by area, so that parts of a tally add up."""
    boards = {m.title: m for m in materials(yard) if m.form is Form.BOARD}
    found: dict[str, tuple[int, int]] = {}
    for a, sign in amounts:
        if a.material in boards:
            area, paid = found.get(a.material, (0, 0))
            found[a.material] = area + sign * a.area, paid + sign * a.money
    for title, (area, paid) in sorted(found.items()):
        m, measure = boards[title], footage.usual(yard.unit)
        count = _count(m, area, measure)
        if count <= 0:
            continue
        each = money(round(paid / count), yard.settings.currency)
        much = footage.words(count, measure)
        yield LumberCost(
            material=title, area=Area(area), count=count, money=Money(paid), measure=measure,
            says=f"{title}: {much}, {each} a {measure}",
        )  # fmt: skip


def _count(m: Material, area: int, measure: Measure) -> Fraction:
    if measure is Measure.BOARD_FOOT:
        return Fraction(area, (12 * TICKS_PER_INCH) ** 2) * footage.nominal(m.thickness_name, m.thickness)
    return footage.amount(measure, area, 1, m.thickness_name, m.thickness)
