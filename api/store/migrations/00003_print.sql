-- +goose Up
-- What the printed rulers measure, and what they were taken to measure when the
-- plane and the pieces of the photo were made.
ALTER TABLE photos ADD COLUMN print TEXT NOT NULL DEFAULT '';
ALTER TABLE photos ADD COLUMN traced_print TEXT NOT NULL DEFAULT '';
-- +goose Down
ALTER TABLE photos DROP COLUMN traced_print;
ALTER TABLE photos DROP COLUMN print;
