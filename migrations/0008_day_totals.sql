-- What was rung of every till name on every business day, summed from the lines of receipts. It can be made anew from them
-- at any time and is never dumped; its only purpose is speed.
CREATE TABLE sale_day (
    day  INTEGER NOT NULL, -- the business day, in days since 1970-01-01
    till INTEGER NOT NULL REFERENCES till_name (id) ON DELETE RESTRICT,
    took INTEGER NOT NULL, -- thousandths that took stock
    PRIMARY KEY (day, till)
) STRICT, WITHOUT ROWID;

-- Up to which line the sums go, and by which business day they were made; -1 when they no longer hold. How often they were
-- written.
CREATE TABLE sale_day_state (
    only    INTEGER PRIMARY KEY CHECK (only = 1),
    upto    INTEGER NOT NULL,
    zone    TEXT NOT NULL,
    starts  TEXT NOT NULL,
    written INTEGER NOT NULL DEFAULT 0
) STRICT;
INSERT INTO sale_day_state (only, upto, zone, starts) VALUES (1, -1, '', '');

-- A line that changes or leaves undoes the sums; whoever knows how they change writes it down afterwards.
CREATE TRIGGER sale_day_changed AFTER UPDATE OF at, till, quantity, kind ON sale
BEGIN UPDATE sale_day_state SET upto = -1 WHERE upto <> -1; END;
CREATE TRIGGER sale_day_left AFTER DELETE ON sale
BEGIN UPDATE sale_day_state SET upto = -1 WHERE upto <> -1; END;

-- A place that was found empty of an item: few lines say so, and they are asked for by item.
CREATE INDEX count_line_empty ON count_line (item, at) WHERE sealed = 0 AND open = '' AND withdrawn = 0;
