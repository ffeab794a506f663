"""Shelving advice: each rule rules, and the reasons say which."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.advice.shelving import Around, Company, Spot, Stored, fill, rank
from stockyard.kinds import Form
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit

MM = TICKS_PER_MM


def ply(length: int = 800, width: int = 600, thick: int = 18, name: str = "birch ply") -> Stored:
    mm3 = length * width * thick
    return Stored(
        material=name, thickness_name=f"{thick} mm", length=length * MM, width=width * MM,
        thickness=thick * MM, grams=mm3 * 685 // 10**6,
    )  # fmt: skip


SLOT = Spot(code="S1", standing=True, length=2000 * MM, width=400 * MM, height=1000 * MM, rated_load=200_000)
STACK = Spot(code="F1", stacked=True, length=2500 * MM, width=1300 * MM, height=500 * MM, rated_load=900_000)
ARMS = Spot(
    code="B1", length=192 * TICKS_PER_INCH, width=12 * TICKS_PER_INCH, height=8 * TICKS_PER_INCH,
    supports=6, rated_load=100_000,
)  # fmt: skip


def board(feet: int) -> Stored:
    return Stored(
        material="white pine", thickness_name="1", length=feet * 12 * TICKS_PER_INCH,
        width=11 * TICKS_PER_INCH, thickness=3 * TICKS_PER_INCH // 4, grams=3000 * feet // 4,
        form=Form.BOARD,
    )  # fmt: skip


def test_the_same_material_wins_over_the_same_thickness_over_empty_over_mixed() -> None:
    spots = [
        replace(SLOT, code="mixed", held=(ply(thick=6, name="mdf"),)),
        replace(SLOT, code="empty"),
        replace(SLOT, code="same 18", held=(ply(name="mdf"),)),
        replace(SLOT, code="same", held=(ply(),)),
    ]
    found = rank(ply(), spots)
    assert [s.code for s in found] == ["same", "same 18", "empty", "mixed"]
    assert found[0].company is Company.SAME
    assert all(s.ok for s in found)


def test_a_piece_too_large_or_a_full_place_is_ruled_out() -> None:
    full = replace(SLOT, code="full", held=(ply(),) * 22)
    found = {
        s.code: s for s in rank(ply(), [full, replace(SLOT, code="small", length=700 * MM, height=700 * MM)])
    }
    assert found["full"].against == ("there is no room left",)
    assert found["small"].against == ("it is larger than the place",)


def test_an_upright_piece_may_be_turned() -> None:
    tall = replace(SLOT, length=700 * MM, height=900 * MM)
    assert rank(ply(), [tall])[0].ok


def test_the_plate_rules_and_its_absence_is_said() -> None:
    heavy = replace(SLOT, code="heavy", rated_load=10_000, held=(ply(),))
    bare = replace(SLOT, code="bare", rated_load=None, held=(ply(),))
    found = {s.code: s for s in rank(ply(), [heavy, bare])}
    assert not found["heavy"].ok
    assert "over the 10 kg on the plate" in found["heavy"].says
    assert "over the 22 lb on the plate" in rank(ply(), [heavy], unit=Unit.INCH)[0].says
    assert found["bare"].ok
    assert "read the maker's plate" in found["bare"].says


def test_the_plate_of_the_whole_rack_counts_too() -> None:
    inside = replace(SLOT, around=(Around("R1", 50_000, 48_000),))
    assert "R1" in rank(ply(), [inside])[0].says


def test_unknown_sizes_are_not_judged() -> None:
    assert rank(ply(9000, 9000), [Spot(code="yard", stacked=True)])[0].ok
    assert fill(Spot(code="yard")) is None


def test_fewer_pieces_buried_comes_first() -> None:
    deep = replace(STACK, code="deep", held=(ply(),) * 9)
    shallow = replace(STACK, code="shallow", held=(ply(),) * 2)
    found = rank(ply(), [deep, shallow])
    assert [s.code for s in found] == ["shallow", "deep"]
    assert "on top of 2" in found[0].says


def test_boards_need_supports_often_enough() -> None:
    """Six supports in 16 ft are 32 in apart (Fine Woodworking, December 2005); three are 64 in."""
    few = replace(ARMS, code="few", supports=3)
    found = {s.code: s for s in rank(board(10), [ARMS, few], stiffness=8549)}
    assert found["B1"].cautions == ()
    assert "wants 4" in found["few"].says
    # Uniform load on two rests, 5 W L³ / 384 E I (Wood Handbook, FPL-GTR-190, table 9-1): of 7.5 kg on 10 ft
    # 4 kg hang between rests 1625.6 mm apart; I of 279.4 by 19.05 is 160,960 mm⁴: 1.6 mm, worked by hand.
    assert "(1.6 mm sag: " in found["few"].says


def test_a_short_board_falls_between_brackets() -> None:
    found = rank(board(2), [ARMS])[0]
    assert found.against == ("it is shorter than the gap between two supports",)


@given(
    st.integers(50, 3000), st.integers(50, 1500), st.lists(st.integers(0, 3000), min_size=3, max_size=3),
    st.integers(0, 30), st.one_of(st.none(), st.integers(0, 500_000)), st.booleans(), st.booleans(),
)  # fmt: skip
def test_nothing_that_rules_a_place_out_is_ever_suggested(
    length: int, width: int, room: list[int], count: int, rated: int | None, stacked: bool, standing: bool
) -> None:
    spot = Spot(
        code="X", stacked=stacked and not standing, standing=standing, length=room[0] * MM,
        width=room[1] * MM, height=room[2] * MM, rated_load=rated, held=(ply(),) * count,
    )  # fmt: skip
    found = rank(ply(length, width), [spot])[0]
    assert found.ok == (not found.against)
    if found.ok:
        after = fill(spot, ply(length, width))
        assert after is None or after <= 100
        weights = [p.grams or 0 for p in (*spot.held, ply(length, width))]
        assert rated is None or sum(weights) <= rated


def test_a_board_goes_to_brackets_and_never_on_a_stack_of_sheets() -> None:
    """Common practice, no source."""
    sheets = replace(STACK, code="sheets", held=(ply(2440, 1220),) * 5)
    own = replace(STACK, code="own", length=5000 * MM, held=(board(8),))
    slot = replace(SLOT, code="slot", length=5000 * MM)
    found = rank(board(4), [sheets, own, replace(STACK, code="bare"), slot, ARMS])
    assert [s.code for s in found] == ["B1", "slot", "own", "bare", "sheets"]
    assert [s.code for s in found if s.against] == ["sheets"]
    assert "brackets" in found[-1].says
    assert rank(ply(), [ARMS, replace(STACK, code="bare")])[0].code == "bare"


def test_a_place_is_full_when_nothing_more_goes_in_and_not_before() -> None:
    """Twenty of 20 mm fill a slot of 400 mm to the last; one more does not go in. Nineteen leave one."""
    thick = ply(thick=20)
    last = rank(thick, [replace(SLOT, held=(thick,) * 19, rated_load=None)])[0]
    over = rank(thick, [replace(SLOT, held=(thick,) * 20, rated_load=None)])[0]
    assert last.ok and over.against == ("there is no room left",)
    assert fill(replace(SLOT, held=(thick,) * 20)) == 100
    assert fill(replace(SLOT, held=(thick,) * 19), thick) == 100


def test_half_of_what_lies_there_is_not_most_of_it() -> None:
    half = rank(ply(), [replace(SLOT, held=(ply(), ply(thick=6, name="mdf")))])[0]
    most = rank(ply(), [replace(SLOT, held=(ply(), ply(), ply(thick=6, name="mdf")))])[0]
    assert (half.company, most.company) == (Company.OTHER, Company.SAME)


@pytest.mark.parametrize(("supports", "gap"), [(0, 0), (1, 0), (2, 1500 * MM), (3, 1000 * MM)])
def test_a_gap_between_rests_is_known_from_two_on(supports: int, gap: int) -> None:
    assert replace(ARMS, length=3000 * MM, supports=supports).rest_gap == gap
