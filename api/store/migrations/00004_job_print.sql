-- +goose Up
-- What the rulers measured when the job was claimed: a trace that fails must not
-- change what the photo's plane is known to have been made with.
ALTER TABLE jobs ADD COLUMN print TEXT NOT NULL DEFAULT '';
-- +goose Down
ALTER TABLE jobs DROP COLUMN print;
