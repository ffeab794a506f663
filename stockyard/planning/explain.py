"""Why a part cannot be placed, in a sentence that names the nearest stock."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from stockyard.measure import Unit, show
from stockyard.planning.plan import Unplaced
from stockyard.planning.problem import Grain, Method, Part, Problem, Stock, fits, too_thin, turns
from stockyard.planning.sets import Panel, joined, panels

_MOST_NAMES = 3


def unplaced(problem: Problem, missing: Mapping[int, int]) -> tuple[Unplaced, ...]:
    """Return what is left out, with reasons; `missing` counts copies by index of the joined problem's parts.

    The members of a set are left out together.
    """
    whole, sets, first = joined(problem), panels(problem), len(problem.parts)
    found = []
    for i, n in sorted(missing.items()):
        if n <= 0:
            continue
        if i < first:
            found.append(Unplaced(problem.parts[i].id, n, why(whole, problem.parts[i])))
            continue
        panel = sets[i - first]
        reason = why_set(problem, panel)
        found += [Unplaced(problem.parts[row].id, n * k, reason) for row, k in panel.counts().items()]
    return tuple(found)


def why_set(problem: Problem, panel: Panel) -> str:
    """Return why (more of) a set cannot be cut, which piece it needs, and whether it could be cut apart."""
    whole = joined(problem)
    size = " x ".join(show(side, problem.unit, mark=True) for side in (panel.part.length, panel.part.width))
    begun = f"the set {panel.group.id} needs {size} of one piece"
    if panel.part.only == () and all(problem.parts[row].only is None for row in panel.counts()):
        return f"{begun}: no saw of the shop takes it apart"
    text = f"{begun}: {why(whole, panel.part)}"
    if any(fits(panel.part, s, problem.saws) for s in problem.stock if s.count != 0):
        return text
    apart = all(
        any(fits(problem.parts[row], s) for s in problem.stock if s.count != 0) for row in panel.counts()
    )
    return f"{text}; split, each of its parts finds a piece" if apart else text


def why(problem: Problem, part: Part) -> str:
    """Return why (more of) `part` cannot be cut from the stock."""
    if part.only is not None:
        text = why(problem, replace(part, only=None))
        return f"{text}; its batch {part.batch} comes from pieces that measure alike" if part.batch else text
    stock = [s for s in problem.stock if s.count != 0]
    material = [s for s in stock if part.materials is None or s.material in part.materials]
    if not material:
        return f"there is no {_list(part.materials)} in the stock" if part.materials else "there is no stock"
    thick = [s for s in material if part.thickness in (None, s.thickness)]
    if not thick:
        return _thickness(material, part, problem.unit)
    unplaned, thick = thick, [s for s in thick if not too_thin(part, s)]
    if not thick:
        most = max(s.measured or s.thickness or 0 for s in unplaned)
        needs = show(part.least_thickness or 0, problem.unit, mark=True)
        thickest = show(most, problem.unit, mark=True)
        return f"it is planed from {needs}, and the thickest piece measures {thickest}"
    large = [s for s in thick if fits(part, s)]
    if large and problem.method is Method.SAW and not any(fits(part, s, problem.saws) for s in large):
        return _out_of_reach(part, large, problem)
    if not large and any(fits(part, replace(s, flaws=())) for s in thick):
        what = "clamps and flaws" if problem.method is Method.ROUTER else "its flaws"
        return f"no piece{_wanted(part, problem.unit)} is large enough clear of {what}"
    if large:
        return f"every piece{_wanted(part, problem.unit)} that could give it is used for other parts"
    return _size(thick, part, problem.unit)


def _out_of_reach(part: Part, large: list[Stock], problem: Problem) -> str:
    """Name the limit of the shop's saws that a part is beyond."""
    saws, unit = problem.saws, problem.unit
    guide, fence = "no guided saw", show(saws.rip_width, unit, mark=True)
    if saws.guide_length:
        guide = f"a guided saw for cuts up to {show(saws.guide_length, unit, mark=True)} only"
    # What is named is the limit without which it could be cut.
    wide = replace(saws, rip_width=max(max(s.length, s.width) for s in large))
    if part.width > saws.rip_width and any(fits(part, s, wide) for s in large):
        limit = (
            f"wider than the fence opens ({fence})" if saws.rip_width else "there is no fence to rip it at"
        )
    elif not saws.stop_reach:
        limit = "there is no stop to cut it to length at"
        if part.length > saws.rip_width > 0:
            limit += f", it is longer than the fence opens ({fence})"
        elif saws.rip_width:
            limit += ", for the fence no piece is as wide as it is long"
    elif part.length > saws.stop_length > 0:
        limit = f"longer than any stop reaches ({show(saws.stop_length, unit, mark=True)})"
    else:
        limit = f"wider than the sled takes ({show(saws.stop_reach, unit, mark=True)})"
    return f"{limit}, and there is {guide}: nothing here can cut it"


def _list(words: Iterable[str]) -> str:
    names = list(words)
    shown = names[:_MOST_NAMES]
    more = len(names) - len(shown)
    if more:
        return f"{', '.join(shown)} or {more} more"
    return f"{', '.join(shown[:-1])} or {shown[-1]}" if len(shown) > 1 else shown[0]


def _wanted(part: Part, unit: Unit) -> str:
    """Return ` of birch ply 18 mm`, ` of birch ply`, ` 18 mm thick` or nothing."""
    thickness = f" {show(part.thickness, unit, mark=True)}" if part.thickness else ""
    if part.materials is None:
        return f"{thickness} thick" if thickness else ""
    return f" of {_list(part.materials)}{thickness}"


def _thickness(material: list[Stock], part: Part, unit: Unit) -> str:
    assert part.thickness is not None
    wanted = part.thickness
    nearest = min(material, key=lambda s: (s.thickness is None, abs((s.thickness or 0) - wanted)))
    of = f" of {_list(part.materials)}" if part.materials else ""
    text = f"no piece{of} is {show(wanted, unit, mark=True)} thick"
    if nearest.thickness is None:
        return f"{text}; {nearest.id} has no thickness given"
    return f"{text}; the nearest is {show(nearest.thickness, unit, mark=True)} ({nearest.id})"


@dataclass(frozen=True, slots=True)
class _Try:
    """A part laid on a piece one way: what it needs and what the piece has, along and across."""

    stock: Stock
    need: tuple[int, int]
    has: tuple[int, int]

    @property
    def short(self) -> int:
        """How much is missing in all."""
        return sum(max(0, n - h) for n, h in zip(self.need, self.has, strict=True))

    def room_for(self, size: int) -> int:
        """Return what the piece has in the direction in which `size` lies."""
        return max(h for n, h in zip(self.need, self.has, strict=True) if n == size)


def _tries(stock: list[Stock], part: Part) -> list[_Try]:
    found = []
    for s in stock:
        has = s.usable
        for turned in turns(part, s):
            need = (part.width, part.length) if turned else (part.length, part.width)
            found.append(_Try(s, need, has))
    return found


def _size(stock: list[Stock], part: Part, unit: Unit) -> str:
    tries = _tries(stock, part)
    wanted = _wanted(part, unit)
    for size, than, most in ((part.length, "longer", "longest"), (part.width, "wider", "widest")):
        best = max(tries, key=lambda t: t.room_for(size))
        room = best.room_for(size)
        if size > room:
            what = f"{than} than any piece{wanted}"
            text = f"{what}; the {most} is {_usable(room, unit)} usable ({best.stock.id})"
            return text + _grain(stock, part)
    near = min(tries, key=lambda t: t.short)
    has = " x ".join(_usable(h, unit) for h in near.has)
    text = f"no piece{wanted} is large enough both ways; the nearest is {has} usable ({near.stock.id})"
    return text + _grain(stock, part)


def _usable(size: int, unit: Unit) -> str:
    return show(size, unit, mark=True) if size > 0 else "nothing"


def _grain(stock: list[Stock], part: Part) -> str:
    """Say so where only the grain is in the way."""
    if part.grain is Grain.ANY:
        return ""
    free = replace(part, grain=Grain.ANY)
    piece = next((s for s in stock if fits(free, s)), None)
    if piece is None:
        return ""
    return f"; {piece.id} would do if its grain need not run {part.grain} the length"
