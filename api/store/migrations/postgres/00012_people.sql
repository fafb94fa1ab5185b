-- +goose Up
-- All that the other database has come to by this number; what each column holds is said
-- there. Ids are compared by their bytes, whatever language the database sorts in.
CREATE TABLE workspaces (
  name TEXT COLLATE "C" PRIMARY KEY,
  max_bytes BIGINT NOT NULL DEFAULT 0,
  max_waiting BIGINT NOT NULL DEFAULT 0,
  created_at BIGINT NOT NULL
);
INSERT INTO workspaces (name, created_at) VALUES ('default', 0);

CREATE TABLE accounts (
  id TEXT COLLATE "C" PRIMARY KEY,
  name TEXT COLLATE "C" NOT NULL UNIQUE,
  workspace TEXT COLLATE "C" NOT NULL REFERENCES workspaces (name),
  role TEXT NOT NULL,
  password TEXT NOT NULL DEFAULT '',
  created_at BIGINT NOT NULL
);

CREATE TABLE access (
  hash TEXT PRIMARY KEY,
  account_id TEXT COLLATE "C" NOT NULL REFERENCES accounts (id) ON DELETE CASCADE,
  until BIGINT NOT NULL,
  created_at BIGINT NOT NULL
);
CREATE INDEX access_of_account ON access (account_id);

CREATE TABLE garments (
  id TEXT COLLATE "C" PRIMARY KEY,
  name TEXT NOT NULL,
  version BIGINT NOT NULL,
  created_at BIGINT NOT NULL,
  updated_at BIGINT NOT NULL,
  pattern TEXT NOT NULL DEFAULT '',
  workspace TEXT COLLATE "C" NOT NULL DEFAULT 'default'
);
CREATE INDEX garments_by_change ON garments (updated_at, id);
CREATE INDEX garments_of_workspace ON garments (workspace, updated_at, id);

CREATE TABLE links (
  id TEXT COLLATE "C" PRIMARY KEY,
  hash TEXT NOT NULL UNIQUE,
  garment_id TEXT COLLATE "C" NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  until BIGINT NOT NULL,
  created_at BIGINT NOT NULL
);
CREATE INDEX links_of_garment ON links (garment_id, created_at);

CREATE TABLE photos (
  id TEXT COLLATE "C" PRIMARY KEY,
  garment_id TEXT COLLATE "C" NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  file_name TEXT NOT NULL,
  face TEXT NOT NULL,
  width BIGINT NOT NULL,
  height BIGINT NOT NULL,
  status TEXT NOT NULL,
  job_id TEXT NOT NULL,
  original TEXT NOT NULL,
  upright TEXT NOT NULL DEFAULT '',
  plane_picture TEXT NOT NULL DEFAULT '',
  plane TEXT NOT NULL DEFAULT '',
  refusal TEXT NOT NULL DEFAULT '',
  trace TEXT NOT NULL DEFAULT '',
  created_at BIGINT NOT NULL,
  print TEXT NOT NULL DEFAULT '',
  traced_print TEXT NOT NULL DEFAULT '',
  known_things TEXT NOT NULL DEFAULT '',
  traced_things TEXT NOT NULL DEFAULT '',
  bytes BIGINT NOT NULL DEFAULT 0
);
CREATE INDEX photos_of_garment ON photos (garment_id, created_at);

CREATE TABLE pieces (
  id TEXT COLLATE "C" PRIMARY KEY,
  garment_id TEXT COLLATE "C" NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  photo_id TEXT COLLATE "C" REFERENCES photos (id) ON DELETE CASCADE,
  name TEXT NOT NULL,
  face TEXT NOT NULL DEFAULT '',
  knots TEXT NOT NULL,
  holes TEXT NOT NULL,
  unsure TEXT NOT NULL,
  grain TEXT NOT NULL DEFAULT '',
  strokes TEXT NOT NULL,
  pattern TEXT NOT NULL DEFAULT '',
  uncertainty_mm DOUBLE PRECISION NOT NULL,
  fray_mm DOUBLE PRECISION NOT NULL,
  version BIGINT NOT NULL,
  created_at BIGINT NOT NULL,
  updated_at BIGINT NOT NULL
);
CREATE INDEX pieces_of_garment ON pieces (garment_id, created_at);
CREATE INDEX pieces_of_photo ON pieces (photo_id);

CREATE TABLE jobs (
  id TEXT COLLATE "C" PRIMARY KEY,
  photo_id TEXT COLLATE "C" REFERENCES photos (id) ON DELETE CASCADE,
  garment_id TEXT COLLATE "C" NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  kind TEXT NOT NULL,
  status TEXT NOT NULL,
  strokes TEXT NOT NULL DEFAULT '',
  step TEXT NOT NULL DEFAULT '',
  refusal TEXT NOT NULL DEFAULT '',
  trace TEXT NOT NULL DEFAULT '',
  sequence BIGINT NOT NULL,
  attempts BIGINT NOT NULL DEFAULT 0,
  created_at BIGINT NOT NULL,
  print TEXT NOT NULL DEFAULT '',
  asked BIGINT NOT NULL DEFAULT 0,
  crashes BIGINT NOT NULL DEFAULT 0,
  known_things TEXT NOT NULL DEFAULT '',
  export TEXT NOT NULL DEFAULT '',
  source TEXT NOT NULL DEFAULT '',
  digest TEXT NOT NULL DEFAULT '',
  file TEXT NOT NULL DEFAULT ''
);
CREATE INDEX jobs_of_photo ON jobs (photo_id);
CREATE INDEX jobs_by_status ON jobs (status, created_at);
CREATE INDEX jobs_of_garment ON jobs (garment_id, kind);

CREATE TABLE keys (
  scope TEXT NOT NULL,
  value TEXT NOT NULL,
  digest TEXT NOT NULL,
  made TEXT NOT NULL,
  created_at BIGINT NOT NULL,
  PRIMARY KEY (scope, value)
);
CREATE INDEX keys_by_time ON keys (created_at);

CREATE TABLE sessions (
  hash TEXT PRIMARY KEY,
  created_at BIGINT NOT NULL
);

CREATE TABLE piece_versions (
  piece_id TEXT COLLATE "C" NOT NULL REFERENCES pieces (id) ON DELETE CASCADE,
  version BIGINT NOT NULL,
  row TEXT NOT NULL,
  PRIMARY KEY (piece_id, version)
);
CREATE TABLE garment_versions (
  garment_id TEXT COLLATE "C" NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  version BIGINT NOT NULL,
  row TEXT NOT NULL,
  PRIMARY KEY (garment_id, version)
);

CREATE TABLE trash (
  id TEXT COLLATE "C" PRIMARY KEY,
  kind TEXT NOT NULL,
  record_id TEXT NOT NULL,
  garment_id TEXT NOT NULL,
  name TEXT NOT NULL,
  rows TEXT NOT NULL,
  pictures TEXT NOT NULL,
  deleted_at BIGINT NOT NULL,
  workspace TEXT COLLATE "C" NOT NULL DEFAULT 'default',
  bytes BIGINT NOT NULL DEFAULT 0
);
CREATE INDEX trash_by_time ON trash (deleted_at, id);

CREATE TABLE uploads (
  id TEXT COLLATE "C" PRIMARY KEY,
  garment_id TEXT COLLATE "C" NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  file_name TEXT NOT NULL,
  face TEXT NOT NULL,
  print TEXT NOT NULL,
  size BIGINT NOT NULL,
  photo_id TEXT NOT NULL DEFAULT '',
  created_at BIGINT NOT NULL
);
CREATE INDEX uploads_of_garment ON uploads (garment_id);

CREATE TABLE swatches (
  garment_id TEXT COLLATE "C" NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  picture TEXT COLLATE "C" NOT NULL,
  created_at BIGINT NOT NULL,
  PRIMARY KEY (garment_id, picture)
);

-- +goose Down
DROP TABLE swatches, uploads, trash, garment_versions, piece_versions, sessions, keys, jobs, pieces, photos, links, garments, access, accounts, workspaces;
