//! `tantalus sales`: files of the till into the book, and what its names mean.

use super::figures::Figures;
use super::json::{self, FORM, MoneyForm};
use super::page::Page;
use super::table::{Set, Table};
use super::{Refusal, Shared, find};
use crate::clock;
use crate::desk::DeskError;
use crate::desk::book::Store;
use crate::desk::till::{self, Ask};
use crate::domain::measure::{Decimal, decimal, number_of};
use crate::domain::rows::{FileSum, SalesLook, TakenIn, TillView};
use crate::domain::till::{Amounts, DateOrder, DecimalMark, Field, Layout, Skip};
use crate::domain::venue::{TillId, TillMeaning, name_key, parse_day};
use chrono::NaiveDate;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use serde::Serialize;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

/// Take a file of the till in, or say what its names mean; without a file, list the names that mean nothing yet
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// A report as a table, or an export as the law asks for it: a file, a zip or a folder
    file: Option<PathBuf>,
    /// Only show what would be taken in
    #[arg(long, requires = "file")]
    look: bool,
    /// Take a table in as it was understood, and keep its layout under this name: tables with the same head are then
    /// read without asking
    #[arg(long, value_name = "NAME", requires = "file", conflicts_with = "look")]
    keep_as: Option<String>,
    /// Say what a column of the table is, by its number or its head: `3=gross` (date, business day, time, date and time,
    /// receipt, line, register, name, article number, quantity, net, gross, tax, tax rate, kind or ignore)
    #[arg(long, value_name = "COLUMN=IS", requires = "file")]
    column: Vec<String>,
    /// The mark before decimals: point or comma; unknown leaves it to the first figure that tells it
    #[arg(long, value_name = "MARK", requires = "file", value_parser = DecimalMark::parse)]
    decimal: Option<DecimalMark>,
    /// The order of dates: year-month-day, day-month-year or month-day-year
    #[arg(long, value_name = "ORDER", requires = "file", value_parser = DateOrder::parse)]
    dates: Option<DateOrder>,
    /// What a row is: lines (of receipts) or "day totals"
    #[arg(long, value_name = "WHAT", requires = "file", value_parser = Amounts::parse)]
    rows: Option<Amounts>,
    /// The tax within gross figures, in percent, where no column says it
    #[arg(long, value_name = "PERCENT", requires = "file")]
    tax: Option<String>,
    /// The business day of a table in which no column says it
    #[arg(long, value_name = "DAY", requires = "file")]
    day: Option<String>,
    /// Take it in although something about it is doubtful
    #[arg(long, requires = "file", conflicts_with = "look")]
    all_the_same: bool,
    /// Say what a name of the till means: `GIN DBL=2*Gin` is two of the drink Gin, `Bag=` takes nothing of the stock
    #[arg(long, value_name = "NAME=DRINK", conflicts_with = "file")]
    means: Vec<String>,
    /// List the names that are known as well
    #[arg(long, conflicts_with = "file")]
    all: bool,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// What a file brought, or would bring, as JSON.
#[derive(Debug, Serialize)]
struct FileForm {
    form: u32,
    file: String,
    what: String,
    taken_in: bool,
    added: u64,
    already: u64,
    corrected: u64,
    doubts: Vec<String>,
    lines: u64,
    quantity_milli: i64,
    net: MoneyForm,
    first_day: Option<String>,
    last_day: Option<String>,
    skipped: Vec<SkippedForm>,
    warnings: Vec<String>,
    new_till_names: Vec<String>,
    unmapped_lines: u64,
    unmapped_net: MoneyForm,
    layout: Option<LayoutForm>,
    questions: Vec<String>,
    refused: Option<String>,
}

/// Rows passed over, as JSON.
#[derive(Debug, Serialize)]
struct SkippedForm {
    why: Skip,
    rows: u64,
}

/// How a table is read, as JSON.
#[derive(Debug, Serialize)]
struct LayoutForm {
    name: String,
    known: bool,
    decimal: &'static str,
    dates: &'static str,
    rows: &'static str,
    tax_percent: Option<String>,
    day: Option<String>,
    columns: Vec<ColumnForm>,
}

/// A column of a table, as JSON.
#[derive(Debug, Serialize)]
struct ColumnForm {
    head: String,
    is: &'static str,
}

/// The names of the till, as JSON.
#[derive(Debug, Serialize)]
struct NamesForm {
    form: u32,
    since: String,
    waiting: usize,
    names: Vec<NameForm>,
}

/// A name of the till, as JSON.
#[derive(Debug, Serialize)]
struct NameForm {
    name: String,
    article_number: Option<String>,
    known: bool,
    drink: Option<String>,
    portion_milli: Option<i64>,
    lines: i64,
    quantity_milli: i64,
    net: MoneyForm,
    last: Option<String>,
    likely: Vec<LikelyForm>,
}

/// What a name may mean, as JSON.
#[derive(Debug, Serialize)]
struct LikelyForm {
    drink: Option<String>,
    portion_milli: Option<i64>,
    score: f64,
    why: String,
}

pub(super) fn run(shared: &Shared, args: &Args) -> Result<String, Refusal> {
    let store = shared.open_costs()?;
    match &args.file {
        Some(file) => take(&store, shared, args, file),
        None => names(&store, args),
    }
}

fn take(store: &Store, shared: &Shared, args: &Args, file: &Path) -> Result<String, Refusal> {
    let now = clock::started();
    let day = args.day.as_deref().map(parse_day).transpose().map_err(|e| Refusal::new(format!("--day: {e}")))?;
    let bar = Bar::new();
    let first = till::look(store, Ask { day, ..Ask::of(file) }, now, &mut |done, of| bar.tell(done, of));
    bar.end();
    let mut look = first?;
    let corrected = corrected(&look, args)?;
    if corrected.is_some() {
        let layout = corrected.as_ref().or(look.table.as_ref().map(|table| &table.layout));
        let ask = Ask { layout, day: day.or(look.table.as_ref().and_then(|t| t.day)), ..Ask::of(file) };
        look = till::look(store, ask, now, &mut |done, of| bar.tell(done, of))?;
        bar.end();
    }
    let said = corrected.is_some() || args.keep_as.is_some();
    let settled = look.table.as_ref().is_none_or(|table| table.known || said);
    if args.look || !settled {
        if !args.look && !args.json {
            return Err(unsettled(store, &look));
        }
        return if args.json { json::text(&looked(store, &look)?) } else { shown(store, &look) };
    }
    let layout = look.table.as_ref().map(|table| table.layout.clone());
    let ask = Ask {
        layout: layout.as_ref(),
        day: day.or(look.table.as_ref().and_then(|t| t.day)),
        digest: Some(&look.print.digest),
        all_the_same: args.all_the_same,
        ..Ask::of(file)
    };
    let by = shared.signer();
    let taken = till::take(store, ask, by.as_deref(), now, &mut |done, of| bar.tell(done, of));
    bar.end();
    let taken = taken.map_err(|why| match why {
        DeskError::Doubtful(doubts) => {
            Refusal::new(format!("something about {} is doubtful, and nothing was taken in", look.print.name))
                .details(doubts)
                .hint("--all-the-same takes it in")
        }
        other => other.into(),
    })?;
    if args.json {
        let mut form = looked(store, &look)?;
        form.taken_in = true;
        return json::text(&form);
    }
    told(store, &taken)
}

/// The layout as the options correct it; nothing where none of them did.
fn corrected(look: &SalesLook, args: &Args) -> Result<Option<Layout>, Refusal> {
    let says = args.keep_as.is_some()
        || !args.column.is_empty()
        || args.decimal.is_some()
        || args.dates.is_some()
        || args.rows.is_some()
        || args.tax.is_some();
    let Some(table) = &look.table else {
        return if says {
            Err(Refusal::new(format!("{} is no table: how it is read is not for anybody to say", look.print.name)))
        } else {
            Ok(None)
        };
    };
    if !says {
        return Ok(None);
    }
    let mut layout = table.layout.clone();
    for said in &args.column {
        let (which, is) =
            said.rsplit_once('=').ok_or_else(|| Refusal::new(format!("--column {said}: expected such as 3=gross")))?;
        let field = Field::parse(is).map_err(|e| Refusal::new(format!("--column {said}: {e}")))?;
        let key = name_key(which);
        let number = which.trim().parse::<usize>().ok().and_then(|n| n.checked_sub(1));
        let by_head = layout.columns.iter().position(|column| name_key(&column.head) == key);
        let at = by_head.or(number.filter(|n| *n < layout.columns.len()));
        let at = at.ok_or_else(|| {
            let heads: Vec<&str> = layout.columns.iter().map(|column| column.head.as_str()).collect();
            Refusal::new(format!("--column {said}: the table has no such column")).hint(heads.join(", "))
        })?;
        layout.columns[at].field = field;
    }
    if let Some(name) = &args.keep_as {
        layout.name = name.trim().to_owned();
    }
    layout.decimal = args.decimal.unwrap_or(layout.decimal);
    layout.dates = args.dates.unwrap_or(layout.dates);
    layout.amounts = args.rows.unwrap_or(layout.amounts);
    if let Some(tax) = &args.tax {
        let read = Decimal::parse(tax.trim().trim_end_matches('%').trim()).ok().and_then(|d| d.exact(2));
        let read = read.filter(|tax| (0..=10_000).contains(tax));
        layout.tax = Some(read.ok_or_else(|| Refusal::new("--tax: expected percent such as 20 or 8.5"))?);
    }
    Ok(Some(layout))
}

/// Why a table that was never read before is not taken in unasked.
fn unsettled(store: &Store, look: &SalesLook) -> Refusal {
    let details = shown(store, look).map(|text| text.lines().map(str::to_owned).collect()).unwrap_or_default();
    Refusal::new(format!("a table with the head of {} was not read before, so nothing was taken in", look.print.name))
        .details(details)
        .hint("if this is right, --keep-as NAME takes it in and reads such tables so from then on; --column, --decimal, --dates, --rows, --tax and --day correct it")
}

/// What a file would bring, for people.
fn shown(store: &Store, look: &SalesLook) -> Result<String, Refusal> {
    let setup = crate::desk::comparing::setup(store)?;
    let figures = Figures { setup: &setup };
    let mut page = Page::new();
    page.line(format!("{}: {}", look.print.name, look.what));
    if let Some(taken) = &look.taken {
        page.line(format!("The same was taken in on {}.", figures.time(taken.at)));
    }
    if let Some(table) = &look.table {
        page.gap();
        let mut columns =
            Table::new([("column", Set::Figure), ("head", Set::Name), ("is", Set::Words), ("first cells", Set::Spare)]);
        for (n, column) in table.layout.columns.iter().enumerate() {
            let cells = table.samples.get(n).map_or(String::new(), |s| s.cells.join(" | "));
            columns.row([(n + 1).to_string(), column.head.clone(), column.field.word().to_owned(), cells]);
        }
        page.table(&columns);
        let layout = &table.layout;
        let tax = layout.tax.map_or(String::new(), |tax| format!(", tax in the gross {} %", decimal::plain(tax, 2)));
        let day = table.day.map_or(String::new(), |day| format!(", business day {day}"));
        page.line(format!(
            "Decimal mark {}, dates {}, each row {}{tax}{day}.",
            layout.decimal.word(),
            layout.dates.word(),
            layout.amounts.word()
        ));
        for question in &table.questions {
            page.line(format!("? {}", question.asks));
        }
        page.gap();
        let mut rows = Table::new([
            ("when", Set::Name),
            ("sold as", Set::Name),
            ("quantity", Set::Figure),
            ("net", Set::Figure),
            ("", Set::Words),
        ]);
        for row in table.rows.iter().take(10) {
            rows.row([
                row.when.clone(),
                row.sold_as.clone(),
                decimal::plain(row.quantity, 3),
                figures.money(row.net),
                row.kind.clone(),
            ]);
        }
        page.table(&rows);
    }
    page.gap();
    match &look.sum {
        Ok(sum) => {
            sum_lines(&mut page, sum, figures);
            page.line(beside_the_book(sum));
            for doubt in &look.doubts {
                page.line(format!("? {doubt}"));
            }
        }
        Err(why) => {
            page.line("As it stands it cannot be taken in:");
            why.lines().for_each(|line| page.line(line));
        }
    }
    Ok(page.finish())
}

fn sum_lines(page: &mut Page, sum: &FileSum, figures: Figures) {
    let days = match sum.days {
        Some((first, last)) if first == last => format!(", business day {first}"),
        Some((first, last)) => format!(", business days {first} to {last}"),
        None => String::new(),
    };
    page.line(format!(
        "{}, {} sold, {} net{days}.",
        number_of(sum.lines, "line", "lines"),
        decimal::plain(sum.quantity, 3),
        figures.coin(sum.net)
    ));
    if !sum.skipped.is_empty() {
        let each: Vec<String> = sum.skipped.iter().map(|(why, rows)| why.counted(*rows)).collect();
        page.line(format!("Passed over: {}.", each.join(", ")));
    }
    for warning in &sum.warnings {
        page.line(format!("! {warning}"));
    }
    if sum.unmapped > 0 {
        page.line(format!(
            "{}, {} net, under names that mean nothing yet.",
            number_of(sum.unmapped, "line", "lines"),
            figures.coin(sum.unmapped_net)
        ));
    }
    if !sum.new_names.is_empty() {
        page.line(format!("New names of the till: {}.", sum.new_names.join(", ")));
    }
}

/// How much of a file is new to the book.
fn beside_the_book(sum: &FileSum) -> String {
    let mut said = vec![number_of(sum.added, "line new", "lines new"), format!("{} there already", sum.already)];
    if sum.corrected > 0 {
        let figures = number_of(sum.corrected, "day's figure", "days' figures");
        said.push(format!("{figures} brought up to date"));
    }
    format!("{}.", said.join(", "))
}

/// What a file brought, for people.
fn told(store: &Store, taken: &TakenIn) -> Result<String, Refusal> {
    let setup = crate::desk::comparing::setup(store)?;
    let figures = Figures { setup: &setup };
    let mut page = Page::new();
    page.line(format!("{}: {}", taken.name, taken.what));
    page.line(format!("Taken in: {}", beside_the_book(&taken.sum)));
    sum_lines(&mut page, &taken.sum, figures);
    if taken.sum.unmapped > 0 {
        page.line("`tantalus sales` lists them; `--means` or the screen Till (I) says what they are.");
    }
    Ok(page.finish())
}

fn looked(store: &Store, look: &SalesLook) -> Result<FileForm, Refusal> {
    let currency = crate::desk::comparing::setup(store)?.venue.currency;
    let (sum, refused) = match &look.sum {
        Ok(sum) => (sum.clone(), None),
        Err(why) => (FileSum::default(), Some(why.clone())),
    };
    let layout = look.table.as_ref().map(|table| LayoutForm {
        name: table.layout.name.clone(),
        known: table.known,
        decimal: table.layout.decimal.word(),
        dates: table.layout.dates.word(),
        rows: table.layout.amounts.word(),
        tax_percent: table.layout.tax.map(|tax| decimal::plain(tax, 2)),
        day: table.day.map(|day| day.to_string()),
        columns: table
            .layout
            .columns
            .iter()
            .map(|column| ColumnForm { head: column.head.clone(), is: column.field.word() })
            .collect(),
    });
    let day = |day: Option<NaiveDate>| day.map(|day| day.to_string());
    Ok(FileForm {
        form: FORM,
        file: look.print.name.clone(),
        what: look.what.clone(),
        taken_in: false,
        added: sum.added,
        already: sum.already,
        corrected: sum.corrected,
        doubts: look.doubts.clone(),
        lines: sum.lines,
        quantity_milli: sum.quantity,
        net: json::money(sum.net, currency),
        first_day: day(sum.days.map(|(first, _)| first)),
        last_day: day(sum.days.map(|(_, last)| last)),
        skipped: sum.skipped.iter().map(|(why, rows)| SkippedForm { why: *why, rows: *rows }).collect(),
        warnings: sum.warnings,
        new_till_names: sum.new_names,
        unmapped_lines: sum.unmapped,
        unmapped_net: json::money(sum.unmapped_net, currency),
        layout,
        questions: look.table.iter().flat_map(|table| &table.questions).map(|question| question.asks.clone()).collect(),
        refused,
    })
}

fn names(store: &Store, args: &Args) -> Result<String, Refusal> {
    let now = clock::started();
    let mut view = till::view(store, now)?;
    if !args.means.is_empty() {
        // All of them are understood before any of them is kept.
        let said: Vec<(TillId, TillMeaning)> =
            args.means.iter().map(|said| meaning(&view, said)).collect::<Result<_, _>>()?;
        for (name, means) in said {
            till::map(store, name, means, clock::started())?;
        }
        view = till::view(store, now)?;
    }
    let rows = if args.all { view.rows.len() } else { view.waiting() };
    if args.json { json::text(&names_form(&view, rows)) } else { Ok(names_page(&view, rows)) }
}

/// `GIN DBL=2*Gin`.
fn meaning(view: &TillView, said: &str) -> Result<(TillId, TillMeaning), Refusal> {
    let wrong = || Refusal::new(format!("--means {said}: expected such as `GIN DBL=2*Gin`, or `Bag=` for no stock"));
    // A drink's name may hold the sign, a till's name hardly.
    let (name, drink) = said.split_once('=').ok_or_else(wrong)?;
    let till = find::one("name of the till", &view.setup.till, |t| &t.name, name.trim())?.id;
    let drink = drink.trim();
    if drink.is_empty() {
        return Ok((till, TillMeaning::Ignored));
    }
    let (portion, drink) = match drink.split_once('*') {
        Some((portion, drink)) => {
            let read = Decimal::parse(portion.trim()).ok().and_then(|d| d.exact(3));
            (read.filter(|p| (1..=100_000).contains(p)).ok_or_else(wrong)?, drink.trim())
        }
        None => (1_000, drink),
    };
    let drink = find::one("drink", &view.setup.drinks, |d| &d.name, drink)?.id;
    Ok((till, TillMeaning::Drink { drink, portion }))
}

fn drink_and_portion(view: &TillView, means: TillMeaning) -> (Option<String>, Option<i64>) {
    match means {
        TillMeaning::Drink { drink, portion } => {
            (view.setup.drink(drink).map(|drink| drink.name.clone()), Some(portion))
        }
        TillMeaning::Unknown | TillMeaning::Ignored => (None, None),
    }
}

fn names_form(view: &TillView, rows: usize) -> NamesForm {
    let venue = &view.setup.venue;
    let name = |row: &crate::domain::rows::TillRow| {
        let name = view.setup.till_name(row.till);
        let (drink, portion_milli) = drink_and_portion(view, view.means(row.till));
        NameForm {
            name: name.map(|n| n.name.clone()).unwrap_or_default(),
            article_number: name.and_then(|n| n.code.clone()),
            known: view.means(row.till) != TillMeaning::Unknown,
            drink,
            portion_milli,
            lines: row.rung.lines,
            quantity_milli: row.rung.quantity,
            net: json::money(row.rung.net, venue.currency),
            last: (row.rung.lines > 0).then(|| json::time(&venue.days, row.rung.last)),
            likely: row
                .likely
                .candidates
                .iter()
                .map(|likely| {
                    let (drink, portion_milli) = drink_and_portion(view, likely.means.into());
                    // Six decimals say all that a likeness can.
                    let score = (likely.score * 1e6).round() / 1e6;
                    LikelyForm { drink, portion_milli, score, why: likely.why.clone() }
                })
                .collect(),
        }
    };
    NamesForm {
        form: FORM,
        since: json::time(&venue.days, view.since),
        waiting: view.waiting(),
        names: view.rows.iter().take(rows).map(name).collect(),
    }
}

fn names_page(view: &TillView, rows: usize) -> String {
    let figures = Figures { setup: &view.setup };
    let mut page = Page::new();
    if rows == 0 {
        page.line("Every name of the till is known.");
        return page.finish();
    }
    let words = |means: TillMeaning| match drink_and_portion(view, means) {
        (Some(drink), Some(1_000)) => drink,
        (Some(drink), Some(portion)) => format!("{} * {drink}", decimal::plain(portion, 3)),
        _ if means == TillMeaning::Ignored => "not stock".to_owned(),
        _ => String::new(),
    };
    let mut table = Table::new([
        ("on the till", Set::Name),
        ("rung", Set::Figure),
        ("net", Set::Figure),
        ("is", Set::Name),
        ("most likely", Set::Name),
        ("because", Set::Spare),
    ]);
    for row in view.rows.iter().take(rows) {
        let likely = row.likely.candidates.first();
        table.row([
            view.setup.till_name(row.till).map_or(String::new(), |t| t.name.clone()),
            decimal::plain(row.rung.quantity, 3),
            figures.money(row.rung.net),
            words(view.means(row.till)),
            likely.map_or(String::new(), |l| words(l.means.into())),
            likely.map_or(String::new(), |l| l.why.clone()),
        ]);
    }
    page.table(&table);
    page.line(format!("Rung since {}; {} of them mean nothing yet.", figures.time(view.since), view.waiting()));
    page.finish()
}

/// How far the reading of a file is, on standard error while that is a terminal.
struct Bar(ProgressBar);

impl Bar {
    fn new() -> Bar {
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr_with_hz(10));
        let style = ProgressStyle::with_template("{wide_bar} {bytes:>10} of {total_bytes}, {eta} left");
        bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
        Bar(bar)
    }

    /// Moves it. The work is never stopped from here: Ctrl-C ends the program, and the book stays as it was.
    fn tell(&self, done: u64, of: u64) -> ControlFlow<()> {
        self.0.set_length(of);
        self.0.set_position(done);
        ControlFlow::Continue(())
    }

    fn end(&self) {
        self.0.finish_and_clear();
    }
}
