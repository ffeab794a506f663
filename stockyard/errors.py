"""What can go wrong, said so that the person at the bench knows what to do next."""

from __future__ import annotations


class StockyardError(Exception):
    """Base of every error shown to a person: one line, no traceback.

    The text says what was wrong, where, and what to do. `exit_code` is what the command ends with.
    """

    exit_code = 2


class BadInput(StockyardError):
    """The words, file or number given cannot be used (exit 2)."""

    exit_code = 2


class Refused(StockyardError):
    """A rule of the yard forbids it; nothing was changed (exit 1)."""

    exit_code = 1


class Interrupted(StockyardError):
    """The person stopped it (exit 130)."""

    exit_code = 130
