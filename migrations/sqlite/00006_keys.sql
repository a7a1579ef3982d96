-- +goose Up
-- The keys of what is sealed in the bodies of entries: what people said, and who they are. A row whose key is NULL is what is left
-- of one that was thrown away; it keeps the key from coming back. Backups of the record go without this table.
CREATE TABLE entry_key (
    co  TEXT  NOT NULL CHECK (length(co) = 36),
    h   BLOB NOT NULL CHECK (length(h) = 32),
    key BLOB CHECK (key IS NULL OR length(key) = 32),
    PRIMARY KEY (co, h)
) STRICT;

-- +goose Down
DROP TABLE entry_key;
