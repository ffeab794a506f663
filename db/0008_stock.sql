-- Stock as it changes: a full piece ripped down becomes an offcut; materials and places go out of use.

ALTER TABLE piece ADD COLUMN guessed INTEGER NOT NULL DEFAULT 0
  -- guessed: 1 when its cost was worked out from other sizes, since nobody named one
  CHECK (guessed IN (0, 1));

ALTER TABLE material ADD COLUMN retired INTEGER NOT NULL DEFAULT 0
  -- retired: 1 when the shop uses it no more; its history stays
  CHECK (retired IN (0, 1));

ALTER TABLE place ADD COLUMN retired INTEGER NOT NULL DEFAULT 0
  -- retired: 1 when nothing is put there any more; its history stays
  CHECK (retired IN (0, 1));

DROP TRIGGER piece_stays_itself;
CREATE TRIGGER piece_stays_itself BEFORE UPDATE OF kind, parent, shelved_at ON piece
WHEN OLD.kind IS NOT NEW.kind AND (OLD.parent IS NOT NULL OR OLD.state = 'cut')
  OR OLD.parent IS NOT NEW.parent OR OLD.shelved_at IS NOT NEW.shelved_at
BEGIN SELECT RAISE(ABORT, 'what a piece is and comes from cannot be changed'); END;

CREATE TRIGGER place_retires_empty BEFORE UPDATE OF retired ON place
WHEN NEW.retired = 1 AND (EXISTS (SELECT 1 FROM piece WHERE place_id = NEW.id)
                          OR EXISTS (SELECT 1 FROM place WHERE inside_id = NEW.id AND retired = 0))
BEGIN SELECT RAISE(ABORT, 'a place that holds something is in use'); END;
CREATE TRIGGER piece_lies_in_use BEFORE UPDATE OF place_id ON piece
WHEN EXISTS (SELECT 1 FROM place WHERE id = NEW.place_id AND retired = 1)
BEGIN SELECT RAISE(ABORT, 'that place is retired: nothing is put there'); END;
CREATE TRIGGER piece_starts_in_use BEFORE INSERT ON piece
WHEN EXISTS (SELECT 1 FROM place WHERE id = NEW.place_id AND retired = 1)
BEGIN SELECT RAISE(ABORT, 'that place is retired: nothing is put there'); END;
