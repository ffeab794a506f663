-- An L or a frame kept in one piece: what of its rectangle is not there any more.

ALTER TABLE piece ADD COLUMN hollow INTEGER NOT NULL DEFAULT 0
  -- hollow: how much of length x width is not there, an L or a frame; its flaws say where
  CHECK (hollow >= 0 AND hollow < length * width);

DROP VIEW cut_balance;
CREATE VIEW cut_balance AS
-- What each cut piece was and what it gave: area = scrap + in_parts + in_offcuts, cost = cost_given.
SELECT c.tag, p.area - p.hollow AS area, c.scrap, p.cost,
  (SELECT coalesce(sum(length * width * count), 0) FROM cut_part WHERE tag = c.tag) AS in_parts,
  (SELECT coalesce(sum(area - hollow), 0) FROM piece WHERE parent = c.tag) AS in_offcuts,
  c.cost + (SELECT coalesce(sum(cost), 0) FROM piece WHERE parent = c.tag) AS cost_given
FROM cutting c CROSS JOIN piece p ON p.tag = c.tag;
