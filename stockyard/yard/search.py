"""Finding a piece: 'anything at least 20 x 30 in half-inch ply?', best fit first."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass

from stockyard.errors import BadInput
from stockyard.flaws import Flaw, biggest_clear, clear_place
from stockyard.measure import Ambiguous, Unit, parse, parse_pair, plain, show
from stockyard.yard.materials import matching, words_of
from stockyard.yard.model import Material, Piece
from stockyard.yard.pieces import DEPTH, piece_of, read_flaws
from stockyard.yard.store import Yard

_FILLERS = frozenset(
    {
        "a",
        "an",
        "and",
        "any",
        "anything",
        "at",
        "bigger",
        "bit",
        "do",
        "for",
        "from",
        "got",
        "have",
        "i",
        "in",
    }
    | {"is", "larger", "least", "me", "min", "minimum", "need", "of", "or", "piece", "pieces", "something"}
    | {"than", "the", "there", "we", "with"}
)
_SAID = {"quarter": "1/4", "half": "1/2", "three quarter": "3/4", "three quarters": "3/4"}
_FIGURE = r"(?:\d+(?:[.,]\d+)?(?:(?:-|\s+)\d+/\d+)?|\d+/\d+|[.,]\d+)"
_LENGTH = (
    rf"{_FIGURE}\s*(?:''|'(?:\s*-?\s*{_FIGURE}\s*(?:\"|'')?)?|\"|(?:mm|cm|m|inch(?:es)?|in|ft|feet|foot)\b)?"
)
_SIZE = re.compile(rf"(?<![\w./])({_LENGTH})\s*(?:x|×|\*|by)\s*({_LENGTH})(?![\w/])", re.IGNORECASE)
_LONG = re.compile(
    rf"(?<![\w./])({_FIGURE}\s*(?:''|'(?:\s*-?\s*{_FIGURE}\s*(?:\"|'')?)?|(?:ft|feet|foot|m|cm)\b)"
    rf"|{_LENGTH}(?=\s+long\b))(\s+long\b)?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What was asked for: at least `length` by `width` (ticks, 0 any) of `materials` (None: of all)."""

    length: int
    width: int
    words: str
    materials: tuple[Material, ...] | None

    def says(self, unit: Unit) -> str:
        """Say back what was understood."""
        size = f"at least {show(self.length, unit, mark=True)}" if self.length else "any size"
        if self.width:
            size += f" × {show(self.width, unit, mark=True)}"
        return f"{size}, {self.words or 'any material'}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A piece that fits, where it is (`bench` off the racks), and the area it has too much (ticks²).

    `clear` is the biggest rectangle of it that has no flaw.
    """

    piece: Piece
    material: str
    place: str
    spare: int
    turned: bool
    clear: Flaw


def read_wanted(yard: Yard, text: str) -> Wanted:
    """Return what `text` asks for: a size and words of a material, in any order.

    In '20 x 30 1/2 ply' the 1/2 is the thickness where a material of that thickness is known (write
    30-1/2 for the other reading); `Wanted.says` tells how it was read.

    Raises:
        BadInput: nothing was asked, a size that cannot be read, or words that no material has.
    """
    asked = plain(text).lower().strip()
    if not asked or len(asked) > 200:
        raise BadInput("say what you need, such as '20 x 30 1/2 ply'")
    for said, figure in sorted(_SAID.items(), key=lambda pair: -len(pair[0])):
        asked = re.sub(rf"\b{said}[\s-]*(?:inch|in\b)?", f" {figure} ", asked)
    asked = re.sub(r"[≥>]=?", " ", asked)
    first: Wanted | None = None
    for length, width, rest in _readings(asked, yard.unit):
        words = " ".join(w for w in re.split(r"[\s,;?!]+", rest) if w and w not in _FILLERS)
        found = matching(yard, words) if words_of(words) else None
        wanted = Wanted(length=length, width=width, words=words, materials=found)
        if found is None or found:
            return wanted
        first = first or wanted
    assert first is not None, "there is always one reading"
    raise BadInput(f"no material has the words '{first.words[:60]}'", "no such material")


def _readings(text: str, unit: Unit) -> Iterator[tuple[int, int, str]]:
    """Yield (length, width, other words) for each way to read the size, the likelier first."""
    m = _SIZE.search(text)
    if m is None:
        m = _LONG.search(text)
        yield (parse(m[1], unit), 0, text[: m.start()] + " " + text[m.end() :]) if m else (0, 0, text)
        return
    before, after = text[: m.start()], text[m.end() :]
    # A loose fraction at either end of the size may be a thickness: '1/2 20 x 30' or '20 x 30 1/2'.
    if loose := re.fullmatch(r"(\d+(?:[.,]\d+)?)\s+(\d+/\d+)(.*)", m[2]):
        with suppress(Ambiguous):
            yield *parse_pair(m[1], loose[1], unit), f"{before} {loose[2]}{loose[3]} {after}"
    yield *parse_pair(m[1], m[2], unit), f"{before} {after}"


def find(
    yard: Yard,
    wanted: Wanted,
    *,
    turn: bool = True,
    limit: int = 20,
    free: bool = True,
    biggest: bool = False,
) -> tuple[Fit, ...]:
    """Return free pieces that hold what is wanted clear of flaws, the least area wasted first.

    `biggest`: the one with the biggest clear rectangle first.

    `turn` False keeps the length along the grain; True also takes pieces that fit the other way. `free`
    False looks among the pieces promised to jobs instead.
    """
    states = "'racked', 'bench'" if free else "'promised', 'pulled'"
    low, high = wanted.length, wanted.width
    fits = "(p.length >= :l AND p.width >= :w)"
    if turn:
        fits += " OR (p.length >= :w AND p.width >= :l)"
    materials = _material_filter(wanted.materials)
    asked: dict[str, object] = {"l": low, "w": high, "area": max(low * high, 1), "n": limit}
    held = f"p.state IN ({states}) AND p.area >= :area AND ({fits}) {materials}"
    order = "p.area DESC" if biggest else "p.area"
    # Flawed pieces are few: each is looked at. A piece without flaws is judged by its size alone.
    flawed = yard.rows(f"SELECT p.* FROM piece p WHERE p.flaws <> '[]' AND {held}", asked)
    clear = [row["tag"] for row in flawed if _holds(row, low, high, turn=turn) is not None]
    asked |= {f"t{n}": tag for n, tag in enumerate(clear)}
    rows = yard.rows(
        f"WITH best AS MATERIALIZED (SELECT * FROM (SELECT p.tag FROM piece p WHERE p.flaws = '[]' AND {held}"
        f" ORDER BY {order} LIMIT 5 * :n) UNION ALL SELECT tag FROM piece"
        f" WHERE tag IN ({', '.join(f':t{n}' for n in range(len(clear)))}))"
        " SELECT p.*, "
        f"{DEPTH} AS depth, w.code, m.name, m.thickness_name"
        " FROM best JOIN piece p ON p.tag = best.tag JOIN material m ON m.id = p.material_id"
        f" LEFT JOIN place w ON w.id = p.place_id ORDER BY {order}, depth, p.tag",
        asked,
    )
    found = [_fit(row, low, high, turn=turn) for row in rows]
    if biggest:
        found.sort(key=lambda f: -f.clear.dx * f.clear.dy)
    return tuple(found[:limit])


def _holds(row: sqlite3.Row, low: int, high: int, *, turn: bool) -> bool | None:
    """Return whether a piece holds what is wanted turned, None where it does not hold it clear of flaws."""
    flaws, length, width = read_flaws(row["flaws"]), row["length"], row["width"]
    if clear_place(flaws, length, width, low, high) is not None:
        return False
    return True if turn and clear_place(flaws, length, width, high, low) is not None else None


def _fit(row: sqlite3.Row, low: int, high: int, *, turn: bool) -> Fit:
    piece = piece_of(row)
    return Fit(
        piece=piece,
        material=f"{row['name']} {row['thickness_name']}",
        place=row["code"] or "bench",
        spare=row["area"] - low * high,
        turned=bool(_holds(row, low, high, turn=turn)),
        clear=biggest_clear(piece.flaws, piece.length, piece.width) or Flaw(0, 0, 0, 0),
    )


def _material_filter(materials: Sequence[Material] | None) -> str:
    """Return the condition on the material; ids are our own whole numbers."""
    if materials is None:
        return ""
    return f"AND p.material_id IN ({', '.join(str(int(m.id)) for m in materials)})"
