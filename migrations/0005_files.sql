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
    form     TEXT, -- of sales: what sort of lines they are
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

-- Deferred: a file is kept once all of its lines are in.
ALTER TABLE sale ADD COLUMN file INTEGER REFERENCES taken_file (id) ON DELETE RESTRICT DEFERRABLE INITIALLY DEFERRED;

-- Files that hold a line which another file brought: it stays as theirs when that one is taken back.
CREATE TABLE sale_held (
    sale INTEGER NOT NULL REFERENCES sale (id) ON DELETE CASCADE,
    file INTEGER NOT NULL REFERENCES taken_file (id) ON DELETE RESTRICT DEFERRABLE INITIALLY DEFERRED,
    kind INTEGER, -- of what is taken back: what the file takes it for; of the file that brought it too, once another holds it
    PRIMARY KEY (sale, file)
) STRICT, WITHOUT ROWID;
CREATE INDEX sale_held_file ON sale_held (file);

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
    file     INTEGER NOT NULL REFERENCES taken_file (id) ON DELETE RESTRICT,
    UNIQUE (file, receipt, line)
) STRICT;

DROP TRIGGER sale_no_delete;
CREATE TRIGGER sale_no_delete BEFORE DELETE ON sale
WHEN NOT EXISTS (
    SELECT 1 FROM withdrawn_sale w WHERE w.file = OLD.file AND w.receipt = OLD.receipt AND w.line = OLD.line
)
BEGIN SELECT RAISE(ABORT, 'sales are append-only'); END;

-- Which file brought a line may change; what the line says may not, but for one thing.
DROP TRIGGER sale_no_update;
CREATE TRIGGER sale_no_update BEFORE UPDATE OF id, receipt, line, at, till, quantity, net ON sale
BEGIN SELECT RAISE(ABORT, 'sales are append-only'); END;
-- A return (2) turns out to be a void (1) once a file has what it takes back, and is one again without that file.
CREATE TRIGGER sale_kind_no_update BEFORE UPDATE OF kind ON sale
WHEN NOT (OLD.kind IN (1, 2) AND NEW.kind IN (1, 2) AND OLD.quantity < 0)
BEGIN SELECT RAISE(ABORT, 'sales are append-only'); END;

CREATE TRIGGER withdrawn_sale_no_update BEFORE UPDATE ON withdrawn_sale BEGIN SELECT RAISE(ABORT, 'sales are append-only'); END;
CREATE TRIGGER withdrawn_sale_no_delete BEFORE DELETE ON withdrawn_sale BEGIN SELECT RAISE(ABORT, 'sales are append-only'); END;
CREATE TRIGGER taken_file_no_update BEFORE UPDATE ON taken_file BEGIN SELECT RAISE(ABORT, 'files taken in are kept'); END;
CREATE TRIGGER taken_file_no_delete BEFORE DELETE ON taken_file BEGIN SELECT RAISE(ABORT, 'files taken in are kept'); END;
CREATE TRIGGER file_withdrawal_no_update BEFORE UPDATE ON file_withdrawal BEGIN SELECT RAISE(ABORT, 'files taken in are kept'); END;
CREATE TRIGGER file_withdrawal_no_delete BEFORE DELETE ON file_withdrawal BEGIN SELECT RAISE(ABORT, 'files taken in are kept'); END;

-- What a supplier's bill says, explained once: codes of theirs, and the names and numbers that they call themselves by.
CREATE TABLE supplier_code (
    supplier   INTEGER NOT NULL REFERENCES supplier (id) ON DELETE RESTRICT,
    code       TEXT NOT NULL, -- 'code 40017', 'gtin 09520000400170', 'name keg deposit'
    unit       TEXT NOT NULL, -- as the bill has it
    means      TEXT NOT NULL CHECK (means IN ('item', 'deposit', 'not-stock')),
    item       INTEGER REFERENCES item (id) ON DELETE RESTRICT,
    containers INTEGER CHECK (containers > 0), -- so many containers
    units      INTEGER CHECK (units > 0),      -- in so many units
    PRIMARY KEY (supplier, code, unit),
    CHECK ((means = 'item') = (item IS NOT NULL AND containers IS NOT NULL AND units IS NOT NULL))
) STRICT, WITHOUT ROWID;
CREATE INDEX supplier_code_item ON supplier_code (item);

CREATE TABLE supplier_alias (
    alias    TEXT PRIMARY KEY, -- 'vat ', 'id ' or 'name ' and what follows
    supplier INTEGER NOT NULL REFERENCES supplier (id) ON DELETE CASCADE
) STRICT, WITHOUT ROWID;
CREATE INDEX supplier_alias_supplier ON supplier_alias (supplier);

-- A bill that was booked, or noted for its money alone.
CREATE TABLE bill (
    id       INTEGER PRIMARY KEY,
    supplier INTEGER NOT NULL REFERENCES supplier (id) ON DELETE RESTRICT,
    number   TEXT NOT NULL,
    key      TEXT NOT NULL, -- number and type, in the form in which they are compared
    kind     TEXT NOT NULL,
    issued   TEXT NOT NULL,
    delivery TEXT, -- the document that it answers, of a delivery that was booked before it came
    answers  INTEGER REFERENCES purchase_order (id) ON DELETE RESTRICT, -- the order that it answers
    rest     INTEGER REFERENCES purchase_order (id) ON DELETE RESTRICT, -- the order of what did not come
    goods    INTEGER NOT NULL,
    deposits INTEGER NOT NULL,
    charges  INTEGER NOT NULL, -- freight and the like, of the whole bill
    other    INTEGER NOT NULL, -- what is not stocked
    payable  INTEGER,
    file     INTEGER REFERENCES taken_file (id) ON DELETE RESTRICT,
    at       INTEGER NOT NULL,
    by       TEXT
) STRICT;
CREATE INDEX bill_key ON bill (supplier, key);

-- What a bill put into the journal: deliveries, and deliveries of before taken back for its price.
CREATE TABLE bill_entry (
    bill INTEGER NOT NULL REFERENCES bill (id) ON DELETE RESTRICT,
    seq  INTEGER NOT NULL REFERENCES journal (seq) ON DELETE RESTRICT,
    PRIMARY KEY (bill, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE bill_withdrawal (
    bill INTEGER PRIMARY KEY REFERENCES bill (id) ON DELETE RESTRICT,
    at   INTEGER NOT NULL,
    by   TEXT
) STRICT;

-- What is to be claimed from a supplier, until it is settled.
CREATE TABLE claim (
    id         INTEGER PRIMARY KEY,
    supplier   INTEGER NOT NULL REFERENCES supplier (id) ON DELETE RESTRICT,
    document   TEXT NOT NULL,
    item       INTEGER REFERENCES item (id) ON DELETE RESTRICT,
    kind       TEXT NOT NULL,
    containers INTEGER NOT NULL,
    amount     INTEGER NOT NULL,
    note       TEXT NOT NULL,
    bill       INTEGER REFERENCES bill (id) ON DELETE RESTRICT, -- that it was put down with
    at         INTEGER NOT NULL,
    by         TEXT
) STRICT;
CREATE INDEX claim_supplier ON claim (supplier);

CREATE TABLE claim_settlement (
    claim INTEGER PRIMARY KEY REFERENCES claim (id) ON DELETE RESTRICT,
    note  TEXT NOT NULL,
    bill  INTEGER REFERENCES bill (id) ON DELETE RESTRICT, -- the credit note that did
    rest  INTEGER REFERENCES claim (id) ON DELETE RESTRICT, -- the claim of what it did not cover
    at    INTEGER NOT NULL,
    by    TEXT
) STRICT;

-- One that was taken back may come again.
CREATE TRIGGER bill_once BEFORE INSERT ON bill
WHEN EXISTS (
    SELECT 1 FROM bill b WHERE b.supplier = NEW.supplier AND b.key = NEW.key
        AND NOT EXISTS (SELECT 1 FROM bill_withdrawal w WHERE w.bill = b.id)
)
BEGIN SELECT RAISE(ABORT, 'the bill is in the book already'); END;

CREATE TRIGGER bill_no_update BEFORE UPDATE ON bill BEGIN SELECT RAISE(ABORT, 'bills are kept'); END;
CREATE TRIGGER bill_no_delete BEFORE DELETE ON bill BEGIN SELECT RAISE(ABORT, 'bills are kept'); END;
CREATE TRIGGER bill_entry_no_update BEFORE UPDATE ON bill_entry BEGIN SELECT RAISE(ABORT, 'bills are kept'); END;
CREATE TRIGGER bill_entry_no_delete BEFORE DELETE ON bill_entry BEGIN SELECT RAISE(ABORT, 'bills are kept'); END;
CREATE TRIGGER bill_withdrawal_no_update BEFORE UPDATE ON bill_withdrawal BEGIN SELECT RAISE(ABORT, 'bills are kept'); END;
CREATE TRIGGER bill_withdrawal_no_delete BEFORE DELETE ON bill_withdrawal BEGIN SELECT RAISE(ABORT, 'bills are kept'); END;
CREATE TRIGGER claim_no_update BEFORE UPDATE ON claim BEGIN SELECT RAISE(ABORT, 'claims are kept'); END;
CREATE TRIGGER claim_no_delete BEFORE DELETE ON claim BEGIN SELECT RAISE(ABORT, 'claims are kept'); END;
CREATE TRIGGER claim_settlement_no_update BEFORE UPDATE ON claim_settlement BEGIN SELECT RAISE(ABORT, 'claims are kept'); END;
CREATE TRIGGER claim_settlement_no_delete BEFORE DELETE ON claim_settlement BEGIN SELECT RAISE(ABORT, 'claims are kept'); END;
