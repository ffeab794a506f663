"""Planning in a process of its own: the caller stays as it is, and can stop it for sure.

The search wants things that hold for a whole process: where standard output goes, how often threads hand
over the interpreter, when garbage is collected. In a child these are nobody else's, and a child can be
ended whatever a solver is at. Any thread may plan, several at once.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from math import inf
from queue import Empty, SimpleQueue
from threading import Thread, local
from time import monotonic
from typing import IO, Any

from stockyard.errors import Refused, StockyardError
from stockyard.planning import kept
from stockyard.planning.kept import INTERPRET
from stockyard.planning.limits import Improvement, Limits
from stockyard.planning.parcel import Parcel, opened
from stockyard.planning.plan import Plan
from stockyard.planning.problem import Problem

# Seconds between two looks at whether to stop; and in which one that has answered must be ready for more.
LOOK, AGAIN = 0.05, 0.5
# Seconds that a child may take to make its plan once it must stop, for any job and for each part; then it is
# ended.
PATIENCE, PATIENCE_PART = 10.0, 0.005
# What the child runs; it imports from where its parent does, and from nowhere else. Where it cannot even
# begin it tells its parent in a text why, and no person in a traceback.
PROGRAM = """
import os, sys
sys.excepthook = lambda *_: None
import pickle
sys.excepthook = lambda kind, error, _: os.write(1, pickle.dumps(f"{{kind.__name__}}: {{error}}"))
sys.path[:] = {path!r}
from stockyard.planning.hunting.serve import serve
serve()
"""
COMPILING = (
    "import os, sys; sys.path[:] = {path!r}; hasattr(os, 'nice') and os.nice(5); "
    "from stockyard.planning.hunting.warm_up import compile_all; compile_all()"
)

# Held to the end: Python complains of a process that is forgotten while it runs.
_LEFT_TO_ITSELF: list[subprocess.Popen[bytes]] = []


class PlannerLost(Refused):
    """The planner's process ended without a plan."""

    kind = "planner lost"


@dataclass(frozen=True, slots=True)
class Task:
    """What a child is asked. `until`: when it must have ended, on the machine's clock; None: any time."""

    problem: Problem
    limits: Limits
    seed: int
    until: float | None


@dataclass(frozen=True, slots=True)
class Failure:
    """What a child says when it could not plan: an error for the person, or the words of a fault."""

    error: StockyardError | None
    words: str


@dataclass(frozen=True, slots=True)
class Waiting:
    """What a child says when it can be asked."""


Message = Improvement | Plan | Failure | Waiting
"""What a child says, one after the other; of one question the last is a plan or a failure."""


def plan_in_child(
    problem: Problem,
    limits: Limits | None = None,
    on_progress: Callable[[Improvement], None] | None = None,
    *,
    seed: int = 0,
    stop: Callable[[], bool] | None = None,
) -> Plan:
    """Return the best plan found within the limits, made in a process of its own.

    The time counts from the call. `on_progress` and `stop` are called in the caller's thread; once `stop`
    says so the best plan so far comes within a second. Any exception in them, Ctrl-C too, ends the child.

    Raises:
        PlannerLost: the child ended without a plan (out of memory, say).
    """
    limits = limits or Limits()
    until = None if limits.seconds is None else monotonic() + limits.seconds
    patience = PATIENCE + PATIENCE_PART * sum(p.count for p in problem.parts)
    with _planner(in_time=until is not None) as planner:
        planner.send(Task(problem, limits, seed, until))
        last = inf if until is None else until + patience
        stopped = False
        while monotonic() < last:
            if stop is not None and not stopped and stop():
                stopped, last = True, min(last, monotonic() + patience)
                planner.tell_to_stop()
            with suppress(Empty):
                message = planner.heard.get(timeout=LOOK)
                if isinstance(message, Plan):
                    planner.is_free = not stopped
                    return message
                if isinstance(message, Failure):
                    raise message.error or PlannerLost(f"the planner failed: {message.words}")
                if on_progress is not None and isinstance(message, Improvement):
                    on_progress(message)
    raise PlannerLost("the planner did not answer in time and was ended: plan again, with more time")


class Planner:
    """A planner's process, and what it says."""

    def __init__(self, *, in_time: bool) -> None:
        """`in_time`: whether the clock decides what is found, and not the work done."""
        # Ctrl-C at a terminal goes to the whole group of processes; the child is told by its parent alone.
        apart = _apart()
        words = [sys.executable, "-P", "-c", PROGRAM.format(path=sys.path)]
        self.is_compiled = not in_time or kept.is_ready()
        if not self.is_compiled and not os.environ.get(INTERPRET):
            # As plain Python it begins at once; what is compiled meanwhile serves the next plan.
            _compile_beside()
            apart["env"] = {**os.environ, INTERPRET: "1"}
        self.heard: SimpleQueue[Message] = SimpleQueue()
        self._asked = self.is_free = False  # whether it was asked, and has answered
        self._child = subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, **apart)
        assert self._child.stdout is not None
        self._listener = Thread(target=_listen, args=(self._child.stdout, self.heard), daemon=True)
        self._listener.start()

    def send(self, task: Task) -> None:
        """Ask it something."""
        self._asked, self.is_free = True, False
        assert self._child.stdin is not None
        with suppress(BrokenPipeError):  # it has ended: what is heard says so
            pickle.dump(task, self._child.stdin)
            self._child.stdin.flush()

    def tell_to_stop(self) -> None:
        """Close what it listens to: that tells it to stop, for good."""
        assert self._child.stdin is not None
        with suppress(OSError):
            self._child.stdin.close()

    def waits(self) -> bool:
        """Whether it can be asked: it never was, or says that it waits for another question."""
        with suppress(Empty):
            while self._asked:
                message = self.heard.get(timeout=AGAIN)
                if not isinstance(message, Improvement):
                    return isinstance(message, Waiting)
        return not self._asked

    @property
    def has_ended(self) -> bool:
        """Whether it is gone."""
        return self._child.returncode is not None

    def end(self) -> None:
        """End it, whatever it is at."""
        self._child.kill()
        self._listener.join()
        self.tell_to_stop()  # closed here, where it may fail
        with self._child:
            pass


class _Hand(local):
    """What a thread has at hand: whether it keeps a planner, and one that waits."""

    keeps = False
    planner: Planner | None = None


_HAND = _Hand()


@contextmanager
def at_hand(*, begun: bool = False) -> Iterator[None]:
    """Let one process answer what this thread asks within, one question after the other.

    `begun`: begin it now, so that it loads meanwhile; as plain Python it does not wait for its question.
    """
    if _HAND.keeps:
        yield
        return
    _HAND.keeps = True
    try:
        if begun and kept.is_ready():
            _HAND.planner = Planner(in_time=True)
        yield
    finally:
        _HAND.keeps = False
        planner, _HAND.planner = _HAND.planner, None
        if planner is not None:
            planner.end()


@contextmanager
def _planner(*, in_time: bool) -> Iterator[Planner]:
    """Return a planner; afterwards it is at hand again, or gone whatever happens."""
    planner, _HAND.planner = _HAND.planner, None
    if planner is not None and not planner.waits():
        planner.end()
        planner = None
    planner = planner or Planner(in_time=in_time)
    try:
        yield planner
    finally:
        if _HAND.keeps and planner.is_free and planner.is_compiled:
            _HAND.planner = planner
        else:
            planner.end()


def _compile_beside() -> None:
    """Let a process of its own compile the kernels, which outlives this one; unless one is at it."""
    if not kept.begin():
        return
    words = [sys.executable, "-P", "-c", COMPILING.format(path=sys.path)]
    nowhere = subprocess.DEVNULL
    _LEFT_TO_ITSELF.append(subprocess.Popen(words, stdin=nowhere, stdout=nowhere, stderr=nowhere, **_apart()))


def _apart() -> dict[str, Any]:
    """Return how a process is started that Ctrl-C at a terminal does not reach."""
    if sys.platform == "win32":
        return {"creationflags": subprocess.CREATE_NEW_PROCESS_GROUP}
    return {"start_new_session": True}


def _listen(pipe: IO[bytes], heard: SimpleQueue[Message]) -> None:
    """Pass on what a child says until it has ended."""
    try:
        while True:
            message = pickle.load(pipe)
            if isinstance(message, Parcel):
                message = opened(message)
            heard.put(Failure(None, message) if isinstance(message, str) else message)
    except (EOFError, OSError, ValueError, pickle.UnpicklingError) as e:
        heard.put(Failure(None, "its process ended early" if isinstance(e, EOFError) else str(e)))
