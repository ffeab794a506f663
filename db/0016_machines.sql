-- What each machine takes of the parts of a material that is milled.

ALTER TABLE material ADD COLUMN over_by TEXT NOT NULL DEFAULT ''
  -- over_by: what saw, jointer and planer take of that, {"planer": [length, width, a face]}; empty: not said
  CHECK (over_by = '' OR (json_valid(over_by) AND over_length IS NOT NULL));
