"""A second check of a plan, for the tests alone: from the two JSON texts, in fractions, nothing shared.

It reads the contract by itself: lengths as a person writes them, blade positions, names on the bench.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from fractions import Fraction
from typing import Any

F = Fraction
Box = tuple[Fraction, Fraction, Fraction, Fraction]
EDGES = ("x_low", "x_high", "y_low", "y_high")
MM = {"mm": F(1), "cm": F(10), "in": F(254, 10), '"': F(254, 10)}


def length(value: Any, unit: str) -> Fraction:
    """A length in mm: a bare number in `unit`, or text such as '23 1/2', '600 mm', '1/4'."""
    if not isinstance(value, str):
        return F(value) * MM[unit]
    m = re.fullmatch(r'\s*(?:(\d+(?:\.\d+)?)(?![\d/.])\s*)?(?:(\d+)/(\d+))?\s*(mm|cm|in|")?\s*', value)
    assert m, value
    whole, top, bottom, word = m.groups()
    return (F(whole or 0) + (F(int(top), int(bottom)) if top else 0)) * MM[word or unit]


def numbers(text: str) -> Any:
    return json.loads(text, parse_float=F, parse_int=F)


class Check:
    """Collects complaints about one plan."""

    def __init__(self, problem_text: str, plan_text: str) -> None:
        self.problem, self.plan = numbers(problem_text), numbers(plan_text)
        self.unit = self.problem.get("unit", "mm")
        self.kerf = length(self.problem.get("kerf", F(0)), self.unit)
        self.stock = {s["id"]: s for s in self.problem["stock"]}
        self.parts = {p["id"]: p for p in self.problem["parts"]}
        keep = self.problem.get("keep") or {}
        self.keep_side = length(keep["short_side"], self.unit) if "short_side" in keep else F(150)
        self.keep_area = F(keep["area"]) * MM[self.unit] ** 2 if "area" in keep else F(90000)
        self.complaints: list[str] = []

    def run(self) -> list[str]:
        plan = self.plan
        self.need(plan["contract"] == "stockyard/plan/1", "contract")
        self.need(plan["unit"] == self.unit, "unit")
        used: Counter[str] = Counter()
        placed: Counter[str] = Counter()
        money = area = F(0)
        for n, layout in enumerate(plan["layouts"]):
            piece = self.stock[layout["stock"]]
            used[layout["stock"]] += 1
            size = self.size(piece)
            area += size[0] * size[1]
            money += F(piece.get("cost") or 0) if piece["kind"] == "full" else 0
            placed.update(p["id"] for p in layout["parts"])
            self.layout(f"layout {n}", piece, layout)
        for ident, n in used.items():
            count = self.stock[ident].get("count", F(1))
            self.need(count is None or n <= count, f"{ident} used {n} times")
        left_out = Counter({u["id"]: u["count"] for u in plan["unplaced"]})
        for ident, part in self.parts.items():
            self.need(placed[ident] + left_out[ident] == part.get("count", 1), f"count of {ident}")
        self.need(all(u["reason"].strip() and u["count"] > 0 for u in plan["unplaced"]), "reason")
        self.need((plan["status"] == "short") == bool(plan["unplaced"]), "status")
        self.claims(money, area)
        self.work()
        self.sets(left_out)
        self.batches()
        return self.complaints

    def sets(self, left_out: Counter[str]) -> None:
        """Members of a set one kerf apart in order, flush, lying alike; each set whole or left out whole."""
        for group in self.problem.get("groups") or []:
            names, found = group["members"], 0
            axis = {"along": 0, "across": 1}[group["run"]]
            for n, layout in enumerate(self.plan["layouts"]):
                waiting = {self.box(p): p["id"] for p in layout["parts"] if p["id"] in names}
                while waiting:
                    box = min(waiting, key=lambda b: (b[1 - axis], b[axis]))
                    got = []
                    for _ in names:
                        if box in waiting:
                            got.append((waiting.pop(box), box))
                        here = box[axis] + box[axis + 2] + self.kerf
                        box = next(
                            (b for b in waiting if b[axis] == here and b[1 - axis] == box[1 - axis]), box
                        )
                    said = [ident for ident, _ in got]
                    self.need(said in (names, names[::-1]), f"layout {n}: set {group['id']}: {said}")
                    self.need(len({b[3 - axis] for _, b in got}) == 1, f"set {group['id']}: not flush")
                    for ident, b in got:
                        size = self.size(self.parts[ident])
                        across = self.parts[ident].get("grain", "along") == "across"
                        self.need(b[2:] == (size[::-1] if across else size), f"set: {ident} the other way up")
                    found += 1
            missing = {F(left_out[m]) / names.count(m) for m in names}
            self.need(missing == {group.get("count", 1) - found}, f"set {group['id']}: not in whole sets")

    def batches(self) -> None:
        """Pieces of one batch measure alike, or none is measured and all are of one row."""
        spread = length(self.problem.get("batch_spread", "0.2 mm"), self.unit)
        used: dict[str, set[str]] = {}
        for layout in self.plan["layouts"]:
            for p in layout["parts"]:
                if batch := self.parts[p["id"]].get("batch"):
                    used.setdefault(batch, set()).add(layout["stock"])
        for batch, rows in used.items():
            figures = [self.stock[r].get("measured") for r in rows]
            known = [length(f, self.unit) for f in figures if f is not None]
            alone = len(known) == len(rows) or len(rows) == 1
            self.need(
                alone and max(known, default=F(0)) - min(known, default=F(0)) <= spread, f"batch {batch}"
            )

    def work(self) -> None:
        """Every cut once, each after the cut that made its piece."""
        cuts = {(n, c["step"]): c for n, layout in enumerate(self.plan["layouts"], 1) for c in layout["cuts"]}
        turns = [(t["layout"], t["step"]) for t in self.plan["work"]]
        self.need(sorted(turns) == sorted(cuts), "work: every cut once")
        there = {(n, "stock") for n, _ in turns}
        for turn in turns:
            cut = cuts.get(turn, {"piece": None, "gives": []})
            self.need((turn[0], cut["piece"]) in there, f"work: {turn} too early")
            there.update((turn[0], name) for name in cut["gives"])

    def claims(self, money: Fraction, area: Fraction) -> None:
        bound = self.plan["bound"]
        self.need(isinstance(bound["says"], str), "says")
        if self.plan["status"] != "short":
            self.need(bound["full_cost"] <= money, "bound above the money")
            self.need(bound["stock_area"] * MM[self.unit] ** 2 <= area, "bound above the area")
        if self.plan["status"] == "proven":
            self.need(bound["full_cost"] == money, "proven without meeting the bound")

    def need(self, holds: bool, what: str) -> None:
        if not holds:
            self.complaints.append(what)

    def size(self, row: Any) -> tuple[Fraction, Fraction]:
        return length(row["length"], self.unit), length(row["width"], self.unit)

    def box(self, row: Any) -> Box:
        x, y, dx, dy = (row[k] * MM[self.unit] for k in ("x", "y", "dx", "dy"))
        return x, y, dx, dy

    def layout(self, where: str, piece: Any, layout: Any) -> None:
        extent = self.size(piece)
        named = [(p["id"], self.box(p)) for p in layout["parts"]]
        lefts = [self.box(f) for f in layout["leftovers"]]
        for ident, box in named:
            self.part(f"{where} {ident}", piece, self.parts[ident], box)
        for box in lefts:
            inside = (
                box[0] >= 0 and box[1] >= 0 and box[0] + box[2] <= extent[0] and box[1] + box[3] <= extent[1]
            )
            self.need(inside, f"{where}: leftover out")
            kept = min(box[2:]) >= self.keep_side and box[2] * box[3] >= self.keep_area
            self.need(kept, f"{where}: leftover too small")
        trim = self.trim(piece)
        for row, box in zip(layout["leftovers"], lefts, strict=True):
            at = [box[0] == 0, box[0] + box[2] == extent[0], box[1] == 0, box[1] + box[3] == extent[1]]
            uncut = [e for e, t, touches in zip(EDGES, trim, at, strict=True) if t > 0 and touches]
            self.need(row.get("factory", []) == uncut, f"{where}: factory edges")
        self.flaws(where, piece, layout, named, lefts)
        boxes = [b for _, b in named] + lefts
        for i, a in enumerate(boxes):
            for b in boxes[:i]:
                self.need(apart(a, b) >= self.kerf, f"{where}: too near")
        if self.problem.get("method") == "router":
            self.need(layout["cuts"] == [], f"{where}: cuts by a router")
        else:
            self.replay(where, extent, layout["cuts"], named, lefts)

    def flaws(self, where: str, piece: Any, layout: Any, named: Any, lefts: Any) -> None:
        """No part touches a flaw, and every leftover lists what it has of them, from its own corner."""
        bad = [tuple(length(f[k], self.unit) for k in ("x", "y", "dx", "dy")) for f in piece.get("flaws", [])]
        for ident, box in named:
            self.need(all(apart(box, f) >= 0 for f in bad), f"{where} {ident}: on a flaw")
        for row, box in zip(layout["leftovers"], lefts, strict=True):
            own = set()
            for f in bad:
                if apart(box, f) < 0:
                    low = [max(box[i], f[i]) for i in (0, 1)]
                    far = [min(box[i] + box[i + 2], f[i] + f[i + 2]) for i in (0, 1)]
                    own.add((low[0] - box[0], low[1] - box[1], far[0] - low[0], far[1] - low[1]))
            listed = [self.box(f) for f in row.get("flaws", [])]
            self.need(set(listed) == own and len(listed) == len(own), f"{where}: flaws of a leftover")

    def part(self, where: str, piece: Any, part: Any, box: Box) -> None:
        size, extent = self.size(part), self.size(piece)
        grain = part.get("grain", "along") if piece.get("grain") else "any"
        allowed = {"along": [size], "across": [size[::-1]], "any": [size, size[::-1]]}[grain]
        self.need(box[2:] in allowed, f"{where}: size or grain")
        trim = self.trim(piece)
        inside = all(
            box[i] >= trim[2 * i] and box[i] + box[i + 2] <= extent[i] - trim[2 * i + 1] for i in (0, 1)
        )
        self.need(inside, f"{where}: trim")
        material = part.get("material")
        names = [material] if isinstance(material, str) else material
        self.need(names is None or piece["material"] in names, f"{where}: material")
        if part.get("thickness") is not None:
            thick = piece.get("thickness")
            same = thick is not None and length(thick, self.unit) == length(part["thickness"], self.unit)
            self.need(same, f"{where}: thickness")

    def trim(self, piece: Any) -> list[Fraction]:
        """x low, x high, y low, y high."""
        own = piece.get("edge_trim")
        if own is None:
            own = self.problem.get("edge_trim", F(0)) if piece["kind"] == "full" else F(0)
        if not isinstance(own, dict):
            return [length(own, self.unit)] * 4
        both = [own.get("ends", F(0)), own.get("sides", F(0))]
        return [length(own.get(name, both[name[0] == "y"]), self.unit) for name in EDGES]

    def replay(
        self, where: str, extent: tuple[Fraction, Fraction], cuts: Any, named: Any, lefts: Any
    ) -> None:
        bench: dict[str, Box] = {"stock": (F(0), F(0), *extent)}
        ever = {"stock"}
        for n, cut in enumerate(cuts, 1):
            self.need(cut["step"] == n, f"{where}: step")
            if cut["piece"] not in bench:
                self.complaints.append(f"{where}: no piece {cut['piece']}")
                return
            axis = ["crosscut", "rip"].index(cut["direction"])
            box = bench.pop(cut["piece"])
            at, fence = cut["at"] * MM[self.unit], cut["fence"] * MM[self.unit]
            after = box[axis + 2] - at - self.kerf
            self.need(-self.kerf <= at <= box[axis + 2], f"{where}: blade")
            self.need(fence in (at, after), f"{where}: fence")
            for name, start, size in zip(cut["gives"], (F(0), at + self.kerf), (at, after), strict=True):
                if name is None:
                    continue
                self.need(name not in ever and size > 0, f"{where}: name {name}")
                ever.add(name)
                side = list(box)
                side[axis] += start
                side[axis + 2] = size
                bench[name] = (side[0], side[1], side[2], side[3])
        self.need(sorted(bench.values()) == sorted([b for _, b in named] + lefts), f"{where}: bench")
        at_box = {box: name for name, box in bench.items()}
        for ident, box in named:
            name = at_box.get(box, "")
            self.need(name == "stock" or name.rpartition(" ")[0] == ident, f"{where}: name of {ident}")


def apart(a: Box, b: Box) -> Fraction:
    return max(max(a[i] - b[i] - b[i + 2], b[i] - a[i] - a[i + 2]) for i in (0, 1))


def complaints(problem_text: str, plan_text: str) -> list[str]:
    """Everything wrong with the plan in `plan_text` as an answer to `problem_text`."""
    return Check(problem_text, plan_text).run()
