-- The record of one shop. Lengths are ticks (1/3200 mm), areas ticks², money ten-thousandths of the
-- shop's currency, weights grams, times UTC ISO 8601. Every table here but the four that only grow
-- (tag, document, deed, entry) is journalled: each change of a row is written to `entry` by the database.

CREATE TABLE deed (
  -- One line a command that changed something: the ledger's sentence. Only grows.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  -- at: UTC; the order of deeds is that of their ids, a clock may go back
  at TEXT NOT NULL CHECK (at GLOB '[0-9][0-9][0-9][0-9]-[0-1][0-9]-[0-3][0-9]T[0-2][0-9]:[0-5][0-9]:[0-6][0-9]Z'),
  what TEXT NOT NULL CHECK (what <> ''),
  says TEXT NOT NULL,
  -- undoes: the deed whose opposite this one is
  undoes INTEGER UNIQUE REFERENCES deed (id) CHECK (undoes < id)
) STRICT;

CREATE TABLE entry (
  -- One line a row that a deed made, changed or unmade, written by the database itself. Only grows.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  deed_id INTEGER NOT NULL REFERENCES deed (id),
  -- thing: the table
  thing TEXT NOT NULL,
  -- thing_key: the key of the row
  thing_key TEXT NOT NULL,
  -- was: the changed fields before, as JSON; NULL when the row was made
  was TEXT CHECK (was IS NULL OR json_valid(was)),
  -- now: and after; NULL when the row was unmade
  now TEXT CHECK (now IS NULL OR json_valid(now)),
  CHECK (was IS NOT NULL OR now IS NOT NULL)
) STRICT;
CREATE INDEX entry_of_thing ON entry (thing, thing_key);
CREATE INDEX entry_of_deed ON entry (deed_id);

CREATE TABLE deed_left_open (
  -- Always empty: what `open_deed` points at until the deed is closed.
  says TEXT PRIMARY KEY CHECK (says IS NULL)
) STRICT;
CREATE TABLE open_deed (
  -- The deed being made. The row it points at can never exist, and the database looks at that only
  -- when it commits: so a deed must be closed, and its sums looked at, before anything is kept.
  only INTEGER PRIMARY KEY DEFAULT 1 CHECK (only = 1),
  deed_id INTEGER NOT NULL REFERENCES deed (id),
  rule TEXT NOT NULL DEFAULT 'close it before the commit'
    REFERENCES deed_left_open (says) DEFERRABLE INITIALLY DEFERRED
) STRICT;

CREATE TABLE tag (
  -- Every tag ever given out. Only grows.
  number INTEGER PRIMARY KEY CHECK (number >= 0),
  code TEXT NOT NULL UNIQUE CHECK (length(code) BETWEEN 5 AND 8)
) STRICT;
CREATE TABLE document (
  -- Long texts, pasted cut lists and plans, by the SHA-256 of their UTF-8. Only grows.
  digest TEXT PRIMARY KEY CHECK (length(digest) = 64),
  body TEXT NOT NULL
) STRICT;

CREATE TABLE setting (
  -- What the shop decided, a setting a row.
  name TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT;

CREATE TABLE material (
  -- What pieces are made of.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL CHECK (trim(name) <> ''),
  form TEXT NOT NULL CHECK (form IN ('sheet', 'board')),
  -- thickness_name: as the trade says it, what parts match
  thickness_name TEXT NOT NULL CHECK (trim(thickness_name) <> ''),
  -- thickness: as a caliper says
  thickness INTEGER NOT NULL CHECK (thickness BETWEEN 1 AND 320000000),
  grain INTEGER NOT NULL CHECK (grain IN (0, 1)),
  -- density: kg/m³
  density INTEGER CHECK (density BETWEEN 1 AND 30000),
  -- least_stock: full pieces to have at least
  least_stock INTEGER NOT NULL DEFAULT 0 CHECK (least_stock >= 0),
  lead_days INTEGER NOT NULL DEFAULT 0 CHECK (lead_days >= 0),
  note TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE UNIQUE INDEX material_by_name ON material (lower(name), lower(thickness_name));

CREATE TABLE offer (
  -- The price log: what a size costs at a supplier since a day. The newest row of a size counts.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  material_id INTEGER NOT NULL REFERENCES material (id),
  length INTEGER NOT NULL CHECK (length BETWEEN 1 AND 320000000),
  width INTEGER NOT NULL CHECK (width BETWEEN 1 AND 320000000),
  -- price: for one piece
  price INTEGER NOT NULL CHECK (price >= 0),
  supplier TEXT NOT NULL DEFAULT '',
  since TEXT NOT NULL CHECK (since GLOB '[0-9][0-9][0-9][0-9]-[0-1][0-9]-[0-3][0-9]*'),
  -- ended: 1: no longer on sale since then
  ended INTEGER NOT NULL DEFAULT 0 CHECK (ended IN (0, 1))
) STRICT;
CREATE INDEX offer_of_material ON offer (material_id, length, width, supplier, since);

CREATE TABLE place (
  -- Where pieces lie: rack, bay, slot.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  code TEXT NOT NULL UNIQUE CHECK (trim(code) <> ''),
  rack TEXT NOT NULL,
  bay TEXT NOT NULL DEFAULT '',
  slot TEXT NOT NULL DEFAULT '',
  -- inside_id: the place it stands in
  inside_id INTEGER REFERENCES place (id) CHECK (inside_id <> id),
  storage TEXT NOT NULL CHECK (storage IN ('flat stack', 'upright slot', 'brackets')),
  -- length: inside size, 0 if not known
  length INTEGER NOT NULL DEFAULT 0 CHECK (length BETWEEN 0 AND 320000000),
  width INTEGER NOT NULL DEFAULT 0 CHECK (width BETWEEN 0 AND 320000000),
  height INTEGER NOT NULL DEFAULT 0 CHECK (height BETWEEN 0 AND 320000000),
  -- supports: brackets or bearers under a piece of the whole length
  supports INTEGER NOT NULL DEFAULT 0 CHECK (supports BETWEEN 0 AND 1000),
  -- rated_load: grams, the user's figure from the maker's plate
  rated_load INTEGER CHECK (rated_load > 0),
  -- walk: the order in which one walks the shop
  walk INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX place_inside ON place (inside_id);

CREATE TABLE job (
  -- A project and the text it was read from.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL CHECK (trim(name) <> ''),
  text TEXT NOT NULL REFERENCES document (digest),
  state TEXT NOT NULL DEFAULT 'open' CHECK (state IN ('open', 'done', 'dropped')),
  created_at TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX job_by_name ON job (lower(name)) WHERE state <> 'dropped';

CREATE TABLE part (
  -- One line of a job's cut list.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  job_id INTEGER NOT NULL REFERENCES job (id),
  line INTEGER NOT NULL CHECK (line >= 1),
  name TEXT NOT NULL CHECK (trim(name) <> ''),
  count INTEGER NOT NULL CHECK (count >= 1),
  length INTEGER NOT NULL CHECK (length BETWEEN 1 AND 320000000),
  width INTEGER NOT NULL CHECK (width BETWEEN 1 AND 320000000),
  thickness_name TEXT,
  -- materials: a JSON array of names; NULL accepts any
  materials TEXT CHECK (materials IS NULL OR json_type(materials) = 'array'),
  grain TEXT NOT NULL CHECK (grain IN ('along', 'across', 'any')),
  -- bands: edges that get a strip: L1 L2 W1 W2
  bands TEXT NOT NULL DEFAULT '',
  finished_length INTEGER CHECK (finished_length > 0),
  finished_width INTEGER CHECK (finished_width > 0),
  priority INTEGER NOT NULL DEFAULT 0,
  note TEXT NOT NULL DEFAULT '',
  UNIQUE (job_id, line)
) STRICT;

CREATE TABLE plan (
  -- The answer for a job. One of a job stands at a time; a broken one lost a piece and waits to be made
  -- again; a released one gave its pieces back; a done one is cut.
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

CREATE TABLE layout (
  -- One piece of a plan, and what the plan expects of it.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  plan_id INTEGER NOT NULL REFERENCES plan (id),
  number INTEGER NOT NULL CHECK (number >= 1),
  -- tag: empty while the piece must still be bought
  tag TEXT REFERENCES piece (tag),
  material_id INTEGER NOT NULL REFERENCES material (id),
  length INTEGER NOT NULL CHECK (length BETWEEN 1 AND 320000000),
  width INTEGER NOT NULL CHECK (width BETWEEN 1 AND 320000000),
  -- gives: parts [{name, length, width, count}] and leftovers [{tag, length, width}]
  gives TEXT NOT NULL CHECK (json_type(gives, '$.parts') = 'array'
                             AND json_type(gives, '$.leftovers') = 'array'),
  UNIQUE (plan_id, number)
) STRICT;
CREATE UNIQUE INDEX layout_of_piece ON layout (tag, plan_id) WHERE tag IS NOT NULL;

CREATE TABLE piece (
  -- One physical item with a tag.
  tag TEXT PRIMARY KEY REFERENCES tag (code),
  material_id INTEGER NOT NULL REFERENCES material (id),
  kind TEXT NOT NULL CHECK (kind IN ('full', 'offcut')),
  -- length: along the grain; width across it
  length INTEGER NOT NULL CHECK (length BETWEEN 1 AND 320000000),
  width INTEGER NOT NULL CHECK (width BETWEEN 1 AND 320000000),
  -- thickness: as measured, where it differs from the material
  thickness INTEGER CHECK (thickness BETWEEN 1 AND 320000000),
  -- state: racked and promised ones lie at a place, pulled ones at the saw, others on the bench
  state TEXT NOT NULL CHECK (state IN ('racked', 'promised', 'pulled', 'bench', 'cut', 'gone')),
  place_id INTEGER REFERENCES place (id),
  -- layer: orders a place from the bottom (low) to the top (high)
  layer INTEGER NOT NULL DEFAULT 0,
  -- plan_id: the plan that promised it, kept when it was cut for that plan
  plan_id INTEGER REFERENCES plan (id),
  -- parent: the piece it was cut from
  parent TEXT REFERENCES piece (tag) CHECK (parent <> tag),
  -- cost: what it carries of the money paid
  cost INTEGER NOT NULL DEFAULT 0 CHECK (cost >= 0),
  supplier TEXT NOT NULL DEFAULT '',
  shelved_at TEXT NOT NULL,
  -- labelled: 1 when its label was printed
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

CREATE TABLE cutting (
  -- A piece was cut.
  tag TEXT PRIMARY KEY REFERENCES piece (tag),
  layout_id INTEGER UNIQUE REFERENCES layout (id),
  -- scrap: the area that is neither part nor offcut, kerf included
  scrap INTEGER NOT NULL CHECK (scrap >= 0),
  -- cost: what the parts carry
  cost INTEGER NOT NULL CHECK (cost >= 0),
  cut_at TEXT NOT NULL
) STRICT;

CREATE TABLE cut_part (
  -- Parts that were cut from a piece.
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

CREATE TABLE stocktake (
  -- A count of one place. One that has not ended can be gone on with.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  place_id INTEGER NOT NULL REFERENCES place (id),
  started_at TEXT NOT NULL,
  ended_at TEXT
) STRICT;
CREATE UNIQUE INDEX stocktake_open ON stocktake (place_id) WHERE ended_at IS NULL;

CREATE TABLE sighting (
  -- A tag that was seen in a count.
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  stocktake_id INTEGER NOT NULL REFERENCES stocktake (id),
  tag TEXT NOT NULL,
  UNIQUE (stocktake_id, tag)
) STRICT;
