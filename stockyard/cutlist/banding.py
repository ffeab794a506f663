"""Words about edge bands in an entry: found wherever they stand, so that none of them stays a silent note."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.cutlist.edges import BAND_NOUNS, BAND_WORDS, EDGE_WORDS, UNSURE
from stockyard.cutlist.figures import Fix, Unclear, figure
from stockyard.cutlist.tokens import Token
from stockyard.cutlist.words import FACES, LEADS, MATERIAL_WORDS, PREPOSITIONS, word_set
from stockyard.measure import TICKS_PER_MM

_NAMED = re.compile(r"[LW][12](?:[+/&][LW][12]){0,3}$", re.IGNORECASE)
_WORD = re.compile(r"[^\W_]+")
_TELLING = EDGE_WORDS - word_set("the on with of and only to a an side sides 1 2 3 4 one two three four")
_SIDES = word_set("edge edges")
# Nothing so thin is banded itself.
_THIN = 5 * TICKS_PER_MM
# Lipping is of solid wood and thicker (common practice, no source).
_LIPPING = 12 * TICKS_PER_MM
_LINKS = frozenset((",", "&", "+", "/"))


@dataclass(frozen=True, slots=True)
class Banding:
    """The words that say which edges are banded, the words about the band itself, and their tokens.

    `named` is True when the band words belong to the part's name and stay there.
    """

    said: str = ""
    own: str = ""
    used: frozenset[int] = frozenset()
    named: bool = False


def find(
    tokens: Sequence[Token], free: Sequence[int], begin: int, end: int, *, named: bool = True
) -> Banding:
    """Return what an entry with its size at tokens[begin:end] says of banded edges.

    Unless the part is `named` before its size, "top" or "false front" right behind it name it.

    Raises:
        Unclear: a thickness or material before the band word, of the part or of the band.
    """
    after = [i for i in free if i >= end]
    runs = [
        run for r in _runs(tokens, after) if (run := _without_name(tokens, r, after, named=named, end=end))
    ]
    seeds = [run for run in runs if _seed(tokens, run)]
    weak = [run for run in runs if run not in seeds and _edges_named(tokens, run)]
    if not seeds and not weak:
        in_name = [i for i in free if i < begin and tokens[i].text.casefold() in BAND_WORDS]
        if in_name:
            return Banding(UNSURE + " ".join(tokens[i].text for i in free if i < begin), named=True)
        return Banding()
    used = {i for run in seeds or weak for i in run}
    if seeds and (no := [i for i in (run[0] - 1 for run in seeds) if i in free and _denies(tokens[i])]):
        return Banding("none", "", frozenset((*used, *no)))
    if seeds:
        used |= {i for run in runs if run not in seeds and _stands_alone(tokens, run, free) for i in run}
    own, theirs, more = _own(tokens, after, seeds, used, end) if seeds else ("", frozenset[int](), [])
    used |= set(more)
    words = [_inner(tokens[i]) for i in sorted(used) if tokens[i].text != ":"]
    said = " ".join(words[:-1] if words[-1].casefold() in ("with", "of") else words)
    return Banding(("" if seeds else UNSURE) + said, own, frozenset(used | theirs))


def _inner(token: Token) -> str:
    return token.text[1:-1].strip() if token.kind == "paren" else token.text


def is_edgy(token: Token) -> bool:
    """Whether a token may stand in words about banded edges."""
    text = token.text.casefold()
    if token.kind == "band" or (token.kind == "fig" and text in ("1", "2", "3", "4")):
        return True
    if token.kind == "paren":
        words = [w.casefold() for w in _WORD.findall(token.text)]
        return bool(words) and all(w in EDGE_WORDS or w in BAND_WORDS or _code(w) for w in words)
    return token.kind == "word" and (text in EDGE_WORDS or text in BAND_WORDS or bool(_NAMED.match(text)))


def _code(word: str) -> bool:
    return bool(_NAMED.match(word) or re.fullmatch(r"(?:[1-4][lsw]){1,2}", word))


def _runs(tokens: Sequence[Token], after: Sequence[int]) -> list[list[int]]:
    """Return the stretches of edge words after the size; a bracket is one by itself."""
    runs: list[list[int]] = []
    for i in after:
        if not is_edgy(tokens[i]):
            continue
        joins = runs and runs[-1][-1] == i - 1 and "paren" not in (tokens[i].kind, tokens[i - 1].kind)
        if joins:
            runs[-1].append(i)
        elif _leads_on(tokens, runs, i):
            runs[-1] += [i - 1, i]
        elif not (_is_letter(tokens[i]) and i - 1 in after and tokens[i - 1].kind == "word"):
            # "panel A both long edges": the letter ends a name
            runs.append([i])
    return runs


def _leads_on(tokens: Sequence[Token], runs: Sequence[Sequence[int]], i: int) -> bool:
    """Whether a colon leads from a band word to what follows: "EB: front"."""
    return bool(
        runs
        and runs[-1][-1] == i - 2
        and tokens[i - 1].text == ":"
        and tokens[i - 2].text.casefold() in BAND_NOUNS
    )


def _denies(token: Token) -> bool:
    return token.text.casefold() in ("no", "not", "without", "ohne", "sans")


def _without_name(
    tokens: Sequence[Token], run: list[int], after: Sequence[int], *, named: bool, end: int
) -> list[int]:
    """Return a run without the places at its front that name the part: "TOP edged all round"."""
    i = run[0] - 1
    goes_on = i in after and tokens[i].kind == "word" and tokens[i].text.casefold() not in PREPOSITIONS
    if goes_on or (not named and run[0] == end):
        while run and tokens[run[0]].text.casefold() in FACES:
            run = run[1:]
    return run


def _is_letter(token: Token) -> bool:
    return token.text.casefold() in ("a", "an")


def _words(tokens: Sequence[Token], run: Sequence[int]) -> list[str]:
    return [w.casefold() for i in run for w in re.findall(r"[^\W_][\w-]*", tokens[i].text)]


def _seed(tokens: Sequence[Token], run: Sequence[int]) -> bool:
    """Whether a run speaks of bands for certain: a band word, a code such as 2L1S or L1."""
    words = _words(tokens, run)
    return any(w in BAND_WORDS or _code(w) for w in words) or any(tokens[i].kind == "band" for i in run)


def _edges_named(tokens: Sequence[Token], run: Sequence[int]) -> bool:
    """Whether a run without a band word may still mean bands: "all edges", "1 long", "all round"."""
    words = _words(tokens, run)
    told = [w for w in words if w in _TELLING and w not in _SIDES | LEADS | {"each", "every"}]
    counted = any(w in ("1", "2", "3", "4", "one", "two", "three", "four", "both", "all") for w in words)
    return bool(told or counted) and (bool(_SIDES & set(words)) or bool(counted and told))


def _stands_alone(tokens: Sequence[Token], run: Sequence[int], free: Sequence[int]) -> bool:
    """Whether a run of edge words is a piece by itself (", 1 short"), and so goes on with the bands."""
    if not any(w in _TELLING for w in _words(tokens, run)):
        return False
    before, after = tokens[run[0] - 1], run[-1] + 1
    opens = tokens[run[0]].kind == "paren" or before.text in _LINKS or before.kind == "paren"
    closes = (
        after >= len(tokens)
        or tokens[after].kind in ("other", "paren", "comment")
        or after not in free
        or _thin(tokens[after])
    )
    return opens and closes


def _own(
    tokens: Sequence[Token], after: Sequence[int], seeds: Sequence[Sequence[int]], used: set[int], end: int
) -> tuple[str, frozenset[int], list[int]]:
    """Return the words about the band itself: "1 mm oak" before edging, "in oak" or "2 mm" behind banded.

    Last come the tokens before those that name edges: "front edge 1/4 oak lipping".

    Raises:
        Unclear: they stand right behind the size, and may be those of the part.
    """
    own: list[int] = []
    edges: list[int] = []
    for run in seeds:
        if tokens[run[0]].text.casefold() in BAND_NOUNS:
            lead = _back(tokens, run[0] - 1, after)
            if not any(tokens[i].kind == "fig" or tokens[i].text.casefold() in MATERIAL_WORDS for i in lead):
                lead = []
            if lead and lead[0] == end:
                raise _whose(tokens, lead, run[0])
            places = next((k for k, i in enumerate(lead) if not is_edgy(tokens[i])), 0)
            edges, own = edges + lead[:places], own + lead[places:]
        j = run[-1] + 1
        leads = j in after and tokens[j].text.casefold() in PREPOSITIONS
        if leads or tokens[run[-1]].text.casefold() in ("with", "of"):
            while j in after and tokens[j].kind in ("word", "fig"):
                own.append(j)
                j += 1
    last = max(used) + 1
    words = [w for run in seeds for w in _words(tokens, run)]
    said, most = any(w in BAND_WORDS for w in words), _THIN
    if any(w.startswith("lip") for w in words):
        most = _LIPPING
    if last < len(tokens) and tokens[last].text == ",":
        last += 1
    if said and last in after and last not in own and _thin(tokens[last], most):
        own += [last, *_stuff(tokens, last + 1, after)]
    return " ".join(tokens[i].text for i in own), frozenset(own) - used, edges


def _stuff(tokens: Sequence[Token], i: int, after: Sequence[int]) -> list[int]:
    """Return the words of a material from token `i` on, right behind the thickness of a band.

    They are the part's where its own thickness follows them.
    """
    found = []
    while i in after and tokens[i].text.casefold() in MATERIAL_WORDS:
        found.append(i)
        i += 1
    return [] if i in after and tokens[i].kind == "fig" else found


def _thin(token: Token, most: int = _THIN) -> bool:
    """Whether a token is a thickness that only a band has: of `most` at most."""
    if token.kind != "fig" or token.text.isdigit():
        return False
    said = figure(token.text, token.start)
    return said.unit is not None and said.ticks(said.unit) <= most


def _back(tokens: Sequence[Token], i: int, after: Sequence[int]) -> list[int]:
    """Return the words and figures before token `i`, back to the next sign."""
    found = []
    while i in after and tokens[i].kind in ("word", "fig"):
        found.append(i)
        i -= 1
    return found[::-1]


def _whose(tokens: Sequence[Token], lead: Sequence[int], at: int) -> Unclear:
    first, band = tokens[lead[0]], tokens[at]
    words = " ".join(tokens[i].text for i in lead)
    fixes = (
        Fix(f"the part is {words}", band.start, band.start, ", "),
        Fix(f"the band is {words}", first.start, first.start, ", "),
    )
    return Unclear(f"'{words} {band.text}': is the part or the band {words}?", first.start, fixes)
