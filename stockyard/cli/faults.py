"""What the command line says of an error: how the command ends, and what to type next."""

from __future__ import annotations

from stockyard.errors import BadInput, Interrupted, Refused, StockyardError

REFUSED, INTERRUPTED = 1, 130
# How a command ends, the narrowest kind first.
_ENDS = ((Interrupted, INTERRUPTED), (Refused, REFUSED), (BadInput, 2), (StockyardError, 2))
# What to do about a fault, by its code; its fields fill the braces.
_NEXT = {
    "no yard": "make one with 'stockyard yard new'",
    "not a yard": "make one with 'stockyard yard new'",
    "no backup": "'stockyard yard backups' lists those there are",
    "damaged": "restore a backup ('stockyard yard backups' lists them)",
    "no place": "add it with 'stockyard place add'",
    "no places": "add one with 'stockyard place add'",
    "no such material": "see 'stockyard material list'",
    "no plan": "make one first ('stockyard plan {job}')",
    "plan broken": "plan it again ('stockyard plan {job}')",
    "plan holds pieces": "release it first ('stockyard release {job}')",
    "grown": "measure it again, or say --larger if the record is wrong",
    "seen but cut": "undo its cut, or say --not-seen {tag}",
    "no price": "add one with 'stockyard price add'",
    "no density": "weigh a sheet and set it with 'stockyard material change'",
    "no label layout": "'stockyard label-layouts' lists them",
    "own label": "'stockyard label-layouts' shows how to write it",
}


def worded(error: StockyardError) -> str:
    """Return the one line for an error: what was wrong, and what to type next."""
    hint = _NEXT.get(error.code, "")
    try:
        hint = hint.format_map(error.fields)
    except KeyError:
        hint = ""
    return f"{error}: {hint}" if hint else str(error)


def ends_with(error: StockyardError) -> int:
    """Return the exit code of a command that ended with this error."""
    return next(code for kind, code in _ENDS if isinstance(error, kind))
