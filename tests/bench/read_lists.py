"""How long cut lists take to read: `python -m tests.bench.read_lists` prints seconds per 10,000 lines."""

from __future__ import annotations

import random
import resource
import time

from stockyard.cutlist import read
from stockyard.measure import Unit
from tests.cutlist.messy import free_line

LINES = 10_000


def lists() -> dict[str, str]:
    """Return the lists to time: ordinary ones, and some made to be slow."""
    rng = random.Random(1)
    rows = (
        f"side {i}\t{i % 9 + 1}\t{i % 700 + 20}.5\t{i % 300 + 17} 1/2\t3/4\tbirch ply" for i in range(LINES)
    )
    return {
        "scribbled lines": "\n".join(free_line(rng, Unit.INCH)[0] for _ in range(LINES)),
        "a headed table": "Part\tQty\tL\tW\tT\tMat\n" + "\n".join(rows),
        "doubt on every line": "\n".join(["back 1 @ 29½ x 35 -1/8"] * LINES),
        "500 brackets a line": "\n".join(["(" * 500] * (LINES // 5)),
        "500 joints a line": "\n".join(["1x" * 250] * (LINES // 5)),
        "500 quotes and tabs a line": "\n".join(['"\t' * 250] * (LINES // 5)),
    }


def main() -> None:
    """Print one row a list."""
    print(f"{'list':28}{'lines':>8}{'seconds':>9}{'per 10,000':>12}{'rows':>8}{'asked':>8}{'MB':>6}")
    for name, text in lists().items():
        lines = text.count("\n") + 1
        begun = time.process_time()
        found = read(text, unit=Unit.INCH)
        taken = time.process_time() - begun
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
        asked = len(found.questions)
        per = taken / lines * 10_000
        print(f"{name:28}{lines:8}{taken:9.2f}{per:12.2f}{len(found.rows):8}{asked:8}{memory:6}")


if __name__ == "__main__":
    main()
