"""The order of work over all pieces of a job: one setting, all its cuts, as long as the bench holds them.

A beam search over the settings. A setting whose every cut that is left can be made now is made now, unless
that moves what still serves cuts to come: that takes no more moves. Fence, stop and guided saw each stay
where they are until they are moved; a trim moves none and goes with the cut that follows it. Of orders with
as few moves the one is taken in which sizes change least often, on whatever machines one is cut, and then
the one that goes least to and fro between machines.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from stockyard.saws import Machine, Saws, Setting, Way

# States kept at each depth, and about how many cuts may be looked at in all.
_BEAM, _EFFORT = 24, 60_000
# Of settings that take no more moves whichever comes first so many are tried.
_EITHER = 2
NOBODY = -1


@dataclass(frozen=True, slots=True)
class Task:
    """One cut to make: its setting (None: a trim), its name, and the tasks that its pieces then wait for.

    A task that starts a whole piece has `starts` set.
    """

    setting: Setting | None
    way: Way
    then: tuple[int, ...]
    starts: bool


_Station = tuple[Setting, Way]


@dataclass(slots=True)
class _State:
    """What has been sawn so far.

    `stands` is where each machine stands, the last set last; `left` are the cuts to come by setting and name;
    `sizes` what was cut last of either name, and `turns` how often that changed; `rows` how often a person
    went to another setting or name, `last` the one of the last cut.
    """

    ready: list[int]
    stands: dict[Machine | None, Setting]
    left: Counter[_Station]
    order: list[int] = field(default_factory=list)
    moves: int = 0
    waiting: int = 0
    sizes: dict[Way, int] = field(default_factory=dict)
    turns: int = 0
    rows: int = 0
    last: _Station | None = None

    def copy(self) -> _State:
        """Return a state that goes its own way."""
        return _State(
            self.ready[:], self.stands.copy(), self.left.copy(), self.order[:], self.moves, self.waiting,
            self.sizes.copy(), self.turns, self.rows, self.last,
        )  # fmt: skip

    def saw(self, station: _Station) -> None:
        """Take note of one cut."""
        setting, way = station
        self.left[station] -= 1
        if not self.left[station]:
            del self.left[station]
        if station != self.last:
            self.rows, self.last = self.rows + 1, station
            self.turns += self.sizes.get(way) != setting.figure
            self.sizes[way] = setting.figure

    def serves(self, setting: Setting) -> bool:
        """Whether a setting serves a cut to come."""
        return any(s == setting for s, _ in self.left)

    def is_over(self, station: _Station) -> bool:
        """Whether its size is cut no more, on any machine."""
        setting, way = station
        return all((s.figure, w) != (setting.figure, way) for s, w in self.left)

    def rank(self) -> tuple[int, int, int, int]:
        """Return what is better when less: moves with settings to come, cuts not made, sizes, rows."""
        moves = len({setting for setting, _ in self.left}.difference(self.stands.values()))
        turns = len({(w, s.figure) for s, w in self.left}.difference(self.sizes.items()))
        rows = len(self.left) - (self.last in self.left)
        return self.moves + moves, -len(self.order), self.turns + turns, self.rows + rows


class Scheduler:
    """Finds the order of the tasks of one job."""

    def __init__(self, tasks: Sequence[Task], saws: Saws) -> None:
        self._tasks, self._saws = tasks, saws
        self._first = [self._after_trims(n) for n in range(len(tasks))]
        self._saw = {t.setting: t.setting.saw(saws) for t in tasks if t.setting is not None}

    def _after_trims(self, task: int) -> int:
        """Return the first task from this one on that is not a trim, NOBODY when there is none."""
        while self._tasks[task].setting is None:
            if not self._tasks[task].then:
                return NOBODY
            task = self._tasks[task].then[0]
        return task

    def order(self) -> list[int]:
        """Return all tasks in an order with few moves."""
        left = Counter((t.setting, t.way) for t in self._tasks if t.setting is not None)
        beam = [_State([n for n, t in enumerate(self._tasks) if t.starts], {}, left)]
        width = max(1, min(_BEAM, _EFFORT // (len(self._tasks) ** 2 + 1)))
        self._run(beam[0])
        while beam[0].ready:
            following: list[_State] = []
            for state in beam:
                following += self._next(state)
            following.sort(key=_State.rank)
            beam = list(_distinct(following))[:width]
        return beam[0].order

    def _next(self, state: _State) -> Iterator[_State]:
        if not state.ready:
            yield state
            return
        to_come = {setting for setting, _ in state.left}
        tried, never_worse = [], []
        for station in dict.fromkeys(self._station(n) for n in state.ready):
            assert station is not None
            after = state.copy()
            self._set(after, station[0])
            self._run(after)
            tried.append(after)
            if state.stands.get(self._saw[station[0]]) in to_come or after.serves(station[0]):
                continue
            if after.is_over(station):
                yield after
                return
            never_worse.append(after)
        if never_worse:
            yield from sorted(never_worse, key=_State.rank)[:_EITHER]
            return
        moved = [s for s in tried if len(s.order) > len(state.order)]
        if not moved:  # the bench is full: go on with what lies on it all the same
            self._force(state)
            moved = [state]
        yield from moved

    def _station(self, task: int) -> _Station | None:
        first = self._first[task]
        setting = None if first == NOBODY else self._tasks[first].setting
        return None if setting is None else (setting, self._tasks[first].way)

    def _set(self, state: _State, setting: Setting) -> None:
        saw = self._saw[setting]
        state.moves += state.stands.pop(saw, None) != setting
        state.stands[saw] = setting  # the last set is the last there

    def _run(self, state: _State) -> None:
        """Make every cut that needs no move, while the bench holds what waits.

        What was used last is used up first, so that a person does not go to and fro between two machines.
        """
        full: set[_Station | None] = set()
        while stations := {self._station(n) for n in state.ready} - full:
            place = {setting: n for n, setting in enumerate(state.stands.values())}
            free = [(s == state.last, place[s[0]], s[1], s) for s in stations if s and s[0] in place]
            if not free and None not in stations:
                return
            station = max(free)[-1] if free else None
            if self._use(state, station):
                full.clear()
            else:
                full.add(station)

    def _use(self, state: _State, station: _Station | None) -> bool:
        """Make the cuts at one setting, piece after piece; return whether there were any."""
        before = len(state.order)
        todo = sorted(state.ready, reverse=True)
        while todo:
            task = todo.pop()
            if self._station(task) == station and self._room(state, task):
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
                state.saw((t.setting, t.way))
            if t.setting is not None or not t.then:
                break
            task = t.then[0]
        state.ready += t.then
        state.waiting += len(t.then)
        return t.then

    def _force(self, state: _State) -> None:
        begun = [n for n in state.ready if not self._tasks[n].starts] or state.ready
        task = min(begun, key=lambda n: len(self._tasks[self._last(n)].then))
        station = self._station(task)
        if station is not None:
            self._set(state, station[0])
        self._make(state, task)
        self._run(state)


def _distinct(states: Sequence[_State]) -> Iterator[_State]:
    seen = set()
    for state in states:
        key = (frozenset(state.ready), frozenset(state.stands.values()))
        if key not in seen:
            seen.add(key)
            yield state
