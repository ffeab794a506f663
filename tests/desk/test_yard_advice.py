"""Advice and costs on a real yard: totals add up to the record, and the reasons are the shop's own."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from stockyard import yard as yards
from stockyard.advice.costs import Flow, Sum, on_racks, total
from stockyard.cli.main import build
from stockyard.desk import buying, costs, keep_advice, racks, shelve_advice
from stockyard.desk.alternatives import REASONS, compare_job
from stockyard.desk.ask_planner import Asked
from stockyard.errors import BadInput, Refused, StockyardError
from stockyard.measure import TICKS_PER_MM
from stockyard.planning.limits import Limits
from stockyard.planning.problem import MONEY, Kind
from stockyard.settings import Settings
from stockyard.yard import Yard
from stockyard.yard.cutting import confirm_cut, return_offcut
from stockyard.yard.jobs import add_job, job, remove_job
from stockyard.yard.ledger import history
from stockyard.yard.materials import add_material, materials
from stockyard.yard.model import Form, JobPart, State, Storage
from stockyard.yard.offers import add_price
from stockyard.yard.pieces import Arrival, on_hand, shelve
from stockyard.yard.places import add_place
from stockyard.yard.planned import GivenOffcut, GivenPart, PlannedLeftover, StoredLayout
from stockyard.yard.pulling import report_gone
from stockyard.yard.undo import undo
from tests.yard.shop import planned, store

MM = TICKS_PER_MM
HELD = (State.RACKED, State.PROMISED, State.PULLED, State.BENCH)


class Clock:
    """A clock that the test turns."""

    def __init__(self) -> None:
        self.month = 1

    def __call__(self) -> str:
        return f"2031-{self.month:02}-10T09:00:00Z"


def ply(y: Yard) -> int:
    """Give a yard birch ply on sale and two places; return the material's number."""
    own = add_material(
        y, "birch ply", Form.SHEET, "18 mm", 18 * MM, grain=True, density=685, least_stock=2, lead_days=6
    )
    add_price(y, own.id, 2440 * MM, 1220 * MM, 60 * MONEY, since="2031-01-01T00:00:00Z")
    add_place(
        y, "R1", Storage.UPRIGHT, length=2500 * MM, width=300 * MM, height=1300 * MM, rated_load=500_000
    )
    add_place(y, "R2", Storage.FLAT, length=2500 * MM, width=1300 * MM, height=40 * MM)
    return own.id


def sheets(
    y: Yard, material: int, count: int, kind: Kind = Kind.FULL, size: tuple[int, int] = (2440, 1220)
) -> None:
    cost = 60 * MONEY if kind is Kind.FULL else 7 * MONEY
    length, width = (side * MM for side in size)
    shelve(
        y,
        [
            Arrival(
                material_id=material,
                kind=kind,
                length=length,
                width=width,
                place="R1",
                count=count,
                cost=cost,
            )
        ],
    )


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[Yard]:
    with yards.new(tmp_path / "yard.db", Settings()) as y:
        y.clock = Clock()
        yield y


def shelf_job(y: Yard, name: str = "shelves", count: int = 3) -> None:
    parts = [JobPart(name="shelf", count=count, length=800 * MM, width=300 * MM, thickness_name="18 mm")]
    add_job(y, name, f"{count} shelf 800 x 300", parts)


def promise(y: Yard, name: str = "shelves", count: int = 3) -> str:
    """Plan the shelves from the first free piece and return its tag."""
    p = on_hand(y)[0]
    shelves = planned("shelf", 800 * MM, 300 * MM, count)
    layout = StoredLayout(
        number=1, tag=p.tag, material_id=p.material_id, length=p.length, width=p.width, placed=shelves,
        leftovers=(PlannedLeftover(length=p.length, width=200 * MM),) if p.kind is Kind.FULL else (),
    )  # fmt: skip
    store(y, job(y, name).id, [layout])
    return p.tag


def random_cut(y: Yard, dice: Random) -> None:
    pieces = on_hand(y, states=(State.RACKED, State.BENCH))
    if pieces:
        p = dice.choice(pieces)
        half = p.length // 2
        gives = GivenPart(name="p", length=half, width=p.width // 3, count=dice.randrange(1, 3))
        rest = [GivenOffcut(length=half // 2, width=p.width)] * dice.randrange(2)
        confirm_cut(y, p.tag, parts=[gives], offcuts=rest)


def random_return(y: Yard, dice: Random) -> None:
    pieces = on_hand(y, states=(State.BENCH,))
    if pieces:
        p = dice.choice(pieces)
        return_offcut(y, p.tag, "R2", (p.length - dice.randrange(2) * MM, p.width))


def random_loss(y: Yard, dice: Random) -> None:
    pieces = on_hand(y, states=(State.RACKED,))
    if pieces:
        report_gone(y, dice.choice(pieces).tag, "damaged")


def random_deed(y: Yard, dice: Random) -> None:
    deeds: list[Callable[[Yard, Random], object]] = [
        lambda y, d: sheets(y, 1, d.randrange(1, 4)),
        lambda y, d: sheets(y, 1, 1, Kind.OFFCUT, (d.randrange(300, 900), d.randrange(200, 700))),
        random_cut, random_cut, random_return, random_loss,
        lambda y, _d: undo(y),
    ]  # fmt: skip
    # A rule of the yard may forbid it; then nothing was changed.
    with suppress(StockyardError):
        dice.choice(deeds)(y, dice)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10**6))
def test_every_total_adds_up_to_the_record(seed: int) -> None:
    dice, clock = Random(seed), Clock()
    with TemporaryDirectory() as folder, yards.new(Path(folder) / "yard.db", Settings()) as y:
        y.clock = clock
        ply(y)
        sheets(y, 1, 2)
        for _ in range(25):
            clock.month = min(12, clock.month + dice.randrange(2))
            random_deed(y, dice)
        found = costs.amounts(y)
        held = on_hand(y, states=HELD)
        assert on_racks(found) == Sum(sum(p.area for p in held), sum(p.cost for p in held))
        taken = total(found, Flow.DRAWN, Flow.REUSED)
        assert taken == total(found, Flow.PARTS, Flow.RETURNED, Flow.SCRAPPED)
        if not found:
            return  # everything was undone
        rows = costs.month_costs(y)
        assert rows[-1].racks == on_racks(found)
        for pick, flows in (
            ("bought", (Flow.BOUGHT,)),
            ("used", (Flow.PARTS,)),
            ("scrapped", (Flow.SCRAPPED,)),
        ):
            assert sum((getattr(m, pick) for m in rows), Sum()) == total(found, *flows)


def test_a_planned_job_costs_what_was_cut_for_it(yard: Yard) -> None:
    sheets(yard, ply(yard), 3)
    shelf_job(yard)
    confirm_cut(yard, promise(yard))
    c = costs.cost_of(yard, "shelves")
    assert c.drawn == Sum(2440 * 1220 * MM * MM, 60 * MONEY)
    assert c.parts.area == 3 * 800 * 300 * MM * MM
    assert c.drawn == c.parts + c.returned + c.scrapped
    assert c.saved == 0


def test_a_job_that_takes_over_a_name_does_not_take_over_its_cost(yard: Yard) -> None:
    sheets(yard, ply(yard), 3)
    shelf_job(yard)
    confirm_cut(yard, promise(yard), offcuts=[])
    remove_job(yard, job(yard, "shelves").id)
    shelf_job(yard)
    assert costs.cost_of(yard, "shelves").drawn == Sum()
    confirm_cut(yard, promise(yard))
    assert costs.cost_of(yard, "shelves").drawn == Sum(2440 * 1220 * MM * MM, 60 * MONEY)


def test_offcuts_save_new_material_at_todays_price(yard: Yard) -> None:
    own = ply(yard)
    sheets(yard, own, 1, Kind.OFFCUT, (810, 610))
    shelf_job(yard, count=2)
    confirm_cut(yard, promise(yard, count=2))
    c = costs.cost_of(yard, "shelves")
    assert (c.drawn, c.reused.money) == (Sum(), 7 * MONEY)
    # 0.48 m² of parts at 60.00 for a sheet of 2.9768 m², worked by hand: 9.6748.
    assert c.saved == 96_748


def test_place_for_knows_the_yard(yard: Yard) -> None:
    own = ply(yard)
    sheets(yard, own, 2)
    tag = on_hand(yard)[0].tag
    found = shelve_advice.place_for(yard, tag)
    assert [s.code for s in found if s.ok] == ["R1", "R2"]
    assert "the same material" in found[0].says
    assert "read the maker's plate" in found[1].says


def test_a_full_sheet_is_told_where_offcuts_lie_and_an_offcut_where_full_sheets_lie(yard: Yard) -> None:
    own = ply(yard)
    sheets(yard, own, 1)
    (full,) = on_hand(yard)
    shelve(yard, [Arrival(material_id=own, kind=Kind.OFFCUT, length=900 * MM, width=400 * MM, place="R2")])
    assert any("but offcuts lie there" in s.says for s in shelve_advice.place_for(yard, full.tag))
    assert not any("but full pieces" in s.says for s in shelve_advice.place_for(yard, full.tag))


def test_boards_are_neither_full_nor_left_over_to_a_place_or_in_their_history(yard: Yard) -> None:
    oak = add_material(yard, "oak", Form.BOARD, "4/4", 24 * MM, grain=True)
    add_place(yard, "W1", Storage.BRACKETS, length=3000 * MM, supports=3)
    shelve(
        yard,
        [
            Arrival(material_id=oak.id, kind=kind, length=n * 1000 * MM, width=150 * MM, place="W1")
            for kind, n in ((Kind.FULL, 2), (Kind.FULL, 2), (Kind.OFFCUT, 1))
        ],
    )
    tag = next(p.tag for p in on_hand(yard) if p.kind is Kind.OFFCUT)
    assert not any("pieces lie there" in s.says for s in shelve_advice.place_for(yard, tag))
    assert history(yard, tag).events[0].says == "shelved at W1: board oak 4/4 1000 x 150"


def test_keep_follows_past_cut_lists(yard: Yard) -> None:
    ply(yard)
    own = materials(yard)[0]
    before = keep_advice.keep_or_bin(yard, own, 820 * MM, 320 * MM)
    for n in range(20):
        shelf_job(yard, f"shelves {n}")
    after = keep_advice.keep_or_bin(yard, own, 820 * MM, 320 * MM)
    assert "20 past jobs" in after.verdict.says
    assert after.verdict.use.jobs > before.verdict.use.jobs
    assert after.saves_money
    assert not keep_advice.keep_or_bin(yard, own, 700 * MM, 50 * MM).verdict.keep
    learned = keep_advice.learned_settings(yard)
    assert (
        learned.keep_short_side != yard.settings.keep_short_side
        or learned.keep_area != yard.settings.keep_area
    )


def test_tidy_names_slivers(yard: Yard) -> None:
    own = ply(yard)
    sheets(yard, own, 1, Kind.OFFCUT, (600, 40))
    sheets(yard, own, 1, Kind.OFFCUT, (1200, 600))
    assert [c.piece.width // MM for c in keep_advice.tidy(yard)] == [40]


def test_reorder_counts_promises_and_plans_that_must_buy(yard: Yard) -> None:
    own = ply(yard)
    sheets(yard, own, 3)
    shelf_job(yard)
    promise(yard)
    assert buying.reorder(yard) == (), "2 of 3 are free, and that is the least"
    tag = next(p.tag for p in on_hand(yard) if p.state is State.RACKED)
    measured = racks.measure(yard, tag, "2440 x 800")
    assert measured.ripped and measured.piece.word == "offcut", "a sheet ripped down is full no more"
    found = buying.reorder(yard)
    assert [(r.material, r.count) for r in found] == [("birch ply 18 mm", 1)]
    assert "2 on hand, 1 promised, least 2" in found[0].says


def test_stock_up_compares_each_size_with_itself(yard: Yard) -> None:
    own = ply(yard)
    (first,) = buying.stock_up(yard, "birch")
    assert first.look is None
    add_price(yard, own, 2440 * MM, 1220 * MM, 50 * MONEY, since="2031-02-01T00:00:00Z")
    add_price(yard, own, 1220 * MM, 610 * MM, 40 * MONEY, since="2031-03-01T00:00:00Z")
    whole, small = buying.stock_up(yard, "birch")
    assert whole.unit == "m²" and whole.look is not None and small.look is None
    # 50.00 after 60.00: a sixth less.
    assert "17% under" in whole.look.says


def test_stock_up_without_a_price_is_refused(yard: Yard) -> None:
    add_material(yard, "cherry", Form.BOARD, "4/4", 20 * MM, grain=True)
    with pytest.raises(Refused, match="no price of cherry 4/4 was logged"):
        buying.stock_up(yard, "cherry")


def test_a_place_that_does_not_suit_is_remarked_on(yard: Yard) -> None:
    own = ply(yard)
    add_place(yard, "R9", Storage.FLAT, length=600 * MM, width=600 * MM)
    shelved = shelve(yard, [Arrival(material_id=own, kind=Kind.FULL, length=2440 * MM, width=1220 * MM,
                                    place="R9", count=5)])  # fmt: skip
    (remark,) = shelve_advice.misfits(yard, shelved)
    assert remark.startswith("R9, ") and remark.endswith("and 2 more: it is larger than the place")
    small = shelve(yard, [Arrival(material_id=own, kind=Kind.OFFCUT, length=500 * MM, width=300 * MM,
                                  place="R9")])  # fmt: skip
    assert not shelve_advice.misfits(yard, small)


def test_compare_gives_plans_with_their_reasons(yard: Yard) -> None:
    own = ply(yard)
    sheets(yard, own, 1)
    sheets(yard, own, 3, Kind.OFFCUT, (830, 320))
    shelf_job(yard)
    found = compare_job(yard, job(yard, "shelves"), Asked(limits=Limits(seconds=None, work=24)))
    by_reason = {reason: a.figures for a in found for reason in a.reasons}
    assert set(by_reason) == {r.name for r in REASONS}
    assert by_reason["least new material"].money == 0
    assert by_reason["fewest pieces to handle"].pieces == 1


def test_months_out_of_the_ledger_are_named(yard: Yard) -> None:
    with pytest.raises(BadInput, match="empty"):
        costs.month_costs(yard)
    sheets(yard, ply(yard), 1)
    with pytest.raises(BadInput, match="2031-01 to 2031-01"):
        costs.month_costs(yard, "2031-07")


def test_a_month_is_told_job_by_job_and_adds_up(yard: Yard) -> None:
    sheets(yard, ply(yard), 4)
    shelf_job(yard)
    confirm_cut(yard, promise(yard))
    loose = on_hand(yard, states=(State.RACKED,))[0]
    confirm_cut(
        yard, loose.tag, parts=[GivenPart(name="p", length=800 * MM, width=300 * MM, count=2)], offcuts=[]
    )
    rows = costs.month_jobs(yard)
    assert [c.job for c in rows] == ["shelves", "no job"]
    assert rows[0] == costs.cost_of(yard, "shelves")
    assert rows[1].parts.area == 2 * 800 * 300 * MM * MM
    (month,) = costs.month_costs(yard)
    assert month.used == rows[0].parts + rows[1].parts
    assert month.scrapped == rows[0].scrapped + rows[1].scrapped
    told = json.loads(run(yard.path, "month", "--jobs", "--json"))
    assert [r["job"] for r in told] == ["shelves", "no job"]
    assert round(sum(r["in parts m²"] for r in told), 2) == 1.2


def test_a_month_counts_only_what_a_job_cut_in_it(yard: Yard) -> None:
    sheets(yard, ply(yard), 3)
    shelf_job(yard)
    confirm_cut(yard, promise(yard))
    assert isinstance(yard.clock, Clock)
    yard.clock.month = 2
    sheets(yard, 1, 1)
    assert costs.month_jobs(yard) == ()
    assert [c.job for c in costs.month_jobs(yard, "2031-01")] == ["shelves"]


def test_a_month_below_nothing_says_why(yard: Yard) -> None:
    sheets(yard, ply(yard), 1)
    assert "below nothing" not in run(yard.path, "month")
    sheets(yard, 1, 1, Kind.OFFCUT, (900, 400))
    (month,) = costs.month_costs(yard)
    assert month.gone.area == -900 * 400 * MM * MM
    told = " ".join(run(yard.path, "month").split())
    assert "Left uncut is below nothing in 2031-01: more offcuts came in, measured by hand" in told


def run(path: Path, *words: str, code: int = 0) -> str:
    done = CliRunner().invoke(build(), [*words, "--yard", str(path)])
    assert done.exit_code == code, done.output
    return done.output


def test_every_command_answers(yard: Yard, tmp_path: Path) -> None:
    sheets(yard, ply(yard), 3)
    shelf_job(yard)
    add_price(yard, 1, 2440 * MM, 1220 * MM, 66 * MONEY)
    tag = on_hand(yard)[0].tag
    confirm_cut(yard, tag, parts=[GivenPart(name="p", length=800 * MM, width=300 * MM, count=1)], offcuts=[])
    tag = on_hand(yard)[0].tag
    path = yard.path
    assert "R1" in run(path, "place-for", tag)
    assert "keep" in run(path, "keep", "900 x 400", "birch", "ply")
    assert "bin" in run(path, "keep", "900 x 40", "birch", "ply")
    assert "Nothing to clear" in run(path, "tidy")
    assert "keep_area" in run(path, "keep-sizes")
    assert "three people" in run(path, "lift", tag)
    assert "does not cover it: carried" in run(
        path, "lift", tag, "--reach", "300", "--height", "700", "--travel", "300", "--carried"
    )
    assert "lifting index" in run(path, "lift", tag, "--reach", "300", "--height", "700", "--travel", "300")
    run(path, "material", "change", "birch ply 18", "--least", "4")
    assert "birch ply 18 mm" in run(path, "reorder")
    assert "per m²" in run(path, "stock-up", "birch")
    assert "full pieces drawn" in run(path, "cost", "shelves")
    page = tmp_path / "month.pdf"
    assert "2031-01" in run(path, "month", "--pdf", str(page))
    assert page.read_bytes().startswith(b"%PDF")
    assert json.loads(run(path, "month", "2031-01", "--json"))[0]["month"] == "2031-01"
    assert "least new material" in run(path, "compare", "shelves", "--seconds", "0.2", "--csv")
    assert "is not a month" in run(path, "month", "July", code=2)
    assert "only 1 different" in run(path, "compare", "shelves", "--seconds", "0.2", "--take", "3", code=2)
