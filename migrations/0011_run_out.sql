-- What is not stocked any more is counted until it has run out; what a supplier asked once is not asked for ever.
ALTER TABLE item ADD COLUMN stocked INTEGER CHECK (stocked IN (0, 1)); -- NULL: it is
ALTER TABLE offer ADD COLUMN until_day TEXT; -- last business day; NULL: they still ask it
