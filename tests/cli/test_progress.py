"""What is told while a plan is made: one line at a terminal, nothing elsewhere."""

from __future__ import annotations

import gc
import io
from dataclasses import replace

import pytest

from stockyard.cli.progress import Progress, in_words, keeping_all
from stockyard.measure import MONEY, TICKS_PER_MM, Unit
from stockyard.planning.limits import Improvement

M2 = (1000 * TICKS_PER_MM) ** 2
GOOD = Improvement(
    seconds=2.0, missing=0, money=200 * MONEY, net=3 * M2, pieces=4, least=190 * MONEY,
    materials=("birch ply 18", "oak 27"), left=8.0,
)  # fmt: skip


class Screen(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_the_line_tells_time_left_gap_and_materials() -> None:
    assert in_words(GOOD, 1.0, Unit.MM, money=True) == (
        "3 s, 7 s left: 4 pieces for 200.00, 3.00 m²; at most 5.0 % to save; birch ply 18, oak 27"
    )


@pytest.mark.parametrize(
    ("missing", "least", "words"), [(2, 0, "all but 2 parts"), (0, 200 * MONEY, "none costs less")]
)
def test_what_is_missing_and_what_is_proved_are_said(missing: int, least: int, words: str) -> None:
    best = Improvement(
        seconds=1.0, missing=missing, money=200 * MONEY, net=3 * M2, pieces=4, least=least
    )  # fmt: skip
    said = in_words(best, 0.0, Unit.MM, money=False)
    assert words in said
    assert "200.00" not in said and "left" not in said and not said.endswith(";")


def test_what_may_be_saved_is_seen_on_a_narrow_terminal() -> None:
    large = replace(GOOD, seconds=55.0, left=99.0, pieces=1234, money=74_070 * MONEY, net=3600 * M2)
    assert "% to save" in in_words(large, 0.0, Unit.MM, money=True)[:79]


def test_at_a_terminal_one_line_is_written_again(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Screen()
    monkeypatch.setattr("sys.stderr", screen)
    monkeypatch.setenv("COLUMNS", "60")
    progress = Progress(Unit.MM)
    progress.show(GOOD)
    progress.show(GOOD)
    progress.end()
    lines = screen.getvalue().removesuffix("\n").split("\r")
    assert "\n" not in "".join(lines)
    assert [len(line) for line in lines] == [0, 59, 59]


def test_the_clock_in_the_line_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    screen, now = Screen(), [100.0]
    monkeypatch.setattr("sys.stderr", screen)
    monkeypatch.setattr("stockyard.cli.progress.monotonic", lambda: now[0])
    progress = Progress(Unit.MM)
    progress.tick()
    progress.show(GOOD)
    progress.tick()
    now[0] = 105.0
    progress.tick()
    told = screen.getvalue().split("\r")
    assert [line.split(":")[0] for line in told[1:]] == ["2 s, 8 s left", "7 s, 3 s left"]


def test_elsewhere_nothing_is_written(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = io.StringIO()
    monkeypatch.setattr("sys.stderr", screen)
    progress = Progress(Unit.MM)
    progress.show(GOOD)
    progress.tick()
    progress.end()
    assert screen.getvalue() == ""


def test_garbage_is_collected_again_after_a_plan() -> None:
    with pytest.raises(KeyboardInterrupt), keeping_all():
        assert not gc.isenabled()
        raise KeyboardInterrupt
    assert gc.isenabled()
