CREATE TABLE seal (
  -- One line a deed: a SHA-256 over the seal before and all that the deed is. Only grows.
  deed_id INTEGER PRIMARY KEY REFERENCES deed (id),
  -- digest: 64 hexadecimal digits
  digest TEXT NOT NULL CHECK (length(digest) = 64),
  -- late: 1: sealed when an older yard was brought up to date, so it vouches only from then on
  late INTEGER NOT NULL DEFAULT 0 CHECK (late IN (0, 1))
) STRICT;

CREATE TRIGGER seal_stays BEFORE UPDATE ON seal
BEGIN SELECT RAISE(ABORT, 'a seal is never changed'); END;

CREATE TRIGGER seal_is_kept BEFORE DELETE ON seal
BEGIN SELECT RAISE(ABORT, 'a seal is never taken off'); END;

CREATE TRIGGER seal_is_new BEFORE INSERT ON seal
WHEN EXISTS (SELECT 1 FROM seal WHERE deed_id >= NEW.deed_id)
BEGIN SELECT RAISE(ABORT, 'a deed is sealed once, in order'); END;

CREATE TRIGGER entry_before_seal BEFORE INSERT ON entry
WHEN NEW.deed_id IS (SELECT deed_id FROM open_deed)
  AND EXISTS (SELECT 1 FROM seal WHERE deed_id = NEW.deed_id)
BEGIN SELECT RAISE(ABORT, 'that deed is sealed: it takes no more entries'); END;
