"""The size in an entry: figures joined by x, by or @, and which of them is the thickness."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stockyard.cutlist.draft import Order, Shop
from stockyard.cutlist.figures import Figure, Fix, Unclear, figure
from stockyard.cutlist.marks import MARKS, SAYS
from stockyard.cutlist.tokens import Token
from stockyard.measure import TICKS_PER_INCH, Unit

_SQUARE = frozenset(("sq", "square", "sq."))
# A part thicker than this is no part of a sheet or board: the figures are in doubt.
_THICKEST = 6 * TICKS_PER_INCH
_LONGEST_FEET = 24


@dataclass(frozen=True, slots=True)
class Size:
    """The figures of a size: tokens[begin:end] hold it, line[span] wrote it.

    `count_at` is the count before an @ (-1: none).
    """

    figures: tuple[Figure, ...]
    roles: tuple[str, ...]
    joints: tuple[Token, ...]
    begin: int
    end: int
    count_at: int = -1
    span: tuple[int, int] = (0, 0)


@dataclass(frozen=True, slots=True)
class Face:
    """The size read: length and width (or the two figures in doubt), thickness, nominal lumber."""

    first: Figure
    second: Figure | None
    order: Order
    thickness: Figure | None = None
    nominal: str | None = None
    marks: str = ""


def _is_at(token: Token) -> bool:
    return token.kind == "other" and token.text == "@"


def has_size(tokens: Sequence[Token]) -> bool:
    """Whether these tokens hold a size at all."""
    for before, token in itertools.pairwise(tokens):
        if token.kind == "x" or (_is_at(before) and token.kind == "fig"):
            return True
        if before.kind == "fig" and token.text.casefold() in _SQUARE:
            return True
    return False


def find_size(tokens: Sequence[Token]) -> Size | None:
    """Return the size in an entry, None if there is none.

    Raises:
        Unclear: two sizes, or a joint with no figure beside it.
    """
    found: Size | None = None
    i, n = 0, len(tokens)
    while i < n:
        if tokens[i].kind == "x":
            raise Unclear("an x with no figure before it", tokens[i].start)
        if tokens[i].kind != "fig" or not _starts(tokens, i):
            i += 1
            continue
        size = _chain(tokens, i)
        if len(size.figures) > 1 or size.count_at >= 0:
            if found:
                raise Unclear("two sizes in one entry", size.figures[0].start)
            found = size
        i = size.end
    return found


def _starts(tokens: Sequence[Token], i: int) -> bool:
    """Whether the figure at `i` begins a size: a joint, "sq" or a letter and a joint follow."""
    if _joint(tokens, i + 1):
        return True
    after = tokens[i + 1].text.casefold() if i + 1 < len(tokens) else ""
    return after in _SQUARE or (after in MARKS and _joint(tokens, i + 2))


def last_figure(tokens: Sequence[Token]) -> Size | None:
    """Return the last figure as a size by itself: the length of lumber whose section is known."""
    at = max((i for i, t in enumerate(tokens) if t.kind == "fig"), default=-1)
    if at < 0:
        return None
    return Size((figure(tokens[at].text, tokens[at].start, end=tokens[at].end),), ("",), (), at, at + 1)


def _chain(tokens: Sequence[Token], begin: int) -> Size:
    figures: list[Figure] = []
    roles: list[str] = []
    joints: list[Token] = []
    i, n, count_at = begin, len(tokens), -1
    while i < n and tokens[i].kind == "fig":
        figures.append(figure(tokens[i].text, tokens[i].start, end=tokens[i].end))
        roles.append("")
        i += 1
        if i < n and tokens[i].kind == "word":
            word = tokens[i].text.casefold()
            if word in MARKS and not (
                word == "long" and i == begin + 1 and not joints and not _joint(tokens, i + 1)
            ):
                roles[-1] = MARKS[word]
                i += 1
            elif word in _SQUARE:
                figures.append(figures[-1])
                roles.append("")
                joints.append(tokens[i])
                i += 1
        if not _joint(tokens, i):
            break
        counted = _is_at(tokens[i]) or _times(tokens, i)
        if counted and len(figures) == 1 and figures[0].whole and not roles[0]:
            count_at, figures, roles, joints = i - 1, [], [], []
            begin = i + 1
        else:
            joints.append(tokens[i])
        i += 1
    span = min(t.start for t in tokens[begin:i]), max(t.end for t in tokens[begin:i])
    return Size(tuple(figures), tuple(roles), tuple(joints), begin, i, count_at, span)


def _times(tokens: Sequence[Token], i: int) -> bool:
    """Whether the x at `i` says how many ("2x 600x400") and does not join, as its spacing tells."""

    def leans(k: int) -> bool:
        x = tokens[k]
        return x.kind == "x" and tokens[k - 1].end == x.start and x.end < tokens[k + 1].start

    return leans(i) and _joint(tokens, i + 2) and not leans(i + 2)


def _joint(tokens: Sequence[Token], i: int) -> bool:
    """Whether tokens[i] joins two figures."""
    return (
        i + 1 < len(tokens) and (tokens[i].kind == "x" or _is_at(tokens[i])) and tokens[i + 1].kind == "fig"
    )


def face(size: Size, shop: Shop, *, in_context: str | None, thick_said: bool) -> Face:
    """Tell length, width and thickness apart.

    `in_context` is the nominal lumber a heading gives; `thick_said` when line or heading name a thickness.

    Raises:
        Unclear: more figures than a part has, nominal or actual lumber, thickness not plain to see.
    """
    figures = size.figures
    if len(figures) > 3:
        raise Unclear(f"{len(figures)} figures: a part has length, width and thickness", figures[0].start)
    if any(size.roles) and size.roles != ("", "", "L"):
        return _by_roles(size)
    if nominal := _nominal(size, shop, thick_said=thick_said):
        length = figures[2]
        _doubt_feet(length)
        return Face(length, None, Order.SAID, nominal=nominal)
    if any(size.roles):
        return _by_roles(size)
    if len(figures) == 1:
        if not in_context:
            raise Unclear("only one figure: how wide is it?", figures[0].start)
        return Face(figures[0], None, Order.SAID, nominal=in_context)
    if len(figures) == 2:
        return Face(figures[0], figures[1], Order.UNSAID)
    return _three(size)


def _by_roles(size: Size) -> Face:
    """Tell the figures apart by the marks beside them; marks that leave the grain open stay in `marks`."""
    by = {role: f for role, f in zip(size.roles, size.figures, strict=True) if role}
    bare = [f for role, f in zip(size.roles, size.figures, strict=True) if not role]
    if len(by) + len(bare) < len(size.figures):
        raise Unclear("one letter beside two figures", size.span[0])
    sides = [role for role in by if role != "T"]
    if len(sides) == 3:
        raise _no_thickness(size, by)
    if len(size.figures) - len(sides) - ("T" in by) == len(bare) == 1 and len(sides) == 2:
        by["T"], bare = bare[0], []
    if len(bare) + len(sides) != 2:
        raise Unclear("say which figure is length, width, thickness", size.span[0])
    if not sides:
        return Face(bare[0], bare[1], Order.UNSAID, by["T"])
    if bare:
        return _one_marked(size, by, sides[0], bare[0])
    a, b = sides
    if "L" in sides:
        across = by[b if a == "L" else a]
        return Face(by["L"], across, Order.SAID, by.get("T"))
    return Face(by[a], by[b], Order.MARKED, by.get("T"), marks=a + b)


def _one_marked(size: Size, by: Mapping[str, Figure], mark: str, bare: Figure) -> Face:
    """Read a face of which one side is marked.

    Raises:
        Unclear: the mark leaves open which side lies along the grain.
    """
    marked, thickness = by[mark], by.get("T")
    if mark == "L":
        return Face(marked, bare, Order.SAID, thickness)
    if mark == "W" and _measure(marked, size) < _measure(bare, size):
        return Face(bare, marked, Order.SAID, thickness)
    thick = f" x {thickness.text} T" if thickness else ""
    fixes = tuple(
        Fix(f"{a.text} lies along the grain", *size.span, f"{a.text} L x {b.text} W{thick}")
        for a, b in ((marked, bare), (bare, marked))
    )
    unclear = f"{marked.text} is the {SAYS[mark]}: which figure lies along the grain?"
    raise Unclear(unclear, size.span[0], fixes)


def _no_thickness(size: Size, by: Mapping[str, Figure]) -> Unclear:
    """Return the doubt about three outside measures: each may be the thickness, the least first."""
    fixes = []
    for thin in sorted(by, key=lambda role: _measure(by[role], size)):
        text = " x ".join(f"{f.text} {'T' if role == thin else role}" for role, f in by.items())
        fixes.append(Fix(f"{by[thin].text} is the thickness", *size.span, text))
    return Unclear("three outside measures: which one is the thickness?", size.span[0], tuple(fixes))


def _measure(f: Figure, size: Size) -> int:
    """Return a figure in ticks, bare ones in the unit marked beside them, for comparing within a line."""
    return f.ticks(next((other.unit for other in size.figures if other.unit), Unit.MM))


def _nominal(size: Size, shop: Shop, *, thick_said: bool) -> str | None:
    """Return the lumber name of a size such as 2x4 @ 37, None when its figures are what they say."""
    if len(size.figures) < 2:
        return None
    a, b = size.figures[:2]
    name = f"{a.text}x{b.text}"
    if a.unit or not b.whole or size.joints[0].kind != "x" or shop.lumber.actual(name) is None:
        return None
    tight = a.end == size.joints[0].start and size.joints[0].end == b.start
    actual = Fix(f'{a.text}" x {b.text}" as measured', a.start, b.end, f'{a.text}" x {b.text}"')
    if len(size.figures) == 2:
        if tight and not thick_said and a.text == "2":
            raise Unclear(f"{name} with no length: lumber, or a part of that size?", a.start, (actual,))
        return None
    joint, length = size.joints[1], size.figures[2]
    if _is_at(joint):
        return name
    if length.value < b.value or (length.fraction and length.value < a.value):
        return None
    if tight and length.start - joint.end > 0 and joint.start > b.end:
        return name
    nominal = Fix(f"{name} lumber, {length.text} long", a.start, length.end, f"{name} @ {length.text}")
    raise Unclear(f"{name}: lumber by name, or as measured?", a.start, (nominal, actual))


def _doubt_feet(length: Figure) -> None:
    if length.whole and 6 <= length.value <= _LONGEST_FEET:
        t = length.text
        fixes = (
            Fix(f"{t} ft", length.start, length.end, f"{t}'"),
            Fix(f"{t} in", length.start, length.end, f'{t}"'),
        )
        raise Unclear(f"lumber {t} long: feet or inches?", length.start, fixes)


def _rough(f: Figure, unit: Unit | None) -> float:
    """Size for comparing the figures of one line; bare ones take the unit marked beside them."""
    return float(f.value if f.unit or unit is None else f.ticks(unit))


def _three(size: Size) -> Face:
    """Tell thickness x width x length from length x width x thickness by where the least figure stands."""
    a, b, c = size.figures
    units = {f.unit for f in size.figures if f.unit}
    unit = next(iter(units)) if len(units) == 1 else None
    ra, rb, rc = (_rough(f, unit or (Unit.INCH if units else None)) for f in size.figures)
    if unit and min(ra, rb, rc) > _THICKEST:
        bare = [f for f in size.figures if not f.unit]
        metric = tuple(Fix(f"{f.text} is millimetres", f.start, f.end, f"{f.text} mm") for f in bare)
        raise Unclear("no figure is thin enough for a thickness", a.start, metric)
    if ra <= rb and ra < rc:
        return Face(b, c, Order.AFTER_THICKNESS, a)
    if rc <= rb and rc < ra:
        return Face(a, b, Order.UNSAID, c)
    if ra == rb == rc:
        return Face(a, b, Order.SAID, c)
    letters = ("LWT", "WLT", "TWL", "LTW", "WTL")
    fixes = tuple(
        Fix(text, a.start, c.end, text)
        for role in letters[3:]
        for text in (" x ".join(f"{f.text}{r}" for f, r in zip(size.figures, role, strict=True)),)
    )
    raise Unclear("the least figure stands in the middle: which is the thickness?", a.start, fixes)
