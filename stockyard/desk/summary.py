"""A plan in plain words: what is pulled, drawn and bought, how well it uses the material, what is proved."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence

from stockyard.desk.plan_job import Answer
from stockyard.effort import Seconds
from stockyard.figures import area, distance, money, size
from stockyard.kinds import Kind
from stockyard.measure import Unit
from stockyard.planning.plan import Status
from stockyard.planning.problem import Stock
from stockyard.planning.sawing.report import Facts
from stockyard.wording import count

# A bound less than one in so many of the money tells nothing.
_TELLING = 20


def summary(
    answer: Answer, unit: Unit, currency: str, seconds: Seconds, at_saw: Collection[str] = ()
) -> tuple[str, ...]:
    """Return the sentences a person reads after a plan was made; `at_saw` are tags off the racks already."""
    kinds = {s.id: s.kind for s in answer.problem.stock}
    there = Counter(kinds[layout.stock] for layout in answer.plan.layouts if layout.stock in at_saw)
    return (
        *_cards(answer),
        *_pieces(answer, unit, currency, there),
        *_takes(answer, unit, seconds, there.total()),
        *_use(answer, currency),
        *_proof(answer, currency),
        *_short(answer, currency),
    )


def _cards(answer: Answer) -> Iterator[str]:
    """Say which cards in hand still hold."""
    cards = answer.cards
    if cards is None:
        return
    told = []
    for numbers, one, many in (
        (cards.changed, "changed", "changed"), (cards.new, "is new", "are new"),
        (cards.out, "is not wanted any more", "are not wanted any more"), (cards.stand, "stands", "stand"),
    ):  # fmt: skip
        if numbers:
            told.append(f"{numbered(numbers)} {one if len(numbers) == 1 else many}")
    yield "; ".join(told).capitalize() + "."


def numbered(numbers: Sequence[int]) -> str:
    """Return numbers of cards in words: `cards 1, 2 and 4`."""
    first, last = [str(n) for n in numbers[:-1]], str(numbers[-1])
    return f"cards {', '.join(first)} and {last}" if first else f"card {last}"


def _pieces(answer: Answer, unit: Unit, currency: str, there: Counter[Kind]) -> Iterator[str]:
    facts = answer.facts
    if not answer.plan.layouts:
        yield "Nothing is cut."
        return
    offcuts, full = facts.offcuts - there[Kind.OFFCUT], facts.drawn - there[Kind.FULL]
    if there:
        one = there.total() == 1
        yield f"{count(there.total(), 'piece').capitalize()} {'is' if one else 'are'} at the saw already."
    if offcuts or full or not there:
        named = [count(n, word) for n, word in ((offcuts, "offcut"), (full, "full piece")) if n]
        reach = "it" if offcuts + full == 1 else "them"
        yield (
            f"Pull {' and '.join(named) or 'nothing'} from the racks"
            + (f", moving {count(facts.to_move, 'piece')} to reach {reach}." if facts.to_move else ".")
        )
    rows = {s.id: s for s in answer.problem.stock}
    buy = Counter(layout.stock for layout in answer.plan.layouts if rows[layout.stock].count is None)
    if buy:
        lines = ", ".join(f"{n} × {bought(rows[name], unit)}" for name, n in buy.items())
        yield f"Buy {lines}: {money(facts.to_pay, currency)}."
    else:
        yield "Nothing has to be bought."


def _takes(answer: Answer, unit: Unit, seconds: Seconds, there: int) -> Iterator[str]:
    """Say what the plan takes: material, minutes, pieces; so many of these are at the saw."""
    facts = answer.facts
    if not facts.parts:
        return
    minutes = -(-(facts.seconds(seconds) - seconds.pull * there) // 60)
    pieces = facts.offcuts + facts.drawn + facts.bought - there
    yield (
        f"It takes {area(facts.stock_area - facts.back_area, unit)} of material, about "
        f"{count(minutes, 'minute')} at {_work(facts, unit)} and {count(pieces, 'piece')} to fetch."
    )


def _work(facts: Facts, unit: Unit) -> str:
    """Name the machines that a plan uses and what is to be done there."""
    sawn = f"{count(facts.cuts, 'cut')}, {count(facts.fence_moves, 'setting')}"
    path = f"{distance(facts.path, unit)} of the router's path"
    if not facts.path:
        return f"racks and saw ({sawn})"
    return f"racks, saw and router ({sawn}, {path})" if facts.cuts else f"racks and router ({path})"


def bought(row: Stock, unit: Unit) -> str:
    """Name a piece to buy: material and size."""
    return f"{row.material} {size(row.length, row.width, unit)}"


def _use(answer: Answer, currency: str) -> Iterator[str]:
    facts = answer.facts
    if not facts.parts:
        return
    use = "uses" if facts.parts == 1 else "use"
    go = "goes" if facts.leftovers == 1 else "go"
    yield (
        f"{count(facts.parts, 'part')} {use} {100 * float(facts.share_used):.0f} % of what is cut up; "
        f"{count(facts.leftovers, 'leftover')} {go} back on the rack."
    )
    without = answer.facts_without
    if facts.offcuts and without is not None:
        saved = without.money - facts.money
        full = without.drawn + without.bought
        if saved > 0:
            yield (
                f"Without the offcuts it would take {count(full, 'full piece')} worth "
                f"{money(without.money, currency)}: they save {money(saved, currency)}."
            )


def _proof(answer: Answer, currency: str) -> Iterator[str]:
    plan, facts = answer.plan, answer.facts
    if plan.bound.says:
        yield plan.bound.says[0].upper() + plan.bound.says[1:].rstrip(".") + "."
    elif plan.status is Status.PROVEN:
        yield "No plan can do it for less money."
    if plan.status is Status.FEASIBLE and facts.money > _TELLING * plan.bound.full_cost:
        yield "Whether it can be done for less is not known."
    elif plan.status is Status.FEASIBLE and facts.money > plan.bound.full_cost:
        gap = money(facts.money - plan.bound.full_cost, currency)
        yield f"It may be possible to save up to {gap} more; that is not known."


def _short(answer: Answer, currency: str) -> Iterator[str]:
    for left in answer.plan.unplaced:
        yield f"NOT PLACED: {left.count} × {left.part}: {left.reason}."
    if (split := answer.facts_split) is not None:
        more = split.money - answer.facts.money
        costs = f"{money(more, currency)} more of full pieces" if more > 0 else "no more money"
        yield f"Split, so that its parts come from several pieces, the set is cut too, for {costs}."


def layout_rows(answer: Answer, codes: Mapping[str, str], boards: Collection[str]) -> list[dict[str, object]]:
    """Return one row a piece for a table or JSON: tag or what to buy, place, and what it gives.

    `codes` are the places by tag, `boards` the titles of materials that come as boards.
    """
    rows = {s.id: s for s in answer.problem.stock}
    table: list[dict[str, object]] = []
    for layout, stored in zip(answer.plan.layouts, answer.layouts, strict=True):
        row = rows[layout.stock]
        gives = ", ".join(f"{p.count} {p.name}" if p.count > 1 else p.name for p in stored.parts)
        table.append(
            {
                "no": stored.number,
                "piece": stored.tag or "BUY",
                "place": codes.get(layout.stock, ""),
                "kind": "board" if row.material in boards else row.kind.value,
                "material": row.material,
                "size": size(row.length, row.width, answer.problem.unit),
                "gives": gives,
                "left over": len(layout.leftovers),
            }
        )
    return table
