-- Which station did a deed: the page of a tablet, the computer at the saw, the terminal.
ALTER TABLE deed ADD COLUMN station TEXT NOT NULL DEFAULT 'desk' CHECK (length(station) BETWEEN 1 AND 60);

-- A schema step may change the schema alone.
DROP TRIGGER close_something;

CREATE TRIGGER close_something BEFORE DELETE ON open_deed
WHEN NOT EXISTS (SELECT 1 FROM entry WHERE deed_id = OLD.deed_id)
  AND (SELECT what FROM deed WHERE id = OLD.deed_id) <> 'schema step'
BEGIN SELECT RAISE(ABORT, 'a deed changes something: this one has no entries'); END;
