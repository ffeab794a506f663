"""At the saw: parts named as on the card, one spoiled, cancelled after pulling, all put away at once."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from stockyard.desk.parts_named import Wanted, parts_given
from stockyard.errors import BadInput
from stockyard.measure import Length
from stockyard.yard.jobs import job, still_to_cut
from stockyard.yard.model import State
from stockyard.yard.opening import open_yard
from stockyard.yard.pieces import at_place, by_tag, on_hand
from tests.cli.hall_shop import hall_shop, layouts, run
from tests.quick_plans import plan_here


@pytest.fixture(scope="module")
def pulled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """The yard with its job planned and pulled: once for all tests, which plan in a round or two."""
    path = tmp_path_factory.mktemp("pulled") / "yard.db"
    with pytest.MonkeyPatch.context() as patch:
        plan_here(patch)
        hall_shop(path)
        assert run(path, "plan", "hall")[0] == 0 and run(path, "pull", "--job", "hall")[0] == 0
        yield path


@pytest.fixture
def yard(pulled: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(pulled, tmp_path / "yard.db"))


def first(yard: Path) -> str:
    """The sheet that gives most of the sides."""
    return max(layouts(yard), key=lambda x: sum(p.name == "side" for p in x.placed)).tag or ""


def sides(yard: Path) -> int:
    """How many sides the plan gives."""
    return sum(p.name == "side" for x in layouts(yard) for p in x.placed)


def still(yard: Path) -> dict[str, int]:
    with open_yard(yard) as y:
        return dict(still_to_cut(y, job(y, "hall")))


def test_what_is_still_to_be_cut_is_said_after_each_piece(yard: Path) -> None:
    code, out, _ = run(yard, "cut", first(yard))
    told = ", ".join(f"{n} × {name}" for name, n in still(yard).items())
    assert code == 0 and (f"Still to be cut for hall: {told}." in out or "All of hall is cut." in out)


@pytest.mark.parametrize(
    ("part", "says"),
    [
        ("sied 1", "no part is called 'sied 1'"),
        ("2:sied:1200 x 590", "no part is called 'sied'"),
        ("2:side:1180 x 590", "side is 1200 x 590, not 1180 x 590"),
        ("side 9", "side 9 is not on the card"),
        ("9:side:", "cannot give that much"),
    ],
)
def test_a_wrong_name_number_or_size_is_an_error_and_counts_nothing(yard: Path, part: str, says: str) -> None:
    before = still(yard)
    code, _, err = run(yard, "cut", first(yard), "--part", part)
    assert code in (1, 2) and says in err and still(yard) == before


def test_parts_are_named_by_the_numbers_on_the_card_and_the_rest_is_planned_again(yard: Path) -> None:
    code, out, _ = run(yard, "cut", first(yard), "--part", "side 1", "--offcut", "1200 x 590")
    assert code == 0 and "Still to be cut for hall:" in out and "Promised." in out
    assert still(yard)["side"] == 3
    assert sides(yard) == 3


def test_a_part_cut_wrong_is_one_command_and_its_plan(yard: Path) -> None:
    """What it leaves is measured; the replacement comes from what is in hand: no new sheet is fetched."""
    code, out, _ = run(yard, "spoiled", first(yard), "side 1", "--left", "1200 x 300", "--later")
    assert code == 0 and "1200 mm × 300 mm" in out and "Its plan does not give 1 × side" in out
    assert run(yard, "plan", "hall")[0] == 0
    with open_yard(yard) as y:
        (left,) = (p for p in on_hand(y) if (p.length, p.width) == (1200 * 3200, 300 * 3200))
        assert left.parent == first_cut(yard)
    assert sides(yard) == still(yard)["side"] == 1


def test_a_replacement_comes_from_what_is_in_hand_before_another_sheet_is_fetched(yard: Path) -> None:
    """What is left of a side that went wrong holds another one: no sheet comes off the rack for it."""
    pieces = {p.name: x.tag or "" for x in layouts(yard) for p in x.placed}
    assert run(yard, "cut", "--job", "hall")[0] == 0
    assert run(yard, "spoiled", pieces["side"], "side 1", "--left", "1200 x 590", "--later")[0] == 0
    with open_yard(yard) as y:
        bench = on_hand(y, states=(State.BENCH,))
        (left,) = (p.tag for p in bench if (p.length, p.width) == (1200 * 3200, 590 * 3200))
    assert run(yard, "plan", "hall")[0] == 0
    assert [(x.tag, [p.name for p in x.placed]) for x in layouts(yard)] == [(left, ["side"])]


def first_cut(yard: Path) -> str:
    with open_yard(yard) as y:
        return str(y.one("SELECT tag FROM cutting"))


def test_a_part_spoiled_after_the_cut_opens_the_job_again(yard: Path) -> None:
    tag = first(yard)
    assert run(yard, "cut", "--job", "hall")[0] == 0 and still(yard) == {}
    code, out, _ = run(yard, "spoiled", tag, "side 1")
    assert code == 0 and "Still to be cut for hall: 1 × side." in out and "Promised." in out
    assert still(yard) == {"side": 1}


def test_cancelled_after_pulling_everything_goes_back_with_one_command(yard: Path) -> None:
    tags = [x.tag or "" for x in layouts(yard)]
    code, out, _ = run(yard, "release", "hall", "--back")
    assert code == 0 and all(f"Put {tag} back: it is at RACK." in out for tag in tags)
    with open_yard(yard) as y:
        assert len(at_place(y, "RACK")) == 4


def test_all_leftovers_are_put_away_at_once_where_their_cards_say(yard: Path) -> None:
    assert run(yard, "cut", "--job", "hall")[0] == 0
    with open_yard(yard) as y:
        bench = [p.tag for p in on_hand(y, states=(State.BENCH,))]
    code, out, _ = run(yard, "return", "--all")
    assert bench and code == 0
    with open_yard(yard) as y:
        for tag in bench:
            assert (by_tag(y, tag).state is State.RACKED) or f"No place suits {tag}" in out
    assert run(yard, "return", "--all")[0] == 2


def test_several_pieces_return_at_once_and_a_whole_place_moves_in_its_order(yard: Path) -> None:
    tags = [x.tag or "" for x in layouts(yard)]
    assert run(yard, "return", *tags, "--at", "SHORT")[0] == 0
    with open_yard(yard) as y:
        lay = [p.tag for p in at_place(y, "RACK")]
    assert run(yard, "move", "--all-at", "RACK", "--to", "SHORT")[0] == 0
    with open_yard(yard) as y:
        assert [p.tag for p in at_place(y, "SHORT")][: len(lay)] == lay and not at_place(y, "RACK")
    assert run(yard, "move", "--all-at", "RACK", "--to", "SHORT")[0] == 2


def test_a_promised_piece_measured_smaller_is_planned_again_at_once(yard: Path) -> None:
    """A torn edge comes off: what is good of the sheet at the saw is used, and no other is fetched."""
    tag = first(yard)
    code, out, _ = run(yard, "measure", tag, "2440 x 1210")
    assert code == 0 and "Promised." in out
    wanted = {p.name for x in layouts(yard) for p in x.placed}
    assert wanted == {"side", "shelf"} and tag in [x.tag for x in layouts(yard)]


def test_another_sheet_of_the_stack_is_swapped_in_and_it_is_said(yard: Path) -> None:
    assert run(yard, "release", "hall", "--back")[0] == 0
    assert run(yard, "plan", "hall")[0] == 0
    named = layouts(yard)[0].tag
    with open_yard(yard) as y:
        other = next(p.tag for p in at_place(y, "RACK") if p.state is State.RACKED)
    code, out, _ = run(yard, "pull", other)
    assert code == 0 and f"{other} takes the place of {named}, which is like it." in out
    assert "1 at the saw." in out and run(yard, "yard", "check")[0] == 0


def test_what_is_on_a_card_is_told_in_rising_runs() -> None:
    on_card = Wanted("K7Q3", {"letters": (1, 2, 3, 5), "disc": (1,)}, {})
    with pytest.raises(BadInput, match=r"letters 4 is not on the card of K7Q3: .* letters 1–3, 5; disc 1$"):
        parts_given(replace(on_card, sizes={"letters": (Length(1), Length(1))}), ["letters 4"], None)  # type: ignore[arg-type]
