"""Undo: opposite deeds, in order, and what depends on a deed is named."""

from __future__ import annotations

import contextlib
import random
import re
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.errors import Refused, StockyardError
from stockyard.yard import cutting, jobs, labels, ledger, pieces, places, plans, pulling, stocktake, undo
from stockyard.yard.check import check
from stockyard.yard.model import Storage
from tests.yard.shop import MM, Shop, add_job, full, make_shop, plan_for, state_of, whole
from tests.yard.worker import WORK


def test_undoing_everything_gives_the_exact_first_state(shop: Shop) -> None:
    first = state_of(shop.yard)
    start = shop.yard.one("SELECT max(id) FROM deed")
    plan = plan_for(shop, shop.sheets[0], shop.offcut)
    pulling.pull(shop.yard, [shop.sheets[0].tag])
    done = cutting.confirm_cut(shop.yard, shop.sheets[0].tag)
    cutting.return_offcut(shop.yard, done.offcuts[0].tag, "R1-B1", (999 * MM, 399 * MM))
    labels.mark_printed(shop.yard, [done.offcuts[0].tag])
    pulling.report_gone(shop.yard, shop.offcut.tag, "rotten")
    plans.release_plan(shop.yard, plan.id)
    pieces.move(shop.yard, [shop.sheets[2].tag], "R2")
    for _ in range(shop.yard.one("SELECT max(id) FROM deed") - start):
        undo.undo(shop.yard)
    assert state_of(shop.yard) == first


def test_what_depends_on_a_deed_is_named_and_nothing_happens(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    shelved = shop.yard.one("SELECT min(deed_id) FROM entry WHERE thing = 'piece'")
    before = state_of(shop.yard)
    with pytest.raises(Refused, match="planned job kitchen"):
        undo.undo(shop.yard, shelved)
    assert state_of(shop.yard) == before
    plans.release_plan(shop.yard, plan.id)
    with pytest.raises(Refused, match="released plan 1"):
        undo.undo(shop.yard, shelved)


def test_rows_that_point_at_what_was_made_are_dependents(shop: Shop) -> None:
    material = shop.yard.one("SELECT min(deed_id) FROM entry WHERE thing = 'material'")
    with pytest.raises(Refused, match="shelved 4 birch ply"):
        undo.undo(shop.yard, material)


def test_an_older_deed_that_nothing_depends_on_can_be_undone(shop: Shop) -> None:
    stack = pieces.at_place(shop.yard, "R1-B2-S3")
    pieces.move(shop.yard, [shop.sheets[0].tag], "R2")
    moved = shop.yard.one("SELECT max(id) FROM deed")
    add_job(shop.yard)
    undo.undo(shop.yard, moved)
    assert pieces.at_place(shop.yard, "R1-B2-S3") == stack


def test_a_piece_put_back_by_undo_lies_under_what_came_after_it(shop: Shop) -> None:
    pieces.move(shop.yard, [shop.offcut.tag], "R2")
    moved = shop.yard.one("SELECT max(id) FROM deed")
    (later,) = pieces.shelve(shop.yard, [full(shop.ply)])
    undo.undo(shop.yard, moved)
    assert [p.tag for p in pieces.at_place(shop.yard, "R1-B2-S3")][:2] == [later.tag, shop.offcut.tag]


def test_a_deed_is_undone_once_and_may_be_done_again(shop: Shop) -> None:
    (piece,) = pieces.shelve(shop.yard, [full(shop.ply)])
    shelved = shop.yard.one("SELECT max(id) FROM deed")
    made = undo.undo(shop.yard)
    with pytest.raises(Refused, match="undone already"):
        undo.undo(shop.yard, shelved)
    undo.undo(shop.yard, made.id)
    assert pieces.by_tag(shop.yard, piece.tag) == piece
    undo.undo(shop.yard, shelved)
    assert shop.yard.row("SELECT 1 FROM piece WHERE tag = ?", (piece.tag,)) is None


def test_doing_again_is_refused_when_the_ground_is_gone(shop: Shop) -> None:
    (piece,) = pieces.shelve(shop.yard, [full(shop.ply)])
    pieces.move(shop.yard, [piece.tag], "R2")
    moved_back = undo.undo(shop.yard)
    undo.undo(shop.yard)
    with pytest.raises(Refused):
        undo.undo(shop.yard, moved_back.id)


def test_a_cut_undone_and_confirmed_again_gives_the_same_tag(shop: Shop) -> None:
    plan_for(shop, shop.sheets[0])
    first = cutting.confirm_cut(shop.yard, shop.sheets[0].tag)
    undo.undo(shop.yard)
    second = cutting.confirm_cut(shop.yard, shop.sheets[0].tag)
    assert [p.tag for p in first.offcuts] == [p.tag for p in second.offcuts]


def test_a_tag_taken_back_is_never_given_to_another_piece(shop: Shop) -> None:
    (gone,) = pieces.shelve(shop.yard, [full(shop.ply)])
    undo.undo(shop.yard)
    (new,) = pieces.shelve(shop.yard, [full(shop.ply)])
    assert new.tag != gone.tag
    with pytest.raises(Exception, match="taken back"):
        pieces.by_tag(shop.yard, gone.tag)


def test_the_making_of_the_yard_stays(shop: Shop) -> None:
    with pytest.raises(Refused, match="cannot be undone"):
        undo.undo(shop.yard, 1)


def test_two_fields_of_one_row_do_not_depend_on_each_other(shop: Shop) -> None:
    labels.mark_printed(shop.yard, [shop.offcut.tag])
    printed = shop.yard.one("SELECT max(id) FROM deed")
    pieces.move(shop.yard, [shop.offcut.tag], "R2")
    undo.undo(shop.yard, printed)
    assert not pieces.by_tag(shop.yard, shop.offcut.tag).labelled


def test_the_history_goes_from_purchase_through_parents_to_parts(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    done = cutting.confirm_cut(shop.yard, shop.sheets[0].tag)
    cutting.return_offcut(shop.yard, done.offcuts[0].tag, "R1-B1")
    life = ledger.history(shop.yard, done.offcuts[0].tag)
    assert [p.tag for p in life.parents] == [shop.sheets[0].tag]
    assert [e.says.split(":")[0] for e in life.events] == [f"cut off {shop.sheets[0].tag}", "put at R1-B1"]
    sheet = ledger.history(shop.yard, shop.sheets[0].tag)
    assert sheet.parts == (("side", 2, jobs.job_by_id(shop.yard, plan.job_id).name),)
    assert [p.tag for p in sheet.offcuts] == [done.offcuts[0].tag]
    assert [e.says for e in sheet.events][1:] == ["promised to kitchen", "cut"]


def test_the_history_tells_of_plans_and_places_that_were_taken_back(shop: Shop) -> None:
    plan_for(shop, shop.sheets[0])
    places.add_place(shop.yard, "R9", Storage.UPRIGHT)
    pieces.move(shop.yard, [shop.sheets[0].tag], "R9")
    for _ in range(4):
        undo.undo(shop.yard)
    said = [e.says.split(" (")[0] for e in ledger.history(shop.yard, shop.sheets[0].tag).events]
    assert said[1:] == ["promised to kitchen", "put at R9", "put at R1-B2-S3", "free again"]


def newest(shop: Shop) -> int:
    return int(shop.yard.one("SELECT max(id) FROM deed"))


def test_what_took_the_name_or_the_place_since_is_named(shop: Shop) -> None:
    counted = stocktake.start_count(shop.yard, "R2")
    stocktake.finish_count(shop.yard, counted.id, "counted")
    finished = newest(shop)
    stocktake.start_count(shop.yard, "R2")
    with pytest.raises(Refused, match=rf"another count of that place is open.* \(entry {newest(shop)} "):
        undo.undo(shop.yard, finished)
    job = add_job(shop.yard)
    jobs.remove_job(shop.yard, job.id)
    removed = newest(shop)
    add_job(shop.yard)
    with pytest.raises(Refused, match=rf"another job of that name.* \(entry {newest(shop)} "):
        undo.undo(shop.yard, removed)


def test_what_needs_a_thing_taken_back_is_not_done_again_without_it(shop: Shop) -> None:
    places.add_place(shop.yard, "R9", Storage.UPRIGHT)
    stocktake.start_count(shop.yard, "R9")
    undone = undo.undo(shop.yard)
    undo.undo(shop.yard)
    with pytest.raises(Refused, match=rf"something it needs was itself undone.* \(entry {newest(shop)} "):
        undo.undo(shop.yard, undone.id)


def test_a_row_changed_past_its_deed_is_refused_with_the_deed_named(shop: Shop) -> None:
    """Every refusal names the deed asked for."""
    (piece,) = pieces.shelve(shop.yard, [full(shop.ply)])
    deed = newest(shop)
    pieces.move(shop.yard, [piece.tag], "R2")
    with pytest.raises(Refused, match=rf"^entry {deed} \(.* these stand: {deed + 1} \("):
        undo.undo(shop.yard, deed)


@pytest.mark.parametrize("number", [1, 5, 6, 8])
def test_of_many_deeds_in_the_way_five_are_named(shop: Shop, number: int) -> None:
    (piece,) = pieces.shelve(shop.yard, [full(shop.ply)])
    deed = newest(shop)
    for n in range(number):
        pieces.move(shop.yard, [piece.tag], ("R2", "R1-B1")[n % 2])
    with pytest.raises(Refused) as caught:
        undo.undo(shop.yard, deed)
    assert str(caught.value).count(f"moved {piece.tag}") == min(number, 5)
    assert str(caught.value).endswith("; ...") is (number > 5)


def test_what_points_at_a_thing_is_named_though_an_undone_deed_pointed_elsewhere_since(shop: Shop) -> None:
    added = shop.yard.one("SELECT deed_id FROM entry WHERE thing = 'place' ORDER BY id LIMIT 1")
    stocktake.start_count(shop.yard, "R1-B2-S3")
    pieces.move(shop.yard, [shop.sheets[0].tag], "R2")
    for _ in range(2):
        undo.undo(shop.yard)
    before = state_of(shop.yard)
    said = r"cannot be undone while these stand: \d+ \(shelved 4 birch.*\); \d+ \(shelved 1 birch"
    with pytest.raises(Refused, match=said):
        undo.undo(shop.yard, added)
    assert state_of(shop.yard) == before


def test_plain_undo_goes_on_after_a_deed_was_done_again(shop: Shop) -> None:
    """What was done again is the last that was done, so it is the first to be undone."""
    first = state_of(shop.yard)
    start = newest(shop)
    stocktake.start_count(shop.yard, "R2")
    taken_back = undo.undo(shop.yard)
    counted = stocktake.start_count(shop.yard, "R2")
    stocktake.finish_count(shop.yard, counted.id, "counted")
    undo.undo(shop.yard, taken_back.id)
    for _ in range(3):
        undo.undo(shop.yard)
    assert state_of(shop.yard) == first
    assert undo.last_deed(shop.yard).id <= start


def test_a_busy_yard_is_waited_for_once(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not once more for each deed that stands."""
    tries = []
    begin = shop.yard._begin
    monkeypatch.setattr(shop.yard, "_begin", lambda: (tries.append(1), begin()))
    with yard.open(shop.yard.path) as other, other.deed("move"):
        shop.yard.busy_seconds = 0.0
        for look in (undo.last_deed, undo.undo):
            tries.clear()
            with pytest.raises(Refused, match="is busy") as refused:
                look(shop.yard)
            assert refused.value.code == "busy"
            assert len(tries) == 1


LONG = [pytest.param(range(n, n + 10), 300, marks=pytest.mark.slow, id=f"{n}") for n in range(0, 50, 10)]


@pytest.mark.parametrize(("seeds", "steps"), [pytest.param(range(2), 60, id="short"), *LONG])
def test_undoing_in_order_is_never_refused(tmp_path: Path, seeds: range, steps: int) -> None:
    """Random deeds with undos and redos of any deed among them, then plain undo back to the byte."""
    for seed in seeds:
        shop = make_shop(tmp_path / f"{seed}.db")
        y, r = shop.yard, random.Random(seed)
        first, start = state_of(y), newest(shop)
        refused = 0
        while newest(shop) < start + steps:
            if r.random() < 0.7:
                with contextlib.suppress(StockyardError):
                    r.choice(WORK)(y, r)
                continue
            try:
                undo.undo(y, r.randint(start + 1, max(start + 1, newest(shop))))
            except StockyardError as error:
                refused += isinstance(error, Refused)
                assert re.search(r"\bentry \d+", str(error)), error
        while undo.last_deed(y).id > start:
            undo.undo(y)
        assert repr(state_of(y)) == repr(first)
        assert check(y) == ()
        assert refused
        y.close()


def test_labels_put_to_print_do_not_keep_a_shelving(shop: Shop) -> None:
    made = pieces.shelve(shop.yard, [full(shop.ply, 2)])
    shelved = shop.yard.one("SELECT max(id) FROM deed")
    labels.mark_printed(shop.yard, [made[0].tag, shop.offcut.tag])
    undo.undo(shop.yard, shelved)
    assert shop.yard.rows("SELECT 1 FROM piece WHERE tag IN (?, ?)", tuple(p.tag for p in made)) == []
    assert pieces.by_tag(shop.yard, shop.offcut.tag).labelled, "what stays keeps its label"
    made = pieces.shelve(shop.yard, [full(shop.ply)])
    shelved = shop.yard.one("SELECT max(id) FROM deed")
    labels.mark_printed(shop.yard, [made[0].tag])
    pieces.move(shop.yard, [made[0].tag], "R2")
    before = whole(shop.yard)
    with pytest.raises(Refused, match="moved"):
        undo.undo(shop.yard, shelved)
    assert whole(shop.yard) == before, "nothing is done by halves"


def test_one_printing_is_never_undone_for_another(shop: Shop) -> None:
    """Labels printed, undone and printed once more: doing the first printing again would lose the second."""
    labels.mark_printed(shop.yard, [shop.offcut.tag])
    undone = undo.undo(shop.yard)
    labels.mark_printed(shop.yard, [shop.offcut.tag])
    before = whole(shop.yard)
    with pytest.raises(Refused, match=f"entry {undone.id} "):
        undo.undo(shop.yard, undone.id)
    assert whole(shop.yard) == before
