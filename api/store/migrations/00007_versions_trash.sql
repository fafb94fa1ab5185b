-- +goose Up
-- Former versions: the row as it was, as JSON by column.
CREATE TABLE piece_versions (
  piece_id TEXT NOT NULL REFERENCES pieces (id) ON DELETE CASCADE,
  version INTEGER NOT NULL,
  row TEXT NOT NULL,
  PRIMARY KEY (piece_id, version)
);
CREATE TABLE garment_versions (
  garment_id TEXT NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  version INTEGER NOT NULL,
  row TEXT NOT NULL,
  PRIMARY KEY (garment_id, version)
);
-- What was deleted and can still be brought back: all its rows, by table, and the
-- pictures that they name.
CREATE TABLE trash (
  id TEXT PRIMARY KEY,
  kind TEXT NOT NULL,
  record_id TEXT NOT NULL,
  garment_id TEXT NOT NULL,
  name TEXT NOT NULL,
  rows TEXT NOT NULL,
  pictures TEXT NOT NULL,
  deleted_at INTEGER NOT NULL
);
CREATE INDEX trash_by_time ON trash (deleted_at, id);
CREATE INDEX garments_by_change ON garments (updated_at, id);

-- +goose Down
DROP INDEX garments_by_change;
DROP TABLE trash;
DROP TABLE garment_versions;
DROP TABLE piece_versions;
