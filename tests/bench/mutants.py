"""Small faults put into the code one at a time: how many of them do the tests of their room find?

    python -m tests.bench.reached REACHED tests/yard ...     # once a folder of tests
    python -m tests.bench.mutants REACHED OUT [--sample 300] [--seed 1] [--seconds 400] [--rooms ...]
    python -m tests.bench.mutants REACHED OUT --again --most 60     # what survived, with more tests

All tests are collected once. Each fault (`faults.py`) is put into a copy of that process, in memory, where
those quick tests of its room are run that reach its line, up to the first that fails: first those that found
other faults, above all of that file, then those in a file named for it, then the quick ones that reach little
else, as many as took `--most` seconds when they were recorded. Hypothesis looks for an example that fails,
not for the least. A fault that does not end counts as found; one that no test reaches is not found.
A test that finds its first fault is run without one as well, and is left out where it fails then too.
Results are added to the file OUT, a line each, in the order of drawing; a run goes on
where the one before it stopped.
A survivor is either a gap in the tests or a change that changes nothing.
"""

from __future__ import annotations

import argparse
import gc
import importlib
import os
import pkgutil
import resource
import signal
import subprocess
import sys
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from time import monotonic, sleep
from types import FunctionType

import coverage
import pytest

import stockyard
from tests.bench import faults
from tests.bench.faults import ROOMS, ROOT, Fault, draw
from tests.bench.reached import Reached, load

# Each test may take so many seconds of the processor and so many times what it took when its lines were
# recorded; the clock ends only what waits for ever.
LEAST, PATIENCE, WAITS = 3.0, 4.0, 240.0
SPACE = 3 << 30
FAILED, UNFIT, BROKEN = 1, 63, 64  # how a copy of the process ends
PLAIN = ["-q", "-n", "0", "-p", "no:cacheprovider"]


@dataclass
class Trials:
    """A plug-in of pytest: in place of running what is collected it tries faults with it."""

    faults: list[Fault]
    reached: Reached
    out: Path
    until: float
    most: float
    early: coverage.Coverage
    items: dict[str, pytest.Item] = field(default_factory=dict)
    functions: dict[str, list[FunctionType]] = field(default_factory=dict)
    sure: set[str] = field(default_factory=set)
    unsure: set[str] = field(default_factory=set)
    finders: defaultdict[Path, Counter[str]] = field(default_factory=lambda: defaultdict(Counter))

    def pytest_collection(self) -> None:
        import hypothesis  # not before pytest itself

        hypothesis.settings.register_profile(
            "faults", deadline=None, database=None, derandomize=True,
            phases=(hypothesis.Phase.explicit, hypothesis.Phase.generate),
            suppress_health_check=tuple(hypothesis.HealthCheck),
        )  # fmt: skip
        hypothesis.settings.load_profile("faults")

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        for found in pkgutil.walk_packages(stockyard.__path__, "stockyard."):
            if not found.name.endswith("__main__"):
                importlib.import_module(found.name)
        self.early.stop()
        self.items = {item.nodeid: item for item in session.items}
        self.functions = faults.functions()
        gc.freeze()  # the copies share what is not touched
        for fault in self.faults:
            if monotonic() < self.until:
                by = self.finder(fault)
                with self.out.open("a", encoding="utf-8") as file:
                    file.write(f"{'found   ' if by else 'SURVIVES'} {fault.name}\t{by}\n")
        return True

    def finder(self, fault: Fault) -> str:
        """Return the test that fails or does not end with a fault in the code, "" for none."""
        first, last = fault.statement
        lines: Iterable[int] = range(first, last + 1)
        if self.is_early(fault):  # no test is noted for what runs at import
            lines = self.reached.lines.get(str(fault.path), {})
        below = ROOMS[fault.room][1].split()
        known = self.finders[fault.path]
        worth = sum(self.finders.values(), Counter[str]()) + Counter({t: n * 100 for t, n in known.items()})
        tests = self.reached.tests(fault.path, lines, below, self.most, worth)
        while tests := [t for t in tests if t in self.items and t not in self.unsure]:
            name = self.tried(fault, tests)
            if name and name not in self.sure:
                clean = not self.forked([name], lambda: None)
                (self.sure if clean else self.unsure).add(name)
            if name not in self.unsure:
                known[name] += 1
                return name
        return ""

    def is_early(self, fault: Fault) -> bool:
        """Whether its statement runs while everything is imported: a fault put in later is too late."""
        first, last = fault.statement
        lines = self.early.get_data().lines(str(ROOT / fault.path))
        return any(first <= line <= last for line in lines or ())

    def tried(self, fault: Fault, tests: list[str]) -> str:
        """Put a fault in and run tests up to one that fails; return its name, or ""."""
        path = ROOT / fault.path
        if not self.is_early(fault):
            with suppress(ValueError):
                return self.forked(tests, lambda: faults.put(path, fault.index, self.functions))
        alone = [sys.executable, "-m", "tests.bench.faults", str(path), str(fault.index), "-x", *PLAIN]
        asked = resource.RLIMIT_CPU, (300, 300)
        ended = subprocess.run(
            alone + tests[:200], cwd=ROOT, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, text=True,
            preexec_fn=lambda: resource.setrlimit(*asked), check=False,
        )  # fmt: skip
        failed = [
            row.split()[1] for row in ended.stdout.splitlines() if row.startswith(("FAILED ", "ERROR "))
        ]
        if ended.returncode and not failed:
            return tests[0]  # not even imported, or without an end
        return failed[0] if failed and failed[0] in self.items else tests[0] if failed else ""

    def forked(self, tests: list[str], prepare: Callable[[], None]) -> str:
        """Run tests in a copy of this process; return the one that failed or did not end.

        Raises:
            ValueError: the copy could not be prepared.
        """
        read, write = os.pipe()
        child = os.fork()
        if not child:
            os.setsid()
            try:
                prepare()
                self.run(tests, write)
            except ValueError:
                os._exit(UNFIT)
            finally:
                os._exit(BROKEN)
        os.close(write)
        until, code = monotonic() + WAITS, None
        while code is None and monotonic() < until:
            ended, status = os.waitpid(child, os.WNOHANG)
            code = os.waitstatus_to_exitcode(status) if ended else None
            sleep(0.01)
        with suppress(ProcessLookupError):
            os.killpg(child, signal.SIGKILL)
        if code is None:
            os.waitpid(child, 0)
        with os.fdopen(read) as file:
            names = file.read().split("\n")
        if code == UNFIT:
            raise ValueError("cannot be put in")
        if code == BROKEN:
            raise RuntimeError(f"the run ended by itself, at one of {tests[:3]}")
        return "" if code == 0 else names[-2]

    def run(self, tests: list[str], out: int) -> None:
        """Run tests and end this process: 0 when all pass. The name of each is written before it is run."""
        signal.signal(signal.SIGPROF, signal.SIG_DFL)
        resource.setrlimit(resource.RLIMIT_DATA, (SPACE, SPACE))
        items = [self.items[name] for name in tests]
        items[0].config.pluginmanager.register(Failed())
        for item, following in zip(items, [*items[1:], None], strict=True):
            os.write(out, f"{item.nodeid}\n".encode())
            signal.setitimer(signal.ITIMER_PROF, LEAST + PATIENCE * self.reached.seconds[item.nodeid])
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        os._exit(0)


class Failed:
    """A plug-in of pytest: the process ends with the first test that fails."""

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            os._exit(FAILED)


def results(out: Path) -> dict[str, str]:
    """Return the faults tried so far, each with the test that found it, "" for a survivor."""
    rows = (row.split("\t") for row in out.read_text(encoding="utf-8").splitlines()) if out.exists() else ()
    return {name.partition(" ")[2].strip(): finder for name, finder in rows}


def told(sample: list[Fault], known: dict[str, str]) -> None:
    """Print the survivors, and how many were found, room by room."""
    tried = [f for f in sample if f.name in known]
    for fault in tried:
        if not known[fault.name]:
            print("SURVIVES", fault.name)
    total, found = Counter(f.room for f in tried), Counter(f.room for f in tried if known[f.name])
    for room, number in total.items():
        print(f"{room:10} {found[room]:4} of {number:4} found")
    left = len(sample) - len(tried)
    print(f"{'all':10} {sum(found.values()):4} of {len(tried):4} found, {left} not tried yet")


def main() -> None:
    """Draw faults, try them, and print how many were found."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("reached", type=Path)
    asked.add_argument("out", type=Path)
    asked.add_argument("--sample", type=int, default=300)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--rooms", nargs="*", choices=list(ROOMS), default=list(ROOMS))
    asked.add_argument("--seconds", type=float, default=36000.0, help="begin no fault after so many")
    asked.add_argument(
        "--most", type=float, default=6.0, help="tests for a fault: what took so long together"
    )
    asked.add_argument("--again", action="store_true", help="try those that survived, with more tests")
    given = asked.parse_args()
    sample = [f for f in draw(given.sample, given.seed) if f.room in given.rooms]
    known = results(given.out)
    left = [f for f in sample if known.get(f.name) == ("" if given.again else None)]
    if left:
        early = coverage.Coverage(data_file=None, source=[str(ROOT / "stockyard")], config_file=False)
        until = monotonic() + given.seconds
        trials = Trials(left, load(given.reached), given.out.absolute(), until, given.most, early)
        for fault in sample:
            trials.finders[fault.path][known.get(fault.name, "")] += 1
        folders = sorted({folder for f in left for folder in ROOMS[f.room][1].split()})
        early.start()
        pytest.main([*PLAIN, *folders], plugins=[trials])
    told(sample, results(given.out))


if __name__ == "__main__":
    main()
