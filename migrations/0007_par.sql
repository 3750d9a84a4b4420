-- What par and orders rest on: days that are not as usual, whether an item's par is set by hand, and cases that are filled with
-- several items.

ALTER TABLE item ADD COLUMN par_from TEXT; -- hand or demand; NULL: by hand where a par is set

ALTER TABLE offer ADD COLUMN mixed TEXT; -- the case that it is a part of, and how many containers fill that: Wines 6

-- Days that are not as usual, as they are written: a date such as 2026-12-24, or a day of each year such as 12-24, easter+1
-- or last Mon of May. Of the bar: how many times the usual demand, in thousandths, 0 on a closed day. Of a supplier: closed,
-- or, with a deadline of its own by the clock of the bar, a van besides those of its week.
CREATE TABLE special_day (
    id        INTEGER PRIMARY KEY,
    day       TEXT    NOT NULL,
    until     TEXT,
    what      TEXT    NOT NULL,
    what_key  TEXT    NOT NULL,
    factor    INTEGER,
    supplier  INTEGER REFERENCES supplier (id) ON DELETE CASCADE,
    order_by  TEXT,
    CHECK ((factor IS NULL) <> (supplier IS NULL)),
    CHECK (order_by IS NULL OR supplier IS NOT NULL)
) STRICT;
-- A row of the bar itself names no supplier; NULLs alone would all be apart.
CREATE UNIQUE INDEX special_day_key ON special_day (day, what_key, ifnull(supplier, 0));
CREATE INDEX special_day_supplier ON special_day (supplier);
