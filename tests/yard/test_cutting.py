"""Cutting: areas and money add up, offcuts wait on the bench and come back."""

from __future__ import annotations

from contextlib import nullcontext
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.errors import BadInput, Refused
from stockyard.flaws import Flaw
from stockyard.yard import cutting, labels, ledger, measuring, pieces, pulling
from stockyard.yard.model import State
from stockyard.yard.planned import GivenOffcut, GivenPart
from tests.yard.shop import MM, Shop, full, make_shop, plan_for


def test_a_cut_as_planned_gives_the_tags_on_the_papers(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    pulling.pull(shop.yard, [shop.sheets[0].tag])
    done = cutting.confirm_cut(shop.yard, shop.sheets[0].tag)
    assert [p.tag for p in done.offcuts] == [left.tag for left in plan.layouts[0].leftovers]
    assert done.offcuts[0].state is State.BENCH
    assert done.piece.area == 2 * 700 * 500 * MM**2 + done.offcuts[0].area + done.scrap


def test_measured_offcuts_take_the_nearest_planned_tag(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    piece = pieces.by_tag(shop.yard, shop.sheets[0].tag)
    sizes = [(200 * MM, 200 * MM), (999 * MM, 401 * MM)]
    given_ = cutting.with_planned_tags(shop.yard, piece, sizes)
    assert [g.tag for g in given_] == [None, plan.layouts[0].leftovers[0].tag]
    assert [(g.length, g.width) for g in given_] == sizes


def test_a_piece_cannot_give_more_than_it_is(shop: Shop) -> None:
    big = GivenOffcut(length=1200 * MM, width=600 * MM)
    with pytest.raises(Refused, match="cannot give that much"):
        cutting.confirm_cut(
            shop.yard, shop.offcut.tag, parts=[], offcuts=[big, GivenOffcut(length=1, width=1)]
        )


def test_nothing_larger_than_the_piece_comes_out_of_it(shop: Shop) -> None:
    with pytest.raises(BadInput, match="it is larger"):
        cutting.confirm_cut(
            shop.yard,
            shop.offcut.tag,
            parts=[GivenPart(name="rail", length=1300 * MM, width=20 * MM)],
            offcuts=[],
        )


def test_without_a_plan_what_it_gave_must_be_said(shop: Shop) -> None:
    with pytest.raises(BadInput, match="say what it gave"):
        cutting.confirm_cut(shop.yard, shop.offcut.tag)


def test_a_piece_is_cut_once(shop: Shop) -> None:
    cutting.confirm_cut(shop.yard, shop.offcut.tag, parts=[], offcuts=[])
    with pytest.raises(Refused, match="it is cut"):
        cutting.confirm_cut(shop.yard, shop.offcut.tag, parts=[], offcuts=[])


def test_an_offcut_comes_back_with_its_measured_size_and_a_label_to_print(shop: Shop) -> None:
    labels.mark_printed(shop.yard, [p.tag for p in (*shop.sheets, shop.offcut)])
    plan_for(shop, shop.sheets[0])
    done = cutting.confirm_cut(shop.yard, shop.sheets[0].tag)
    back = cutting.return_offcut(shop.yard, done.offcuts[0].tag, "R1-B1", (997 * MM, 399 * MM))
    assert (back.length, back.width, back.state) == (997 * MM, 399 * MM, State.RACKED)
    assert [p.tag for p in labels.unlabelled(shop.yard)] == [back.tag]
    assert labels.mark_printed(shop.yard, [back.tag]) == 1
    assert labels.mark_printed(shop.yard, [back.tag]) == 0


@pytest.mark.parametrize(
    ("length", "width", "turned"),
    [(603 * MM, 1197 * MM, True), (603 * MM + 1, 1197 * MM, False), (603 * MM, 1197 * MM - 1, False)],
)
def test_a_size_is_the_other_way_round_within_the_width_of_a_cut(
    shop: Shop, length: int, width: int, turned: bool
) -> None:
    """An offcut of 1200 x 600 in a shop whose saw takes 3 mm."""
    with pytest.raises(Refused, match="that way round") if turned else nullcontext():
        measuring.refuse_turned(shop.yard, shop.offcut, length, width)


def test_an_offcut_does_not_come_back_with_its_grain_turned(shop: Shop) -> None:
    plan_for(shop, shop.sheets[0])
    (offcut,) = cutting.confirm_cut(shop.yard, shop.sheets[0].tag).offcuts
    with pytest.raises(Refused, match=r"recorded as 1000 x 400, along the grain first"):
        cutting.return_offcut(shop.yard, offcut.tag, "R1-B1", (400 * MM, 999 * MM))


def test_only_what_lies_on_the_bench_is_returned(shop: Shop) -> None:
    with pytest.raises(Refused, match="not on the bench"):
        cutting.return_offcut(shop.yard, shop.offcut.tag, "R1-B1")


sides = st.integers(1, 1200 * MM)


@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_area_and_money_are_kept_to_the_last_tick(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Cut a sheet, and its offcuts again: what was is what is, in ticks² and in ten-thousandths."""
    shop = make_shop(tmp_path_factory.mktemp("cut") / "yard.db")
    with shop.yard as y:
        todo = [shop.sheets[0]]
        for _ in range(3):
            p = todo.pop(0)
            cuts = data.draw(
                st.lists(st.tuples(st.integers(1, p.length), st.integers(1, p.width)), max_size=3)
            )
            room = p.area
            kept = []
            for length, width in cuts:
                if length * width <= room:
                    room -= length * width
                    kept.append(GivenOffcut(length=length, width=width))
            done = cutting.confirm_cut(y, p.tag, parts=[], offcuts=kept)
            assert done.scrap == room
            todo.extend(done.offcuts)
            if not todo:
                break
        scrap, parts_cost = y.rows("SELECT sum(scrap), sum(cost) FROM cutting")[0]
        left = [q for q in pieces.on_hand(y) if q.parent is not None]
        assert scrap + sum(q.area for q in left) == shop.sheets[0].area
        assert parts_cost + sum(q.cost for q in left) == shop.sheets[0].cost


@pytest.mark.parametrize(("count", "more"), [(6, False), (7, True)])
def test_a_deed_names_six_pieces_and_says_that_there_are_more(shop: Shop, count: int, more: bool) -> None:
    sheets = pieces.shelve(shop.yard, [full(shop.ply, 7)])[:count]
    plan_for(shop, *sheets)
    pulling.pull(shop.yard, [p.tag for p in sheets])
    cutting.confirm_planned(shop.yard, [p.tag for p in sheets])
    says = ledger.deeds(shop.yard, limit=1)[0].says
    assert says.startswith("cut " + ", ".join(p.tag for p in sheets[:6]) + (" ...: " if more else ": "))


def test_an_offcut_may_measure_all_that_was_left_and_not_a_tick_more(shop: Shop) -> None:
    """A sheet of 2440 x 1220 less two sides of 700 x 500 leaves 2,276,800 mm²: 2276.8 x 1000."""
    plan_for(shop, shop.sheets[0])
    (offcut,) = cutting.confirm_cut(shop.yard, shop.sheets[0].tag).offcuts
    all_of_it = 22_768 * MM // 10
    with pytest.raises(Refused, match="cannot be that large"):
        measuring.remeasure(shop.yard, offcut.tag, all_of_it + 1, 1000 * MM, larger=True)
    measured = measuring.remeasure(shop.yard, offcut.tag, all_of_it, 1000 * MM, larger=True)
    assert measured.area == 2_276_800 * MM**2
    assert shop.yard.one("SELECT scrap FROM cutting WHERE tag = ?", (shop.sheets[0].tag,)) == 0


def test_each_measured_offcut_takes_the_planned_tag_that_it_is_nearest_to_the_largest_first(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    planned = [
        SimpleNamespace(tag=tag, length=length, width=width)
        for tag, length, width in (("LOW", 500, 100), ("HIGH", 500, 300), ("LONG", 900, 100))
    ]
    monkeypatch.setattr(cutting, "planned_layout", lambda *_: SimpleNamespace(leftovers=planned))

    def tags(*sizes: tuple[int, int]) -> list[str | None]:
        return [o.tag for o in cutting.with_planned_tags(shop.yard, shop.sheets[0], sizes)]

    assert tags((500, 110), (495, 290)) == ["LOW", "HIGH"]
    assert tags((880, 90)) == ["LONG"] and tags((500, 201)) == ["HIGH"] and tags((690, 100)) == ["LOW"]
    assert tags((500, 290), (500, 280), (10, 10), (5, 5)) == ["HIGH", "LOW", "LONG", None]


def test_an_offcut_has_the_flaws_of_where_its_own_leftover_lies() -> None:
    knots = (Flaw(50, 10, 20, 20), Flaw(550, 10, 30, 30))
    piece: Any = SimpleNamespace(flaws=knots)
    layout: Any = SimpleNamespace(
        leftovers=[SimpleNamespace(tag="LOW", x=0, y=0), SimpleNamespace(tag="HIGH", x=500, y=0)]
    )

    def seen(tag: str | None, at: tuple[int, int] | None = None) -> tuple[Flaw, ...]:
        offcut: Any = SimpleNamespace(tag=tag, at=at, length=200, width=100, holes=())
        return cutting._flaws(piece, layout, offcut)

    assert seen("LOW") == (Flaw(50, 10, 20, 20),) and seen("HIGH") == (Flaw(50, 10, 30, 30),)
    assert seen(None) == () and seen("other") == ()
    assert seen("LOW", at=(540, 0)) == (Flaw(10, 10, 30, 30),)
