"""How a whole job stands: its questions together, the latest answer of each, on one clock."""

from __future__ import annotations

from stockyard.desk.whole_job import WholeJob
from stockyard.planning.limits import Improvement
from stockyard.planning.problem import Part, Problem


def question(*names: str) -> Problem:
    return Problem(stock=(), parts=tuple(Part(id=name, length=1, width=1) for name in names))


def stand(pieces: int, missing: int, material: str) -> Improvement:
    return Improvement(
        seconds=0.5, missing=missing, money=10 * pieces, net=100 * pieces, pieces=pieces, least=pieces,
        materials=(material,), left=0.1,
    )  # fmt: skip


def test_questions_are_added_up_and_a_part_of_one_asked_again_takes_its_place() -> None:
    told: list[Improvement] = []
    whole = WholeJob(told.append, 1000.0)
    sheets, boards = whole.of(question("top", "side")), whole.of(question("rail"))
    sheets(stand(3, 1, "ply"))
    sheets(stand(4, 0, "ply"))
    boards(stand(2, 1, "oak"))
    whole.of(question("side"))(stand(1, 0, "ply"))
    assert [(i.pieces, i.missing, i.money, i.net, i.least) for i in told] == [
        (3, 1, 30, 300, 3), (4, 0, 40, 400, 4), (6, 1, 60, 600, 6), (3, 1, 30, 300, 3),
    ]  # fmt: skip
    assert [i.materials for i in told] == [("ply",), ("ply",), ("oak",), ("ply",)]


def test_the_clock_is_that_of_the_job() -> None:
    told: list[Improvement] = []
    WholeJob(told.append, 1000.0).of(question("top"))(stand(3, 1, "ply"))
    WholeJob(told.append, None).of(question("top"))(stand(3, 1, "ply"))
    left = told[0].left
    assert left is not None
    assert left + told[0].seconds == 1000.0
    assert told[1].left is None
