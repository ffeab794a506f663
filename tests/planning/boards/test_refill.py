"""Boards filled anew by chance: plans that are there are found, and what is found is a plan."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.planning.boards.refill import Refill, compile_refill

SCALE = 1000
Fills = list[tuple[int, tuple[tuple[int, int], ...]]]


@pytest.fixture(scope="module", autouse=True)
def compiled() -> None:
    """Compile first: drawn examples have little time each."""
    compile_refill()


def planted(seed: int, rooms: list[int], boards: int) -> tuple[list[int], list[int]]:
    """Return the sizes of parts that fill so many boards to the end, and the boards."""
    random, sizes, used = Random(seed), [], []
    for _ in range(boards):
        left = random.choice(rooms)
        used.append(left)
        while left > 900:
            size = random.randint(300, 900)
            sizes.append(size)
            left -= size
        sizes.append(left)
    return sizes, used


def searched(
    sizes: list[int], stock: list[tuple[int, int]], waste: int, seed: int, rounds: int, shortest: int = 0
) -> Fills:
    """Search with parts and boards worth their lengths; at most `waste` may be lost in all.

    On the first stock row no part shorter than `shortest` may lie.
    """
    kinds = sorted(Counter(sizes).items())
    parts = [(s, s * SCALE, n) for s, n in kinds]
    lies = [[j > 0 or s >= shortest for s, _ in kinds] for j in range(len(stock))]
    search = Refill(parts, [(room, room * SCALE, n) for room, n in stock], lies, waste * SCALE, seed)
    return search.run(rounds)


@pytest.mark.parametrize("seed", range(10))
def test_boards_cut_up_to_the_end_are_put_together_again(seed: int) -> None:
    rooms = [2440, 3050, 3660]
    sizes, used = planted(seed, rooms, 8)
    found = searched(sizes, [(room, -1) for room in rooms], 0, seed, 20_000)
    assert sum(rooms[j] for j, _ in found) == sum(used)


@given(st.lists(st.integers(1, 40), min_size=1, max_size=12), st.integers(0, 60), st.integers(0, 9))
def test_what_is_found_is_a_plan(sizes: list[int], waste: int, seed: int) -> None:
    """All parts are in it and lie where they may, no board is overfull or one too many, and no more is
    lost than allowed."""
    stock, kinds = [(40, 3), (60, 2), (70, -1)], sorted(Counter(sizes))
    found = searched(sizes, stock, waste, seed, 50, shortest=15)
    if not found:
        return
    placed: Counter[int] = Counter()
    for j, gives in found:
        assert sum(n * kinds[k] for k, n in gives) <= stock[j][0]
        assert j > 0 or all(kinds[k] >= 15 for k, _ in gives)
        placed.update({kinds[k]: n for k, n in gives})
    assert placed == Counter(sizes)
    assert all(n <= stock[j][1] or stock[j][1] < 0 for j, n in Counter(j for j, _ in found).items())
    assert sum(stock[j][0] for j, _ in found) <= sum(sizes) + waste


def test_the_same_seed_finds_the_same() -> None:
    sizes, _ = planted(3, [2440, 3660], 10)
    one, two = (searched(sizes, [(2440, -1), (3660, -1)], 200, 7, 20_000) for _ in range(2))
    assert one and one == two


def test_nothing_is_found_where_there_is_nothing() -> None:
    """Three parts of 50 need three boards of 80, so that 90 are lost."""
    assert searched([50, 50, 50], [(80, -1)], 89, 1, 200) == []
    assert len(searched([50, 50, 50], [(80, -1)], 90, 1, 200)) == 3
