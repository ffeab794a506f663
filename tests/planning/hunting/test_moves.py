"""The table of moves: the first that is due is made, and what came of it is kept."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

from stockyard.planning.hunting.moves import Move, Moves


class Search:
    """A search of which each move notes its name and the threads it was given."""

    def __init__(self) -> None:
        self.answer, self.made = object(), list[tuple[str, int]]()

    def move(self, name: str, *, due: bool, better: bool = False) -> Move:
        def make(_: ThreadPoolExecutor, hands: int) -> None:
            self.made.append((name, hands))
            if better:
                self.answer = object()

        return Move(name, lambda: due, make)


def test_the_first_that_is_due_is_made_and_no_other() -> None:
    search = Search()
    moves = Moves(
        lambda: search.answer,
        [search.move("later", due=False), search.move("now", due=True), search.move("else", due=True)],
    )
    with ThreadPoolExecutor(1) as team:
        assert moves.make_next(team, 2)
    assert search.made == [("now", 2)]
    assert [m.tries for m in moves.table] == [0, 1, 0]


def test_where_none_is_due_nothing_is_done() -> None:
    search = Search()
    with ThreadPoolExecutor(1) as team:
        assert not Moves(lambda: search.answer, [search.move("later", due=False)]).make_next(team, 1)
    assert not search.made


def test_a_better_answer_is_a_gain_of_the_move_that_found_it() -> None:
    search = Search()
    finds, looks = search.move("finds", due=True, better=True), search.move("looks", due=True)
    with ThreadPoolExecutor(1) as team:
        for move in (finds, looks, finds):
            Moves(lambda: search.answer, [move]).make_next(team, 1)
    assert (finds.tries, finds.gains) == (2, 2)
    assert (looks.tries, looks.gains) == (1, 0)
    assert min(finds.seconds, looks.seconds) > 0
