"""The order of work over several pieces: every cut once, each card in its order, few settings."""

from __future__ import annotations

from stockyard.planning.finish import fence_moves
from stockyard.planning.plan import Cut, Layout
from stockyard.planning.rounds import AT_ONCE, round_moves, rounds
from stockyard.planning.tree import Axis
from tests.planning.trees import job, plan

RIP, CROSSCUT = Axis.RIP, Axis.CROSSCUT


def card(*settings: tuple[Axis, int]) -> Layout:
    """A layout of which only the settings matter."""
    cuts = tuple(
        Cut(step=n, piece="", direction=a, at=f, fence=f, gives=(None, None))
        for n, (a, f) in enumerate(settings, 1)
    )
    return Layout(stock="S", parts=(), cuts=cuts, leftovers=())


def test_every_cut_is_made_once_and_every_card_keeps_its_order() -> None:
    for seed in range(10):
        layouts = plan(*job(seed, pieces=8, depth=3)).layouts
        made = [(piece, step, r) for r in rounds(layouts) for piece, step in r.cuts]
        assert len(made) == sum(len(lay.cuts) for lay in layouts)
        for i, lay in enumerate(layouts):
            mine = [(step, r.direction, r.fence) for piece, step, r in made if piece == i]
            assert mine == [(c.step, c.direction, c.fence) for c in lay.cuts]


def test_equal_pieces_are_cut_side_by_side() -> None:
    """Four settings on five pieces: four moves, where card after card needs twenty."""
    cards = [card((RIP, 50), (CROSSCUT, 40), (RIP, 30), (CROSSCUT, 20))] * 5
    assert fence_moves(cards) == 20
    assert round_moves(rounds(cards)) == 4


def test_a_setting_waits_until_it_serves_all_that_need_it() -> None:
    """The 30 is wanted on both pieces, on the second only after the 70."""
    made = rounds([card((RIP, 30)), card((RIP, 70), (RIP, 30))])
    assert [r.fence for r in made] == [70, 30]
    assert made[1].cuts == ((0, 1), (1, 2))


def test_no_more_pieces_than_a_person_keeps_apart_are_in_work() -> None:
    cards = [card((RIP, 50), (RIP, 30))] * (2 * AT_ONCE)
    made = rounds(cards)
    first = [piece for r in made[:2] for piece, _ in r.cuts]
    assert max(first) < AT_ONCE
    assert round_moves(made) == 4


def test_nothing_to_cut() -> None:
    assert rounds([]) == ()
    assert rounds([card()]) == ()
