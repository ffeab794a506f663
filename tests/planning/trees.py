"""Random cut trees: invented jobs of which a valid way to cut them is known."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from random import Random

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.plan import Bound, Plan, Status
from stockyard.planning.problem import Grain, Kind, Part, Problem, Stock, Trim
from stockyard.planning.sawing.finish import finish
from stockyard.planning.tree import Axis, Node, Pattern
from stockyard.planning.worth import Worth

KEEP = Worth(keep_short_side=100 * MM, keep_area=40_000 * MM**2)


@dataclass
class Grower:
    """Grows one job: patterns on invented pieces, the parts they give collected by size."""

    rng: Random
    kerf: int
    parts: list[Part] = field(default_factory=list)
    known: dict[tuple[int, int, bool], int] = field(default_factory=dict)

    def node(self, length: int, width: int, depth: int) -> Node:
        rng = self.rng
        if depth == 0 or min(length, width) < 60 * MM or rng.random() < 0.12:
            return Node(length, width) if rng.random() < 0.3 else self.part(length, width)
        axis = rng.choice([Axis.CROSSCUT, Axis.RIP])
        extent = length if axis is Axis.CROSSCUT else width
        left = extent - rng.choice([0, 0, self.kerf, rng.randint(0, self.kerf)])
        sizes: list[int] = []
        step = rng.randint(extent // 6, extent)
        while left > 0:
            size = rng.choice([step, rng.randint(extent // 6, extent)])
            sizes.append(size if size + self.kerf < left else left)
            left -= sizes[-1] + self.kerf
        children = [
            self.node(s, width, depth - 1) if axis is Axis.CROSSCUT else self.node(length, s, depth - 1)
            for s in sizes
        ]
        return Node(length, width, axis=axis, children=tuple(children))

    def part(self, length: int, width: int) -> Node:
        turned = self.rng.random() < 0.4
        key = (width, length, True) if turned else (length, width, False)
        if key not in self.known:
            self.known[key] = len(self.parts)
            grain = Grain.ANY if turned else self.rng.choice([Grain.ALONG, Grain.ANY])
            ident = self.rng.choice(["side", "rail", "left", "a", "b 1"]) + f"-{len(self.parts)}"
            if len(self.parts) < 3:
                ident = ["left", "a", "a 1"][len(self.parts)]
            self.parts.append(Part(id=ident, length=key[0], width=key[1], count=0, grain=grain))
        i = self.known[key]
        self.parts[i] = replace(self.parts[i], count=self.parts[i].count + 1)
        return Node(length, width, part=i)

    def again(self, pattern: Pattern) -> Node:
        """Return the tree of `pattern`, its parts wanted once more."""
        for i, n in pattern.parts().items():
            self.parts[i] = replace(self.parts[i], count=self.parts[i].count + n)
        return pattern.root


def job(seed: int, pieces: int = 3, depth: int = 4) -> tuple[Problem, list[Pattern]]:
    """Return an invented problem and patterns that cut all its parts."""
    rng = Random(seed)
    kerf = rng.choice([0, 1, 3 * MM, 10160, rng.randint(1, 6 * MM)])
    grower = Grower(rng, kerf)
    stock: list[Stock] = []
    patterns: list[Pattern] = []
    while len(patterns) < pieces:
        if patterns and rng.random() < 0.25:
            stock.append(replace(stock[0], id=f"P{len(stock)}"))
            patterns.append(Pattern(len(patterns), grower.again(patterns[0])))
            continue
        trim = rng.choice([0, 0, kerf, rng.randint(1, 30 * MM), 150 * MM])
        length, width = rng.randint(600, 2500) * MM + rng.randint(0, 9), rng.randint(400, 1300) * MM
        root = grower.node(length - 2 * trim, width - 2 * trim, depth)
        pattern = Pattern(len(stock), root)
        if not pattern.parts():
            continue
        kind = rng.choice(list(Kind))
        stock.append(
            Stock(
                id=f"P{len(stock)}", kind=kind, material="ply", length=length, width=width,
                cost=rng.randint(0, 99), grain=rng.random() < 0.7, edge_trim=Trim.all_round(trim),
            )
        )  # fmt: skip
        patterns.append(pattern)
    problem = Problem(stock=tuple(stock), parts=tuple(grower.parts), kerf=kerf, worth=KEEP)
    return problem, patterns


def plan(problem: Problem, patterns: list[Pattern]) -> Plan:
    """Return the finished plan, with a bound that claims nothing."""
    return finish(problem, patterns, bound=Bound(0, 0, "nothing is known"), status=Status.FEASIBLE)
