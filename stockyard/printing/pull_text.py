"""The pull list for a terminal: the same walk in lines of text."""

from __future__ import annotations

from collections.abc import Iterator

from stockyard import figures
from stockyard.printing.papers import Lift, PullEntry, PullList, Stop
from stockyard.printing.pull_lines import NOTHING, band_text, known_of
from stockyard.printing.step_rows import size_text


def pull_text(walk: PullList) -> str:
    """Return the pull list as text: places in walking order, then what to buy."""
    lines = [line for n, stop in enumerate(walk.stops, 1) for line in _stop(n, stop, walk)]
    if walk.buy:
        lines.append(" +  BUY")
    for line in walk.buy:
        size = size_text(line.length, line.width, walk.unit, walk.finest)
        offer = ", ".join(text for text in (line.price and f"{line.price} each", line.supplier) if text)
        lines.append(f"    [ ] {line.count} × {line.material} {size}" + (f"  {offer}" if offer else ""))
    if walk.bands and not walk.buy:
        lines.append(" +  BANDS")
    lines += [f"    [ ] {band_text(line, walk.unit)}" for line in walk.bands]
    return "\n".join([*(lines or [NOTHING]), *walk.cautions]) + "\n"


def _stop(n: int, stop: Stop, walk: PullList) -> Iterator[str]:
    yield f"{n:>2}  {stop.place}  ({stop.storage})"
    for entry in stop.entries:
        if entry.on_top:
            tags = ", ".join(lying.tag for lying in entry.on_top)
            yield f"        first lift off {len(entry.on_top)}, from the top down: {tags}"
        yield from _entry(entry, walk)
    if stop.put_back:
        yield f"    [ ] {stop.put_back}"


def _entry(entry: PullEntry, walk: PullList) -> Iterator[str]:
    size = size_text(entry.length, entry.width, walk.unit, walk.finest)
    full = "FULL " if entry.full else ""
    named = ", ".join(text for text in (entry.material, entry.measured) if text)
    yield f"    [ ] {entry.tag}  {full}{size} {named}  {_lift(entry.lift, walk)}"
    yield f"               {known_of(entry, walk.unit)}"


def _lift(lift: Lift, walk: PullList) -> str:
    weight = "not weighed" if lift.weight is None else figures.weight(lift.weight, walk.unit)
    return f"{weight}: {lift.advice}"
