"""Parts below the published limits come off a longer strip while it is still long, and the card says so."""

from __future__ import annotations

import json

from stockyard.measure import TICKS_PER_INCH as INCH
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.files import read_problem
from stockyard.planning.plan import Bound, Status
from stockyard.planning.polish.polish import Time, polish
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.finish import finish, plan_operations
from stockyard.planning.sawing.tidy import split
from stockyard.planning.tree import Axis, Node, Pattern
from stockyard.planning.verify import faults
from stockyard.printing.saw_safety import grave_words
from stockyard.saws import BY_ANOTHER_WAY, Caution
from tests.printing.samples import board_of_legs, cards_of
from tests.printing.with_steps import with_cautions

ON_MACHINE = 12 * INCH
"""Nothing 12 in or shorter on a machine: a magazine's rule, common practice, no source."""
CROSSCUT = 6 * INCH
"""No crosscut under 6 in without a holding device: makers' manuals, named in `stockyard.saws`."""

JOB = {
    "kerf": 3,
    "stock": [{"id": "b", "kind": "full", "material": "m", "length": 1200, "width": 300, "grain": True}],
    "parts": [
        {"id": "block", "length": 80, "width": 60, "count": 6},
        {"id": "rail", "length": 500, "width": 60, "count": 2},
    ],
}


def short_strip() -> tuple[Problem, list[Pattern]]:
    """Return the job cut as nobody should: the blocks off a strip of 500 mm, down to the last."""
    problem, _ = read_problem(json.dumps(JOB))
    length, width = 500 * MM, problem.stock[0].width
    block, rail = Node(80 * MM, 60 * MM, part=0), Node(500 * MM, 60 * MM, part=1)
    short = split(Axis.CROSSCUT, length, 60 * MM, [block] * 6, problem.kerf)
    end = split(Axis.RIP, length, width, [rail, rail, short], problem.kerf)
    return problem, [Pattern(0, split(Axis.CROSSCUT, problem.stock[0].length, width, [end], problem.kerf))]


def test_blocks_come_off_a_strip_that_is_long_enough_to_hold() -> None:
    problem, begun = short_strip()
    before = finish(problem, begun, bound=Bound(0, 0, ""), status=Status.FEASIBLE, tidied=False)
    assert any(Caution.SMALL in o.cautions for o in plan_operations(problem, before)[0])

    found = polish(problem, begun, time=Time(0.0, repeatable=True), seed=0)
    plan = finish(problem, found, bound=Bound(0, 0, ""), status=Status.FEASIBLE, tidied=False)
    assert faults(problem, plan) == ()
    (card,) = cards_of(problem, plan, problem.unit)
    off = [step for step in card.steps if any(str(name).startswith("block") for name in step.gives)]
    assert len(off) == 6
    for step in off:
        assert step.length > ON_MACHINE
        assert step.fence < CROSSCUT
        (words,) = grave_words(step, card)
        assert "cut it off a longer strip, last" in words


def test_what_cannot_be_held_has_another_way_on_the_card() -> None:
    for caution in BY_ANOTHER_WAY:
        card = with_cautions(board_of_legs(), caution)
        (words,) = grave_words(card.steps[0], card)
        assert "last" in words or "by hand" in words


def test_small_parts_come_off_while_something_wide_is_still_behind_them() -> None:
    """Widest first, but the last wide one stays behind the small ones, with less than 12 in beyond it."""
    block, rail = Node(80 * MM, 60 * MM, part=0), Node(500 * MM, 60 * MM, part=1)
    strip = split(Axis.CROSSCUT, 1200 * MM, 60 * MM, [block, rail, block, block], 3 * MM)
    assert [node.part for node in strip.children] == [1, 0, 0, 0, None]
    tight = split(Axis.CROSSCUT, 1000 * MM, 60 * MM, [block, rail, block, block], 3 * MM)
    assert [node.part for node in tight.children] == [0, 0, 0, 1, None]
