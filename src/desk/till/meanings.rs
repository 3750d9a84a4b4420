//! What the names of the till mean, and what those that mean nothing yet most likely do.

use crate::desk::DeskError;
use crate::domain::measure::Money;
use crate::domain::rows::{TillRow, TillView};
use crate::domain::till::{Likely, Likeness, RungAs};
use crate::domain::venue::{Deed, Moment, TillId, TillMeaning, TillName, name_key};
use crate::store::{Store, files, layouts, sales, setup as book};
use std::collections::HashMap;
use std::sync::Arc;

/// What was rung is looked at over thirteen weeks.
const LATELY: i64 = 91 * Moment::DAY;
/// Files taken in that are shown.
const FILES: u32 = 200;

/// Every name of the till with what was rung under it lately, and what it may mean.
///
/// # Errors
/// [`DeskError`].
pub fn view(store: &Store, now: Moment) -> Result<TillView, DeskError> {
    store.read(|conn| {
        let setup = Arc::new(book::load(conn)?);
        let since = Moment(now.0.saturating_sub(LATELY));
        let mut rung: HashMap<TillId, RungAs> = sales::rung(conn, since)?.into_iter().collect();
        let net = rung.values().map(|r| r.net).sum::<Money>();
        let unknown = |name: &&TillName| name.means == TillMeaning::Unknown;
        let sold = |name: &TillName| rung.get(&name.id).filter(|rung| rung.goods > 0);
        let lately = setup.till.iter().filter(unknown).filter_map(sold).map(|r| r.net).sum();
        // What was only sold before that, of names that still mean nothing: seldom needed, and slow in a long book.
        if setup.till.iter().filter(unknown).any(|name| !rung.contains_key(&name.id)) {
            for (till, before) in sales::rung_unmapped(conn, Moment(i64::MIN))? {
                rung.entry(till).or_insert(before);
            }
        }
        let likeness = Likeness::new(&setup, setup.venue.days.day_of(now));
        let row = |name: &TillName| {
            let rung = rung.get(&name.id).copied().unwrap_or_default();
            let likely = match name.means {
                TillMeaning::Unknown => likeness.candidates(&name.name, name.code.as_deref(), rung.each()),
                _ => Likely::default(),
            };
            TillRow { till: name.id, rung, likely }
        };
        // A name of which nothing is in the book any more need not be explained, nor one that was only ever money.
        let goods = |name: &TillName| rung.get(&name.id).is_some_and(|rung| rung.goods > 0);
        let waits = |name: &&TillName| name.means != TillMeaning::Unknown || goods(name);
        let mut rows: Vec<TillRow> = setup.till.iter().filter(waits).map(row).collect();
        let known = |row: &TillRow| setup.till_name(row.till).is_some_and(|t| t.means != TillMeaning::Unknown);
        let name = |row: &TillRow| setup.till_name(row.till).map(|t| name_key(&t.name));
        rows.sort_by_cached_key(|row| (known(row), std::cmp::Reverse(row.rung.net), name(row)));
        let (files, layouts) = (files::newest(conn, FILES)?, layouts::list(conn)?);
        Ok(TillView { since, rows, net, lately, files, layouts, setup: setup.clone() })
    })
}

/// Says what a name means; all that was ever sold under it is reckoned so from now on.
///
/// # Errors
/// [`DeskError`].
pub fn map(store: &Store, till: TillId, means: TillMeaning, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::TillName, now), |conn| Ok(book::set_till(conn, till, means)?))
}
