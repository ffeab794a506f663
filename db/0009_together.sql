-- Jobs planned together: one job stands for several while one plan serves them all.
ALTER TABLE job ADD COLUMN together_id INTEGER REFERENCES job (id)
  -- together_id: the job that stands for this one and others that are planned together with it
  CHECK (together_id <> id);
