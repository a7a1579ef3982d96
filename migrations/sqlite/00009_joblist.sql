-- +goose Up
-- The list of jobs: how many entries each has and the latest clock, and what of them waits, without a look at the entries themselves.
CREATE INDEX entry_last ON entry (co, job, clk);
CREATE INDEX entry_open ON entry (co, state, job) WHERE state IN ('unsent', 'held');
DROP INDEX entry_state;

-- +goose Down
CREATE INDEX entry_state ON entry (co, job, state);
DROP INDEX entry_open;
DROP INDEX entry_last;
