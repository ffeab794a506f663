"""Text from outside the program: the clipboard where the system has one, and the person's editor."""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from stockyard.errors import BadInput

# Each prints the clipboard: Wayland, X11 (two), macOS, Windows.
_READERS = (
    ("wl-paste", "--no-newline"),
    ("xclip", "-selection", "clipboard", "-out"),
    ("xsel", "--clipboard", "--output"),
    ("pbpaste",),
    ("powershell", "-NoProfile", "-Command", "Get-Clipboard -Raw"),
)
_SECONDS = 10
_HINT = "# One part a line, such as: 2 sides 34-1/2 x 14 1/4\n"


def from_clipboard() -> bytes:
    """Return what is on the clipboard.

    Raises:
        BadInput: the system has no program for it, or there is no text on it.
    """
    failed = ""
    for command in _READERS:
        if not shutil.which(command[0]):
            continue
        try:
            done = subprocess.run(command, capture_output=True, timeout=_SECONDS, check=False)
        except (OSError, subprocess.TimeoutExpired) as error:
            failed = f"{command[0]}: {error}"
            continue
        if done.returncode == 0 and done.stdout.strip():
            return done.stdout
        failed = f"{command[0]} found no text"
    if failed:
        raise BadInput(
            f"the clipboard gave nothing ({failed[:120]}): copy the list again, or paste it in here"
        )
    names = ", ".join(command[0] for command in _READERS)
    raise BadInput(f"no program reads the clipboard here ({names}): install one, or paste the list in here")


def from_editor() -> bytes:
    """Open the person's editor on an empty list and return what was saved.

    Raises:
        BadInput: there is no editor, it failed, or the list stayed empty.
    """
    editor = os.environ.get("VISUAL") or os.environ.get("EDITOR")
    if not editor:
        editor = "notepad" if sys.platform == "win32" else next(filter(shutil.which, ("nano", "vi")), None)
    if not editor:
        raise BadInput("no editor is set: set EDITOR, or paste the list in here")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "cut-list.txt"
        path.write_text(_HINT, encoding="utf-8")
        try:
            command = [*shlex.split(editor, posix=sys.platform != "win32"), str(path)]
            code = subprocess.run(command, check=False).returncode
        except (OSError, ValueError) as error:
            raise BadInput(f"the editor '{editor[:60]}' did not start: {error}") from None
        if code:
            raise BadInput(f"the editor ended with {code}: nothing was stored")
        data = path.read_bytes()
    if not data.strip() or data.strip() == _HINT.strip().encode():
        raise BadInput("the list stayed empty: nothing was stored")
    return data
