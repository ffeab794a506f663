"""The record: what is in the yard, where, what happened to it. The only room that speaks SQL.

    from stockyard import yard
    with yard.new(Path("yard.db"), Settings()) as y:        # or yard.open(path)
        ply = materials.add_material(y, "birch ply", Form.SHEET, "18 mm", ticks, grain=True, density=680)
        places.add_place(y, "R1-B2-S3", Storage.FLAT)
        pieces.shelve(y, [Arrival(material_id=ply.id, kind=Kind.FULL, length=..., width=...,
                                  place="R1-B2-S3", count=10)])

Every function takes the open `Yard` first; each that changes something is one deed: one transaction
and one line in the ledger, with an entry for every row that changed. By topic:

- `store`      Yard (`settings`, `unit`, `clock`); `shop` change_settings(settings)
- `materials`  add_material, change_material, material(id), materials, matching(words), named(words)
- `offers`     add_price, end_offer, offers(material_id) (newest price of each size), price_log
- `places`     add_place, change_place, place(code), place_by_id, places (walking order)
- `pieces`     shelve([Arrival]), by_tag, by_tags, at_place, on_hand(states=), free_for(job_id), move, told
- `measuring`  remeasure(tag, length, width)
- `search`     read_wanted(text) -> Wanted, find(wanted, turn=) -> Fits, best first
- `jobs`       add_job(name, text, parts), job(name or number), jobs, remove_job, cut_so_far,
               named_parts, still_to_cut
- `plans`      store_plan(job_id, body, status, [StoredLayout], replaces=), release_plan, standing_plan,
               plan_by_id; PiecesTaken.tags names pieces that vanished meanwhile; broken_plan(piece)
- `pulling`    to_pull(job_id), pull(tags, job_id), report_gone(tag, why) -> BrokenPlan or None
- `cutting`    planned_layout(piece), confirm_cut(tag, parts=, offcuts=) -> CutDone,
               return_offcut(tag, place, size)
- `labels`     unlabelled, mark_printed(tags)
- `ledger`     deeds, history of a piece; `undo` opposite deeds; `stocktake` counting a place
- `check`, `backup`, `exchange`  proving, keeping and moving the record
"""

from __future__ import annotations

from stockyard.yard.opening import new_yard, open_yard
from stockyard.yard.shop import change_settings
from stockyard.yard.store import Yard

open = open_yard
new = new_yard

__all__ = ["Yard", "change_settings", "new", "open"]
