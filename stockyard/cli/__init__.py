"""Typer commands, one file a group: they read words, call a room, print, and exit."""
