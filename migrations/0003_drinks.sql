-- Drinks and what is made here: what a piece yields, water in recipes, glasses, measured dilution.

ALTER TABLE item ADD COLUMN yields TEXT; -- what one piece gives, as written: '30 ml'

CREATE TABLE glass (
    name_key TEXT PRIMARY KEY,
    name     TEXT NOT NULL,
    holds    INTEGER NOT NULL CHECK (holds > 0), -- to the brim
    ice      INTEGER -- the room that ice takes
) STRICT, WITHOUT ROWID;

ALTER TABLE drink_version ADD COLUMN dilution INTEGER; -- hundredths of a percent of the volume before ice

ALTER TABLE spec_line ADD COLUMN after_ice INTEGER CHECK (after_ice IN (0, 1)); -- NULL: as the kind of the item has it

-- The column yields holds '' where the yield is computed from what goes in.
ALTER TABLE recipe ADD COLUMN water TEXT; -- from the tap, as written: '1 kg'
ALTER TABLE recipe_line ADD COLUMN note TEXT;
