"""Random yards, a random upset each: what it does not touch stays, the plan holds and the record is true.

All 500 take an hour; `UPSETS=100:160 pytest -m slow tests/desk/test_upsets.py` runs those from 100 up to 159.
"""

from __future__ import annotations

import os
import random
from dataclasses import replace
from pathlib import Path

import pytest

from stockyard.desk.ask_planner import Asked
from stockyard.desk.plan_check import check_yard
from stockyard.desk.plan_job import plan_and_store
from stockyard.desk.replan import plan_again
from stockyard.desk.shop import set_settings
from stockyard.errors import BadInput, Refused
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.limits import Limits
from stockyard.yard import Yard, cutting, jobs, measuring, pieces, plans, pulling, spoiled
from stockyard.yard.accepted import accepts
from stockyard.yard.job_edit import Edit, edit_job
from stockyard.yard.materials import materials
from stockyard.yard.model import Job, JobPart, State
from stockyard.yard.offers import offers
from stockyard.yard.pieces import free_for
from stockyard.yard.planned import GivenPart, StoredLayout
from tests.desk.test_random_yards import cut_list, shop

SLICE = os.environ.get("UPSETS", "100:600")
QUICK = Asked(limits=Limits(seconds=None, work=1), compare=False)
# More than any plan of these yards can save: then all that is not touched must stay.
DEAR = {"change_seconds": "36000"}


def shown(x: StoredLayout) -> tuple[object, ...]:
    """All that is on a card, but for the copies' names and when it is sawn, which count over a plan."""
    cuts = tuple((c.step, c.direction, c.at, c.fence) for c in x.cuts)
    placed = sorted(repr(replace(p, number=None)) for p in x.placed)
    return x.number, x.tag, placed, cuts, x.leftovers


def uncut(y: Yard, job: Job) -> dict[int, StoredLayout]:
    plan = plans.standing_plan(y, job.id)
    if plan is None:
        return {}
    tags = {x.tag: x for x in plan.layouts if x.tag}
    cut = {p.tag for p in pieces.by_tags(y, list(tags)) if p.state is State.CUT}
    return {x.number: x for x in plan.layouts if x.tag not in cut}


def upset(y: Yard, job: Job, dice: random.Random) -> tuple[str, int]:
    """Upset a job; return what happened, and how many of its cards it may touch."""
    before = uncut(y, job)
    on_racks = [x.tag for x in before.values() if x.tag]
    kind = dice.choice(("gone", "measured", "spoiled", "more", "fewer", "other"))
    if kind in ("gone", "measured") and on_racks:
        p = pieces.by_tag(y, dice.choice(on_racks))
        if kind == "gone":
            pulling.report_gone(y, p.tag, "missing")
        else:
            measuring.remeasure(y, p.tag, p.length - p.length // dice.randint(2, 40), p.width)
        return kind, 1
    if kind == "spoiled" and on_racks:
        tag = dice.choice(on_racks)
        x = next(x for x in before.values() if x.tag == tag)
        cutting.confirm_cut(y, tag)
        bad = dice.choice(x.placed)
        spoiled.spoil(y, tag, [GivenPart(name=bad.name, length=bad.length, width=bad.width)], [])
        return kind, 0
    if kind == "fewer":
        done = jobs.cut_so_far(y, job.id)
        for at, (name, part) in enumerate(jobs.named_parts(job)):
            if part.count > max(done[name], 1):
                kept = dict(enumerate(job.parts)) | {at: replace(part, count=part.count - 1)}
                edit_job(y, job.id, Edit(kept), "one fewer")
                return kind, 1
    if kind == "other":
        other = cut_list(y, dice, "other")
        plan_and_store(y, other, QUICK, plan_again)
        return kind, 0
    at = dice.randrange(len(job.parts))
    more = replace(job.parts[at], count=job.parts[at].count + dice.randint(1, 2))
    edit_job(y, job.id, Edit(dict(enumerate(job.parts)) | {at: more}), "more")
    return "more", 0


def one_upset(folder: Path, seed: int) -> None:
    dice = random.Random(seed)
    with shop(folder / f"{seed}.db", dice) as y:
        set_settings(y, DEAR)
        job = cut_list(y, dice, "job")
        first, _ = plan_and_store(y, job, QUICK, plan_again)
        for p in pulling.to_pull(y, job.id)[: dice.randint(0, 2)]:
            pulling.pull(y, [p.tag])
        before = uncut(y, job)
        at_saw = {p.tag for p in pulling.pulled_for(y, job.id)}
        wanted = job.parts
        try:
            kind, touched = upset(y, job, dice)
            job = jobs.job_by_id(y, job.id)
            answer, _ = plan_and_store(y, job, QUICK, plan_again)
        except (BadInput, Refused) as nothing_left:
            assert "cut already" in str(nothing_left) or "nothing" in str(nothing_left), nothing_left
            return
        after = uncut(y, job)
        left = {n: x for n, x in before.items() if x.tag is None or stays(y, x.tag)}
        stand = {n for n, x in left.items() if n in after and shown(after[n]) == shown(x)}
        short = first.plan.unplaced or answer.plan.unplaced
        grown = [p for p, was in zip(job.parts, wanted, strict=True) if p.count > was.count]
        # What was added may find room only where a card changes.
        room = room_beside(y, job, grown, {x.tag for x in before.values()})
        assert short or not room or len(left) - len(stand) <= touched, (kind, seed)
        assert {p.tag for p in pulling.pulled_for(y, job.id)} >= {
            x.tag for n, x in left.items() if n in stand and x.tag in at_saw
        }
        assert check_yard(y).differences == ()


def room_beside(y: Yard, job: Job, parts: list[JobPart], tags: set[str | None]) -> bool:
    """Whether each of these parts, alone, fits a piece other than those of `tags`, on hand or for sale."""
    known = {m.id: m for m in materials(y)}
    sizes = [(p.material_id, p.length, p.width) for p in free_for(y, job.id) if p.tag not in tags]
    sizes += [(o.material_id, o.length, o.width) for o in offers(y)]
    trim = 2 * 10 * MM  # the most that the yards here trim at both ends
    return all(
        any(
            accepts(part, known[m]) and part.length + trim <= length and part.width + trim <= width
            for m, length, width in sizes
        )
        for part in parts
    )


def stays(y: Yard, tag: str) -> bool:
    return pieces.by_tag(y, tag).state not in (State.CUT, State.GONE)


@pytest.mark.parametrize("seed", (2, 3, 270))
def test_what_a_random_upset_does_not_touch_stays(tmp_path: Path, seed: int) -> None:
    one_upset(tmp_path, seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(*map(int, SLICE.split(":"))))
def test_what_500_random_upsets_do_not_touch_stays(tmp_path: Path, seed: int) -> None:
    one_upset(tmp_path, seed)
