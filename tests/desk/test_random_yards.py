"""Random yards: what is stored is what was verified, a check verifies it again, and sees one spoiled cut."""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from stockyard import yard as yards
from stockyard.desk.ask_planner import Asked
from stockyard.desk.plan_check import check_yard
from stockyard.desk.plan_job import keep, plan_job
from stockyard.desk.stored_layouts import answers_of
from stockyard.errors import BadInput
from stockyard.kinds import Form, Grain, Kind
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.measure import Unit
from stockyard.planning.limits import Limits
from stockyard.planning.problem import MONEY
from stockyard.settings import Settings
from stockyard.yard import Yard, cutting, jobs, offers, pieces, places, plans, pulling
from stockyard.yard.materials import add_material
from stockyard.yard.model import JobPart, Storage
from stockyard.yard.plan_rows import questions_of

INCH = 254 * MM // 10


def shop(path: Path, dice: random.Random) -> Yard:
    """A yard of one to four materials, with pieces on the racks and some sizes on sale."""
    inch = dice.random() < 0.4
    settings = Settings(
        unit=Unit.INCH if inch else Unit.MM,
        kerf=INCH // 8 if inch else dice.choice((0, 2, 3, 4)) * MM,
        edge_trim=dice.choice((0, 0, 5, 10)) * MM,
        keep_short_side=dice.choice((0, 80, 150)) * MM,
        keep_area=dice.choice((0, 40_000, 90_000)) * MM * MM,
    )
    y = yards.new(path, settings)
    for place in ("R1", "R2"):
        places.add_place(y, place, dice.choice(list(Storage)))
    for n in range(dice.randint(1, 4)):
        form = dice.choice(list(Form))
        made = add_material(y, f"wood {n}", form, f"{12 + n} mm", (12 + n) * MM, grain=dice.random() < 0.7)
        length, width = (2440, 1220) if form is Form.SHEET else (dice.choice((2400, 3000)), 180)
        if dice.random() < 0.8:
            offers.add_price(y, made.id, length * MM, width * MM, dice.randint(5, 90) * MONEY)
        pieces.shelve(y, list(_arrivals(dice, made.id, length, width)))
    return y


def _arrivals(dice: random.Random, material: int, length: int, width: int) -> Iterator[pieces.Arrival]:
    yield pieces.Arrival(
        material_id=material, kind=Kind.FULL, length=length * MM, width=width * MM, place="R1",
        count=dice.randint(1, 3), cost=dice.randint(0, 60) * MONEY,
    )  # fmt: skip
    for _ in range(dice.randint(0, 4)):
        size = dice.randint(200 * MM, length * MM), dice.randint(60 * MM, width * MM)
        yield pieces.Arrival(
            material_id=material, kind=Kind.OFFCUT, length=size[0], width=size[1], place="R2"
        )


def cut_list(y: Yard, dice: random.Random, name: str) -> jobs.Job:
    known = [r["name"] for r in y.rows("SELECT name FROM material")]
    parts = []
    for n in range(dice.randint(1, 4)):
        wanted = None if dice.random() < 0.2 else (dice.choice(known),)
        size = dice.randint(60 * MM, 900 * MM), dice.randint(30 * MM, 170 * MM)
        part = JobPart(
            name=f"part {n}", count=dice.randint(1, 4), length=size[0], width=size[1], materials=wanted,
            grain=dice.choice(list(Grain)), priority=dice.choice((0, 0, 1)),
        )  # fmt: skip
        parts.append(part)
    return jobs.add_job(y, name, name, parts)


def stored_as_verified(y: Yard, job: jobs.Job, seed: int) -> None:
    """Plan a job, and compare what the tables give with what was found and verified."""
    answer = plan_job(y, job, Asked(limits=Limits(seconds=None, work=1), seed=seed, compare=False))
    keep(y, answer)
    stored = plans.standing_plan(y, job.id)
    assert stored is not None
    back = [a for a, _ in answers_of(stored.layouts, questions_of(y, stored.id))]
    assert [(a.problem, a.plan) for a in back] == [(a.problem, a.plan) for a in answer.each]


def seen_when_spoiled(y: Yard, dice: random.Random) -> None:
    """Move one cut by one tick in a copy, behind the back of ledger and rules."""
    cuts = y.rows(
        "SELECT c.id, n.number, j.name FROM layout_cut c JOIN layout l ON l.id = c.layout_id"
        " JOIN plan n ON n.id = l.plan_id JOIN job j ON j.id = n.job_id WHERE n.state = 'standing'"
    )
    if not cuts:
        return
    cut = dice.choice(cuts)
    path = y.path.with_name(f"spoiled {y.path.name}")
    y.connection.execute("VACUUM INTO ?", (str(path),))
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall():
            db.execute(f'DROP TRIGGER "{name}"')
        by = dice.choice((-1, 1))
        db.execute("UPDATE layout_cut SET at = at + ? WHERE id = ?", (by, cut["id"]))
    with yards.open(path) as spoiled:
        found = check_yard(spoiled).differences
    title = f"plan {cut['number']} of job {cut['name']}: "
    assert any(d.what.startswith(title) for d in found)


def one_yard(folder: Path, seed: int) -> None:
    dice = random.Random(seed)
    with shop(folder / f"{seed}.db", dice) as y:
        for name in ("first", "second")[: dice.randint(1, 2)]:
            job = cut_list(y, dice, name)
            try:
                stored_as_verified(y, job, seed)
                for p in pulling.to_pull(y, job.id)[: dice.randint(0, 1)]:
                    pulling.pull(y, [p.tag])
                    cutting.confirm_cut(y, p.tag)
                if dice.random() < 0.3 and jobs.still_to_cut(y, job):
                    stored_as_verified(y, replace(job), seed + 1)
            except BadInput as nothing_left:
                assert "cut already" in str(nothing_left)
        assert check_yard(y).differences == ()
        seen_when_spoiled(y, dice)


@pytest.mark.parametrize("seed", range(4))
def test_a_random_yard_keeps_what_was_verified(tmp_path: Path, seed: int) -> None:
    one_yard(tmp_path, seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(100, 400))
def test_300_random_yards_keep_what_was_verified(tmp_path: Path, seed: int) -> None:
    one_yard(tmp_path, seed)
