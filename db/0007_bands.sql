-- A band is a material and a thickness besides the edges it is on.

ALTER TABLE part ADD COLUMN band_material TEXT NOT NULL DEFAULT '';

ALTER TABLE part ADD COLUMN band_thickness INTEGER
  -- band_thickness: how much one banded edge adds to the cut size; empty where nobody said
  CHECK (band_thickness BETWEEN 1 AND 320000000);
