"""From which file an outline was read: a comment before what is kept of it, as the format knows them."""

from __future__ import annotations

from pathlib import PurePath

from stockyard.text import leaving

# The group code of a comment, and what ours begins with: other programs leave some too.
_COMMENT, _FROM = "999", "from the file "


def with_name(text: str, name: str) -> str:
    """Return the text of a drawing exchange file with the file's own name before it."""
    return f"{_COMMENT}\n{_FROM}{leaving(PurePath(name).name)}\n{text}"


def outline_name(text: str) -> str:
    """Return the name that `with_name` put before a text, empty where there is none."""
    code, line, *_ = (*text.split("\n", 2), "")
    return line.removeprefix(_FROM) if code == _COMMENT and line.startswith(_FROM) else ""
