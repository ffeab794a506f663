"""A stored job changed with one command, and its plan mended by least change."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stockyard.cli import paste as paste_module
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.yard.jobs import job
from stockyard.yard.opening import open_yard
from tests.cli.hall_shop import LIST, hall_shop, layouts, run
from tests.quick_plans import plan_here


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    plan_here(monkeypatch)
    hall_shop(tmp_path / "yard.db")
    yield tmp_path / "yard.db"


def counts(yard: Path) -> dict[str, int]:
    with open_yard(yard) as y:
        return {p.name: p.count for p in job(y, "hall").parts}


def test_quantities_are_changed_with_one_command_and_cards_that_hold_stay(yard: Path, tmp_path: Path) -> None:
    assert run(yard, "plan", "hall")[0] == 0
    (before,) = (x for x in layouts(yard) if sum(p.name == "side" for p in x.placed) == 4)
    code, out, _ = run(yard, "change", "hall", "--count", "side=9", "--count", "shelf=3")
    assert code == 0 and counts(yard) == {"side": 9, "shelf": 3}
    assert "Changed: side: count 4 -> 9" in out and f"card {before.number} stands" in out
    assert "Next: stockyard papers 'hall' --changed" in out
    after = layouts(yard)[before.number - 1]
    assert (after.placed, after.leftovers) == (before.placed, before.leftovers)
    assert run(yard, "papers", "hall", "--only", "cards", "--changed", "--out", str(tmp_path / "p"))[0] == 0


def test_parts_are_added_taken_out_renamed_and_noted(yard: Path) -> None:
    added = run(yard, "change", "hall", "--add", "2 rail 800 x 80 birch ply 18", "--remove", "shelf")
    assert added[0] == 0, added
    assert run(yard, "change", "hall", "--rename", "side=end", "--note", "side=best face out")[0] == 0
    assert run(yard, "change", "hall", "--size", "end=1190 x 580", "--name", "porch")[0] == 0
    with open_yard(yard) as y:
        end, rail = job(y, "porch").parts
    assert (end.name, end.note, end.length, end.width) == ("end", "best face out", 1190 * MM, 580 * MM)
    assert (rail.name, rail.count, rail.length) == ("rail", 2, 800 * MM)


def test_what_is_said_of_a_part_may_have_signs_like_the_one_after_its_name(yard: Path) -> None:
    assert run(yard, "change", "hall", "--note", "side=grain = up")[0] == 0
    assert run(yard, "change", "hall", "--rename", "side=left=right")[0] == 0
    assert run(yard, "change", "hall", "--count", "left=right=5", "--note", "she=a=b")[0] == 0
    with open_yard(yard) as y:
        assert [(p.name, p.count, p.note) for p in job(y, "hall").parts] == [
            ("left=right", 5, "grain = up"), ("shelf", 2, "a=b"),
        ]  # fmt: skip
    assert "no part 'x=y'" in run(yard, "change", "hall", "--note", "x=y=z")[2]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--count", "sied=3"), "has no part 'sied'"),
        (("--count", "side=none"), "'none' is no count"),
        (("--size", "side=large"), "large"),
        (("--add", "2 rail 800"), "2 rail 800"),
        (("--count", "side"), "does not say which part"),
        ((), "nothing about job hall would change"),
    ],
)
def test_what_is_not_understood_changes_nothing(yard: Path, words: tuple[str, ...], says: str) -> None:
    code, _, err = run(yard, "change", "hall", *words)
    assert code in (1, 2) and says in err and err.count("\n") == 1
    assert counts(yard) == {"side": 4, "shelf": 2}


def test_a_renamed_part_keeps_its_layouts_and_tags(yard: Path) -> None:
    assert run(yard, "plan", "hall")[0] == 0
    before = layouts(yard)
    code, out, _ = run(yard, "change", "hall", "--rename", "side=end")
    assert code == 0 and "stand" in out
    after = layouts(yard)
    assert [x.leftovers for x in after] == [x.leftovers for x in before]
    assert {p.name for x in after for p in x.placed} == {"end", "shelf"}


def test_a_list_pasted_again_changes_the_job_after_yes(yard: Path) -> None:
    more = LIST.replace("side,4", "side,6")
    code, out, err = run(yard, "paste", "--job", "hall", text=more)
    assert code == 1 and "side: count 4 -> 6" in out and "say --yes" in err
    assert counts(yard)["side"] == 4
    code, out, _ = run(yard, "paste", "--job", "hall", "--yes", text=more)
    assert code == 0 and "Changed job 1 'hall'" in out and counts(yard)["side"] == 6
    with open_yard(yard) as y:
        assert job(y, "hall").text == more


def test_whoever_says_no_to_the_difference_changes_nothing(
    yard: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = tmp_path / "says no"
    said.write_text("n\n")
    monkeypatch.setattr(paste_module, "_person", lambda stack: stack.enter_context(said.open()))
    code, _, err = run(yard, "paste", "--job", "hall", text=LIST.replace("side,4", "side,6"))
    assert code == 0 and "Change the job 'hall' so?" in err and "Nothing was changed" in err
    assert counts(yard)["side"] == 4
