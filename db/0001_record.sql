-- The record of one shop. Lengths are ticks (1/3200 mm), areas ticks², money ten-thousandths of the
-- shop's currency, weights grams, times UTC ISO 8601. Every table here but the four that only grow
-- (tag, document, deed, entry) is journalled: each change of a row is written to `entry` by the database.

CREATE TABLE deed (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  at TEXT NOT NULL CHECK (at GLOB '[0-9][0-9][0-9][0-9]-[0-1][0-9]-[0-3][0-9]T[0-2][0-9]:[0-5][0-9]:[0-6][0-9]Z'),
  what TEXT NOT NULL CHECK (what <> ''),
  says TEXT NOT NULL,
  undoes INTEGER UNIQUE REFERENCES deed (id) CHECK (undoes < id)
) STRICT;

CREATE TABLE entry (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  deed_id INTEGER NOT NULL REFERENCES deed (id),
  thing TEXT NOT NULL,
  thing_key TEXT NOT NULL,
  was TEXT CHECK (was IS NULL OR json_valid(was)),
  now TEXT CHECK (now IS NULL OR json_valid(now)),
  CHECK (was IS NOT NULL OR now IS NOT NULL)
) STRICT;
CREATE INDEX entry_of_thing ON entry (thing, thing_key);
CREATE INDEX entry_of_deed ON entry (deed_id);

-- A deed is open while its changes are made and must be closed before the commit: a row in `open_deed`
-- points at a row that can never exist, and the database looks at that only when it commits.
CREATE TABLE deed_left_open (says TEXT PRIMARY KEY CHECK (says IS NULL)) STRICT;
CREATE TABLE open_deed (
  only INTEGER PRIMARY KEY DEFAULT 1 CHECK (only = 1),
  deed_id INTEGER NOT NULL REFERENCES deed (id),
  rule TEXT NOT NULL DEFAULT 'close it before the commit'
    REFERENCES deed_left_open (says) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- Every tag ever given out, and long texts by the SHA-256 of their UTF-8.
CREATE TABLE tag (
  number INTEGER PRIMARY KEY CHECK (number >= 0),
  code TEXT NOT NULL UNIQUE CHECK (length(code) BETWEEN 5 AND 8)
) STRICT;
CREATE TABLE document (
  digest TEXT PRIMARY KEY CHECK (length(digest) = 64),
  body TEXT NOT NULL
) STRICT;

CREATE TABLE setting (
  name TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT;

CREATE TABLE material (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL CHECK (trim(name) <> ''),
  form TEXT NOT NULL CHECK (form IN ('sheet', 'board')),
  thickness_name TEXT NOT NULL CHECK (trim(thickness_name) <> ''),
  thickness INTEGER NOT NULL CHECK (thickness BETWEEN 1 AND 320000000),
  grain INTEGER NOT NULL CHECK (grain IN (0, 1)),
  density INTEGER CHECK (density BETWEEN 1 AND 30000),
  least_stock INTEGER NOT NULL DEFAULT 0 CHECK (least_stock >= 0),
  lead_days INTEGER NOT NULL DEFAULT 0 CHECK (lead_days >= 0),
  note TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE UNIQUE INDEX material_by_name ON material (lower(name), lower(thickness_name));

-- The price log: what a size cost at a supplier since a day. The newest row of a size is today's price.
CREATE TABLE offer (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  material_id INTEGER NOT NULL REFERENCES material (id),
  length INTEGER NOT NULL CHECK (length BETWEEN 1 AND 320000000),
  width INTEGER NOT NULL CHECK (width BETWEEN 1 AND 320000000),
  price INTEGER NOT NULL CHECK (price >= 0),
  supplier TEXT NOT NULL DEFAULT '',
  since TEXT NOT NULL CHECK (since GLOB '[0-9][0-9][0-9][0-9]-[0-1][0-9]-[0-3][0-9]*'),
  ended INTEGER NOT NULL DEFAULT 0 CHECK (ended IN (0, 1))
) STRICT;
CREATE INDEX offer_of_material ON offer (material_id, length, width, supplier, since);

CREATE TABLE place (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  code TEXT NOT NULL UNIQUE CHECK (trim(code) <> ''),
  rack TEXT NOT NULL,
  bay TEXT NOT NULL DEFAULT '',
  slot TEXT NOT NULL DEFAULT '',
  inside_id INTEGER REFERENCES place (id) CHECK (inside_id <> id),
  storage TEXT NOT NULL CHECK (storage IN ('flat stack', 'upright slot', 'brackets')),
  length INTEGER NOT NULL DEFAULT 0 CHECK (length BETWEEN 0 AND 320000000),
  width INTEGER NOT NULL DEFAULT 0 CHECK (width BETWEEN 0 AND 320000000),
  height INTEGER NOT NULL DEFAULT 0 CHECK (height BETWEEN 0 AND 320000000),
  supports INTEGER NOT NULL DEFAULT 0 CHECK (supports BETWEEN 0 AND 1000),
  rated_load INTEGER CHECK (rated_load > 0),
  walk INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX place_inside ON place (inside_id);

CREATE TABLE job (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL CHECK (trim(name) <> ''),
  text TEXT NOT NULL REFERENCES document (digest),
  state TEXT NOT NULL DEFAULT 'open' CHECK (state IN ('open', 'done', 'dropped')),
  created_at TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX job_by_name ON job (lower(name)) WHERE state <> 'dropped';

CREATE TABLE part (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  job_id INTEGER NOT NULL REFERENCES job (id),
  line INTEGER NOT NULL CHECK (line >= 1),
  name TEXT NOT NULL CHECK (trim(name) <> ''),
  count INTEGER NOT NULL CHECK (count >= 1),
  length INTEGER NOT NULL CHECK (length BETWEEN 1 AND 320000000),
  width INTEGER NOT NULL CHECK (width BETWEEN 1 AND 320000000),
  thickness_name TEXT,
  materials TEXT CHECK (materials IS NULL OR json_type(materials) = 'array'),
  grain TEXT NOT NULL CHECK (grain IN ('along', 'across', 'any')),
  bands TEXT NOT NULL DEFAULT '',
  finished_length INTEGER CHECK (finished_length > 0),
  finished_width INTEGER CHECK (finished_width > 0),
  priority INTEGER NOT NULL DEFAULT 0,
  note TEXT NOT NULL DEFAULT '',
  UNIQUE (job_id, line)
) STRICT;

-- One plan of a job stands at a time. A broken plan lost a piece and waits to be made again.
CREATE TABLE plan (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  job_id INTEGER NOT NULL REFERENCES job (id),
  number INTEGER NOT NULL CHECK (number >= 1),
  state TEXT NOT NULL CHECK (state IN ('standing', 'broken', 'released', 'done')),
  why TEXT,
  status TEXT NOT NULL CHECK (status IN ('proven', 'feasible', 'short')),
  body TEXT NOT NULL REFERENCES document (digest),
  made_at TEXT NOT NULL,
  UNIQUE (job_id, number),
  CHECK ((state IN ('broken', 'released')) = (why IS NOT NULL))
) STRICT;
CREATE UNIQUE INDEX plan_that_stands ON plan (job_id) WHERE state IN ('standing', 'broken');

-- One piece of a plan: `tag` is empty while the piece must still be bought. `gives` holds the parts
-- [{name, length, width}] and the leftovers [{tag, length, width}] that the plan expects.
CREATE TABLE layout (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  plan_id INTEGER NOT NULL REFERENCES plan (id),
  number INTEGER NOT NULL CHECK (number >= 1),
  tag TEXT REFERENCES piece (tag),
  material_id INTEGER NOT NULL REFERENCES material (id),
  length INTEGER NOT NULL CHECK (length BETWEEN 1 AND 320000000),
  width INTEGER NOT NULL CHECK (width BETWEEN 1 AND 320000000),
  gives TEXT NOT NULL CHECK (json_type(gives, '$.parts') = 'array'
                             AND json_type(gives, '$.leftovers') = 'array'),
  UNIQUE (plan_id, number)
) STRICT;
CREATE UNIQUE INDEX layout_of_piece ON layout (tag, plan_id) WHERE tag IS NOT NULL;

-- `layer` orders a place from the bottom (low) to the top (high). `plan_id` is the plan that promised it,
-- kept when it was cut for that plan.
CREATE TABLE piece (
  tag TEXT PRIMARY KEY REFERENCES tag (code),
  material_id INTEGER NOT NULL REFERENCES material (id),
  kind TEXT NOT NULL CHECK (kind IN ('full', 'offcut')),
  length INTEGER NOT NULL CHECK (length BETWEEN 1 AND 320000000),
  width INTEGER NOT NULL CHECK (width BETWEEN 1 AND 320000000),
  thickness INTEGER CHECK (thickness BETWEEN 1 AND 320000000),
  state TEXT NOT NULL CHECK (state IN ('racked', 'promised', 'pulled', 'bench', 'cut', 'gone')),
  place_id INTEGER REFERENCES place (id),
  layer INTEGER NOT NULL DEFAULT 0,
  plan_id INTEGER REFERENCES plan (id),
  parent TEXT REFERENCES piece (tag) CHECK (parent <> tag),
  cost INTEGER NOT NULL DEFAULT 0 CHECK (cost >= 0),
  supplier TEXT NOT NULL DEFAULT '',
  shelved_at TEXT NOT NULL,
  labelled INTEGER NOT NULL DEFAULT 0 CHECK (labelled IN (0, 1)),
  gone_because TEXT,
  note TEXT NOT NULL DEFAULT '',
  area INTEGER GENERATED ALWAYS AS (length * width) VIRTUAL,
  CHECK ((state IN ('racked', 'promised')) = (place_id IS NOT NULL)),
  CHECK (state NOT IN ('promised', 'pulled') OR plan_id IS NOT NULL),
  CHECK (state NOT IN ('racked', 'bench', 'gone') OR plan_id IS NULL),
  CHECK ((state = 'gone') = (gone_because IS NOT NULL)),
  CHECK (parent IS NULL OR kind = 'offcut')
) STRICT;
CREATE INDEX piece_at_place ON piece (place_id, layer) WHERE place_id IS NOT NULL;
CREATE INDEX piece_of_plan ON piece (plan_id) WHERE plan_id IS NOT NULL;
CREATE INDEX piece_of_parent ON piece (parent) WHERE parent IS NOT NULL;
CREATE INDEX piece_unlabelled ON piece (labelled, state) WHERE labelled = 0;
CREATE INDEX piece_of_material ON piece (material_id, state);
CREATE INDEX piece_free_by_area ON piece (area, length, width, material_id) WHERE state IN ('racked', 'bench');
CREATE INDEX piece_free_by_material ON piece (material_id, area, length, width) WHERE state IN ('racked', 'bench');

-- A piece was cut: what became scrap (the kerf included) and what the parts carry of its cost.
CREATE TABLE cutting (
  tag TEXT PRIMARY KEY REFERENCES piece (tag),
  layout_id INTEGER UNIQUE REFERENCES layout (id),
  scrap INTEGER NOT NULL CHECK (scrap >= 0),
  cost INTEGER NOT NULL CHECK (cost >= 0),
  cut_at TEXT NOT NULL
) STRICT;

CREATE TABLE cut_part (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  tag TEXT NOT NULL REFERENCES piece (tag),
  job_id INTEGER REFERENCES job (id),
  name TEXT NOT NULL CHECK (trim(name) <> ''),
  length INTEGER NOT NULL CHECK (length BETWEEN 1 AND 320000000),
  width INTEGER NOT NULL CHECK (width BETWEEN 1 AND 320000000),
  count INTEGER NOT NULL CHECK (count BETWEEN 1 AND 1000000)
) STRICT;
CREATE INDEX cut_part_of_piece ON cut_part (tag);
CREATE INDEX cut_part_of_job ON cut_part (job_id);

-- A count of one place: what was seen there. An open count can be gone on with later.
CREATE TABLE stocktake (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  place_id INTEGER NOT NULL REFERENCES place (id),
  started_at TEXT NOT NULL,
  ended_at TEXT
) STRICT;
CREATE UNIQUE INDEX stocktake_open ON stocktake (place_id) WHERE ended_at IS NULL;

CREATE TABLE sighting (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  stocktake_id INTEGER NOT NULL REFERENCES stocktake (id),
  tag TEXT NOT NULL,
  UNIQUE (stocktake_id, tag)
) STRICT;
