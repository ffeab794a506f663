"""The racks: shelving pieces, finding them, moving them, measuring them again, what lies where."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from stockyard.advice.shelving import Suggestion
from stockyard.desk.shelve_advice import misfits, place_for_new
from stockyard.desk.shown import FlawLine, PieceLine, flaw_line, lines, lines_of
from stockyard.desk.thickness import doubt, refuse_doubtful
from stockyard.errors import BadInput
from stockyard.figures import money, size
from stockyard.kinds import Kind
from stockyard.measure import Area, parse, read_size
from stockyard.yard import Yard, correcting, measuring, pieces, search
from stockyard.yard.correcting import Correction
from stockyard.yard.intake import (
    Lot,
    full_arrival,
    offcut_arrival,
    read_flaw,
    read_money,
)
from stockyard.yard.materials import material, named
from stockyard.yard.model import Piece
from stockyard.yard.piece_table import COLUMNS, MOST_BYTES, read_pieces, template
from stockyard.yard.pieces import Arrival
from stockyard.yard.places import places
from stockyard.yard.planned import BrokenPlan
from stockyard.yard.plans import broken_plan

__all__ = [
    "COLUMNS", "MOST_BYTES", "Facts", "Fit", "Found", "Measured", "Placed", "Suggestion", "ToShelve",
    "at_place", "correct", "find", "lines_of", "measure", "move", "shelve", "shelve_table", "template",
    "unpriced",
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class ToShelve:
    """Equal pieces to be put at a place, as a person says it.

    `offcut` is the size of an offcut; without it they are full pieces of `size`, or of the only size on
    sale. `cost` is for one, today's price if left out. `flaws` are as '80 x 120 at 300, 45' from corner 0.
    """

    material: str
    place: str
    size: str | None = None
    offcut: str | None = None
    count: int = 1
    thickness: str | None = None
    cost: str | None = None
    supplier: str = ""
    note: str = ""
    flaws: tuple[str, ...] = ()
    sure: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What a piece really is, as a person says it; None is not said. `cost` is for it alone."""

    material: str | None = None
    cost: str | None = None
    supplier: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """Pieces just put somewhere, and remarks where the place does not suit them.

    `judged` says what nobody said and was taken from the sizes on sale, that no price is known, or that a
    thickness is odd.
    """

    pieces: tuple[PieceLine, ...]
    remarks: tuple[str, ...]
    judged: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A piece that is large enough, how much too large it is, and whether it fits turned.

    `clear` is its biggest rectangle without a flaw.
    """

    piece: PieceLine
    place: str
    spare: Area
    turned: bool
    clear: FlawLine


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What was looked for in words, the free pieces that fit, and if there are none the promised ones."""

    asked: str
    fits: tuple[Fit, ...]
    promised: tuple[Fit, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A piece as measured again, the plan that its size breaks, whether it was FULL until now, and
    whether the label on it says another size.
    """

    piece: PieceLine
    broken: BrokenPlan | None
    ripped: bool
    relabel: bool


def shelve(yard: Yard, wanted: ToShelve) -> Placed:
    """Put new equal pieces on a rack, each with a new tag: one deed.

    Raises:
        BadInput: no such material or place, or a text that is no size, thickness or amount.
        Refused: a thickness beyond the material's tolerance of which nobody is `sure`.
    """
    with yard.reading():
        arrival = _arrival(yard, wanted)
        if not wanted.sure:
            refuse_doubtful(named(yard, wanted.material), arrival.thickness, yard.unit)
    return _placed(yard, pieces.shelve(yard, (arrival,)))


def places_for(yard: Yard, wanted: ToShelve) -> tuple[Suggestion, ...]:
    """Return every place judged for one of the pieces to be shelved, best first; its own place is not read.

    Raises:
        BadInput: as `shelve`.
    """
    with yard.reading():
        own = next(iter(places(yard)), None)
        if own is None:
            raise BadInput("the yard has no place yet: add one first", "no places")
        arrival = _arrival(yard, replace(wanted, place=own.code))
        return place_for_new(yard, arrival)


def unpriced(yard: Yard, wanted: ToShelve) -> bool:
    """Whether nothing tells what these full pieces cost: no price is said, and no size is on sale.

    Raises:
        BadInput: as `shelve`.
    """
    with yard.reading():
        arrival = _arrival(yard, wanted)
    return wanted.cost is None and arrival.kind is Kind.FULL and not arrival.cost


def correct(yard: Yard, tag: str, wanted: Facts) -> Measured:
    """Correct what is recorded of a piece besides its size: one deed.

    Raises:
        BadInput: no such tag or material, or no amount. Refused: it is cut or gone, or is so already.
    """
    (before,) = lines_of(yard, (tag,))
    own = named(yard, wanted.material).id if wanted.material else None
    cost = read_money(wanted.cost, yard.settings.currency) if wanted.cost else None
    change = Correction(material_id=own, cost=cost, supplier=wanted.supplier, note=wanted.note)
    return _changed(yard, before, correcting.correct(yard, tag, change))


def shelve_table(yard: Yard, content: bytes, name: str) -> Placed:
    """Shelve every row of a CSV file, or none: one deed. `name` is the file's, for what is said of it.

    Raises:
        BadInput: the file cannot be read, or rows are wrong; each is named by its line.
    """
    with yard.reading():
        table = read_pieces(yard, content, name)
        arrived = {(a.material_id, a.thickness) for a in table.arrivals}
        odd = sorted(filter(None, (doubt(material(yard, m), thick, yard.unit) for m, thick in arrived)))
    placed = _placed(yard, pieces.shelve(yard, table.arrivals))
    return replace(placed, judged=(*table.judged, *(f"Look: {says}." for says in odd), *placed.judged))


def _arrival(yard: Yard, wanted: ToShelve) -> Arrival:
    if wanted.offcut is not None and wanted.size is not None:
        raise BadInput("it is a full piece of a size or an offcut, not both")
    stuff = named(yard, wanted.material)
    lot = Lot(
        count=wanted.count,
        thickness=parse(wanted.thickness, yard.unit) if wanted.thickness else None,
        cost=read_money(wanted.cost, yard.settings.currency) if wanted.cost else None,
        supplier=wanted.supplier,
        note=wanted.note,
        flaws=tuple(read_flaw(text, yard.unit) for text in wanted.flaws),
    )
    if wanted.offcut is not None:
        return offcut_arrival(yard, stuff, wanted.offcut, wanted.place, lot)
    return full_arrival(yard, stuff, wanted.size, wanted.place, lot)


def find(yard: Yard, text: str, *, turn: bool = True, limit: int = 20, biggest: bool = False) -> Found:
    """Return free pieces at least as large as asked for clear of flaws, the least waste first.

    `text` is a size and words of a material in any order. `turn` False keeps the first figure along the
    grain. `biggest` puts the biggest clear rectangle first.

    Raises:
        BadInput: nothing asked, a size that cannot be read, or words that no material has.
    """
    with yard.reading():
        wanted = search.read_wanted(yard, text)
        look = partial(search.find, yard, wanted, turn=turn, limit=limit, biggest=biggest)
        fits = look()
        promised = () if fits else look(free=False)
        return Found(asked=wanted.says(yard.unit), fits=_fits(yard, fits), promised=_fits(yard, promised))


def _fits(yard: Yard, found: Sequence[search.Fit]) -> tuple[Fit, ...]:
    return tuple(
        Fit(piece=line, place=f.place, spare=Area(f.spare), turned=f.turned, clear=flaw_line(f.clear))
        for f, line in zip(found, lines(yard, [f.piece for f in found]), strict=True)
    )


def at_place(yard: Yard, place: str) -> tuple[PieceLine, ...]:
    """Return what lies at a place, from the top down.

    Raises:
        BadInput: no such place.
    """
    with yard.reading():
        return lines(yard, pieces.at_place(yard, place))


def move(yard: Yard, tags: Sequence[str], place: str) -> Placed:
    """Put pieces on top at a place, in the order given: one deed.

    Raises:
        BadInput: no tags, or no such tag or place. Refused: one is cut or gone.
    """
    return _placed(yard, pieces.move(yard, tags, place))


def move_place(yard: Yard, place: str, to: str) -> Placed:
    """Move all that lies at a place to another, what is lowest first: one deed.

    Raises:
        BadInput: no such place, or nothing lies there.
    """
    with yard.reading():
        found = pieces.at_place(yard, place)
    if not found:
        raise BadInput(f"nothing lies at {place}")
    return _placed(yard, pieces.move(yard, [p.tag for p in reversed(found)], to))


def measure(
    yard: Yard,
    tag: str,
    size: str | None,
    thickness: str | None = None,
    *,
    larger: bool = False,
    sure: bool = False,
    flaws: Sequence[str] = (),
    instead: bool = False,
) -> Measured:
    """Write down the size of a piece as really measured, and its flaws: one deed.

    `size` None: as recorded. `larger`: the record was too small. `flaws` come to those known, or `instead`
    of them.

    Raises:
        BadInput: no such tag, no size or no flaw, or one outside the piece.
        Refused: it is cut or gone, would have grown, or has a thickness beyond its material's tolerance of
            which nobody is `sure`.
    """
    own = pieces.by_tag(yard, tag)
    length, width = read_size(size, yard.unit) if size else (own.length, own.width)
    seen = [read_flaw(text, yard.unit) for text in flaws]
    thick = parse(thickness, yard.unit) if thickness else None
    (before,) = lines_of(yard, (tag,))
    if not sure:
        refuse_doubtful(material(yard, own.material_id), thick, yard.unit)
    piece = measuring.remeasure(yard, tag, length, width, thick, larger=larger, flaws=seen, instead=instead)
    return _changed(yard, before, piece)


def _changed(yard: Yard, before: PieceLine, piece: Piece) -> Measured:
    with yard.reading():
        (line,) = lines(yard, (piece,))
        return Measured(
            piece=line,
            broken=broken_plan(yard, piece),
            ripped=(before.word, line.word) == ("full", "offcut"),
            relabel=before.labelled and not line.labelled,
        )


def _placed(yard: Yard, found: Sequence[Piece]) -> Placed:
    with yard.reading():
        shown = lines(yard, found)
        return Placed(pieces=shown, remarks=misfits(yard, found), judged=tuple(_priced(yard, shown)))


def _priced(yard: Yard, found: Sequence[PieceLine]) -> Iterator[str]:
    """Say of which full pieces nobody named a price."""
    unit, currency = yard.unit, yard.settings.currency
    kinds = {(p.material, p.length, p.width): p for p in found if p.kind is Kind.FULL}
    for (name, length, width), p in kinds.items():
        what = f"No price is known of {name} {size(length, width, unit)}"
        if p.guessed:
            yield f"{what}: taken as {money(p.cost, currency)} each, by area from the sizes on sale."
        elif not p.cost:
            yield f"{what}: it counts as free until one is named."
