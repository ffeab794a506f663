-- Rough, then final: what parts of a material are sawn larger and planed; and prices by the board foot.

ALTER TABLE material ADD COLUMN over_length INTEGER
  -- over_length: so much longer parts are sawn from it, to be trimmed later; empty: it is not milled
  CHECK (over_length BETWEEN 0 AND 3200000);

ALTER TABLE material ADD COLUMN over_width INTEGER
  -- over_width: so much wider
  CHECK (over_width BETWEEN 0 AND 3200000 AND (over_width IS NULL) = (over_length IS NULL));

ALTER TABLE material ADD COLUMN over_face INTEGER
  -- over_face: so much is planed off each of its two faces
  CHECK (over_face BETWEEN 0 AND 3200000 AND (over_face IS NULL) = (over_length IS NULL));

ALTER TABLE part ADD COLUMN over_length INTEGER NOT NULL DEFAULT 0
  -- over_length: so much of its length is trimmed after it is milled or glued up
  CHECK (over_length >= 0 AND over_length < length);

ALTER TABLE part ADD COLUMN over_width INTEGER NOT NULL DEFAULT 0
  -- over_width: so much of its width
  CHECK (over_width >= 0 AND over_width < width);

ALTER TABLE part ADD COLUMN final_thickness INTEGER
  -- final_thickness: what it is planed to; empty: it is not planed
  CHECK (final_thickness BETWEEN 1 AND 320000000);

ALTER TABLE offer ADD COLUMN measure TEXT NOT NULL DEFAULT ''
  -- measure: what the rate is for; empty: only the price of one piece was named
  CHECK (measure IN ('', 'board foot', 'm³', 'm²'));

ALTER TABLE offer ADD COLUMN rate INTEGER
  -- rate: money for one measure; the size is then what boards usually are, and the price that of such a one
  CHECK (rate >= 0 AND (rate IS NULL) = (measure = ''));
