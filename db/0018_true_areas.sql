-- What lies in the yard, in each place and what was cut, by what is really there of an L or a frame.

DROP VIEW in_each_place;
CREATE VIEW in_each_place AS
-- How full each place is. The weight counts materials of known density only.
SELECT w.code AS place, w.rack, w.bay, w.slot, w.storage, count(p.tag) AS pieces,
  round(total(p.area - p.hollow) / 1.024e13, 3) AS area_m2,
  round(total(1.0 * (p.area - p.hollow) * coalesce(p.thickness, m.thickness) * m.density) / 3.2768e19, 1)
    AS known_weight_kg,
  w.rated_load / 1000.0 AS rated_load_kg
FROM place w LEFT JOIN piece p ON p.place_id = w.id LEFT JOIN material m ON m.id = p.material_id
GROUP BY w.id ORDER BY w.walk, w.code;

DROP VIEW worth;
CREATE VIEW worth AS
-- What lies in the yard, by material.
SELECT m.name AS material, m.thickness_name AS thickness,
  sum(p.kind = 'full') AS full_pieces, sum(p.kind = 'offcut') AS offcuts,
  round(total(p.area - p.hollow) / 1.024e13, 3) AS area_m2, total(p.cost) / 10000.0 AS carried_cost
FROM piece p JOIN material m ON m.id = p.material_id
WHERE p.state IN ('racked', 'promised', 'pulled', 'bench') GROUP BY m.id ORDER BY m.name, m.thickness;

DROP VIEW what_was_cut;
CREATE VIEW what_was_cut AS
-- What became of each piece that was cut.
SELECT c.cut_at, c.tag, j.name AS job, m.name AS material, m.thickness_name AS thickness,
  round(b.area / 1.024e13, 4) AS area_m2, round(b.in_parts / 1.024e13, 4) AS parts_m2,
  round(b.in_offcuts / 1.024e13, 4) AS offcuts_m2, round(b.scrap / 1.024e13, 4) AS scrap_m2
FROM cutting c JOIN piece p ON p.tag = c.tag JOIN material m ON m.id = p.material_id
JOIN cut_balance b ON b.tag = c.tag LEFT JOIN plan n ON n.id = p.plan_id LEFT JOIN job j ON j.id = n.job_id;
