"""Completing words at a shell: jobs, tags, places, materials, as the yard has them now."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any, get_type_hints

import typer

_ASKS = "_STOCKYARD_COMPLETE"
_KINDS = {"JOB": "job", "TAG": "tag", "PLACE": "place", "MATERIAL": "material"}


def asked() -> bool:
    """Whether a shell asks for words to complete, instead of a command being run."""
    return _ASKS in os.environ


def attach(command: Callable[..., None]) -> None:
    """Let the words of a command be completed by what their metavars say they are."""
    hints = get_type_hints(command, include_extras=True)
    command.__annotations__ = hints  # as evaluated here: written as text they would be made anew
    for hint in hints.values():
        for info in getattr(hint, "__metadata__", ()):
            name = re.sub(r"[\[\].]|\|.*", "", getattr(info, "metavar", None) or "")
            if name in _KINDS:
                info.autocompletion = _completing(_KINDS[name])


def _completing(kind: str) -> Callable[[typer.Context, str], list[tuple[str, str]]]:
    def complete(ctx: typer.Context, incomplete: str) -> list[tuple[str, str]]:
        return _words(kind, ctx.params.get("file") or ctx.params.get("yard"), incomplete)

    return complete


def _words(kind: str, file: Any, begun: str) -> list[tuple[str, str]]:
    """Return what completes `begun`, or nothing where anything is wrong: a shell must never be disturbed."""
    from stockyard.cli.common import yard_path
    from stockyard.desk.completing import begun_with

    with suppress(Exception):
        given = file or os.environ.get("STOCKYARD_YARD")
        found = begun_with(yard_path(Path(given) if given else None), kind, begun)
        return [(_typed(word, begun), about) for word, about in found]
    return []


def _typed(word: str, begun: str) -> str:
    """Return a word as it goes on from what was typed; bash wants it quoted, other shells quote it.

    Typer drops what does not begin as typed, so in bash a word is not completed past its first blank.
    """
    whole = begun + word[len(begun) :]
    return re.sub(r"([^\w./-])", r"\\\1", whole) if "bash" in os.environ.get(_ASKS, "") else whole
