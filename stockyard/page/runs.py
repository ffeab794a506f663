"""Plans in the making: each in a thread that waits for its child process, few at once, kept till taken."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from threading import Event, Lock, Semaphore, Thread
from time import monotonic

from stockyard.desk import paperwork, planning, proposal
from stockyard.desk.alternatives import Figures, figures
from stockyard.desk.door import Yard, Yardkeeper
from stockyard.desk.planning import Answer, How, Improvement, PlanMade
from stockyard.errors import BadInput, Refused, StockyardError

# Plans that were made and not taken, of so many jobs: the oldest are forgotten.
_MOST = 40
# Seconds between two times that pages are told of progress.
_STEP = 0.4
_DRAWN = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One plan that may be taken: why, what it says, its figures, each piece of it drawn."""

    reasons: tuple[str, ...]
    answer: Answer
    made: PlanMade
    figures: Figures
    drawings: tuple[bytes, ...]

    @property
    def minutes(self) -> int:
        """What it takes at racks and saw."""
        return -(-self.seconds // 60)

    seconds: int


@dataclass(slots=True, kw_only=True)
class Run:
    """The planning of one job. `state` is waiting, making, made or failed; `fault` says why it failed.

    `called` names parts that were renamed since the plan that it has. `around`: a plan that lost a piece is
    made again.
    """

    job: int
    side_by_side: bool
    seconds: float
    called: Mapping[str, str] = field(default_factory=dict)
    around: bool = False
    state: str = "waiting"
    fault: str = ""
    begun: float = field(default_factory=monotonic)
    better: list[Improvement] = field(default_factory=list)
    ways: tuple[Way, ...] = ()
    enough: bool = False
    done: Event = field(default_factory=Event)

    @property
    def busy(self) -> bool:
        """Whether it goes on."""
        return self.state in ("waiting", "making")


@dataclass(slots=True)
class Runs:
    """All plans in the making of one server; `at_once` of them plan, the others wait."""

    nudge: Callable[[], None]
    at_once: int = 1
    kept: OrderedDict[int, Run] = field(default_factory=OrderedDict)
    _lock: Lock = field(default_factory=Lock)
    _places: Semaphore = field(init=False)

    def __post_init__(self) -> None:
        self._places = Semaphore(self.at_once)

    def of(self, job: int) -> Run | None:
        """Return the planning of a job, if there is one."""
        with self._lock:
            return self.kept.get(job)

    def begin(self, keeper: Yardkeeper, run: Run) -> None:
        """Plan a job in the background.

        Raises:
            Refused: it is being planned already.
        """
        with self._lock:
            before = self.kept.get(run.job)
            if before is not None and before.busy:
                raise Refused("this job is being planned already: watch it, or stop it first")
            self.kept[run.job] = run
            self.kept.move_to_end(run.job)
            for number in [n for n, r in self.kept.items() if not r.busy][: max(0, len(self.kept) - _MOST)]:
                del self.kept[number]
        Thread(target=self._make, args=(keeper, run), daemon=True, name=f"plan {run.job}").start()

    def stop(self, job: int) -> None:
        """Let the best plan so far be good enough."""
        run = self.of(job)
        if run is not None:
            run.enough = True

    def forget(self, job: int) -> None:
        """Forget what was planned and not taken."""
        with self._lock:
            run = self.kept.get(job)
            if run is not None and not run.busy:
                del self.kept[job]

    def way(self, job: int, which: int) -> Way:
        """Return one plan of those made for a job.

        Raises:
            BadInput: there is none of that number: the server was started anew, or it was taken.
        """
        run = self.of(job)
        if run is None or run.state != "made" or not 0 <= which < len(run.ways):
            raise BadInput("this plan is not kept any more: plan the job again")
        return run.ways[which]

    def _make(self, keeper: Yardkeeper, run: Run) -> None:
        told = 0.0

        def report(better: Improvement) -> None:
            nonlocal told
            if not run.better or better.figures != run.better[-1].figures:
                run.better.append(better)
            if monotonic() - told > _STEP:
                told = monotonic()
                self.nudge()

        with self._places:
            run.state, run.begun = "making", monotonic()
            self.nudge()
            try:
                how = How(seconds=run.seconds, report=report, stop=lambda: run.enough)
                with keeper.open() as yard:
                    run.ways = _ways(yard, run, how)
                run.state = "made"
            except StockyardError as error:
                run.state, run.fault = "failed", str(error)
            except Exception:
                run.state, run.fault = (
                    "failed",
                    "a fault of the program; its words are on the server's screen",
                )
                raise
            finally:
                run.done.set()
                self.nudge()


def _ways(yard: Yard, run: Run, how: How) -> tuple[Way, ...]:
    name = str(run.job)
    if run.side_by_side:
        found = planning.compare(yard, name, how)
        return tuple(_way(yard, a.reasons, a.answer, a.figures) for a in found)
    answer = proposal.propose(yard, name, how, run.called)
    return (_way(yard, (), answer, figures(answer.problem, answer.plan)),)


def _way(yard: Yard, reasons: tuple[str, ...], answer: Answer, found: Figures) -> Way:
    cards = proposal.proposed_cards(yard, answer)[:_DRAWN]
    return Way(
        reasons=reasons,
        answer=answer,
        made=planning.told(yard, answer, promised=False),
        figures=found,
        drawings=tuple(paperwork.drawn(card) for card in cards),
        seconds=answer.facts.seconds(yard.settings.seconds),
    )
