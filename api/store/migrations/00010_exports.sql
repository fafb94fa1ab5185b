-- +goose Up
-- Exports are jobs of a garment, without a photo: what is drawn, what it is drawn of
-- until that is done, what all of it follows from, and the file that was made.
CREATE TABLE jobs_new (
  id TEXT PRIMARY KEY,
  photo_id TEXT REFERENCES photos (id) ON DELETE CASCADE,
  garment_id TEXT NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  kind TEXT NOT NULL,
  status TEXT NOT NULL,
  strokes TEXT NOT NULL DEFAULT '',
  step TEXT NOT NULL DEFAULT '',
  refusal TEXT NOT NULL DEFAULT '',
  trace TEXT NOT NULL DEFAULT '',
  sequence INTEGER NOT NULL,
  attempts INTEGER NOT NULL DEFAULT 0,
  created_at INTEGER NOT NULL,
  print TEXT NOT NULL DEFAULT '',
  asked INTEGER NOT NULL DEFAULT 0,
  crashes INTEGER NOT NULL DEFAULT 0,
  known_things TEXT NOT NULL DEFAULT '',
  export TEXT NOT NULL DEFAULT '',
  source TEXT NOT NULL DEFAULT '',
  digest TEXT NOT NULL DEFAULT '',
  file TEXT NOT NULL DEFAULT ''
);
INSERT INTO jobs_new (id, photo_id, garment_id, kind, status, strokes, step, refusal, trace, sequence, attempts, created_at, print, asked, crashes, known_things)
  SELECT id, photo_id, garment_id, kind, status, strokes, step, refusal, trace, sequence, attempts, created_at, print, asked, crashes, known_things FROM jobs;
DROP TABLE jobs;
ALTER TABLE jobs_new RENAME TO jobs;
CREATE INDEX jobs_of_photo ON jobs (photo_id);
CREATE INDEX jobs_by_status ON jobs (status, created_at);
CREATE INDEX jobs_of_garment ON jobs (garment_id, kind);

-- +goose Down
DELETE FROM jobs WHERE photo_id IS NULL;
DROP INDEX jobs_of_garment;
ALTER TABLE jobs DROP COLUMN file;
ALTER TABLE jobs DROP COLUMN digest;
ALTER TABLE jobs DROP COLUMN source;
ALTER TABLE jobs DROP COLUMN export;
