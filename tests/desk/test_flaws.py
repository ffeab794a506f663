"""Flaws from the rack to the saw: planned around, planned again when one is seen, drawn, cut out, kept."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest

from stockyard import yard
from stockyard.desk import flaws, racks
from stockyard.desk.ask_planner import Asked
from stockyard.desk.keep_advice import keep_piece
from stockyard.desk.papers import papers_of
from stockyard.desk.plan_check import check_yard
from stockyard.desk.plan_job import plan_and_store
from stockyard.desk.replan import plan_again
from stockyard.errors import BadInput, Refused
from stockyard.flaws import Flaw
from stockyard.kinds import Form, Kind
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.limits import Limits
from stockyard.printing.card_text import card_text
from stockyard.printing.pull_text import pull_text
from stockyard.settings import Settings
from stockyard.yard import Yard, cutting, jobs, pulling
from stockyard.yard.materials import add_material
from stockyard.yard.model import Job, JobPart, State, Storage
from stockyard.yard.offers import add_price
from stockyard.yard.pieces import Arrival, by_tag, shelve
from stockyard.yard.places import add_place
from stockyard.yard.planned import StoredLayout
from stockyard.yard.plans import standing_plan

QUICK = Asked(limits=Limits(seconds=None, work=3), compare=False)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Yard]:
    with yard.new(tmp_path / "yard.db", Settings()) as y:
        add_place(y, "RACK", Storage.FLAT)
        ply = add_material(y, "birch ply", Form.SHEET, "18 mm", 18 * MM, grain=True)
        add_price(y, ply.id, 2440 * MM, 1220 * MM, 400_000)
        yield y


def lay(y: Yard, length: int, width: int, *marks: tuple[int, ...], kind: Kind = Kind.OFFCUT) -> str:
    one = Arrival(
        material_id=1, kind=kind, length=length * MM, width=width * MM, place="RACK",
        flaws=tuple(Flaw(*(side * MM for side in f)) for f in marks),
    )  # fmt: skip
    return shelve(y, [one])[0].tag


def job_of(y: Yard, *parts: tuple[str, int, int, int]) -> Job:
    wanted = [JobPart(name=a, count=n, length=b * MM, width=c * MM) for a, n, b, c in parts]
    return jobs.add_job(y, "shelf", "shelf", wanted)


def planned(y: Yard, job: Job) -> tuple[StoredLayout, ...]:
    plan_and_store(y, job, QUICK, plan_again)
    plan = standing_plan(y, job.id)
    assert plan is not None
    return plan.layouts


def on_flaws(y: Yard, layouts: tuple[StoredLayout, ...]) -> list[str]:
    """Return the parts that share a millimetre with a flaw, counted on a grid."""
    found = []
    for x in layouts:
        bad = {
            (i, j)
            for f in (by_tag(y, x.tag).flaws if x.tag else ())
            for i in range(f.x // MM, (f.x + f.dx) // MM)
            for j in range(f.y // MM, (f.y + f.dy) // MM)
        }
        for p in x.placed:
            wide, high = (p.width, p.length) if p.turned else (p.length, p.width)
            if any(p.x <= i * MM < p.x + wide and p.y <= j * MM < p.y + high for i, j in bad):
                found.append(f"{x.tag} {p.name}")
    return found


def test_a_bruised_offcut_is_used_around_its_flaw_and_what_is_left_keeps_it(shop: Yard) -> None:
    """By hand: a knot of 60 at 200, 450 in 1300 x 600; two sides of 600 x 400 lie beside it or below it."""
    tag = lay(shop, 1300, 600, (200, 450, 60, 60))
    layouts = planned(shop, job_of(shop, ("side", 2, 600, 400)))
    assert [x.tag for x in layouts] == [tag] and on_flaws(shop, layouts) == []
    assert not check_yard(shop).differences
    pulling.pull(shop, [tag])
    done = cutting.confirm_cut(shop, tag)
    kept = [(f.dx // MM, f.dy // MM) for o in done.offcuts for f in o.flaws]
    assert len(kept) <= 1 and all(0 < a <= 60 and 0 < b <= 60 for a, b in kept)


def test_a_flaw_seen_at_the_saw_has_the_job_planned_again(shop: Yard) -> None:
    first, second = lay(shop, 800, 500), lay(shop, 1300, 600)
    job = job_of(shop, ("side", 1, 700, 450))
    assert [x.tag for x in planned(shop, job)] == [first]
    pulling.pull(shop, [first])
    done = racks.measure(shop, first, None, flaws=["60 x 60 at 400, 200"])
    assert done.broken is not None and done.relabel is False and done.piece.state is State.PULLED
    assert "has a flaw where side lies" in (standing_plan(shop, job.id).why or "")  # type: ignore[union-attr]
    assert any("lies on a flaw" in d.what for d in check_yard(shop).differences) is False, "it is broken"
    layouts = planned(shop, job)
    assert [x.tag for x in layouts] == [second] and on_flaws(shop, layouts) == []
    assert not check_yard(shop).differences


def test_a_flaw_in_what_is_left_over_leaves_the_plan_as_it_is(shop: Yard) -> None:
    tag = lay(shop, 1600, 600)
    job = job_of(shop, ("side", 1, 700, 450))
    (before,) = planned(shop, job)
    (left,) = before.leftovers
    spot = f"{(left.x + left.length) // MM - 40}, {(left.y + left.width) // MM - 40}"
    assert racks.measure(shop, tag, None, flaws=[f"30 x 30 at {spot}"]).broken is None
    assert not check_yard(shop).differences
    (after,) = planned(shop, job)
    assert after.placed == before.placed and not check_yard(shop).differences
    (kept,) = cutting.confirm_cut(shop, tag).offcuts
    assert kept.flaws == (Flaw(left.length - 40 * MM, left.width - 40 * MM, 30 * MM, 30 * MM),)


def test_cards_and_pull_list_tell_of_the_flaw_and_where_its_corner_is(shop: Yard) -> None:
    tag = lay(shop, 1600, 600, (1500, 500, 80, 90))
    job = job_of(shop, ("side", 1, 700, 450))
    planned(shop, job)
    papers = papers_of(shop, job)
    said = card_text(papers.cards[0], 100, 40)
    assert "80 x 90 at 1500, 500, from corner 0" in said and "keeps 80 x 90 at" in said
    assert "flaw 80 x 90 at 1500, 500" in pull_text(papers.pull_list)
    (left,) = papers.cards[0].leftovers
    assert f"{left.tag} keeps 80 x 90 at {1500 - left.x // MM}, {500 - left.y // MM}" in said
    assert tag in said


def test_full_sheets_with_flaws_are_rows_of_their_own(shop: Yard) -> None:
    lay(shop, 2440, 1220, kind=Kind.FULL)
    lay(shop, 2440, 1220, (0, 0, 80, 120), kind=Kind.FULL)
    lay(shop, 2440, 1220, (0, 0, 90, 120), kind=Kind.FULL)
    layouts = planned(shop, job_of(shop, ("top", 3, 2300, 1180)))
    assert len({x.tag for x in layouts}) == 3 and on_flaws(shop, layouts) == []
    assert not check_yard(shop).differences


def test_the_clear_piece_is_said_and_cut_out_in_one_go(shop: Yard) -> None:
    tag = lay(shop, 1600, 600, (0, 0, 80, 120))
    told = flaws.clear(shop, tag)
    assert (told.clear.length // MM, told.clear.width // MM) == (1520, 600) and not told.offcuts
    done = flaws.cut_clear(shop, tag)
    (clear,) = done.offcuts
    assert (clear.length, clear.width, clear.flaws, clear.parent) == (1520 * MM, 600 * MM, (), tag)
    assert done.piece.state is State.CUT and not check_yard(shop).differences
    with pytest.raises(Refused, match="is cut"):
        flaws.clear(shop, tag)
    with pytest.raises(Refused, match="nothing to cut off"):
        flaws.cut_clear(shop, clear.tag)


def test_keep_or_bin_looks_at_what_is_clear(shop: Yard) -> None:
    tag = lay(shop, 1600, 600, (0, 290, 1600, 20))
    advice = keep_piece(shop, tag)
    assert (advice.length, advice.width) == (1600 * MM, 290 * MM)


def test_a_promised_piece_is_not_cut_clear_behind_its_plan(shop: Yard) -> None:
    tag = lay(shop, 1600, 600, (0, 0, 80, 120))
    planned(shop, job_of(shop, ("side", 1, 700, 450)))
    with pytest.raises(Refused, match="its plan cuts around"):
        flaws.cut_clear(shop, tag)


def test_a_table_of_pieces_has_a_column_for_flaws(shop: Yard) -> None:
    head = "material,kind,size,place,flaws\n"
    good = head + "birch ply 18,offcut,900 x 500,RACK,80 x 120 at 0; 0 and 30 x 30 at 500; 200\n"
    (p,) = racks.shelve_table(shop, good.encode(), "pieces.csv").pieces
    assert [tuple(side // MM for side in f.flaw) for f in p.flaws] == [(0, 0, 80, 120), (500, 200, 30, 30)]
    bad = head + "birch ply 18,offcut,900 x 500,RACK,80 x 120 somewhere\n"
    with pytest.raises(BadInput, match="line 2: '80 x 120 somewhere' is not a flaw"):
        racks.shelve_table(shop, bad.encode(), "pieces.csv")


@pytest.mark.parametrize("seed", range(4))
def test_random_yards_with_flaws_are_planned_pulled_and_cut_truly(shop: Yard, seed: int) -> None:
    """Invented at random: no part on a flaw by two ways of looking, before and after more flaws are seen."""
    luck = Random(seed)
    for _ in range(4):
        length, width = luck.randint(600, 1800), luck.randint(400, 900)
        marks = [
            (luck.randint(0, length - 100), luck.randint(0, width - 100), *luck.choices(range(5, 90), k=2))
            for _ in range(luck.randint(0, 3))
        ]
        lay(shop, length, width, *marks)
    wanted = [(f"p{n}", luck.randint(1, 3), luck.randint(150, 700), luck.randint(80, 400)) for n in range(3)]
    job = job_of(shop, *wanted)
    layouts = planned(shop, job)
    assert on_flaws(shop, layouts) == [] and not check_yard(shop).differences
    tag = next((x.tag for x in layouts if x.tag and by_tag(shop, x.tag).kind is Kind.OFFCUT), None)
    if tag is not None:
        p = by_tag(shop, tag)
        racks.measure(shop, tag, None, flaws=[f"90 x 70 at {p.length // MM // 2}, {p.width // MM // 3}"])
        layouts = planned(shop, job)
        assert on_flaws(shop, layouts) == [] and not check_yard(shop).differences
    mine = [x.tag for x in layouts if x.tag]
    if mine:
        pulling.pull(shop, mine)
        cutting.confirm_planned(shop, mine)
    assert not check_yard(shop).differences
