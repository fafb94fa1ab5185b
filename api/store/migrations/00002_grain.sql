-- +goose Up
ALTER TABLE pieces ADD COLUMN grain TEXT NOT NULL DEFAULT '';
-- +goose Down
ALTER TABLE pieces DROP COLUMN grain;
