"""The shop's settings, and its record as a file: checked, backed up, moved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from stockyard.desk.plan_check import Checked, check_yard
from stockyard.errors import BadInput
from stockyard.settings import Settings, change, inch_shop, names
from stockyard.settings_said import EFFECTS, called, recorded
from stockyard.settings_text import show_value, write_value
from stockyard.yard import Yard, backup, exchange
from stockyard.yard.check import Difference
from stockyard.yard.seal import LastSeal, last_seal
from stockyard.yard.shop import change_settings

__all__ = [
    "BackupLine", "Checked", "Difference", "LastSeal", "SettingLine", "back_up", "backups", "check",
    "explained", "export", "first_settings", "import_yard", "look_for_backup", "rebuild", "restore",
    "set_settings", "settings",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class SettingLine:
    """A setting: its name, its value as a person reads it, and the exact one that may be typed back.

    `effect` says in a sentence what it does.
    """

    name: str
    shown: str
    exact: str
    effect: str


@dataclass(frozen=True, slots=True)
class BackupLine:
    """A backup beside the yard, and its size."""

    path: Path
    bytes: int


def first_settings(given: Mapping[str, str], *, inches: bool = False) -> Settings:
    """Return the settings of a new shop, with those given as texts.

    Raises:
        BadInput: no such setting, or a text that is not one of its values.
    """
    return change(inch_shop() if inches else Settings(), given)


def settings(yard: Yard) -> tuple[SettingLine, ...]:
    """Return all settings in the order in which they are shown."""
    now = yard.settings
    return tuple(
        SettingLine(
            name=called(n),
            shown=show_value(n, getattr(now, n), now.unit),
            exact=write_value(n, getattr(now, n), now.unit),
            effect=EFFECTS.get(n, ""),
        )
        for n in names()
    )


def explained(yard: Yard, wanted: Sequence[str] = ()) -> tuple[SettingLine, ...]:
    """Return the settings of those names, or all of them.

    Raises:
        BadInput: there is none of a name.
    """
    every = {line.name: line for line in settings(yard)}
    named = [called(recorded(n.strip().lower().replace("-", "_"))) for n in wanted]
    strange = next((n for n in named if n not in every), None)
    if strange is not None:
        raise BadInput(f"there is no setting '{strange[:40]}': the settings are {', '.join(every)}")
    return tuple(every[n] for n in named) if named else tuple(every.values())


def set_settings(yard: Yard, given: Mapping[str, str]) -> None:
    """Change settings from texts: one deed.

    Raises:
        BadInput: no such setting or value. Refused: they are so already.
    """
    change_settings(yard, change(yard.settings, given))


def check(yard: Yard) -> tuple[Checked, LastSeal | None]:
    """Replay the ledger, compare it with the yard and verify the plans that stand; with the newest seal."""
    return check_yard(yard), last_seal(yard.connection)


def back_up(yard: Yard, target: Path | None = None) -> Path:
    """Copy the yard while it is in use, look at the copy, and return where it is.

    Raises:
        Refused: `target` exists, or the copy cannot be written or is not sound.
    """
    return backup.make(yard, target)


def backups(path: Path) -> tuple[BackupLine, ...]:
    """Return the backups beside the yard at `path`, the newest first."""
    return tuple(BackupLine(p, p.stat().st_size) for p in backup.backups(path))


def export(yard: Yard, target: Path) -> None:
    """Write everything, ledger included, as one JSON file (by its ending) or a folder of CSV tables.

    Raises:
        Refused: something is there already, or it cannot be written.
    """
    (exchange.export_json if target.suffix.lower() == ".json" else exchange.export_csv)(yard, target)


def look_for_backup(source: Path) -> None:
    """Look that there is a backup to restore from.

    Raises:
        BadInput: there is none.
    """
    backup.look_for(source)


def restore(source: Path, path: Path) -> backup.Restored:
    """Put a backup in the place of the yard at `path`; return where the yard as it was is now.

    Raises:
        BadInput: it is no sound yard. Refused: the yard is in use.
    """
    return backup.restore(source, path)


def import_yard(source: Path, path: Path) -> tuple[Path, ...]:
    """Make a yard from an export; return any logs of other yards that lay there and were put aside.

    Raises:
        BadInput: it is no export, or not true to itself. Refused: `path` exists.
    """
    return exchange.import_yard(source, path)


def rebuild(yard: Yard, path: Path) -> None:
    """Write a new yard in which every row is what the ledger adds up to.

    Raises:
        Refused: the ledger itself is broken, or `path` exists.
    """
    exchange.rebuild(yard, path)
