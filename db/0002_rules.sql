-- What the database refuses whoever asks. The messages are what a person reads.

CREATE TRIGGER deed_stays BEFORE UPDATE ON deed
BEGIN SELECT RAISE(ABORT, 'the ledger only grows: a deed cannot be changed'); END;
CREATE TRIGGER deed_is_kept BEFORE DELETE ON deed
BEGIN SELECT RAISE(ABORT, 'the ledger only grows: a deed cannot be deleted'); END;
CREATE TRIGGER deed_is_new BEFORE INSERT ON deed WHEN EXISTS (SELECT 1 FROM deed WHERE id >= NEW.id AND NEW.id > 0)
BEGIN SELECT RAISE(ABORT, 'the ledger only grows: a deed comes after all others'); END;
CREATE TRIGGER deed_undone_once BEFORE INSERT ON deed
WHEN EXISTS (SELECT 1 FROM deed WHERE undoes = NEW.undoes)
BEGIN SELECT RAISE(ABORT, 'that deed is undone already'); END;

CREATE TRIGGER entry_stays BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'the ledger only grows: an entry cannot be changed'); END;
CREATE TRIGGER entry_is_kept BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'the ledger only grows: an entry cannot be deleted'); END;
CREATE TRIGGER entry_is_new BEFORE INSERT ON entry
WHEN EXISTS (SELECT 1 FROM entry WHERE id >= NEW.id AND NEW.id > 0)
BEGIN SELECT RAISE(ABORT, 'the ledger only grows: an entry comes after all others'); END;
CREATE TRIGGER entry_of_open_deed BEFORE INSERT ON entry
WHEN NEW.deed_id IS NOT (SELECT deed_id FROM open_deed)
BEGIN SELECT RAISE(ABORT, 'an entry belongs to the deed that is open'); END;

CREATE TRIGGER open_deed_stays BEFORE UPDATE ON open_deed
BEGIN SELECT RAISE(ABORT, 'one deed at a time: close the open one'); END;
CREATE TRIGGER open_deed_is_newest BEFORE INSERT ON open_deed
WHEN NEW.deed_id IS NOT (SELECT max(id) FROM deed)
  OR EXISTS (SELECT 1 FROM entry WHERE deed_id = NEW.deed_id)
  OR EXISTS (SELECT 1 FROM open_deed)
BEGIN SELECT RAISE(ABORT, 'only a new deed can be opened, one at a time'); END;

CREATE TRIGGER tag_stays BEFORE UPDATE ON tag
BEGIN SELECT RAISE(ABORT, 'a tag is given out once and never changed'); END;
CREATE TRIGGER tag_is_kept BEFORE DELETE ON tag
BEGIN SELECT RAISE(ABORT, 'a tag given out is never taken back'); END;
CREATE TRIGGER tag_is_new BEFORE INSERT ON tag
WHEN EXISTS (SELECT 1 FROM tag WHERE number = NEW.number OR code = NEW.code)
BEGIN SELECT RAISE(ABORT, 'a tag is given out once'); END;
CREATE TRIGGER document_stays BEFORE UPDATE ON document
BEGIN SELECT RAISE(ABORT, 'a document is kept as it was written'); END;
CREATE TRIGGER document_is_kept BEFORE DELETE ON document
BEGIN SELECT RAISE(ABORT, 'a document is kept as it was written'); END;
CREATE TRIGGER document_is_new BEFORE INSERT ON document
WHEN EXISTS (SELECT 1 FROM document WHERE digest = NEW.digest)
BEGIN SELECT RAISE(ABORT, 'that document is kept already'); END;

-- A tag comes back only as the same offcut of the same piece: a cut undone and confirmed again.
CREATE TRIGGER piece_tag_used_once BEFORE INSERT ON piece
WHEN (SELECT undoes FROM deed WHERE id = (SELECT deed_id FROM open_deed)) IS NULL
  AND EXISTS (SELECT 1 FROM entry WHERE thing = 'piece' AND thing_key = NEW.tag AND was IS NULL
              AND (NEW.parent IS NULL OR now ->> 'parent' IS NOT NEW.parent))
BEGIN SELECT RAISE(ABORT, 'that tag was used before: a tag is used once ever'); END;
CREATE TRIGGER piece_starts BEFORE INSERT ON piece
WHEN NEW.state NOT IN ('racked', 'bench')
  AND (SELECT undoes FROM deed WHERE id = (SELECT deed_id FROM open_deed)) IS NULL
BEGIN SELECT RAISE(ABORT, 'a new piece starts on a rack or on the bench'); END;
CREATE TRIGGER piece_stays_itself BEFORE UPDATE OF kind, parent, shelved_at ON piece
WHEN OLD.kind IS NOT NEW.kind OR OLD.parent IS NOT NEW.parent OR OLD.shelved_at IS NOT NEW.shelved_at
BEGIN SELECT RAISE(ABORT, 'what a piece is and comes from cannot be changed'); END;
CREATE TRIGGER piece_goes_one_way BEFORE UPDATE OF state ON piece
WHEN OLD.state <> NEW.state
  AND OLD.state || ' ' || NEW.state NOT IN (
    'racked promised', 'racked bench', 'racked cut', 'racked gone',
    'promised racked', 'promised pulled', 'promised cut', 'promised gone',
    'pulled bench', 'pulled promised', 'pulled racked', 'pulled cut', 'pulled gone',
    'bench racked', 'bench pulled', 'bench cut', 'bench gone', 'gone racked', 'gone bench')
  AND (SELECT undoes FROM deed WHERE id = (SELECT deed_id FROM open_deed)) IS NULL
BEGIN SELECT RAISE(ABORT, 'a piece cannot go from that state to this one'); END;
CREATE TRIGGER piece_promised_once BEFORE UPDATE OF plan_id ON piece
WHEN OLD.plan_id IS NOT NULL AND NEW.plan_id IS NOT NULL AND OLD.plan_id <> NEW.plan_id
BEGIN SELECT RAISE(ABORT, 'that piece is promised to another plan'); END;
CREATE TRIGGER piece_cut_is_final BEFORE UPDATE OF length, width, cost, material_id ON piece
WHEN OLD.state = 'cut' AND (OLD.length <> NEW.length OR OLD.width <> NEW.width OR OLD.cost <> NEW.cost
                            OR OLD.material_id <> NEW.material_id)
BEGIN SELECT RAISE(ABORT, 'that piece is cut: its size and cost are settled'); END;

CREATE TRIGGER place_not_in_itself BEFORE UPDATE OF inside_id ON place
WHEN NEW.inside_id IS NOT NULL AND NEW.id IN (
  WITH RECURSIVE around(id) AS (
    SELECT NEW.inside_id UNION SELECT p.inside_id FROM place p JOIN around a ON p.id = a.id
    WHERE p.inside_id IS NOT NULL)
  SELECT id FROM around)
BEGIN SELECT RAISE(ABORT, 'a place cannot be inside itself'); END;

CREATE TRIGGER stocktake_counts_once BEFORE UPDATE ON stocktake
WHEN OLD.ended_at IS NOT NULL
  AND (SELECT undoes FROM deed WHERE id = (SELECT deed_id FROM open_deed)) IS NULL
BEGIN SELECT RAISE(ABORT, 'that count is closed'); END;

-- What must add up when a deed closes: every piece, cutting, part and plan it touched. CROSS JOIN keeps
-- SQLite to that order: from the few rows of the deed to the many of the yard.
CREATE VIEW touched_piece AS
-- The pieces the open deed touched, and those they were cut from.
WITH e AS (SELECT * FROM entry WHERE deed_id = (SELECT deed_id FROM open_deed))
SELECT e.thing_key AS tag FROM e WHERE e.thing IN ('piece', 'cutting')
UNION SELECT p.parent FROM e CROSS JOIN piece p ON p.tag = e.thing_key
  WHERE e.thing = 'piece' AND p.parent IS NOT NULL
UNION SELECT e.was ->> 'parent' FROM e
  WHERE e.thing = 'piece' AND e.now IS NULL AND e.was ->> 'parent' IS NOT NULL
UNION SELECT e.was ->> 'tag' FROM e WHERE e.thing = 'cut_part' AND e.was ->> 'tag' IS NOT NULL
UNION SELECT c.tag FROM e CROSS JOIN cut_part c ON c.id = CAST(e.thing_key AS INTEGER)
  WHERE e.thing = 'cut_part';

CREATE VIEW cut_balance AS
-- What each cut piece was and what it gave: area = scrap + in_parts + in_offcuts, cost = cost_given.
SELECT c.tag, p.area, c.scrap, p.cost,
  (SELECT coalesce(sum(length * width * count), 0) FROM cut_part WHERE tag = c.tag) AS in_parts,
  (SELECT coalesce(sum(area), 0) FROM piece WHERE parent = c.tag) AS in_offcuts,
  c.cost + (SELECT coalesce(sum(cost), 0) FROM piece WHERE parent = c.tag) AS cost_given
FROM cutting c CROSS JOIN piece p ON p.tag = c.tag;

CREATE TRIGGER close_something BEFORE DELETE ON open_deed
WHEN NOT EXISTS (SELECT 1 FROM entry WHERE deed_id = OLD.deed_id)
BEGIN SELECT RAISE(ABORT, 'a deed changes something: this one has no entries'); END;
CREATE TRIGGER close_area BEFORE DELETE ON open_deed
WHEN EXISTS (SELECT 1 FROM touched_piece t CROSS JOIN cut_balance b ON b.tag = t.tag
             WHERE b.area <> b.scrap + b.in_parts + b.in_offcuts)
BEGIN SELECT RAISE(ABORT, 'area out of nothing: parts, offcuts and scrap must add up to the piece'); END;
CREATE TRIGGER close_cost BEFORE DELETE ON open_deed
WHEN EXISTS (SELECT 1 FROM touched_piece t CROSS JOIN cut_balance b ON b.tag = t.tag
             WHERE b.cost <> b.cost_given)
BEGIN SELECT RAISE(ABORT, 'money out of nothing: parts and offcuts must carry the cost of the piece'); END;
CREATE TRIGGER close_cut BEFORE DELETE ON open_deed
WHEN EXISTS (SELECT 1 FROM touched_piece t CROSS JOIN piece p ON p.tag = t.tag
             WHERE (p.state = 'cut') <> EXISTS (SELECT 1 FROM cutting WHERE tag = p.tag)
               OR p.state <> 'cut' AND (EXISTS (SELECT 1 FROM piece WHERE parent = p.tag)
                                        OR EXISTS (SELECT 1 FROM cut_part WHERE tag = p.tag)))
BEGIN SELECT RAISE(ABORT, 'a piece is cut when its cutting is recorded, and only a cut piece gives others'); END;
CREATE TRIGGER close_promise BEFORE DELETE ON open_deed
WHEN EXISTS (SELECT 1 FROM entry e CROSS JOIN piece p ON p.tag = e.thing_key
             WHERE e.deed_id = OLD.deed_id AND e.thing = 'piece' AND p.state IN ('promised', 'pulled')
               AND NOT EXISTS (SELECT 1 FROM layout l JOIN plan n ON n.id = l.plan_id
                               WHERE l.tag = p.tag AND n.id = p.plan_id AND n.state IN ('standing', 'broken')))
BEGIN SELECT RAISE(ABORT, 'a piece is promised only by a plan that stands and names it'); END;
CREATE TRIGGER close_plan BEFORE DELETE ON open_deed
WHEN EXISTS (SELECT 1 FROM entry e CROSS JOIN plan n ON n.id = CAST(e.thing_key AS INTEGER)
             CROSS JOIN piece p ON p.plan_id = n.id
             WHERE e.deed_id = OLD.deed_id AND e.thing = 'plan' AND n.state IN ('released', 'done')
               AND p.state IN ('promised', 'pulled'))
BEGIN SELECT RAISE(ABORT, 'a plan that no longer stands cannot hold pieces'); END;
CREATE TRIGGER close_layout BEFORE DELETE ON open_deed
WHEN EXISTS (SELECT 1 FROM entry e CROSS JOIN layout l ON l.id = CAST(e.thing_key AS INTEGER)
             CROSS JOIN plan n ON n.id = l.plan_id CROSS JOIN piece p ON p.tag = l.tag
             WHERE e.deed_id = OLD.deed_id AND e.thing = 'layout' AND n.state = 'standing'
               AND p.plan_id IS NOT n.id)
  OR EXISTS (SELECT 1 FROM entry e CROSS JOIN piece p ON p.tag = e.thing_key
             CROSS JOIN layout l ON l.tag = p.tag CROSS JOIN plan n ON n.id = l.plan_id
             WHERE e.deed_id = OLD.deed_id AND e.thing = 'piece' AND n.state = 'standing'
               AND p.plan_id IS NOT n.id)
BEGIN SELECT RAISE(ABORT, 'a plan promises every piece it names'); END;
