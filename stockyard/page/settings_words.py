"""The settings as the page groups them; what each does is said in `settings_said`."""

from __future__ import annotations

from collections.abc import Sequence

GROUPS: Sequence[tuple[str, tuple[str, ...]]] = (
    (
        "Figures and paper",
        (
            "unit",
            "currency",
            "fence",
            "time_zone",
            "paper",
            "label",
            "own_label",
            "label_right",
            "label_down",
            "printer_dpi",
        ),
    ),
    ("The blade and the edges", ("kerf", "edge_trim", "board_end_trim", "band_trim", "band_over")),
    (
        "Rough, then final",
        (
            "saw_length",
            "saw_width",
            "jointer_width",
            "jointer_face",
            "planer_length",
            "planer_face",
            "joint_edge",
        ),
    ),
    (
        "What is worth keeping",
        (
            "keep_short_side",
            "keep_area",
            "whole_area",
            "keep_floor",
            "keep_board_width",
            "keep_board_length",
            "pull_area",
            "keep_days",
        ),
    ),
    (
        "What your time is worth",
        (
            "hour_worth",
            "pull_seconds",
            "dig_seconds",
            "fence_seconds",
            "cut_seconds",
            "heavy_seconds",
            "rest_seconds",
            "change_seconds",
            "plan_seconds",
            "wait_worth",
        ),
    ),
    (
        "What you saw with",
        (
            "rip_width",
            "stop_length",
            "stop_reach",
            "guide_length",
            "guide_name",
            "one_person",
            "one_saw",
            "bench",
            "batch_spread",
        ),
    ),
    (
        "The router",
        (
            "bit",
            "bit_margin",
            "one_pass",
            "path_seconds",
            "table_edge",
            "clamps",
            "origin",
            "sheet_along",
            "drawing_unit",
            "drawing_form",
            "layers",
            "tab_width",
            "tab_under",
            "tab_inside",
        ),
    ),
    ("The record", ("count_days", "backups")),
)
