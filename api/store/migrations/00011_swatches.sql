-- +goose Up
-- Photos of cloths, by which their garment's pattern names them.
CREATE TABLE swatches (
  garment_id TEXT NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  picture TEXT NOT NULL,
  created_at INTEGER NOT NULL,
  PRIMARY KEY (garment_id, picture)
);

-- +goose Down
DROP TABLE swatches;
