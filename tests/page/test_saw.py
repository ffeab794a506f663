"""Saw: cuts are counted, and the drawing shows the names that the words use."""

from __future__ import annotations

import html
import re

import pytest

from stockyard.desk import cutting, pulling, shop
from stockyard.desk.at_the_saw import saw_steps
from stockyard.desk.door import Yardkeeper
from stockyard.desk.planning import Improvement
from stockyard.page.drawn import cut_drawing
from stockyard.page.house import House
from stockyard.page.runs import Run
from stockyard.printing.papers import CutStep
from tests.page.conftest import Browser


def drawn_names(page: str) -> list[str]:
    """Return what is written on the drawing."""
    figure = page[page.index('<div class="cut">') : page.index("</figure>")]
    found = re.findall(r"<text[^>]*>(.*?)</text>", figure)
    return [html.unescape(re.sub(r"<[^>]*>", "", n)) for n in found]


def test_every_cut_is_counted_and_its_pieces_are_named_on_the_drawing(
    bench: Browser, keeper: Yardkeeper, job: int
) -> None:
    with keeper.open() as y:
        pulling.pull(y, (), str(job))
        steps = saw_steps(y, str(job))
    cuts = [s for s in steps if s.row]
    for number, step in enumerate(cuts, 1):
        page = bench.get(f"/jobs/{job}/saw?at={step.key}")
        assert f"cut {number} of {len(cuts)}<" in page
        assert step.row is not None
        names = drawn_names(page)
        assert step.row.keeps in names and f"In hand: <strong>{step.row.takes}" in page
        assert step.row.times > 1 or step.row.rest in names
    assert any(names_cut_again(s.row.rest if s.row else "") for s in cuts), "one that is cut again is named"


def names_cut_again(name: str) -> bool:
    return re.fullmatch(r"\d+[a-z]", name) is not None


@pytest.mark.parametrize(
    "names", [("side, 1 of 2", "waste"), ("2a", "2b"), ("a very long name of a part", "1b")]
)
def test_names_stand_in_their_piece_or_beside_it_and_never_out_of_sight(
    keeper: Yardkeeper, job: int, names: tuple[str, str]
) -> None:
    with keeper.open() as y:
        steps: list[CutStep] = [s.step for s in saw_steps(y, str(job)) if s.step]
    for step in steps:
        drawing = cut_drawing(step, names=names)
        x, y_, wide, high = drawing.around
        assert [" ".join(w.lines) for w in drawing.words] == list(names)
        for word, box in zip(drawing.words, (drawing.keep, None), strict=True):
            long, over = word.high * 0.6 * max(map(len, word.lines)), word.high * len(word.lines)
            dx, dy = (over, long) if word.upward else (long, over)
            assert x <= word.x - dx / 2 and word.x + dx / 2 <= x + wide
            assert y_ <= word.y - dy / 2 and word.y + dy / 2 <= y_ + high
            assert word.high >= 17, "it can be read"
            if box and min(box[2:]) > 100 and len(names[0]) < 13:
                assert box[0] < word.x < box[0] + box[2] and box[1] < word.y < box[1] + box[3]
        a, b = drawing.words
        bar = drawing.fence
        at = (bar[0] + bar[2] / 2, bar[1] + bar[3] / 2)
        near, far = ((w.x - at[0]) ** 2 + (w.y - at[1]) ** 2 for w in (a, b))
        assert near < far, "what comes out at the fence is named nearer to it"
        assert abs(a.x - b.x) > 10 or abs(a.y - b.y) > 10, "two names are not written over each other"


def test_nothing_left_to_saw_is_not_called_going_on(bench: Browser, keeper: Yardkeeper, job: int) -> None:
    with keeper.open() as y:
        pulling.pull(y, (), str(job))
        tags = pulling.uncut(y, str(job))
        left = [cutting.cut(y, tag, offcuts=["250 x 250"]).offcuts[0].tag for tag in tags[:1]]
    more = len(tags) > 1
    page = bench.get(f"/jobs/{job}/saw/left?t={left[0]}")
    assert ("Go on sawing" in page) is more
    with keeper.open() as y:
        for tag in tags[1:]:
            cutting.cut(y, tag)
        assert not shop.check(y)[0].differences
    page = bench.get(f"/jobs/{job}/saw/left?t={left[0]}")
    assert "Go on sawing" not in page and "How the job stands" in page
    page = bench.get(f"/jobs/{job}/saw")
    assert 'href="/#bench">What else lies off the racks' in page


def test_good_enough_is_offered_once_there_is_a_plan(bench: Browser, house: House, job: int) -> None:
    house.runs.kept[job] = Run(job=job, side_by_side=False, seconds=5, state="making")
    page = bench.get(f"/jobs/{job}/plan")
    assert "The first plan is being made" in page and "This is good enough" not in page


@pytest.mark.parametrize(
    ("least", "says"),
    [
        (90_0000, "At most 10.0 % of what its full pieces cost could still be saved"),
        (100_0000, "No plan costs less in full pieces"),
        (0, "1 plan so far"),
    ],
)
def test_bound_and_gap_are_said_while_a_plan_is_made(
    bench: Browser, house: House, job: int, least: int, says: str
) -> None:
    better = Improvement(seconds=1, missing=0, money=100_0000, net=10**12, pieces=2, least=least)
    house.runs.kept[job] = Run(job=job, side_by_side=False, seconds=5, state="making", better=[better])
    page = bench.get(f"/jobs/{job}/plan")
    assert says in page and ("still be saved" in page) is (least == 90_0000)


def test_a_slot_has_no_top(bench: Browser) -> None:
    assert "From the top down" in bench.get("/racks/place?code=R1")
    page = bench.get("/racks/place?code=SLOTS")
    assert "From the top down" not in page and "The last put there first" in page
