-- Files from elsewhere: how the tables of tills are read, which files were taken in, what was taken back.

CREATE TABLE till_layout (
    id       INTEGER PRIMARY KEY,
    name     TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    decimal  TEXT NOT NULL,
    dates    TEXT NOT NULL,
    amounts  TEXT NOT NULL,
    tax      INTEGER -- hundredths of a percent
) STRICT;

CREATE TABLE till_layout_column (
    layout   INTEGER NOT NULL REFERENCES till_layout (id) ON DELETE CASCADE,
    position INTEGER NOT NULL,
    head     TEXT NOT NULL,
    field    TEXT NOT NULL,
    PRIMARY KEY (layout, position)
) STRICT, WITHOUT ROWID;

-- A file is known by what is in it, wherever it lies and whatever it is called.
CREATE TABLE taken_file (
    id       INTEGER PRIMARY KEY,
    digest   TEXT NOT NULL, -- SHA-256
    name     TEXT NOT NULL,
    size     INTEGER NOT NULL,
    modified INTEGER,
    what     TEXT NOT NULL,
    added    INTEGER NOT NULL,
    at       INTEGER NOT NULL,
    by       TEXT
) STRICT;
CREATE INDEX taken_file_digest ON taken_file (digest);

CREATE TABLE file_withdrawal (
    file INTEGER PRIMARY KEY REFERENCES taken_file (id) ON DELETE RESTRICT,
    at   INTEGER NOT NULL,
    by   TEXT
) STRICT;

ALTER TABLE till_name ADD COLUMN code TEXT; -- the till's number of the article

ALTER TABLE sale ADD COLUMN file INTEGER REFERENCES taken_file (id) ON DELETE RESTRICT;

-- Sales of a file that was taken back: they leave the table that is reckoned with, and stay here.
CREATE TABLE withdrawn_sale (
    id       INTEGER PRIMARY KEY,
    receipt  TEXT NOT NULL,
    line     INTEGER NOT NULL,
    at       INTEGER NOT NULL,
    till     INTEGER NOT NULL REFERENCES till_name (id) ON DELETE RESTRICT,
    quantity INTEGER NOT NULL,
    net      INTEGER NOT NULL,
    kind     INTEGER NOT NULL,
    file     INTEGER NOT NULL REFERENCES taken_file (id) ON DELETE RESTRICT
) STRICT;

DROP TRIGGER sale_no_delete;
CREATE TRIGGER sale_no_delete BEFORE DELETE ON sale
WHEN NOT EXISTS (SELECT 1 FROM withdrawn_sale w WHERE w.id = OLD.id)
BEGIN SELECT RAISE(ABORT, 'sales are append-only'); END;

CREATE TRIGGER withdrawn_sale_no_update BEFORE UPDATE ON withdrawn_sale BEGIN SELECT RAISE(ABORT, 'sales are append-only'); END;
CREATE TRIGGER withdrawn_sale_no_delete BEFORE DELETE ON withdrawn_sale BEGIN SELECT RAISE(ABORT, 'sales are append-only'); END;
CREATE TRIGGER taken_file_no_update BEFORE UPDATE ON taken_file BEGIN SELECT RAISE(ABORT, 'files taken in are kept'); END;
CREATE TRIGGER taken_file_no_delete BEFORE DELETE ON taken_file BEGIN SELECT RAISE(ABORT, 'files taken in are kept'); END;
CREATE TRIGGER file_withdrawal_no_update BEFORE UPDATE ON file_withdrawal BEGIN SELECT RAISE(ABORT, 'files taken in are kept'); END;
CREATE TRIGGER file_withdrawal_no_delete BEFORE DELETE ON file_withdrawal BEGIN SELECT RAISE(ABORT, 'files taken in are kept'); END;
