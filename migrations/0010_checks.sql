-- What somebody said came of an order on its way, line by line, before its delivery is taken in.
CREATE TABLE delivery_check (
    purchase_order INTEGER NOT NULL,
    line           INTEGER NOT NULL,
    came           INTEGER NOT NULL, -- containers
    charged        INTEGER, -- for one container, where that is not what it was ordered at
    place          INTEGER REFERENCES place (id) ON DELETE RESTRICT, -- that it is put in
    by             TEXT,
    at             INTEGER NOT NULL,
    PRIMARY KEY (purchase_order, line),
    FOREIGN KEY (purchase_order, line) REFERENCES purchase_order_line (purchase_order, line) ON DELETE CASCADE
) STRICT, WITHOUT ROWID;
