-- +goose Up
-- Who ordered that a class goes by itself once it is over its time, empty for nobody; and the day on which that was done last, since 1970.
ALTER TABLE account_keep ADD COLUMN person TEXT NOT NULL DEFAULT '';
ALTER TABLE account_keep ADD COLUMN day INTEGER NOT NULL DEFAULT 0;

-- +goose Down
ALTER TABLE account_keep DROP COLUMN day;
ALTER TABLE account_keep DROP COLUMN person;
