"""Which of two figures is the length of a part: said, asked once a list, or without meaning."""

from __future__ import annotations

from collections.abc import Sequence

from stockyard.cutlist.draft import Draft, Order, Shop
from stockyard.cutlist.marks import SAYS
from stockyard.cutlist.notes import ASK
from stockyard.cutlist.questions import Asked, about_list
from stockyard.cutlist.units import row_unit
from stockyard.cutlist.words import has_grain, is_board
from stockyard.measure import Unit

# A board part at least this many times as long as wide has its length along the grain.
_STICK = 2


class Matters:
    """Whether a draft's material has grain, and whether it is solid wood; by name, remembered."""

    def __init__(self, drafts: Sequence[Draft], shop: Shop) -> None:
        self.materials = shop.materials
        self.words = {m.name: frozenset(m.name.casefold().split()) for m in shop.materials}
        self.mentioned = any(d.grain for d in drafts)
        self.seen: dict[str, tuple[bool, bool]] = {}

    def of(self, draft: Draft) -> tuple[bool, bool]:
        """Return (has grain, is solid wood) for a draft's material."""
        if draft.nominal:
            return True, True
        if draft.material not in self.seen:
            self.seen[draft.material] = self._judge(draft.material)
        return self.seen[draft.material]

    def _judge(self, material: str) -> tuple[bool, bool]:
        if not material:
            return self.mentioned or any(m.grain for m in self.materials), False
        wanted = frozenset(material.casefold().split())
        known = [m for m in self.materials if wanted <= self.words[m.name] or self.words[m.name] <= wanted]
        if known:
            return any(m.grain for m in known), all(m.board for m in known)
        return has_grain(material), is_board(material)


class Faces:
    """Which face figure of each draft is the length."""

    def __init__(self, unit: Unit, first: str | None, asked: Asked, matters: Matters) -> None:
        self.unit, self.asked, self.matters = unit, asked, matters
        self.fixed = first
        self.first: dict[int, str] = {}
        self.after_thickness: dict[int, str] = {}
        self.sticks: list[int] = []
        self.marked: dict[str, dict[int, str]] = {}

    def ask(self, drafts: Sequence[Draft]) -> None:
        """Ask once a list which figure lies along the grain, where that matters and nothing says it."""
        doubtful = [d for d in drafts if d.order is not Order.SAID and self._in_doubt(d)]
        plain = [d for d in doubtful if d.order is Order.UNSAID]
        if plain and self.fixed is None:
            text = "no header says which figure is the length: is the first one along the grain?"
            readings = (
                ("along", "yes, the first figure is along the grain"),
                ("across", "no, it is across the grain"),
            )
            self.first = self.asked.each(about_list("first", text, readings, lines_of(plain), plain[0].text))
        thick_first = [d for d in doubtful if d.order is Order.AFTER_THICKNESS]
        if thick_first:
            text = "thickness comes first: which of the other two figures is along the grain?"
            readings = (("last", "the last (thickness x width x length)"), ("middle", "the middle one"))
            question = about_list("three", text, readings, lines_of(thick_first), thick_first[0].text)
            self.after_thickness = self.asked.each(question)
        for marks in dict.fromkeys(_pair(d) for d in doubtful if d.order is Order.MARKED):
            self.marked[marks] = self._ask_marked(marks, [d for d in doubtful if _pair(d) == marks])

    def _ask_marked(self, marks: str, drafts: Sequence[Draft]) -> dict[int, str]:
        a, b = (SAYS[mark] for mark in marks)
        text = f"{a} and {b} do not say how the grain runs: which lies along it?"
        readings = tuple((mark, f"the {SAYS[mark]} lies along the grain") for mark in marks)
        question = about_list(f"grain-{marks}", text, readings, lines_of(drafts), drafts[0].text)
        return self.asked.each(question)

    def _in_doubt(self, draft: Draft) -> bool:
        grain, board = self.matters.of(draft)
        if not grain or draft.grain in ("any", ASK) or draft.second is None:
            return False
        a, b = self._ticks(draft)
        return a != b and not (board and max(a, b) >= _STICK * min(a, b))

    def _ticks(self, draft: Draft) -> tuple[int, int]:
        unit = row_unit(draft, self.unit)
        second = draft.second or draft.first
        return draft.first.ticks(unit), second.ticks(unit)

    def of(self, draft: Draft) -> tuple[int, int]:
        """Return (length, width) of a draft with two face figures."""
        a, b = self._ticks(draft)
        if draft.order is Order.SAID or a == b:
            return a, b
        grain, board = self.matters.of(draft)
        if grain and board and max(a, b) >= _STICK * min(a, b) and draft.grain not in ("any", ASK):
            if draft.line not in self.sticks:
                self.sticks.append(draft.line)
            return max(a, b), min(a, b)
        if draft.order is Order.MARKED:
            along = self.marked.get(_pair(draft), {}).get(draft.line, draft.marks[0])
            return (a, b) if along == draft.marks[0] else (b, a)
        if draft.order is Order.AFTER_THICKNESS:
            return (b, a) if self.after_thickness.get(draft.line, "last") == "last" else (a, b)
        first = self.fixed or self.first.get(draft.line, "along")
        return (a, b) if first == "along" or draft.grain == ASK else (b, a)


def _pair(draft: Draft) -> str:
    """Return the marks of a draft, the same for "W x H" and "H x W"."""
    return "".join(sorted(draft.marks, key="HWD".index))


def lines_of(drafts: Sequence[Draft]) -> list[int]:
    """Return the lines of these drafts in order."""
    return sorted({d.line for d in drafts})
