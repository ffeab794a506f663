"""The order of work over all pieces of a job: one setting, all its cuts, as long as the bench holds them.

A beam search over the settings. A setting whose every cut that is left can be made now is made now: that is
never worse. Fence and stop each stay where they are until they are moved; a trim moves neither and goes with
the cut that follows it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from stockyard.planning.sawing.operations import Setting
from stockyard.saws import Saws

# States kept at each depth, and about how many cuts may be looked at in all.
_BEAM, _EFFORT = 24, 60_000
NOBODY = -1


@dataclass(frozen=True, slots=True)
class Task:
    """One cut to make: its setting (None: a trim), and the tasks that its pieces then wait for.

    A task that starts a whole piece has `starts` set.
    """

    setting: Setting | None
    then: tuple[int, ...]
    starts: bool


@dataclass(slots=True)
class _State:
    """What has been sawn so far."""

    ready: list[int]
    stands: dict[object, Setting]
    left: Counter[Setting]
    order: list[int] = field(default_factory=list)
    moves: int = 0
    waiting: int = 0

    def copy(self) -> _State:
        """Return a state that goes its own way."""
        return _State(
            self.ready[:], self.stands.copy(), self.left.copy(), self.order[:], self.moves, self.waiting
        )


class Scheduler:
    """Finds the order of the tasks of one job."""

    def __init__(self, tasks: Sequence[Task], saws: Saws) -> None:
        self._tasks, self._saws = tasks, saws
        self._first = [self._after_trims(n) for n in range(len(tasks))]

    def _after_trims(self, task: int) -> int:
        """Return the first task from this one on that is not a trim, NOBODY when there is none."""
        while self._tasks[task].setting is None:
            if not self._tasks[task].then:
                return NOBODY
            task = self._tasks[task].then[0]
        return task

    def order(self) -> list[int]:
        """Return all tasks in an order with few moves."""
        left: Counter[Setting] = Counter(t.setting for t in self._tasks if t.setting is not None)
        beam = [_State([n for n, t in enumerate(self._tasks) if t.starts], {}, left)]
        width = max(1, min(_BEAM, _EFFORT // (len(self._tasks) ** 2 + 1)))
        self._run(beam[0])
        while beam[0].ready:
            following: list[_State] = []
            for state in beam:
                following += self._next(state)
            following.sort(key=lambda s: (s.moves + len(+s.left), len(s.ready), -len(s.order)))
            beam = list(_distinct(following))[:width]
        return min(beam, key=lambda s: s.moves).order

    def _next(self, state: _State) -> Iterator[_State]:
        if not state.ready:
            yield state
            return
        tried = []
        for setting in dict.fromkeys(self._setting(n) for n in state.ready):
            after = state.copy()
            assert setting is not None
            self._set(after, setting)
            self._run(after)
            if not after.left[setting] and len(after.order) > len(state.order):
                yield after
                return
            tried.append(after)
        moved = [s for s in tried if len(s.order) > len(state.order)]
        if not moved:  # the bench is full: go on with what lies on it all the same
            self._force(state)
            moved = [state]
        yield from moved

    def _setting(self, task: int) -> Setting | None:
        first = self._first[task]
        return None if first == NOBODY else self._tasks[first].setting

    def _machine(self, setting: Setting) -> object:
        return setting.way if self._saws.apart else None

    def _set(self, state: _State, setting: Setting) -> None:
        machine = self._machine(setting)
        state.moves += state.stands.pop(machine, None) != setting
        state.stands[machine] = setting  # the last set is the last there

    def _run(self, state: _State) -> None:
        """Make every cut that needs no move, while the bench holds what waits.

        What was set last is used up first, so that a person does not go to and fro between two machines.
        """
        going = True
        while going:
            going = False
            for setting in (*reversed(state.stands.values()), None):
                while self._use(state, setting):
                    going = True

    def _use(self, state: _State, setting: Setting | None) -> bool:
        """Make the cuts at one setting, piece after piece; return whether there were any."""
        before = len(state.order)
        todo = sorted(state.ready, reverse=True)
        while todo:
            task = todo.pop()
            if self._setting(task) == setting and self._room(state, task):
                todo += reversed(self._make(state, task))
        return len(state.order) > before

    def _room(self, state: _State, task: int) -> bool:
        after = state.waiting + len(self._tasks[self._last(task)].then) - (not self._tasks[task].starts)
        return after <= self._saws.bench or after <= state.waiting

    def _last(self, task: int) -> int:
        """Return the cut that a run of trims leads to, or the last of the trims."""
        while self._tasks[task].setting is None and self._tasks[task].then:
            task = self._tasks[task].then[0]
        return task

    def _make(self, state: _State, task: int) -> tuple[int, ...]:
        """Make the trims of a piece and the cut after them; return what can be cut next of it."""
        state.ready.remove(task)
        state.waiting -= not self._tasks[task].starts
        while True:
            state.order.append(task)
            t = self._tasks[task]
            if t.setting is not None:
                state.left[t.setting] -= 1
            if t.setting is not None or not t.then:
                break
            task = t.then[0]
        state.ready += t.then
        state.waiting += len(t.then)
        return t.then

    def _force(self, state: _State) -> None:
        begun = [n for n in state.ready if not self._tasks[n].starts] or state.ready
        task = min(begun, key=lambda n: len(self._tasks[self._last(n)].then))
        setting = self._setting(task)
        if setting is not None:
            self._set(state, setting)
        self._make(state, task)
        self._run(state)


def _distinct(states: Sequence[_State]) -> Iterator[_State]:
    seen = set()
    for state in states:
        key = (frozenset(state.ready), frozenset(state.stands.values()))
        if key not in seen:
            seen.add(key)
            yield state
