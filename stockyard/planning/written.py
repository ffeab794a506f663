"""A plan written as JSON: exact decimals in the problem's unit, as the contract in DEVELOPERS.md gives it."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal, localcontext
from fractions import Fraction
from functools import lru_cache
from typing import Any

from stockyard.measure import TICKS_PER, Unit, decimal
from stockyard.planning.plan import Layout, Plan
from stockyard.planning.problem import MONEY, Flaw, Part, Problem

CONTRACT = "stockyard/plan/1"
# An area in square inches can have no last decimal; it is then written to this many.
_PLACES = 12
# What stands for a name in the text of layouts that differ in nothing else; no name that is typed holds it.
_NAME = "\0"


class Ready(str):
    """A text that is JSON already."""

    __slots__ = ()


def plan_data(problem: Problem, plan: Plan) -> dict[str, Any]:
    """Return the plan as plain data: dicts, lists, text, whole numbers and Decimals."""
    unit, finals = problem.unit, _finals(problem)
    return {
        "contract": CONTRACT,
        "unit": str(unit),
        "status": str(plan.status),
        "bound": {
            "full_cost": _exact(Fraction(plan.bound.full_cost, MONEY)),
            "stock_area": _exact(Fraction(plan.bound.stock_area, TICKS_PER[unit] ** 2)),
            "says": plan.bound.says,
        },
        "layouts": [_layout(layout, unit, finals) for layout in plan.layouts],
        "work": [{"layout": turn.layout, "step": turn.step} for turn in plan.work],
        "unplaced": [{"id": u.part, "count": u.count, "reason": u.reason} for u in plan.unplaced],
    }


def plan_text(problem: Problem, plan: Plan) -> str:
    """Return the plan as JSON, one layout's rows a line each; layouts cut alike are written once."""
    data = plan_data(problem, replace(plan, layouts=(), work=()))
    data["layouts"] = _layout_texts(problem, plan.layouts)
    data["work"] = [Ready(f'{{"layout": {layout}, "step": {step}}}') for layout, step in plan.work]
    return write_json(data) + "\n"


def _layout_texts(problem: Problem, layouts: Sequence[Layout]) -> list[Ready]:
    """Return each layout as JSON, as deep as it stands in a plan."""
    finals, write = _finals(problem), json.JSONEncoder(ensure_ascii=False).encode
    name, known, found = write(_NAME), dict[object, list[str]](), []
    for layout in layouts:
        names = [given for c in layout.cuts for given in c.gives if given is not None]
        cuts = tuple((*c.alike, *(given is None for given in c.gives)) for c in layout.cuts)
        alike = layout.stock, layout.parts, cuts, layout.leftovers
        if alike not in known:
            unnamed = [replace(c, gives=(c.gives[0] and _NAME, c.gives[1] and _NAME)) for c in layout.cuts]
            data = _layout(replace(layout, cuts=tuple(unnamed)), problem.unit, finals)
            known[alike] = write_json(data, "  ").split(name)
        between = known[alike]
        if len(between) == len(names) + 1:
            names = [text for pair in zip(between, map(write, names), strict=False) for text in pair]
            found.append(Ready("".join(names) + between[-1]))
        else:  # something else is called so
            found.append(Ready(write_json(_layout(layout, problem.unit, finals), "  ")))
    return found


def write_json(value: Any, indent: str = "") -> str:
    """Return plain data as JSON; Decimals become numbers with every digit kept."""
    deeper = indent + " "
    if isinstance(value, str):
        return value if isinstance(value, Ready) else _quoted(value)
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, dict) and any(
        isinstance(v, list) and v and isinstance(v[0], dict | Ready) for v in value.values()
    ):
        rows = [f"{deeper}{_quoted(k)}: {write_json(v, deeper)}" for k, v in value.items()]
        return "{\n" + ",\n".join(rows) + f"\n{indent}}}"
    if isinstance(value, dict):
        return "{" + ", ".join([f"{_quoted(k)}: {write_json(v, deeper)}" for k, v in value.items()]) + "}"
    if isinstance(value, list) and value and isinstance(value[0], dict | Ready):
        return "[\n" + ",\n".join(deeper + write_json(v, deeper) for v in value) + f"\n{indent}]"
    if isinstance(value, list):
        return "[" + ", ".join([write_json(v, deeper) for v in value]) + "]"
    return json.dumps(value)


@lru_cache(maxsize=1 << 14)
def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _exact(value: Fraction) -> Decimal:
    places = next((p for p in range(40) if (value * 10**p).denominator == 1), _PLACES)
    with localcontext() as context:
        context.prec = 80
        return Decimal(round(value * 10**places)).scaleb(-places)


def _finals(problem: Problem) -> dict[str, dict[str, Decimal]]:
    return {p.id: final for p in problem.parts if (final := _final(p, problem.unit))}


def _final(part: Part, unit: Unit) -> dict[str, Decimal]:
    """Return the size that a part is milled and trimmed to, empty for one that is left as sawn."""
    if part.over is None:
        return {}
    length, width = part.length - part.over.length, part.width - part.over.width
    size = {"length": length, "width": width, "thickness": part.final_thickness}
    return {name: decimal(ticks, unit) for name, ticks in size.items() if ticks is not None}


def _layout(layout: Layout, unit: Unit, finals: Mapping[str, dict[str, Decimal]]) -> dict[str, Any]:
    def d(ticks: int) -> Decimal:
        return decimal(ticks, unit)

    return {
        "stock": layout.stock,
        "parts": [
            {
                "id": p.part,
                "x": d(p.x),
                "y": d(p.y),
                "dx": d(p.dx),
                "dy": d(p.dy),
                **({"final": finals[p.part]} if p.part in finals else {}),
            }
            for p in layout.parts
        ],
        "cuts": [
            {
                "step": c.step,
                "piece": c.piece,
                "direction": str(c.direction),
                "at": d(c.at),
                "fence": d(c.fence),
                "gives": list(c.gives),
            }
            for c in layout.cuts
        ],
        "leftovers": [
            {
                "x": d(f.x),
                "y": d(f.y),
                "dx": d(f.dx),
                "dy": d(f.dy),
                **({"factory": [str(edge) for edge in f.factory]} if f.factory else {}),
                **({"flaws": [_flaw(flaw, d) for flaw in f.flaws]} if f.flaws else {}),
            }
            for f in layout.leftovers
        ],
    }


def _flaw(flaw: Flaw, d: Callable[[int], Decimal]) -> dict[str, Decimal]:
    return {"x": d(flaw.x), "y": d(flaw.y), "dx": d(flaw.dx), "dy": d(flaw.dy)}
