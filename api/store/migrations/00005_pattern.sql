-- +goose Up
-- What makes a pattern of outlines: the parts of a piece (edges with their finishes,
-- marks, label, frame) and of a garment (seams, cloths, measures). Empty while nobody
-- has changed them. A piece of an imported garment file has no photo.
ALTER TABLE garments ADD COLUMN pattern TEXT NOT NULL DEFAULT '';
CREATE TABLE pieces_new (
  id TEXT PRIMARY KEY,
  garment_id TEXT NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  photo_id TEXT REFERENCES photos (id) ON DELETE CASCADE,
  name TEXT NOT NULL,
  face TEXT NOT NULL DEFAULT '',
  knots TEXT NOT NULL,
  holes TEXT NOT NULL,
  unsure TEXT NOT NULL,
  grain TEXT NOT NULL DEFAULT '',
  strokes TEXT NOT NULL,
  pattern TEXT NOT NULL DEFAULT '',
  uncertainty_mm REAL NOT NULL,
  fray_mm REAL NOT NULL,
  version INTEGER NOT NULL,
  created_at INTEGER NOT NULL,
  updated_at INTEGER NOT NULL
);
INSERT INTO pieces_new (id, garment_id, photo_id, name, knots, holes, unsure, grain, strokes, uncertainty_mm, fray_mm, version, created_at, updated_at)
  SELECT id, garment_id, photo_id, name, knots, holes, unsure, grain, strokes, uncertainty_mm, fray_mm, version, created_at, updated_at FROM pieces;
DROP TABLE pieces;
ALTER TABLE pieces_new RENAME TO pieces;
CREATE INDEX pieces_of_garment ON pieces (garment_id, created_at);
CREATE INDEX pieces_of_photo ON pieces (photo_id);

-- +goose Down
DELETE FROM pieces WHERE photo_id IS NULL;
ALTER TABLE pieces DROP COLUMN pattern;
ALTER TABLE pieces DROP COLUMN face;
ALTER TABLE garments DROP COLUMN pattern;
