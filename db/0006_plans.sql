-- A plan as a record: what was asked, how, and every part, cut and leftover as a row. Plans made before
-- this step keep theirs as text, in `plan.body` and `layout.gives`; those of a newer plan are empty.

ALTER TABLE plan ADD COLUMN kerf INTEGER
  -- kerf: what the blade takes; empty in plans made before plans were kept whole
  CHECK (kerf BETWEEN 0 AND 320000000);

ALTER TABLE plan ADD COLUMN seed INTEGER;

ALTER TABLE plan ADD COLUMN time_limit INTEGER
  -- time_limit: thousandths of a second given for planning; empty: no such limit
  CHECK (time_limit >= 0);

ALTER TABLE plan ADD COLUMN work_limit INTEGER
  -- work_limit: rounds of the search given; empty: no such limit
  CHECK (work_limit >= 0);

ALTER TABLE plan ADD COLUMN program TEXT;

ALTER TABLE plan ADD COLUMN settings TEXT REFERENCES document (digest);

CREATE TABLE question (
  -- What a plan was asked: sheets and boards are asked apart, since a shop keeps other leftovers of each.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  plan_id INTEGER NOT NULL REFERENCES plan (id),
  number INTEGER NOT NULL CHECK (number >= 1),
  -- problem: parts, stock and rules as JSON, lengths in ticks, and which material each name stood for
  problem TEXT NOT NULL REFERENCES document (digest),
  status TEXT NOT NULL CHECK (status IN ('proven', 'feasible', 'short')),
  -- bound_cost: no plan can cost less in full pieces
  bound_cost INTEGER NOT NULL CHECK (bound_cost >= 0),
  -- bound_area: nor use less stock, as far as known
  bound_area INTEGER NOT NULL CHECK (bound_area >= 0),
  bound_says TEXT NOT NULL,
  UNIQUE (plan_id, number)
) STRICT;

CREATE TABLE left_out (
  -- Parts that no piece could give, and why.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  question_id INTEGER NOT NULL REFERENCES question (id),
  line INTEGER NOT NULL CHECK (line >= 1),
  part TEXT NOT NULL,
  count INTEGER NOT NULL CHECK (count >= 1),
  reason TEXT NOT NULL,
  UNIQUE (question_id, line)
) STRICT;

ALTER TABLE layout ADD COLUMN question_id INTEGER REFERENCES question (id);

ALTER TABLE layout ADD COLUMN stock TEXT
  -- stock: the stock row of the problem that the piece is one of
  CHECK (stock <> '');

CREATE TABLE layout_part (
  -- A part where it lies on its piece, before cutting: x along the piece's length, y across it.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  layout_id INTEGER NOT NULL REFERENCES layout (id),
  line INTEGER NOT NULL CHECK (line >= 1),
  name TEXT NOT NULL CHECK (trim(name) <> ''),
  -- length: of the part itself
  length INTEGER NOT NULL CHECK (length BETWEEN 1 AND 320000000),
  width INTEGER NOT NULL CHECK (width BETWEEN 1 AND 320000000),
  x INTEGER NOT NULL CHECK (x >= 0),
  y INTEGER NOT NULL CHECK (y >= 0),
  -- turned: 1: its length lies across the piece
  turned INTEGER NOT NULL DEFAULT 0 CHECK (turned IN (0, 1)),
  UNIQUE (layout_id, line)
) STRICT;

CREATE TABLE layout_cut (
  -- A pass of the saw. The blade takes `at` to `at` + kerf of the piece named, from its own low edge.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  layout_id INTEGER NOT NULL REFERENCES layout (id),
  step INTEGER NOT NULL CHECK (step >= 1),
  -- piece: stock, or a name that an earlier cut gave
  piece TEXT NOT NULL,
  direction TEXT NOT NULL CHECK (direction IN ('crosscut', 'rip')),
  at INTEGER NOT NULL,
  -- fence: the size of the side against the fence or stop
  fence INTEGER NOT NULL CHECK (fence > 0),
  -- low: what the low side is called from here on; empty: waste
  low TEXT,
  -- high: and the high side
  high TEXT,
  -- turn: when it is sawn among all cuts of its question; empty: piece after piece
  turn INTEGER CHECK (turn >= 1),
  UNIQUE (layout_id, step)
) STRICT;

CREATE TABLE layout_leftover (
  -- A leftover that goes back. Its tag is given when the plan is stored, so that papers can show it.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  layout_id INTEGER NOT NULL REFERENCES layout (id),
  line INTEGER NOT NULL CHECK (line >= 1),
  tag TEXT NOT NULL REFERENCES tag (code),
  x INTEGER NOT NULL CHECK (x >= 0),
  y INTEGER NOT NULL CHECK (y >= 0),
  -- length: along the piece
  length INTEGER NOT NULL CHECK (length BETWEEN 1 AND 320000000),
  width INTEGER NOT NULL CHECK (width BETWEEN 1 AND 320000000),
  -- factory: its edges that were never cut and want a trim still: x_low x_high y_low y_high
  factory TEXT NOT NULL DEFAULT '',
  UNIQUE (layout_id, line)
) STRICT;
CREATE INDEX leftover_by_tag ON layout_leftover (tag);

CREATE TABLE part_material (
  -- What a job's part may be cut from, whatever the material is called now. `part.materials` keeps what
  -- the person wrote; a part without rows here takes what goes by that name.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  part_id INTEGER NOT NULL REFERENCES part (id),
  material_id INTEGER NOT NULL REFERENCES material (id),
  UNIQUE (part_id, material_id)
) STRICT;

CREATE TRIGGER question_stays BEFORE UPDATE ON question
BEGIN SELECT RAISE(ABORT, 'what a plan was asked is kept as it was'); END;
CREATE TRIGGER left_out_stays BEFORE UPDATE ON left_out
BEGIN SELECT RAISE(ABORT, 'what a plan leaves out is kept as it was found'); END;
CREATE TRIGGER layout_part_stays BEFORE UPDATE ON layout_part
BEGIN SELECT RAISE(ABORT, 'a part of a plan stays where it was verified: plan again'); END;
CREATE TRIGGER layout_cut_stays BEFORE UPDATE ON layout_cut
BEGIN SELECT RAISE(ABORT, 'a cut of a plan stays as it was verified: plan again'); END;
CREATE TRIGGER layout_leftover_stays BEFORE UPDATE ON layout_leftover
BEGIN SELECT RAISE(ABORT, 'a leftover of a plan stays as it was verified: plan again'); END;

CREATE TRIGGER layout_part_with_plan BEFORE INSERT ON layout_part
WHEN NOT EXISTS (SELECT 1 FROM layout l CROSS JOIN entry e ON e.thing = 'plan' AND e.thing_key = l.plan_id
                 WHERE l.id = NEW.layout_id AND e.was IS NULL
                   AND e.deed_id = (SELECT deed_id FROM open_deed))
BEGIN SELECT RAISE(ABORT, 'a plan is stored whole: no part is added to it later'); END;
CREATE TRIGGER layout_cut_with_plan BEFORE INSERT ON layout_cut
WHEN NOT EXISTS (SELECT 1 FROM layout l CROSS JOIN entry e ON e.thing = 'plan' AND e.thing_key = l.plan_id
                 WHERE l.id = NEW.layout_id AND e.was IS NULL
                   AND e.deed_id = (SELECT deed_id FROM open_deed))
BEGIN SELECT RAISE(ABORT, 'a plan is stored whole: no cut is added to it later'); END;
CREATE TRIGGER layout_leftover_with_plan BEFORE INSERT ON layout_leftover
WHEN NOT EXISTS (SELECT 1 FROM layout l CROSS JOIN entry e ON e.thing = 'plan' AND e.thing_key = l.plan_id
                 WHERE l.id = NEW.layout_id AND e.was IS NULL
                   AND e.deed_id = (SELECT deed_id FROM open_deed))
BEGIN SELECT RAISE(ABORT, 'a plan is stored whole: no leftover is added to it later'); END;

CREATE TRIGGER layout_part_is_kept BEFORE DELETE ON layout_part
WHEN (SELECT undoes FROM deed WHERE id = (SELECT deed_id FROM open_deed)) IS NULL
BEGIN SELECT RAISE(ABORT, 'a plan is kept whole: release it instead'); END;
CREATE TRIGGER layout_cut_is_kept BEFORE DELETE ON layout_cut
WHEN (SELECT undoes FROM deed WHERE id = (SELECT deed_id FROM open_deed)) IS NULL
BEGIN SELECT RAISE(ABORT, 'a plan is kept whole: release it instead'); END;
CREATE TRIGGER layout_leftover_is_kept BEFORE DELETE ON layout_leftover
WHEN (SELECT undoes FROM deed WHERE id = (SELECT deed_id FROM open_deed)) IS NULL
BEGIN SELECT RAISE(ABORT, 'a plan is kept whole: release it instead'); END;

CREATE VIEW cuts_of_plans AS
-- The cuts of the plans that stand, in the order of each piece, sizes in mm.
SELECT j.name AS job, l.number AS layout, coalesce(l.tag, 'to buy') AS tag, c.step, c.piece, c.direction,
  round(c.fence / 3200.0, 2) AS fence_mm, c.low AS gives_low, c.high AS gives_high
FROM plan n JOIN job j ON j.id = n.job_id JOIN layout l ON l.plan_id = n.id
JOIN layout_cut c ON c.layout_id = l.id
WHERE n.state = 'standing' ORDER BY j.name, l.number, c.step;
