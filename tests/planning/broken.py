"""Ways to break a valid plan, each with the words in which the verifier must name the fault."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from random import Random
from typing import Any

from stockyard.planning.plan import Cut, Layout, Leftover, Placement, Plan, Status, Turn, Unplaced
from stockyard.planning.problem import Edge, Method, Problem, Trim
from stockyard.planning.tree import Axis

Broken = tuple[Problem, Plan] | None
Breaker = Callable[[Random, Problem, Plan], Broken]
KINDS: dict[str, tuple[str, Breaker]] = {}


def kind(words: str) -> Callable[[Breaker], Breaker]:
    """Register a way to break a plan; `words` is a pattern one of the faults must match."""

    def register(breaker: Breaker) -> Breaker:
        KINDS[breaker.__name__] = words, breaker
        return breaker

    return register


def with_layout(plan: Plan, index: int, **changes: Any) -> Plan:
    layouts = list(plan.layouts)
    layouts[index] = replace(layouts[index], **changes)
    return replace(plan, layouts=tuple(layouts))


def pick(rng: Random, plan: Plan, wanted: Callable[[Layout], bool]) -> tuple[int, Layout] | None:
    found = [(i, lay) for i, lay in enumerate(plan.layouts) if wanted(lay)]
    return rng.choice(found) if found else None


def change_part(rng: Random, plan: Plan, change: Callable[[Placement], Placement]) -> Plan:
    i = rng.randrange(len(plan.layouts))
    parts = list(plan.layouts[i].parts)
    n = rng.randrange(len(parts))
    parts[n] = change(parts[n])
    return with_layout(plan, i, parts=tuple(parts))


def change_cut(rng: Random, plan: Plan, change: Callable[[Cut, Layout], Cut | None]) -> Plan | None:
    """Change one cut; None when there is none that `change` can change."""
    places = [(i, n) for i, lay in enumerate(plan.layouts) for n in range(len(lay.cuts))]
    rng.shuffle(places)
    for i, n in places:
        cuts = list(plan.layouts[i].cuts)
        changed = change(cuts[n], plan.layouts[i])
        if changed is not None:
            cuts[n] = changed
            return with_layout(plan, i, cuts=tuple(cuts))
    return None


def change_left(rng: Random, plan: Plan, change: Callable[[Leftover], Leftover | None]) -> Plan | None:
    found = pick(rng, plan, lambda lay: bool(lay.leftovers))
    if found is None:
        return None
    i, lay = found
    lefts = list(lay.leftovers)
    changed = change(lefts.pop(rng.randrange(len(lefts))))
    return with_layout(plan, i, leftovers=(*lefts, changed) if changed else tuple(lefts))


def only(problem: Problem, plan: Plan | None) -> Broken:
    return None if plan is None else (problem, plan)


@kind(r"does not lie on the bench")
def part_moved(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return only(problem, change_part(rng, plan, lambda p: replace(p, x=p.x + 1)))


@kind(r"reaches out of the piece")
def part_out(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return only(problem, change_part(rng, plan, lambda p: replace(p, y=-1)))


@kind(r"has the wrong size")
def part_grown(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return only(problem, change_part(rng, plan, lambda p: replace(p, dx=p.dx + 1)))


@kind(r"lies against its grain")
def part_turned(rng: Random, problem: Problem, plan: Plan) -> Broken:
    grained = {s.id for s in problem.stock if s.grain}
    bound = {p.id for p in problem.parts if p.grain != "any" and p.length != p.width}
    found = pick(rng, plan, lambda lay: lay.stock in grained and any(p.part in bound for p in lay.parts))
    if found is None:
        return None
    i, lay = found
    n = next(n for n, p in enumerate(lay.parts) if p.part in bound)
    parts = list(lay.parts)
    parts[n] = replace(parts[n], dx=parts[n].dy, dy=parts[n].dx)
    return problem, with_layout(plan, i, parts=tuple(parts))


@kind(r"neither part nor leftover")
def part_unlisted(rng: Random, problem: Problem, plan: Plan) -> Broken:
    found = pick(rng, plan, lambda lay: len(lay.parts) > 1)
    if found is None:
        return None
    return problem, with_layout(plan, found[0], parts=found[1].parts[1:])


@kind(r"overlap")
def part_twice(rng: Random, problem: Problem, plan: Plan) -> Broken:
    i = rng.randrange(len(plan.layouts))
    parts = plan.layouts[i].parts
    return problem, with_layout(plan, i, parts=(*parts, parts[0]))


@kind(r"no such part")
def part_unknown(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return only(problem, change_part(rng, plan, lambda p: replace(p, part="nobody")))


@kind(r"wanted, but")
def layout_missing(rng: Random, problem: Problem, plan: Plan) -> Broken:
    i = rng.randrange(len(plan.layouts))
    return problem, replace(plan, layouts=plan.layouts[:i] + plan.layouts[i + 1 :])


@kind(r"used, 1 there")
def piece_twice(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return problem, replace(plan, layouts=(*plan.layouts, rng.choice(plan.layouts)))


@kind(r"no such stock")
def stock_unknown(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return problem, with_layout(plan, rng.randrange(len(plan.layouts)), stock="nowhere")


@kind(r"gives no part")
def layout_idle(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return problem, with_layout(plan, rng.randrange(len(plan.layouts)), parts=(), cuts=(), leftovers=())


@kind(r"is not accepted")
def material_other(rng: Random, problem: Problem, plan: Plan) -> Broken:
    parts = list(problem.parts)
    n = rng.randrange(len(parts))
    parts[n] = replace(parts[n], materials=("oak", "ash"))
    return replace(problem, parts=tuple(parts)), plan


@kind(r"thickness is not the part's")
def thickness_other(rng: Random, problem: Problem, plan: Plan) -> Broken:
    parts = list(problem.parts)
    n = rng.randrange(len(parts))
    parts[n] = replace(parts[n], thickness=57_600)
    return replace(problem, parts=tuple(parts)), plan


@kind(r"within the edge trim")
def trim_deeper(rng: Random, problem: Problem, plan: Plan) -> Broken:
    lay = rng.choice(plan.layouts)
    stock = {s.id: s for s in problem.stock}
    piece = stock[lay.stock]
    near = min(min(p.x, p.y, piece.length - p.x - p.dx, piece.width - p.y - p.dy) for p in lay.parts)
    stock[piece.id] = replace(piece, edge_trim=Trim.all_round(near + 1))
    return replace(problem, stock=tuple(stock.values())), plan


@kind(r"nearer than the kerf")
def kerf_wider(rng: Random, problem: Problem, plan: Plan) -> Broken:
    found = pick(rng, plan, lambda lay: len(lay.parts) + len(lay.leftovers) > 3)
    return (replace(problem, kerf=problem.kerf + rng.randint(1, 9)), plan) if found else None


@kind(r"smaller than the shop keeps")
def keep_larger(_: Random, problem: Problem, plan: Plan) -> Broken:
    lefts = [f for lay in plan.layouts for f in lay.leftovers]
    if not lefts:
        return None
    short = min(min(f.dx, f.dy) for f in lefts) + 1
    return replace(problem, worth=replace(problem.worth, keep_short_side=short)), plan


@kind(r"smaller than the shop keeps")
def keep_longer(_: Random, problem: Problem, plan: Plan) -> Broken:
    lefts = [f for lay in plan.layouts for f in lay.leftovers]
    if not lefts:
        return None
    long = min(max(f.dx, f.dy) for f in lefts) + 1
    return replace(problem, worth=replace(problem.worth, keep_long_side=long)), plan


@kind(r"leftovers do not lie on the bench|overlap|nearer than the kerf")
def leftover_grown(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return only(problem, change_left(rng, plan, lambda f: replace(f, dx=f.dx + rng.randint(1, 999))))


@kind(r"neither part nor leftover")
def leftover_unlisted(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return only(problem, change_left(rng, plan, lambda _: None))


@kind(r"leftover \d+ is nothing")
def leftover_empty(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return only(problem, change_left(rng, plan, lambda f: replace(f, dx=0)))


@kind(r"does not lie on the bench|neither part nor leftover")
def cut_moved(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return only(problem, change_cut(rng, plan, lambda c, _: replace(c, at=c.at + 1, fence=c.fence)))


@kind(r"the blade misses")
def blade_out(rng: Random, problem: Problem, plan: Plan) -> Broken:
    def miss(cut: Cut, _: Layout) -> Cut:
        return replace(cut, at=rng.choice([-problem.kerf - rng.randint(0, 9), 10**9]))

    return only(problem, change_cut(rng, plan, miss))


@kind(r"the fence is set to the size of neither side")
def fence_wrong(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return only(problem, change_cut(rng, plan, lambda c, _: replace(c, fence=c.fence + rng.choice([-1, 1]))))


@kind(r"stands where step")
def step_wrong(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return only(problem, change_cut(rng, plan, lambda c, _: replace(c, step=c.step + 1)))


@kind(r"there is no piece")
def piece_unknown(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return only(problem, change_cut(rng, plan, lambda c, _: replace(c, piece="nothing")))


@kind(r"is cut already")
def piece_cut_twice(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return only(
        problem, change_cut(rng, plan, lambda c, _: replace(c, piece="stock") if c.step > 1 else None)
    )


@kind(r"is no direction")
def direction_odd(rng: Random, problem: Problem, plan: Plan) -> Broken:
    odd: Any = "slantwise"
    return only(problem, change_cut(rng, plan, lambda c, _: replace(c, direction=odd)))


@kind(r"the blade misses|neither side|does not lie on the bench")
def direction_swapped(rng: Random, problem: Problem, plan: Plan) -> Broken:
    other = {Axis.RIP: Axis.CROSSCUT, Axis.CROSSCUT: Axis.RIP}
    return only(problem, change_cut(rng, plan, lambda c, _: replace(c, direction=other[c.direction])))


@kind(r"is used twice")
def name_twice(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return only(problem, change_cut(rng, plan, lambda c, _: replace(c, gives=("stock", c.gives[1]))))


@kind(r"does not lie on the bench|is called|neither part nor leftover|nothing is left|there is no piece")
def sides_swapped(rng: Random, problem: Problem, plan: Plan) -> Broken:
    return only(problem, change_cut(rng, plan, lambda c, _: replace(c, gives=(c.gives[1], c.gives[0]))))


@kind(r"(does|do) not lie on the bench|there is no piece")
def side_thrown_away(rng: Random, problem: Problem, plan: Plan) -> Broken:
    def drop(cut: Cut, _: Layout) -> Cut | None:
        return replace(cut, gives=(None, cut.gives[1])) if cut.gives[0] else None

    return only(problem, change_cut(rng, plan, drop))


@kind(r"neither part nor leftover|nothing is left on that side")
def waste_named(rng: Random, problem: Problem, plan: Plan) -> Broken:
    def name(cut: Cut, _: Layout) -> Cut | None:
        return replace(cut, gives=(cut.gives[0], "scrap")) if cut.gives[1] is None else None

    return only(problem, change_cut(rng, plan, name))


@kind(r"gives must name two sides")
def one_side(rng: Random, problem: Problem, plan: Plan) -> Broken:
    def shorten(cut: Cut, _: Layout) -> Cut:
        gives: Any = cut.gives[:1]
        return replace(cut, gives=gives)

    return only(problem, change_cut(rng, plan, shorten))


@kind(r"is called 'zz'")
def part_misnamed(rng: Random, problem: Problem, plan: Plan) -> Broken:
    ids = {p.id for p in problem.parts}

    def rename(cut: Cut, _: Layout) -> Cut | None:
        name = cut.gives[0]
        return replace(cut, gives=("zz", cut.gives[1])) if name and name.rpartition(" ")[0] in ids else None

    return only(problem, change_cut(rng, plan, rename))


@kind(r"is named 2 times")
def copy_named_twice(_: Random, problem: Problem, plan: Plan) -> Broken:
    """Two copies of one part on two pieces, the second named like the first."""
    seen: dict[str, tuple[int, str]] = {}
    counts = {p.id: p.count for p in problem.parts}
    for i, lay in enumerate(plan.layouts):
        for n, cut in enumerate(lay.cuts):
            for name in cut.gives:
                part = (name or "").rpartition(" ")[0]
                if name is None or counts.get(part, 0) < 2:
                    continue
                if part in seen and seen[part][0] != i:
                    first = seen[part][1]
                    gives = (
                        first if cut.gives[0] == name else cut.gives[0],
                        first if cut.gives[1] == name else cut.gives[1],
                    )
                    cuts = list(lay.cuts)
                    cuts[n] = replace(cut, gives=gives)
                    return problem, with_layout(plan, i, cuts=tuple(cuts))
                seen.setdefault(part, (i, name))
    return None


@kind(r"there is no piece|does not lie on the bench|stands where step")
def cut_missing(rng: Random, problem: Problem, plan: Plan) -> Broken:
    found = pick(rng, plan, lambda lay: bool(lay.cuts))
    if found is None:
        return None
    i, lay = found
    n = rng.randrange(len(lay.cuts))
    return problem, with_layout(plan, i, cuts=lay.cuts[:n] + lay.cuts[n + 1 :])


@kind(r"has the name of a part")
def piece_named_like_part(_: Random, problem: Problem, plan: Plan) -> Broken:
    ident = problem.parts[0].id
    for i, lay in enumerate(plan.layouts):
        inner = next((c.piece for c in lay.cuts if c.piece != "stock"), None)
        if inner is not None:
            cuts = tuple(
                replace(
                    c,
                    piece=ident if c.piece == inner else c.piece,
                    gives=(
                        ident if c.gives[0] == inner else c.gives[0],
                        ident if c.gives[1] == inner else c.gives[1],
                    ),
                )
                for c in lay.cuts
            )
            return problem, with_layout(plan, i, cuts=cuts)
    return None


@kind(r"proven, but the bound on money")
def proof_false(rng: Random, problem: Problem, plan: Plan) -> Broken:
    bound = replace(plan.bound, full_cost=money(problem, plan) - rng.randint(1, 99))
    return problem, replace(plan, status=Status.PROVEN, bound=bound)


@kind(r"the bound on money, \d+, is above")
def bound_too_dear(_: Random, problem: Problem, plan: Plan) -> Broken:
    return problem, replace(plan, bound=replace(plan.bound, full_cost=money(problem, plan) + 1))


@kind(r"the bound on stock area, \d+, is above")
def bound_too_wide(_: Random, problem: Problem, plan: Plan) -> Broken:
    return problem, replace(plan, bound=replace(plan.bound, stock_area=10**18))


@kind(r"the bound is less than nothing")
def bound_negative(_: Random, problem: Problem, plan: Plan) -> Broken:
    return problem, replace(plan, bound=replace(plan.bound, stock_area=-1))


@kind(r"status 'short' does not go with 0 unplaced")
def short_of_nothing(_: Random, problem: Problem, plan: Plan) -> Broken:
    return problem, replace(plan, status=Status.SHORT)


@kind(r"is none of proven, feasible, short")
def status_odd(_: Random, problem: Problem, plan: Plan) -> Broken:
    odd: Any = "perfect"
    return problem, replace(plan, status=odd)


@kind(r"wanted, but")
def unplaced_too_many(rng: Random, problem: Problem, plan: Plan) -> Broken:
    part = rng.choice(problem.parts)
    return problem, replace(plan, status=Status.SHORT, unplaced=(Unplaced(part.id, 1, "no room"),))


@kind(r"needs a count and a reason")
def unplaced_without_reason(_: Random, problem: Problem, plan: Plan) -> Broken:
    parts = list(problem.parts)
    parts[0] = replace(parts[0], count=parts[0].count + 1)
    short = replace(plan, status=Status.SHORT, unplaced=(Unplaced(parts[0].id, 1, " "),))
    return replace(problem, parts=tuple(parts)), short


@kind(r"could still be cut from")
def unplaced_for_nothing(rng: Random, problem: Problem, plan: Plan) -> Broken:
    i = rng.randrange(len(plan.layouts))
    gone = plan.layouts[i]
    counts: dict[str, int] = {}
    for p in gone.parts:
        counts[p.part] = counts.get(p.part, 0) + 1
    left_out = tuple(Unplaced(part, n, "no room") for part, n in counts.items())
    layouts = plan.layouts[:i] + plan.layouts[i + 1 :]
    return problem, replace(plan, status=Status.SHORT, layouts=layouts, unplaced=left_out)


@kind(r"a routed piece has saw cuts")
def routed_with_cuts(_: Random, problem: Problem, plan: Plan) -> Broken:
    return replace(problem, method=Method.ROUTER), plan


def money(problem: Problem, plan: Plan) -> int:
    cost = {s.id: s.cost for s in problem.stock if s.kind == "full"}
    return sum(cost.get(lay.stock, 0) for lay in plan.layouts)


def _with_work(plan: Plan, change: Callable[[list[Turn]], None]) -> Plan | None:
    work = list(plan.work)
    if len(work) < 2:
        return None
    change(work)
    return replace(plan, work=tuple(work))


@kind(r"is never sawn")
def work_lacks_a_cut(rng: Random, problem: Problem, plan: Plan) -> Broken:
    spoiled = _with_work(plan, lambda work: work.pop(rng.randrange(len(work))) and None)
    return spoiled and (problem, spoiled)


@kind(r"is sawn twice")
def work_twice(rng: Random, problem: Problem, plan: Plan) -> Broken:
    spoiled = _with_work(plan, lambda work: work.append(rng.choice(work)))
    return spoiled and (problem, spoiled)


@kind(r"is not there yet")
def work_too_early(rng: Random, problem: Problem, plan: Plan) -> Broken:
    later = [
        n for n, t in enumerate(plan.work) if plan.layouts[t.layout - 1].cuts[t.step - 1].piece != "stock"
    ]
    if not later:
        return None
    spoiled = _with_work(plan, lambda work: work.insert(0, work.pop(rng.choice(later))))
    return spoiled and (problem, spoiled)


@kind(r"says wrongly which of its edges")
def factory_wrong(rng: Random, problem: Problem, plan: Plan) -> Broken:
    found = pick(rng, plan, lambda lay: bool(lay.leftovers))
    if found is None:
        return None
    i, lay = found
    lefts = list(lay.leftovers)
    n = rng.randrange(len(lefts))
    edge = rng.choice(list(Edge))
    changed = set(lefts[n].factory) ^ {edge}
    lefts[n] = replace(lefts[n], factory=tuple(e for e in Edge if e in changed))
    return problem, with_layout(plan, i, leftovers=tuple(lefts))
