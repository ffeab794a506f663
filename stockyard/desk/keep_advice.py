"""Keep or bin, tidy-up and keep-sizes for a yard: its own past cut lists put before the advice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from stockyard.advice.fitting import fit_worth
from stockyard.advice.keeping import (
    BOARD_PRIOR,
    SHEET_PRIOR,
    Outlook,
    PastJob,
    PastPart,
    Verdict,
    judge,
    rivals_of,
    size_class,
)
from stockyard.advice.shelving import fill
from stockyard.advice.tidying import Clear, Shelved, tidy_list
from stockyard.desk.shelve_advice import spots
from stockyard.flaws import biggest_clear
from stockyard.kinds import Grain, Kind
from stockyard.measure import Length, read_size
from stockyard.settings import Settings
from stockyard.settings_said import called, recorded
from stockyard.settings_text import show_value
from stockyard.yard.accepted import accepts
from stockyard.yard.jobs import jobs
from stockyard.yard.materials import material, materials, named
from stockyard.yard.model import Form, Job, JobPart, Material, Piece, State
from stockyard.yard.offers import offers
from stockyard.yard.pieces import by_tag, on_hand
from stockyard.yard.places import places
from stockyard.yard.shop import change_settings
from stockyard.yard.store import Yard, on_one_state


@dataclass(frozen=True, slots=True)
class Advice:
    """The verdict on one size of a material, and what new material it would save, if a price is known."""

    material: str
    length: int
    width: int
    verdict: Verdict
    saves_money: int | None


def days_between(earlier: str, later: str) -> int:
    """Return whole days between two UTC times as the yard writes them."""
    start, end = (datetime.fromisoformat(t[:10]) for t in (earlier, later))
    return max(0, (end - start).days)


def outlooks(yard: Yard, wanted: Sequence[Material]) -> dict[str, Outlook]:
    """Return what the past cut lists say of each material, by its title."""
    past = jobs(yard)
    days = days_between(min((j.created_at for j in past), default=yard.clock()), yard.clock())
    return {m.title: _outlook(m, past, days, yard.settings.keep_days) for m in wanted}


def _outlook(own: Material, past: Sequence[Job], days: int, horizon: int) -> Outlook:
    wanted = [tuple(_past_part(p, own) for p in job.parts if accepts(p, own)) for job in past]
    prior = BOARD_PRIOR if own.form is Form.BOARD else SHEET_PRIOR
    return Outlook([PastJob(parts) for parts in wanted if parts], days, horizon, prior)


def _past_part(part: JobPart, own: Material) -> PastPart:
    sides = (part.width, part.length) if part.grain is Grain.ACROSS else (part.length, part.width)
    return PastPart(*sides, part.count, turns=not own.grain or part.grain is Grain.ANY)


@on_one_state
def keep_or_bin(yard: Yard, own: Material, length: int, width: int, *, tag: str = "") -> Advice:
    """Return the verdict on a leftover of that size; `tag` is the piece itself when it has one."""
    racked = on_hand(yard, states=(State.RACKED, State.BENCH))
    rack = [
        (p.length, p.width)
        for p in racked
        if p.material_id == own.id and p.kind is Kind.OFFCUT and p.tag != tag
    ]
    outlook = outlooks(yard, (own,))[own.title]
    rivals = rivals_of(length, width, rack)
    verdict = judge(
        outlook, Length(length), Length(width), rivals, pull_area=yard.settings.pull_area, unit=yard.unit
    )
    price = price_per_area(yard, own)
    return Advice(
        own.title, length, width, verdict, None if price is None else round(price * verdict.use.saves)
    )


def keep_piece(yard: Yard, tag: str) -> Advice:
    """Return the verdict on a piece.

    Raises:
        BadInput: no piece has that tag.
    """
    with yard.reading():
        piece = by_tag(yard, tag)
        clear = biggest_clear(piece.flaws, piece.length, piece.width) or piece.flaws[0]
        return keep_or_bin(yard, material(yard, piece.material_id), clear.dx, clear.dy, tag=piece.tag)


def keep_size(yard: Yard, words: str, size: str) -> Advice:
    """Return the verdict on a leftover of a size, as typed, of the material that `words` name.

    Raises:
        BadInput: no such material, or no size.
    """
    with yard.reading():
        return keep_or_bin(yard, named(yard, words), *read_size(size, yard.unit))


def price_per_area(yard: Yard, own: Material) -> float | None:
    """Return today's lowest price of new material, money steps per square tick; None when not on sale."""
    return min((o.price / (o.length * o.width) for o in offers(yard, own.id)), default=None)


@on_one_state
def tidy(yard: Yard, *, limit: int | None = None) -> tuple[Clear, ...]:
    """Return what to clear first."""
    racked = on_hand(yard, states=(State.RACKED, State.PROMISED))
    known = materials(yard)
    titles = {m.id: m.title for m in known}
    codes = {p.id: p.code for p in places(yard)}
    fills = {spot.code: fill(spot) for spot in spots(yard, racked)}
    now = yard.clock()
    free = [p for p in racked if p.kind is Kind.OFFCUT and p.state is State.RACKED]
    shelved = [_shelved(p, titles, codes, fills, now) for p in free]
    return tidy_list(
        shelved,
        outlooks(yard, known),
        horizon=yard.settings.keep_days,
        pull_area=yard.settings.pull_area,
        limit=limit,
        unit=yard.unit,
    )


def _shelved(
    p: Piece, titles: Mapping[int, str], codes: Mapping[int, str], fills: Mapping[str, int | None], now: str
) -> Shelved:
    code = codes[p.place_id or 0]
    return Shelved(
        tag=p.tag, material=titles[p.material_id], place=code, length=p.length, width=p.width,
        age=days_between(p.shelved_at, now), depth=p.depth, cost=p.cost, fill=fills[code],
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class LearnedLine:
    """A setting as it is now and as the past jobs suggest it, both in words."""

    name: str
    now: str
    learned: str


@dataclass(frozen=True, slots=True)
class Learned:
    """The keep-sizes that the past jobs suggest, and the settings that would hold them."""

    lines: tuple[LearnedLine, ...]
    settings: Settings


def keep_sizes(yard: Yard) -> Learned:
    """Return which sheet leftovers the past cut lists say are worth keeping, beside the settings."""
    with yard.reading():
        now, learned, unit = yard.settings, learned_settings(yard), yard.unit
    names = ("keep_short_side", "keep_area", "whole_area", "keep_floor")
    shown = ((n, [show_value(n, getattr(s, n), unit) for s in (now, learned)]) for n in names)
    return Learned(tuple(LearnedLine(called(n), *values) for n, values in shown), learned)


def use_sizes(yard: Yard, learned: Learned) -> None:
    """Make the suggested keep-sizes the shop's settings: one deed.

    Raises:
        Refused: they are so already.
    """
    values = {n: getattr(learned.settings, n) for n in (recorded(line.name) for line in learned.lines)}
    change_settings(yard, replace(yard.settings, **values))


@on_one_state
def learned_settings(yard: Yard) -> Settings:
    """Return the settings with the keep-sizes of sheets as the past cut lists and the full racks suggest.

    Materials count that past jobs used; without any the settings come back unchanged.
    """
    sheets = {m.id: m for m in materials(yard) if m.form is Form.SHEET}
    found = outlooks(yard, tuple(sheets.values()))
    every = [(title, o) for title, o in found.items() if o.past_jobs]
    settings = yard.settings
    if not every:
        return settings
    racked: dict[tuple[str, tuple[int, int]], int] = {}
    for p in on_hand(yard, states=(State.RACKED, State.BENCH)):
        if p.kind is Kind.OFFCUT and p.material_id in sheets:
            line = (sheets[p.material_id].title, size_class(p.length, p.width))
            racked[line] = racked.get(line, 0) + 1
    worth = fit_worth(
        [o for _, o in every],
        lambda number, length, width: racked.get((every[number][0], size_class(length, width)), 0),
        pull_area=settings.pull_area,
    )
    return replace(
        settings, keep_short_side=worth.keep_short_side, keep_area=worth.keep_area,
        whole_area=max(worth.whole_area, worth.keep_area), keep_floor=worth.floor,
    )  # fmt: skip
