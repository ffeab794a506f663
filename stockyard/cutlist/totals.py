"""Totals that a list gives itself, compared with the parts above them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

from stockyard.cutlist.draft import Draft
from stockyard.cutlist.model import Remark


@dataclass(slots=True)
class Totals:
    """The totals of a list so far: (line, value, how many parts stand above it)."""

    found: list[tuple[int, int, int]] = field(default_factory=list)

    def note(self, line: int, value: int, above: int) -> None:
        """Keep a total."""
        self.found.append((line, value, above))

    def checked(
        self, drafts: Sequence[Draft], unclear: Collection[int]
    ) -> tuple[list[Remark], list[tuple[int, str]]]:
        """Compare each total with all parts above it, or with those since the last one.

        `unclear` are the lines still open. Returns warnings, and lines with what else is said of them.
        """
        warnings, agreed = [], []
        since = 0
        for line, value, upto in self.found:
            counts = [d.count for d in drafts[:upto]]
            sums = {sum(c or 0 for c in some) for some in (counts, counts[since:])}
            if None in counts or any(n < line for n in unclear):
                why = f"the total of {value} cannot be checked: lines above are unclear"
                warnings.append(Remark(line, why))
            elif value in sums:
                agreed.append((line, f"a total of {value}, and it agrees"))
            else:
                made = " or ".join(str(s) for s in sorted(sums))
                warnings.append(Remark(line, f"the total says {value}, the parts above make {made}"))
            since = upto
        return warnings, agreed
