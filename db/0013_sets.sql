-- Matched sets: parts of one piece side by side; and batches: parts of pieces that measure alike.

ALTER TABLE part ADD COLUMN set_name TEXT NOT NULL DEFAULT ''
  -- set_name: the matched set of its job that the part is in; empty: none
  CHECK (length(set_name) <= 80);

ALTER TABLE part ADD COLUMN set_run TEXT NOT NULL DEFAULT ''
  -- set_run: how the parts of the set follow each other on their piece, along or across its grain
  CHECK (set_run IN ('', 'along', 'across') AND (set_run = '') = (set_name = ''));

ALTER TABLE part ADD COLUMN set_each INTEGER NOT NULL DEFAULT 0
  -- set_each: how many of the part one set takes; 0: all of them
  CHECK (set_each >= 0);

ALTER TABLE part ADD COLUMN batch TEXT NOT NULL DEFAULT ''
  -- batch: parts of one batch are cut from pieces that measure alike in thickness; empty: none
  CHECK (length(batch) <= 80);
