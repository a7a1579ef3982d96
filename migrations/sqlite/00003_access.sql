-- +goose Up
-- More of who may what: the code with which a fresh server is set up, second factors, PINs on shared devices, and links for guests.

-- A code exists only until the first company does. Hashes of secrets, as everywhere.
CREATE TABLE account_setup (
    hash     BLOB PRIMARY KEY CHECK (length(hash) = 32),
    until_ms INTEGER NOT NULL
) STRICT;

-- Access tokens carry the number of the password that they were given for; a new password ends them at once.
ALTER TABLE account_user ADD COLUMN gen INTEGER NOT NULL DEFAULT 0;

-- The secret of an authenticator, sealed with a key that is not in the database. A step is 30 s; one that was used is not taken again.
CREATE TABLE account_factor (
    co           TEXT NOT NULL,
    person       TEXT NOT NULL,
    sealed       BLOB NOT NULL,
    made_ms      INTEGER NOT NULL,
    confirmed_ms INTEGER,
    last_step    INTEGER NOT NULL DEFAULT 0,
    PRIMARY KEY (co, person),
    FOREIGN KEY (co, person) REFERENCES account_user (co, person)
) STRICT;

-- A PIN opens one device for one person, and only a number of times wrongly.
CREATE TABLE account_pin (
    co       TEXT NOT NULL,
    device   TEXT NOT NULL,
    person   TEXT NOT NULL,
    hash     TEXT NOT NULL,
    failures INTEGER NOT NULL DEFAULT 0,
    made_ms  INTEGER NOT NULL,
    PRIMARY KEY (co, device, person),
    FOREIGN KEY (co, device, person) REFERENCES account_holder (co, device, person)
) STRICT;

-- A guest sees one job, reads only, and not for ever.
CREATE TABLE account_guest (
    co       TEXT NOT NULL,
    guest    TEXT NOT NULL,
    hash     BLOB NOT NULL CHECK (length(hash) = 32),
    job      TEXT NOT NULL,
    name     TEXT NOT NULL,
    made_by  TEXT NOT NULL,
    made_ms  INTEGER NOT NULL,
    until_ms INTEGER NOT NULL,
    ended_ms INTEGER,
    seen_ms  INTEGER,
    PRIMARY KEY (co, guest),
    UNIQUE (co, hash)
) STRICT;

-- +goose Down
DROP TABLE account_guest;
DROP TABLE account_pin;
DROP TABLE account_factor;
ALTER TABLE account_user DROP COLUMN gen;
DROP TABLE account_setup;
