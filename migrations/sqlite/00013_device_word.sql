-- +goose Up
-- The server's signature on a device's key, kept for it by the others: a server that went back to a backup knows by it a device that was
-- enrolled since.
ALTER TABLE device ADD COLUMN key_sig BLOB CHECK (key_sig IS NULL OR length(key_sig) = 64);

-- +goose Down
ALTER TABLE device DROP COLUMN key_sig;
