"""What the command line says of an error or a difference: how the command ends, and what to type next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Interrupted, Refused, StockyardError

if TYPE_CHECKING:
    from stockyard.desk.shop import Difference

REFUSED, INTERRUPTED = 1, 130
# How a command ends, the narrowest kind first.
_ENDS = ((Interrupted, INTERRUPTED), (Refused, REFUSED), (BadInput, 2), (StockyardError, 2))
# What to do about a fault, by its code; its fields fill the braces.
_NEXT = {
    "no yard": "make one with 'stockyard yard new'",
    "not a yard": "restore a backup ('stockyard yard backups' lists them), or name another file",
    "no backup": "'stockyard yard backups' lists those there are",
    "damaged": "restore a backup ('stockyard yard backups' lists them)",
    "no place": "add it with 'stockyard place add'",
    "place retired": "take it back into use with 'stockyard place add {place}'",
    "no such material": "see 'stockyard material list'",
    "no plan": "make one first ('stockyard plan {job}')",
    "plan broken": "plan it again ('stockyard plan {job}')",
    "plan holds pieces": "release it first ('stockyard release {job}')",
    "off thickness": "measure it again, shelve it as what it is, or say --sure",
    "grown": "measure it again, or say --larger if the record is wrong",
    "seen but cut": "undo its cut, or say --not-seen {tag}",
    "no fit": "say where with --at PLACE",
    "which job": "say which with --job",
    "no price": "add one with 'stockyard price add'",
    "no density": "weigh a sheet and set it with 'stockyard material change'",
    "no label layout": "'stockyard label-layouts' lists them",
    "own label": "'stockyard label-layouts' shows how to write it",
}
_RESTORE = "restore the newest backup that checks ('stockyard yard restore')"
# What mends a difference that a check found, by its word; `about` fills the braces.
_MENDS = {
    "restore": _RESTORE,
    "rebuild": "if the ledger is right, 'stockyard yard rebuild FILE' writes a new yard from it; else "
    + _RESTORE,
    "new tag": "give one of them a new tag: write it off ('stockyard gone') and shelve it again",
    "drop": "take the {about} out of the file with an SQLite program",
    "close deed": "empty the table open_deed with an SQLite program",
    "plan again": "plan that job again ('stockyard plan {typed}')",
}


def mending(difference: Difference) -> str:
    """Return what to do about a difference."""
    return _MENDS[difference.mend].format(about=difference.about, typed=_typed(difference.about))


def worded(error: StockyardError) -> str:
    """Return the one line for an error: what was wrong, and what to type next."""
    hint = _NEXT.get(error.code, "")
    try:
        hint = hint.format_map({name: _typed(value) for name, value in error.fields.items()})
    except KeyError:
        hint = ""
    return f"{error}: {hint}" if hint else str(error)


def _typed(value: object) -> str:
    """Return a name as it is typed in a shell, if it can be in the other quotes than the hint is in."""
    from shlex import quote

    text = str(value)
    return quote(text) if quote(text) == text or set(text) & set('"$`!\\') else f'"{text}"'


def ends_with(error: StockyardError) -> int:
    """Return the exit code of a command that ended with this error."""
    return next(code for kind, code in _ENDS if isinstance(error, kind))
