-- +goose Up
-- Positions that this home has read up to, each with its head, at distances that grow with age: where the server goes back to a backup,
-- the newest one that its log still has is where this home goes on.
ALTER TABLE me ADD COLUMN ladder bytea NOT NULL DEFAULT '' CHECK (length(ladder) % 40 = 0);

-- +goose Down
ALTER TABLE me DROP COLUMN ladder;
