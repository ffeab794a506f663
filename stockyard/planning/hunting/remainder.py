"""What layouts leave of a model: its parts and stock, planned again or put in one after the other.

Taking some layouts out and planning their parts again is large neighbourhood search (Shaw 1998).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from random import Random

from stockyard.planning.hunting.manner import Manner
from stockyard.planning.hunting.searcher import Searcher
from stockyard.planning.model import UNLIMITED, Candidate, Model
from stockyard.planning.recreate import kernel
from stockyard.planning.tables.pricing import weighed

SEEDS = 1 << 30


def better(
    model: Model, best: Sequence[Candidate], random: Random, plan: Callable[[Model, int], list[Candidate]]
) -> list[Candidate]:
    """Return a plan in which some layouts of the best, rather those least filled, are planned again.

    `plan` does so for a model of their parts, with a seed.
    """
    parts, manner = model.parts, Manner()
    low, high = manner.ruined
    many = min(len(best), random.randint(low, high))

    def filled(c: Candidate) -> float:
        piece = model.stock[c.stock]
        return sum(n * parts[k].length * parts[k].width for k, n in c.gives) / (piece.length * piece.width)

    order = sorted(range(len(best)), key=lambda n: filled(best[n]) + manner.shuffled * random.random())
    kept = [best[n] for n in order[many:]]
    rest = rest_of(model, kept)
    if rest is None:
        return list(best)
    again = plan(rest, random.randrange(SEEDS))
    return kept + [weighed(model, c.stock, c.pattern.root) for c in again]


def rest_of(model: Model, layouts: Iterable[Candidate]) -> Model | None:
    """Return the model of the parts and the stock that layouts leave, None when no part is left."""
    placed: Counter[int] = Counter()
    used: Counter[int] = Counter()
    for c in layouts:
        placed.update(dict(c.gives))
        used[c.stock] += 1
    parts = [replace(p, demand=p.demand - placed[k]) for k, p in enumerate(model.parts)]
    stock = tuple(
        s if s.count == UNLIMITED else replace(s, count=s.count - used[j]) for j, s in enumerate(model.stock)
    )
    left = tuple(p for p in parts if p.demand > 0)
    return replace(model, parts=left, stock=stock) if left else None


def completed(
    model: Model, layouts: Sequence[Candidate], seed: int, *, hasty: bool = False
) -> list[Candidate]:
    """Return layouts with those for the parts that they leave out, put in one after the other.

    `hasty`: not where they are many, which takes long.
    """
    rest = rest_of(model, layouts)
    if rest is None or (hasty and sum(p.demand for p in rest.parts) > Manner().most_at_last):
        return list(layouts)
    last = Searcher(rest, seed, 0).start(kernel.LARGE_FIRST)
    return [*layouts, *(weighed(model, c.stock, c.pattern.root) for c in last.layouts)]
