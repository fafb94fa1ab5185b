-- +goose Up
CREATE TABLE garments (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL,
  version INTEGER NOT NULL,
  created_at INTEGER NOT NULL,
  updated_at INTEGER NOT NULL
);

CREATE TABLE photos (
  id TEXT PRIMARY KEY,
  garment_id TEXT NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  file_name TEXT NOT NULL,
  face TEXT NOT NULL,
  width INTEGER NOT NULL,
  height INTEGER NOT NULL,
  status TEXT NOT NULL,
  job_id TEXT NOT NULL,
  original TEXT NOT NULL,
  upright TEXT NOT NULL DEFAULT '',
  plane_picture TEXT NOT NULL DEFAULT '',
  plane TEXT NOT NULL DEFAULT '',
  refusal TEXT NOT NULL DEFAULT '',
  trace TEXT NOT NULL DEFAULT '',
  created_at INTEGER NOT NULL
);
CREATE INDEX photos_of_garment ON photos (garment_id, created_at);

CREATE TABLE pieces (
  id TEXT PRIMARY KEY,
  garment_id TEXT NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  photo_id TEXT NOT NULL REFERENCES photos (id) ON DELETE CASCADE,
  name TEXT NOT NULL,
  knots TEXT NOT NULL,
  holes TEXT NOT NULL,
  unsure TEXT NOT NULL,
  strokes TEXT NOT NULL,
  uncertainty_mm REAL NOT NULL,
  fray_mm REAL NOT NULL,
  version INTEGER NOT NULL,
  created_at INTEGER NOT NULL,
  updated_at INTEGER NOT NULL
);
CREATE INDEX pieces_of_garment ON pieces (garment_id, created_at);
CREATE INDEX pieces_of_photo ON pieces (photo_id);

CREATE TABLE jobs (
  id TEXT PRIMARY KEY,
  photo_id TEXT NOT NULL REFERENCES photos (id) ON DELETE CASCADE,
  garment_id TEXT NOT NULL,
  kind TEXT NOT NULL,
  status TEXT NOT NULL,
  strokes TEXT NOT NULL DEFAULT '',
  step TEXT NOT NULL DEFAULT '',
  refusal TEXT NOT NULL DEFAULT '',
  trace TEXT NOT NULL DEFAULT '',
  sequence INTEGER NOT NULL,
  attempts INTEGER NOT NULL DEFAULT 0,
  created_at INTEGER NOT NULL
);
CREATE INDEX jobs_of_photo ON jobs (photo_id);
CREATE INDEX jobs_by_status ON jobs (status, created_at);

CREATE TABLE keys (
  scope TEXT NOT NULL,
  value TEXT NOT NULL,
  digest TEXT NOT NULL,
  made TEXT NOT NULL,
  created_at INTEGER NOT NULL,
  PRIMARY KEY (scope, value)
);

CREATE TABLE sessions (
  hash TEXT PRIMARY KEY,
  created_at INTEGER NOT NULL
);

-- +goose Down
DROP TABLE sessions;
DROP TABLE keys;
DROP TABLE jobs;
DROP TABLE pieces;
DROP TABLE photos;
DROP TABLE garments;
