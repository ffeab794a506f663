"""What is said at a cut. When each caution holds is tested with the saws; here, that it is said and how."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.measure import Unit
from stockyard.printing.papers import CutCard
from stockyard.printing.saw_safety import grave_words, light_words
from stockyard.printing.step_rows import light_cautions
from stockyard.saws import (
    BY_ANOTHER_WAY,
    Caution,
    Machine,
    Pass,
    Saws,
    Way,
    cautions_for,
    is_heavy,
    machine_for,
)
from stockyard.settings_said import EFFECTS
from tests.printing.samples import board_of_legs, inch, random_cards
from tests.printing.with_steps import with_cautions, with_first


def said(caution: Caution, card: CutCard) -> tuple[tuple[str, ...], tuple[str, ...]]:
    made = with_cautions(card, caution)
    return grave_words(made.steps[0], made), light_words(made.steps[0], made)


@pytest.mark.parametrize("caution", Caution)
def test_every_caution_has_words_in_one_place(caution: Caution) -> None:
    grave, light = said(caution, board_of_legs())
    assert len(grave) + len(light) == 1
    assert "{" not in "".join((*grave, *light))


@pytest.mark.parametrize("caution", sorted(BY_ANOTHER_WAY))
def test_below_the_limits_of_the_makers_a_way_is_given(caution: Caution) -> None:
    """Cut as part of something longer or wider, last: common practice, no source."""
    ((text,), _) = said(caution, board_of_legs())
    assert "last" in text
    assert any(word in text for word in ("longer", "wider", "larger"))


def test_nobody_is_sent_to_the_saw_that_makes_the_cut() -> None:
    """Where the saw comes to the piece, two lift and turn it; what would spare that is not said there."""
    (at_fence,) = said(Caution.TWO_PEOPLE, board_of_legs())[1]
    guided = with_first(board_of_legs(), machine=Machine.GUIDE)
    (at_guide,) = said(Caution.TWO_PEOPLE, guided)[1]
    assert "two people" in at_fence and "two people" in at_guide
    assert guided.guide in at_fence
    assert guided.guide not in at_guide


def test_shops_that_work_in_inches_write_miter() -> None:
    """Merriam-Webster has miter, and mitre as the chiefly British variant."""
    assert board_of_legs().unit is Unit.INCH
    assert "miter gauge" in said(Caution.STOP_ONLY, board_of_legs())[1][0]
    metric = next(c for seed in range(40) for c in random_cards(seed) if c.unit is Unit.MM and c.steps)
    assert "mitre gauge" in said(Caution.STOP_ONLY, metric)[1][0]


@pytest.mark.parametrize("seed", range(30))
def test_equal_cuts_get_equal_words(seed: int) -> None:
    words: dict[object, object] = {}
    for card in random_cards(seed):
        by_sheet = card.grain or card.length >= card.width
        for step in card.steps:
            cut = (
                step.direction, by_sheet, step.length, step.width, step.fence, bool(step.trim),
                tuple(name is None for name in step.gives), step.rough,
            )  # fmt: skip
            now = step.word, step.machine, grave_words(step, card), light_words(step, card)
            assert words.setdefault(cut, now) == now


def mm(way: Way, run: int, reach: int, figure: int) -> Pass:
    return Pass(way=way, run=run * MM, reach=reach * MM, figure=figure * MM, least=figure * MM)


@pytest.mark.parametrize(
    ("cut", "machine"),
    [
        (mm(Way.RIP, 300, 800, 700), Machine.STOP),
        (mm(Way.RIP, 240, 800, 200), Machine.STOP),  # shorter than 10 in along the fence
        (mm(Way.RIP, 500, 800, 400), Machine.FENCE),
        (mm(Way.RIP, 650, 900, 750), Machine.GUIDE),  # wider than the sled takes
        (mm(Way.RIP, 500, 1500, 1300), Machine.GUIDE),  # beyond the stop
    ],
)
def test_what_is_short_along_the_fence_is_ripped_on_the_sled_that_takes_it(
    cut: Pass, machine: Machine
) -> None:
    """A sled takes what lies across it whichever way the grain runs (common practice, no source)."""
    assert machine_for(cut, Saws()) is machine
    if machine is Machine.STOP:
        across = replace(cut, way=Way.CROSS)
        assert machine_for(across, Saws()) is machine
        assert cautions_for(cut, Saws()) == cautions_for(across, Saws())
        assert BY_ANOTHER_WAY.isdisjoint(cautions_for(cut, Saws(guide_length=0)))


def test_what_hangs_over_beside_the_blade_wants_support() -> None:
    """A piece wider than long is pushed by its short side. Over 36 in: common practice, no source."""

    def found(figure: float, reach: float) -> tuple[Caution, ...]:
        rip = Pass(way=Way.RIP, run=inch(20), reach=inch(reach), figure=inch(figure), least=inch(figure))
        assert machine_for(rip, Saws()) is Machine.FENCE
        return cautions_for(rip, Saws())

    assert Caution.OVERHANG in found(12, 48.5)
    assert Caution.OVERHANG not in found(12, 48)
    assert Caution.OVERHANG not in found(12, 30)


def test_an_end_no_saw_reaches_is_trimmed_by_hand() -> None:
    """It is not broken down for that."""
    card = with_cautions(board_of_legs(), Caution.OUT_OF_REACH)
    step = card.steps[0]
    assert "break the piece down" in grave_words(step, card)[0]
    (words,) = grave_words(replace(step, trim=inch(0.25)), card)
    assert "trim it by hand" in words and "break" not in words


def test_a_piece_too_heavy_for_two_says_so_before_all_else() -> None:
    card = replace(board_of_legs(), heavy="88 lb: over the guide")
    assert light_cautions(card)[0] == "the whole piece is 88 lb: over the guide"
    assert light_cautions(card)[1:] == light_cautions(board_of_legs())


SLED = Saws(stop_length=inch(48), stop_reach=inch(24), guide_length=0)


@pytest.mark.parametrize(
    ("run", "reach", "figure", "machine"),
    [
        (5, 47.75, 4, Machine.STOP),  # a short strip is no piece for the fence
        (9.75, 47.75, 4, Machine.STOP),
        (10, 47.75, 4, Machine.FENCE),
        (22, 31.375, 30.25, Machine.STOP),  # wider than it is long: it would turn at the fence
        (25, 31.375, 30.25, Machine.FENCE),  # beyond the sled nothing else is there
        (96, 48, 30.25, Machine.FENCE),
    ],
)
def test_a_strip_is_held_across_the_sled_where_the_fence_is_too_short_for_it(
    run: float, reach: float, figure: float, machine: Machine
) -> None:
    """No rip under 10 in long: makers' manuals, named in `stockyard.saws`. The grain does not change that."""
    cut = Pass(Way.RIP, inch(run), inch(reach), inch(figure), inch(figure))
    assert machine_for(cut, SLED) is machine
    assert (Caution.SHORT_RIP in cautions_for(cut, SLED)) is False


def test_no_stop_is_needed_for_an_end_that_is_only_trimmed() -> None:
    """The end of an 8 ft board is squared on the sled, longer than any stop (common practice, no source)."""
    trims = Pass(Way.CROSS, inch(5.5), inch(96), inch(95.5), inch(95.5), trims=True)
    assert machine_for(trims, SLED) is Machine.STOP
    assert machine_for(replace(trims, trims=False), SLED) is None
    assert machine_for(replace(trims, run=inch(30)), SLED) is None


def test_the_setting_says_that_both_sides_of_a_piece_make_it_one_for_two() -> None:
    saws = Saws(one_person=inch(36))
    assert is_heavy(inch(96), inch(48), saws)
    assert not is_heavy(inch(96), inch(24), saws)
    assert "both sides" in EFFECTS["one_person"]
