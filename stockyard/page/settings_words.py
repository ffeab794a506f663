"""A sentence on each setting: what it does to plans, papers and advice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

GROUPS: Sequence[tuple[str, Mapping[str, str]]] = (
    (
        "Figures and paper",
        {
            "unit": "How bare figures are read and all figures written: mm, or in.",
            "currency": "A code such as EUR, or a sign such as $, beside every amount.",
            "fence": "The finest fraction of an inch you set the fence to: 32 writes figures to 1/32.",
            "time_zone": "Whose days and months the costs go by.",
            "paper": "What the papers are laid out for: a4 or letter.",
            "label": "The sheet or tape that edge labels are printed on.",
            "own_label": "A label sheet of your own, where none of ours is like it.",
            "label_right": "Moves what is printed on labels to the right, if your printer is off.",
            "label_down": "Moves it down.",
            "printer_dpi": "How fine your label printer is, so that codes stay sharp.",
        },
    ),
    (
        "The blade and the edges",
        {
            "kerf": "What one cut of your blade takes away: measure a test cut. Every plan reckons with it.",
            "edge_trim": "Kept off every factory edge of a sheet: more spares chipped edges and wastes more.",
            "board_end_trim": "Comes off both ends of a board as bought.",
        },
    ),
    (
        "What is worth keeping",
        {
            "keep_short_side": "A leftover of a sheet narrower than this is scrap. Less keeps more.",
            "keep_area": "And so is one with less area than this.",
            "whole_area": "From this area on a leftover counts as good as new material.",
            "keep_floor": "What the smallest leftover kept is worth, in thousandths of new material.",
            "keep_board_width": "A leftover of a board narrower than this is scrap.",
            "keep_board_length": "And one shorter than this.",
            "pull_area": "How much good material fetching one piece costs you, when offcuts are judged.",
            "keep_days": "How far ahead a leftover must find a use, in days.",
        },
    ),
    (
        "What your time is worth",
        {
            "hour_worth": "An hour at the saw in your currency. More makes plans that are quicker to cut.",
            "pull_seconds": "To fetch one piece.",
            "dig_seconds": "To lift one piece off another.",
            "fence_seconds": "To set the fence or the stop anew.",
            "cut_seconds": "To make one cut.",
            "heavy_seconds": "What a cut for two people takes more.",
            "rest_seconds": "What a size that comes off as the rest costs, because it must be measured.",
            "plan_seconds": "How long a plan is searched for, unless it is proved before.",
            "wait_worth": "What waiting for a plan is worth, in hundredths of work at the saw; 0 waits on.",
        },
    ),
    (
        "What you saw with",
        {
            "rip_width": "The widest the fence stands off the blade. Go by the maker's plate and manual.",
            "stop_length": "The longest a stop measures.",
            "stop_reach": "The widest piece a crosscut reaches.",
            "guide_length": "The longest cut along your rail; 0 if you have none.",
            "one_person": "A piece with a longer side than this asks for support or a second person.",
            "one_saw": "1 if fence and stop are on one machine, so that setting one loses the other.",
            "bench": "How many pieces may wait beside the saw for their next cut.",
        },
    ),
    (
        "The router",
        {
            "bit": "The diameter of the bit: parts on a routed sheet lie that far apart.",
            "bit_margin": "Kept clear beside its path between two parts.",
            "one_pass": "1 if two parts just the bit apart are cut in one pass.",
            "path_seconds": "How long it takes for a metre of its path.",
            "table_edge": "No part lies nearer to any edge of a sheet or offcut.",
            "clamps": "Where the table clamps: size and place from the corner, such as 60 x 40 at 0, 0.",
            "origin": "The corner where the machine has its zero, such as lower left; or centre.",
            "sheet_along": "The machine's axis along which a sheet's length lies: x or y.",
            "drawing_unit": "Of drawing files: mm, in, or shop.",
            "drawing_form": "R2000 or R12 of DXF, or SVG.",
            "layers": "Names of your own for layers, such as parts=OUTSIDE, tabs=BRIDGES.",
            "tab_width": "How wide the tabs are that hold a small part in its sheet.",
            "tab_under": "A part with a side under this gets tabs.",
            "tab_inside": "So does one farther than this from the edge; 0 if your table holds all over.",
        },
    ),
    (
        "The record",
        {
            "backups": "How many backups are kept beside the yard.",
        },
    ),
)
