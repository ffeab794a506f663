"""Every use case of the tool, in one room: what a door (the command line, a page) may ask and do.

For a door's author:

    from stockyard.desk.door import Yardkeeper
    keeper = Yardkeeper(path, station="tablet at the saw")    # one for a door, shared by its threads
    with keeper.open() as y:                                  # one for a call: its own connection
        for line in jobs.list_jobs(y):
            ...

Each function takes the open yard first, then values: texts as typed where a person's words name
something (a job, a material, a size, a tag), else typed values. It gives back frozen values, or bytes for
what is printed; it never touches a file of the person, a terminal or the process. An open yard belongs to
its thread and is closed by `with`.

A read that looks at several things sees one state of the yard. A write is one deed: all or nothing, one
line in the ledger with the keeper's station. Faults are `StockyardError` with `code` and `fields`; a door
words what to do about each code (`cli/faults.py` is the command line's table).

Lengths are ticks, areas square ticks, money ten-thousandths, weights grams, as `measure` names them; write
them with `figures` in the yard's own unit and currency (`y.settings`).

- `door`          Yardkeeper, make_yard; `shop` settings, check, backups, moving the record
- `jobs`          list_jobs, show_job, add_job, remove_job, release; `job_list` understand a pasted list
- `job_change`    change_job, take_list (a list pasted again); its plan is then mended by `planning`
- `planning`      plan (by least change: `replan`), look, compare
- `pulling`       walk, pull, gone, bench; `cutting` cut, cut_job, spoiled, return_piece
- `putting_away`  put_away, put_all_away, cancel (a plan given up, all put back)
- `racks`         shelve, find, move, measure, correct, at_place; `stock` materials, prices; `places`
- `stock_list`    the whole stock through a sieve, one place in order
- `counting`      counting a place; `history` the ledger and undo
- `labels`        edge and part labels, label layouts; `paperwork` pull list, cut cards, drawings
- `keep_advice`, `shelve_advice`, `buying`, `costs`   advice and sums; `lifting` weights and lifts
- `demo`, `tour`  the invented shop
"""
