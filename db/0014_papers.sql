-- What is on paper stays true: the numbers that cut cards show are kept with the plan, and which plan was
-- printed last. Plans made before this step are numbered as they are printed.

ALTER TABLE layout_part ADD COLUMN number INTEGER
  -- number: which one of its line it is on card and label
  CHECK (number >= 1);

ALTER TABLE layout_cut ADD COLUMN setting INTEGER
  -- setting: which setting of the job sheet it is made at; empty for a trim, which sets nothing
  CHECK (setting >= 1);

ALTER TABLE plan ADD COLUMN printed_at TEXT
  -- printed_at: when its cut cards were last put on paper; empty: never
  CHECK (printed_at GLOB '[0-9][0-9][0-9][0-9]-[0-1][0-9]-[0-3][0-9]T*Z');
