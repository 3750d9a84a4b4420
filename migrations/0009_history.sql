-- What was done to the book: who did what when, and every change of a row with what it was before. All of it only grows.
-- Counted lines are not written down twice: an act says up to which of them it reaches.

CREATE TABLE change (
    seq    INTEGER PRIMARY KEY,
    tab    TEXT NOT NULL, -- the table
    before TEXT,          -- the row as JSON; NULL: there was none
    after  TEXT           -- NULL: there is none any more
) STRICT;

-- One row for each use case that wrote something. Each is chained to the one before by a hash over what it entered.
CREATE TABLE act (
    id      INTEGER PRIMARY KEY,
    at      INTEGER NOT NULL,
    by      TEXT,             -- who was at the screen
    deed    TEXT NOT NULL,
    undoes  INTEGER REFERENCES act (id) ON DELETE RESTRICT, -- the act that it takes back
    changes INTEGER NOT NULL, -- the last change of a row that belongs to it
    lines   INTEGER NOT NULL, -- the last counted line that belongs to it
    chain   BLOB NOT NULL     -- SHA-256, the first sixteen bytes
) STRICT;
CREATE INDEX act_undoes ON act (undoes) WHERE undoes IS NOT NULL;

CREATE TRIGGER act_no_update BEFORE UPDATE ON act BEGIN SELECT RAISE(ABORT, 'the history only grows'); END;
CREATE TRIGGER act_no_delete BEFORE DELETE ON act BEGIN SELECT RAISE(ABORT, 'the history only grows'); END;
CREATE TRIGGER change_no_update BEFORE UPDATE ON change BEGIN SELECT RAISE(ABORT, 'the history only grows'); END;
-- Until its act is written, what a row was and is may be summed up.
CREATE TRIGGER change_no_delete BEFORE DELETE ON change
WHEN OLD.seq <= (SELECT changes FROM act ORDER BY id DESC LIMIT 1)
BEGIN SELECT RAISE(ABORT, 'the history only grows'); END;

-- What was taken in of till receipts, in two figures that no line can leave or enter unnoticed: how many lines, and the sum
-- of a hash of each, be it in force or taken back. Up to which row the lines go.
CREATE TABLE sale_tally (
    only  INTEGER PRIMARY KEY CHECK (only = 1),
    lines INTEGER NOT NULL,
    sum   TEXT NOT NULL, -- 128 bits, in hexadecimal
    upto  INTEGER NOT NULL
) STRICT;

-- A count that was closed too early is opened again, and one that was begun by mistake is given up.
ALTER TABLE count_closing RENAME TO count_closing_before;
CREATE TABLE count_closing (
    seq     INTEGER PRIMARY KEY,
    count   INTEGER NOT NULL REFERENCES count (id) ON DELETE RESTRICT,
    place   INTEGER REFERENCES place (id) ON DELETE RESTRICT, -- NULL: the whole count
    at      INTEGER NOT NULL,
    reopens INTEGER UNIQUE REFERENCES count_closing (seq) ON DELETE RESTRICT -- the closing that it takes back
) STRICT;
INSERT INTO count_closing (seq, count, place, at) SELECT seq, count, place, at FROM count_closing_before;
DROP TABLE count_closing_before;
CREATE INDEX count_closing_count ON count_closing (count, place);
CREATE TRIGGER count_closing_no_update BEFORE UPDATE ON count_closing BEGIN SELECT RAISE(ABORT, 'counts are append-only'); END;
CREATE TRIGGER count_closing_no_delete BEFORE DELETE ON count_closing BEGIN SELECT RAISE(ABORT, 'counts are append-only'); END;

CREATE VIEW closing_in_force AS
    SELECT seq, count, place, at FROM count_closing c
    WHERE c.reopens IS NULL AND NOT EXISTS (SELECT 1 FROM count_closing r WHERE r.reopens = c.seq);

CREATE TABLE count_given_up (
    count INTEGER PRIMARY KEY REFERENCES count (id) ON DELETE RESTRICT
) STRICT;

-- A PIN tells who is at the screen. It is kept as an argon2 hash, and does not protect the file.
CREATE TABLE person_pin (
    initials TEXT PRIMARY KEY REFERENCES person (initials) ON DELETE CASCADE,
    hash     TEXT NOT NULL
) STRICT, WITHOUT ROWID;
