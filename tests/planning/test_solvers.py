"""The solvers of OR-Tools behave inside a command: Ctrl-C stays ours, and threads may start them together."""

from __future__ import annotations

import subprocess
import sys

CTRL_C = """
import os, signal, time
from ortools.sat.python import cp_model
from stockyard.planning.solvers import constraint_solver, linear_programme
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell starts what runs behind without it
constraint_solver().solve(cp_model.CpModel())
linear_programme().Solve()
try:
    os.kill(os.getpid(), signal.SIGINT)
    time.sleep(5)
except KeyboardInterrupt:
    print("ours")
"""
TOGETHER = """
from threading import Barrier, Thread
from stockyard.planning.solvers import constraint_solver, linear_programme
ready = Barrier(8)
def start(make):
    ready.wait()
    make()
threads = [Thread(target=start, args=(m,)) for m in (constraint_solver, linear_programme) * 4]
for t in threads: t.start()
for t in threads: t.join()
print("ours")
"""


def run(code: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)


def test_ctrl_c_still_reaches_us_after_a_solve() -> None:
    assert run(CTRL_C).stdout == "ours\n"


def test_threads_may_start_the_solvers_together() -> None:
    for _ in range(3):
        done = run(TOGETHER)
        assert (done.returncode, done.stdout) == (0, "ours\n"), done.stderr


def test_what_compiled_code_prints_in_a_child_does_not_reach_standard_output() -> None:
    """Solvers print from their own depths; the plan goes to where standard output was before."""
    program = (
        "import ctypes, os\n"
        "from stockyard.planning.hunting.serve import at_ease\n"
        "out = os.dup(1)\n"
        "at_ease()\n"
        "ctypes.CDLL(None).puts(b'noise')\n"
        "ctypes.CDLL(None).fflush(None)\n"
        "os.write(out, b'plan')\n"
    )
    done = run(program)
    assert (done.stdout, "noise" in done.stderr) == ("plan", True)
