-- +goose Up
-- Who is who. Times are milliseconds since 1970 in UTC. Keys begin with the company wherever it is known when the row is looked for;
-- account_login and account_code are the two directories that tell which company a stranger belongs to.

CREATE TABLE account_company (
    co      TEXT PRIMARY KEY,
    name    TEXT NOT NULL CHECK (name <> ''),
    made_ms BIGINT NOT NULL
);

CREATE TABLE account_login (
    login  TEXT PRIMARY KEY,
    co     TEXT NOT NULL,
    person TEXT NOT NULL
);

CREATE TABLE account_user (
    co       TEXT NOT NULL REFERENCES account_company (co),
    person   TEXT NOT NULL,
    login    TEXT NOT NULL,
    name     TEXT NOT NULL,
    role     TEXT NOT NULL CHECK (role IN ('site', 'supervisor', 'office', 'owner')),
    password TEXT NOT NULL,
    state    TEXT NOT NULL CHECK (state IN ('active', 'ended')),
    made_ms  BIGINT NOT NULL,
    PRIMARY KEY (co, person)
);

CREATE TABLE account_device (
    co      TEXT NOT NULL REFERENCES account_company (co),
    device  TEXT NOT NULL,
    key     BYTEA NOT NULL CHECK (length(key) = 32),
    name    TEXT NOT NULL,
    state   TEXT NOT NULL CHECK (state IN ('active', 'revoked')),
    made_ms BIGINT NOT NULL,
    PRIMARY KEY (co, device)
);
CREATE UNIQUE INDEX account_device_id ON account_device (device);

-- The people who use a device: whoever enrolled it, and whoever signed in on it since.
CREATE TABLE account_holder (
    co      TEXT NOT NULL,
    device  TEXT NOT NULL,
    person  TEXT NOT NULL,
    made_ms BIGINT NOT NULL,
    PRIMARY KEY (co, device, person),
    FOREIGN KEY (co, device) REFERENCES account_device (co, device),
    FOREIGN KEY (co, person) REFERENCES account_user (co, person)
);

CREATE TABLE account_code (
    hash     BYTEA PRIMARY KEY CHECK (length(hash) = 32),
    co       TEXT NOT NULL,
    person   TEXT NOT NULL,
    made_ms  BIGINT NOT NULL,
    until_ms BIGINT NOT NULL,
    used_ms  BIGINT,
    device   TEXT, -- that used it
    FOREIGN KEY (co, person) REFERENCES account_user (co, person)
);

-- One row for each refresh token ever given out in a family that still lives: a token that comes back after it was used must be known.
CREATE TABLE account_refresh (
    co       TEXT NOT NULL,
    hash     BYTEA NOT NULL CHECK (length(hash) = 32),
    family   TEXT NOT NULL,
    device   TEXT NOT NULL,
    person   TEXT NOT NULL,
    made_ms  BIGINT NOT NULL,
    until_ms BIGINT NOT NULL, -- ends unused
    last_ms  BIGINT NOT NULL, -- ends whatever happens, the same for the whole family
    used_ms  BIGINT,
    ended_ms BIGINT,
    PRIMARY KEY (co, hash),
    FOREIGN KEY (co, device) REFERENCES account_device (co, device),
    FOREIGN KEY (co, person) REFERENCES account_user (co, person)
);
CREATE INDEX account_refresh_family ON account_refresh (co, family);
CREATE INDEX account_refresh_device ON account_refresh (co, device);

CREATE TABLE account_browser (
    co       TEXT NOT NULL,
    hash     BYTEA NOT NULL CHECK (length(hash) = 32),
    person   TEXT NOT NULL,
    made_ms  BIGINT NOT NULL,
    until_ms BIGINT NOT NULL, -- ends unused, moved on with use
    last_ms  BIGINT NOT NULL, -- ends whatever happens
    PRIMARY KEY (co, hash),
    FOREIGN KEY (co, person) REFERENCES account_user (co, person)
);

-- Failed attempts, by account and by address.
CREATE TABLE account_attempt (
    subject  TEXT PRIMARY KEY,
    failures BIGINT NOT NULL,
    last_ms  BIGINT NOT NULL,
    next_ms  BIGINT NOT NULL
);

-- +goose Down
DROP TABLE account_attempt;
DROP TABLE account_browser;
DROP TABLE account_refresh;
DROP TABLE account_code;
DROP TABLE account_holder;
DROP TABLE account_device;
DROP TABLE account_user;
DROP TABLE account_login;
DROP TABLE account_company;
