-- What an order says of both sides. The bar's own stands among the settings in the table venue.

ALTER TABLE supplier ADD COLUMN address TEXT; -- lines apart by semicolons
ALTER TABLE supplier ADD COLUMN country TEXT; -- ISO 3166-1, two letters
ALTER TABLE supplier ADD COLUMN vat_id TEXT;
ALTER TABLE supplier ADD COLUMN gln TEXT;
ALTER TABLE supplier ADD COLUMN e_address TEXT; -- scheme:value
