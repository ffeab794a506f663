"""The proof of one model, sought beside the search: a bound, and for boards a plan that meets it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from queue import SimpleQueue
from threading import Event

from stockyard.planning.boards.boards import Boards, BoardsAnswer, boards_of
from stockyard.planning.bounds.bound import ModelBound, bound_of
from stockyard.planning.bounds.piececuts import PieceCut
from stockyard.planning.model import Candidate, Model

Found = ModelBound | BoardsAnswer
"""What the proof tells on the way and in the end."""


@dataclass(frozen=True, slots=True)
class Uncounted:
    """What the proof may take where nothing may depend on the clock."""

    seconds: float = 1e4
    """For boards, whose dives are counted anyway."""
    dives: int = 2
    """Dives on boards."""
    pricings: int = 40
    """Pricings of each phase of column generation."""


UNCOUNTED = Uncounted()


class Proof:
    """Begun once; on boards, which go their own way, the search can lend it a hand."""

    def __init__(self, model: Model, seed: int, *, whole: bool, repeatable: bool) -> None:
        """`whole`: whether the search looks at all of the model, so that plans found here are its own."""
        self._model, self._seed, self._whole, self._repeatable = model, seed, whole, repeatable
        self._news: SimpleQueue[Found] = SimpleQueue()
        self._boards: Boards | None = None
        self._work: Future[Found] | None = None
        self._ended = Event()
        self._cuts: list[PieceCut] = []

    def know(self, cuts: Sequence[PieceCut]) -> None:
        """Begin with cuts in piece counts that are known to hold."""
        self._cuts += cuts

    def begin(
        self, team: ThreadPoolExecutor, seconds: float, start: Sequence[Candidate], spends: int | None = None
    ) -> Future[Found]:
        """Begin, from these layouts, if that has not been done; return the work under way.

        `spends`: the money of a plan of all parts.
        """
        if self._work is None:
            if self._whole:
                self._boards = boards_of(
                    self._model, seed=self._seed, tell=self._news.put, repeatable=self._repeatable
                )
            self._work = team.submit(self._run, seconds, start, spends)
        return self._work

    def _run(self, seconds: float, start: Sequence[Candidate], spends: int | None) -> Found:
        few = self._repeatable
        if self._boards is not None:
            most = UNCOUNTED
            return self._boards.run(most.seconds if few else seconds, dives=most.dives if few else None)
        work = UNCOUNTED.pricings if few else None
        return bound_of(
            self._model, seconds=seconds, work=work, tell=self._news.put, stop=self._ended.is_set,
            start=start, known=self._cuts, spends=spends,
        )  # fmt: skip

    def news(self) -> Iterator[Found]:
        """Yield what it has told since the last call; nothing where that would depend on the clock."""
        while not (self._repeatable or self._news.empty()):
            yield self._news.get()

    def by_chance(self) -> bool:
        """Fill boards by chance for a while where that is the way to less money; return whether it is."""
        return self._boards is not None and self._boards.by_chance() is not None

    def stop_boards(self) -> None:
        """Let boards come to an end; a bound of sheets goes on into the next turn."""
        if self._boards is not None:
            self._boards.stop()

    def end(self) -> None:
        """Let it come to an end, whatever it is at."""
        self._ended.set()
        self.stop_boards()
