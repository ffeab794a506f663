-- Sheets cut on the router: which materials, jobs and parts go there, and the outlines of shaped parts.

ALTER TABLE material ADD COLUMN method TEXT NOT NULL DEFAULT 'saw'
  -- method: what its sheets are cut on, unless job or part say otherwise
  CHECK (method IN ('saw', 'router'));

ALTER TABLE job ADD COLUMN method TEXT
  -- method: what its sheets are cut on, unless a part says otherwise; NULL: as their material
  CHECK (method IN ('saw', 'router'));

ALTER TABLE part ADD COLUMN method TEXT
  -- method: what it is cut on; NULL: as its job
  CHECK (method IN ('saw', 'router'));

ALTER TABLE part ADD COLUMN outline TEXT
  -- outline: the drawing exchange file of its shape, as given; NULL: it is a rectangle
  REFERENCES document (digest);

ALTER TABLE question ADD COLUMN method TEXT NOT NULL DEFAULT 'saw'
  -- method: what it was planned for
  CHECK (method IN ('saw', 'router'));
