"""The last hand on a plan: one order of work over all pieces, cuts numbered in it, part copies named."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import repeat
from math import inf
from time import monotonic

from stockyard.effort import Effort
from stockyard.planning.plan import Bound, Cut, Layout, Plan, Status, Turn, Unplaced
from stockyard.planning.problem import Method, Problem
from stockyard.planning.sawing.cuts import Bench, Naming, Sawyer, in_order, layout
from stockyard.planning.sawing.opened import opened
from stockyard.planning.sawing.operations import (
    Care,
    Operation,
    Remains,
    by_turn,
    moves,
    studied,
)
from stockyard.planning.sawing.order import Scheduler, Task
from stockyard.planning.sawing.rough_cuts import Rougher, is_round, nearby
from stockyard.planning.tree import Axis, Pattern
from stockyard.saws import BY_ANOTHER_WAY, Caution, Setting

# A job of more cuts than this is ordered in shares of so many; of fewer in a very large job, so that the cuts
# of the whole job times those ordered together stay within a limit.
ORDERING = 240_000
MOST_ORDERED = 400


@dataclass(frozen=True, slots=True)
class Sawn:
    """One pattern on the bench: its cuts, each before those of what it gives, and what each of them is.

    `settings` is what is set for it; `price` what it takes in material, hands and saw (ticks²), but for
    setting fence and stop.
    """

    pattern: Pattern
    bench: Bench
    cuts: tuple[Bench, ...]
    operations: tuple[Operation, ...]
    settings: frozenset[Setting]
    price: int

    @property
    def is_reached(self) -> bool:
        """Whether a saw of the shop makes every cut; a trim may be made by hand."""
        return all(o.machine is not None or o.care is Care.TRIM for o in self.operations)


def sawn(problem: Problem, sawyer: Sawyer, pattern: Pattern, *, alone: bool = False) -> Sawn:
    """Return a pattern with its cuts and what they are, sawn the cheapest way if there are several.

    Unless it is cut `alone` its sizes are set for other pieces too, on whatever machine: each counts once.
    """
    ways = [
        _rounded(problem, _sawn(problem, pattern, opened(problem, bench), sawyer.naming), sawyer.naming)
        for bench in sawyer.benches(pattern)
    ]

    def price(s: Sawn) -> tuple[bool, int]:
        return not s.is_reached, s.price + problem.effort.fence * (len(s.settings) if alone else _sizes(s))

    return min(ways, key=price)


def _sizes(piece: Sawn) -> int:
    return len({(o.way, o.figure) for o in piece.operations if o.setting is not None})


def _alone(problem: Problem, piece: Sawn, stands: frozenset[Setting] = frozenset()) -> tuple[bool, int]:
    """Return whether no saw reaches, and the price with everything set once but what `stands` anyway."""
    return not piece.is_reached, piece.price + problem.effort.fence * len(piece.settings - stands)


def _rounded(problem: Problem, piece: Sawn, naming: Naming, stands: frozenset[Setting] = frozenset()) -> Sawn:
    """Return a piece whose cuts that need not be exact are set to round figures, or to some that `stands`.

    A cut that leaves sizes to come off as what remains is one of these where that is no dearer.
    """
    stock = problem.stock[piece.pattern.stock]
    if problem.groups or stock.flaws or problem.method is Method.ROUTER:
        return piece
    number = 0
    while number < len(piece.cuts):
        if _divides(piece, number):
            others = _set_otherwise(problem, piece, number, naming, stands)
            own = piece.operations[number]
            if own.care is Care.EXACT or is_round(own.figure, problem.unit):
                others.append(piece)
            piece = min(others, key=lambda s: _alone(problem, s, stands), default=piece)
        number += 1
    return piece


def _divides(piece: Sawn, number: int) -> bool:
    """Whether a cut is set to no size of a part."""
    axis, own = piece.cuts[number].axis, piece.operations[number]
    sizes = {b.dx if axis is Axis.CROSSCUT else b.dy for b in in_order(piece.bench) if b.part is not None}
    return own.setting is not None and own.figure not in sizes


def _set_otherwise(
    problem: Problem, piece: Sawn, number: int, naming: Naming, stands: frozenset[Setting]
) -> list[Sawn]:
    """Return a piece with one of its cuts at other figures: the nearest round one, and what is set anyway."""
    rougher, own = Rougher(problem, problem.stock[piece.pattern.stock]), piece.operations[number]
    known = {s.figure for s in piece.settings | stands if own.setting and s.machine is own.setting.machine}
    for figures in nearby(own.figure, problem.unit, known):
        found: list[Bench] = []
        enough = own.care is Care.ROUGH and is_round(own.figure, problem.unit)
        for figure in figures:
            if figure in known or not enough:
                moved = rougher.at_figure(piece.bench, piece.cuts[number], figure)
                if moved is not None:
                    found.append(moved)
                    enough = enough or figure not in known
        if found:
            return [_sawn(problem, piece.pattern, bench, naming) for bench in found]
    return []


def _sawn(problem: Problem, pattern: Pattern, bench: Bench, naming: Naming) -> Sawn:
    stock = problem.stock[pattern.stock]
    cuts = tuple(b for b in in_order(bench) if b.axis is not None)
    made = layout(problem, stock, bench, cuts, naming)
    every, rests = studied(stock, made, problem.kerf, problem.saws)
    kept = sum(problem.worth.clear(left.dx, left.dy, left.flaws) for left in made.leftovers)
    price = stock.counts(stock.area - kept) + effort_but_moves(problem.effort, stock.dig, every, len(rests))
    settings = frozenset(o.setting for o in every if o.setting is not None)
    return Sawn(pattern, bench, cuts, every, settings, price)


def effort_but_moves(effort: Effort, dig: int, every: Sequence[Operation], rests: int) -> int:
    """Return what one piece takes of hands and saw, but for setting fence and stop (ticks²).

    A cut below the limits for small parts counts as three: it is made another way. Where the piece in hand is
    too small itself it counts as five, so that such a part is rather cut off a longer strip.
    """
    cuts = len(every)
    for o in every:
        cuts += 4 if Caution.SMALL in o.cautions else 2 if not BY_ANOTHER_WAY.isdisjoint(o.cautions) else 0
    heavy = sum(o.heavy for o in every)
    return effort.pull + effort.dig * dig + effort.cut * cuts + effort.heavy * heavy + effort.rest * rests


def finish(
    problem: Problem,
    patterns: Sequence[Pattern],
    *,
    bound: Bound,
    status: Status,
    unplaced: Sequence[Unplaced] = (),
    tidied: bool = True,
    until: float = inf,
) -> Plan:
    """Return the plan that cuts `patterns`, one physical piece each, with few fence moves over the job.

    Their parts are those of the problem with its sets joined. `tidied` False keeps the cut trees as they are.
    One that gives no part is left on the rack. What is not looked at `until` then, on the machine's clock, is
    cut piece after piece.
    """
    sawyer = Sawyer(problem, tidied=tidied)
    copies = _counted(patterns)
    alone = copies.total() == 1
    made = {
        p: sawn(problem, sawyer, p, alone=alone) if monotonic() < until else _cut(problem, sawyer, p)
        for p in copies
    }
    made = _at_shared(problem, made, sawyer.naming)
    pieces = [piece for p, piece in made.items() for _ in repeat(None, copies[p])]
    layouts, work = _in_order(problem, pieces, until)
    return Plan(status=status, bound=bound, layouts=layouts, unplaced=tuple(unplaced), work=work)


def _at_shared(problem: Problem, made: Mapping[Pattern, Sawn], naming: Naming) -> dict[Pattern, Sawn]:
    """Return the pieces with rough cuts at figures that others of the job are set to, where that saves."""
    done = dict(made)
    for pattern, piece in made.items():
        if any(o.care is Care.ROUGH for o in piece.operations):
            stands = frozenset[Setting]().union(*(s.settings for p, s in done.items() if p is not pattern))
            shared = _rounded(problem, piece, naming, stands)
            done[pattern] = min(piece, shared, key=lambda s: _alone(problem, s, stands))
    return done


def _counted(patterns: Sequence[Pattern]) -> Counter[Pattern]:
    """Return how many there are of each pattern that gives parts; of one object it is looked at once."""
    found: Counter[Pattern] = Counter()
    objects = {id(p): p for p in patterns}
    for known, count in Counter(map(id, patterns)).items():
        p = objects[known]
        if p.parts():
            found[p] += count
    return found


def _cut(problem: Problem, sawyer: Sawyer, pattern: Pattern) -> Sawn:
    """Return a pattern with its cuts alone."""
    bench = opened(problem, sawyer.bench(pattern))
    return Sawn(pattern, bench, tuple(b for b in in_order(bench) if b.axis is not None), (), frozenset(), 0)


def _in_order(
    problem: Problem, pieces: Sequence[Sawn], until: float
) -> tuple[tuple[Layout, ...], tuple[Turn, ...]]:
    """Return the layouts, those begun first first, and the order of work over them."""
    written = _Written(problem)
    if problem.method is Method.ROUTER or monotonic() > until:
        return tuple(written.layout(p, range(len(p.cuts))) for p in pieces), ()
    order = order_of_work(problem, pieces, until)
    first = list(dict.fromkeys([*(piece for piece, _ in order), *range(len(pieces))]))
    number = {piece: n for n, piece in enumerate(first, 1)}
    own: list[list[int]] = [[] for _ in pieces]
    work = []
    for piece, cut in order:
        own[piece].append(cut)
        work.append(Turn(number[piece], len(own[piece])))
    return tuple(written.layout(pieces[piece], own[piece]) for piece in first), tuple(work)


class _Written:
    """Writes the layouts of one plan; those that are sawn alike differ in the numbers of copies alone."""

    def __init__(self, problem: Problem) -> None:
        self._problem, self._naming = problem, Naming(problem)
        self._known: dict[object, Layout] = {}

    def layout(self, piece: Sawn, order: Sequence[int]) -> Layout:
        """Return the layout of a piece whose cuts are made in this order."""
        cuts, alike = [piece.cuts[c] for c in order], (id(piece), tuple(order))
        if alike not in self._known:
            self._known[alike] = _layout(self._problem, piece, cuts, self._naming)
            return self._known[alike]
        known = self._known[alike]
        if piece.bench.part is not None:
            self._next(piece.bench, None)
        made = tuple(self._again(c, b) for c, b in zip(known.cuts, cuts, strict=False))
        return Layout(stock=known.stock, parts=known.parts, cuts=made, leftovers=known.leftovers)

    def _again(self, c: Cut, b: Bench) -> Cut:
        low, high = (self._next(side, name) for side, name in zip(b.sides, c.gives, strict=True))
        if (low, high) == c.gives:
            return c
        gives = low, high
        return Cut(step=c.step, piece=c.piece, direction=c.direction, at=c.at, fence=c.fence, gives=gives)

    def _next(self, side: Bench | None, name: str | None) -> str | None:
        """Return what is given by a cut: the next copy of a part, else what it is called already."""
        if side is None or side.part is None:
            return name
        return self._naming.next_of(self._problem.parts[side.part].id)


def _layout(problem: Problem, piece: Sawn, order: Sequence[Bench], naming: Naming) -> Layout:
    return layout(problem, problem.stock[piece.pattern.stock], piece.bench, order, naming)


def order_of_work(problem: Problem, pieces: Sequence[Sawn], until: float = inf) -> list[tuple[int, int]]:
    """Return piece and cut, both by index, in the order of sawing; after `until` piece after piece."""
    order: list[tuple[int, int]] = []
    for share in _shares(pieces):
        if monotonic() > until or any(p.cuts and not p.operations for p in (pieces[n] for n in share)):
            order += [(n, cut) for n in share for cut in range(len(pieces[n].cuts))]
            continue
        tasks, whose = _tasks(pieces, share)
        order += [whose[task] for task in Scheduler(tasks, problem.saws).order()]
    return order


def moves_in_order(problem: Problem, pieces: Sequence[Sawn]) -> int:
    """Return how often fence or stop is set when these pieces are sawn in one order of work."""
    order = order_of_work(problem, pieces)
    return moves([pieces[piece].operations[cut].setting for piece, cut in order], problem.saws)


def _shares(pieces: Sequence[Sawn]) -> Iterator[list[int]]:
    share: list[int] = []
    cuts = 0
    most = min(MOST_ORDERED, ORDERING // max(1, sum(len(p.cuts) for p in pieces)))
    for n, piece in enumerate(pieces):
        if share and cuts + len(piece.cuts) > most:
            yield share
            share, cuts = [], 0
        share.append(n)
        cuts += len(piece.cuts)
    if share:
        yield share


def _tasks(pieces: Sequence[Sawn], share: Sequence[int]) -> tuple[list[Task], list[tuple[int, int]]]:
    tasks: list[Task] = []
    whose: list[tuple[int, int]] = []
    for n in share:
        piece, base = pieces[n], len(tasks)
        place = {id(b): base + i for i, b in enumerate(piece.cuts)}
        for i, (b, operation) in enumerate(zip(piece.cuts, piece.operations, strict=True)):
            then = tuple(place[id(side)] for side in b.sides if side is not None and side.axis is not None)
            tasks.append(Task(operation.setting, operation.way, then, starts=i == 0))
            whose.append((n, i))
    return tasks, whose


def plain(problem: Problem, patterns: Sequence[Pattern]) -> Plan:
    """Return the planner's own trees cut in its own order, each piece by itself: the measure of `finish`."""
    sawyer, naming = Sawyer(problem, tidied=False), Naming(problem)
    pieces = [sawn(problem, sawyer, p) for p in patterns]
    layouts = tuple(_layout(problem, p, p.cuts, naming) for p in pieces)
    return Plan(status=Status.FEASIBLE, bound=Bound(0, 0, ""), layouts=layouts)


def plan_studied(problem: Problem, plan: Plan) -> list[tuple[tuple[Operation, ...], tuple[Remains, ...]]]:
    """Return what each cut of each layout is, and the sizes that remain; those cut alike are studied once."""
    stock = {s.id: s for s in problem.stock}
    known: dict[object, tuple[tuple[Operation, ...], tuple[Remains, ...]]] = {}
    found = []
    for x in plan.layouts:
        cuts = tuple([(c.alike, c.gives[0] is None, c.gives[1] is None) for c in x.cuts])
        alike = x.stock, x.parts, cuts
        if alike not in known:
            known[alike] = studied(stock[x.stock], x, problem.kerf, problem.saws)
        found.append(known[alike])
    return found


def plan_operations(problem: Problem, plan: Plan) -> list[tuple[Operation, ...]]:
    """Return what each cut of each layout is."""
    return [every for every, _ in plan_studied(problem, plan)]


def fence_moves(problem: Problem, plan: Plan) -> int:
    """Return how often fence or stop is set when the plan is sawn in its order of work."""
    return moves_of(problem, plan, plan_operations(problem, plan))


def moves_of(problem: Problem, plan: Plan, every: Sequence[Sequence[Operation]]) -> int:
    """Return the same where it is known what each cut of each layout is."""
    return moves([operation.setting for operation in by_turn(every, plan.work)], problem.saws)
