"""The child's side of `planning/child.py`: one task in, improvements and one plan out."""

from __future__ import annotations

import gc
import os
import pickle
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from math import inf
from queue import SimpleQueue
from threading import Event, Lock, Thread
from time import monotonic

from stockyard.errors import Interrupted, StockyardError
from stockyard.planning import kept
from stockyard.planning.child import Failure, Message, Task, Waiting
from stockyard.planning.compiled import COMPILED, seal
from stockyard.planning.hunting.ending import WATCH
from stockyard.planning.hunting.solve import Run, Standing
from stockyard.planning.limits import Limits
from stockyard.planning.parcel import packed
from stockyard.planning.plan import Plan
from stockyard.planning.problem import Kind, Part, Problem, Stock

STDOUT, STDERR = 1, 2


def at_ease() -> None:
    """Set this process up for the search, for good.

    A thread that calls many small kernels waits for the interpreter after each: it gets it soon. The
    garbage collector passes over what is there already. The branch and bound prints a line from its own
    depths now and then, whatever it is told: standard output goes to standard error.
    """
    sys.setswitchinterval(WATCH.switch)
    gc.freeze()
    sys.stdout.flush()
    os.dup2(STDERR, STDOUT)


class _Service:
    """One task: the search in a thread, its end watched over here."""

    def __init__(self, task: Task, say: Callable[[Message], None]) -> None:
        self._task, self._say = task, say
        self._begun, self._stopped, self._ended = Event(), Event(), Event()
        self._told_at = inf  # when the user stopped it
        self._run: Run | None = None
        self._failure: Failure | None = None
        self._parts = sum(p.count for p in task.problem.parts)
        self._ready: tuple[Standing, Plan] | None = None  # a plan that was made ahead, and of what
        self._since: tuple[Standing, float] | None = None  # what is best, and since when

    def _left(self) -> float | None:
        until = self._task.until
        return None if until is None else max(0.0, until - monotonic())

    def _left_to_search(self) -> float:
        """Return the seconds until the last hand on the plan must begin."""
        left = self._left()
        return inf if left is None else left - (self._run.last_hand if self._run is not None else 0.0)

    def _search(self) -> None:
        task = self._task
        try:
            limits = replace(task.limits, seconds=self._left())
            run = Run(task.problem, limits, task.seed, self._say, self._stopped.is_set)
            self._run = run
            run.begin()
            self._begun.set()
            run.search()
        except BrokenPipeError:  # nobody listens any more
            os._exit(0)
        except StockyardError as e:
            self._failure = Failure(e, str(e))
        except Exception as e:  # told to the parent, which has words for it
            self._failure = Failure(None, f"{type(e).__name__}: {e}")
        finally:
            self._begun.set()
            self._ended.set()

    def stop(self) -> None:
        """Stop: the best so far is wanted now."""
        self._told_at = monotonic()
        self._stopped.set()
        self._ended.wait(WATCH.grace)
        self._ended.set()

    def run(self) -> bool:
        """Search to the end or to the limit, and say the plan, or what went wrong.

        Return whether the search has come to its end by then.
        """
        search = Thread(target=self._search, daemon=True)
        search.start()
        while not self._ended.wait(WATCH.look):
            if self._left_to_search() <= 0:
                self._stopped.set()
                self._ended.wait(WATCH.grace)
                break
            self._make_ahead()
        self._await_first()
        if self._failure is None and self._run is not None and self._begun.is_set():
            gc.disable()  # all that is made from here on is the plan
            self._say(self._plan(self._run))
        elif self._told_at < inf:
            stopped = Interrupted("stopped before there was a first plan: nothing was changed")
            self._say(self._failure or Failure(stopped, str(stopped)))
        else:
            self._say(self._failure or Failure(None, "there was no first plan in time"))
        gc.enable()
        search.join(WATCH.grace)
        return not search.is_alive()

    def _plan(self, run: Run) -> Plan:
        """Return the plan of what is best by now; once the user has stopped it the one made ahead will do."""
        if self._told_at == inf:
            return run.plan(self._task.until)
        if self._ready is not None and run.is_still(self._ready[0]):
            return self._ready[1]
        return run.plan(monotonic() + WATCH.at_once)

    def _make_ahead(self) -> None:
        """Make the plan of a very large job once its best has stood for a while: a stop may come any time."""
        run = self._run
        if self._parts < WATCH.ahead_parts or run is None or not self._begun.is_set():
            return
        if self._since is None or not run.is_still(self._since[0]):
            self._since = run.standing(), monotonic()
        best, since = self._since
        waited, is_new = monotonic() - since, self._ready is None or self._ready[0] is not best
        if is_new and waited > WATCH.ahead and self._left_to_search() > WATCH.ahead_left:
            gc.disable()
            self._ready = best, run.plan(monotonic())
            gc.enable()

    def _await_first(self) -> None:
        """Wait for a first plan, however short the time; but not for long once the user has stopped it."""
        last = monotonic() + WATCH.start + WATCH.start_part * sum(p.count for p in self._task.problem.parts)
        while not self._begun.wait(WATCH.look):
            if monotonic() > min(last, self._told_at + WATCH.start_stopped):
                break


class _Door:
    """What the parent says and is told: tasks, one after the other, and that it wants no more."""

    def __init__(self, out: int) -> None:
        self._out, self._lock = os.fdopen(out, "wb"), Lock()
        self._tasks: SimpleQueue[_Service | None] = SimpleQueue()
        Thread(target=self._listen, daemon=True).start()

    def say(self, message: Message) -> None:
        """Tell the parent."""
        with self._lock:
            pickle.dump(packed(message) if isinstance(message, Plan) else message, self._out)
            self._out.flush()

    def next(self) -> _Service | None:
        """Say that the next task may come, and return it; None when there is none."""
        self.say(Waiting())
        return self._tasks.get()

    def _listen(self) -> None:
        """Take tasks until the parent closes its end, or has gone: that stops what is under way."""
        service: _Service | None = None
        with suppress(EOFError, OSError, ValueError, pickle.UnpicklingError):
            while True:
                service = _Service(pickle.load(sys.stdin.buffer), self.say)
                self._tasks.put(service)
        self._tasks.put(None)
        if service is not None:
            service.stop()


def _load() -> None:
    """Load the kernels that every search begins with: a task may not be there yet."""
    sheet = Stock(id="sheet", kind=Kind.FULL, material="any", length=1000, width=500, count=None, cost=1)
    problem = Problem(stock=(sheet,), parts=(Part(id="part", length=200, width=150),))
    Run(problem, Limits(), 0, None, None).begin()


def serve() -> None:
    """Answer tasks from standard input, and write what comes of each to standard output."""
    out = os.dup(STDOUT)
    # From here on standard output is no longer what the parent hears.
    sys.excepthook = lambda kind, error, _: os.write(out, pickle.dumps(f"{kind.__name__}: {error}"))
    at_ease()
    with suppress(BrokenPipeError):  # the parent has gone
        door = _Door(out)
        if COMPILED and kept.is_ready():  # to compile takes long: a stop must be heard meanwhile
            _load()
        while (service := door.next()) is not None and service.run():
            seal()
    seal()
    os._exit(0)  # whatever a solver is still at
