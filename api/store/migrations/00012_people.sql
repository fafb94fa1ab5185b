-- +goose Up
-- Houses that share a service, and who may sign in. Garments belong to a workspace, and
-- all else to a garment. Limits of 0 are those of the service.
CREATE TABLE workspaces (
  name TEXT PRIMARY KEY,
  max_bytes INTEGER NOT NULL DEFAULT 0,
  max_waiting INTEGER NOT NULL DEFAULT 0,
  created_at INTEGER NOT NULL
);
INSERT INTO workspaces (name, created_at) VALUES ('default', 0);
CREATE TABLE accounts (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL UNIQUE,
  workspace TEXT NOT NULL REFERENCES workspaces (name),
  role TEXT NOT NULL,
  password TEXT NOT NULL DEFAULT '',
  created_at INTEGER NOT NULL
);
-- Digests of tokens and of sign-ins in browsers; until 0 is for ever.
CREATE TABLE access (
  hash TEXT PRIMARY KEY,
  account_id TEXT NOT NULL REFERENCES accounts (id) ON DELETE CASCADE,
  until INTEGER NOT NULL,
  created_at INTEGER NOT NULL
);
CREATE TABLE links (
  id TEXT PRIMARY KEY,
  hash TEXT NOT NULL UNIQUE,
  garment_id TEXT NOT NULL REFERENCES garments (id) ON DELETE CASCADE,
  until INTEGER NOT NULL,
  created_at INTEGER NOT NULL
);
CREATE INDEX links_of_garment ON links (garment_id, created_at);
ALTER TABLE garments ADD COLUMN workspace TEXT NOT NULL DEFAULT 'default';
CREATE INDEX garments_of_workspace ON garments (workspace, updated_at, id);
ALTER TABLE trash ADD COLUMN workspace TEXT NOT NULL DEFAULT 'default';
-- What a photo takes, and what the photos of an entry take.
ALTER TABLE photos ADD COLUMN bytes INTEGER NOT NULL DEFAULT 0;
ALTER TABLE trash ADD COLUMN bytes INTEGER NOT NULL DEFAULT 0;

-- +goose Down
ALTER TABLE trash DROP COLUMN bytes;
ALTER TABLE photos DROP COLUMN bytes;
ALTER TABLE trash DROP COLUMN workspace;
DROP INDEX garments_of_workspace;
ALTER TABLE garments DROP COLUMN workspace;
DROP TABLE links;
DROP TABLE access;
DROP TABLE accounts;
DROP TABLE workspaces;
