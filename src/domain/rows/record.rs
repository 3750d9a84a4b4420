//! How a supplier has delivered, in words.

use crate::domain::measure::number_of;
use crate::domain::order::Record;
use crate::domain::venue::Setup;
use crate::words;

/// What a record goes over, and how its prices are reckoned.
pub const RECORD_LIMITS: &str = text!(
    "Over half a year. Prices: from each item's first delivery to its last, a container, whatever the pack, by what was bought."
);

/// What came late, short and dearer, in sums; a single sentence where nothing is known.
pub fn record_sums(record: &Record) -> Vec<String> {
    if *record == Record::default() {
        return vec![word!("no order or delivery of half a year is known").to_owned()];
    }
    let mut out = Vec::new();
    if record.orders > 0 {
        out.push(say!(
            "{late} of {orders} late",
            late = record.late.len(),
            orders = number_of(record.orders, word!("order"), word!("orders"))
        ));
        out.push(say!(
            "{record} of {lines} short",
            record = record.short,
            lines = number_of(record.lines, word!("line"), word!("lines"))
        ));
    } else {
        out.push(word!("no order of which is known when it should have come").to_owned());
    }
    out.extend(record.drift.map(|drift| say!("prices {drift} %", drift = words::signed(drift, 1))));
    out
}

/// The orders that were late, each with its days.
pub fn late_words(record: &Record) -> Vec<String> {
    let one = |(order, days): &(String, i64)| {
        say!("“{order}” by {number_of}", order, number_of = number_of(*days, word!("day"), word!("days")))
    };
    record.late.iter().map(one).collect()
}

/// The items that became dearer, the most first.
pub fn dearer_words(setup: &Setup, record: &Record) -> Vec<String> {
    record
        .dearer
        .iter()
        .map(|(item, percent)| format!("{} {} %", setup.item_name(*item), words::signed(*percent, 1)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::order::sample::{item, parts};
    use crate::domain::venue::{ItemId, Parts};

    #[test]
    fn records_in_words() {
        let setup = Setup::new(Parts { items: vec![item(1, "Gin")], ..parts() });
        let record = Record {
            orders: 24,
            late: vec![("B-11".to_owned(), 2), ("B-12".to_owned(), 1)],
            lines: 120,
            short: 3,
            drift: Some(1.44),
            dearer: vec![(ItemId(1), 4.81)],
        };
        assert_eq!(record_sums(&record), ["2 of 24 orders late", "3 of 120 lines short", "prices +1.4 %"]);
        assert_eq!(late_words(&record), ["“B-11” by 2 days", "“B-12” by 1 day"]);
        assert_eq!(dearer_words(&setup, &record), ["Gin +4.8 %"]);
        let one = Record { orders: 1, lines: 1, drift: None, ..Record::default() };
        assert_eq!(record_sums(&one), ["0 of 1 order late", "0 of 1 line short"]);
        let only_prices = Record { drift: Some(-2.0), ..Record::default() };
        assert_eq!(record_sums(&only_prices)[1], "prices -2.0 %");
        assert_eq!(record_sums(&Record::default()).len(), 1);
    }
}
