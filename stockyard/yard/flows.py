"""What came, was cut and went, piece by piece: the amounts that cost reports add up.

Everything is read from the record as it stands, so a deed that was undone is not in it, and what came
less what was cut and what went, with the offcuts returned, is what lies in the yard.
"""

from __future__ import annotations

import sqlite3
from collections import Counter
from dataclasses import dataclass
from typing import Any

from stockyard.days import local
from stockyard.kinds import Kind
from stockyard.yard.store import Yard


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """One piece that came in from outside or left uncut: when, its area (ticks²), its carried cost.

    `at` is the time on the shop's own clock.
    """

    tag: str
    material_id: int
    kind: Kind
    at: str
    area: int
    cost: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPiece:
    """One piece that was cut, for a job or for none; `at` is the time on the shop's own clock.

    area = parts_area + offcuts_area + scrap; cost = parts_cost + offcuts_cost, so `parts_cost` carries
    the scrap as well. `shares` are the areas of the parts by job, where there are any: of a plan that served
    several jobs, each has its own.
    """

    tag: str
    material_id: int
    kind: Kind
    job_id: int | None
    job: str | None
    at: str
    area: int
    cost: int
    scrap: int
    parts_area: int
    parts_cost: int
    offcuts_area: int
    offcuts_cost: int
    shares: tuple[tuple[int, int], ...] = ()


def _read(row: sqlite3.Row, zone: str) -> dict[str, Any]:
    return {**dict(row), "kind": Kind(row["kind"]), "at": local(row["at"], zone)}


def arrivals(yard: Yard) -> tuple[Movement, ...]:
    """Return every piece that was not cut from another one, oldest first, as it was when it came.

    A full piece that was ripped down since came as a full one.
    """
    rows = yard.rows(
        "SELECT tag, material_id, CASE kind WHEN 'full' THEN kind ELSE (SELECT e.now ->> 'kind' FROM entry e"
        " WHERE e.thing = 'piece' AND e.thing_key = tag AND e.was IS NULL ORDER BY e.id DESC LIMIT 1) END"
        " AS kind, shelved_at AS at, area - hollow AS area, cost FROM piece WHERE parent IS NULL"
        " ORDER BY shelved_at, tag"
    )
    zone = yard.settings.time_zone
    return tuple(Movement(**_read(row, zone)) for row in rows)


def departures(yard: Yard) -> tuple[Movement, ...]:
    """Return every piece that left uncut, by when it was reported gone."""
    rows = yard.rows(
        "SELECT p.tag, p.material_id, p.kind, p.area - p.hollow AS area, p.cost,"
        " (SELECT max(d.at) FROM entry e"
        " JOIN deed d ON d.id = e.deed_id WHERE e.thing = 'piece' AND e.thing_key = p.tag"
        " AND e.now ->> 'state' = 'gone') AS at FROM piece p WHERE p.state = 'gone' ORDER BY at, p.tag"
    )
    zone = yard.settings.time_zone
    return tuple(Movement(**_read(row, zone)) for row in rows)


def cut_pieces(yard: Yard) -> tuple[CutPiece, ...]:
    """Return every piece that was cut, oldest cut first."""
    rows = yard.rows(
        "SELECT c.tag, p.material_id, p.kind, c.cut_at AS at, b.area, p.cost, c.scrap,"
        " b.in_parts AS parts_area, c.cost AS parts_cost,"
        " b.in_offcuts AS offcuts_area, p.cost - c.cost AS offcuts_cost, j.id AS job_id, j.name AS job"
        " FROM cutting c JOIN piece p ON p.tag = c.tag JOIN cut_balance b ON b.tag = c.tag"
        " LEFT JOIN layout l ON l.id = c.layout_id LEFT JOIN plan n ON n.id = l.plan_id"
        " LEFT JOIN job j ON j.id = coalesce(n.job_id,"
        " (SELECT x.job_id FROM cut_part x WHERE x.tag = c.tag AND x.job_id IS NOT NULL LIMIT 1))"
        " ORDER BY c.cut_at, c.tag"
    )
    zone = yard.settings.time_zone
    by_tag: dict[str, list[tuple[int, int]]] = {}
    for row in yard.rows(
        "SELECT tag, job_id, sum(length * width * count) AS area FROM cut_part WHERE job_id IS NOT NULL"
        " GROUP BY tag, job_id ORDER BY tag, job_id"
    ):
        by_tag.setdefault(row["tag"], []).append((row["job_id"], row["area"]))
    return tuple(CutPiece(**_read(row, zone), shares=tuple(by_tag.get(row["tag"], ()))) for row in rows)


def still_to_buy(yard: Yard) -> Counter[int]:
    """Return how many pieces standing plans still need to be bought, by material."""
    rows = yard.rows(
        "SELECT l.material_id, count(*) AS n FROM layout l JOIN plan p ON p.id = l.plan_id"
        " WHERE l.tag IS NULL AND p.state IN ('standing', 'broken') GROUP BY l.material_id"
    )
    return Counter({row["material_id"]: row["n"] for row in rows})
