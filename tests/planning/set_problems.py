"""Random problem files with matched sets and batches: those of `problems.py`, with one to three sets."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Any

from tests.planning.problems import random_problem


def with_sets(seed: int, made: Callable[[int], dict[str, Any]] = random_problem) -> dict[str, Any]:
    """Return a problem as the data of its JSON file; some of its sets fit no piece, some only as a whole.

    `made` gives it without sets and batches.
    """
    rng = Random(f"sets {seed}")
    problem = made(seed)
    unit = problem["unit"]
    wide, long = ((40, 900), (200, 1500)) if unit == "mm" else ((2, 34), (8, 60))
    problem["groups"] = []
    for n in range(rng.randint(1, 3)):
        run, grain = rng.choice(["across", "along"]), rng.choice(["along", "along", "across", "any"])
        count, kinds = rng.randint(1, 3), rng.randint(1, 3)
        # What must be equal is the extent across the run, as the members lie.
        flush = rng.randint(*(long if (run == "across") != (grain == "across") else wide))
        members = [f"set{n} {k}" for k in range(kinds)]
        for name in members:
            free = rng.randint(*wide) // 2 + 2
            turned = (run == "across") == (grain == "across")
            length, width = (free, flush) if turned else (flush, free)
            problem["parts"].append(
                {"id": name, "length": length, "width": width, "grain": grain, "material": rng.choice(
                    [None, *({s["material"] for s in problem["stock"]})])}
            )  # fmt: skip
        named = {p["id"]: p for p in problem["parts"]}
        material = named[members[0]]["material"]
        order = [*members, *rng.choices(members, k=rng.randint(0, 2))]
        rng.shuffle(order)
        for name in members:
            named[name] |= {"count": count * order.count(name), "material": material}
        problem["groups"].append({"id": f"front {n}", "run": run, "members": order, "count": count})
    _measure(rng, problem)
    return problem


def _measure(rng: Random, problem: dict[str, Any]) -> None:
    """Measure most of the stock and ask batches of some of the parts."""
    thick = [17.5, 17.6, 17.85, 18.1] if problem["unit"] == "mm" else [0.6875, 0.703125, 0.71875]
    for row in problem["stock"]:
        if rng.random() < 0.8:
            row["measured"] = rng.choice(thick)
    for part in problem["parts"]:
        if rng.random() < 0.3:
            part["batch"] = rng.choice(["dado", "tongue"])
    if rng.random() < 0.5:
        problem["batch_spread"] = rng.choice([0, "0.3 mm", "1/32 in"])
