"""The shop's settings in its yard."""

from __future__ import annotations

from dataclasses import fields

from stockyard.errors import Refused
from stockyard.settings import Settings
from stockyard.settings_said import called
from stockyard.settings_text import write_value
from stockyard.yard.store import Yard


def store_settings(yard: Yard, settings: Settings) -> None:
    """Write the settings that differ from what is stored, within the open deed."""
    kept = {row["name"]: row["value"] for row in yard.rows("SELECT name, value FROM setting")}
    for field in fields(Settings):
        value = str(getattr(settings, field.name))
        if field.name not in kept:
            yard.write("INSERT INTO setting (name, value) VALUES (?, ?)", (field.name, value))
        elif kept[field.name] != value:
            yard.write("UPDATE setting SET value = ? WHERE name = ?", (value, field.name))


def change_settings(yard: Yard, settings: Settings) -> None:
    """Make `settings` the shop's settings: one deed.

    Raises:
        Refused: they are the shop's settings already.
    """
    with yard.deed("settings") as deed:
        changed = [
            f"{called(f.name)} {write_value(f.name, getattr(settings, f.name), settings.unit)}"
            for f in fields(Settings)
            if getattr(settings, f.name) != getattr(yard.settings, f.name)
        ]
        if not changed:
            raise Refused("those are the settings already")
        deed.begin("set " + ", ".join(changed))
        store_settings(yard, settings)
