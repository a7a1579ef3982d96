-- +goose Up
-- Who looked at what people said, or took it away: one row for a person, a thing and an hour.
CREATE TABLE account_look (
    co      TEXT NOT NULL,
    hour    BIGINT NOT NULL, -- since 1970
    person  TEXT NOT NULL,    -- or the id of a guest
    what    TEXT NOT NULL,
    about   TEXT NOT NULL,    -- the job or person, by id; empty for none
    times   BIGINT NOT NULL,
    last_ms BIGINT NOT NULL,
    PRIMARY KEY (co, hour, person, what, about)
);

-- How long each class of what is kept about people is kept, where the firm wants it otherwise than by default.
CREATE TABLE account_keep (
    co    TEXT NOT NULL,
    class TEXT NOT NULL,
    days  BIGINT NOT NULL CHECK (days >= 0),
    PRIMARY KEY (co, class)
);

ALTER TABLE account_user ADD COLUMN ended_ms BIGINT;
SELECT tacet_wall('account_look');
SELECT tacet_wall('account_keep');

-- +goose Down
ALTER TABLE account_user DROP COLUMN ended_ms;
DROP TABLE account_keep;
DROP TABLE account_look;
