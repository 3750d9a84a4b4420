//! Looking at a table before it is read: what it seems to be, for a person to confirm.

use super::fault;
use super::guess::{self, Guessed, Known, Order, Sample};
use super::keys::{Keys, Totals};
use super::number::Says;
use super::page::{self, Page};
use super::reading::{Place, SAMPLE, locate, told_further_on};
use super::row::{Row, RowReader};
use super::source::{DELIMITERS, Source};
use crate::domain::till::{About, Amounts, DecimalMark, Field, Layout, Question, Skip};
use crate::exchange::ReadError;
use crate::exchange::till::{Passed, Rung, Terms};
use crate::words;
use chrono::NaiveDate;
use std::path::Path;

/// Rows from which a table is guessed.
const ROWS: usize = 600;
/// Rows that are shown.
const SHOWN: usize = 30;

/// How a column was guessed.
#[derive(Clone, Debug, PartialEq)]
pub struct Guess {
    /// What it says.
    pub field: Field,
    /// How sure that is, 0 to 1.
    pub sure: f64,
    /// Why, in a few words.
    pub why: String,
}

/// What became of a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Meant {
    /// A line of sales.
    Sale(Rung),
    /// Passed over.
    Passed(Skip),
    /// It does not fit: what is wrong.
    Wrong(String),
}

/// A row as it stands and as it is understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shown {
    /// Line of the file.
    pub line: u64,
    /// Its cells, made safe and cut to some sixty letters.
    pub cells: Vec<String>,
    /// What it means.
    pub means: Meant,
}

/// The first rows of a table as a layout reads them.
#[derive(Clone, Debug)]
pub struct Preview {
    /// The rows.
    pub rows: Vec<Shown>,
    /// What a person has to say before the table can be read by this layout at all.
    pub questions: Vec<Question>,
}

/// A table as it seems to be.
#[derive(Clone, Debug)]
pub struct Look {
    /// The heads, made safe; all empty where the table has none.
    pub heads: Vec<String>,
    /// Line of the file that holds them.
    pub head_line: Option<u64>,
    /// How it would be read; its name is empty.
    pub layout: Layout,
    /// How each column was guessed.
    pub guesses: Vec<Guess>,
    /// What a person has to say before it can be read rightly.
    pub questions: Vec<Question>,
    /// The business day of the whole table, where the page says one and no column does.
    pub day: Option<NaiveDate>,
    /// The encoding, by the name that the web's standard of encodings gives it.
    pub encoding: &'static str,
    /// What stands between the cells.
    pub delimiter: char,
    /// The first rows as the layout reads them.
    pub rows: Vec<Shown>,
    /// What was passed over in the sample, and what was noticed.
    pub passed: Passed,
    /// Whether the sample is the whole file.
    pub whole: bool,
}

/// The beginning of a table, cut by one delimiter.
struct Cut {
    sample: Sample,
    lines: Vec<u64>,
    whole: bool,
}

fn cut(source: &Source, delimiter: u8) -> Result<Cut, ReadError> {
    let mut rows = source.rows(delimiter, Some(SAMPLE))?;
    let (mut out, mut lines, mut ended) = (Vec::new(), Vec::new(), false);
    while out.len() < ROWS {
        if !rows.advance()? {
            ended = true;
            break;
        }
        out.push(
            rows.cells().iter().take(4 * guess::WIDEST).map(|c| c.chars().take(600).collect()).collect::<Vec<String>>(),
        );
        lines.push(rows.line());
    }
    let whole = ended && rows.read() < SAMPLE;
    if ended && !whole && out.len() > 1 {
        // The last row was cut by the end of the sample.
        out.pop();
        lines.pop();
    }
    Ok(Cut { sample: Sample { rows: out, delimiter }, lines, whole })
}

/// Looks at the beginning of a table and guesses how it is read.
///
/// # Errors
/// [`ReadError`]: what is no text, has no columns, has only a head, or is of another coin.
pub fn look(path: &Path, terms: &Terms) -> Result<Look, ReadError> {
    let source = Source::open(path)?;
    let known = Known { currency: terms.currency, days: terms.days, until: terms.until };
    let mut best: Option<(Cut, Guessed)> = None;
    let mut failed = None;
    for delimiter in DELIMITERS {
        let cut = match cut(&source, delimiter) {
            Ok(cut) => cut,
            Err(error) => {
                failed = Some(error);
                continue;
            }
        };
        let Some(guessed) = guess::guess(&cut.sample, &known) else { continue };
        if best.as_ref().is_none_or(|(_, have)| guessed.score > have.score + 1e-9) {
            best = Some((cut, guessed));
        }
    }
    let Some((cut, mut guessed)) = best else {
        let what =
            word!("no columns stand in this file; expected a table with “;”, “,”, tabs or “|” between its cells");
        return Err(failed.unwrap_or_else(|| ReadError::new(path, what)));
    };
    let above = guessed.head.map_or(&[][..], |head| &cut.sample.rows[..head]);
    let says_when =
        [Field::Date, Field::Day, Field::DateTime].iter().any(|field| guessed.layout.column(*field).is_some());
    let page = page::page(above, guessed.layout.dates, says_when && guessed.order == Order::Certain, terms.days);
    if let Some(order) = page.order.filter(|_| guessed.order != Order::Certain || !says_when) {
        guessed.layout.dates = order;
        guessed.order = Order::Certain;
    }
    if !says_when && page.two_ways {
        guessed.order = Order::Open;
    }
    let dated_inside = !says_when && days_inside(&cut.sample.rows, &guessed);
    let day = page.days.filter(|(first, last)| first == last && !says_when).map(|(day, _)| day);
    let questions = questions(&guessed, &page, says_when, dated_inside);
    let place = Place { delimiter: cut.sample.delimiter, head: guessed.head.map(|h| h as u64 + 1) };
    let complete = guessed.layout.column(Field::Name).is_some() && guessed.layout.column(Field::Quantity).is_some();
    let (rows, mut passed) = if complete {
        let shown =
            rows_by(&source, place, &guessed.layout, day.or(Some(stand_in(terms)).filter(|_| !says_when)), terms)?;
        let any = shown.rows.iter().any(|row| !matches!(row.means, Meant::Passed(_)));
        if cut.whole && !any && shown.rows.len() < SHOWN {
            return Err(ReadError::new(
                path,
                word!("the table has a head and no line of sales under it; expected at least one"),
            ));
        }
        (shown.rows, shown.passed)
    } else {
        (raw(&cut, guessed.head), Passed::default())
    };
    passed.from = page.from;
    Ok(Look {
        head_line: guessed.head.and_then(|head| cut.lines.get(head).copied()),
        heads: guessed.heads,
        layout: guessed.layout,
        guesses: guessed.picked.into_iter().map(|p| Guess { field: p.field, sure: p.sure, why: p.why }).collect(),
        questions,
        day,
        encoding: source.encoding.name(),
        delimiter: cut.sample.delimiter.into(),
        rows,
        passed,
        whole: cut.whole,
    })
}

/// The first rows of a table as a layout reads them, for a person who changes it, and what that layout leaves open.
///
/// # Errors
/// [`ReadError`]: another table, or amounts in another coin.
pub fn preview(path: &Path, layout: &Layout, day: Option<NaiveDate>, terms: &Terms) -> Result<Preview, ReadError> {
    let source = Source::open(path)?;
    let place = locate(&source, layout)?;
    let mut questions = missing(layout);
    if !questions.is_empty() {
        let cut = cut(&source, place.delimiter)?;
        return Ok(Preview { rows: raw(&cut, place.head.map(|head| head as usize - 1)), questions });
    }
    let first = rows_by(&source, place, layout, day, terms)?;
    questions.extend(first.asks.map(|asks| Question { about: About::Decimal, asks }));
    let says = |field: Field| layout.column(field).is_some();
    if let Some(n) = layout.column(Field::Gross).filter(|_| layout.tax.is_none())
        && ![Field::Net, Field::Tax, Field::TaxRate].into_iter().any(says)
    {
        questions.push(Question { about: About::Tax, asks: say!("Tax is in {n}; at what rate?", n = head(layout, n)) });
    }
    if first.no_day && day.is_none() {
        questions.push(Question { about: About::Day, asks: which_day() });
    }
    Ok(Preview { rows: first.rows, questions })
}

/// Columns that every table needs and a layout has not.
fn missing(layout: &Layout) -> Vec<Question> {
    let needed = [
        (Field::Name, word!("Which column says what was sold?")),
        (Field::Quantity, word!("Which column says how many were sold?")),
    ];
    let lacking = needed.into_iter().filter(|(field, _)| layout.column(*field).is_none());
    lacking.map(|(field, asks)| Question { about: About::Missing(field), asks: asks.to_owned() }).collect()
}

fn which_day() -> String {
    word!("Of which business day is this table? Nothing in it says so.").to_owned()
}

/// A column by its head, or by its place.
fn head(layout: &Layout, n: usize) -> String {
    match layout.columns.get(n).map(|column| column.head.as_str()) {
        Some("") | None => say!("column {n}", n = n + 1),
        Some(head) => words::quoted(fault::shown(head)),
    }
}

/// A day to show rows with while nobody has said theirs.
fn stand_in(terms: &Terms) -> NaiveDate {
    terms.days.day_of(terms.until)
}

/// The first rows as a layout reads them.
struct First {
    rows: Vec<Shown>,
    passed: Passed,
    /// A figure could be read both ways: what is to be asked.
    asks: Option<String>,
    /// A row says no day, and no column could.
    no_day: bool,
}

fn rows_by(
    source: &Source,
    place: Place,
    layout: &Layout,
    day: Option<NaiveDate>,
    terms: &Terms,
) -> Result<First, ReadError> {
    let mut rows = source.rows(place.delimiter, Some(SAMPLE))?;
    let mut reader = RowReader::new(&source.path, layout, day, terms, place.delimiter, true)?;
    let (mut keys, mut out, mut count, mut looked_ahead) = (Keys::default(), Vec::new(), 0, false);
    while out.len() < SHOWN && count < ROWS as u64 && rows.advance()? {
        count += 1;
        for _ in 0..rows.blank() {
            reader.passed.skip(Skip::Blank);
        }
        if place.head.is_some_and(|head| count <= head) {
            reader.passed.skip(Skip::Heading);
            continue;
        }
        // The last row of a sample may be cut by its end.
        if rows.read() >= SAMPLE && rows.cut() {
            break;
        }
        if reader.mark == DecimalMark::Unknown {
            match reader.says_of_mark(rows.cells()) {
                Says::Is(mark) => reader.mark = mark,
                Says::Either if !looked_ahead => {
                    looked_ahead = true;
                    reader.mark = told_further_on(source, place, &reader, Some(SAMPLE), || Ok::<_, ReadError>(()))?;
                }
                Says::Either | Says::Nothing => {}
            }
        }
        let cells = rows.cells().iter().take(guess::WIDEST).map(fault::shown).collect();
        let means = match reader.read(rows.cells(), rows.line(), rows.cut()) {
            Row::Skip(why) => Meant::Passed(why),
            Row::Wrong => Meant::Wrong(reader.faults.pop().map(|f| f.words()).unwrap_or_default()),
            Row::Sold(sold) => {
                let rung = match layout.amounts {
                    Amounts::Lines => keys.line(sold),
                    Amounts::Totals => {
                        let mut totals = Totals::default();
                        totals.add(sold).and_then(|()| totals.into_rungs().next().ok_or_else(String::new))
                    }
                };
                rung.map_or_else(Meant::Wrong, Meant::Sale)
            }
        };
        out.push(Shown { line: rows.line(), cells, means });
    }
    Ok(First { rows: out, asks: reader.asks.take(), no_day: reader.lacks_a_day, passed: reader.passed })
}

/// The rows as they stand, where too little is known to read them.
fn raw(cut: &Cut, head: Option<usize>) -> Vec<Shown> {
    let first = head.map_or(0, |head| head + 1);
    let rows = cut.sample.rows.iter().zip(&cut.lines).skip(first).take(SHOWN);
    let shown = |(cells, line): (&Vec<String>, &u64)| Shown {
        line: *line,
        cells: cells.iter().take(guess::WIDEST).map(|c| fault::shown(c)).collect(),
        means: Meant::Wrong(word!("a column for the name and one for the quantity are needed first").to_owned()),
    };
    rows.map(shown).collect()
}

/// Whether days stand alone on rows between the others, each for the rows under it.
fn days_inside(rows: &[Vec<String>], guessed: &Guessed) -> bool {
    let first = guessed.head.map_or(0, |head| head + 1);
    let alone = |row: &&Vec<String>| {
        let mut filled = row.iter().filter(|c| !c.trim().is_empty());
        let only = filled.next().filter(|_| filled.next().is_none());
        only.is_some_and(|cell| super::date::date(cell.trim().trim_end_matches(':')).is_some())
    };
    rows[first..].iter().find(|row| row.iter().any(|c| !c.trim().is_empty())).as_ref().is_some_and(alone)
}

fn questions(guessed: &Guessed, page: &Page, says_when: bool, dated_inside: bool) -> Vec<Question> {
    let mut out = Vec::new();
    let mut ask = |about: About, asks: String| out.push(Question { about, asks });
    let layout = &guessed.layout;
    let head = |n: usize| head(layout, n);
    for question in missing(layout) {
        ask(question.about, question.asks);
    }
    for (n, picked) in guessed.picked.iter().enumerate() {
        let matters =
            matches!(picked.field, Field::Name | Field::Quantity | Field::Net | Field::Gross | Field::Receipt);
        if matters && picked.sure < 0.5 {
            ask(
                About::Column(n),
                say!("Is {n} the {field}? That is not sure.", n = head(n), field = picked.field.word()),
            );
        }
    }
    for n in &guessed.odd_kinds {
        ask(
            About::Column(*n),
            say!(
                "Some words of {n} are not known; does it say what a line was, such as a void or a return?",
                n = head(*n)
            ),
        );
    }
    let mark = guessed.likelier.word();
    if guessed.mark_open {
        ask(About::Decimal, say!("Do decimals stand after a {mark} here? The numbers could be read both ways.", mark));
    }
    if guessed.thousands && layout.decimal != DecimalMark::Unknown {
        let n = layout.column(Field::Quantity).unwrap_or_default();
        ask(
            About::Decimal,
            say!("All of {n} are thousands when decimals stand after a {mark}; do they?", n = head(n), mark),
        );
    }
    match guessed.order {
        Order::Open => ask(
            About::Dates,
            say!("Are days written {dates}? They could be read both ways.", dates = layout.dates.word()),
        ),
        Order::Both => {
            ask(About::Dates, word!("Some days have the month first and some the day; which is right?").to_owned())
        }
        Order::Certain | Order::Likely => {}
    }
    let rate = layout.column(Field::Tax).is_some() || layout.column(Field::TaxRate).is_some();
    let net = layout.column(Field::Net).is_some();
    match layout.column(Field::Gross).filter(|_| !net) {
        Some(n) if guessed.amount_open && rate => ask(About::Tax, say!("Is tax in {n}?", n = head(n))),
        Some(n) if guessed.amount_open => {
            ask(About::Tax, say!("Is tax in {n}, and at what rate? 0 if there is none.", n = head(n)))
        }
        Some(n) if !rate => ask(About::Tax, say!("Tax is in {n}; at what rate?", n = head(n))),
        None if !net => {
            ask(About::Tax, word!("No column says what was taken; shall the lines be kept without amounts?").to_owned())
        }
        _ => {}
    }
    if !says_when && !dated_inside {
        match page.days {
            None => ask(About::Day, which_day()),
            Some((first, last)) if first != last => {
                ask(
                    About::Day,
                    say!(
                        "This table is of the days from {first} to {last} together; on which day shall it stand?",
                        first,
                        last
                    ),
                );
            }
            Some(_) => {}
        }
    }
    out
}
