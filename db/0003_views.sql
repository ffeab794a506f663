-- The usual questions, for anybody who opens the file with an SQLite program. Sizes in mm and inches
-- are rounded for reading; the exact figures are the ticks in the tables.

CREATE VIEW on_the_racks AS
-- What is on the racks, and where. on_top_of_it: pieces to lift off first.
SELECT p.tag, m.name AS material, m.thickness_name AS thickness, p.kind,
  round(p.length / 3200.0, 1) AS length_mm, round(p.width / 3200.0, 1) AS width_mm,
  round(p.length / 81280.0, 3) AS length_in, round(p.width / 81280.0, 3) AS width_in,
  w.code AS place, CASE w.storage WHEN 'flat stack'
    THEN row_number() OVER (PARTITION BY p.place_id ORDER BY p.layer DESC) - 1 ELSE 0 END AS on_top_of_it,
  CASE p.state WHEN 'promised' THEN j.name END AS promised_to, p.shelved_at, p.note
FROM piece p JOIN material m ON m.id = p.material_id JOIN place w ON w.id = p.place_id
LEFT JOIN plan n ON n.id = p.plan_id LEFT JOIN job j ON j.id = n.job_id
WHERE p.state IN ('racked', 'promised');

CREATE VIEW waiting_on_the_bench AS
-- Pieces off the racks that no plan holds: they wait for a place.
SELECT p.tag, m.name AS material, m.thickness_name AS thickness, p.kind,
  round(p.length / 3200.0, 1) AS length_mm, round(p.width / 3200.0, 1) AS width_mm,
  round(p.length / 81280.0, 3) AS length_in, round(p.width / 81280.0, 3) AS width_in,
  p.parent AS cut_from, p.note
FROM piece p JOIN material m ON m.id = p.material_id WHERE p.state = 'bench';

CREATE VIEW in_each_place AS
-- How full each place is. The weight counts materials of known density only.
SELECT w.code AS place, w.rack, w.bay, w.slot, w.storage, count(p.tag) AS pieces,
  round(total(p.area) / 1.024e13, 3) AS area_m2,
  round(total(1.0 * p.area * coalesce(p.thickness, m.thickness) * m.density) / 3.2768e19, 1) AS known_weight_kg,
  w.rated_load / 1000.0 AS rated_load_kg
FROM place w LEFT JOIN piece p ON p.place_id = w.id LEFT JOIN material m ON m.id = p.material_id
GROUP BY w.id ORDER BY w.walk, w.code;

CREATE VIEW worth AS
-- What lies in the yard, by material.
SELECT m.name AS material, m.thickness_name AS thickness,
  sum(p.kind = 'full') AS full_pieces, sum(p.kind = 'offcut') AS offcuts,
  round(total(p.area) / 1.024e13, 3) AS area_m2, total(p.cost) / 10000.0 AS carried_cost
FROM piece p JOIN material m ON m.id = p.material_id
WHERE p.state IN ('racked', 'promised', 'pulled', 'bench') GROUP BY m.id ORDER BY m.name, m.thickness;

CREATE VIEW prices_now AS
-- The newest price of each size on sale.
SELECT m.name AS material, m.thickness_name AS thickness,
  round(o.length / 3200.0, 1) AS length_mm, round(o.width / 3200.0, 1) AS width_mm,
  o.price / 10000.0 AS price, o.supplier, o.since
FROM offer o JOIN material m ON m.id = o.material_id
WHERE o.ended = 0 AND NOT EXISTS (
  SELECT 1 FROM offer n WHERE n.material_id = o.material_id AND n.length = o.length AND n.width = o.width
  AND n.supplier = o.supplier AND (n.since, n.id) > (o.since, o.id));

CREATE VIEW promised_now AS
-- Which pieces are promised or pulled for which job.
SELECT j.name AS job, n.number AS plan, n.state AS plan_state, l.number AS layout, p.tag, p.state,
  w.code AS place
FROM piece p JOIN plan n ON n.id = p.plan_id JOIN job j ON j.id = n.job_id
JOIN layout l ON l.plan_id = n.id AND l.tag = p.tag LEFT JOIN place w ON w.id = p.place_id
WHERE p.state IN ('promised', 'pulled') ORDER BY j.name, l.number;

CREATE VIEW what_was_cut AS
-- What became of each piece that was cut.
SELECT c.cut_at, c.tag, j.name AS job, m.name AS material, m.thickness_name AS thickness,
  round(p.area / 1.024e13, 4) AS area_m2, round(b.in_parts / 1.024e13, 4) AS parts_m2,
  round(b.in_offcuts / 1.024e13, 4) AS offcuts_m2, round(b.scrap / 1.024e13, 4) AS scrap_m2
FROM cutting c JOIN piece p ON p.tag = c.tag JOIN material m ON m.id = p.material_id
JOIN cut_balance b ON b.tag = c.tag LEFT JOIN plan n ON n.id = p.plan_id LEFT JOIN job j ON j.id = n.job_id;

CREATE VIEW history AS
-- The ledger, an entry a line. Ask for one piece: WHERE thing = 'piece' AND thing_key = TAG.
SELECT e.id AS entry, d.id AS deed, d.at, d.what, d.says, e.thing, e.thing_key, e.was, e.now, d.undoes
FROM entry e JOIN deed d ON d.id = e.deed_id;
