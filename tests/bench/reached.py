"""Which tests reach which line: tests run once under coverage, with a context for each.

    python -m tests.bench.reached FOLDER tests/yard tests/test_measure.py ...

writes a file into FOLDER: for each source file its lines with the tests that ran them, and how long each test
took. Tests that a file there has already are passed over, so a run that was ended goes on. A test that fails
is left out. What a test does in another process is not seen, nor what the search itself does.
"""

from __future__ import annotations

import json
import os
import sys
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from signal import SIGTERM, default_int_handler, signal
from time import time_ns

import coverage
import pytest

ROOT = Path(__file__).parent.parent.parent


class Contexts:
    """A plug-in of pytest: names the test whose lines are now recorded, and keeps its time."""

    def __init__(self, cov: coverage.Coverage, known: Collection[str]) -> None:
        self.cov = cov
        self.known = known
        self.seconds: dict[str, float] = {}
        self.failed: set[str] = set()

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = [item for item in items if item.nodeid not in self.known]

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.cov.switch_context(item.nodeid)
        begun = _worked()
        yield
        self.seconds[item.nodeid] = _worked() - begun

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.add(report.nodeid)


def _worked() -> float:
    """Return the processor time of this process and its children so far."""
    return sum(os.times()[:4])


def record(folder: Path, tests: list[str]) -> None:
    """Run tests and write what they reach."""
    folder.mkdir(parents=True, exist_ok=True)
    package = ROOT / "stockyard"
    search = [str(room / "*") for room in (package / "planning").iterdir() if room.is_dir()]
    cov = coverage.Coverage(data_file=None, source=[str(package)], omit=search, config_file=False)
    plugin = Contexts(cov, load(folder).seconds)
    signal(SIGTERM, default_int_handler)
    cov.start()
    pytest.main(["-q", "-n", "0", "-p", "no:cacheprovider", *tests], plugins=[plugin])
    cov.stop()
    data = cov.get_data()
    lines: dict[str, dict[int, list[str]]] = {}
    for name in data.measured_files():
        found = {
            line: [t for t in ids if t in plugin.seconds and t not in plugin.failed]
            for line, ids in data.contexts_by_lineno(name).items()
        }
        lines[str(Path(name).relative_to(ROOT))] = {line: ids for line, ids in found.items() if ids}
    text = json.dumps({"lines": lines, "seconds": plugin.seconds})
    (folder / f"{time_ns()}.json").write_text(text, encoding="utf-8")
    print(f"left out, since they fail: {sorted(plugin.failed)}" if plugin.failed else "none failed")


@dataclass(frozen=True, slots=True)
class Reached:
    """The tests that ran each line of each file, the seconds each took, and how many files it reaches."""

    lines: dict[str, dict[int, frozenset[str]]]
    seconds: dict[str, float]
    files: Counter[str]

    def tests(
        self, path: Path, lines: Iterable[int], below: Iterable[str], most: float, worth: Counter[str]
    ) -> list[str]:
        """Return the tests in some folders or files that ran one of the lines, as many as take `most`.

        First come those of most `worth`, then those in a file named for it, then the quick that reach little.
        """
        known, places, own = self.lines.get(str(path), {}), tuple(below), f"test_{path.stem}"
        found = {t for line in lines for t in known.get(line, ()) if t.startswith(places)}
        chosen: list[str] = []
        spent, cost = 0.0, {t: self.seconds[t] * self.files[t] for t in found}
        for test in sorted(found, key=lambda t: (-worth[t], own not in t, cost[t], t)):
            spent += self.seconds[test]
            if chosen and spent > most:
                break
            chosen.append(test)
        return chosen


def load(folder: Path) -> Reached:
    """Read all files that `record` wrote into a folder."""
    lines: defaultdict[str, defaultdict[int, frozenset[str]]] = defaultdict(lambda: defaultdict(frozenset))
    seconds: dict[str, float] = {}
    for file in sorted(folder.glob("*.json")):
        given = json.loads(file.read_text(encoding="utf-8"))
        seconds |= given["seconds"]
        for name, found in given["lines"].items():
            for line, ids in found.items():
                lines[name][int(line)] |= frozenset(ids)
    files = Counter(t for found in lines.values() for t in frozenset().union(*found.values()))
    return Reached({name: dict(found) for name, found in lines.items()}, seconds, files)


if __name__ == "__main__":
    record(Path(sys.argv[1]).absolute(), sys.argv[2:])
