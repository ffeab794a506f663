"""Spoils good input as hands, scanners, spreadsheets and bad disks do; keeps what led somewhere new."""

from __future__ import annotations

import io
import json
import random
import re
import resource
import signal
import time
import zipfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

from stockyard.errors import StockyardError

T = TypeVar("T")
Spoil = Callable[[random.Random, T, T], T]

LONGEST_CASE = 20_000
SECONDS = 1.0
KIBIBYTES = 300 * 1024
_ODD = (
    "0", "-1", "1e9", "1e999999999", "9" * 5000, "NaN", "inf", "1/0", "0/0", "½", "1 1/2", "1-1/2", "1,5",
    "1.234,5", "''", '"', "'", "=1+1", "@x", "\u202e", "\u200b", "\ufeff", "\u00a0", "\x00", "\x1a", "\r",
    "\r\n", "\n", "\t", ";", ",", "|", " x ", "×", "mm", "in", "'-", "²", "٣", "𝟛", "e\u0301", "İ", "ß",
    "\ud800", "\U0010ffff", "%s", "{}", "((((", "\\", "../", "null", "true", "[]", "ea", "pcs", "TOTAL",
    "ditto", "-" * 300, "(" * 300, "1 x " * 200, " " * 2000,
)  # fmt: skip


def spoil_text(rng: random.Random, text: str, other: str) -> str:
    """Return the text with one to six changes; `other` is another good text to take pieces from."""
    for _ in range(rng.choice((1, 1, 1, 2, 3, 6))):
        a = rng.randint(0, len(text))
        b = min(len(text), a + rng.choice((0, 1, 1, 2, 5, 30)))
        text = (text[:a] + _instead(rng, text[a:b], other) + text[b:])[:LONGEST_CASE]
    return text


def _instead(rng: random.Random, old: str, other: str) -> str:
    """Return what comes in the place of `old`."""
    c = rng.randint(0, len(other))
    ways: tuple[Callable[[], str], ...] = (
        lambda: "",
        lambda: rng.choice(_ODD),
        lambda: chr(rng.choice((rng.randrange(128), rng.randrange(0x3000)))),
        lambda: old * rng.choice((2, 3, 50)),
        lambda: other[c : c + rng.choice((1, 5, 40, 400))],
        lambda: old[::-1],
        lambda: str(rng.randint(-9, 10 ** rng.choice((1, 3, 9, 20)))),
    )
    return rng.choice(ways)()


def spoil_bytes(rng: random.Random, data: bytes, other: bytes) -> bytes:
    """Return the bytes with some changed, or as text in another encoding."""
    if rng.random() < 0.2:
        encoding = rng.choice(("utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252", "utf-8-sig"))
        return data.decode("utf-8", "replace").encode(encoding, "replace")[:LONGEST_CASE]
    if rng.random() < 0.6:
        text = spoil_text(rng, data.decode("utf-8", "replace"), other.decode("utf-8", "replace"))
        return text.encode("utf-8", "surrogatepass")
    changed = bytearray(data)
    for _ in range(rng.choice((1, 1, 4, 30))):
        if changed:
            changed[rng.randrange(len(changed))] = rng.randrange(256)
    return bytes(changed if rng.random() < 0.8 else changed[: rng.randint(0, len(changed))])


_VALUES: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 2**31, 2**63, 2**64, -(2**63), 10**40, 0.5, 1e308, float("nan"),
    float("inf"), "", " ", "x", "720", "23 1/2", "1e999999999", "-5", "0", "\ud800", "a" * 3000, [], {},
    [[]], [None], {"": 0}, [1, "2"],
)  # fmt: skip


def spoil_json(rng: random.Random, text: str, other: str) -> str:
    """Return JSON with a value, a key or a row changed; now and then with its text spoilt."""
    try:
        tree = json.loads(text)
    except (ValueError, RecursionError):
        return spoil_text(rng, text, other)
    if rng.random() < 0.15:
        return spoil_text(rng, text, other)
    for _ in range(rng.choice((1, 1, 2, 4))):
        at, key = rng.choice(list(_nodes(tree)) or [([tree], 0)])
        _change(rng, at, key)
    return json.dumps(tree)


def _nodes(tree: object) -> Iterator[tuple[Any, Any]]:
    items: Any = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for key, value in items:
        yield tree, key
        yield from _nodes(value)


def _change(rng: random.Random, at: Any, key: Any) -> None:
    what = rng.randrange(6)
    if what == 0:
        del at[key]
    elif what == 1 and isinstance(at, dict):
        at[rng.choice(("unit", "id", "count", "x", "", "L" * 200))] = at.pop(key)
    elif what == 2 and isinstance(at, list):
        at.insert(key, at[rng.randrange(len(at))])
    elif what == 3 and isinstance(at[key], str):
        at[key] = spoil_text(rng, at[key], rng.choice(_ODD))
    elif what == 4 and isinstance(at[key], int):
        at[key] = at[key] + rng.choice((-1, 1, 2**32, -(2**62)))
    else:
        at[key] = rng.choice(_VALUES)


def spoil_zip(rng: random.Random, data: bytes, other: bytes) -> bytes:
    """Return a packed file with one of the files in it spoilt, dropped or doubled; sometimes its bytes."""
    if rng.random() < 0.1:
        return spoil_bytes(rng, data, other)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            members = {name: packed.read(name) for name in packed.namelist()}
    except Exception:
        return spoil_bytes(rng, data, other)
    name = rng.choice([n for n in members if n.startswith("xl/")] or list(members) or ["x"])
    inside = members.get(name, b"")
    if rng.random() < 0.1:
        members.pop(name, None)
    else:
        members[name] = spoil_bytes(rng, inside, inside)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for member, content in members.items():
            packed.writestr(member, content)
    return out.getvalue()


@dataclass
class Fuzzer(Generic[T]):
    """One reader, good input for it, and a way to spoil that.

    `read` returns something that tells outcomes apart, such as kinds of questions. Input whose outcome
    (that, or the words of the error) was not seen before joins the input to be spoilt further, so that the
    search is led on by what the reader does.
    """

    read: Callable[[T], object]
    good: Sequence[T]
    spoil: Spoil[T]
    seed: int = 1
    seen: set[str] = field(default_factory=set)

    def run(self, cases: int) -> None:
        """Read the first good input and `cases` spoilt ones."""
        rng = random.Random(self.seed)
        corpus = list(self.good)
        for case in self.good[:3]:
            self._outcome(case)
        for _ in range(cases):
            case = self.spoil(rng, rng.choice(corpus), rng.choice(corpus))
            outcome = self._outcome(case)
            if outcome not in self.seen:
                self.seen.add(outcome)
                if len(corpus) < 2000:
                    corpus.append(case)

    def _outcome(self, case: T) -> str:
        start = time.thread_time()
        try:
            with cpu_limit(5 * SECONDS):
                said = f"read {self.read(case)!r}"
        except StockyardError as error:
            said = f"{type(error).__name__} {error}"
            assert str(error).strip(), case
        except BaseException as error:
            raise AssertionError(f"{type(error).__name__} ({error}) on {shortened(case)}") from error
        spent = time.thread_time() - start
        assert spent < SECONDS, f"{spent:.1f} s of processor on {shortened(case)}"
        return re.sub(r"\d+|'[^']*'|\"[^\"]*\"", "#", said)[:160]


def shortened(case: object) -> str:
    """Return the case as it can be put into a test."""
    text = repr(case)
    return text if len(text) < 6000 else f"{text[:3000]} ... {text[-3000:]}"


@contextmanager
def cpu_limit(seconds: float) -> Iterator[None]:
    """Break off what takes more of the processor than that, however long the machine lets it wait."""

    def stop(*_: object) -> None:
        raise TimeoutError(f"still at it after {seconds} s of processor")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


@contextmanager
def small_memory() -> Iterator[None]:
    """Refuse that the most memory ever in use grows by more than 300 MiB inside."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    yield
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert grown < KIBIBYTES, f"{grown // 1024} MiB"
