-- +goose Up
-- Why an entry is held or was not taken: the last word of the log on it.
ALTER TABLE entry ADD COLUMN says TEXT NOT NULL DEFAULT '';

-- The device that this one goes on for: it was restored from a backup, or its disk was copied.
ALTER TABLE device ADD COLUMN was TEXT NOT NULL DEFAULT '';

-- What may enter no lane: bytes of a revoked, copied or unknown device. Kept until a supervisor has looked.
CREATE TABLE aside (
    co    TEXT    NOT NULL,
    h     BYTEA    NOT NULL CHECK (length(h) = 32),
    why   TEXT    NOT NULL CHECK (why IN ('revoked', 'forked', 'bad_seal', 'unknown')),
    dev   TEXT    NOT NULL,
    job   TEXT    NOT NULL,
    seq   BIGINT NOT NULL,
    run   BIGINT NOT NULL,
    size  BIGINT NOT NULL,
    at    BIGINT NOT NULL,
    env   BYTEA    NOT NULL,
    body  BYTEA    NOT NULL,
    state TEXT    NOT NULL CHECK (state IN ('kept', 'admitted', 'refused')),
    says  TEXT    NOT NULL,
    PRIMARY KEY (co, h, why)
);
CREATE INDEX aside_dev ON aside (co, dev, run);

-- An entry leaves the record of its device only once the same bytes lie aside: when the device goes on under another id
-- and issues it again, because its place in the lane may be taken by somebody else. What has a place in the log never does.
-- +goose StatementBegin
CREATE FUNCTION entry_lies_aside() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT EXISTS (SELECT 1 FROM aside a WHERE a.co = OLD.co AND a.h = OLD.h AND a.env = OLD.env AND a.body = COALESCE(OLD.body, ''::bytea)) THEN
        RAISE EXCEPTION 'entries are never deleted';
    END IF;
    RETURN OLD;
END $$;
-- +goose StatementEnd
DROP TRIGGER entry_no_delete ON entry;
CREATE TRIGGER entry_no_delete BEFORE DELETE ON entry FOR EACH ROW EXECUTE FUNCTION entry_lies_aside();
CREATE TRIGGER aside_no_delete BEFORE DELETE ON aside FOR EACH ROW EXECUTE FUNCTION record_is_kept();
CREATE TRIGGER aside_no_truncate BEFORE TRUNCATE ON aside EXECUTE FUNCTION record_is_kept();

SELECT tacet_wall('aside');

-- +goose Down
DROP TRIGGER entry_no_delete ON entry;
CREATE TRIGGER entry_no_delete BEFORE DELETE ON entry FOR EACH ROW EXECUTE FUNCTION record_is_kept();
DROP FUNCTION entry_lies_aside;
DROP TABLE aside;
ALTER TABLE device DROP COLUMN was;
ALTER TABLE entry DROP COLUMN says;
