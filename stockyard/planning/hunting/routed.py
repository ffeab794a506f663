"""Free placement after the hunt on cut trees: from its plans and its pool, to less money and material."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from time import monotonic

from stockyard.planning.choosing.answer import judge
from stockyard.planning.choosing.pool import Pool
from stockyard.planning.hunting.aimed import Aimed
from stockyard.planning.hunting.decide import Chooser
from stockyard.planning.hunting.hunt import Hunt
from stockyard.planning.hunting.priced import Priced
from stockyard.planning.hunting.remake import Remake
from stockyard.planning.hunting.rounded import Rounded
from stockyard.planning.hunting.single import Single
from stockyard.planning.model import Candidate
from stockyard.planning.placing import kernel
from stockyard.planning.placing.placer import Placer
from stockyard.planning.placing.spots import counts_passes, routed

HANDS = 2
MANY = 1 << 60
# How a searcher goes about placing all parts for less money, in turn; and about less net material.
PLACING: tuple[dict[str, float], ...] = (
    {"removed": 4, "history": 300, "whole": 0.1, "corners": 0.0},
    {"removed": 3, "history": 1000, "whole": 0.3, "corners": 0.3},
    {"removed": 6, "history": 100, "whole": 0.05, "corners": 0.1, "blink": 0.01},
    {"removed": 4, "history": 300, "whole": 0.5, "order": kernel.LONG_FIRST},
)
SAVING: tuple[dict[str, float], ...] = (
    {"removed": 4, "history": 300, "whole": 0.15},
    {"removed": 6, "history": 100, "whole": 0.3, "blink": 0.01},
    {"removed": 3, "history": 1000, "whole": 0.1, "order": kernel.LONG_FIRST},
)


@dataclass(frozen=True, slots=True)
class RoutedRhythm:
    """How a search for a router divides its time."""

    round_work: int = 150_000
    """Steps of one round over all parts, so that a round takes 50 to 100 ms."""
    least_steps: int = 20
    """Steps of one round at least."""
    most_steps: int = 4000
    """Steps of one round at most."""
    choice_every: int = 24
    """A choice is begun after so many rounds without one."""
    choice_seconds: float = 3.0
    """The seconds it may take, beside the rounds of the other thread."""
    choice_share: float = 0.9
    """The same as a share of the time left, so that what it finds is not too late."""
    aimed_first: int = 12
    """So many rounds are over all parts for less money, while that may be had,"""
    aimed_every: int = 2
    """and of so many one after them."""
    priced_every: int = 3
    """Of so many rounds one lays pieces at the prices of the pool, where all parts are placed."""
    rounded_but: int = 8
    """With one kind of piece, while less money may be had, the linear optimum of the pool is rounded in the
    others but for one of so many."""
    filled: float = 0.6
    """Least filled share of the layouts that are pooled, more where a plan for less can not waste so much."""
    patience: int = 25
    """Rounds without a better answer after which a searcher begins anew."""
    spare: int = 6
    """Pieces under way at once beside those of the best plan."""
    taken_over: int = 20_000
    """Layouts of the hunt on cut trees that are taken over."""
    hunted: float = 0.4
    """Share of the time that the hunt on cut trees has beside, where there are several kinds of piece;"""
    hunted_alike: float = 0.2
    """with one kind, while more than one sheet may do, so that no plan costs more than one on cut trees."""
    whole_every: int = 11
    """Of so many rounds one is over all parts for less net material."""


class Routing:
    """The search on one model, round by round."""

    def __init__(self, hunt: Hunt, seed: int, *, repeatable: bool, tell: Callable[[], None]) -> None:
        """`hunt`: the search on cut trees that is gone on from; `repeatable`: do not go by the clock.

        `tell` is called at each better answer.
        """
        model = hunt.state.seen  # where flaws lie, it sees by itself
        self._hunt, self._taken, self._spent = hunt, 0, [0.0, 0.0]
        self.model, self.bound, self.repeatable, self.tell = model, hunt.bound, repeatable, tell
        self._manner = RoutedRhythm()
        self.pool = Pool(model)
        clean = [routed(model, c) for c in hunt.best.layouts]
        self.best = judge(model, [c for c in clean if c.gives])
        for c in self.best.layouts:
            self.pool.add(c)
        self._take_over()
        demand = sum(p.demand for p in model.parts)
        small = min(p.length * p.width for p in model.parts)
        most = max(s.length * s.width for s in model.stock) // small
        open_at_once = min(demand, len(self.best.layouts) + self._manner.spare)
        self.placers = [Placer(model, seed * HANDS + n, open_at_once, most) for n in range(HANDS)]
        self._aimed = Aimed(
            [Placer(model, seed * HANDS + n, open_at_once, most) for n in range(HANDS)], PLACING
        )
        self.chooser = Chooser(model, self.pool, seed, repeatable=repeatable)
        self._seed = seed
        self.steps = max(
            self._manner.least_steps,
            min(self._manner.most_steps, self._manner.round_work // (demand + len(model.stock))),
        )
        self._begun = [False] * HANDS
        self._idle = [0] * HANDS
        self._turns = self.rounds = 0
        self._single: Single | None = None
        self._remake = Remake(model, seed)
        self._priced = Priced(model, self.pool, seed, HANDS)
        self._rounded = Rounded(model, self.pool, seed)
        self._choice: Future[tuple[Candidate, ...] | None] | None = None
        self._chose = 0  # the round in which the last choice began

    @property
    def proven(self) -> bool:
        """Whether no plan places more or costs less."""
        return self.best.complete and self.best.figures.money <= self.bound.money

    @property
    def done(self) -> bool:
        """Whether nothing can be better at money and net material."""
        if not self.proven or self._net_is_fixed:
            return self.proven
        return not counts_passes(self.model.problem) and self.best.figures.net <= self.bound.net

    @property
    def _net_is_fixed(self) -> bool:
        """Whether money alone says how much material and path a plan takes."""
        first = self.model.stock[0]
        keeps = self.model.problem.worth.keeps(first.length, first.width)
        fixed = len(self.model.stock) == 1 and first.money > 0 and not keeps
        return fixed and not counts_passes(self.model.problem)

    def offer(self, layouts: Sequence[Candidate]) -> bool:
        """Take a plan as the best when it is."""
        for c in layouts:
            self.pool.add(c)
        answer = judge(self.model, layouts)
        if answer.figures >= self.best.figures:
            return False
        self.best = answer
        self._begun = [False] * HANDS
        self.tell()
        return True

    def turn(self, team: ThreadPoolExecutor, seconds: float) -> None:
        """Search for a round, choose among what has been met, or go on with cut trees."""
        self.rounds += 1
        begun, is_hunts = monotonic(), self._is_hunts
        if is_hunts:
            self._hunt_on(team, seconds)
        else:
            self._search(team, seconds)
        self._spent[is_hunts] += 1.0 if self.repeatable else monotonic() - begun

    @property
    def _is_hunts(self) -> bool:
        """Whether it is the turn of the hunt on cut trees, which alone may know a plan on so many offcuts."""
        alike = len(self.model.stock) == 1
        if self._hunt.done or (alike and (self.proven or self._is_one_or_two)):
            return False
        share = self._manner.hunted_alike if alike else self._manner.hunted
        return (1 - share) * self._spent[True] <= share * self._spent[False]

    def _hunt_on(self, team: ThreadPoolExecutor, seconds: float) -> None:
        self._hunt.turn(team, self._manner.hunted * seconds)
        if self._hunt.bound.money > self.bound.money:
            self.bound = self._hunt.bound
        self._take_over()
        self.offer([c for c in (routed(self.model, c) for c in self._hunt.best.layouts) if c.gives])

    def _take_over(self) -> None:
        """Take the layouts over that the hunt on cut trees has met since the last time."""
        met = self._hunt.state.pool.layouts
        for c in met[max(self._taken, len(met) - self._manner.taken_over) :]:
            fit = routed(self.model, c)
            if fit.gives:
                self.pool.add(fit)
        self._taken = len(met)

    def _search(self, team: ThreadPoolExecutor, seconds: float) -> None:
        if self._is_one_or_two:
            self._ask_for_one(team, seconds)
            if self.done or (self._single is not None and self._single.is_gapless):
                return
        self._choose(team, seconds)
        hands = HANDS if self._choice is None else HANDS - 1
        may_vary, cheaper = len(self.best.layouts) > 1 and self.best.complete, self._is_for_less_money
        whole = not may_vary or self.rounds % self._manner.whole_every == 0
        early = self.rounds <= self._manner.aimed_first
        may_aim = early or self.rounds % self._manner.aimed_every == 1 or (whole and self._net_is_fixed)
        if cheaper and may_aim:
            self._aim(team, hands)
        elif whole:
            self._save(team, hands)
        elif cheaper and len(self.model.stock) == 1 and self.rounds % self._manner.rounded_but:
            self._round_off(team, hands)
        elif self.rounds % self._manner.priced_every == 0:
            figures = self.best.figures
            self._priced.round(
                team, hands, figures.money if self._by_net else None, figures.money, figures.net
            )
        else:
            self._make_anew(team, hands)

    def _save(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Search on all parts for less net material, or for a place for more of them."""
        placers = self.placers[:hands]
        for n in range(hands):
            self._prepare(n)
        list(team.map(lambda p: p.run(self.steps), placers))
        for n, placer in enumerate(placers):
            self._idle[n] += 1
            for c in placer.recorded():
                self.pool.add(c)
            self.offer(placer.answer())

    def _aim(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Search on all parts for a plan that costs less."""
        budget, filled = self.best.figures.money - self.model.money_step, self._least_filled()
        for placer in self._aimed.round(
            team, hands, self.best.layouts, budget=budget, filled=filled, steps=self.steps
        ):
            for c in placer.recorded():
                self.pool.add(c)
            if not placer.left_out:
                self.offer(placer.answer())

    def _round_off(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Round the linear optimum of the pool to a plan that costs less."""
        figures, filled = self.best.figures, self._least_filled()
        for made in self._rounded.round(
            team, hands, figures.money - self.model.money_step, figures.net,
            [r | {"filled": filled} for r in PLACING],
        ):  # fmt: skip
            for c in made.met:
                self.pool.add(c)
            if made.layouts:
                self.offer(made.layouts)

    @property
    def _is_for_less_money(self) -> bool:
        """Whether a plan that costs less is looked for."""
        return self.best.complete and not self.proven

    @property
    def _by_net(self) -> bool:
        """Whether this round is for less net material rather than money."""
        return self.proven or (len(self.model.stock) > 1 and self.rounds % 4 == 2)

    def _make_anew(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Take a few pieces of the best plan apart and lay their parts anew."""
        by_net = self._by_net
        filled = self._manner.filled if by_net else self._least_filled()
        rules = [r | {"filled": filled} for r in (SAVING if by_net else PLACING)]
        for made in self._remake.round(team, hands, self.best, rules, by_net=by_net):
            for c in made.met:
                self.pool.add(c)
            if made.layouts:
                self.offer(made.layouts)

    @property
    def _is_one_or_two(self) -> bool:
        """Whether all that is left to ask is whether one sheet will do."""
        return (
            len(self.model.stock) == 1
            and len(self.best.layouts) == 2
            and self.best.complete
            and not self.proven
        )

    def _ask_for_one(self, team: ThreadPoolExecutor, seconds: float) -> None:
        if self._single is None:
            self._single = Single(self.model, self._seed, repeatable=self.repeatable)
        found = self._single.turn(team, seconds)
        if found is not None:
            self.offer([found])
        if self._single.impossible:
            self.bound = replace(self.bound, money=self.best.figures.money)

    def _choose(self, team: ThreadPoolExecutor, seconds: float) -> None:
        """Take over a choice that has ended, and begin one when it is time, in a thread of its own."""
        if self._choice is None and self.rounds - self._chose >= self._manner.choice_every:
            self._chose = self.rounds
            layouts, by_net = self.chooser.hopeful(self.best, proven=self.proven)
            if not layouts or (by_net and self.best.complete and self._net_is_fixed):
                return
            share = self._manner.choice_share * seconds
            most = 1e4 if self.repeatable else max(0.05, min(self._manner.choice_seconds, share))
            self._choice = team.submit(
                self.chooser.choice, self.best, layouts, by_net, seconds=most, least_money=self.bound.money
            )
        if self._choice is not None and (self.repeatable or self._choice.done()):
            found, self._choice = self._choice.result(), None
            self._chose = self.rounds
            self.chooser.learn(found=found is not None and self.offer(found))

    def _prepare(self, n: int) -> None:
        """Let searcher `n` begin anew where there is a better plan or nothing has come for long."""
        if self._begun[n] and self._idle[n] < self._manner.patience:
            return
        self._begun[n], self._idle[n] = True, 0
        self._turns += 1
        placer, short = self.placers[n], not self.best.complete
        budget = MANY if short else self.best.figures.money
        placer.set_rules(budget=budget, net=True, short=short, **SAVING[self._turns % len(SAVING)])
        placer.load(self.best.layouts)

    def _least_filled(self) -> float:
        """Return the least filled share of a layout that a plan for less money has."""
        if len(self.model.stock) > 1 or not self.best.complete:
            return self._manner.filled
        piece = self.model.stock[0].length * self.model.stock[0].width
        need = sum(p.length * p.width * p.demand for p in self.model.parts)
        waste = (len(self.best.layouts) - 1) * piece - need
        return max(self._manner.filled, 1 - max(0, waste) / piece)
