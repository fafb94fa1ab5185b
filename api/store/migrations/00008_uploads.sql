-- +goose Up
-- Photos that arrive in parts. The file of the same id holds what has come; photo_id
-- is empty until all of it was accepted.
CREATE TABLE uploads (
  id TEXT PRIMARY KEY,
  garment_id TEXT NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  file_name TEXT NOT NULL,
  face TEXT NOT NULL,
  print TEXT NOT NULL,
  size INTEGER NOT NULL,
  photo_id TEXT NOT NULL DEFAULT '',
  created_at INTEGER NOT NULL
);
-- +goose Down
DROP TABLE uploads;
