"""One command run under `strace` with a call that fails or kills, and what is wrong after it."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from stockyard import yard
from stockyard.errors import StockyardError
from stockyard.yard import backup, exchange
from stockyard.yard.check import check
from tests.yard.shop import make_shop, plan_for, whole

# Where the runs have their folders: in memory if the machine has such a place, for the calls are the same.
SPACE = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
COMMANDS: dict[str, list[str]] = {
    "new": ["yard", "new", "--yard", "{folder}/made.db"],
    "import": ["yard", "import", "{folder}/all.json", "--yard", "{folder}/made.db"],
    "restore": ["yard", "restore", "{folder}/kept.db", "--yes"],
    "restore anew": ["yard", "restore", "{folder}/kept.db", "--yes", "--yard", "{folder}/made.db"],
    "backup": ["yard", "backup"],
    "named backup": ["yard", "backup", "{folder}/copy.db"],
    "export": ["yard", "export", "{folder}/out.json"],
    "export tables": ["yard", "export", "{folder}/out"],
    "shelve": ["shelve", "birch ply", "--at", "R2", "--offcut", "500 x 400", "--labels", "{folder}/l.pdf"],
    "cut": ["cut", "{sheet}"],
    "undo": ["undo", "--yes"],
    "count": ["count", "R1-B2-S3", "--done", "--empty", "--yes"],
    "plan": ["plan", "kitchen", "--seconds", "0.1"],
    "papers": ["papers", "kitchen", "--out", "{folder}/papers"],
    "route": ["route", "{folder}/problem.json", "{folder}/routed.json", "--to", "{folder}/drawn"],
}
OLDER = b"drawn before"
"""What lies under the names of the drawings before they are made."""
# Those that change the yard.
DEEDS = {"shelve", "cut", "plan", "undo", "count"}
ENDS = {0, 1, 2, 3}
KILLED = (-signal.SIGKILL, 128 + signal.SIGKILL)


@dataclass(frozen=True, slots=True)
class Point:
    """One run: the n-th call of a name fails with `error`, or the process is killed there."""

    command: str
    kind: str
    call: str
    error: str
    n: int

    def how(self) -> str:
        """Return the kind of call and how it goes wrong, in words."""
        return f"{self.kind} {self.error}"

    def tampering(self) -> list[str]:
        """Return the words by which strace does it."""
        how = "signal=KILL" if self.error == "kill" else f"error={self.error}"
        # strace 6.1 sends no signal at a call that it sees by a filter alone.
        filtered = [] if self.error == "kill" else ["--seccomp-bpf"]
        return [*filtered, "-e", f"trace={self.call}", "-e", f"inject={self.call}:{how}:when={self.n}"]


def prepare(folder: Path) -> None:
    """Make the shop that every run begins with: a plan, a backup, an export."""
    shop = make_shop(folder / "yard.db")
    plan_for(shop, shop.sheets[0])
    backup.make(shop.yard, folder / "kept.db")
    exchange.export_json(shop.yard, folder / "all.json")
    shop.yard.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    (folder / "sheet").write_text(shop.sheets[0].tag)
    stock = {"id": "S", "kind": "offcut", "material": "ply", "length": 900, "width": 500, "count": 3}
    panel = {"id": "panel", "length": 700, "width": 400}
    problem = {"method": "router", "kerf": 6, "stock": [stock], "parts": [panel | {"count": 3}]}
    laid = {"stock": "S", "parts": [{"id": "panel", "x": 0, "y": 0, "dx": 700, "dy": 400}], "leftovers": []}
    (folder / "problem.json").write_text(json.dumps(problem))
    (folder / "routed.json").write_text(json.dumps({"unit": "mm", "layouts": [laid] * 3}))
    (folder / "drawn").mkdir()
    for n in (1, 2, 3):
        (folder / "drawn" / f"sheet {n} S mm.dxf").write_bytes(OLDER)
    shop.yard.close()


def run(folder: Path, words: list[str], strace: list[str]) -> subprocess.CompletedProcess[str]:
    """Run the command as a person would, under strace; what Python does as it starts is not counted."""
    sheet = (folder / "sheet").read_text()
    env = os.environ | {
        "STOCKYARD_YARD": str(folder / "yard.db"), "PYTHONPATH": os.pathsep.join(sys.path),
        "PYTHONDONTWRITEBYTECODE": "1", "PYTHONNOUSERSITE": "1",
        "HOME": str(folder), "XDG_CACHE_HOME": str(folder / "cache"), "STOCKYARD_INTERPRET": "1",
    }  # fmt: skip
    return subprocess.run(
        ["strace", "-f", "-qq", "-o", str(folder / "calls"), *strace,
         sys.executable, "-P", "-m", "stockyard", *(w.format(folder=folder, sheet=sheet) for w in words)],
        capture_output=True, text=True, errors="backslashreplace", check=False, env=env, cwd="/", timeout=300,
    )  # fmt: skip


def faults(template: Path, point: Point, ends: Counter[str]) -> list[str]:
    """Run one point; return what was wrong after it, and count in `ends` how the command ended."""
    with tempfile.TemporaryDirectory(dir=SPACE) as name:
        folder = Path(name) / "shop"
        shutil.copytree(template, folder)
        with yard.open(folder / "yard.db") as y:
            before = whole(y)
        done = run(folder, COMMANDS[point.command], point.tampering())
        ended = "killed" if done.returncode in KILLED else f"exit {done.returncode}"
        went_wrong = "killed by SIGKILL" if point.error == "kill" else "(INJECTED)"
        calls = (folder / "calls").read_text(errors="replace")
        ends[ended if went_wrong in calls else "call not made"] += 1
        return list(_faults(folder, point, done, before))


def _faults(
    folder: Path, point: Point, done: subprocess.CompletedProcess[str], before: object
) -> Iterator[str]:
    said = done.stdout + done.stderr
    if "\\x" in said:
        yield f"bytes that are no text: {said[-300:]}"
    if "Traceback" in said or "fault of stockyard" in said or "Exception ignored" in said:
        yield f"a traceback: {said[-300:]}"
    killed = done.returncode in KILLED
    if done.returncode not in ENDS and not killed:
        yield f"ended with {done.returncode}: {said[-200:]}"
    if done.returncode in (1, 2) and not done.stderr.strip() and point.kind != "write":
        yield "failed without a word"
    # There is always a yard, and it is whole.
    after: object = None
    try:
        with yard.open(folder / "yard.db") as y:
            after = whole(y)
            for difference in check(y):
                yield f"the yard is not true: {difference.what}"
    except StockyardError as error:
        yield f"there is no yard: {error}"
    succeeded = done.returncode == 0
    if after == before and succeeded and point.command in DEEDS:
        yield "said to be done, and is not"
    if after != before and point.command not in DEEDS | {"backup", "papers"}:
        yield "another yard than before"
    told = re.search(r"recorded all the same: entry", done.stderr)
    if after != before and done.returncode in (1, 2) and not told and not killed:
        yield f"a deed that was not told: {said[-300:]}"
    yield from _made(folder, point, succeeded)


def _made(folder: Path, point: Point, succeeded: bool) -> Iterator[str]:
    """Look at what the command was to make: it is whole, or it is not there."""
    copies = [folder / "made.db", folder / "copy.db", *(folder / "yard.db.backups").glob("*.db")]
    copies += folder.glob("yard-before-restore*.db")
    for made in copies:
        if made.exists():
            with closing(sqlite3.connect(made)) as db:
                if db.execute("PRAGMA integrity_check").fetchone() != ("ok",):
                    yield f"{made.name} is damaged"
    wanted = {
        "new": "made.db", "import": "made.db", "restore anew": "made.db", "named backup": "copy.db",
        "export": "out.json", "export tables": "out", "shelve": "l.pdf", "papers": "papers",
        "route": "drawn",
    }  # fmt: skip
    if succeeded and point.command in wanted and not (folder / wanted[point.command]).exists():
        yield f"said to be done, but there is no {wanted[point.command]}"
    for export in (folder / "out.json", folder / "out"):
        if export.exists():
            try:
                exchange.import_yard(export, folder / "again.db")
                (folder / "again.db").unlink()
            except StockyardError as error:
                yield f"{export.name} is half an export: {error}"
    if (folder / "l.pdf").exists() and not (folder / "l.pdf").read_bytes().rstrip().endswith(b"%%EOF"):
        yield "half a paper"
    drawn = [path.read_bytes() for path in (folder / "drawn").glob("*.dxf")]
    if point.command == "route" and point.error != "kill" and len(drawn) < 3:
        yield "a drawing is lost"
    if len({data == OLDER for data in drawn}) > 1:
        yield "drawings of before and of now"
    if not all(data == OLDER or data.rstrip().endswith(b"EOF") for data in drawn):
        yield "half a drawing"
    if point.error != "kill":
        left = [p.name for p in folder.rglob(".*") if p.is_file() and "cache" not in str(p)]
        if left and point.kind != "name":
            yield f"drafts left: {left}"
