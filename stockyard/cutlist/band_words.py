"""Words about a band itself: its material and how thick it is, apart from the edges it is on."""

from __future__ import annotations

import re
from dataclasses import dataclass

from stockyard.cutlist.edges import BAND_NOUNS, BAND_WORDS, EDGE_WORDS, UNSURE
from stockyard.cutlist.figures import Figure, Unclear, figure
from stockyard.cutlist.tokens import Token, scan
from stockyard.cutlist.words import MATERIAL_WORDS, PREPOSITIONS, word_set
from stockyard.measure import Length, Unit

BAND_STUFF = word_set("abs pvc pp veneer paper melamine acrylic aluminium aluminum solid")
_IDLE = PREPOSITIONS | BAND_NOUNS | word_set("thick with and edge edges")
_CODE = re.compile(r"(?:[1-4]?[lswk][12]?[+/&,]?)+|[1-4]", re.IGNORECASE)
_LEADS = re.compile(r"\b(?:in|with)\b|:", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class SaidBand:
    """A band as words say it; `thickness` in ticks, None when they do not; `note` is what else they say."""

    material: str = ""
    thickness: Length | None = None
    note: str = ""


def read_band(own: str, unit: Unit) -> SaidBand:
    """Return what words such as "1 mm oak" say of a band; a bare figure is in `unit`, a fraction inches."""
    if not own:
        return SaidBand()
    try:
        tokens = scan(own)
        figures = [figure(t.text, t.start) for t in tokens if t.kind == "fig"]
    except Unclear:
        return SaidBand(note=f"band: {own}")
    words = [t.text for t in tokens if t.kind == "word" and t.text.casefold() not in _IDLE]
    if len(figures) > 1 or any(t.kind not in ("fig", "word") for t in tokens):
        return SaidBand(note=f"band: {own}")
    return SaidBand(" ".join(words), _ticks(figures[0], unit) if figures else None)


def _ticks(said: Figure, unit: Unit) -> Length:
    return Length(said.ticks(Unit.INCH if said.fraction else unit))


def split_cell(text: str) -> tuple[str, str]:
    """Return the words about edges and those about the band of a cell such as "2L1S, 1 mm ABS".

    Words that say neither stay with the edges, so that they are asked about.
    """
    codes, lead, own = _parted(text)
    if lead and own and _tells_band(own):
        return codes, own
    try:
        tokens = scan(text.removeprefix(UNSURE))
    except Unclear:
        return text, ""
    band = [t for t in tokens if _of_band(t)]
    rest = [t for t in tokens if t not in band]
    if not band or not rest or not all(_of_edges(t) for t in rest):
        return text, ""
    unsure = UNSURE if text.startswith(UNSURE) else ""
    return unsure + " ".join(t.text for t in rest if t.kind != "other"), " ".join(t.text for t in band)


def _parted(text: str) -> tuple[str, str, str]:
    """Return a text before and behind the word that leads to the band: "L1 in oak"."""
    m = _LEADS.search(text)
    return (text[: m.start()].strip(), m[0], text[m.end() :].strip()) if m else (text, "", "")


def _tells_band(own: str) -> bool:
    """Whether words behind "in" or "with" are about the band, and name no edge."""
    words = [w.casefold() for w in own.split()]
    return not any(w in EDGE_WORDS | BAND_WORDS or _CODE.fullmatch(w) for w in words)


def _of_band(token: Token) -> bool:
    """Whether a token tells a band's material, or its thickness: a figure with a unit, point or stroke."""
    if token.kind == "fig":
        return not token.text.isdigit()
    return token.kind == "word" and token.text.casefold() in MATERIAL_WORDS | BAND_STUFF


def _of_edges(token: Token) -> bool:
    word = token.text.casefold()
    return (
        token.kind in ("band", "other")
        or word in EDGE_WORDS | BAND_WORDS
        or _CODE.fullmatch(word) is not None
    )
