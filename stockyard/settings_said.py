"""Settings to a person: what one is called on a screen, with which others it is shown, and what it does."""

from __future__ import annotations

from collections.abc import Mapping

CALLED: Mapping[str, str] = {"keep_floor": "small_worth", "fence": "fence_step"}
"""Settings that are called otherwise on a screen than in the record; both names are understood."""

GROUPS: Mapping[str, Mapping[str, str]] = {
    "Figures and paper": {
        "unit": "Bare numbers are read and sizes shown in it.",
        "currency": "Money is written with it.",
        "fence": (
            "The finest fraction of an inch to which the fence is set; sizes on papers are rounded to it."
        ),
        "time_zone": "Whose days and months the costs go by; machine: those of this computer.",
        "paper": "The paper of the printer: letter or a4.",
        "label": "The sheet or tape that labels are printed on, if nothing else is said.",
        "own_label": "The shop's own label sheet, measured.",
        "label_right": "Shifts what is printed on label sheets to the right, where the printer is off.",
        "label_down": "Shifts what is printed on label sheets down, where the printer is off.",
        "printer_dpi": "The dots of the label printer in an inch; bars and squares are made of whole dots.",
    },
    "The blade and the edges": {
        "kerf": (
            "The width of the cut as a test cut shows it; parts and leftovers are planned that far apart."
        ),
        "edge_trim": "So much comes off every factory edge of a full sheet before parts are cut from it.",
        "board_end_trim": "So much comes off both ends of a board as bought.",
        "band_trim": "So much comes off each edge of a part before a band goes on it.",
        "band_over": "So much longer than its edge each band is cut.",
    },
    "Rough, then final": {
        "saw_length": "So much longer parts are sawn from material that is milled, to be squared at last.",
        "saw_width": "So much wider parts are sawn from material that is milled, to be ripped at last.",
        "jointer_width": "So much wider parts are sawn, beyond that, where the jointer straightens an edge.",
        "jointer_face": "So much of what comes off each face does so at the jointer, which makes it flat.",
        "planer_length": "So much longer parts are sawn, beyond that, for the ends that the planer gouges.",
        "planer_face": "So much of what comes off each face does so at the planer.",
        "joint_edge": "So much an edge of a rough board loses when it is jointed, before anything is ripped.",
    },
    "What is worth keeping": {
        "keep_short_side": "A leftover of a sheet with a shorter side than this is planned as waste.",
        "keep_area": "A leftover of a sheet with less area than this is planned as waste.",
        "whole_area": "A leftover from this area on is worth as much as new material, smaller ones less.",
        "keep_floor": (
            "How much of its area the smallest leftover that is kept is worth; the larger, the more."
        ),
        "keep_board_width": "A leftover of a board that is narrower is planned as waste.",
        "keep_board_length": "A leftover of a board that is shorter is planned as waste.",
        "pull_area": "What fetching one piece costs, in good material, when offcuts are advised on.",
        "keep_days": "How far ahead a leftover must find a use for it to be kept.",
    },
    "What your time is worth": {
        "hour_worth": (
            "What an hour at the saw is worth; the more, the more material a plan spends to save work."
        ),
        "pull_seconds": "How long it takes to fetch a piece; the longer, the fewer pieces a plan uses.",
        "dig_seconds": "How long it takes to lift one piece off another; the longer, the less a plan digs.",
        "fence_seconds": "How long it takes to set the fence; the longer, the fewer settings a plan has.",
        "cut_seconds": "How long a cut takes; the longer, the fewer cuts a plan has.",
        "heavy_seconds": "What a cut for two people takes more.",
        "rest_seconds": "What a part costs whose size comes off as what remains, unmeasured.",
        "change_seconds": "What a new cut card takes; the longer, the less a plan changes when it is mended.",
        "plan_seconds": "How long a plan is sought, if nothing else is said.",
        "wait_worth": (
            "What a second's wait for a plan is worth, in hundredths of one at the saw; 0 waits on."
        ),
    },
    "What you saw with": {
        "rip_width": "The widest rip between fence and blade; wider ones go to another saw.",
        "stop_length": "The longest piece that is cut to length against a stop; 0: there is none.",
        "stop_reach": "The widest piece that is cut to length against a stop, or without one to a mark.",
        "guide_length": "The longest cut of the saw that runs along a rail; 0: there is none.",
        "guide_name": "What the shop calls the saw that runs along a rail; papers call it so.",
        "one_person": "A piece with both sides longer than this is not for one person at the saw.",
        "one_saw": "1: fence and stop are on one machine, so that changing between them counts.",
        "bench": "How many cut parts may wait on the bench at a time.",
        "batch_spread": "Measured thicknesses farther apart are told where parts alike come from them.",
    },
    "The router": {
        "bit": "The diameter of the router's bit; parts on a routed sheet lie so far apart.",
        "bit_margin": "Kept clear beside the bit's path between two parts.",
        "one_pass": "1: two parts just the bit apart are cut in one pass; plans then move parts together.",
        "path_seconds": "How long the router takes for a metre of its path.",
        "table_edge": "Parts on the router lie so far from every edge, of offcuts too.",
        "clamps": "Where the table clamps, from the sheet's corner: 60 x 40 at 0, 0. The bit stays clear.",
        "origin": "The corner of the drawn sheet where the machine has its zero, or centre.",
        "sheet_along": "The machine's axis along which the length of a sheet lies: x or y.",
        "drawing_unit": "The unit of drawing files: mm, in, or shop for the shop's own.",
        "drawing_form": "What a sheet's drawing is written as: R2000 or R12 of DXF, or SVG.",
        "layers": "Names of layers that are not the usual ones, such as parts=OUTSIDE, tabs=BRIDGES.",
        "tab_width": "How wide the tabs are that hold a part in its sheet; they are half its thickness high.",
        "tab_under": "A part with a side under this gets tabs.",
        "tab_inside": "A part farther than this from the edge gets tabs too; 0: the table holds all over.",
    },
    "The record": {
        "count_days": "So many days after its last count a place is due for another; 0: never.",
        "backups": "How many backups are kept beside the yard; older ones are removed.",
    },
}
"""What each setting does, by its name in the record, in groups as a screen shows them."""

EFFECTS: Mapping[str, str] = {name: text for own in GROUPS.values() for name, text in own.items()}


def called(name: str) -> str:
    """Return what a setting is called on a screen."""
    return CALLED.get(name, name)


def recorded(name: str) -> str:
    """Return the name in the record of a setting named in either way."""
    return next((inner for inner, outer in CALLED.items() if outer == name), name)
