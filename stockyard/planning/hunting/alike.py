"""Parts that are alike to the planner are counted together while it searches, and told apart in the plan."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from stockyard.planning.model import AS_WRITTEN, TURNED, Model, PartModel
from stockyard.planning.tree import Node, Pattern

_SWAPPED = {0: 0, AS_WRITTEN: TURNED, TURNED: AS_WRITTEN, AS_WRITTEN | TURNED: AS_WRITTEN | TURNED}


@dataclass(frozen=True, slots=True)
class Merged:
    """A model in which each part stands for `rows[its row]`: (part row, how many), itself included."""

    model: Model
    rows: dict[int, tuple[tuple[int, int], ...]]

    def back(self, patterns: Iterable[Pattern]) -> list[Pattern]:
        """Return the patterns with the parts that were counted together told apart again."""
        if all(len(group) == 1 for group in self.rows.values()):
            return list(patterns)
        waiting = {
            row: [member for member, count in reversed(group) for _ in range(count)]
            for row, group in self.rows.items()
        }

        def name(node: Node) -> Node:
            if node.part is not None:
                return replace(node, part=waiting[node.part].pop())
            return replace(node, children=tuple(name(c) for c in node.children)) if node.children else node

        return [Pattern(p.stock, name(p.root)) for p in patterns]


def merge(model: Model) -> Merged:
    """Count parts of the same size, priority, shape and ways to lie together, under the first of them."""
    alike: dict[object, list[PartModel]] = {}
    for p in model.parts:
        key: tuple[object, ...]
        if shape := model.problem.parts[p.row].shape:
            key = (p.length, p.width, p.priority, p.lies, shape)
        elif p.length >= p.width:
            key = (p.length, p.width, p.priority, p.lies)
        else:
            key = (p.width, p.length, p.priority, tuple(_SWAPPED[ways] for ways in p.lies))
        alike.setdefault(key, []).append(p)
    parts = tuple(replace(group[0], demand=sum(p.demand for p in group)) for group in alike.values())
    rows = {group[0].row: tuple((p.row, p.demand) for p in group) for group in alike.values()}
    return Merged(replace(model, parts=parts), rows)
