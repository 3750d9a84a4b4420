#!/bin/sh
# How long a million lines of sales take to load, beside what the sqlite3 shell takes to `.import` them into an equally
# indexed table, in one run on one machine. The shell reads text as it stands; the program checks every cell, finds the
# till names and refuses what it has already.
#
#   benches/import.sh [lines]         needs sqlite3 (apt install sqlite3), awk, GNU time for the memory
set -eu
lines=${1:-1000000}
here=$(cd "$(dirname "$0")/.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

(cd "$here" && cargo build --quiet --release)
program=${CARGO_TARGET_DIR:-$here/target}/release/tantalus

mkdir "$work/bar" "$work/sales"
printf 'key,value\nname,Any bar\ncurrency,EUR\ntime_zone,Europe/Berlin\n' > "$work/bar/venue.csv"
# Receipts of one to five lines over five years, sixty till names.
awk -v lines="$lines" 'BEGIN {
    srand(7); OFS = ","
    print "receipt", "line", "at", "sold_as", "quantity", "net", "kind"
    at = 1609516800; step = 157680000 / lines; receipt = 100000; line = 99; size = 0
    for (n = 0; n < lines; n++) {
        at += step
        if (line >= size) { receipt++; line = 0; size = 1 + int(rand() * 5) }
        line++
        # Spring nights lose an hour that no till can print; the small hours are left out.
        hour = strftime("%H", at, 1) + 0
        shown = (hour >= 1 && hour < 4) ? at + 14400 : at
        print receipt, line, strftime("%Y-%m-%d %H:%M", shown, 1), "Drink number " int(rand() * 60), 1 + int(rand() * 2), \
            sprintf("%.2f", 4 + rand() * 12), "sale"
    }
}' > "$work/sales/sales.csv"
sed 1d "$work/sales/sales.csv" > "$work/body.csv"
cat "$work/body.csv" > /dev/null

shell() { # journal mode
    rm -f "$work/shell.db"*
    begun=$(date +%s.%N)
    sqlite3 "$work/shell.db" > /dev/null <<SQL
PRAGMA journal_mode = $1;
PRAGMA synchronous = FULL;
CREATE TABLE sale (receipt TEXT NOT NULL, line INTEGER NOT NULL, at TEXT NOT NULL, till TEXT NOT NULL,
    quantity INTEGER NOT NULL, net INTEGER NOT NULL, kind TEXT NOT NULL);
CREATE UNIQUE INDEX sale_receipt ON sale (receipt, line);
CREATE INDEX sale_at ON sale (at, till, quantity, net, kind);
.mode csv
.import $work/body.csv sale
SQL
    awk -v a="$begun" -v b="$(date +%s.%N)" 'BEGIN { printf "%.2f\n", b - a }'
}

ours() { # one load into a fresh book
    rm -f "$work/bar.tantalus"*
    "$program" --book "$work/bar.tantalus" init "$work/bar" > /dev/null
    load
}

load() { # the sales into the book; how long that took, the start of the program included
    begun=$(date +%s.%N)
    "$program" --book "$work/bar.tantalus" load "$work/sales" > "$work/log"
    awk -v a="$begun" -v b="$(date +%s.%N)" 'BEGIN { printf "%.2f\n", b - a }'
}

echo "lines: $lines, $(du -h "$work/sales/sales.csv" | cut -f1)"
for round in 1 2 3; do
    delete=$(shell DELETE); wal=$(shell WAL); own=$(ours)
    awk -v d="$delete" -v w="$wal" -v o="$own" -v r="$round" 'BEGIN {
        f = d < w ? d : w
        printf "round %d: sqlite3 %.2f s (rollback journal) %.2f s (WAL), tantalus %.2f s, ratio to the faster %.2f\n", r, d, w, o, o / f
    }'
done
echo "the same file again: $(load) s"
cat "$work/log"
if [ -x /usr/bin/time ]; then
    rm -f "$work/bar.tantalus"*
    "$program" --book "$work/bar.tantalus" init "$work/bar" > /dev/null
    /usr/bin/time -f 'most memory: %M kB' "$program" --book "$work/bar.tantalus" load "$work/sales" 2>&1 > /dev/null | tail -n 1
fi
