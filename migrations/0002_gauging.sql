-- How opened containers are gauged: sugar and shape of items, shapes by measure or by filling, weighings.

-- A shape's lengths in micrometres, heights from the table; all empty for one that is only known by filling.
CREATE TABLE profile (
    id              INTEGER PRIMARY KEY,
    name            TEXT NOT NULL,
    name_key        TEXT NOT NULL UNIQUE,
    section         TEXT,
    base            INTEGER,
    body_diameter   INTEGER,
    body_height     INTEGER,
    shoulder_height INTEGER,
    neck_diameter   INTEGER,
    neck_height     INTEGER,
    fill_height     INTEGER
) STRICT;

CREATE TABLE profile_filling (
    profile INTEGER NOT NULL REFERENCES profile (id) ON DELETE CASCADE,
    height  INTEGER NOT NULL,
    volume  INTEGER NOT NULL,
    PRIMARY KEY (profile, height)
) STRICT, WITHOUT ROWID;

ALTER TABLE item ADD COLUMN sugar TEXT; -- as written: '50 brix', '250 g/l'
ALTER TABLE item ADD COLUMN shape TEXT; -- one of the shapes that every book knows
ALTER TABLE item ADD COLUMN profile INTEGER REFERENCES profile (id) ON DELETE RESTRICT; -- or one of its own
CREATE INDEX item_profile ON item (profile);

-- A weighing is a fact: it only grows. One that was a mistake is taken back by a row that names it.
CREATE TABLE weighing (
    seq      INTEGER PRIMARY KEY,
    at       INTEGER NOT NULL,
    item     INTEGER REFERENCES item (id) ON DELETE RESTRICT,
    state    TEXT, -- sealed, empty, opened
    weight   TEXT, -- as the scale showed it: '812g', '21.5kg'
    seen     TEXT, -- what the eye had read of an opened one
    mark     TEXT,
    place    INTEGER REFERENCES place (id) ON DELETE RESTRICT,
    by       TEXT,
    entered  INTEGER NOT NULL,
    reverses INTEGER UNIQUE REFERENCES weighing (seq) ON DELETE RESTRICT,
    CHECK (reverses IS NOT NULL OR (item IS NOT NULL AND state IS NOT NULL AND weight IS NOT NULL))
) STRICT;
CREATE INDEX weighing_item ON weighing (item);

CREATE TRIGGER weighing_no_update BEFORE UPDATE ON weighing BEGIN SELECT RAISE(ABORT, 'weighings are append-only'); END;
CREATE TRIGGER weighing_no_delete BEFORE DELETE ON weighing BEGIN SELECT RAISE(ABORT, 'weighings are append-only'); END;
