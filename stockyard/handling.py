"""Weight, lifting, rack loads and sag: cautions that defer to the plate, the maker and local rules.

Lengths are ticks, weights grams; sag is an estimate and comes in millimetres. Words are in the shop's unit.
Nothing here is a licence to lift or load: every verdict is a filter that says when to stop and think.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from typing import NamedTuple

from stockyard import figures
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit, Weight

GRAVITY = 9.806_65
"""Standard gravity, m/s²: newtons in a kilogram."""

# A bracket every other 16 in stud (Fine Woodworking, December 2005, lumber storage).
SUPPORT_SPACING = 32 * TICKS_PER_INCH


def weight(length: int, width: int, thickness: int, density: int) -> Weight:
    """Return grams of a piece from its *measured* size in ticks and its density in kg/m³."""
    return Weight(round(length * width * thickness * density / (TICKS_PER_MM**3 * 10**6)))


# --- lifting: HSE guide figures ----------------------------------------------------------------


class Zone(StrEnum):
    """Height at which the load is held, close to the body."""

    HEAD = "head"
    SHOULDER = "shoulder"
    ELBOW = "elbow"
    KNUCKLE = "knuckle"
    LOWER_LEG = "lower leg"


class Figure(NamedTuple):
    """HSE's two guide figures for a zone in grams: the lower for women, the higher for men."""

    lower: int
    higher: int


# HSE L23 and INDG143, as restated by training publishers: two hands, close to the body.
GUIDE = {
    Zone.HEAD: Figure(7_000, 10_000),
    Zone.SHOULDER: Figure(13_000, 20_000),
    Zone.ELBOW: Figure(16_000, 25_000),
    Zone.KNUCKLE: Figure(13_000, 20_000),
    Zone.LOWER_LEG: Figure(7_000, 10_000),
}
# INDG143: share kept at so many lifts a minute; figures between two of its bands take the stricter.
_PACE = ((1, 100), (3, 70), (9, 50))
_PACE_FASTEST = 20


def reduced(figure: int, *, twist: float = 0, per_minute: float = 0) -> int:
    """Return a guide figure in grams less what twisting (degrees) and pace take off it (INDG143)."""
    turn = 80 if twist > 90 else 90 if twist > 45 else 100
    pace = next((share for below, share in _PACE if per_minute < below), _PACE_FASTEST)
    return figure * turn * pace // 10_000


def team_figure(figures: Sequence[int]) -> int:
    """Return what one to three people may lift together, in grams, from each one's own figure.

    Two keep 2/3 of their sum, three 1/2 (HSE L23).

    Raises:
        BadInput: nobody, or more than three.
    """
    shares = {1: (1, 1), 2: (2, 3), 3: (1, 2)}
    if len(figures) not in shares:
        raise BadInput(f"{len(figures)} people: a guide figure is for one, two or three")
    top, bottom = shares[len(figures)]
    return sum(figures) * top // bottom


@dataclass(frozen=True, slots=True)
class Lift:
    """How many people a piece asks for (None: do not lift it by hand) and that in a sentence."""

    people: int | None
    says: str


def lift(grams: int, unit: Unit = Unit.MM, figure: Figure = GUIDE[Zone.ELBOW]) -> Lift:
    """Return the verdict on lifting one piece: a guide, not a limit.

    `figure` is for the zone it is held in; teams are of people at the higher figure, as in HSE's
    own example of two at 25 kg.
    """
    told = figures.weight(grams, unit)
    if grams <= figure.lower:
        return Lift(1, f"{told}: one person, held close")
    if grams <= figure.higher:
        return Lift(1, f"{told}: over the lower guide figure; one person only if it is well within you")
    for people in (2, 3):
        if grams <= team_figure([figure.higher] * people):
            word = {2: "two", 3: "three"}[people]
            return Lift(people, f"{told}: {word} people, or a panel cart")
    return Lift(None, f"{told}: over the guide even for three; use a cart or break it down first")


# --- lifting: the NIOSH equation ---------------------------------------------------------------


class Coupling(StrEnum):
    """How well the hands hold the load; a bulky sheet is poor (NIOSH 94-110, Table 6, note 5)."""

    GOOD = "good"
    FAIR = "fair"
    POOR = "poor"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hoist:
    """One two-handed lift in NIOSH's terms: inches, degrees; `pace` is the frequency multiplier.

    The flags name work the equation leaves out.
    """

    horizontal: float
    vertical: float
    travel: float
    twist: float = 0
    pace: float = 1.0
    coupling: Coupling = Coupling.POOR
    one_handed: bool = False
    carried: bool = False
    seated_or_kneeling: bool = False
    cramped: bool = False
    unsteady: bool = False
    over_eight_hours: bool = False


LOAD_CONSTANT_LB = 51.0
# Table 1 prints these two a hundredth above 10/H.
_PRINTED_REACH = {22: 0.46, 23: 0.44}


def outside_niosh(hoist: Hoist) -> tuple[str, ...]:
    """Return why the equation does not apply to this lift (NIOSH 94-110, p. 6); empty when it does."""
    reasons = {
        "one-handed": hoist.one_handed,
        "carried or pushed, not only lifted": hoist.carried,
        "seated or kneeling": hoist.seated_or_kneeling,
        "too little room to stand": hoist.cramped,
        "an unsteady load": hoist.unsteady,
        "more than eight hours": hoist.over_eight_hours,
    }
    return tuple(reason for reason, holds in reasons.items() if holds)


def niosh_multipliers(hoist: Hoist, *, printed: bool = False) -> tuple[float, ...]:
    """Return HM, VM, DM, AM, FM, CM (NIOSH 94-110, pp. 7-12).

    `printed` gives them as the publication's tables print them, to two decimals, with the two
    entries of Table 1 that are not 10/H rounded; otherwise they follow the formulas.
    """
    reach, height, way = max(hoist.horizontal, 10.0), hoist.vertical, max(hoist.travel, 10.0)
    hm = 10 / reach if reach <= 25 else 0.0
    vm = 1 - 0.0075 * abs(height - 30) if 0 <= height <= 70 else 0.0
    dm = 0.82 + 1.8 / way if way <= 70 else 0.0
    am = 1 - 0.0032 * hoist.twist if hoist.twist <= 135 else 0.0
    low = height < 30
    cm = {Coupling.GOOD: 1.0, Coupling.FAIR: 0.95 if low else 1.0, Coupling.POOR: 0.9}[hoist.coupling]
    if printed:
        hm = _PRINTED_REACH.get(round(reach), hm)
        hm, vm, dm, am = (_two_places(m) for m in (hm, vm, dm, am))
    return hm, vm, dm, am, hoist.pace, cm


def niosh_limit(hoist: Hoist, *, printed: bool = False) -> float:
    """Return the recommended weight limit in pounds (NIOSH 94-110).

    Raises:
        BadInput: the equation does not apply to this lift.
    """
    if reasons := outside_niosh(hoist):
        raise BadInput(f"the NIOSH equation leaves out this lift: {', '.join(reasons)}")
    limit = LOAD_CONSTANT_LB
    for multiplier in niosh_multipliers(hoist, printed=printed):
        limit *= multiplier
    return limit


def _two_places(value: float) -> float:
    # Through a short decimal, so that 0.925 rounds up as the tables do.
    return float(Decimal(f"{value:.6f}").quantize(Decimal("0.01"), ROUND_HALF_UP))


# --- what a place carries ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Load:
    """Weight on a place against the user's plate. `over` is None when no plate is known."""

    total: int
    rated: int | None
    over: bool | None
    says: str


def place_load(total: int, rated: int | None, unweighed: int = 0, unit: Unit = Unit.MM) -> Load:
    """Return the verdict on `total` grams at a place rated for `rated` by its plate.

    A capacity is never guessed; `unweighed` pieces (no density known) are said, not left out.
    """
    missing = f"; {unweighed} more without a known weight" if unweighed else ""
    told = figures.weight(total, unit)
    if rated is None:
        return Load(total, None, None, f"{told}{missing}; no rated load recorded: read the maker's plate")
    plate = figures.weight(rated, unit)
    if total > rated:
        return Load(total, rated, True, f"{told}{missing}: over the {plate} on the plate, take some off")
    return Load(total, rated, False, f"{told} of {plate} on the plate{missing}")


# --- sag ---------------------------------------------------------------------------------------


class Ends(StrEnum):
    """How a beam is loaded and held."""

    SIMPLE = "even load on two rests"
    CLAMPED = "even load, both ends clamped"
    CENTRE = "load in the middle of two rests"
    OVERHANG = "even load, held at one end"


# Wood Handbook (FPL-GTR-190) Table 9-1: bending and shear constants k_b, k_s. The last two rows and
# their shear constants are from memory.
_TABLE_9_1 = {
    Ends.SIMPLE: (5 / 384, 1 / 8),
    Ends.CLAMPED: (1 / 384, 1 / 8),
    Ends.CENTRE: (1 / 48, 1 / 4),
    Ends.OVERHANG: (1 / 8, 1 / 2),
}
# The eye sees 1/32 in a foot; aim at 0.02 in a foot when new (Fine Woodworking, Building Furniture, 2007).
_SEEN = 1 / 32 / 12
_WISE = 0.02 / 12


def sag(
    span: int,
    breadth: int,
    depth: int,
    newtons: float,
    stiffness: float,
    *,
    ends: Ends = Ends.SIMPLE,
    shear: float | None = None,
) -> float:
    """Return the first deflection in millimetres (Wood Handbook, FPL-GTR-190, eq. 9-2).

    `span`, `breadth` and `depth` (upright) are ticks, `newtons` the whole load, `stiffness` E and
    `shear` G in MPa; without `shear` the shear term is left out. Over years it may about double.
    """
    run, b, h = (ticks / TICKS_PER_MM for ticks in (span, breadth, depth))
    k_b, k_s = _TABLE_9_1[ends]
    bending = k_b * newtons * run**3 / (stiffness * b * h**3 / 12)
    return bending + (k_s * newtons * run / (shear * 5 * b * h / 6) if shear else 0.0)


def sag_says(millimetres: float, span: int, unit: Unit = Unit.MM) -> str:
    """Return what a first sag over `span` ticks looks like, in words."""
    share = millimetres / (span / TICKS_PER_MM)
    inches = millimetres * TICKS_PER_MM / TICKS_PER_INCH
    told = f"{millimetres:.1f} mm" if unit is Unit.MM else f"{inches:.2f} in"
    if share <= _WISE:
        return f"{told} sag: straight to the eye"
    if share <= _SEEN:
        return f"{told} sag: will show as it creeps; closer supports are wiser"
    return f"{told} sag: seen by eye, and may double over years; add supports"


@dataclass(frozen=True, slots=True)
class Supports:
    """How many rests a board wants, and how far it hangs over the outer ones (ticks)."""

    count: int
    overhang: int


def supports_needed(length: int, spacing: int = SUPPORT_SPACING) -> Supports:
    """Return the rests under a board `length` long, `spacing` apart, hanging over at most half of that."""
    count = max(2, -(-length // spacing))
    return Supports(count, max(0, length - (count - 1) * spacing) // 2)
