"""What the desk tells of materials, prices, places, jobs and settings, figure by figure.

Figures are worked out by hand beside each check; the shop is the invented one of `tests.yard.shop`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from stockyard.desk import (
    buying,
    counting,
    cutting,
    history,
    jobs,
    keep_advice,
    places,
    pulling,
    racks,
    shop,
    stock,
)
from stockyard.errors import BadInput, Refused
from stockyard.kinds import Form, Grain, Kind
from stockyard.yard import jobs as yard_jobs
from stockyard.yard import materials as yard_materials
from stockyard.yard import undo
from stockyard.yard.check import check
from stockyard.yard.model import JobPart, State, Storage
from stockyard.yard.plans import standing_plan
from tests.yard.shop import MM, SHEET, Shop, layout, make_shop, plan_for, store

M2 = (1000 * MM) ** 2
EURO = 10_000


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Shop]:
    made = make_shop(tmp_path / "yard.db")
    yield made
    assert check(made.yard) == ()
    made.yard.close()


def test_a_material_is_told_with_all_that_is_known_of_it(here: Shop) -> None:
    facts = stock.MaterialFacts(measured="21.4", density=720, least_stock=3, lead_days=5, note="Baltic")
    made = stock.add_material(here.yard, "beech", "22 mm", Form.SHEET, facts)
    assert (made.title, made.name, made.form, made.thickness_name) == (
        "beech 22 mm",
        "beech",
        Form.SHEET,
        "22 mm",
    )
    assert (made.thickness, made.grain, made.density) == (round(21.4 * MM), True, 720)
    assert (made.least_stock, made.lead_days, made.note) == (3, 5, "Baltic")
    assert made in stock.list_materials(here.yard)
    changed = stock.change_material(
        here.yard, "beech", stock.MaterialFacts(measured="21.9", grain=False, least_stock=0)
    )
    assert changed == replace(made, thickness=round(21.9 * MM), grain=False, least_stock=0)
    bare = stock.add_material(here.yard, "plain ply", "18 mm", Form.SHEET, stock.MaterialFacts(grain=False))
    assert (bare.thickness, bare.grain, bare.density) == (18 * MM, False, None)
    assert (bare.least_stock, bare.lead_days, bare.note) == (0, 0, "")


def test_prices_are_told_of_one_material_or_all_today_or_ever(here: Shop) -> None:
    first = stock.add_price(here.yard, "birch", "2440 x 1220", "58.50", "Mill")
    assert (first.material, first.length, first.width) == ("birch ply 18 mm", *SHEET)
    assert (first.price, first.supplier) == (585_000, "Mill")
    stock.add_price(here.yard, "oak", "3000 x 200", "21")
    later = stock.add_price(here.yard, "birch", "2440 x 1220", "61", "Mill")
    assert later.price == 61 * EURO and later.since > first.since
    assert [p.price for p in stock.list_prices(here.yard, "birch")] == [61 * EURO]
    assert sorted(p.price for p in stock.list_prices(here.yard)) == [21 * EURO, 61 * EURO]
    assert [p.price for p in stock.list_prices(here.yard, "birch", log=True)] == [585_000, 61 * EURO]
    assert stock.end_price(here.yard, "birch", "2440 x 1220", "Mill") == "birch ply 18 mm"
    assert stock.list_prices(here.yard, "birch") == ()


def test_a_place_is_told_with_its_weight_and_load(here: Shop) -> None:
    """A sheet weighs 2.44 * 1.22 * 17.7 * 0.68 = 35.829 kg, the offcut 1.2 * 0.6 * 17.7 * 0.68 = 8.666 kg."""
    facts = places.PlaceFacts(
        stores="upright", inside_size="2500 x 300 x 1300", supports=2, rated_load="450 kg", within="R2"
    )
    made = places.add_place(here.yard, "R2-B9", facts)
    assert (made.code, made.storage, made.pieces, made.known_weight) == ("R2-B9", Storage.UPRIGHT, 0, 0)
    assert (made.length, made.width, made.height) == (2500 * MM, 300 * MM, 1300 * MM)
    assert (made.supports, made.rated_load) == (2, 450_000)
    stack = next(p for p in places.list_places(here.yard) if p.code == "R1-B2-S3")
    assert stack.pieces == 5 and stack.known_weight == pytest.approx(
        4 * 35_829 + 8_666, abs=500
    )  # to the kilogram
    assert (stack.length, stack.width, stack.height, stack.rated_load) == (0, 0, 0, None)
    changed = places.change_place(here.yard, "R2-B9", places.PlaceFacts(rated_load="1000 lb", walk=1))
    assert (changed.rated_load, changed.walk) == (453_592, 1)
    assert (changed.storage, changed.length, changed.supports) == (Storage.UPRIGHT, 2500 * MM, 2)
    with pytest.raises(BadInput, match="write length x width x height"):
        places.add_place(here.yard, "R7", places.PlaceFacts(inside_size="2500 x 300"))


def test_what_is_off_the_racks_is_counted(here: Shop) -> None:
    assert places.off_the_racks(here.yard) == 0
    plan_for(here, here.sheets[0])
    pulling.pull(here.yard, [here.sheets[0].tag])
    assert places.off_the_racks(here.yard) == 1
    (line,) = pulling.bench(here.yard)
    assert (line.tag, line.state, line.job, line.place) == (here.sheets[0].tag, State.PULLED, "kitchen", "")
    cutting.cut_job(here.yard, "kitchen")
    assert [p.state for p in pulling.bench(here.yard)] == [State.BENCH]


def test_a_job_goes_from_plan_to_pull_to_cut_to_done(here: Shop) -> None:
    """Two sheets give two sides each; the job wants four, so it is done when both are cut."""
    part = JobPart(name="side", count=4, length=700 * MM, width=500 * MM)
    line = jobs.add_job(here.yard, "kitchen", "4 sides", [part])
    assert (line.name, line.state, line.parts, line.cut, line.plan) == ("kitchen", "open", 4, 0, "")
    assert (line.to_pull, line.to_buy, line.at_saw, line.next) == (0, 0, 0, jobs.Next.PLAN)
    bought = replace(layout(3, here.sheets[2], parts=1), tag=None)
    wanted = [layout(1, here.sheets[0]), layout(2, here.sheets[1], parts=1), bought]
    store(here.yard, line.number, wanted)
    (line,) = jobs.list_jobs(here.yard)
    assert (line.plan, line.to_pull, line.to_buy, line.next) == ("standing", 2, 1, jobs.Next.PULL)
    pulled = pulling.pull(here.yard, [], "kitchen")
    assert set(pulled.tags) == {p.tag for p in here.sheets[:2]} and pulled.left == (("kitchen", 0, 2),)
    (line,) = jobs.list_jobs(here.yard)
    assert (line.to_pull, line.to_buy, line.at_saw, line.next) == (0, 1, 2, jobs.Next.BUY)
    cutting.cut_job(here.yard, "kitchen")
    shown = jobs.show_job(here.yard, "kitchen")
    assert (shown.line.cut, shown.line.at_saw, shown.text, shown.why_broken) == (3, 0, "4 sides", "")
    (told,) = shown.parts
    assert (told.name, told.count, told.cut, told.length, told.width) == ("side", 4, 3, 700 * MM, 500 * MM)
    assert (told.grain, told.bands, told.materials, told.note) == (Grain.ALONG, (), None, "")


def test_a_job_to_be_cut_says_so_and_a_finished_one_is_listed_when_asked(here: Shop) -> None:
    plan_for(here, here.sheets[0])
    pulling.pull(here.yard, [here.sheets[0].tag])
    (line,) = jobs.list_jobs(here.yard)
    assert line.next is jobs.Next.CUT
    done = cutting.cut_job(here.yard, "kitchen")[0]
    assert done.plan_done and done.missing == ()
    assert jobs.list_jobs(here.yard) == ()
    (line,) = jobs.list_jobs(here.yard, finished=True)
    assert (line.state, line.cut, line.next) == ("done", 2, jobs.Next.NOTHING)


def test_a_piece_that_is_gone_breaks_its_plan_and_the_job_says_why(here: Shop) -> None:
    plan_for(here, here.sheets[0])
    broken = pulling.gone(here.yard, here.sheets[0].tag, "warped")
    assert broken is not None and (broken.job_name, broken.tag) == ("kitchen", here.sheets[0].tag)
    shown = jobs.show_job(here.yard, "kitchen")
    assert shown.line.plan == "broken" and shown.line.next is jobs.Next.PLAN
    assert here.sheets[0].tag in shown.why_broken
    assert pulling.gone(here.yard, here.offcut.tag, "sold") is None


def test_a_plan_given_up_says_what_lies_on_the_bench(here: Shop) -> None:
    plan = plan_for(here, *here.sheets[:2])
    pulling.pull(here.yard, [here.sheets[1].tag])
    done = jobs.release(here.yard, "kitchen", "rained")
    assert (done.job, done.plan, done.on_bench) == ("kitchen", plan.number, (here.sheets[1].tag,))
    assert standing_plan(here.yard, yard_jobs.job(here.yard, "kitchen").id) is None
    with pytest.raises(BadInput, match="has no plan to release") as told:
        jobs.release(here.yard, "kitchen", "again")
    assert (told.value.code, told.value.fields) == ("nothing to release", {"job": "kitchen"})
    assert jobs.remove_job(here.yard, "kitchen") == "kitchen"
    assert jobs.list_jobs(here.yard, finished=True) == ()


def test_what_a_piece_gave_is_told_with_its_scrap(here: Shop) -> None:
    """2.44 * 1.22 m² less two sides of 0.7 * 0.5 and an offcut of 1.0 * 0.4 is scrap."""
    plan_for(here, here.sheets[0])
    parts, lefts = cutting.planned_for(here.yard, here.sheets[0].tag)
    assert [(p.name, p.count, p.length, p.width) for p in parts] == [("side", 2, 700 * MM, 500 * MM)]
    assert [(a, b) for _, a, b in lefts] == [(1000 * MM, 400 * MM)]
    done = cutting.cut(here.yard, here.sheets[0].tag)
    assert done.parts == parts and [p.tag for p in done.offcuts] == [lefts[0][0]]
    assert done.scrap == round((2.44 * 1.22 - 2 * 0.7 * 0.5 - 1.0 * 0.4) * M2)
    assert (done.piece.state, done.plan_done) == (State.CUT, True)
    with pytest.raises(BadInput, match="no plan says how"):
        cutting.planned_for(here.yard, here.offcut.tag)
    back = cutting.return_piece(here.yard, done.offcuts[0].tag, "R2", "998 x 399")
    assert (back.piece.place, back.piece.length, back.piece.width) == ("R2", 998 * MM, 399 * MM)
    assert back.broken is None


def test_a_piece_cut_otherwise_takes_what_is_said(here: Shop) -> None:
    plan_for(here, here.sheets[0])
    done = cutting.cut(here.yard, here.sheets[0].tag, parts=["1:side:700 x 500"], offcuts=["1500 x 1200"])
    assert [(p.name, p.count) for p in done.parts] == [("side", 1)]
    assert [(p.length, p.width) for p in done.offcuts] == [(1500 * MM, 1200 * MM)]
    assert done.missing == (("side", 1),)
    for text in ("side:700 x 500", "x:side:700 x 500", "1::700 x 500"):
        with pytest.raises(BadInput, match="is not COUNT:NAME:SIZE"):
            cutting.cut(here.yard, here.sheets[1].tag, parts=[text])


def test_a_count_tells_what_was_seen_what_is_missing_and_what_lies_elsewhere(here: Shop) -> None:
    tags = [p.tag for p in here.sheets]
    assert counting.look(here.yard, "R2").number is None
    number = counting.start(here.yard, "R1-B2-S3")
    assert counting.start(here.yard, "R1-B2-S3") == number
    racks.move(here.yard, [tags[3]], "R2")
    assert counting.see(here.yard, number, [tags[0], tags[1], tags[3]]) == (tags[0], tags[1], tags[3])
    assert counting.see(here.yard, number, [tags[0]]) == ()
    assert counting.unsee(here.yard, number, [tags[1]]) == (tags[1],)
    now = counting.look(here.yard, "R1-B2-S3")
    assert now.number == number and now.place == "R1-B2-S3"
    assert {p.tag for p in now.seen} == {tags[0]}
    assert {p.tag for p in now.missing} == {tags[1], tags[2], here.offcut.tag}
    assert {p.tag for p in now.elsewhere} == {tags[3]} and now.since == now.unknown == ()
    assert counting.finish(here.yard, number, "stolen") == ()
    assert {p.tag for p in racks.at_place(here.yard, "R1-B2-S3")} == {tags[0], tags[3]}
    with pytest.raises(Refused, match="closed"):
        counting.see(here.yard, number, [tags[0]])


def test_shelving_takes_cost_thickness_and_supplier_as_said(here: Shop) -> None:
    said = racks.ToShelve(
        material="birch", place="R2", offcut="600 x 450", count=2, thickness="17.2", cost="4.20",
        supplier="Mill", note="knot",
    )  # fmt: skip
    made = racks.shelve(here.yard, said)
    assert len(made.pieces) == 2 and made.judged == ()
    for line in made.pieces:
        assert (line.kind, line.length, line.width) == (Kind.OFFCUT, 600 * MM, 450 * MM)
        assert (line.thickness, line.own_thickness, line.cost) == (round(17.2 * MM), True, 42_000)
        assert (line.supplier, line.note, line.place, line.labelled) == ("Mill", "knot", "R2", False)
    with pytest.raises(BadInput, match="not both"):
        racks.shelve(here.yard, replace(said, size="2440 x 1220"))
    (other,) = racks.lines_of(here.yard, [here.offcut.tag])
    assert (other.thickness, other.own_thickness) == (round(17.7 * MM), False)


def test_a_find_tells_the_spare_area_and_whether_it_is_turned(here: Shop) -> None:
    """The offcut of 1200 x 600 holds 500 x 900 turned: what is over is 1.2 * 0.6 - 0.9 * 0.5 = 0.27 m²."""
    found = racks.find(here.yard, "500 x 900", limit=1)
    (fit,) = found.fits
    assert (fit.piece.tag, fit.place, fit.turned) == (here.offcut.tag, "R1-B2-S3", True)
    assert fit.spare == round(0.27 * M2) and found.promised == ()
    assert [f.piece.tag == here.offcut.tag for f in racks.find(here.yard, "500 x 900", turn=False).fits] == (
        [False] * 4
    )
    plan_for(here, *here.sheets)
    assert len(racks.find(here.yard, "2000 x 1000").promised) == 4
    assert racks.find(here.yard, "3000 x 1000").promised == ()


def test_settings_are_shown_for_a_person_and_as_they_are_typed(here: Shop) -> None:
    shown = {line.name: line for line in shop.settings(here.yard)}
    assert (shown["kerf"].shown, shown["kerf"].exact) == ("3 mm", "3 mm")
    assert shown["keep_area"].exact == "90000 mm²"
    shop.set_settings(here.yard, {"kerf": "2.8", "currency": "$"})
    assert here.yard.settings.kerf == round(2.8 * MM) and here.yard.settings.currency == "$"
    first = shop.first_settings({"kerf": "1/8"}, inches=True)
    assert (first.unit.value, first.kerf) == ("in", 127 * MM // 40)
    assert shop.first_settings({}).unit.value == "mm"


def test_a_backup_an_export_and_a_restore(here: Shop, tmp_path: Path) -> None:
    kept = shop.back_up(here.yard)
    (line,) = shop.backups(here.yard.path)
    assert line.path == kept and line.bytes == kept.stat().st_size > 0
    shop.export(here.yard, tmp_path / "all.JSON")
    shop.export(here.yard, tmp_path / "tables")
    assert (tmp_path / "all.JSON").is_file() and (tmp_path / "tables").is_dir()
    assert shop.import_yard(tmp_path / "tables", tmp_path / "again.db") == ()
    checked, seal = shop.check(here.yard)
    assert checked.differences == () and seal is not None and seal.deed == history.deeds(here.yard)[0].id


def test_the_newest_deed_that_stands_is_undone_or_one_by_number(here: Shop) -> None:
    racks.move(here.yard, [here.offcut.tag], "R2")
    last = history.to_undo(here.yard)
    assert last == history.deeds(here.yard, limit=1)[0] and here.offcut.tag in last.says
    assert history.to_undo(here.yard, 2).id == 2
    history.undo(here.yard, last.id)
    life = history.life(here.yard, here.offcut.tag)
    assert life.piece.place == "R1-B2-S3" and life.parents == life.offcuts == life.parts == ()
    assert len(life.events) == 3
    undo.undo(here.yard)


def test_the_least_stock_by_use_counts_the_first_day_as_one(here: Shop) -> None:
    """One sheet cut on the first day and three days to wait: 1 a day for 3 days, and one more."""
    stock.change_material(here.yard, "birch", stock.MaterialFacts(lead_days=3))
    plan_for(here, here.sheets[0])
    cutting.cut(here.yard, here.sheets[0].tag)
    assert buying.least_by_use(here.yard) == {"birch ply 18 mm": 4}


def test_a_place_is_judged_as_it_was_before_the_piece_came(here: Shop) -> None:
    """A slot of 20 mm holds one sheet of 17.7 mm: the first suits it, the second does not."""
    places.add_place(here.yard, "S9", places.PlaceFacts(stores="upright", inside_size="2500 x 20 x 1300"))
    first = racks.move(here.yard, [here.sheets[0].tag], "S9")
    assert first.remarks == ()
    (remark,) = racks.move(here.yard, [here.sheets[1].tag], "S9").remarks
    assert remark == f"S9, {here.sheets[1].tag}: there is no room left"


def test_a_past_part_of_any_grain_fits_a_leftover_turned(here: Shop) -> None:
    """A leftover of 200 along the grain and 550 across takes 500 x 150 only where it may be turned."""
    own = yard_materials.named(here.yard, "birch")
    uses = []
    for n, grain in enumerate((Grain.ALONG, Grain.ANY)):
        part = JobPart(
            name="shelf", count=4, length=500 * MM, width=150 * MM, grain=grain,
            materials=("birch ply 18 mm",),
        )  # fmt: skip
        jobs.add_job(here.yard, f"job {n}", "shelves", [part])
        uses.append(keep_advice.outlooks(here.yard, (own,))[own.title].use(200 * MM, 550 * MM).jobs)
    assert uses[1] > uses[0]


def test_of_a_place_nothing_is_known_that_was_not_said(here: Shop) -> None:
    bare = places.add_place(here.yard, "W1", places.PlaceFacts())
    assert (bare.storage, bare.pieces, bare.known_weight, bare.rated_load) == (Storage.FLAT, 0, 0, None)
    assert (bare.length, bare.width, bare.height, bare.supports) == (0, 0, 0, 0)
    facts = places.PlaceFacts(
        stores="brackets", inside_size="2500 x 300 x 40", supports=4, rated_load="80 kg"
    )
    said = places.add_place(here.yard, "W2", facts)
    assert (said.length, said.width, said.height) == (2500 * MM, 300 * MM, 40 * MM)
    assert (said.storage, said.supports, said.rated_load) == (Storage.BRACKETS, 4, 80_000)
    assert said.walk == bare.walk + 1, "each comes last in the walk"
