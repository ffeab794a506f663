"""What is known about how many pieces of each stock row a plan must use, and the least they can cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import gcd, inf

from stockyard.planning.model import Model
from stockyard.planning.solvers import constraint_solver

# Deterministic seconds of one small programme over piece counts.
WORK = 1.0
# With more stock rows than this each cut is asked alone: the programme would not get far in its time.
MANY_ROWS = 300
# Coefficients are rounded outward, so that a cut stays true, until they are no larger than this.
TOP = 1 << 36


@dataclass(frozen=True, slots=True)
class PieceCut:
    """sum of holds[j] x (pieces of stock row j) >= need, true of every plan that places all parts."""

    need: int
    holds: tuple[int, ...]

    def rounded(self) -> PieceCut:
        """Return a slightly weaker cut with small coefficients."""
        step = -(-max(1, *self.holds) // TOP)
        return PieceCut(-(-self.need // step), tuple(-(-h // step) for h in self.holds))


def least(
    model: Model,
    cuts: Sequence[PieceCut],
    costs: Sequence[int],
    money_at_most: int | None = None,
    *,
    seconds: float = inf,
) -> float:
    """Return a proved lower bound of sum costs[j] n_j over whole piece counts n that obey all cuts.

    It is a whole number, or infinity when no counts obey them: then no plan places all parts for
    that money.
    """
    if len(model.stock) > MANY_ROWS:
        one = max((least_alone(model, c, costs, money_at_most) for c in cuts), default=0.0)
        step = gcd(*costs) or 1
        return one if one == inf else float(-(-int(one) // step) * step)
    from ortools.sat.python import cp_model

    cp = cp_model.CpModel()
    n = [cp.new_int_var(0, cap, "") for cap in _caps(model, cuts)]
    for cut in {c.rounded() for c in cuts}:
        cp.add(sum(h * v for h, v in zip(cut.holds, n, strict=True)) >= cut.need)
    if money_at_most is not None:
        money = [s.money for s in model.stock]
        unit = gcd(*money) or 1
        cp.add(sum(m // unit * v for m, v in zip(money, n, strict=True)) <= money_at_most // unit)
    step = max(gcd(*costs), 1)
    step *= -(-max(max(costs) // step, 1) // TOP)
    cp.minimize(sum(c // step * v for c, v in zip(costs, n, strict=True)))
    solver = constraint_solver()
    solver.parameters.max_deterministic_time = WORK
    solver.parameters.max_time_in_seconds = max(0.05, seconds)
    if solver.solve(cp) == cp_model.INFEASIBLE:
        return inf
    return float(max(0, round(solver.best_objective_bound)) * step)


def least_alone(model: Model, cut: PieceCut, costs: Sequence[int], money_at_most: int | None = None) -> float:
    """Return the least cost, a whole number, of piece counts that obey one cut, parts of pieces allowed.

    Infinity when no counts obey it. Dearer pieces than `money_at_most` are not had; what others cost together
    is not looked at.
    """
    need, cost = cut.need, 0
    rows = [
        (c, h, s.count)
        for c, h, s in zip(costs, cut.holds, model.stock, strict=True)
        if h > 0 and (money_at_most is None or s.money <= money_at_most)
    ]
    rows.sort(key=lambda row: row[0] / row[1])
    for c, h, count in rows:
        if need <= 0:
            break
        if count < 0 or h * count >= need:  # the last of it need not be whole
            return float(cost - (-need * c) // h)
        need -= h * count
        cost += c * count
    return float(cost) if need <= 0 else inf


def _caps(model: Model, cuts: Sequence[PieceCut]) -> list[int]:
    """Return a count of each row beyond which more of it can not help any cut."""
    caps = []
    for j, s in enumerate(model.stock):
        enough = max((-(-c.need // c.holds[j]) for c in cuts if c.holds[j] > 0), default=0)
        caps.append(enough if s.count < 0 else min(s.count, enough))
    return caps
