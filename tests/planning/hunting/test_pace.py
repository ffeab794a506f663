"""What finds nothing for a while is tried less often, until it finds something again."""

from __future__ import annotations

from stockyard.planning.hunting.pace import Pace, Seldom


def due(pace: Pace) -> list[int]:
    return [beat for beat in range(1, 17) if pace.due(beat)]


def test_every_other_round_until_it_runs_dry() -> None:
    pace = Pace(phase=1)
    for _ in range(Seldom().after):
        assert due(pace) == [1, 3, 5, 7, 9, 11, 13, 15]
        pace.learn(found=False)
    assert due(pace) == [1, 9]
    pace.learn(found=True)
    assert due(pace) == [1, 3, 5, 7, 9, 11, 13, 15]
