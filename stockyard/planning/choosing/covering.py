"""The least cost at which layouts of a pool cover all parts: a set covering programme, solved whole.

Branch and bound on its linear relaxation (HiGHS), which is what closes the last sheet: the relaxation
is within a fraction of a piece of the best whole choice (Monaci and Toth 2006).
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from stockyard.planning.model import Candidate, Model
from stockyard.planning.solvers import covering_solver

# Shares of a piece below this are rounding.
NOTHING = 1e-6


def cover(
    model: Model,
    layouts: Sequence[Candidate],
    costs: Sequence[float],
    *,
    money_at_most: int | None = None,
    seconds: float,
    nodes: int | None = None,
    seed: int = 0,
) -> tuple[tuple[Candidate, ...] | None, bool]:
    """Return layouts that place all parts for the least sum of `costs`, None when none were found.

    Also whether the search came to its end, so that no choice of these layouts is better. A part may
    be covered more often than wanted. `nodes` limits the work so that the answer does not depend on
    the clock. Another `seed` searches in another order, which may end much sooner or later.
    """
    from ortools.math_opt.python import mathopt

    programme = mathopt.Model()
    xs = [programme.add_integer_variable(lb=0.0, ub=float(model.most_times(c))) for c in layouts]
    parts: list[list[object]] = [[] for _ in model.parts]
    stock: list[list[object]] = [[] for _ in model.stock]
    for c, x in zip(layouts, xs, strict=True):
        stock[c.stock].append(x)
        for k, n in c.gives:
            parts[k].append(n * x)
    for p, terms in zip(model.parts, parts, strict=True):
        if not terms:
            return None, True
        programme.add_linear_constraint(mathopt.fast_sum(terms) >= p.demand)
    for s, used in zip(model.stock, stock, strict=True):
        if used and s.count >= 0:
            programme.add_linear_constraint(mathopt.fast_sum(used) <= s.count)
    if money_at_most is not None:
        unit = float(max(s.money for s in model.stock) or 1)
        money = [c.money / unit * x for c, x in zip(layouts, xs, strict=True) if c.money]
        programme.add_linear_constraint(mathopt.fast_sum(money) <= money_at_most / unit + NOTHING)
    programme.minimize(mathopt.fast_sum(cost * x for cost, x in zip(costs, xs, strict=True)))
    limits = {"node_limit": nodes} if nodes else {"time_limit": timedelta(seconds=seconds)}
    answer = covering_solver()(programme, random_seed=seed, **limits)
    reason = answer.termination.reason
    ended = reason in (mathopt.TerminationReason.OPTIMAL, mathopt.TerminationReason.INFEASIBLE)
    if not answer.has_primal_feasible_solution():
        return None, ended
    times = answer.variable_values(xs)
    return tuple(c for c, n in zip(layouts, times, strict=True) for _ in range(round(n))), ended
