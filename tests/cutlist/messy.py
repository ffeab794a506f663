"""Writes lists as people scribble them, from parts it knows; and spoils texts as hands and scanners do."""

from __future__ import annotations

import random
from dataclasses import dataclass
from fractions import Fraction

from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit

NAMES = (
    "side", "shelf", "drawer front", "back", "TOP", "kick board", "D1-L", "rail", "stile, left", "leg",
    "Seite", "Boden", "fixed shelf", "panel A", "door", "",
)  # fmt: skip
COUNTS = ("{n} ea", "({n})", "{n} pcs", "{n} off", "{n}", "{word}", "{n}x", "qty {n}", "{n} @")
WORDS = {1: "one", 2: "two", 3: "three", 4: "four", 6: "six", 12: "twelve"}
GLYPHS = " ⅛¼⅜½⅝¾⅞"
JOINTS = (" x ", "x", " X ", " × ", " by ", "*")
SPOILING = "0123456789 .,;:-–/'\"xX×@()lIO½¾#|\t\n=+abzLWé–“”’\u00a0\u200b２"


@dataclass(frozen=True, slots=True)
class Known:
    """A part as it is meant: sizes in ticks."""

    count: int
    first: int
    second: int


def inches(rng: random.Random, eighths: int) -> str:
    """Write eighths of an inch in one of the ways people do."""
    whole, rest = divmod(eighths, 8)
    if not rest:
        return str(whole)
    f = Fraction(rest, 8)
    fraction = f"{f.numerator}/{f.denominator}"
    forms = (f"{whole}-{fraction}", f"{whole} {fraction}", f"{whole}{GLYPHS[rest]}", f"{eighths / 8:g}")
    return rng.choice(forms)


def size(rng: random.Random, unit: Unit) -> tuple[str, int]:
    """Return a size as text and in ticks."""
    if unit is Unit.INCH:
        eighths = rng.randrange(17, 640)
        return inches(rng, eighths) + rng.choice(("", "", '"', "”")), eighths * TICKS_PER_INCH // 8
    tenths = rng.choice((rng.randrange(101, 2500) * 10, rng.randrange(1010, 25000)))
    whole, rest = divmod(tenths, 10)
    text = f"{whole}" + (rng.choice((".", ",")) + str(rest) if rest else "")
    return text + rng.choice(("", "", " mm", "mm")), tenths * TICKS_PER_MM // 10


def free_line(rng: random.Random, unit: Unit) -> tuple[str, Known]:
    """Return one line for one part."""
    n = rng.choice(list(WORDS))
    a, first = size(rng, unit)
    b, second = size(rng, unit)
    joint = rng.choice(JOINTS)
    count = rng.choice(COUNTS).format(n=n, word=WORDS[n])
    name = rng.choice(NAMES)
    body = f"{a}{joint}{b}"
    forms = [f"{count} {name}  {body}", f"{count} {body} {name}", f"{name} {count} {body}"]
    if rng.random() < 0.3:
        forms = [f"{name} {body} - {n} off", f"{name} {body} ({n})", f"{name}: {n} pcs {body}"]
    line = rng.choice(forms)
    tail = rng.choice(("", "", "", "  # check", " (see drawing)", ", oak", " (grain along)", " 2L1S"))
    return line + tail, Known(n, first, second)


def table(rng: random.Random, unit: Unit) -> tuple[list[str], list[Known | None]]:
    """Return the lines of a headed table, and what each one asks for."""
    delimiter = rng.choice(("\t", ";", "|", ","))
    heads = ["Part", "Qty", f"L ({unit.value})", f"W ({unit.value})", "Material"]
    order = list(range(5))
    rng.shuffle(order)
    lines, known = [delimiter.join(heads[i] for i in order)], [None]
    out: list[Known | None] = list(known)
    for _ in range(rng.randrange(1, 6)):
        a, first = size(rng, unit)
        b, second = size(rng, unit)
        if delimiter == ",":
            a, b = a.replace(",", "."), b.replace(",", ".")
        n = rng.randrange(1, 30)
        cells = [
            rng.choice(NAMES).replace(",", ""),
            str(n),
            a,
            b,
            rng.choice(("oak", "18 mm MDF", "", "birch ply")),
        ]
        lines.append(delimiter.join(cells[i] for i in order))
        out.append(Known(n, first, second))
    if rng.random() < 0.3:
        total = sum(k.count for k in out if k)
        cells = ["TOTAL", str(total), "", "", ""]
        lines.append(delimiter.join(cells[i] for i in order))
        out.append(None)
    return lines, out


def messy(rng: random.Random) -> tuple[str, Unit, list[Known | None]]:
    """Return a list, its unit, and what each of its lines asks for (None: nothing)."""
    unit = rng.choice((Unit.INCH, Unit.MM))
    lines: list[str] = []
    known: list[Known | None] = []
    for _ in range(rng.randrange(1, 5)):
        kind = rng.random()
        if kind < 0.25:
            more, parts = table(rng, unit)
            lines += [*more, ""]
            known += [*parts, None]
        elif kind < 0.45:
            lines.append(rng.choice(("Bench, 3/4 birch ply", "Doors", "18 mm MDF", "", "-----", "walnut:")))
            known.append(None)
        else:
            for _ in range(rng.randrange(1, 5)):
                line, part = free_line(rng, unit)
                lines.append(line)
                known.append(part)
    return "\n".join(lines), unit, known


def spoilt(rng: random.Random, text: str, *, keep_lines: bool = False) -> str:
    """Return the text with one to four characters changed, lost, doubled, moved or put in."""
    for _ in range(rng.randrange(1, 5)):
        at = rng.randrange(len(text) + 1)
        c = rng.choice(SPOILING)
        if keep_lines and (c == "\n" or "\n" in text[at : at + 2]):
            continue
        text = rng.choice((
            text[:at] + text[at + 1 :], text[:at] + c + text[at:], text[:at] + c + text[at + 1 :],
            text[:at] + text[at : at + 1] * 2 + text[at + 1 :],
            text[:at] + text[at + 1 : at + 2] + text[at : at + 1] + text[at + 2 :],
        ))  # fmt: skip
    return text
