"""Seconds that DuckDB takes for what was sold of every item in every week, by the specs of the drinks.

    python3 benches/speed_usage.py FOLDER

FOLDER has the plain files of a bar. They are read into tables first, which does not count; the median of five runs of the
query on two threads does.
"""

import sys
import time

import duckdb

folder = sys.argv[1]
db = duckdb.connect()
db.execute("SET threads = 2")
for table in ("sales", "pos", "specs"):
    db.execute(f"CREATE TABLE {table} AS SELECT * FROM read_csv('{folder}/{table}.csv', header = true)")
QUERY = """
    SELECT date_trunc('week', CAST(s.at AS TIMESTAMP) - INTERVAL 5 HOUR) AS week, p.ingredient,
        sum(s.quantity * CAST(string_split(p.quantity, ' ')[1] AS DOUBLE)) AS ml
    FROM sales s JOIN pos n ON n.sold_as = s.sold_as JOIN specs p ON p.drink = n.drink
    GROUP BY ALL
"""
times = []
for _ in range(6):
    begun = time.perf_counter()
    rows = db.execute(QUERY).fetchall()
    times.append(time.perf_counter() - begun)
print(len(rows), "weeks and items", file=sys.stderr)
print(sorted(times[1:])[2])
