"""How long labels take: process time after imports, 1,000 labels of mixed kinds a row.

python -m tests.bench.bench_printing
"""

from __future__ import annotations

import time
from collections.abc import Callable

from stockyard.printing.edge_labels import edge_labels_pdf
from stockyard.printing.layouts import layout_named
from stockyard.printing.part_labels import part_labels_pdf
from tests.printing.label_samples import edge_labels, part_labels

COUNT = 1000
LIMIT = 3.0


def seconds(work: Callable[[], bytes]) -> tuple[float, int]:
    """Return the process time of one run and the size of what it made."""
    start = time.process_time()
    made = work()
    return time.process_time() - start, len(made)


def main() -> None:
    """Print one table."""
    edges, parts = edge_labels(COUNT), part_labels(COUNT)
    # One of each loads reportlab and the typefaces, which is what "after imports" means.
    edge_labels_pdf(edges[:1], layout_named("letter-30"))
    part_labels_pdf(parts[:1], layout_named("letter-30"))
    print(f"{'what':12} {'layout':10} {'labels':>6} {'seconds':>8} {'limit':>6} {'kB':>7}")
    for n, name in enumerate(("letter-30", "a4-21", "a4-14", "tape", "roll-62", "4x6")):
        layout = layout_named(name)
        # A fresh lot each time: no code of an earlier row is known already.
        fresh = edge_labels(COUNT, seed=n + 2)
        rows: list[tuple[str, Callable[[], bytes]]] = [
            ("edge labels", lambda fresh=fresh, layout=layout: edge_labels_pdf(fresh, layout)),
            ("part labels", lambda layout=layout: part_labels_pdf(parts, layout)),
        ]
        for what, work in rows:
            took, size = seconds(work)
            print(f"{what:12} {name:10} {COUNT:6} {took:8.2f} {LIMIT:6.1f} {size / 1000:7.0f}")


if __name__ == "__main__":
    main()
