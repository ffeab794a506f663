"""When a search is over: criteria compose, and a second must promise more than it costs."""

from __future__ import annotations

from stockyard.planning.hunting.stopping import WINDOW, Gains, any_of, not_worth_it


class Clock:
    now = 0.0

    def __call__(self) -> float:
        return self.now


def at(clock: Clock, seconds: float) -> None:
    clock.now = seconds


def test_criteria_compose() -> None:
    said = {"told": False}
    stop = any_of(None, lambda: False, lambda: said["told"])
    assert not stop()
    said["told"] = True
    assert stop()


def test_before_the_first_window_is_over_it_goes_on() -> None:
    clock = Clock()
    gains = Gains(1000, clock)
    gains.note(1, 500)
    at(clock, WINDOW.most - 0.01)
    assert gains.per_second() == float("inf")
    at(clock, WINDOW.most + 0.01)
    assert gains.per_second() == 0


def test_a_small_job_is_given_less_time_than_a_large_one() -> None:
    clock = Clock()
    few, many = Gains(1, clock), Gains(1000, clock)
    for gains in (few, many):
        gains.note(1, 500)
    at(clock, 0.6)
    assert (few.per_second(), many.per_second()) == (0, float("inf"))


def test_a_second_must_promise_more_than_it_costs() -> None:
    """600 saved in the last of 4 seconds, half of which are looked at: 300 a second."""
    clock = Clock()
    gains = Gains(1000, clock)
    gains.note(1, 1000)
    at(clock, 3.5)
    gains.note(1, 400)
    at(clock, 4.0)
    assert gains.per_second() == 300
    assert not_worth_it(gains, 301, lambda: True)()
    assert not not_worth_it(gains, 300, lambda: True)()
    assert not not_worth_it(gains, 301, lambda: False)(), "money may still be saved"


def test_while_money_falls_a_second_is_always_worth_it() -> None:
    clock = Clock()
    gains = Gains(1000, clock)
    gains.note(2, 400)
    at(clock, 3.5)
    gains.note(1, 500)
    at(clock, 4.0)
    assert gains.per_second() == float("inf")
