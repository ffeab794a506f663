"""Lines that hold no part: titles that name a material, totals, remarks."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from stockyard.cutlist.banding import is_edgy
from stockyard.cutlist.batching import batch_said
from stockyard.cutlist.draft import Heading, Shop
from stockyard.cutlist.edges import BAND_WORDS
from stockyard.cutlist.figures import Figure, Fix, Unclear, figure
from stockyard.cutlist.matching import match_said
from stockyard.cutlist.materials import named_words
from stockyard.cutlist.model import Use
from stockyard.cutlist.notes import finished_said, grain_said, is_grain
from stockyard.cutlist.quantities import strong_counts
from stockyard.cutlist.roughing import rough_said
from stockyard.cutlist.spoken import FRACTION_WORDS
from stockyard.cutlist.tokens import Token, has_figure, scan
from stockyard.cutlist.words import ABOUT_WORDS, COUNT_WORDS, NUMBER_WORDS, TOTAL_WORDS, word_set

TITLE_MARK = "=="
# Words before the material a title speaks of: "all parts in 18 mm ply".
_LEADS = word_set("all everything every parts part pieces is are in from of the out a use material")
_AS_ABOVE = frozenset(("same", "ditto", "dito", "idem"))
_ROUND = ("ø", "⌀", "∅")
_RULE = re.compile(r"[\s|:+=_*~.-]+$")
_TOTAL = re.compile(r"\s*(?:grand\s+|sub)?([^\W\d_]+)\s*[:=]?\s*(\d{1,9})\b(.*)$")


def is_rule(line: str) -> bool:
    """Whether a line only draws a rule (-----, |---|---|)."""
    return _RULE.match(line) is not None


def total_of(line: str) -> int | None:
    """Return the count a total line gives ("TOTAL: 12 pcs"), None when it is no total."""
    m = _TOTAL.match(line)
    if not m or m[1].casefold() not in TOTAL_WORDS:
        return None
    tail = re.sub(r"[\W_]+", " ", m[3]).split()
    return int(m[2]) if all(w.casefold() in COUNT_WORDS or w.casefold() == "parts" for w in tail) else None


def is_about(tokens: Sequence[Token]) -> bool:
    """Whether a line is about the job and not a part of it: "Date: 4 March", "Job 12"."""
    return tokens[0].kind == "word" and tokens[0].text.casefold() in ABOUT_WORDS


def lumber_heading(line: str, tokens: Sequence[Token], shop: Shop, number: int) -> Heading | None:
    """Return the heading in "2x4:", "2x4 pine" or "Bench, fir 2x4", under which lines give lengths only."""
    at = [i for i, t in enumerate(tokens) if t.kind == "x"]
    figures = [t for t in tokens if t.kind == "fig"]
    if len(at) != 1 or len(figures) != 2 or any(t.kind in ("paren", "band", "comment") for t in tokens):
        return None
    a, b = tokens[at[0] - 1 : at[0]], tokens[at[0] + 1]
    nominal = f"{a[0].text}x{b.text}" if a else ""
    if shop.lumber.actual(nominal) is None or a[0].end != tokens[at[0]].start or tokens[at[0]].end != b.start:
        return None
    words = [t.text for t in tokens if t.kind == "word"]
    if any(w.casefold() in COUNT_WORDS or w.casefold() in NUMBER_WORDS for w in words):
        return None
    wood = " ".join(words[k] for k in named_words(words, shop))
    if not wood and tokens[-1].text != ":":
        return None
    whole = (tokens[0].start, tokens[-1].end, Use.TITLE)
    return Heading(title=line.strip(), nominal=nominal, material=wood, line=number, spans=(whole,))


def read_heading(line: str, tokens: Sequence[Token], shop: Shop, number: int) -> Heading:
    """Return what a line without a size says of the lines below: "Mudroom bench, 3/4 birch ply".

    Raises:
        Unclear: it holds figures that are no thickness, so it may be a part gone wrong.
    """
    title = Fix("only a title", 0, 0, f"{TITLE_MARK} ")
    if strong_counts(tokens, None) or (tokens[0].text.casefold() in NUMBER_WORDS):
        raise Unclear("a count but no size", tokens[0].start, (title,))
    if disc := next((t for t in tokens if t.text.casefold().startswith(_ROUND)), None):
        raise Unclear("a round part? give the sides of its square", disc.start, (title,))
    found = Heading(title=line.strip(), line=number)
    spans: list[tuple[int, int, Use]] = []
    maybe: list[str] = []
    for piece in _pieces(tokens):
        text = line[piece[0].start : piece[-1].end]
        use = Use.TITLE
        words, thickness = _substance(piece, shop)
        if words or thickness:
            if (thickness and found.thickness) or (words and found.material):
                raise Unclear("two materials in one heading", piece[0].start, (title,))
            found = replace(found, thickness=found.thickness or thickness, material=found.material or words)
            use = Use.MATERIAL
        elif all(is_edgy(t) for t in piece) and any(t.text.casefold() in BAND_WORDS for t in piece):
            found, use = replace(found, bands=f"{found.bands} {text}".strip()), Use.BANDS
        elif (finished := finished_said(text)) is not None:
            found, use = replace(found, finished=finished), Use.FINISHED
        elif (match := match_said(text)) is not None:
            found, use = replace(found, match=match), Use.SET
        elif batch := batch_said(text):
            found, use = replace(found, batch=batch), Use.BATCH
        elif rough := rough_said(text):
            found, use = replace(found, rough=rough), Use.ROUGH
        elif is_grain(text):
            found, use = replace(found, grain=grain_said(text)), Use.GRAIN
        else:
            _no_silent_title(piece, title)
            maybe += [piece[k].text for k in named_words([t.text for t in piece], shop)]
        if any(t.kind == "fig" for t in piece) and not thickness and use is not Use.ROUGH:
            at = next(t for t in piece if t.kind == "fig")
            raise Unclear("no size: a title, or a part with something missing?", at.start, (title,))
        if use is Use.MATERIAL and (lead := _leading(piece, shop)):
            spans.append((lead[0].start, lead[-1].end, Use.TITLE))
            piece = piece[len(lead) :]
        spans.append((piece[0].start, piece[-1].end, use))
    if not found.material and maybe:
        found = replace(found, maybe=" ".join(maybe))
    return replace(found, spans=tuple(spans))


def _no_silent_title(piece: Sequence[Token], title: Fix) -> None:
    """Ask about words of a title that speak of figures or bands and are not understood."""
    for token in piece:
        text = token.text.casefold()
        if (
            text in BAND_WORDS
            or text in FRACTION_WORDS
            or text in _AS_ABOVE
            or (token.kind != "fig" and has_figure(text))
        ):
            raise Unclear(f"'{token.text}' in a title: what does it say of the parts?", token.start, (title,))


def _leading(piece: Sequence[Token], shop: Shop) -> Sequence[Token]:
    """Return the words before the figure of a piece that are no words of its material: "rails 4/4 poplar"."""
    at = next((k for k, t in enumerate(piece) if t.kind == "fig"), 0)
    lead = piece[:at]
    if not lead or lead[0].text.casefold() in _LEADS or named_words([t.text for t in piece], shop)[:1] < [at]:
        return ()
    return lead


def _pieces(tokens: Sequence[Token]) -> list[list[Token]]:
    """Split a heading at its commas, colons, dashes and brackets; a bracket's words are a piece too."""
    pieces: list[list[Token]] = [[]]
    for token in tokens:
        if token.kind == "paren":
            pieces += [*_pieces(scan(token.text[1:-1], token.start + 1)), []]
        elif token.kind in ("other", "comment"):
            pieces.append([token] if token.kind == "comment" else [])
        else:
            pieces[-1].append(token)
    return [p for p in pieces if p]


def _substance(piece: Sequence[Token], shop: Shop) -> tuple[str, Figure | None]:
    """Return the material words and the thickness of one piece of a heading."""
    while piece and piece[0].text.casefold() in _LEADS:
        piece = piece[1:]
    texts = [t.text.casefold() for t in piece]
    if "unless" in texts:
        piece = piece[: texts.index("unless")]
    figures = [t for t in piece if t.kind == "fig"]
    known = named_words([t.text for t in piece], shop)
    if len(figures) != 1:
        names = not figures and bool(known) and known[-1] == len(piece) - 1
        return (" ".join(t.text for t in piece) if names else ""), None
    thickness = figure(figures[0].text, figures[0].start, end=figures[0].end)
    if not known and (thickness.whole or len(piece) > 1):
        return "", None
    at = list(piece).index(figures[0])
    words = [t.text for k, t in enumerate(piece) if t.kind == "word" and (k > at or k in known)]
    return " ".join(w for w in words if w.casefold() not in ("thick", "thk")), thickness
