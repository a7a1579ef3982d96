-- The record: entries as bytes, the log of acts, seals, and the caches that can be rebuilt from them.
-- Hashes are 32 bytes; times are milliseconds since 1970 UTC; clk is 16 hexadecimal digits.

-- +goose Up
CREATE TABLE company_seq (
    co    TEXT    NOT NULL PRIMARY KEY CHECK (length(co) = 36),
    epoch TEXT    NOT NULL,
    n     INTEGER NOT NULL CHECK (n >= 0),
    head  BLOB    NOT NULL CHECK (length(head) = 32)
);

CREATE TABLE epoch (
    co      TEXT    NOT NULL,
    epoch   TEXT    NOT NULL,
    parent  TEXT    NOT NULL,
    first_n INTEGER NOT NULL CHECK (first_n >= 1),
    cause   TEXT    NOT NULL,
    at      INTEGER NOT NULL,
    PRIMARY KEY (co, epoch)
);

CREATE TABLE device (
    co       TEXT    NOT NULL,
    dev      TEXT    NOT NULL CHECK (length(dev) = 36),
    pubkey   BLOB    NOT NULL CHECK (length(pubkey) = 32),
    name     TEXT    NOT NULL,
    person   TEXT    NOT NULL,
    enrolled INTEGER NOT NULL,
    revoked  INTEGER NOT NULL DEFAULT 0,
    next_run INTEGER NOT NULL DEFAULT 1 CHECK (next_run >= 1),
    clk      TEXT    NOT NULL CHECK (length(clk) = 16),
    PRIMARY KEY (co, dev)
);

CREATE TABLE entry (
    co    TEXT    NOT NULL,
    h     BLOB    NOT NULL CHECK (length(h) = 32),
    id    TEXT    NOT NULL CHECK (length(id) = 36),
    job   TEXT    NOT NULL CHECK (length(job) = 36),
    dev   TEXT    NOT NULL CHECK (length(dev) = 36),
    seq   INTEGER NOT NULL CHECK (seq >= 1),
    run   INTEGER NOT NULL CHECK (run >= 1),
    clk   TEXT    NOT NULL CHECK (length(clk) = 16),
    kind  TEXT    NOT NULL,
    len   INTEGER NOT NULL,
    env   BLOB    NOT NULL,
    body  BLOB    CHECK (body IS NULL OR length(body) = len),
    pos   INTEGER NOT NULL CHECK (pos >= 1),
    at    INTEGER NOT NULL,
    n     INTEGER CHECK (n IS NULL OR n >= 1),
    state TEXT    NOT NULL CHECK (state IN ('unsent', 'sent', 'standing', 'held', 'refused', 'to_confirm')),
    PRIMARY KEY (co, h),
    UNIQUE (co, id),
    UNIQUE (co, dev, job, seq),
    UNIQUE (co, dev, run),
    UNIQUE (co, job, pos)
);
CREATE INDEX entry_state ON entry (co, job, state);
CREATE INDEX entry_unsent ON entry (co, run) WHERE state = 'unsent';

CREATE TABLE log (
    co   TEXT    NOT NULL,
    n    INTEGER NOT NULL CHECK (n >= 1),
    act  TEXT    NOT NULL,
    h    BLOB    NOT NULL CHECK (length(h) = 32),
    job  TEXT    NOT NULL,
    head BLOB    NOT NULL CHECK (length(head) = 32),
    at   INTEGER NOT NULL,
    says TEXT    NOT NULL,
    PRIMARY KEY (co, n),
    FOREIGN KEY (co, h) REFERENCES entry (co, h)
);
CREATE INDEX log_job ON log (co, job, n);

CREATE TABLE seal (
    co      TEXT    NOT NULL,
    dev     TEXT    NOT NULL,
    job     TEXT    NOT NULL,
    seq     INTEGER NOT NULL CHECK (seq >= 1),
    h       BLOB    NOT NULL CHECK (length(h) = 32),
    run     INTEGER NOT NULL CHECK (run >= 1),
    sig     BLOB    NOT NULL CHECK (length(sig) = 64),
    epoch   TEXT    NOT NULL,
    n       INTEGER CHECK (n IS NULL OR n >= 1),
    at      INTEGER NOT NULL,
    receipt BLOB    CHECK (receipt IS NULL OR length(receipt) = 64),
    PRIMARY KEY (co, dev, job, seq)
);
CREATE INDEX seal_n ON seal (co, n);
CREATE INDEX seal_job ON seal (co, job);

CREATE TABLE digest (
    co    TEXT    NOT NULL,
    job   TEXT    NOT NULL,
    total INTEGER NOT NULL CHECK (total >= 0),
    rev   INTEGER NOT NULL,
    count INTEGER NOT NULL CHECK (count >= 0),
    sum   BLOB    NOT NULL CHECK (length(sum) = 32),
    n     INTEGER NOT NULL,
    PRIMARY KEY (co, job)
);
CREATE INDEX digest_n ON digest (co, n);

CREATE TABLE blob (
    co   TEXT    NOT NULL,
    job  TEXT    NOT NULL,
    h    BLOB    NOT NULL CHECK (length(h) = 32),
    size INTEGER NOT NULL,
    here INTEGER NOT NULL CHECK (here IN (0, 1)),
    sent INTEGER NOT NULL CHECK (sent IN (0, 1)),
    PRIMARY KEY (co, job, h)
);
CREATE INDEX blob_open ON blob (co, here, sent);

CREATE TABLE me (
    co          TEXT    NOT NULL PRIMARY KEY,
    active      INTEGER NOT NULL CHECK (active IN (0, 1)),
    device      TEXT    NOT NULL,
    person      TEXT    NOT NULL,
    role        TEXT    NOT NULL,
    server      TEXT    NOT NULL,
    login       TEXT    NOT NULL,
    certificate TEXT    NOT NULL,
    server_key  BLOB,
    epoch       TEXT    NOT NULL,
    cursor_n    INTEGER NOT NULL,
    cursor_head BLOB    NOT NULL CHECK (length(cursor_head) = 32),
    cursor_sig  BLOB,
    off         INTEGER NOT NULL
);
CREATE UNIQUE INDEX me_active ON me (active) WHERE active = 1;

CREATE TABLE person (
    co     TEXT NOT NULL,
    person TEXT NOT NULL,
    name   TEXT NOT NULL,
    role   TEXT NOT NULL,
    PRIMARY KEY (co, person)
);

CREATE TABLE view_job (
    co    TEXT    NOT NULL,
    job   TEXT    NOT NULL,
    total INTEGER NOT NULL,
    rev   INTEGER NOT NULL,
    name  TEXT    NOT NULL,
    site  TEXT    NOT NULL,
    PRIMARY KEY (co, job)
);

CREATE TABLE view_sheet (
    co      TEXT NOT NULL,
    code    TEXT NOT NULL,
    job     TEXT NOT NULL,
    surface TEXT NOT NULL,
    PRIMARY KEY (co, code)
);
CREATE INDEX view_sheet_job ON view_sheet (co, job);

-- +goose StatementBegin
CREATE TRIGGER entry_no_delete BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'entries are never deleted'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER entry_no_change BEFORE UPDATE ON entry
WHEN NEW.co IS NOT OLD.co OR NEW.h IS NOT OLD.h OR NEW.id IS NOT OLD.id OR NEW.job IS NOT OLD.job OR NEW.dev IS NOT OLD.dev
  OR NEW.seq IS NOT OLD.seq OR NEW.run IS NOT OLD.run OR NEW.clk IS NOT OLD.clk OR NEW.kind IS NOT OLD.kind
  OR NEW.len IS NOT OLD.len OR NEW.env IS NOT OLD.env OR NEW.pos IS NOT OLD.pos OR NEW.at IS NOT OLD.at
  OR (NEW.body IS NOT OLD.body AND NEW.body IS NOT NULL AND OLD.body IS NOT NULL)
BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER log_no_delete BEFORE DELETE ON log
BEGIN SELECT RAISE(ABORT, 'the log is never deleted'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER log_no_change BEFORE UPDATE ON log
BEGIN SELECT RAISE(ABORT, 'the log is never changed'); END;
-- +goose StatementEnd

-- +goose Down
DROP TABLE view_sheet;
DROP TABLE view_job;
DROP TABLE person;
DROP TABLE me;
DROP TABLE blob;
DROP TABLE digest;
DROP TABLE seal;
DROP TABLE log;
DROP TABLE entry;
DROP TABLE device;
DROP TABLE epoch;
DROP TABLE company_seq;
