-- +goose Up
-- Things of known size that the person pointed out, as JSON; empty where there are
-- none. As with print: what the person says now, what the photo's plane was made
-- with, and what was known when a job was claimed.
ALTER TABLE photos ADD COLUMN known_things TEXT NOT NULL DEFAULT '';
ALTER TABLE photos ADD COLUMN traced_things TEXT NOT NULL DEFAULT '';
ALTER TABLE jobs ADD COLUMN known_things TEXT NOT NULL DEFAULT '';
-- +goose Down
ALTER TABLE jobs DROP COLUMN known_things;
ALTER TABLE photos DROP COLUMN traced_things;
ALTER TABLE photos DROP COLUMN known_things;
