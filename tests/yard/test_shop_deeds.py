"""Deeds about the shop itself, in any order with all others: the record stays true and can go back.

`test_stateful` follows pieces, plans and counts with a model; here come materials, places, prices, settings,
jobs and pieces bought for a plan, with undoing and doing again out of order.
"""

from __future__ import annotations

import contextlib
import random
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

import pytest

from stockyard.errors import StockyardError
from stockyard.planning.problem import Kind
from stockyard.settings import change
from stockyard.yard import (
    Yard,
    change_settings,
    flows,
    jobs,
    ledger,
    materials,
    offers,
    pieces,
    places,
    plans,
    pulling,
    stocktake,
    undo,
)
from stockyard.yard.check import check
from stockyard.yard.materials import MaterialChange
from stockyard.yard.model import Form, Storage
from stockyard.yard.places import PlaceChange
from stockyard.yard.planned import PlannedLeftover, StoredLayout
from tests.yard.shop import MM, SHEET, add_job, full, make_shop, planned, state_of, store
from tests.yard.worker import WORK

T = TypeVar("T")


def one_of(r: random.Random, found: Sequence[T]) -> T:
    """Return one of them; none is like a refusal."""
    if not found:
        raise StockyardError("none")
    return r.choice(found)


def set_kerf(y: Yard, r: random.Random) -> None:
    kerf = f"{r.randint(0, 9)} mm"
    change_settings(y, change(y.settings, {"kerf": kerf, "currency": r.choice(["EUR", "$"])}))
    assert y.settings.kerf == int(kerf[0]) * MM


def add_material(y: Yard, r: random.Random) -> None:
    name, thickness = r.choice(["ash", "MDF", "Elm"]), r.choice(["18 mm", "3/4"])
    made = materials.add_material(y, name, r.choice(list(Form)), thickness, r.randint(1, 99_999), grain=True)
    assert materials.named(y, f"{name} {thickness}") == made


def change_material(y: Yard, r: random.Random) -> None:
    field, value = r.choice(["least_stock", "lead_days", "density"]), r.randint(1, 5)
    changed = materials.change_material(
        y, one_of(r, materials.materials(y)).id, MaterialChange(**{field: value})
    )
    assert getattr(changed, field) == value


def add_place(y: Yard, r: random.Random) -> None:
    around = r.choice([None, *(p.code for p in places.places(y))])
    made = places.add_place(
        y, f"R{r.randint(1, 9)}-{r.randint(1, 3)}", r.choice(list(Storage)), inside=around
    )
    assert places.places(y)[-1] == made or made.walk == places.places(y)[-1].walk


def change_place(y: Yard, r: random.Random) -> None:
    found = places.places(y)
    changes = [
        PlaceChange(walk=r.randint(1, 9)), PlaceChange(inside_id=r.choice([None, *(p.id for p in found)])),
        PlaceChange(rated_load=r.choice([900, 1000])), PlaceChange(storage=r.choice(list(Storage))),
    ]  # fmt: skip
    places.change_place(y, one_of(r, found).code, r.choice(changes))


def add_price(y: Yard, r: random.Random) -> None:
    m = one_of(r, materials.materials(y))
    since = r.choice([None, "2026-01-01"])
    offers.add_price(y, m.id, *SHEET, r.randint(0, 10**6), r.choice(["", "A"]), since=since)


def end_offer(y: Yard, r: random.Random) -> None:
    o = one_of(r, offers.offers(y))
    offers.end_offer(y, o.material_id, o.length, o.width, o.supplier)
    assert o not in offers.offers(y)


def job_of_few_names(y: Yard, r: random.Random) -> None:
    add_job(y, f"job {r.choice('abc')}")


def remove_job(y: Yard, r: random.Random) -> None:
    jobs.remove_job(y, one_of(r, jobs.jobs(y)).id)


def plan_to_buy(y: Yard, r: random.Random) -> None:
    """Plan a job on two full pieces that must be bought."""
    parts = planned("side", 700 * MM, 500 * MM)
    lefts = (PlannedLeftover(length=1000 * MM, width=400 * MM),)
    m = one_of(r, materials.materials(y)).id
    layouts = [
        StoredLayout(
            number=n, tag=None, material_id=m, length=SHEET[0], width=SHEET[1], placed=parts, leftovers=lefts
        )
        for n in (1, 2)
    ]
    job = add_job(y, f"to buy {r.random()}")
    store(y, job.id, layouts, status=r.choice(["feasible", "short"]))
    assert flows.still_to_buy(y)[m] >= 2


def pull_bought(y: Yard, r: random.Random) -> None:
    planned = [j for j in jobs.jobs(y) if plans.standing_plan(y, j.id)]
    free = [p for p in pieces.on_hand(y) if p.kind is Kind.FULL]
    pulling.pull(y, [one_of(r, free).tag], one_of(r, planned).id)


def shelve_full(y: Yard, r: random.Random) -> None:
    at = one_of(r, places.places(y)).code
    pieces.shelve(y, [full(one_of(r, materials.materials(y)), at=at)])


def start_count(y: Yard, r: random.Random) -> None:
    stocktake.start_count(y, one_of(r, places.places(y)).code)


def release(y: Yard, r: random.Random) -> None:
    standing = [plan for j in jobs.jobs(y) if (plan := plans.standing_plan(y, j.id))]
    plans.release_plan(y, one_of(r, standing).id)


DEEDS: tuple[Callable[[Yard, random.Random], object], ...] = (
    set_kerf, add_material, change_material, add_place, change_place, add_price, end_offer, job_of_few_names,
    remove_job, plan_to_buy, plan_to_buy, pull_bought, pull_bought, pull_bought, shelve_full, start_count,
    release, *WORK,
)  # fmt: skip


def undo_any(y: Yard, r: random.Random, start: int) -> None:
    """Undo any deed, or do again one that was undone."""
    newest = y.one("SELECT max(id) FROM deed")
    if newest > start:
        undo.undo(y, r.randint(start + 1, newest))


def live(y: Yard, r: random.Random, steps: int, start: int) -> None:
    for _ in range(steps):
        with contextlib.suppress(StockyardError):
            if r.random() < 0.12:
                undo_any(y, r, start)
            else:
                r.choice(DEEDS)(y, r)


def everything_can_be_told(y: Yard) -> None:
    """Every piece has a history, and what came, was cut and went adds up to what is there."""
    for row in y.rows("SELECT tag FROM piece"):
        assert ledger.history(y, row["tag"]).events
    came, went, cut = flows.arrivals(y), flows.departures(y), flows.cut_pieces(y)
    here = y.one("SELECT coalesce(sum(area), 0) FROM piece WHERE state NOT IN ('cut', 'gone')")
    used = sum(c.area - c.offcuts_area for c in cut)
    assert sum(m.area for m in came) == here + sum(m.area for m in went) + used


def undo_all(y: Yard, start: int) -> None:
    """Undo deed after deed, the last first."""
    while undo.last_deed(y).id > start:
        undo.undo(y)


@pytest.mark.parametrize(("seeds", "steps"), [(12, 50), pytest.param(500, 80, marks=pytest.mark.slow)])
def test_any_deeds_keep_the_record_true(tmp_path: Path, seeds: int, steps: int) -> None:
    for seed in range(seeds):
        with make_shop(tmp_path / f"{seed}.db").yard as y:
            y.connection.execute("PRAGMA synchronous = OFF")
            start = y.one("SELECT max(id) FROM deed")
            live(y, random.Random(seed), steps, start)
            assert check(y) == (), seed
            everything_can_be_told(y)


@pytest.mark.parametrize(("seeds", "steps"), [(8, 50), pytest.param(300, 60, marks=pytest.mark.slow)])
def test_undoing_all_of_any_deeds_gives_the_first_state(tmp_path: Path, seeds: int, steps: int) -> None:
    for seed in range(seeds):
        with make_shop(tmp_path / f"{seed}.db").yard as y:
            y.connection.execute("PRAGMA synchronous = OFF")
            first, start = state_of(y), y.one("SELECT max(id) FROM deed")
            r = random.Random(seed)
            for _ in range(steps):
                with contextlib.suppress(StockyardError):
                    r.choice(DEEDS)(y, r)
            undo_all(y, start)
            assert state_of(y) == first, seed
            assert check(y) == ()
