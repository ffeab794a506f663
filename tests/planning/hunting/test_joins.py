"""Layouts without waste by joining: against trying everything, and on sheets cut up at random."""

from __future__ import annotations

from itertools import combinations
from random import Random

import pytest

from stockyard.planning.hunting.joins import Joiner
from stockyard.planning.model import Candidate, Model
from stockyard.planning.packed import Packed
from stockyard.planning.tree import Node
from tests.planning.jobs import sheets


def cut_up(random: Random, length: int, width: int, cuts: int) -> list[list[int]]:
    """Return the sizes that so many cuts edge to edge make of a sheet."""
    pieces = [[length, width]]
    for _ in range(cuts):
        a, b = pieces.pop(random.randrange(len(pieces)))
        if random.random() < 0.5 and a > 1:
            at = random.randint(max(1, a // 5), max(1, a - a // 5 - 1))
            pieces += [[at, b], [a - at, b]]
        elif b > 1:
            at = random.randint(max(1, b // 5), max(1, b - b // 5 - 1))
            pieces += [[a, at], [a, b - at]]
        else:
            pieces.append([a, b])
    return pieces


def leaves(node: Node) -> list[Node]:
    """Return what a cut tree ends in."""
    return [x for c in node.children for x in leaves(c)] if node.children else [node]


def all_of(joiner: Joiner) -> list[Candidate]:
    """Return what rounds give until all is known, ten at most."""
    found: dict[object, Candidate] = {}
    for _ in range(10):
        found |= {c.gives: c for c in joiner.round((), [1.0] * len(joiner.model.parts))}
        if joiner.exhausted:
            break
    return list(found.values())


def area(model: Model, c: Candidate) -> int:
    """Return the area of a layout's parts."""
    return sum(n * model.parts[k].length * model.parts[k].width for k, n in c.gives)


@pytest.mark.parametrize("turn", [False, True])
@pytest.mark.parametrize("seed", range(10))
def test_sheets_cut_up_at_random_are_put_together_again(seed: int, turn: bool) -> None:
    random = Random(seed)
    items = [[*size, 1] for _ in range(3) for size in cut_up(random, 2440, 1220, 7)]
    model = sheets(2440, 1220, items, turn=turn)
    joiner = Joiner(model, seed)
    found = all_of(joiner)
    assert any(
        sorted(k for c in three for k, _ in c.gives) == list(range(24)) for three in combinations(found, 3)
    )


@pytest.mark.parametrize("seed", range(20))
def test_all_there_is_no_waste_and_no_part_too_often(seed: int) -> None:
    random = Random(seed)
    items = [[random.randint(1, 4), random.randint(1, 4), random.randint(1, 2)] for _ in range(6)]
    model = sheets(4, 4, items, turn=True)
    for c in Joiner(model, seed).round((), [1.0] * len(items)):
        assert area(model, c) == 16
        assert all(n <= model.parts[k].demand for k, n in c.gives)
        assert all(leaf.part is not None for leaf in leaves(c.pattern.root))


def splits(sizes: tuple[tuple[int, int], ...], length: int, width: int) -> bool:
    """Whether these sizes, as they lie, fill a rectangle exactly by cuts edge to edge."""
    if len(sizes) == 1:
        return sizes[0] == (length, width)
    if sum(a * b for a, b in sizes) != length * width:
        return False
    for n in range(1, len(sizes)):
        for some in combinations(range(len(sizes)), n):
            low = tuple(sizes[k] for k in some)
            high = tuple(s for k, s in enumerate(sizes) if k not in some)
            space = sum(a * b for a, b in low)
            a, b = space // width, space // length
            if space % width == 0 and splits(low, a, width) and splits(high, length - a, width):
                return True
            if space % length == 0 and splits(low, length, b) and splits(high, length, width - b):
                return True
    return False


@pytest.mark.parametrize("seed", range(20))
def test_nothing_is_missed_when_the_round_comes_to_its_end(seed: int) -> None:
    random = Random(seed)
    items = [[*size, 1] for size in cut_up(random, 6, 4, 3)] + [
        [random.randint(1, 5), random.randint(1, 4), 1] for _ in range(3)
    ]
    model = sheets(6, 4, items)
    joiner = Joiner(model, seed)
    found = {tuple(k for k, _ in c.gives) for c in all_of(joiner)}
    every = {
        some
        for n in range(1, len(items) + 1)
        for some in combinations(range(len(items)), n)
        if splits(tuple((items[k][0], items[k][1]) for k in some), 6, 4)
    }
    assert joiner.exhausted
    assert found == every


def test_counts_packed_in_one_number() -> None:
    packed = Packed([1, 3])
    one, three = packed.one
    assert not packed.too_many(one + 3 * three)
    assert packed.too_many(2 * one)
    assert packed.too_many(4 * three)
