"""Every command made to fail, or killed, at a system call: nothing half-done, every success there.

`python -m tests.breaking.points [--most N] [--kept FILE] [COMMAND...]` runs the installed command under
`strace`, which answers the n-th call of a kind with an error or kills the process there (its manual,
"Tampering"), and prints a table of what came of it. Where there are more points than asked for, those of each
kind of call and error are taken evenly, the rare ones first. What is done is written to the file, and is not
done again by the next run with it. `--all` is 1,500 points over all commands.
"""

from __future__ import annotations

import argparse
import compileall
import json
import os
import re
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict
from pathlib import Path
from threading import Lock

import stockyard
from tests.breaking.looking import COMMANDS, SPACE, Point, faults, prepare, run

# How many `--all` are.
ALL = 1500
# Kinds of calls, and how each is made to go wrong; `kill` ends the process before the call is done.
KINDS = {
    "write": "write,pwrite64", "open": "openat", "sync": "fsync,fdatasync", "name": "rename,link,unlink",
    "size": "ftruncate", "mode": "chmod,fchmod,mkdir",
}  # fmt: skip
ERRORS = {
    "write": ("ENOSPC", "EIO"), "open": ("EACCES", "EMFILE"), "sync": ("EIO",), "name": ("EIO", "ENOSPC"),
    "size": ("EIO",), "mode": ("EPERM",),
}  # fmt: skip
Outcome = tuple[str, list[str]]
"""How a command ended, and what was wrong after it."""


def calls(template: Path, command: str) -> list[tuple[str, str, int]]:
    """Return (kind, name, number) of each call that touches our files rather than those of Python."""
    with tempfile.TemporaryDirectory(dir=SPACE) as name:
        folder = Path(name) / "shop"
        shutil.copytree(template, folder)
        done = run(
            folder, COMMANDS[command], ["--seccomp-bpf", "-y", "-e", f"trace={','.join(KINDS.values())}"]
        )
        assert done.returncode == 0, done.stderr
        lines = (folder / "calls").read_text(errors="replace").splitlines()
    kinds = {name: kind for kind, names in KINDS.items() for name in names.split(",")}
    seen: Counter[tuple[str, str]] = Counter()
    found = []
    for line in lines:
        m = re.match(r"(\d+)\s+(\w+)\(", line)
        if m:
            # strace counts the calls of each name in each thread by themselves.
            seen[m[1], m[2]] += 1
            if str(folder) in line or re.match(r"write\([12]<", line[m.start(2) :]):
                found.append((kinds[m[2]], m[2], seen[m[1], m[2]]))
    return list(dict.fromkeys(found))


def points(template: Path, command: str) -> Iterator[Point]:
    """Yield every point of one command."""
    for kind, call, n in calls(template, command):
        for error in (*ERRORS[kind], "kill"):
            yield Point(command, kind, call, error, n)


def shares(counts: Mapping[str, int], most: int) -> dict[str, int]:
    """Share out at most so many evenly among kinds that have so many each; the rare ones are all taken."""
    given: dict[str, int] = {}
    for kind, count in sorted(counts.items(), key=lambda found: found[1]):
        given[kind] = min(count, (most - sum(given.values())) // (len(counts) - len(given)))
    return given


def some(every: Sequence[Point], most: int) -> list[Point]:
    """Return at most so many points of a command, in their order: evenly of each kind of call and error."""
    chosen: set[Point] = set()
    for kind, share in shares(Counter(p.how() for p in every), most).items():
        of_kind = [p for p in every if p.how() == kind]
        chosen.update(of_kind[i * len(of_kind) // share] for i in range(share))
    return [p for p in every if p in chosen]


def chosen(template: Path, commands: Sequence[str], most: int | None, each: int) -> list[Point]:
    """Return the points to try: `each` of a command, or `most` of all shared out among the commands."""
    every = {command: list(points(template, command)) for command in commands}
    share = shares({c: len(found) for c, found in every.items()}, most) if most else {}
    return [p for c, found in every.items() for p in some(found, share.get(c, each))]


def read(kept: Path) -> tuple[list[Point], dict[Point, Outcome]]:
    """Return the points that a file was begun with, and what came of those that were tried."""
    first, *lines = kept.read_text().splitlines()
    begun = [Point(**fields) for fields in json.loads(first)]
    tried = {begun[n]: (end, wrong) for n, end, wrong in map(json.loads, lines)}
    return begun, tried


def try_them(template: Path, kept: Path, workers: int) -> None:
    """Try the points of a file that were not tried yet, a few at a time, and write what comes of each."""
    begun, tried = read(kept)
    writing = Lock()

    def one(n: int) -> None:
        ends: Counter[str] = Counter()
        wrong = faults(template, begun[n], ends)
        with writing, kept.open("a") as file:
            file.write(json.dumps([n, *ends, wrong]) + "\n")
        for fault in wrong:
            print(f"{begun[n]}: {fault}", flush=True)

    with ThreadPoolExecutor(workers) as pool:
        list(pool.map(one, [n for n, p in enumerate(begun) if p not in tried]))


def table(tried: Mapping[Point, Outcome]) -> Iterator[str]:
    """Yield the lines of a table: a command a line, how its runs ended, and how often something was wrong."""
    ends = sorted({end for end, _ in tried.values()})
    yield f"| command | points | {' | '.join(ends)} | faults |"
    yield f"|---|{'---:|' * (len(ends) + 2)}"
    for command in [*dict.fromkeys(p.command for p in tried), ""]:
        of_it = [came for p, came in tried.items() if command in ("", p.command)]
        ended = Counter(end for end, _ in of_it)
        faulty = sum(bool(wrong) for _, wrong in of_it)
        figures = [len(of_it), *(ended[end] for end in ends), faulty]
        yield f"| {command or 'all'} | {' | '.join(map(str, figures))} |"


def main() -> None:
    """Try the points and print what came of them."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("commands", nargs="*", default=list(COMMANDS))
    asked.add_argument("--most", type=int, default=10**9, help="at most so many of a command")
    asked.add_argument("--all", action="store_true", help=f"{ALL} shared out among the commands")
    asked.add_argument("--kept", type=Path, help="a file of what was tried; what it has is not done again")
    asked.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    given = asked.parse_args()
    if shutil.which("strace") is None:
        sys.exit("this needs strace")
    compileall.compile_dir(stockyard.__path__[0], quiet=2)
    with tempfile.TemporaryDirectory(dir=SPACE) as name:
        template = Path(name) / "shop"
        template.mkdir()
        prepare(template)
        kept = given.kept or Path(name) / "kept"
        if not kept.exists():
            wanted = chosen(template, given.commands, ALL if given.all else None, given.most)
            kept.write_text(json.dumps([asdict(p) for p in wanted]) + "\n")
        try_them(template, kept, given.workers)
        print("\n".join(table(read(kept)[1])))


if __name__ == "__main__":
    main()
