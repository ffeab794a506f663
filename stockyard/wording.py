"""Words that every room writes alike."""

from __future__ import annotations

from collections.abc import Sequence


def count(n: int, thing: str) -> str:
    """Write `1 offcut`, `3 offcuts`, `no offcuts`."""
    return f"{n or 'no'} {thing}{'' if n == 1 else 's'}"


def runs(numbers: list[int]) -> str:
    """Write rising numbers as 1, 3–5, 8."""
    found: list[list[int]] = []
    for n in numbers:
        if found and found[-1][-1] == n - 1:
            found[-1].append(n)
        else:
            found.append([n])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in found)


def listed(numbers: Sequence[str]) -> str:
    """Write the numbers of copies: whole ones in runs, others (`2a`) one by one."""
    if all(n.isdecimal() for n in numbers):
        return runs(sorted(int(n) for n in numbers))
    return ", ".join(numbers)
