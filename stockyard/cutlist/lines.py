"""The lines of a list in their order: what each one is, and what it leaves for the next."""

from __future__ import annotations

import re
from collections.abc import Sequence
from copy import copy
from dataclasses import replace

from stockyard.cutlist import headings, table_rows, tables
from stockyard.cutlist.account import Claims, settled
from stockyard.cutlist.draft import Above, Draft, Heading, Shop
from stockyard.cutlist.entries import entries, read_entry
from stockyard.cutlist.figures import Unclear
from stockyard.cutlist.headerless import Block
from stockyard.cutlist.holding import Holding
from stockyard.cutlist.model import Fate, Question, Remark, Span, Use
from stockyard.cutlist.oneline import whole_line
from stockyard.cutlist.quantities import strong_counts
from stockyard.cutlist.questions import SKIP, Asked, about_line, chosen, mended
from stockyard.cutlist.sizes import has_size
from stockyard.cutlist.table_rows import Cells
from stockyard.cutlist.tables import Table
from stockyard.cutlist.tokens import LONGEST_LINE, Place, Token, has_figure, plain_line, scan
from stockyard.cutlist.totals import Totals
from stockyard.cutlist.units import check_row
from stockyard.measure import Unit

# A line answered this often is not getting clearer.
_MOST_DOUBTS = 9
_BULLET = re.compile(r"^\s*(?:[-*+•·‣▪]|\[ ?[xX ]?\])\s+")
_COMMENT = ("#", "//")


class Lines:
    """Takes the lines of a list one by one and keeps what they say."""

    def __init__(self, shop: Shop, unit: Unit, asked: Asked, numbered: frozenset[int]) -> None:
        self.shop, self.unit, self.asked, self._numbered = shop, unit, asked, numbered
        self.drafts: list[Draft] = []
        self.fates: list[Fate] = []
        self.ignored: list[tuple[int, str]] = []
        self.spans: list[Span] = []
        self._holding = Holding(asked)
        self._table: Table | None = None
        self._block = Block()
        self._above: dict[str, str] = {}
        self._totals = Totals()
        self._open: list[int] = []
        self._commas = False
        self._matched = False

    def take(self, number: int, raw: str) -> None:
        """Read one line and record its fate."""
        if not raw.strip():
            self.fates.append(Fate.IGNORED)
            return
        line = plain_line(raw.rstrip(" \r"))
        answer = self.asked.answers.get(f"line{number}")
        retyped = answer is not None and not answer.strip().isdigit() and answer.strip().casefold() != SKIP
        if answer is not None and retyped and self._is_clear(number, raw, line):
            line = plain_line(answer)
        for depth in range(1, _MOST_DOUBTS + 1):
            if self._skipped(number, depth):
                self._ignore(number, "left out, as answered")
                return
            try:
                self.fates.append(self._interpret(number, raw, line))
                return
            except Unclear as doubt:
                while self.spans and self.spans[-1].line == number:
                    self.spans.pop()
                if depth == 1 and self._table is None and self._block.takes(number, line, self.asked.answers):
                    self._table = self._block.table
                    if self._table is None:
                        self._ask(number, None)
                        return
                    continue
                question = about_line(number, depth, raw, line, doubt)
                mended_line = self._mended(question, line, doubt)
                if mended_line is None:
                    self._ask(number, question)
                    return
                line = mended_line
        self._ask(number, question)

    def _is_clear(self, number: int, raw: str, line: str) -> bool:
        """Whether a line can be read as it stands; nothing is kept of it."""
        trial = copy(self)
        trial.drafts, trial.ignored, trial.spans = list(self.drafts), [], []
        trial._holding, trial._totals = self._holding.aside(), Totals()
        try:
            trial._interpret(number, raw, line)
        except Unclear:
            return False
        return True

    def _skipped(self, number: int, depth: int) -> bool:
        id = f"line{number}" if depth == 1 else f"line{number}.{depth}"
        return self.asked.answers.get(id, "").strip().casefold() == SKIP

    def _mended(self, question: Question, line: str, doubt: Unclear) -> str | None:
        """Return the line as an answer puts it, None when nobody has answered."""
        answer = self.asked.answers.get(question.id)
        if answer is None:
            return None
        if key := chosen(question, answer):
            return mended(line, doubt.fixes[int(key) - 1])
        again = plain_line(answer)
        return again if again != line and not again.strip().isdigit() else None

    def _ask(self, number: int, question: Question | None) -> None:
        if question:
            self.asked.open.append(question)
        self._open.append(number)
        self._above = {}
        if question and not has_size_words(question.text):
            self._holding.lose(question)
        self.fates.append(Fate.QUESTION)

    def _ignore(self, number: int, why: str, fate: Fate = Fate.IGNORED) -> None:
        self.ignored.append((number, why))
        self.fates.append(fate)

    def _interpret(self, number: int, raw: str, line: str) -> Fate:
        """Say what a line is and keep what it says. Raises `Unclear`."""
        if len(line) > LONGEST_LINE:
            raise Unclear(f"a line of more than {LONGEST_LINE} characters", 0)
        if max(line.count(d) for d in tables.DELIMITERS[:-1]) > tables.MOST_COLUMNS:
            raise Unclear(f"more than {tables.MOST_COLUMNS} columns on one line", 0)
        stripped = line.lstrip()
        if not stripped:
            return Fate.IGNORED
        if stripped.startswith(headings.TITLE_MARK) and not headings.is_rule(line):
            self._account(number, line, _whole(line))
            self._hold(Heading(title=stripped.lstrip("= "), line=number), raw)
            return Fate.HEADING
        if stripped.startswith(_COMMENT) and not (stripped[0] == "#" and tables.find_table(line)):
            self.ignored.append((number, "comment"))
            return Fate.IGNORED
        if headings.is_rule(line):
            self.ignored.append((number, "only a rule"))
            return Fate.IGNORED
        old, self._table = self._table, None
        if table := tables.find_table(line):
            self._table, self._above, self._matched = table, {}, False
            self.ignored.append((number, table.told))
            return Fate.HEADING
        self._table = old
        if self._table and (fate := self._row(number, raw, line, self._table)):
            return fate
        return self._free(number, raw, line)

    def _row(self, number: int, raw: str, line: str, table: Table) -> Fate | None:
        """Read a table row; None when the line is not one."""
        if table.delimiter not in line and not (table.delimiter == tables.SPACES and "\t" in line):
            return None
        cells = tables.split_cells(line, table.delimiter, bordered=table.bordered)
        row = Cells(table, cells)
        if not any(c.text for c in cells):
            self.ignored.append((number, "empty row"))
            return Fate.IGNORED
        if table_rows.is_total(row):
            return self._total(number, table_rows.count_cell(row) if row.text("count") else None)
        if table_rows.is_title(row):
            title = next(c.text for c in cells if c.text)
            own = headings.read_heading(title, scan(title), self.shop, number)
            self._account(number, line, _whole(line))
            self._hold(own, raw)
            return Fate.HEADING
        if table_rows.is_header(row):
            self._table = None
            raise Unclear("a table header that is not understood, or a row with no figures", 0)
        last = max(i for i, h in enumerate(table.heads) if h.role in ("count", "length", "width", "size"))
        if len(cells) <= last and table.delimiter in (",", tables.SPACES):
            return None
        if not self._matched:
            table_rows.check_width(line, cells, table)
            self._matched = True
        if table.delimiter == tables.SPACES and len(cells) != len(table.heads):
            raise Unclear(f"{len(cells)} columns where the header has {len(table.heads)}", 0)
        self._commas = self._commas or any(
            _is_decimal_comma(c.text) for c, h in zip(cells, table.heads, strict=False) if h.role in _SIZES
        )
        draft = table_rows.read_row(
            row, Place(number, raw, line), self._holding.heading, self.shop, self._above, commas=self._commas
        )
        claims = Claims()
        claims.extend(draft.spans)
        self._account(number, line, claims)
        self._keep((draft,))
        self._above = {
            "name": draft.name, "material": draft.material, "grain": row.text("grain"), "edges": draft.bands,
        }  # fmt: skip
        return Fate.ROW

    def _free(self, number: int, raw: str, line: str) -> Fate:
        """Read a line outside a table."""
        total = headings.total_of(line)
        if total is not None:
            return self._total(number, total)
        line = _BULLET.sub(lambda m: " " * len(m.group()), line)
        tokens: Sequence[Token] = scan(line)
        if lumber := headings.lumber_heading(line, tokens, self.shop, number):
            self._account(number, line, _whole(line))
            self._hold(lumber, raw)
            return Fate.HEADING
        if headings.is_about(tokens) and not has_size(tokens):
            self.ignored.append((number, "about the job"))
            return Fate.HEADING
        heading, tokens = self._prefix(line, tokens, number)
        sized = has_size(tokens)
        alone = heading.nominal is not None and not sized and _counts_a_figure(tokens)
        if not sized and not alone:
            own = headings.read_heading(line, tokens, self.shop, number)
            claims = Claims()
            claims.extend(own.spans)
            self._account(number, line, claims)
            self._hold(own, raw)
            return Fate.HEADING
        drafts: list[Draft] = []
        for entry in entries(tokens):
            place = Place(number, raw, line, number in self._numbered and not drafts)
            drafts.append(read_entry(entry, place, heading, self.shop, self._settled(drafts, heading)))
        drafts = whole_line(drafts, heading)
        if heading is not self._holding.heading:
            drafts = [_titled(d, line, heading) for d in drafts]
        claims = Claims()
        claims.extend(span for d in drafts for span in d.spans)
        if heading is not self._holding.heading:
            claims.take(0, tokens[0].start, Use.TITLE)
        self._account(number, line, claims)
        self._keep(drafts)
        self._above = {"name": drafts[-1].name}
        return Fate.ROW

    def _hold(self, heading: Heading, raw: str) -> None:
        self.ignored.append((heading.line, self._holding.open(heading, raw)))

    def _prefix(self, line: str, tokens: Sequence[Token], number: int) -> tuple[Heading, Sequence[Token]]:
        """Split off what stands before a colon when it names a material: "8/4 walnut: 4 pcs ..."."""
        for i, token in enumerate(tokens):
            if token.text != ":" or i == 0:
                continue
            lead, rest = line[: token.end], tokens[i + 1 :]
            lumber = headings.lumber_heading(lead, tokens[: i + 1], self.shop, number)
            if lumber and (has_size(rest) or _counts_a_figure(rest)):
                return replace(lumber, finished=self._holding.heading.finished), rest
            if has_size(tokens[:i]) or not has_size(rest):
                break
            try:
                own = headings.read_heading(lead, tokens[:i], self.shop, number)
            except Unclear:
                break
            if own.material or own.thickness:
                return replace(own, finished=own.finished or self._holding.heading.finished), tokens[i + 1 :]
            break
        return self._holding.heading, tokens

    def _settled(self, own: Sequence[Draft], heading: Heading) -> Above:
        """Return the parts that "same" may stand for: none behind a line that is still open."""
        last = self.drafts[-1].line if self.drafts else 0
        doubt = self._open[-1] if self._open else 0
        return Above(() if doubt > last else self.drafts, own, doubtful=doubt > max(last, heading.line))

    def _account(self, number: int, line: str, claims: Claims) -> None:
        """Note what each word of a line was taken for. Raises `Unclear` for a word nobody has claimed."""
        self.spans.extend(settled(number, line, claims.spans()))

    def _keep(self, drafts: Sequence[Draft]) -> None:
        """Keep the drafts of a line, all or (when the unit of a figure is in doubt) none."""
        unit = Unit(self.asked.answers["unit"]) if self.asked.answers.get("unit") in _UNITS else self.unit
        for draft in drafts:
            check_row(draft, unit)
        self.drafts.extend(drafts)

    def _total(self, number: int, value: int | None) -> Fate:
        if value is None:
            self.ignored.append((number, "a total with no count"))
        else:
            self._totals.note(number, value, len(self.drafts))
        return Fate.TOTAL

    def finish(self) -> list[Remark]:
        """Close the list: ask what parts really hang on, and return what its totals say otherwise."""
        self._holding.ask(self.drafts)
        if question := self._block.question():
            self.asked.open.append(question)
        warnings, agreed = self._totals.checked(self.drafts, self._open)
        self.ignored.extend(agreed)
        return warnings


def _titled(draft: Draft, line: str, heading: Heading) -> Draft:
    """Return a part with the words before its colon that say no material: its name, or else a note."""
    words = ", ".join(line[a:b] for a, b, use in heading.spans if use is Use.TITLE and not heading.nominal)
    if not words or not draft.name:
        return replace(draft, name=draft.name or words)
    return replace(draft, note="; ".join(filter(None, (draft.note, words))), unread=(*draft.unread, words))


_UNITS = ("mm", "in")
_SIZES = ("length", "width", "thickness")


def has_size_words(text: str) -> bool:
    """Whether a line holds a size, as far as it can be told."""
    try:
        return has_size(scan(plain_line(text)))
    except Unclear:
        return True


def _whole(line: str) -> Claims:
    claims = Claims()
    claims.take(0, len(line), Use.TITLE)
    return claims


def _counts_a_figure(tokens: Sequence[Token]) -> bool:
    """Whether tokens hold a count and one more figure, as a length under a lumber heading does."""
    figures = [t for t in tokens if t.kind in ("fig", "paren") and has_figure(t.text)]
    return len(figures) >= 2 or bool(figures and strong_counts(tokens, None))


def _is_decimal_comma(text: str) -> bool:
    whole, comma, part = text.partition(",")
    return bool(comma) and part.isdigit() and len(part) != 3 and whole.replace(".", "").isdigit()
