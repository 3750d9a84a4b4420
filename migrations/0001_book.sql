-- One book is one venue. Set-up tables may change; the journal, counts and sales only grow.
-- Integers only: µl, mg or thousandths of one for amounts (by the item's basis), thousandths for numbers of
-- containers, minor units for money, millionths of the major unit for unit prices, milliseconds UTC for times;
-- a business day is the text YYYY-MM-DD.

CREATE TABLE venue (
    key   TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE person (
    initials TEXT PRIMARY KEY,
    name     TEXT,
    role     TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE place (
    id       INTEGER PRIMARY KEY,
    name     TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    walk     INTEGER NOT NULL,
    entry    TEXT -- how its lines are entered (one-key or typed), once somebody chose
) STRICT;

CREATE TABLE supplier (
    id          INTEGER PRIMARY KEY,
    name        TEXT NOT NULL,
    name_key    TEXT NOT NULL UNIQUE,
    email       TEXT,
    customer_no TEXT,
    schedule    TEXT NOT NULL DEFAULT '',
    minimum     INTEGER,
    fee         INTEGER,
    free_from   INTEGER
) STRICT;

CREATE TABLE item (
    id            INTEGER PRIMARY KEY,
    name          TEXT NOT NULL,
    name_key      TEXT NOT NULL UNIQUE,
    kind          TEXT NOT NULL,
    basis         TEXT NOT NULL CHECK (basis IN ('volume', 'mass', 'each')),
    size          INTEGER NOT NULL CHECK (size > 0),
    abv           INTEGER,
    density       INTEGER,
    empty_weight  INTEGER,
    full_weight   INTEGER,
    count_by      TEXT NOT NULL,
    service_level INTEGER,
    par           INTEGER,
    shelf_max     INTEGER,
    allergens     TEXT, -- NULL unknown, '' none
    keeps_days    INTEGER
) STRICT;

CREATE TABLE item_gtin (
    gtin_key TEXT PRIMARY KEY, -- fourteen digits
    gtin     TEXT NOT NULL,
    item     INTEGER NOT NULL REFERENCES item (id) ON DELETE CASCADE,
    position INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX item_gtin_item ON item_gtin (item);

CREATE TABLE shelf (
    place    INTEGER NOT NULL REFERENCES place (id) ON DELETE RESTRICT,
    item     INTEGER NOT NULL REFERENCES item (id) ON DELETE RESTRICT,
    position INTEGER NOT NULL,
    par      INTEGER,
    PRIMARY KEY (place, item)
) STRICT, WITHOUT ROWID;
CREATE INDEX shelf_item ON shelf (item);

CREATE TABLE offer (
    supplier INTEGER NOT NULL REFERENCES supplier (id) ON DELETE RESTRICT,
    item     INTEGER NOT NULL REFERENCES item (id) ON DELETE RESTRICT,
    pack     INTEGER NOT NULL CHECK (pack > 0),
    from_day TEXT NOT NULL, -- '' since ever
    code     TEXT,
    price    INTEGER NOT NULL,
    deposit  INTEGER,
    PRIMARY KEY (supplier, item, pack, from_day)
) STRICT, WITHOUT ROWID;
CREATE INDEX offer_item ON offer (item);

CREATE TABLE drink (
    id       INTEGER PRIMARY KEY,
    name     TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE
) STRICT;

CREATE TABLE drink_version (
    drink    INTEGER NOT NULL REFERENCES drink (id) ON DELETE RESTRICT,
    from_day TEXT NOT NULL, -- '' since ever
    price    INTEGER NOT NULL,
    tax      INTEGER, -- hundredths of a percent
    method   TEXT,
    glass    TEXT,
    menu     INTEGER NOT NULL CHECK (menu IN (0, 1)),
    PRIMARY KEY (drink, from_day)
) STRICT, WITHOUT ROWID;

CREATE TABLE spec_line (
    drink    INTEGER NOT NULL REFERENCES drink (id) ON DELETE RESTRICT,
    from_day TEXT NOT NULL,
    line     INTEGER NOT NULL,
    item     INTEGER NOT NULL REFERENCES item (id) ON DELETE RESTRICT,
    quantity TEXT NOT NULL, -- as the owner wrote it: a dash may be resized later
    waste    INTEGER NOT NULL DEFAULT 0, -- hundredths of a percent
    note     TEXT,
    PRIMARY KEY (drink, from_day, line)
) STRICT, WITHOUT ROWID;
CREATE INDEX spec_line_item ON spec_line (item);

CREATE TABLE recipe (
    item     INTEGER NOT NULL REFERENCES item (id) ON DELETE RESTRICT,
    from_day TEXT NOT NULL,
    yields   TEXT NOT NULL,
    PRIMARY KEY (item, from_day)
) STRICT, WITHOUT ROWID;

CREATE TABLE recipe_line (
    item       INTEGER NOT NULL,
    from_day   TEXT NOT NULL,
    line       INTEGER NOT NULL,
    ingredient INTEGER NOT NULL REFERENCES item (id) ON DELETE RESTRICT,
    quantity   TEXT NOT NULL,
    PRIMARY KEY (item, from_day, line),
    FOREIGN KEY (item, from_day) REFERENCES recipe (item, from_day) ON DELETE CASCADE
) STRICT, WITHOUT ROWID;
CREATE INDEX recipe_line_ingredient ON recipe_line (ingredient);

-- A till name is unknown (mapped 0), not stock (mapped 1, no drink) or a drink.
CREATE TABLE till_name (
    id       INTEGER PRIMARY KEY,
    name     TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    mapped   INTEGER NOT NULL CHECK (mapped IN (0, 1)),
    drink    INTEGER REFERENCES drink (id) ON DELETE RESTRICT,
    portion  INTEGER NOT NULL DEFAULT 1000
) STRICT;
CREATE INDEX till_name_drink ON till_name (drink);

CREATE TABLE sale (
    id       INTEGER PRIMARY KEY,
    receipt  TEXT NOT NULL,
    line     INTEGER NOT NULL,
    at       INTEGER NOT NULL,
    till     INTEGER NOT NULL REFERENCES till_name (id) ON DELETE RESTRICT,
    quantity INTEGER NOT NULL, -- thousandths
    net      INTEGER NOT NULL,
    kind     INTEGER NOT NULL  -- position in the program's list of sale kinds
) STRICT;
CREATE UNIQUE INDEX sale_receipt ON sale (receipt, line);
CREATE INDEX sale_at ON sale (at, till, quantity, net, kind);

-- The journal: one row for each fact, details in the table of its kind. A mistake is taken back by a row of kind
-- 'reversal' that names it.
CREATE TABLE journal (
    seq      INTEGER PRIMARY KEY AUTOINCREMENT,
    venue    TEXT NOT NULL,
    kind     TEXT NOT NULL CHECK (kind IN ('delivery', 'loss', 'transfer', 'batch', 'reversal')),
    at       INTEGER NOT NULL,
    day      TEXT NOT NULL,
    by       TEXT,
    entered  INTEGER NOT NULL,
    reverses INTEGER UNIQUE REFERENCES journal (seq) ON DELETE RESTRICT
) STRICT;
CREATE INDEX journal_at ON journal (kind, at);

CREATE TABLE delivery (
    seq        INTEGER PRIMARY KEY REFERENCES journal (seq) ON DELETE RESTRICT,
    document   TEXT NOT NULL,
    line       INTEGER NOT NULL,
    supplier   INTEGER NOT NULL REFERENCES supplier (id) ON DELETE RESTRICT,
    item       INTEGER NOT NULL REFERENCES item (id) ON DELETE RESTRICT,
    containers INTEGER NOT NULL,
    unit_price INTEGER NOT NULL,
    place      INTEGER REFERENCES place (id) ON DELETE RESTRICT,
    deposit    INTEGER
) STRICT;
CREATE INDEX delivery_document ON delivery (supplier, document, line);
CREATE INDEX delivery_item ON delivery (item);

CREATE TABLE loss (
    seq    INTEGER PRIMARY KEY REFERENCES journal (seq) ON DELETE RESTRICT,
    item   INTEGER NOT NULL REFERENCES item (id) ON DELETE RESTRICT,
    amount INTEGER NOT NULL,
    reason TEXT NOT NULL,
    place  INTEGER REFERENCES place (id) ON DELETE RESTRICT,
    note   TEXT
) STRICT;
CREATE INDEX loss_item ON loss (item);

CREATE TABLE transfer (
    seq        INTEGER PRIMARY KEY REFERENCES journal (seq) ON DELETE RESTRICT,
    item       INTEGER NOT NULL REFERENCES item (id) ON DELETE RESTRICT,
    containers INTEGER NOT NULL, -- thousandths
    from_place INTEGER NOT NULL REFERENCES place (id) ON DELETE RESTRICT,
    to_place   INTEGER NOT NULL REFERENCES place (id) ON DELETE RESTRICT
) STRICT;
CREATE INDEX transfer_item ON transfer (item);

CREATE TABLE batch (
    seq  INTEGER PRIMARY KEY REFERENCES journal (seq) ON DELETE RESTRICT,
    item INTEGER NOT NULL REFERENCES item (id) ON DELETE RESTRICT,
    made INTEGER NOT NULL,
    note TEXT
) STRICT;
CREATE INDEX batch_item ON batch (item);

-- A count is never changed: its closing is a row of its own, and a line entered again is a new row that counts
-- instead of the older one. A line taken back is a row without an entry (withdrawn 1).
CREATE TABLE count (
    id       INTEGER PRIMARY KEY,
    name     TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    opened   INTEGER NOT NULL,
    blind    INTEGER NOT NULL CHECK (blind IN (0, 1)),
    by       TEXT
) STRICT;
CREATE INDEX count_opened ON count (opened);

CREATE TABLE count_place (
    count INTEGER NOT NULL REFERENCES count (id) ON DELETE RESTRICT,
    place INTEGER NOT NULL REFERENCES place (id) ON DELETE RESTRICT,
    PRIMARY KEY (count, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE count_closing (
    seq   INTEGER PRIMARY KEY,
    count INTEGER NOT NULL REFERENCES count (id) ON DELETE RESTRICT,
    place INTEGER REFERENCES place (id) ON DELETE RESTRICT, -- NULL: the whole count
    at    INTEGER NOT NULL,
    UNIQUE (count, place)
) STRICT;

CREATE TABLE count_line (
    seq       INTEGER PRIMARY KEY,
    count     INTEGER NOT NULL REFERENCES count (id) ON DELETE RESTRICT,
    place     INTEGER NOT NULL REFERENCES place (id) ON DELETE RESTRICT,
    item      INTEGER NOT NULL REFERENCES item (id) ON DELETE RESTRICT,
    at        INTEGER NOT NULL,
    sealed    INTEGER NOT NULL,
    open      TEXT NOT NULL, -- readings as observed: '.4 .7', '812g'
    method    TEXT NOT NULL,
    by        TEXT,
    withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1))
) STRICT;
CREATE INDEX count_line_count ON count_line (count, place, item, seq);
CREATE INDEX count_line_item ON count_line (item, place, at);

CREATE TABLE purchase_order (
    id       INTEGER PRIMARY KEY,
    name     TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    supplier INTEGER NOT NULL REFERENCES supplier (id) ON DELETE RESTRICT,
    state    TEXT NOT NULL,
    placed   INTEGER,
    expected TEXT
) STRICT;
CREATE INDEX purchase_order_state ON purchase_order (state);

CREATE TABLE purchase_order_line (
    purchase_order INTEGER NOT NULL REFERENCES purchase_order (id) ON DELETE CASCADE,
    line           INTEGER NOT NULL,
    item           INTEGER NOT NULL REFERENCES item (id) ON DELETE RESTRICT,
    packs          INTEGER NOT NULL,
    pack           INTEGER NOT NULL,
    price          INTEGER NOT NULL,
    PRIMARY KEY (purchase_order, line)
) STRICT, WITHOUT ROWID;

-- What only grows.
CREATE TRIGGER journal_no_update BEFORE UPDATE ON journal BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER journal_no_delete BEFORE DELETE ON journal BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER delivery_no_update BEFORE UPDATE ON delivery BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER delivery_no_delete BEFORE DELETE ON delivery BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER loss_no_update BEFORE UPDATE ON loss BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER loss_no_delete BEFORE DELETE ON loss BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER transfer_no_update BEFORE UPDATE ON transfer BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER transfer_no_delete BEFORE DELETE ON transfer BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER batch_no_update BEFORE UPDATE ON batch BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER batch_no_delete BEFORE DELETE ON batch BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER sale_no_update BEFORE UPDATE ON sale BEGIN SELECT RAISE(ABORT, 'sales are append-only'); END;
CREATE TRIGGER sale_no_delete BEFORE DELETE ON sale BEGIN SELECT RAISE(ABORT, 'sales are append-only'); END;
CREATE TRIGGER count_no_update BEFORE UPDATE ON count BEGIN SELECT RAISE(ABORT, 'counts are append-only'); END;
CREATE TRIGGER count_no_delete BEFORE DELETE ON count BEGIN SELECT RAISE(ABORT, 'counts are append-only'); END;
CREATE TRIGGER count_closing_no_update BEFORE UPDATE ON count_closing BEGIN SELECT RAISE(ABORT, 'counts are append-only'); END;
CREATE TRIGGER count_closing_no_delete BEFORE DELETE ON count_closing BEGIN SELECT RAISE(ABORT, 'counts are append-only'); END;
CREATE TRIGGER count_line_no_update BEFORE UPDATE ON count_line BEGIN SELECT RAISE(ABORT, 'counts are append-only'); END;
CREATE TRIGGER count_line_no_delete BEFORE DELETE ON count_line BEGIN SELECT RAISE(ABORT, 'counts are append-only'); END;
