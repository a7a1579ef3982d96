-- +goose Up
-- More of who may what: the code with which a fresh server is set up, second factors, PINs on shared devices, and links for guests.

-- A code exists only until the first company does. Hashes of secrets, as everywhere.
CREATE TABLE account_setup (
    hash     BYTEA PRIMARY KEY CHECK (length(hash) = 32),
    until_ms BIGINT NOT NULL
);

-- Access tokens carry the number of the password that they were given for; a new password ends them at once.
ALTER TABLE account_user ADD COLUMN gen BIGINT NOT NULL DEFAULT 0;

-- The secret of an authenticator, sealed with a key that is not in the database. A step is 30 s; one that was used is not taken again.
CREATE TABLE account_factor (
    co           TEXT NOT NULL,
    person       TEXT NOT NULL,
    sealed       BYTEA NOT NULL,
    made_ms      BIGINT NOT NULL,
    confirmed_ms BIGINT,
    last_step    BIGINT NOT NULL DEFAULT 0,
    PRIMARY KEY (co, person),
    FOREIGN KEY (co, person) REFERENCES account_user (co, person)
);

-- A PIN opens one device for one person, and only a number of times wrongly.
CREATE TABLE account_pin (
    co       TEXT NOT NULL,
    device   TEXT NOT NULL,
    person   TEXT NOT NULL,
    hash     TEXT NOT NULL,
    failures BIGINT NOT NULL DEFAULT 0,
    made_ms  BIGINT NOT NULL,
    PRIMARY KEY (co, device, person),
    FOREIGN KEY (co, device, person) REFERENCES account_holder (co, device, person)
);

-- A guest sees one job, reads only, and not for ever.
CREATE TABLE account_guest (
    co       TEXT NOT NULL,
    guest    TEXT NOT NULL,
    hash     BYTEA NOT NULL CHECK (length(hash) = 32),
    job      TEXT NOT NULL,
    name     TEXT NOT NULL,
    made_by  TEXT NOT NULL,
    made_ms  BIGINT NOT NULL,
    until_ms BIGINT NOT NULL,
    ended_ms BIGINT,
    seen_ms  BIGINT,
    PRIMARY KEY (co, guest),
    UNIQUE (co, hash)
);

-- The second wall between companies. A transaction says for which company it speaks (set_config('tacet.co', …, true)); rows of others are
-- then not there for it, whatever its queries say, and for one that says nothing no row is there at all. '*' is for the few that look
-- over all companies. A superuser walks through this wall: the server must not be one (server doctor looks).
-- account_login and account_code are outside it: they tell which company a stranger belongs to.
-- +goose StatementBegin
CREATE FUNCTION tacet_wall(name TEXT) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', name);
    EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', name);
    EXECUTE format('CREATE POLICY tacet_wall ON %I USING (co = current_setting(''tacet.co'', true) OR current_setting(''tacet.co'', true) = ''*'')', name);
END $$;
-- +goose StatementEnd
-- +goose StatementBegin
DO $$
DECLARE t TEXT;
BEGIN
    FOR t IN SELECT c.table_name FROM information_schema.columns c JOIN information_schema.tables b USING (table_schema, table_name)
        WHERE c.table_schema = current_schema() AND c.column_name = 'co' AND b.table_type = 'BASE TABLE'
          AND c.table_name NOT IN ('account_login', 'account_code')
    LOOP
        PERFORM tacet_wall(t);
    END LOOP;
END $$;
-- +goose StatementEnd

-- +goose Down
-- +goose StatementBegin
DO $$
DECLARE t TEXT;
BEGIN
    FOR t IN SELECT tablename FROM pg_policies WHERE schemaname = current_schema() AND policyname = 'tacet_wall'
    LOOP
        EXECUTE format('DROP POLICY tacet_wall ON %I', t);
        EXECUTE format('ALTER TABLE %I NO FORCE ROW LEVEL SECURITY', t);
        EXECUTE format('ALTER TABLE %I DISABLE ROW LEVEL SECURITY', t);
    END LOOP;
END $$;
-- +goose StatementEnd
DROP FUNCTION tacet_wall(TEXT);
DROP TABLE account_guest;
DROP TABLE account_pin;
DROP TABLE account_factor;
ALTER TABLE account_user DROP COLUMN gen;
DROP TABLE account_setup;
