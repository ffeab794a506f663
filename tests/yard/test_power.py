"""The power fails: the yard is one that an undisturbed run went through, and no deed done is lost."""

from __future__ import annotations

import contextlib
import os
import random
import resource
import shutil
import signal
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.errors import StockyardError
from stockyard.settings import Settings
from stockyard.yard import Yard, backup, cutting, exchange, pulling
from stockyard.yard.check import check
from stockyard.yard.store import Clock
from tests.yard.shop import make_shop, plan_for, ticking_clock, whole
from tests.yard.worker import WORK, in_child, processes

STEPS = 30
PAGE = 4096
# The write-ahead log: 32 bytes, then for each page a head of 24 bytes and the page
# (SQLite, "Database File Format", section 4.1).
LOG_HEAD, FRAME_HEAD = 32, 24


def contents(y: Yard) -> int:
    return hash(repr(whole(y)))


def deeds_done(y: Yard) -> int:
    return int(y.one("SELECT coalesce(max(id), 0) FROM deed"))


def live(path: Path, seed: int, done: Callable[[Yard], object], clock: Clock) -> None:
    """Do random work that is the same for the same seed, calling `done` after each step."""
    rng = random.Random(seed)
    with yard.open(path, clock=clock) as y:
        for _ in range(STEPS):
            with contextlib.suppress(StockyardError):
                rng.choice(WORK)(y, rng)
            done(y)


def steady_clock() -> Clock:
    return ticking_clock()  # type: ignore[return-value]


def undisturbed(path: Path, seed: int) -> dict[int, int]:
    """Return the contents of the yard after each number of deeds."""
    states: dict[int, int] = {}
    tick = steady_clock()
    with yard.open(path) as other:

        def look(y: Yard) -> None:
            states[deeds_done(y)] = contents(y)

        def clock() -> str:
            # Looked at as each deed begins, through a connection that sees only what is done.
            look(other)
            return tick()

        live(path, seed, look, clock)
    return states


def told(path: Path, seed: int, line: Connection) -> None:
    live(path, seed, lambda y: line.send(deeds_done(y)), steady_clock())


def cut_short(path: Path, seed: int, rng: random.Random) -> tuple[int, bool]:
    """Kill a process at a random moment of its work; return the deeds it told of, and whether it died."""
    ours, theirs = processes.Pipe(duplex=False)
    child = in_child(partial(told, path, seed, theirs))
    theirs.close()
    heard = 0
    for _ in range(rng.randrange(STEPS)):
        heard = ours.recv()
    time.sleep(rng.uniform(0, 0.015))
    child.kill()
    child.join()
    with contextlib.suppress(EOFError):
        while ours.poll():
            heard = ours.recv()
    ours.close()
    return heard, child.exitcode == -signal.SIGKILL


def remove(path: Path) -> None:
    for end in ("", "-wal", "-shm"):
        path.with_name(path.name + end).unlink(missing_ok=True)


@pytest.mark.parametrize(
    ("seeds", "kills"), [(range(3), 5), pytest.param(range(50, 75), 20, marks=pytest.mark.slow)]
)
def test_a_killed_process_leaves_a_yard_that_there_was(tmp_path: Path, seeds: range, kills: int) -> None:
    first = tmp_path / "first.db"
    make_shop(first).yard.close()
    path = tmp_path / "yard.db"
    killed = 0
    for seed in seeds:
        shutil.copy(first, path)
        states = undisturbed(path, seed)
        remove(path)
        rng = random.Random(seed)
        for _ in range(kills):
            shutil.copy(first, path)
            heard, dead = cut_short(path, seed, rng)
            killed += dead
            with yard.open(path) as y:
                assert contents(y) == states[deeds_done(y)], "half a deed"
                assert deeds_done(y) >= heard, "a deed that was done is lost"
                assert check(y) == ()
            remove(path)
    assert killed > len(seeds) * kills / 2, "most were done before they were killed"


# The log of one cut, torn and half folded in


@dataclass(frozen=True, slots=True)
class Cut:
    """A yard with a pulled piece; the same with the piece cut and all of it still in the log."""

    path: Path
    tag: str
    before: int
    after: int
    file: bytes
    log: bytes

    def frames(self) -> int:
        return (len(self.log) - LOG_HEAD) // (FRAME_HEAD + PAGE)

    def found(self, file: bytes, log: bytes) -> str:
        """Open a yard of this file and log; look that it is sound, and say which of the two it is."""
        path = self.path.with_name("found.db")
        path.write_bytes(file)
        path.with_name(path.name + "-wal").write_bytes(log)
        try:
            return self.which(path)
        finally:
            remove(path)

    def which(self, path: Path) -> str:
        with yard.open(path) as y:
            assert check(y) == ()
            return {self.before: "before", self.after: "after"}[contents(y)]


@pytest.fixture(scope="module")
def a_cut(tmp_path_factory: pytest.TempPathFactory) -> Cut:
    path = tmp_path_factory.mktemp("cut") / "yard.db"
    shop = make_shop(path)
    tag = shop.sheets[0].tag
    plan_for(shop, shop.sheets[0])
    pulling.pull(shop.yard, [tag])
    before = contents(shop.yard)
    shop.yard.close()
    with yard.open(path, clock=steady_clock()) as y:
        held = shutil.copy(path, path.with_name("held.db"))
        cutting.confirm_cut(y, tag)
        after = contents(y)
        log = path.with_name(path.name + "-wal").read_bytes()
    shutil.move(held, path)
    return Cut(path, tag, before, after, path.read_bytes(), log)


def bytes_of_frames(cut: Cut) -> list[int]:
    """Return where to tear the log: between two frames, in the head of each, and in its page."""
    ends = [LOG_HEAD + n * (FRAME_HEAD + PAGE) for n in range(cut.frames())]
    return [0, 16, *(end + more for end in ends for more in (0, 10, FRAME_HEAD + PAGE // 2))]


def test_a_torn_log_is_the_yard_before(a_cut: Cut) -> None:
    assert a_cut.frames() > 10
    for size in bytes_of_frames(a_cut):
        assert a_cut.found(a_cut.file, a_cut.log[:size]) == "before", size
    assert a_cut.found(a_cut.file, a_cut.log) == "after"


def test_a_log_with_a_page_that_never_reached_the_disk_is_the_yard_before(a_cut: Cut) -> None:
    """Disks write in an order of their own: any frame may be missing while later ones are there."""
    for n in range(a_cut.frames()):
        at = LOG_HEAD + n * (FRAME_HEAD + PAGE)
        hole = a_cut.log[:at] + bytes(FRAME_HEAD + PAGE) + a_cut.log[at + FRAME_HEAD + PAGE :]
        assert a_cut.found(a_cut.file, hole) == "before", n


def test_a_log_folded_in_half_way_is_the_yard_after(a_cut: Cut) -> None:
    """Any of the pages may have gone into the file, one of them torn."""
    folded = a_cut.path.with_name("folded.db")
    folded.write_bytes(a_cut.file)
    folded.with_name(folded.name + "-wal").write_bytes(a_cut.log)
    with yard.open(folded) as y:
        y.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    new = folded.read_bytes()
    old = a_cut.file.ljust(len(new), b"\0")
    changed = [at for at in range(0, len(new), PAGE) if old[at : at + PAGE] != new[at : at + PAGE]]
    assert len(changed) > 5
    rng = random.Random(5)
    for n in range(len(changed) + 1):
        mixed = bytearray(old)
        for at in rng.sample(changed, n):
            end = at + rng.choice((PAGE, PAGE, 512, 1000))
            mixed[at:end] = new[at:end]
        assert a_cut.found(bytes(mixed), a_cut.log) == "after", n


def ended(run: Callable[[], object]) -> int:
    """Run something in a child; return the signal that ended it, 0 for none."""
    child = in_child(run)
    child.join()
    assert child.exitcode is not None and child.exitcode <= 0, "it fell by itself"
    return -child.exitcode


def cut_to_byte(path: Path, tag: str, last: int) -> None:
    """Cut in a process that the system ends at the write that passes a byte; what fits is written first."""
    with yard.open(path, clock=steady_clock()) as y:
        contents(y)
        y.connection.execute("PRAGMA wal_autocheckpoint = 0")
        signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_FSIZE, (last, last))
        cutting.confirm_cut(y, tag)
        os.kill(os.getpid(), signal.SIGKILL)


def killed_at(cut: Cut, folder: Path, points: Iterable[int]) -> None:
    path = folder / "yard.db"
    for last in points:
        shutil.copy(cut.path, path)
        assert ended(partial(cut_to_byte, path, cut.tag, last)) == signal.SIGXFSZ
        assert cut.which(path) == "before", last
        remove(path)


def test_killed_by_the_system_at_writes_of_a_cut(a_cut: Cut, tmp_path: Path) -> None:
    killed_at(a_cut, tmp_path, bytes_of_frames(a_cut)[::5])


@pytest.mark.slow
def test_killed_by_the_system_at_every_write_of_a_cut(a_cut: Cut, tmp_path: Path) -> None:
    killed_at(a_cut, tmp_path, bytes_of_frames(a_cut))
    killed_at(a_cut, tmp_path, range(0, len(a_cut.log), 499))


# Files made beside their place and renamed into it


def make_new(_: Path, path: Path) -> None:
    yard.new(path, Settings()).close()


def make_backup(source: Path, path: Path) -> None:
    with yard.open(source) as y:
        backup.make(y, path)


def make_export(source: Path, path: Path) -> None:
    with yard.open(source) as y:
        exchange.export_json(y, path)


MAKERS = {"new.db": make_new, "backup.db": make_backup, "all.json": make_export}


def dies_after(seconds: float, make: Callable[[Path, Path], None], source: Path, path: Path) -> None:
    """Have the system end the process after a time, as SIGKILL does: nothing is put in order first."""
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    make(source, path)


def test_a_yard_a_backup_and_an_export_are_whole_or_not_there(a_cut: Cut, tmp_path: Path) -> None:
    made = dict.fromkeys(MAKERS, 0)
    for seconds in (0.001, 0.004, 0.016, 0.05, 0.1, 0.3, 60.0):
        room = tmp_path / f"after {seconds}"
        room.mkdir()
        for name, make in MAKERS.items():
            path = room / name
            ended(partial(dies_after, seconds, make, a_cut.path, path))
            if path.exists():
                made[name] += 1
                look_at(path, a_cut)
    assert min(made.values()) >= 1


def look_at(path: Path, cut: Cut) -> None:
    if path.suffix == ".json":
        exchange.import_yard(path, path.with_name("imported.db"))
        path = path.with_name("imported.db")
    if path.name == "new.db":
        with yard.open(path) as y:
            assert check(y) == ()
    else:
        assert cut.which(path) == "before"
