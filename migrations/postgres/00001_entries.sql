-- The record: entries as bytes, the log of acts, seals, and the caches that can be rebuilt from them.
-- Hashes are 32 bytes; times are milliseconds since 1970 UTC; clk is 16 hexadecimal digits.

-- +goose Up
CREATE TABLE company_seq (
    co    TEXT    NOT NULL PRIMARY KEY CHECK (length(co) = 36),
    epoch TEXT    NOT NULL,
    n     BIGINT NOT NULL CHECK (n >= 0),
    head  BYTEA    NOT NULL CHECK (length(head) = 32)
);

CREATE TABLE epoch (
    co      TEXT    NOT NULL,
    epoch   TEXT    NOT NULL,
    parent  TEXT    NOT NULL,
    first_n BIGINT NOT NULL CHECK (first_n >= 1),
    cause   TEXT    NOT NULL,
    at      BIGINT NOT NULL,
    PRIMARY KEY (co, epoch)
);

CREATE TABLE device (
    co       TEXT    NOT NULL,
    dev      TEXT    NOT NULL CHECK (length(dev) = 36),
    pubkey   BYTEA    NOT NULL CHECK (length(pubkey) = 32),
    name     TEXT    NOT NULL,
    person   TEXT    NOT NULL,
    enrolled BIGINT NOT NULL,
    revoked  BIGINT NOT NULL DEFAULT 0,
    next_run BIGINT NOT NULL DEFAULT 1 CHECK (next_run >= 1),
    clk      TEXT    NOT NULL CHECK (length(clk) = 16),
    PRIMARY KEY (co, dev)
);

CREATE TABLE entry (
    co    TEXT    NOT NULL,
    h     BYTEA    NOT NULL CHECK (length(h) = 32),
    id    TEXT    NOT NULL CHECK (length(id) = 36),
    job   TEXT    NOT NULL CHECK (length(job) = 36),
    dev   TEXT    NOT NULL CHECK (length(dev) = 36),
    seq   BIGINT NOT NULL CHECK (seq >= 1),
    run   BIGINT NOT NULL CHECK (run >= 1),
    clk   TEXT    NOT NULL CHECK (length(clk) = 16),
    kind  TEXT    NOT NULL,
    len   BIGINT NOT NULL,
    env   BYTEA    NOT NULL,
    body  BYTEA    CHECK (body IS NULL OR length(body) = len),
    pos   BIGINT NOT NULL CHECK (pos >= 1),
    at    BIGINT NOT NULL,
    n     BIGINT CHECK (n IS NULL OR n >= 1),
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
    n    BIGINT NOT NULL CHECK (n >= 1),
    act  TEXT    NOT NULL,
    h    BYTEA    NOT NULL CHECK (length(h) = 32),
    job  TEXT    NOT NULL,
    head BYTEA    NOT NULL CHECK (length(head) = 32),
    at   BIGINT NOT NULL,
    says TEXT    NOT NULL,
    PRIMARY KEY (co, n),
    FOREIGN KEY (co, h) REFERENCES entry (co, h)
);
CREATE INDEX log_job ON log (co, job, n);

CREATE TABLE seal (
    co      TEXT    NOT NULL,
    dev     TEXT    NOT NULL,
    job     TEXT    NOT NULL,
    seq     BIGINT NOT NULL CHECK (seq >= 1),
    h       BYTEA    NOT NULL CHECK (length(h) = 32),
    run     BIGINT NOT NULL CHECK (run >= 1),
    sig     BYTEA    NOT NULL CHECK (length(sig) = 64),
    epoch   TEXT    NOT NULL,
    n       BIGINT CHECK (n IS NULL OR n >= 1),
    at      BIGINT NOT NULL,
    receipt BYTEA    CHECK (receipt IS NULL OR length(receipt) = 64),
    PRIMARY KEY (co, dev, job, seq)
);
CREATE INDEX seal_n ON seal (co, n);
CREATE INDEX seal_job ON seal (co, job);

CREATE TABLE digest (
    co    TEXT    NOT NULL,
    job   TEXT    NOT NULL,
    total BIGINT NOT NULL CHECK (total >= 0),
    rev   BIGINT NOT NULL,
    count BIGINT NOT NULL CHECK (count >= 0),
    sum   BYTEA    NOT NULL CHECK (length(sum) = 32),
    n     BIGINT NOT NULL,
    PRIMARY KEY (co, job)
);
CREATE INDEX digest_n ON digest (co, n);

CREATE TABLE blob (
    co   TEXT    NOT NULL,
    job  TEXT    NOT NULL,
    h    BYTEA    NOT NULL CHECK (length(h) = 32),
    size BIGINT NOT NULL,
    here SMALLINT NOT NULL CHECK (here IN (0, 1)),
    sent SMALLINT NOT NULL CHECK (sent IN (0, 1)),
    PRIMARY KEY (co, job, h)
);
CREATE INDEX blob_open ON blob (co, here, sent);

CREATE TABLE me (
    co          TEXT    NOT NULL PRIMARY KEY,
    active      SMALLINT NOT NULL CHECK (active IN (0, 1)),
    device      TEXT    NOT NULL,
    person      TEXT    NOT NULL,
    role        TEXT    NOT NULL,
    server      TEXT    NOT NULL,
    login       TEXT    NOT NULL,
    certificate TEXT    NOT NULL,
    server_key  BYTEA,
    epoch       TEXT    NOT NULL,
    cursor_n    BIGINT NOT NULL,
    cursor_head BYTEA    NOT NULL CHECK (length(cursor_head) = 32),
    cursor_sig  BYTEA,
    off         BIGINT NOT NULL
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
    total BIGINT NOT NULL,
    rev   BIGINT NOT NULL,
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
CREATE FUNCTION record_is_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'the record is never deleted or changed'; END $$;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE FUNCTION entry_is_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (NEW.co, NEW.h, NEW.id, NEW.job, NEW.dev, NEW.seq, NEW.run, NEW.clk, NEW.kind, NEW.len, NEW.env, NEW.pos, NEW.at)
        IS DISTINCT FROM (OLD.co, OLD.h, OLD.id, OLD.job, OLD.dev, OLD.seq, OLD.run, OLD.clk, OLD.kind, OLD.len, OLD.env, OLD.pos, OLD.at)
        OR (NEW.body IS DISTINCT FROM OLD.body AND NEW.body IS NOT NULL AND OLD.body IS NOT NULL) THEN
        RAISE EXCEPTION 'entries are never changed';
    END IF;
    RETURN NEW;
END $$;
-- +goose StatementEnd
CREATE TRIGGER entry_no_delete BEFORE DELETE ON entry FOR EACH ROW EXECUTE FUNCTION record_is_kept();
CREATE TRIGGER entry_no_change BEFORE UPDATE ON entry FOR EACH ROW EXECUTE FUNCTION entry_is_kept();
CREATE TRIGGER entry_no_truncate BEFORE TRUNCATE ON entry EXECUTE FUNCTION record_is_kept();
CREATE TRIGGER log_no_change BEFORE UPDATE OR DELETE ON log FOR EACH ROW EXECUTE FUNCTION record_is_kept();
CREATE TRIGGER log_no_truncate BEFORE TRUNCATE ON log EXECUTE FUNCTION record_is_kept();

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
DROP FUNCTION entry_is_kept;
DROP FUNCTION record_is_kept;
