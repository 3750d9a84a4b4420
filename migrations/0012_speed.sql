-- The closings that hold, found by their count: nearly no row reopens another, so that the index on what is reopened finds
-- all of them, for every count anew. The plus keeps that index out of it.
DROP VIEW closing_in_force;
CREATE VIEW closing_in_force AS
    SELECT seq, count, place, at FROM count_closing c
    WHERE +c.reopens IS NULL AND NOT EXISTS (SELECT 1 FROM count_closing r WHERE r.reopens = c.seq);

-- Changes by their table: one folder of plain files is one act of hundreds of thousands of them, of which only how many of each
-- table there were and the few of some tables are asked for.
CREATE INDEX change_tab ON change (tab);
