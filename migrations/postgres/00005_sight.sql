-- +goose Up
-- Who may what, as the server has said it: signed, so that it survives a server that went back in time, wherever it is kept.
-- what: a device, a person, all jobs for a person, one job for a person. The latest word on the same counts.
CREATE TABLE access (
    co   TEXT    NOT NULL,
    what TEXT    NOT NULL CHECK (what IN ('device', 'person', 'jobs', 'job')),
    id   TEXT    NOT NULL,
    job  TEXT    NOT NULL,
    may  INTEGER NOT NULL CHECK (may IN (0, 1)),
    at   BIGINT NOT NULL,
    sig  BYTEA   NOT NULL CHECK (length(sig) = 64),
    PRIMARY KEY (co, what, id, job)
);

-- On a device: jobs of which it does not have everything. Of one that has ended it has all up to upto; one that is arriving
-- it has all up to upto too, and what lies between there and goal comes page by page.
CREATE TABLE sight (
    co    TEXT    NOT NULL,
    job   TEXT    NOT NULL,
    state TEXT    NOT NULL CHECK (state IN ('ended', 'arriving')),
    upto  BIGINT NOT NULL,
    goal  BIGINT NOT NULL,
    have  BIGINT NOT NULL,
    of    BIGINT NOT NULL,
    PRIMARY KEY (co, job)
);

-- What has come of a job that is arriving. It is part of the record once all of it is here.
CREATE TABLE arriving (
    co   TEXT    NOT NULL,
    job  TEXT    NOT NULL,
    n    BIGINT NOT NULL,
    page BYTEA   NOT NULL,
    PRIMARY KEY (co, job, n)
);

-- What the server said of access last, as far as it was followed.
ALTER TABLE me ADD COLUMN access TEXT NOT NULL DEFAULT '';

SELECT tacet_wall('access');
SELECT tacet_wall('sight');
SELECT tacet_wall('arriving');

-- +goose Down
ALTER TABLE me DROP COLUMN access;
DROP TABLE arriving;
DROP TABLE sight;
DROP TABLE access;
