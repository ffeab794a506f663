"""Writes lists in the many ways people do, and keeps what each line asks for: the truth to read against."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from fractions import Fraction

from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit

NAMES = (
    "side", "shelf", "drawer front", "back", "TOP", "kick board", "D1-L", "rail", "stile", "leg", "divider",
    "fixed shelf", "panel A", "door", "end", "false front", "half shelf", "cleat", "web frame",
)  # fmt: skip
MATERIALS = ("birch ply", "MDF", "oak", "maple", "plywood", "red oak", "walnut ply", "hardboard", "poplar")
INCH_THICK = {"1/4": "quarter", "1/2": "half", "3/4": "three quarter", "5/8": "five eighths", "3/8": ""}
MM_THICK = ("6", "9", "12", "15", "18", "19")
NUMBERS = (
    "", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip
TENS = {20: "twenty", 30: "thirty", 40: "forty"}
GLYPHS = {2: "½", 1: "¼", 3: "¾"}
NOTES = ("see sketch", "for the hall", "loose", "to be painted", "scribe to wall")
BANDS = {
    "1L": ("L1",), "2L": ("L1", "L2"), "2L1W": ("L1", "L2", "W1"), "L1": ("L1",), "2L 1W": ("L1", "L2", "W1"),
    "edged all round": ("L1", "L2", "W1", "W2"), "edging all edges": ("L1", "L2", "W1", "W2"),
    "edge band front (1 long)": ("L1",), "both long edges banded": ("L1", "L2"), "banded front": None,
    "eb 1 long": ("L1",), "(edged all round)": ("L1", "L2", "W1", "W2"),
}  # fmt: skip
LUMBER = {"1x6": ("3/4", "11/2"), "2x4": ("3/2", "7/2"), "1x4": ("3/4", "7/2"), "2x6": ("3/2", "11/2")}


@dataclass(frozen=True, slots=True)
class Stuff:
    """A material as meant: its words and its thickness in ticks, "" and None where none is said."""

    words: str = ""
    thick: int | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """A part as meant. `bands` None: the edges are left open; `count` None: the line gives none."""

    name: str
    count: int | None
    first: int
    second: int
    stuff: Stuff = Stuff()
    bands: tuple[str, ...] | None = ()
    note: str = ""


@dataclass(slots=True)
class Truth:
    """A list: its lines, its unit, and the parts each line asks for."""

    unit: Unit
    lines: list[str] = field(default_factory=list)
    parts: list[list[Part]] = field(default_factory=list)

    def add(self, line: str, *parts: Part) -> None:
        """Put down a line and what it asks for."""
        self.lines.append(line)
        self.parts.append(list(parts))


class Writer:
    """Writes one list."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)
        self.unit = self.rng.choice((Unit.INCH, Unit.MM))
        self.truth = Truth(self.unit)
        self.holds = Stuff()
        self.last: Part | None = None

    def whole(self) -> Truth:
        """Return a list of a few blocks."""
        for _ in range(self.rng.randrange(1, 4)):
            self.rng.choice((self.loose, self.titled, self.table, self.loose, self.titled, self.lumber))()
        if self.rng.random() < 0.2:
            counts = [p.count for parts in self.truth.parts for p in parts]
            if counts and None not in counts:
                self.truth.add(f"Total {sum(c or 0 for c in counts)} pcs")
        return self.truth

    # figures

    def size(self) -> tuple[str, int]:
        """Return one length as text and in ticks."""
        rng = self.rng
        if self.unit is Unit.MM:
            tenths = rng.randrange(101, 1800) * 10 + rng.choice((0, 0, 0, 5))
            whole, rest = divmod(tenths, 10)
            text = f"{whole}" + (f"{rng.choice('.,')}{rest}" if rest else "")
            return text + rng.choice(("", "", "", " mm", "mm")), tenths * TICKS_PER_MM // 10
        if rng.random() < 0.1:
            tens, one = rng.choice(list(TENS)), rng.randrange(0, 10)
            words = TENS[tens] + (rng.choice("- ") + NUMBERS[one] if one else "")
            half = rng.random() < 0.4
            text = words + (" and a half" if half else "") + " inches"
            return text, (tens + one) * TICKS_PER_INCH + half * TICKS_PER_INCH // 2
        quarters = rng.randrange(13, 190)
        ticks = quarters * TICKS_PER_INCH // 4
        whole, rest = divmod(quarters, 4)
        if rng.random() < 0.12 and whole >= 12:
            feet, inches = divmod(whole, 12)
            tail = f" {Fraction(rest, 4)}" if rest else ""
            return f"{feet}'-{inches}{tail}\"", ticks
        if not rest:
            return f"{whole}" + rng.choice(("", "", '"', " in", "in", " inches")), ticks
        forms = (f"{whole} {Fraction(rest, 4)}", f"{whole}-{Fraction(rest, 4)}", f"{whole}{GLYPHS[rest]}",
                 f"{quarters / 4:g}", f"{whole} and {Fraction(rest, 4)}")  # fmt: skip
        return rng.choice(forms) + rng.choice(("", "", '"', "”")), ticks

    def pair(self) -> tuple[str, int, int]:
        """Return a size of two figures, the first the longer; at times in the other unit, or with a sum."""
        if self.rng.random() < 0.08:
            return self.foreign()
        if self.rng.random() < 0.03:
            text, first, second = self.summed()
            return text, first, second
        while True:
            (a, first), (b, second) = self.size(), self.size()
            if first > second:
                break
        joint = self.rng.choice((" x ", " x ", "x", " X ", " × ", " by ", "*"))
        if joint.strip() != joint or not (a[-1].isalpha() or b[0].isalpha()):
            return f"{a}{joint}{b}", first, second
        return f"{a} x {b}", first, second

    def foreign(self) -> tuple[str, int, int]:
        """Return a size marked in the unit that the list does not have."""
        rng = self.rng
        if self.unit is Unit.INCH:
            a, b = rng.randrange(600, 900), rng.randrange(101, 599)
            text = rng.choice((f"{a} mm x {b} mm", f"{a}mm x {b}mm", f"{a} x {b} mm", f"{a}mm by {b}mm"))
            return text, a * TICKS_PER_MM, b * TICKS_PER_MM
        a, b = rng.randrange(20, 60), rng.randrange(3, 19)
        text = rng.choice((f'{a}" x {b}"', f"{a} inches by {b} inches", f'{a} 1/2" x {b}"', f"{a}½” × {b}”"))
        half = TICKS_PER_INCH // 2 if "½" in text or "1/2" in text else 0
        return text, a * TICKS_PER_INCH + half, b * TICKS_PER_INCH

    def summed(self) -> tuple[str, int, int]:
        """Return a size of which one figure is a sum."""
        rng = self.rng
        a, b, more = rng.randrange(300, 900), rng.randrange(101, 280), rng.choice((2, 12, 18))
        per = TICKS_PER_MM
        mark = "" if self.unit is Unit.MM else "mm"
        text = rng.choice((
            f"{a}{mark}+{more}{mark} x {b}{mark}", f"{a}{mark} + {more}{mark} x {b}{mark}",
            f"({a}+{more}) x {b}{mark}", f"{a}{mark} x {b}{mark} + {more}{mark}",
            f"{a}{mark} x ({b}+{more})",
        ))  # fmt: skip
        if text.endswith((f"+ {more}{mark}", f"+{more})")):
            return text, a * per, (b + more) * per
        return text, (a + more) * per, b * per

    def stuff(self) -> tuple[str, Stuff]:
        """Return a material with its thickness as text and as meant."""
        rng = self.rng
        words = rng.choice(MATERIALS)
        if self.unit is Unit.MM:
            n = rng.choice(MM_THICK)
            return f"{n}{rng.choice((' mm', 'mm'))} {words}", Stuff(words, int(n) * TICKS_PER_MM)
        name = rng.choice(list(INCH_THICK))
        thick = int(Fraction(name) * TICKS_PER_INCH)
        spoken = INCH_THICK[name]
        forms = [f"{name} {words}", f'{name}" {words}', f"{name} in {words}"]
        if spoken:
            forms += [f"{spoken} inch {words}", f"{spoken.replace(' ', '-')} inch {words}"]
        return rng.choice(forms[:2] + forms[3:]), Stuff(words, thick)

    # parts

    def counted(self, name: str, body: str) -> tuple[str, int | None]:
        """Return name, size and count of a part in one of many orders, and the count."""
        rng, n = self.rng, self.rng.choice((1, 2, 3, 4, 6, 8, 12))
        plural = name + "s" if n > 1 and name[-1] not in "sfA" and rng.random() < 0.7 else name
        forms = [
            f"{n} {plural} {body}", f"{n} ea {plural} {body}", f"({n}) {plural} {body}",
            f"{n}x {plural} {body}", f"{NUMBERS[n]} {plural} {body}", f"{plural} {body} - {n} off",
            f"{plural} {body} ({n})", f"{plural}: {n} pcs {body}", f"{n} @ {body} {plural}",
            f"{n} pcs {body} {plural}", f"{plural}, {n}, {body}", f"qty {n} {plural} {body}",
            f"- {n} {plural} {body}", f"{n} off {plural} {body}",
        ]  # fmt: skip
        if rng.random() < 0.06:
            return f"{plural} {body}", None
        if rng.random() < 0.05:
            more = rng.randrange(1, 4)
            return f"{n}+{more} {plural} {body}", n + more
        return rng.choice(forms), n

    def part(self, stuff: Stuff, *, banded: bool = True) -> tuple[str, Part]:
        """Return a part as text and as meant."""
        rng, name = self.rng, self.rng.choice(NAMES)
        body, first, second = self.pair()
        line, n = self.counted(name, body)
        bands: tuple[str, ...] | None = ()
        note = ""
        if banded and rng.random() < 0.15:
            words = rng.choice(list(BANDS))
            bands, line = BANDS[words], line + rng.choice((", ", " ")) + words
        if rng.random() < 0.12:
            note = rng.choice(NOTES)
            line += rng.choice((f" ({note})", f", {note}", f"  # {note}"))
        return line, Part(name, n, first, second, stuff, bands, note)

    def put(self, line: str, *parts: Part) -> None:
        """Write down a line of parts."""
        self.truth.add(line, *parts)
        self.last = parts[-1]

    def loose(self) -> None:
        """Write lines that say their own material, or "same"."""
        for _ in range(self.rng.randrange(1, 5)):
            self.loose_line()

    def loose_line(self) -> None:
        """Write one such line."""
        rng = self.rng
        kind = rng.random()
        if kind < 0.25 and self.last and self.last.stuff.thick and not self.last.bands:
            line, part = self.part(self.last.stuff, banded=False)
            if "#" not in line:
                word = rng.choice((", same", " (same)", ", same material", " (same stuff)", ", as above"))
                if self.last.stuff.words.endswith("ply"):
                    word = rng.choice((word, " (same ply)"))
                self.put(line + word, part)
                return
        if kind < 0.45:
            self.together()
            return
        if kind < 0.6:
            self.thick()
            return
        text, stuff = self.stuff()
        line, part = self.part(stuff, banded=False)
        if "#" in line:
            self.put(f"{text}: {line}", part)
            return
        tails = (f", {text}", f" in {text}", f" ({text})", f" from the {text}", f", of {text}")
        self.put(line + rng.choice(tails), part)

    def thick(self) -> None:
        """Write a part whose size has the thickness as its third figure."""
        rng, name = self.rng, self.rng.choice(NAMES)
        words = rng.choice(MATERIALS)
        if self.unit is Unit.MM:
            a, b, t = rng.randrange(300, 900), rng.randrange(101, 280), int(rng.choice(MM_THICK))
            bodies = [f"{a} x {b} x {t}", f"{a}x{b}x{t}mm", f"{a} x {b} x {t} mm", f"{a}L x {b}W x {t}T"]
            first, second, thick = (v * TICKS_PER_MM for v in (a, b, t))
        else:
            a, b, fraction = rng.randrange(20, 60), rng.randrange(3, 19), rng.choice(list(INCH_THICK))
            bodies = [f"{a} x {b} x {fraction}", f'{a}" x {b}" x {fraction}"', f"{a} by {b} by {fraction}"]
            first, second = a * TICKS_PER_INCH, b * TICKS_PER_INCH
            thick = int(Fraction(fraction) * TICKS_PER_INCH)
        line, n = self.counted(name, rng.choice(bodies))
        self.put(f"{line}, {words}", Part(name, n, first, second, Stuff(words, thick)))

    def together(self) -> None:
        """Write several parts on a line with one material at its end."""
        rng = self.rng
        text, stuff = self.stuff()
        bits, parts = [], []
        for _ in range(rng.randrange(2, 4)):
            name = rng.choice(NAMES)
            body, first, second = self.pair()
            n = rng.choice((1, 2, 3, 4))
            bits.append(f"{n} {name} {body}")
            parts.append(Part(name, n, first, second, stuff))
        joint = rng.choice((" + ", ", ", "; ", " and ", " & "))
        tail = rng.choice((f" in {text}", f", {text}", f", all {text}", f", all in {text}"))
        self.put(joint.join(bits) + tail, *parts)

    def titled(self) -> None:
        """Write a title with a material, and parts that say none."""
        rng = self.rng
        text, stuff = self.stuff()
        what = rng.choice(("Bench", "Cabinet for Ana", "Carcass"))
        title = rng.choice((
            f"{what}, {text}", f"{text}", f"all {text}", f"(all {text})", f"{what} (all {text})",
            f"{what} - {text}", f"{text}:", f"{what} (all {text} unless noted)",
        ))  # fmt: skip
        self.truth.add(title)
        self.holds = stuff
        for _ in range(rng.randrange(1, 5)):
            line, part = self.part(stuff)
            self.put(line, part)
        if rng.random() < 0.3:
            more, other = self.stuff()
            line, part = self.part(other, banded=False)
            if "#" not in line:
                self.put(f"{line}, {more}", part)

    def lumber(self) -> None:
        """Write boards by their nominal size."""
        rng = self.rng
        for _ in range(rng.randrange(1, 3)):
            nominal = rng.choice(list(LUMBER))
            n, inches = rng.choice((1, 2, 4, 6)), rng.randrange(26, 90)
            thick, wide = (int(Fraction(f) * TICKS_PER_INCH) for f in LUMBER[nominal])
            line = rng.choice((f'({n}) {nominal} @ {inches}"', f"{n} pcs {nominal} @ {inches} in"))
            self.put(line, Part("", n, inches * TICKS_PER_INCH, wide, Stuff("*", thick)))

    def table(self) -> None:
        """Write a table with a header."""
        rng = self.rng
        delimiter = rng.choice(("\t", ";", "|", ","))
        heads = [
            "Part",
            "Qty",
            f"Length ({self.unit.value})",
            f"Width ({self.unit.value})",
            "Material",
            "Edges",
        ]
        order = list(range(len(heads)))
        rng.shuffle(order)
        self.truth.add(delimiter.join(heads[i] for i in order))
        for _ in range(rng.randrange(1, 5)):
            name, n = rng.choice(NAMES), rng.randrange(1, 20)
            first, second = sorted((rng.randrange(300, 900), rng.randrange(40, 290)), reverse=True)
            per = TICKS_PER_MM if self.unit is Unit.MM else TICKS_PER_INCH // 10
            shown = (f"{v}" if self.unit is Unit.MM else f"{v / 10:g}" for v in (first, second))
            text, stuff = self.stuff() if rng.random() < 0.7 else ("", self.holds)
            code = rng.choice(("", "", "1L", "2L1W", "4", "-"))
            bands = {"4": ("L1", "L2", "W1", "W2"), "1L": ("L1",), "2L1W": ("L1", "L2", "W1")}.get(code, ())
            cells = [name, str(n), *shown, text, code]
            if rng.random() < 0.3 and delimiter in ",;":
                cells = [f'"{cell}"' if '"' not in cell else cell for cell in cells]
            self.last = Part(name, n, first * per, second * per, stuff, bands)
            self.truth.add(delimiter.join(cells[i] for i in order), self.last)
        self.truth.add("")
