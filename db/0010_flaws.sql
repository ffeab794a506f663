-- Flaws of a piece: knots, splits, bruised corners, what a wrong cut took. No part may touch one.

ALTER TABLE piece ADD COLUMN flaws TEXT NOT NULL DEFAULT '[]'
  -- flaws: JSON list of [x, y, dx, dy] from corner 0 (near left, good face up, length left to right), in ticks
  CHECK (json_valid(flaws) AND json_type(flaws) = 'array');

CREATE INDEX piece_flawed ON piece (state) WHERE flaws <> '[]';
