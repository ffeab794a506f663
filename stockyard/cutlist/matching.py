"""Matched sets: what lists say of parts that show one continuous grain, and which parts those are.

"grain matched", "matched set A", "match along": such parts come from one piece, side by side, in the order of
the list. How they follow each other is worked out from their sizes where only one way lets them lie flush.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import gcd

from stockyard.cutlist.draft import Draft, Match
from stockyard.cutlist.model import Question, Reading, Row
from stockyard.cutlist.questions import Asked
from stockyard.kinds import Grain
from stockyard.wording import count

_SAID = re.compile(
    r"(?:(?:grain|figure|veneer)[ -]*)?match(?:ed|ing)?(?:[ -]+(?:grain|figure|veneer))?"
    r"(?:[ -]+(?:set|sets|pair|pairs|run|group))?"
    r"|continuous[ -]grain|grain[ -]continuous|grain runs (?:on|through)",
    re.IGNORECASE,
)
_NAME = re.compile(r"""\s*[:=]?\s*(?:"([^"]{1,40})"|'([^']{1,40})'|([^\W_]{1,3}))(?=$|[\s,;])""")
# A longer one only where the words say that it is a set, or how it runs: "match fronts across".
_LONG_NAME = re.compile(r"\s*[:=]?\s*([^\W\d_][\w-]{3,29})\s*")
_SET = re.compile(r"(?:set|pair|run|group)s?$", re.IGNORECASE)
_RUN = re.compile(r"[\s,;]*\b(?:run\s+|runs\s+)?(along|across)(?:\s+the\s+grain)?\s*$", re.IGNORECASE)
_YES = frozenset(("x", "yes", "y", "ja", "oui", "✓", "✔", "true", "match", "matched"))
_NO = frozenset(("", "-", "no", "n", "nein", "non", "none", "false"))
_LOOSE = "loose"


def match_said(text: str) -> Match | None:
    """Return what words say of matching when they speak of nothing else; None when they do not."""
    text = text.strip()
    m = _SAID.match(text)
    if not m:
        return None
    rest, run = _run_off(text[m.end() :])
    named = _NAME.match(rest)
    if named and not rest[named.end() :].strip():
        return Match(next(g for g in named.groups() if g), run)
    if (run or _SET.search(m[0])) and (long := _LONG_NAME.fullmatch(rest)):
        return Match(long[1], run)
    return None if rest.strip() else Match("", run)


def speaks_of_match(text: str) -> bool:
    """Whether words speak of a matched grain among other things."""
    folded = text.casefold()
    return any(
        re.search(r"grain|set\b|pair\b", folded) and m[0].casefold() not in ("match", "matched", "matching")
        for m in _SAID.finditer(text)
    )


def off_name(name: str) -> tuple[str, Match | None]:
    """Return a name without the words at its end that say it is matched, and what they say."""
    for m in _SAID.finditer(name):
        found = match_said(name[m.start() :])
        if found and m.start():
            return name[: m.start()].rstrip(" ,-"), found
    return name, None


def in_cell(text: str) -> Match | None:
    """Return what a cell of a column of sets says: a name, "yes", or nothing."""
    if text.strip().casefold() in _NO:
        return None
    rest, run = _run_off(text)
    rest = rest.strip(" ,;")
    if rest.casefold() in _YES or not rest:
        return Match("", run)
    said = match_said(rest)
    return replace(said, run=said.run or run) if said else Match(rest, run)


def _run_off(text: str) -> tuple[str, str]:
    m = _RUN.search(text)
    return (text[: m.start()], m[1].casefold()) if m else (text, "")


def with_sets(drafts: Sequence[Draft], rows: Sequence[Row], asked: Asked) -> list[Row]:
    """Return the rows with the set each belongs to. Sets that can not lie flush are asked about."""
    out = list(rows)
    taken = {d.match.name.casefold() for d in drafts if d.match}
    for name, which in _gathered(drafts, rows):
        called = name or _title(drafts[which[0]], taken)
        taken.add(called.casefold())
        run = _run(called, [drafts[k] for k in which], [rows[k] for k in which], asked)
        if run == _LOOSE:
            continue
        each = gcd(*(rows[k].count for k in which)) if len(which) > 1 else 0
        for k in which:
            out[k] = replace(
                rows[k], set_name=called, set_run=run, set_each=rows[k].count // each if each else 0
            )
    return out


def _gathered(drafts: Sequence[Draft], rows: Sequence[Row]) -> Iterator[tuple[str, list[int]]]:
    """Yield each set: its name and its rows. Without a name, rows that follow each other are one set."""
    sets: dict[object, tuple[str, list[int]]] = {}
    last: object = None
    for k, draft in enumerate(drafts):
        if draft.match is None:
            last = None
            continue
        key: object = draft.match.name.casefold() or last
        before = sets.get(key)
        apart = before is not None and not draft.match.name and not (
            drafts[before[1][-1]].heading.line == draft.heading.line
            and _ways([rows[i] for i in before[1]] + [rows[k]])
        )  # fmt: skip
        if before is None or apart:
            key = draft.match.name.casefold() or ("unnamed", k)
            sets[key] = (draft.match.name, [])
        sets[key][1].append(k)
        last = None if draft.match.name else key
    yield from sets.values()


def _title(draft: Draft, taken: set[str]) -> str:
    """Return a name for a set that has none: its heading's, or a number."""
    title = re.split(r"[,:(]", draft.heading.title)[0].strip()[:40] if draft.heading.match else ""
    if title and title.casefold() not in taken:
        return title
    return next(name for n in range(1, len(taken) + 2) if (name := f"set {n}") not in taken)


def _ways(rows: Sequence[Row]) -> list[str]:
    """Return the ways in which rows can follow each other and lie flush."""
    turned = [(r.width, r.length) if r.grain is Grain.ACROSS else (r.length, r.width) for r in rows]
    ways = (("across", {x for x, _ in turned}), ("along", {y for _, y in turned}))
    return [way for way, sizes in ways if len(sizes) == 1]


def _run(name: str, drafts: Sequence[Draft], rows: Sequence[Row], asked: Asked) -> str:
    """Return along, across, or that the parts are no set; what is not clear is asked."""
    ways = _ways(rows)
    said = {d.match.run for d in drafts if d.match and d.match.run}
    says = {
        "across": "side by side across the grain, one below the other",
        "along": "end to end along the grain",
        _LOOSE: "no set: each part may come from anywhere",
    }
    doubt = _doubt(rows, ways, said)
    if not doubt:
        if len(said) == 1:
            return said.pop()
        if len(ways) == 1:
            return ways[0]
    first = rows[0]
    question = Question(
        id=f"set{first.line}" + (f".{first.column}" if first.column > 1 else ""),
        line=first.line, column=first.column, text=first.text.strip()[:200], kind="row",
        lines=tuple(sorted({r.line for r in rows})),
        unclear=f"{_called(name)}: {doubt or 'how do its parts follow each other?'}",
        readings=tuple(Reading(k, says[k]) for k in ([] if doubt else ways) + [_LOOSE]),
    )  # fmt: skip
    return asked.settle(question)


def _called(name: str) -> str:
    return name if name.startswith("set ") else f"set {name}"


def _doubt(rows: Sequence[Row], ways: Sequence[str], said: set[str]) -> str:
    """Return why rows can be no set as they stand, empty when they can."""
    if sum(r.count for r in rows) < 2:
        return "it has one part only: what does it match?"
    if len({(r.material.casefold(), r.thickness_name) for r in rows}) > 1:
        return "its parts are of several materials or thicknesses, but must come from one piece"
    if len({r.grain is Grain.ACROSS for r in rows}) > 1:
        return "the grain of its parts does not run the same way"
    if not ways:
        return f"its {count(len(rows), 'line')} differ in length and in width, so they can not lie flush"
    if len(said) > 1 or not said <= set(ways):
        return f"its parts can follow each other {' or '.join(ways)} only, not {' and '.join(sorted(said))}"
    return ""
