-- +goose Up
-- News to people whose page is closed: by mail over the firm's own server, and by a call to an address that the firm names.

-- How a firm sends: its mail server and the address that is called. Passwords and keys are sealed with a key that is not in the database.
CREATE TABLE account_notice_way (
    co        TEXT NOT NULL PRIMARY KEY,
    host      TEXT NOT NULL DEFAULT '',
    port      INTEGER NOT NULL DEFAULT 0,
    tls       TEXT NOT NULL DEFAULT '',
    sender    TEXT NOT NULL DEFAULT '',
    login     TEXT NOT NULL DEFAULT '',
    password  BLOB,
    hook      TEXT NOT NULL DEFAULT '',
    hook_key  BLOB,
    kinds     TEXT NOT NULL DEFAULT '',
    names_job INTEGER NOT NULL DEFAULT 0
) STRICT;

-- What a person asked for. Nothing is sent before the address was confirmed.
CREATE TABLE account_notice_wish (
    co           TEXT NOT NULL,
    person       TEXT NOT NULL,
    mail         TEXT NOT NULL,
    kinds        TEXT NOT NULL,
    quiet_from   INTEGER NOT NULL DEFAULT 0,
    quiet_to     INTEGER NOT NULL DEFAULT 0,
    every_min    INTEGER NOT NULL,
    confirmed_ms INTEGER,
    last_ms      INTEGER NOT NULL DEFAULT 0,
    PRIMARY KEY (co, person),
    FOREIGN KEY (co, person) REFERENCES account_user (co, person)
) STRICT;

-- What somebody was told of already; written in one transaction with the notice that tells it. No person: the address that is called.
CREATE TABLE account_notice_told (
    co      TEXT NOT NULL,
    person  TEXT NOT NULL,
    thing   TEXT NOT NULL,
    made_ms INTEGER NOT NULL,
    PRIMARY KEY (co, person, thing)
) STRICT;

-- What is to be sent, and what became of it. Whoever sends holds a lease; a try that ended with the server that made it is made again.
CREATE TABLE account_notice_out (
    co       TEXT NOT NULL,
    notice   TEXT NOT NULL,
    way      TEXT NOT NULL CHECK (way IN ('mail', 'hook')),
    person   TEXT NOT NULL,
    body     TEXT NOT NULL,
    made_ms  INTEGER NOT NULL,
    next_ms  INTEGER NOT NULL,
    lease_ms INTEGER NOT NULL DEFAULT 0,
    tries    INTEGER NOT NULL DEFAULT 0,
    state    TEXT NOT NULL CHECK (state IN ('waiting', 'sent', 'given_up', 'dropped')),
    says     TEXT NOT NULL DEFAULT '',
    done_ms  INTEGER,
    PRIMARY KEY (co, notice)
) STRICT;
CREATE INDEX account_notice_out_next ON account_notice_out (co, state, next_ms);

-- +goose Down
DROP TABLE account_notice_out;
DROP TABLE account_notice_told;
DROP TABLE account_notice_wish;
DROP TABLE account_notice_way;
