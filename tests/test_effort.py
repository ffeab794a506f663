"""What hands and saw cost where nothing is said is what a shop's own seconds say."""

from __future__ import annotations

from fractions import Fraction

from stockyard.effort import Effort, effort_of
from stockyard.measure import TICKS_PER_MM
from stockyard.settings import Settings


def test_what_nothing_is_said_of_costs_as_much_as_in_a_shop_that_starts() -> None:
    """40 an hour, and material at which a second buys 500 mm²: 22.22 a square metre."""
    seconds = Settings().seconds
    price = Fraction(40, 3600) / (500 * TICKS_PER_MM**2)
    assert effort_of(seconds, hour=40, price=price) == Effort()
    assert Effort().heavy == 2 * Effort().cut, "a helper is fetched for as long as two cuts take"
