"""A list read again beside the parts a job has: what is added, taken away, changed or only renamed."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from stockyard.figures import typed_size
from stockyard.measure import Unit, show

# What tells parts apart, in the order in which it is told.
FIELDS = (
    "name", "count", "length", "width", "thickness_name", "materials", "grain", "bands", "band_material",
    "band_thickness", "finished_length", "finished_width", "note", "set_name", "set_run",
    "set_each", "batch", "over_length", "over_width", "final_thickness",
)  # fmt: skip
_SIZES = (
    "length", "width", "finished_length", "finished_width", "band_thickness", "over_length", "over_width",
    "final_thickness",
)  # fmt: skip
_SAID = {
    "length": "length", "width": "width", "thickness_name": "thickness", "materials": "material",
    "finished_length": "finished length", "finished_width": "finished width", "bands": "bands",
    "band_material": "band", "band_thickness": "band thickness", "set_name": "matched set",
    "set_run": "set runs", "set_each": "of it in a set", "over_length": "sawn longer by",
    "over_width": "sawn wider by", "final_thickness": "planed to",
}  # fmt: skip


class Part(Protocol):
    """A part of a job as far as telling it apart needs it; sizes in ticks."""

    @property
    def name(self) -> str: ...
    @property
    def count(self) -> int: ...
    @property
    def length(self) -> int: ...
    @property
    def width(self) -> int: ...
    @property
    def thickness_name(self) -> str | None: ...
    @property
    def materials(self) -> tuple[str, ...] | None: ...
    @property
    def grain(self) -> str: ...
    @property
    def bands(self) -> tuple[str, ...]: ...
    @property
    def band_material(self) -> str: ...
    @property
    def band_thickness(self) -> int | None: ...
    @property
    def finished_length(self) -> int | None: ...
    @property
    def finished_width(self) -> int | None: ...
    @property
    def note(self) -> str: ...
    @property
    def set_name(self) -> str: ...
    @property
    def set_run(self) -> str: ...
    @property
    def set_each(self) -> int: ...
    @property
    def batch(self) -> str: ...
    @property
    def over_length(self) -> int: ...
    @property
    def over_width(self) -> int: ...
    @property
    def final_thickness(self) -> int | None: ...


P = TypeVar("P", bound=Part)


@dataclass(frozen=True, slots=True)
class Changed(Generic[P]):
    """A part that both lists have, and in what it differs; `at` is its place among the old parts, from 0."""

    old: P
    new: P
    at: int
    fields: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Difference(Generic[P]):
    """The new list against the old one; `removed` and `changed` say where the old parts stood."""

    added: tuple[P, ...]
    removed: tuple[tuple[int, P], ...]
    changed: tuple[Changed[P], ...]

    def __bool__(self) -> bool:
        """Whether there is any difference."""
        return bool(self.added or self.removed or self.changed)


def diff(old: Sequence[P], new: Sequence[P]) -> Difference[P]:
    """Return how `new` differs from `old`; the order of the parts makes no difference.

    Equal parts belong together, then parts of one name that differ least, then parts that are cut alike.
    """
    left, right = dict(enumerate(old)), dict(enumerate(new))
    pairs: list[tuple[int, int]] = []
    for key in (_all, _name, _cut):
        by_key: dict[Hashable, list[int]] = {}
        for k, part in right.items():
            by_key.setdefault(key(part), []).append(k)
        candidates = sorted(
            (len(_fields(part, right[k])), i, k)
            for i, part in left.items()
            for k in by_key.get(key(part), ())
        )  # fmt: skip
        for _, i, k in candidates:
            if i in left and k in right:
                pairs.append((i, k))
                del left[i], right[k]
    changed = (Changed(old[i], new[k], i, _fields(old[i], new[k])) for i, k in sorted(pairs))
    return Difference(
        added=tuple(right.values()),
        removed=tuple(left.items()),
        changed=tuple(c for c in changed if c.fields),
    )


def _fields(a: Part, b: Part) -> tuple[str, ...]:
    return tuple(field for field in FIELDS if getattr(a, field) != getattr(b, field))


def _all(part: Part) -> Hashable:
    return tuple(getattr(part, field) for field in FIELDS)


def _name(part: Part) -> Hashable:
    return part.name.casefold()


def _cut(part: Part) -> Hashable:
    return part.length, part.width, part.thickness_name


def told(difference: Difference[P], unit: Unit) -> Iterator[str]:
    """Yield a line for each part that differs, sizes in `unit`."""
    for change in difference.changed:
        said = ", ".join(
            f"{_SAID.get(f, f)} {_value(change.old, f, unit)} -> {_value(change.new, f, unit)}"
            for f in change.fields
        )  # fmt: skip
        yield f"changed: {change.old.name}: {said}"
    for part in difference.added:
        yield f"new: {_whole(part, unit)}"
    for _, part in difference.removed:
        yield f"no longer there: {_whole(part, unit)}"


def _whole(part: Part, unit: Unit) -> str:
    made_of = " or ".join(part.materials or ("any material",))
    return f"{part.count} {part.name} {typed_size(part.length, part.width, unit)}, {made_of}"


def _value(part: Part, field: str, unit: Unit) -> str:
    value = getattr(part, field)
    if value in (None, "", ()):
        return "none"
    if field in _SIZES and value:
        return show(value, unit)
    return " or ".join(value) if isinstance(value, tuple) else str(value)
