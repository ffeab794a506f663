"""How fast the pages answer: `python -m tests.bench.bench_pages [--pieces N] [--jobs N] [--rounds N]`.

Serves an invented yard of that size from a process of its own and asks it with a real HTTP client: start to
first page, idle memory, each page's median and 99th percentile, then eight stations with 200 actions each.
"""

from __future__ import annotations

import argparse
import os
import re
import statistics
import tempfile
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from time import perf_counter

import httpx2 as httpx

from stockyard.desk import job_list, jobs, planning, racks, shop
from stockyard.desk.door import Yardkeeper
from stockyard.desk.racks import ToShelve, shelve
from tests.bench.yard_scale import build
from tests.page.conftest import small_yard
from tests.page.server import served
from tests.page.test_stations import STATIONS, Worker

LIST = "birch ply 18 mm\n4 sides 720 x 400\n6 shelves 600 x 300\n2 backs 800 x 600"
PAGES = (
    "/", "/lists", "/plan", "/pull", "/saw",
    "/racks", "/racks?q=500 x 600 birch", "/racks/place?code=R1-B1-S1", "/racks/shelve", "/piece/{tag}",
    "/books", "/books/prices", "/books/materials", "/books/settings", "/ledger",
    "/jobs/1", "/jobs/1/plan", "/jobs/1/pull", "/jobs/1/saw",
)  # fmt: skip


def memory(pid: int) -> float:
    """Return the resident memory of a process in MB."""
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def fill(path: Path, pieces: int, wanted: int) -> str:
    """Make the yard with its jobs, the first three planned; return the tag of a piece."""
    build(path, pieces, pieces)
    with Yardkeeper(path).open() as y:
        found = job_list.understand(y, LIST, job_list.Ways(first="along"))
        for n in range(wanted):
            jobs.add_job(y, f"job {n}", LIST, found.parts)
        for n in range(1, 4):
            planning.plan(y, str(n), planning.How(work=1))
        return racks.at_place(y, "R1-B1-S1")[0].tag


def first_page(path: Path) -> float:
    """Return the seconds from the command to its first page."""
    begun = perf_counter()
    with served(path) as (at, _):
        httpx.get(at + "/").raise_for_status()
        return perf_counter() - begun


def pages(path: Path, tag: str, rounds: int) -> None:
    """Print each page's times in milliseconds, and the memory before and after."""
    with served(path) as (at, process), httpx.Client(base_url=at) as client:
        client.get("/station")
        print(f"idle {memory(process.pid):.0f} MB")
        every: list[float] = []
        for page in PAGES:
            to, times = page.replace("{tag}", tag), []
            client.get(to).raise_for_status()
            for _ in range(rounds):
                begun = perf_counter()
                client.get(to).raise_for_status()
                times.append((perf_counter() - begun) * 1000)
            every += times
            print(f"{page:32} median {statistics.median(times):6.1f}  p99 {percentile(times):6.1f} ms")
        print(f"{'all':32} median {statistics.median(every):6.1f}  p99 {percentile(every):6.1f} ms")
        print(f"afterwards {memory(process.pid):.0f} MB")


def percentile(times: list[float]) -> float:
    """Return the 99th percentile."""
    return sorted(times)[min(len(times) - 1, int(len(times) * 0.99))]


def stations(folder: Path, actions: int) -> None:
    """Print how eight stations fare at once, and whether the ledger adds up afterwards."""
    keeper = small_yard(folder / "stations.db")
    with keeper.open() as y:
        shelve(y, ToShelve(material="birch ply", place="R2", offcut="400 x 300", count=40))
        tags = [p.tag for place in ("R1", "R2", "SLOTS") for p in racks.at_place(y, place)]
    times: list[float] = []
    with served(keeper.path) as (at, process):
        workers = [Timed(at, n, actions, times) for n in range(STATIONS)]
        begun = perf_counter()
        with ThreadPoolExecutor(STATIONS) as pool:
            list(pool.map(lambda w: w.work(tags), workers))
        took = perf_counter() - begun
        print(f"{STATIONS} stations x {actions}: {took:.1f} s, median {statistics.median(times):.0f} ms, "
              f"p99 {percentile(times):.0f} ms, {memory(process.pid):.0f} MB")  # fmt: skip
    print(f"answers {dict(sum((w.statuses for w in workers), Counter()))}")
    with keeper.open() as y:
        print(f"differences between ledger and yard: {len(shop.check(y)[0].differences)}")


class Timed(Worker):
    """A station that notes how long each action takes."""

    def __init__(self, at: str, number: int, actions: int, times: list[float]) -> None:
        super().__init__(at, number, actions)
        self.times = times

    def _one(self, tags: list[str]) -> None:
        begun = perf_counter()
        super()._one(tags)
        self.times.append((perf_counter() - begun) * 1000)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pieces", type=int, default=10_000)
    parser.add_argument("--jobs", type=int, default=200)
    parser.add_argument("--rounds", type=int, default=50)
    parser.add_argument("--actions", type=int, default=200)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        tag = fill(folder / "yard.db", given.pieces, given.jobs)
        print(f"{re.sub('_', ' ', f'{given.pieces:_}')} pieces, {given.jobs} jobs")
        print("to the first page " + ", ".join(f"{first_page(folder / 'yard.db'):.2f} s" for _ in range(3)))
        pages(folder / "yard.db", tag, given.rounds)
        stations(folder, given.actions)


if __name__ == "__main__":
    main()
