-- +goose Up
-- Whether a person waits for the job, and how often the service died while it ran.
ALTER TABLE jobs ADD COLUMN asked INTEGER NOT NULL DEFAULT 0;
ALTER TABLE jobs ADD COLUMN crashes INTEGER NOT NULL DEFAULT 0;
-- +goose Down
ALTER TABLE jobs DROP COLUMN crashes;
ALTER TABLE jobs DROP COLUMN asked;
