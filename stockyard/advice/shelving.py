"""Where a piece goes: places ranked by fit, company, load, support and reach, each with its reasons.

Advice only: the person may put it anywhere. Lengths are ticks, weights grams; 0 means not recorded.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum

from stockyard import handling
from stockyard.figures import GRAMS_PER_KG
from stockyard.kinds import Form
from stockyard.measure import TICKS_PER_INCH, Length, Unit, Weight

# Bearers under a flat stack lie at most 24 in apart (common practice, no source).
BEARER_SPACING = 24 * TICKS_PER_INCH


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored:
    """One piece as a rack sees it. `thickness` is measured; `grams` None when no density is known."""

    material: str
    thickness_name: str
    length: Length
    width: Length
    thickness: Length
    grams: Weight | None = None
    full: bool = True
    form: Form = Form.SHEET


@dataclass(frozen=True, slots=True)
class Around:
    """A place that holds other places: its plate and all the weight in it."""

    code: str
    rated_load: Weight | None
    total: Weight


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One place and what it holds.

    `stacked`: pieces lie on each other, last in first out; `standing`: they stand on edge; neither:
    they rest on brackets side by side. `length` runs along the pieces, `width` is the depth of a
    shelf or the run of an upright slot, `height` is clear height. `supports` rest a whole length.
    `around` are the places it stands in.
    """

    code: str
    stacked: bool = False
    standing: bool = False
    length: Length = Length(0)
    width: Length = Length(0)
    height: Length = Length(0)
    supports: int = 0
    rated_load: Weight | None = None
    walk: int = 0
    held: tuple[Stored, ...] = ()
    around: tuple[Around, ...] = ()

    @property
    def rest_gap(self) -> int:
        """Distance between neighbouring supports, 0 when not recorded."""
        return self.length // self.supports if self.supports >= 2 else 0


class Company(IntEnum):
    """What already lies there, best first."""

    SAME = 0
    SAME_THICKNESS = 1
    EMPTY = 2
    OTHER = 3


_COMPANY_SAYS = {
    Company.SAME: "the same material lies there",
    Company.SAME_THICKNESS: "the same thickness lies there",
    Company.EMPTY: "it is empty",
    Company.OTHER: "other material lies there",
}


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One place judged: `against` holds what rules it out, `cautions` what to look at first."""

    code: str
    ok: bool
    says: str
    against: tuple[str, ...]
    cautions: tuple[str, ...]
    company: Company
    buries: int
    alike: int = 0
    """How many pieces of the same material and thickness lie there."""
    astray: bool = False
    """Whether the place is one of full pieces and this an offcut, or the other way round."""
    unsuited: int = 0
    """How little the way to store suits it: boards want brackets, then a slot; sheets anything but brackets
    (common practice, no source)."""


def fill(spot: Spot, extra: Stored | None = None) -> int | None:
    """Return how full a place is, in per cent of its room, with `extra` added; None if not recorded."""
    held = (*spot.held, extra) if extra else spot.held
    room: int
    used: int
    if spot.standing:
        room, used = spot.width, sum(p.thickness for p in held)
    elif spot.stacked:
        room, used = spot.height, sum(p.thickness for p in held)
    else:
        room, used = spot.width * spot.height, sum(p.width * p.thickness for p in held)
    return used * 100 // room if room else None


def load(spot: Spot, extra: Stored | None = None, unit: Unit = Unit.MM) -> handling.Load:
    """Return the weight on a place against its plate, with `extra` added."""
    held = (*spot.held, extra) if extra else spot.held
    known = [p.grams for p in held if p.grams is not None]
    return handling.place_load(sum(known), spot.rated_load, len(held) - len(known), unit)


def rank(
    piece: Stored, spots: Iterable[Spot], *, unit: Unit = Unit.MM, stiffness: float | None = None
) -> tuple[Suggestion, ...]:
    """Return every place judged for `piece`, best first, the ruled-out ones last, its figures in `unit`.

    `stiffness` is the material's E in MPa, for the sag of a board between its supports.
    """
    judged = [(_judge(piece, spot, unit, stiffness), spot) for spot in spots]
    judged.sort(key=lambda pair: _order(*pair))
    return tuple(suggestion for suggestion, _ in judged)


def _order(
    suggestion: Suggestion, spot: Spot
) -> tuple[bool, int, int, bool, Company, int, int, int, int, str]:
    return (
        not suggestion.ok,
        len(suggestion.against),
        suggestion.unsuited,
        suggestion.astray,
        suggestion.company,
        len(suggestion.cautions),
        suggestion.buries,
        -suggestion.alike,
        spot.walk,
        spot.code,
    )


def _judge(piece: Stored, spot: Spot, unit: Unit, stiffness: float | None) -> Suggestion:
    against = [*_form_against(piece, spot), *_size_against(piece, spot), *_load_against(piece, spot, unit)]
    support_against, cautions = _support(piece, spot, unit, stiffness)
    against += support_against
    if spot.rated_load is None:
        cautions.append("no rated load recorded: read the maker's plate")
    company = _company(piece, spot)
    buries = len(spot.held) if spot.stacked else 0
    on_top = f", on top of {buries}" if buries else ""
    alike = sum((p.material, p.thickness_name) == (piece.material, piece.thickness_name) for p in spot.held)
    astray = 2 * sum(p.full is not piece.full for p in spot.held) > len(spot.held)
    kind = f", but {'offcuts' if piece.full else 'full pieces'} lie there" if astray else ""
    good = f"{_COMPANY_SAYS[company]}{on_top}{kind}"
    says = "; ".join(against) if against else "; ".join([good, *cautions])
    return Suggestion(
        spot.code, not against, says, tuple(against), tuple(cautions), company, buries, alike, astray,
        _unsuited(piece, spot),
    )  # fmt: skip


def _unsuited(piece: Stored, spot: Spot) -> int:
    brackets = not spot.stacked and not spot.standing
    if piece.form is Form.SHEET:
        return int(brackets)
    return 0 if brackets else 1 if spot.standing else 2


def _form_against(piece: Stored, spot: Spot) -> list[str]:
    """Return why a board does not go on a stack of sheets: it is in the way there, and is lost under them."""
    sheets = sum(p.form is Form.SHEET for p in spot.held)
    if piece.form is Form.BOARD and spot.stacked and 2 * sheets > len(spot.held):
        return ["sheets are stacked there: a board goes on brackets or upright"]
    return []


def _company(piece: Stored, spot: Spot) -> Company:
    """Return the best description that most of what lies there meets."""
    if not spot.held:
        return Company.EMPTY
    half = len(spot.held) / 2
    thick = [p for p in spot.held if p.thickness_name == piece.thickness_name]
    if sum(p.material == piece.material for p in thick) > half:
        return Company.SAME
    return Company.SAME_THICKNESS if len(thick) > half else Company.OTHER


def _size_against(piece: Stored, spot: Spot) -> list[str]:
    """Return why the piece does not go in; sides not recorded are not judged."""
    room = (spot.length, spot.height if spot.standing else spot.width)
    sides = (piece.length, piece.width)
    # A board lies along its brackets; sheets and upright pieces may be turned.
    turns = (sides, sides[::-1]) if spot.stacked or spot.standing else (sides,)
    if not any(
        all(not have or need <= have for need, have in zip(turn, room, strict=True)) for turn in turns
    ):
        return ["it is larger than the place"]
    after = fill(spot, piece)
    return ["there is no room left"] if after is not None and after > 100 else []


def _load_against(piece: Stored, spot: Spot, unit: Unit) -> list[str]:
    loads = [("", load(spot, piece, unit))]
    for outer in spot.around:
        total = outer.total + (piece.grams or 0)
        loads.append((f"{outer.code} ", handling.place_load(total, outer.rated_load, unit=unit)))
    return [name + after.says for name, after in loads if after.over]


def _support(piece: Stored, spot: Spot, unit: Unit, stiffness: float | None) -> tuple[list[str], list[str]]:
    """Return what rules the place out and what to look at, as to what the piece would rest on."""
    gap = spot.rest_gap
    if spot.standing or not gap:
        return [], []
    if piece.length < gap:
        return (["it is shorter than the gap between two supports"], []) if not spot.stacked else ([], [])
    spacing = BEARER_SPACING if spot.stacked else handling.SUPPORT_SPACING
    if gap <= spacing:
        return [], []
    wants = handling.supports_needed(piece.length, spacing).count
    caution = f"its supports are far apart: this piece wants {wants}"
    if stiffness and piece.grams:
        newtons = piece.grams * gap / piece.length / GRAMS_PER_KG * handling.GRAVITY
        bent = handling.sag(gap, piece.width, piece.thickness, newtons, stiffness)
        caution += f" ({handling.sag_says(bent, gap, unit)})"
    return [], [caution]
