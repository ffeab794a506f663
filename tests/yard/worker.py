"""Random work on a yard, for the tests that kill it or let many do it at once."""

from __future__ import annotations

import multiprocessing
import random
import signal
import time
from collections.abc import Callable
from functools import partial
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path

from stockyard import yard
from stockyard.errors import StockyardError
from stockyard.planning.problem import Kind
from stockyard.yard import Yard, cutting, jobs, labels, pieces, pulling, stocktake, undo
from stockyard.yard.model import JobPart, State
from tests.yard.shop import MM, layout, store

PLACES = ("R1-B2-S3", "R1-B1", "R2")


def shelve(y: Yard, r: random.Random) -> None:
    """Shelve one to four equal pieces."""
    size = (r.randint(300, 2440) * MM, r.randint(200, 1220) * MM)
    arrival = pieces.Arrival(
        material_id=1, kind=Kind.OFFCUT, length=size[0], width=size[1], place=r.choice(PLACES),
        count=r.randint(1, 4), cost=r.randint(0, 10**6),
    )  # fmt: skip
    pieces.shelve(y, [arrival])


def plan(y: Yard, r: random.Random) -> None:
    """Plan a new job on one to three free pieces."""
    job = jobs.add_job(y, f"job {r.random()}", "x", [JobPart(name="side", count=2, length=700, width=500)])
    free = pieces.on_hand(y)
    chosen = r.sample(free, min(len(free), r.randint(1, 3)))
    layouts = [layout(n, p, parts=1, leftovers=((100, 90),)) for n, p in enumerate(chosen, 1) if big(p.area)]
    store(y, job.id, layouts)


def big(area: int) -> bool:
    """Whether a piece is large enough for what `plan` lays on it."""
    return area > 900 * 700 * MM**2


def some(y: Yard, r: random.Random, *states: State) -> str:
    """Return the tag of a random piece in one of these states."""
    found = pieces.on_hand(y, states=states)
    if not found:
        raise StockyardError("none")
    return r.choice(found).tag


def pull(y: Yard, r: random.Random) -> None:
    """Pull a promised piece."""
    pulling.pull(y, [some(y, r, State.PROMISED)])


def cut(y: Yard, r: random.Random) -> None:
    """Cut a piece as planned."""
    cutting.confirm_cut(y, some(y, r, State.PULLED, State.PROMISED))


def bring_back(y: Yard, r: random.Random) -> None:
    """Return what lies on the bench."""
    cutting.return_offcut(y, some(y, r, State.BENCH), r.choice(PLACES))


def count(y: Yard, r: random.Random) -> None:
    """Count a place, missing a piece now and then."""
    code = r.choice(PLACES)
    current = stocktake.start_count(y, code)
    stocktake.sight(y, current.id, [p.tag for p in pieces.at_place(y, code) if r.random() < 0.95])
    stocktake.finish_count(y, current.id, "counted")


def undo_last(y: Yard, _: random.Random) -> None:
    """Undo the last deed, if something was done since the shop was made."""
    if undo.last_deed(y).id > 8:
        undo.undo(y)


def print_labels(y: Yard, _: random.Random) -> None:
    """Note the labels as printed."""
    labels.mark_printed(y, [p.tag for p in labels.unlabelled(y)[:5]])


WORK: tuple[Callable[[Yard, random.Random], None], ...] = (
    shelve, plan, plan, pull, pull, cut, cut, bring_back, count, undo_last, print_labels,
)  # fmt: skip


def work(path: Path, seed: int, steps: int) -> int:
    """Do random work; return how many steps the yard took. What it refuses is left; it is never busy."""
    r = random.Random(seed)
    done = 0
    with yard.open(path) as y:
        for _ in range(steps):
            try:
                r.choice(WORK)(y, r)
                done += 1
            except StockyardError as error:
                assert "busy" not in str(error), error
    return done


processes = multiprocessing.get_context("forkserver")
"""Children come from a small process of one thread, not from the one that tests run in, which has more."""
processes.set_forkserver_preload([__name__])


def in_child(run: Callable[[], object]) -> BaseProcess:
    """Run something that can be pickled in a process of its own."""
    child = processes.Process(target=run)
    child.start()
    return child


def _told(run: Callable[[], object], begun: Connection) -> None:
    begun.send(None)
    run()


def killed_after(run: Callable[[], object], seconds: float) -> bool:
    """Run something in a child and kill it a while after it began; return whether that ended it."""
    ours, theirs = processes.Pipe(duplex=False)
    with ours, theirs:
        child = in_child(partial(_told, run, theirs))
        ours.recv()
        time.sleep(seconds)
        child.kill()
        child.join()
    return child.exitcode == -signal.SIGKILL
