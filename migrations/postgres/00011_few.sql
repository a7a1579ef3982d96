-- +goose Up
-- What a supervisor holds back or refused, and what a lost log held: few among many, and looked for with every page that is pulled.
CREATE INDEX entry_few ON entry (co, state, dev, run) WHERE state IN ('held', 'refused', 'to_confirm');

-- +goose Down
DROP INDEX entry_few;
