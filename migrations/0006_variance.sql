-- The variance: how an item is measured out, and gaps whose cause somebody accepted.

ALTER TABLE item ADD COLUMN poured_by TEXT; -- jigger, free or whole; NULL: as the book says

-- What somebody took to be the cause of the gap that an item shows at a closing count: a fact, so it only grows. What was
-- a mistake is taken back by a row that names it.
CREATE TABLE explanation (
    seq      INTEGER PRIMARY KEY,
    at       INTEGER NOT NULL,
    closing  INTEGER REFERENCES "count" (id) ON DELETE RESTRICT,
    item     INTEGER REFERENCES item (id) ON DELETE RESTRICT,
    cause    TEXT,
    note     TEXT,
    by       TEXT,
    entered  INTEGER NOT NULL,
    reverses INTEGER UNIQUE REFERENCES explanation (seq) ON DELETE RESTRICT,
    CHECK (reverses IS NOT NULL OR (closing IS NOT NULL AND item IS NOT NULL AND cause IS NOT NULL))
) STRICT;
CREATE INDEX explanation_closing ON explanation (closing, item);
CREATE INDEX explanation_item ON explanation (item);

CREATE TRIGGER explanation_no_update BEFORE UPDATE ON explanation BEGIN SELECT RAISE(ABORT, 'explanations are append-only'); END;
CREATE TRIGGER explanation_no_delete BEFORE DELETE ON explanation BEGIN SELECT RAISE(ABORT, 'explanations are append-only'); END;
