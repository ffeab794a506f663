"""Parts as a person names them after a cut: by name and number as the card shows them, or how many."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from stockyard.desk.cards import drawn_parts
from stockyard.desk.papers import lines_of
from stockyard.desk.stored_layouts import layouts_of
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_MM, Length, read_size, show
from stockyard.wording import runs
from stockyard.yard import Yard, jobs
from stockyard.yard.model import Piece
from stockyard.yard.planned import GivenPart
from stockyard.yard.plans import plan_by_id

# A size as written on a card is rounded to what the fence is set to.
_ROUNDED = TICKS_PER_MM
_NUMBERS = re.compile(r"(?P<name>.*\S)\s+(?P<numbers>\d{1,6}(\s*[-–,]\s*\d{1,6})*)")
_COUNTED = re.compile(r"(?P<count>\d{1,6})\s*[:x×]\s*(?P<name>[^:]*[^:\s])\s*(:(?P<size>.*))?")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the plan wants from a piece, as its card shows it: the numbers of each part that lies on it.

    `sizes` are those of all parts of the job, so that one that was not planned for this piece counts too.
    """

    tag: str
    numbers: Mapping[str, tuple[int, ...]]
    sizes: Mapping[str, tuple[Length, Length]]


def wanted_from(yard: Yard, p: Piece) -> Wanted | None:
    """Return what its plan wants from a piece, or wanted when it was cut; None where no plan names it."""
    if p.plan_id is None:
        return None
    plan = plan_by_id(yard, p.plan_id)
    job = jobs.job_by_id(yard, plan.job_id)
    sizes = {name: (part.length, part.width) for name, part in jobs.named_parts(job)}
    numbers: dict[str, tuple[int, ...]] = {}
    if all(part.name in sizes for x in plan.layouts for part in x.placed):
        drawn = drawn_parts(layouts_of(plan.layouts), lines_of(yard, job, plan), plan.layouts)
        for x, parts in zip(plan.layouts, drawn, strict=True):
            if x.tag == p.tag:
                names = dict.fromkeys(d.line for d in parts)
                numbers = {n: tuple(sorted(d.number for d in parts if d.line == n)) for n in names}
    return Wanted(p.tag, numbers, sizes)


def parts_given(wanted: Wanted, texts: Sequence[str], yard: Yard) -> list[GivenPart]:
    """Return the parts that texts name: 'side 3', 'side 1-3', 'side' for all of it on the card, '2:side'.

    Raises:
        BadInput: no such part or number, a size that is not the part's, or a number named twice.
    """
    counts: Counter[str] = Counter()
    seen: set[tuple[str, int]] = set()
    for text in texts:
        name, numbers, n = _read(wanted, text, yard)
        if doubled := seen & {(name, k) for k in numbers}:
            raise BadInput(f"{name} {min(k for _, k in doubled)} is named twice")
        seen |= {(name, k) for k in numbers}
        counts[name] += n
    return [
        GivenPart(name=name, length=wanted.sizes[name][0], width=wanted.sizes[name][1], count=n)
        for name, n in counts.items()
    ]


def _read(wanted: Wanted, text: str, yard: Yard) -> tuple[str, tuple[int, ...], int]:
    """Return the part a text names, its numbers where it names some, and how many."""
    if (name := _known(wanted, text)) is not None:
        numbers = wanted.numbers.get(name, ())
        if not numbers:
            raise BadInput(f"{name} is not on the card of {wanted.tag}: say how many, such as '1:{name}'")
        return name, numbers, len(numbers)
    if found := _NUMBERS.fullmatch(text.strip()):
        name = _known(wanted, found["name"])
        if name is not None:
            numbers = tuple(_each(found["numbers"]))
            for number in numbers:
                if number not in wanted.numbers.get(name, ()):
                    raise BadInput(f"{name} {number} is not on the card of {wanted.tag}: {_on_card(wanted)}")
            return name, numbers, len(numbers)
    if found := _COUNTED.fullmatch(text.strip()):
        name = _known(wanted, found["name"])
        if name is None:
            raise BadInput(f"no part is called '{found['name'][:40]}': the parts are {_names(wanted)}")
        if found["size"]:
            _refuse_other_size(wanted, name, found["size"], yard)
        if int(found["count"]) < 1:
            raise BadInput("a part is cut at least once")
        return name, (), int(found["count"])
    raise BadInput(f"no part is called '{text[:40]}': {_on_card(wanted) or _names(wanted)}")


def _known(wanted: Wanted, text: str) -> str | None:
    low = text.strip().casefold()
    return next((name for name in wanted.sizes if name.casefold() == low), None)


def _each(text: str) -> Iterator[int]:
    for one in re.split(r"\s*,\s*", text):
        first, _, last = (n.strip() for n in one.replace("–", "-").partition("-"))
        yield from range(int(first), min(int(last or first), int(first) + 10_000) + 1)


def _refuse_other_size(wanted: Wanted, name: str, text: str, yard: Yard) -> None:
    given, own = read_size(text, yard.unit), wanted.sizes[name]
    if any(abs(a - b) > _ROUNDED for a, b in zip(given, own, strict=True)):
        size = f"{show(own[0], yard.unit)} x {show(own[1], yard.unit)}"
        raise BadInput(
            f"{name} is {size}, not {text.strip()[:40]}: record one of another size as spoiled",
            "other size",
            {"part": name},
        )


def _on_card(wanted: Wanted) -> str:
    told = [f"{name} {runs([*numbers])}" for name, numbers in wanted.numbers.items()]
    return f"on the card are {'; '.join(told)}" if told else ""


def _names(wanted: Wanted) -> str:
    return ", ".join(wanted.sizes)
