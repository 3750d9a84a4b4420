//! What the columns of a list mean: by what stands over them, and where nothing does, by what stands in them.

use super::{cells, words};
use crate::domain::measure::{Currency, Decimal};
use crate::domain::rows::{ListColumn, PastedLine, PastedList, Taken};
use crate::domain::till::DecimalMark;
use crate::domain::venue::{Gtin, Kind, name_key};
use crate::exchange::till::table::number::number;

/// Rows in which the heads are looked for; titles may stand above them.
const HEAD_WITHIN: usize = 8;
/// Of the cells of a column, so many in a hundred must say the same for it to be guessed.
const MOST: usize = 60;

/// What is known of the bar that the list is for.
#[derive(Clone, Debug)]
pub struct Known {
    /// Its coin.
    pub currency: Currency,
    /// Its places.
    pub places: Vec<String>,
    /// Its suppliers.
    pub suppliers: Vec<String>,
}

/// The rows of a list with what they are taken for.
pub fn list(rows: Vec<Vec<String>>, known: &Known) -> PastedList {
    let head = head(&rows);
    list_under(rows, head, known)
}

/// The same where it is known which row stands over the columns, if any does; what is above it is left out.
pub fn list_under(rows: Vec<Vec<String>>, head: Option<usize>, known: &Known) -> PastedList {
    let mut rows = rows.into_iter();
    let heads = head.and_then(|at| rows.nth(at));
    let lines: Vec<PastedLine> = rows.map(|cells| PastedLine { cells, taken: Taken::Yes }).collect();
    let wide = heads.as_ref().map_or_else(|| lines.first().map_or(0, |line| line.cells.len()), Vec::len);
    let mut list = PastedList {
        columns: vec![ListColumn::Nothing; wide],
        heads,
        lines,
        kind: Kind::Spirit,
        place: None,
        supplier: None,
    };
    for (n, head) in list.heads.clone().into_iter().flatten().enumerate() {
        if let Some((column, _)) = words::head(&head)
            && list.at(column).is_none()
        {
            list.columns[n] = column;
        }
    }
    if list.heads.is_none() {
        by_content(&mut list, known);
    }
    if list.at(ListColumn::Name).is_none()
        && let Some(n) = name(&list)
    {
        list.columns[n] = ListColumn::Name;
    }
    headings(&mut list);
    list
}

/// The row that holds the heads: most of its cells are heads, and two at least unless it has one alone.
fn head(rows: &[Vec<String>]) -> Option<usize> {
    let known = |row: &Vec<String>| row.iter().filter(|cell| words::head(cell).is_some()).count();
    let filled = |row: &Vec<String>| row.iter().filter(|cell| !cell.is_empty()).count();
    let is_head =
        |row: &Vec<String>| known(row) * 2 >= filled(row) && (known(row) >= 2 || (filled(row) == 1 && row.len() == 1));
    rows.iter().take(HEAD_WITHIN).position(is_head)
}

/// The cells of a column that say anything.
fn column(list: &PastedList, n: usize) -> Vec<&str> {
    list.lines.iter().filter_map(|line| line.cells.get(n)).map(String::as_str).filter(|cell| !cell.is_empty()).collect()
}

fn mostly(cells: &[&str], is: impl Fn(&str) -> bool) -> bool {
    !cells.is_empty() && cells.iter().filter(|cell| is(cell)).count() * 100 >= cells.len() * MOST
}

/// Columns that nothing stands over, by what stands in them; the surest first.
fn by_content(list: &mut PastedList, known: &Known) {
    let figure = |cell: &str| match number(cell, DecimalMark::Unknown, known.currency) {
        Ok(Some((figure, dress))) => Some((figure, dress.percent, dress.coin)),
        _ => None,
    };
    let among = |names: &[String], cell: &str| names.iter().any(|name| name_key(name) == name_key(cell));
    let long = |cell: &str| cell.chars().filter(char::is_ascii_digit).count() >= 8;
    let between = |figure: Decimal, low: i64, high: i64| {
        figure.exact(1).is_some_and(|tenths| (low * 10..=high * 10).contains(&tenths))
    };
    type Is<'a> = Box<dyn Fn(&str) -> bool + 'a>;
    let tests: [(ListColumn, Is<'_>); 8] = [
        (ListColumn::BarCode, Box::new(move |cell| long(cell) && Gtin::parse(cell).is_ok())),
        (ListColumn::Kind, Box::new(|cell| words::kind(cell).is_some())),
        (ListColumn::Supplier, Box::new(|cell| among(&known.suppliers, cell))),
        (
            ListColumn::Place,
            Box::new(|cell| cell.split([',', ';', '/']).all(|place| among(&known.places, place.trim()))),
        ),
        (ListColumn::Size, Box::new(cells::is_size)),
        (ListColumn::Strength, Box::new(|cell| figure(cell).is_some_and(|(_, percent, _)| percent))),
        (
            ListColumn::OnePrice,
            Box::new(|cell| {
                let decimals = cell.rsplit(['.', ',']).next().map_or(0, str::len);
                figure(cell).is_some_and(|(_, _, coin)| coin || (cell.contains(['.', ',']) && decimals == 2))
            }),
        ),
        (ListColumn::Strength, Box::new(|cell| figure(cell).is_some_and(|(figure, ..)| between(figure, 15, 80)))),
    ];
    for (meant, is) in tests {
        if list.at(meant).is_some() {
            continue;
        }
        let free = |n: &usize| list.columns[*n] == ListColumn::Nothing;
        if let Some(n) = (0..list.columns.len()).filter(free).find(|n| mostly(&column(list, *n), &is)) {
            list.columns[n] = meant;
        }
    }
}

/// The column of names: of those that are free and no figures, the one with the most different texts.
fn name(list: &PastedList) -> Option<usize> {
    let text = |cell: &&str| cell.chars().any(char::is_alphabetic);
    let different = |n: usize| {
        let mut texts: Vec<String> =
            column(list, n).iter().filter(|cell| text(cell)).map(|cell| name_key(cell)).collect();
        texts.sort();
        texts.dedup();
        texts.len()
    };
    let free = |n: &usize| list.columns[*n] == ListColumn::Nothing;
    (0..list.columns.len())
        .filter(free)
        .map(|n| (different(n), n))
        .filter(|(texts, _)| *texts > 0)
        // Of equals the first.
        .max_by_key(|(texts, n)| (*texts, std::cmp::Reverse(*n)))
        .map(|(_, n)| n)
}

/// Lines on which nothing but the name of a sort stands, above those of it.
fn headings(list: &mut PastedList) {
    if list.columns.iter().filter(|column| **column != ListColumn::Nothing).count() < 2 {
        return;
    }
    let spoken = list.at(ListColumn::Kind).is_some();
    for line in &mut list.lines {
        let mut filled = line.cells.iter().filter(|cell| !cell.is_empty());
        if let (Some(only), None) = (filled.next(), filled.next()) {
            let kind = words::kind(only);
            let loud = only.chars().any(char::is_alphabetic) && !only.chars().any(char::is_lowercase);
            if kind.is_some() || loud {
                line.taken = Taken::Heading(kind.filter(|_| !spoken));
            }
        }
    }
}
