"""Random problem files: invented boards and sheets with everything the contract allows."""

from __future__ import annotations

from random import Random
from typing import Any

SHEETS = {
    "mm": [(2440, 1220), (1525, 1525), (2500, 1250), (3050, 1525)],
    "in": [(96, 48), (60, 60), (97, 49)],
}
BOARDS = {"mm": [(3048, 89), (3658, 140), (4877, 89)], "in": [(96, 3.5), (120, 5.5), (192, 11.25)]}


def flawed_problem(seed: int) -> dict[str, Any]:
    """Return the same where most rows of stock have flaws, some of them over each other or an edge."""
    problem, rng = random_problem(seed), Random(-seed - 1)
    for row in problem["stock"]:
        length, width = (int(_number(row[side])) for side in ("length", "width"))
        flaws = []
        for _ in range(rng.choice([0, 1, 1, 2, 3])):
            x, y = rng.choice([0, rng.randint(0, length - 1)]), rng.choice([0, rng.randint(0, width - 1)])
            dx, dy = rng.randint(1, 1 + length // 6), rng.randint(1, 1 + width // 3)
            flaws.append({"x": x, "y": y, "dx": min(dx, length - x), "dy": min(dy, width - y)})
        if flaws:
            row["flaws"] = flaws
    return problem


def _number(figure: Any) -> float:
    """A whole number no larger than a length as a person writes it."""
    return float(figure.split()[0].split("/")[0]) if isinstance(figure, str) else float(figure)


def random_problem(seed: int) -> dict[str, Any]:
    """Return a problem as the data of its JSON file; lengths lie on the grid of exact lengths."""
    rng = Random(seed)
    unit = rng.choice(["mm", "mm", "in"])
    boards = rng.random() < 0.3
    materials = rng.sample(["birch ply", "oak ply", "MDF", "fir"], rng.randint(1, 2))
    thicknesses: list[Any] = [18, 12] if unit == "mm" else ["3/4", "1/2 in"]
    problem: dict[str, Any] = {
        "unit": unit,
        "kerf": _figure(rng, unit, 0, 6),
        "edge_trim": rng.choice([0, 0, _figure(rng, unit, 0, 12)]),
        "method": "router" if rng.random() < 0.08 else "saw",
        "stock": [],
        "parts": [],
    }
    if rng.random() < 0.5:
        side = rng.choice([80, 150, 300])
        problem["keep"] = (
            {"short_side": side, "area": side * side * 3}
            if unit == "mm"
            else {"short_side": side / 25, "area": 144}
        )
    for i in range(rng.randint(1, 3)):
        length, width = rng.choice((BOARDS if boards else SHEETS)[unit])
        problem["stock"].append(
            {
                "id": f"full {i}", "kind": "full", "material": rng.choice(materials),
                "thickness": rng.choice(thicknesses), "length": length, "width": width,
                "count": rng.choice([None, None, 0, 1, 3]), "cost": rng.choice([0, 12, 58.25, 31.5]),
                "grain": rng.random() < 0.6,
            }
        )  # fmt: skip
    for i in range(rng.choice([0, 2, 6, 15])):
        length, width = rng.choice((BOARDS if boards else SHEETS)[unit])
        row: dict[str, Any] = {
            "id": f"K{i}", "kind": "offcut", "material": rng.choice(materials), "dig": rng.randint(0, 4),
            "length": _share(rng, unit, length), "width": width if boards else _share(rng, unit, width),
            "grain": rng.random() < 0.6,
        }  # fmt: skip
        if rng.random() < 0.9:
            row["thickness"] = rng.choice(thicknesses)
        if rng.random() < 0.2:
            row["edge_trim"] = _figure(rng, unit, 0, 8)
        problem["stock"].append(row)
    length, width = rng.choice((BOARDS if boards else SHEETS)[unit])
    for i in range(rng.randint(1, 9)):
        part: dict[str, Any] = {
            "id": rng.choice(["side", "left", "a", "rail"]) + (f" {i}" if i else ""),
            "length": _share(rng, unit, length * 0.6), "count": rng.randint(1, 5),
            "width": width if boards and rng.random() < 0.5 else _share(rng, unit, width * 0.6),
            "grain": rng.choice(["along", "along", "across", "any"]),
        }  # fmt: skip
        if rng.random() < 0.3:
            part["priority"] = rng.randint(-2, 2)
        if rng.random() < 0.7:
            part["thickness"] = rng.choice(thicknesses)
        if rng.random() < 0.8:
            part["material"] = rng.choice([rng.choice(materials), materials, ["walnut", materials[0]]])
        if rng.random() < 0.03:
            part["length"] = length * 3
        problem["parts"].append(part)
    return problem


def _figure(rng: Random, unit: str, low: int, high: int) -> Any:
    """A small length of `low` to `high` mm, as a number or as text, exact in hundredths or sixty-fourths."""
    if unit == "mm":
        return rng.choice([rng.randint(low, high), rng.randint(low * 100, high * 100) / 100])
    top = rng.randint(low, high * 64 // 25)
    return rng.choice([top / 64, f"{top}/64"])


def _share(rng: Random, unit: str, size: float) -> Any:
    if unit == "mm":
        return rng.choice([rng.randint(40, int(size) + 40), rng.randint(400, int(size) * 10) / 10])
    eighths = rng.randint(8, max(9, int(size * 8)))
    return rng.choice(
        [eighths / 8, f"{eighths // 8} {eighths % 8}/8" if eighths % 8 else f"{eighths // 8} in"]
    )
