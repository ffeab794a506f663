"""What stands beside a part after its size and in brackets: material, bands, grain, "same", or a note."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from stockyard.cutlist import banding, materials
from stockyard.cutlist.account import Claims
from stockyard.cutlist.banding import Banding
from stockyard.cutlist.batching import batch_said
from stockyard.cutlist.draft import Match, Shop, Substance
from stockyard.cutlist.edges import BAND_WORDS
from stockyard.cutlist.figures import Fix, Unclear
from stockyard.cutlist.matching import match_said, speaks_of_match
from stockyard.cutlist.model import Use
from stockyard.cutlist.notes import finished_said, grain_said, is_grain, rip_at, rip_from
from stockyard.cutlist.quantities import paren_count
from stockyard.cutlist.roughing import leads, rough_said
from stockyard.cutlist.spoken import FRACTION_WORDS
from stockyard.cutlist.tokens import Token, has_figure, scan
from stockyard.cutlist.words import DITTO_WORDS, LEADS, word_set

NOTE_MARK = "#"
_SAME = re.compile(
    r"(?:all |of |in |from )?(?:the )?(?:same|ditto|dito|idem|do\.?|as above|as before)"
    r"(?: as (?:above|before))?"
    r"(?: (?P<what>(?!as )[^\W\d_]+(?: [^\W\d_]+)?))?"
    r"(?: as (?:above|before|(?:the )?(?P<whose>[^\W\d_][\w -]*)))?$",
    re.IGNORECASE,
)
_ANY_STUFF = word_set("material stock stuff wood board sheet")
_THICK_ALONE = frozenset(("thickness", "thick"))
_SUSPECT = FRACTION_WORDS | BAND_WORDS | word_set("inch inches mm cm same ditto thick thickness")
_EACH_WORD = re.compile(r"[^\W\d_]+")


@dataclass(frozen=True, slots=True)
class Same:
    """A word such as "same ply": tokens at [start:end] of the line, what is the same, and as which part."""

    start: int
    end: int
    what: str = ""
    whose: str = ""


@dataclass(slots=True)
class Said:
    """What is said beside a part, gathered from its words and its brackets."""

    shop: Shop
    claims: Claims
    substance: Substance = field(default_factory=Substance)
    same: Same | None = None
    bands: list[str] = field(default_factory=list)
    band: str = ""
    notes: list[str] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)
    grain: str = ""
    match: Match | None = None
    batch: str = ""
    rough: str = ""
    finished: bool | None = None
    rip: str | None = None
    lead: str = ""

    def brackets(self, tokens: Sequence[Token], used: set[int]) -> set[int]:
        """Read the brackets and comments of an entry; return their tokens.

        Raises:
            Unclear: a second count, or words that may matter and are not understood.
        """
        taken = set()
        for i, token in enumerate(tokens):
            if i in used or token.kind not in ("paren", "comment"):
                continue
            if token.kind == "paren" and paren_count(token) is not None:
                raise Unclear("two counts in one entry", token.start)
            if token.kind == "paren" and banding.is_edgy(token):
                continue
            taken.add(i)
            if token.kind == "comment" or token.text[1:].lstrip().startswith(NOTE_MARK):
                text = token.text[1:-1] if token.kind == "paren" else token.text
                self.note(text.strip().lstrip("#/").strip(), token.start, token.end)
            else:
                self._bracket(token)
        return taken

    def _bracket(self, token: Token) -> None:
        inner = token.text[1:-1]
        if self.remark(inner, token):
            return
        if at := rip_at(inner):  # beside other words: those are read without it
            a, b = at
            self.remark(inner[a:b], Token("word", inner[a:b], token.start + 1 + a, token.start + 1 + b))
            inner = f"{inner[:a]},{' ' * (b - a - 1)}{inner[b:]}"
        tokens = scan(inner, token.start + 1)
        free = self.words(tokens, list(range(len(tokens))), 0, 0, named=True)
        for run in pieces(tokens, free):
            self.rest(tokens, run, token)

    def words(
        self, tokens: Sequence[Token], free: list[int], begin: int, end: int, *, named: bool
    ) -> list[int]:
        """Read bands, "same", material and thickness from free tokens; return those that are left."""
        found = banding.find(tokens, free, begin, end, named=named)
        self._band(found, tokens)
        free = [i for i in free if i not in found.used]
        free = self._rough(tokens, self._same(tokens, free, end), end)
        substance = materials.in_entry(tokens, free, self.shop, begin, named=named)
        if substance.used:
            self._substance(substance, tokens)
            self.lead = next(
                (t for i in sorted(substance.used) if (t := tokens[i].text.casefold()) in LEADS), ""
            )
        return [i for i in free if i not in substance.used]

    def _band(self, found: Banding, tokens: Sequence[Token]) -> None:
        if not found.said:
            return
        self.bands.append(found.said)
        self.claims.tokens(tokens, found.used, Use.BANDS)
        if found.own:
            self.band = f"{self.band} {found.own}".strip()

    def _same(self, tokens: Sequence[Token], free: list[int], end: int) -> list[int]:
        for run in pieces(tokens, [i for i in free if i >= end]):
            m = _SAME.match(joined(tokens, run))
            if not m:
                continue
            if self.same:
                raise Unclear("'same' twice in one entry", tokens[run[0]].start)
            self.same = Same(
                tokens[run[0]].start, tokens[run[-1]].end, (m["what"] or "").casefold(), m["whose"] or ""
            )
            self.claims.tokens(tokens, run, Use.SAME)
            free = [i for i in free if i not in run]
        return free

    def _rough(self, tokens: Sequence[Token], free: list[int], end: int) -> list[int]:
        """Read "oversize 1/2", "rough cut" from free tokens: a run of its own, or the end of one.

        A lone "rough" before a material is of the material.
        """
        for run in pieces(tokens, [i for i in free if i >= end]):
            for k in range(len(run)):
                own = run[k:]
                if k and (len(own) == 1 or not leads(tokens[own[0]].text)):
                    continue
                if not (found := rough_said(joined(tokens, own))):
                    continue
                self.rough = self.rough or found
                self.notes.append(joined(tokens, own))
                self.claims.tokens(tokens, own, Use.ROUGH)
                free = [i for i in free if i not in own]
                break
        return free

    def _substance(self, found: Substance, tokens: Sequence[Token]) -> None:
        old = self.substance
        if (old.words and found.words) or (old.thickness and found.thickness):
            at = min(tokens[i].start for i in found.used)
            what = "thicknesses" if old.thickness and found.thickness else "materials"
            raise Unclear(f"two {what} in one entry", at)
        for i in found.used:
            thick = tokens[i].kind == "fig"
            self.claims.take(tokens[i].start, tokens[i].end, Use.THICKNESS if thick else Use.MATERIAL)
        self.substance = Substance(
            old.words or found.words, old.thickness or found.thickness, old.used | found.used
        )

    def rest(self, tokens: Sequence[Token], run: Sequence[int], bracket: Token | None = None) -> None:
        """Take words nobody has claimed for a remark or a note.

        Raises:
            Unclear: they hold a figure, or a word that may matter.
        """
        text, start, end = joined(tokens, run), tokens[run[0]].start, tokens[run[-1]].end
        if self.remark(text, Token("word", text, start, end)):
            return
        words = {w.casefold() for w in _EACH_WORD.findall(text)}
        doubtful = words & (_SUSPECT | self.shop.words)
        if has_figure(text) or doubtful:
            whole = bracket or Token("word", text, start, end)
            note = whole.text[1:-1].strip() if bracket else text
            fix = Fix(f"only a note: '{note[:40]}'", whole.start, whole.end, f"({NOTE_MARK} {note})")
            raise Unclear(f"'{text[:40]}' is not understood", start, (fix,))
        self.note(text, start, end)

    def remark(self, text: str, token: Token) -> bool:
        """Take a remark on grain, sets, batches, allowances, sizes, what to rip from; it stays a note too.

        Raises:
            Unclear: it speaks of a matched set, and of more.
        """
        if (match := match_said(text)) is not None:
            self.match = self.match or match
            self.notes.append(text.strip())
            self.claims.take(token.start, token.end, Use.SET)
            return True
        if batch := batch_said(text):
            self.batch = self.batch or batch
            self.notes.append(text.strip())
            self.claims.take(token.start, token.end, Use.BATCH)
            return True
        if rough := rough_said(text):
            self.rough = self.rough or rough
            self.notes.append(text.strip())
            self.claims.take(token.start, token.end, Use.ROUGH)
            return True
        if speaks_of_match(text):
            fixes = (
                Fix("matched with its neighbours in the list", token.start, token.end, ", grain matched"),
                Fix(f"only a note: '{text[:40]}'", token.start, token.end, f"({NOTE_MARK} {text})"),
            )
            raise Unclear(f"'{text[:40]}': which parts match?", token.start, fixes)
        alone = rip_at(text.strip()) == (0, len(text.strip()))
        grain, finished, rip = grain_said(text), finished_said(text), rip_from(text) if alone else None
        use = Use.LUMBER if rip else Use.GRAIN if grain else Use.FINISHED
        if not grain and finished is None and not rip:
            return False
        if not rip and has_figure(text):
            return False
        self.grain, self.rip = self.grain or grain, self.rip or rip
        self.finished = finished if self.finished is None else self.finished
        self.notes.append(text.strip())
        if not rip and not is_grain(text) and finished is None:
            self.unread.append(text.strip())
        self.claims.take(token.start, token.end, use)
        return True

    def note(self, text: str, start: int, end: int) -> None:
        """Keep words as a note that says nothing to the reader."""
        self.claims.take(start, end, Use.NOTE)
        if text:
            self.notes.append(text)
            self.unread.append(text)


def thickness_only(same: Same) -> bool:
    """Whether "same thickness" is said, and nothing of the material."""
    return same.what in _THICK_ALONE


def names_stuff(same: Same, material: str) -> bool:
    """Whether the word behind "same" fits the material it stands for ("same ply", "same material")."""
    words = set(same.what.split())
    return words <= _ANY_STUFF | _THICK_ALONE | {w.casefold() for w in material.split()}


def pieces(tokens: Sequence[Token], free: Sequence[int]) -> list[list[int]]:
    """Return free tokens in runs, split at signs and gaps."""
    runs: list[list[int]] = []
    for i in free:
        if tokens[i].kind in ("other", "x") and not inside_word(tokens, i):
            runs.append([])
        elif runs and runs[-1] and runs[-1][-1] == i - 1:
            runs[-1].append(i)
        else:
            runs.append([i])
    return [run for run in runs if run]


def inside_word(tokens: Sequence[Token], i: int) -> bool:
    """Whether a sign stands inside a word, as the dash in "D1-L"."""
    return (
        tokens[i].text == "-"
        and 0 < i < len(tokens) - 1
        and tokens[i - 1].end == tokens[i].start
        and tokens[i].end == tokens[i + 1].start
    )


def joined(tokens: Sequence[Token], run: Sequence[int]) -> str:
    """Return the text of a run of tokens."""
    out = ""
    for k, i in enumerate(run):
        gap = k and tokens[i].start > tokens[run[k - 1]].end
        out += (" " if gap else "") + tokens[i].text
    return out


def is_ditto(name: str) -> bool:
    """Whether a name stands for the one before it."""
    return name.casefold() in DITTO_WORDS or name.casefold() in ("as above", "same as above")
