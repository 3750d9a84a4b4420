//! How quick drinks are reckoned: 500 of them with what is made here three deep, on every keystroke. Once by the
//! computing alone, once as the screens do it, and once as a terminal sees it.
//!
//! `cargo bench --bench drinks` prints a table; see benches/README.md.

#[path = "../tests/support/pty.rs"]
mod pty;

use portable_pty::CommandBuilder;
use pty::Session;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::{Terminal, backend::TestBackend};
use std::fmt::Write;
use std::path::Path;
use std::time::{Duration, Instant};
use tantalus::app::{App, Options};
use tantalus::desk::{drinks, init, unwatched};
use tantalus::domain::drink::change::touched;
use tantalus::domain::drink::{AllergenList, Contents, ServeCost};
use tantalus::domain::rows::DrinksView;
use tantalus::domain::venue::Moment;

const DRINKS: usize = 500;
const BOUGHT: usize = 120;
/// House-made items of each depth.
const MADE: usize = 30;
const TIMES: usize = 400;

/// Every bought item goes into something made here, that into something else, and that into the third; every drink takes
/// one of the third, one of the first, and three bottles. Sugar, the first of the bought, is in all that is made.
fn write(folder: &Path) {
    let mut files: Vec<(&str, String)> = Vec::new();
    let venue = "key,value\nname,Many drinks\ncurrency,EUR\ntime_zone,Europe/Lisbon\nprices_include_tax,yes\n";
    files.push(("venue.csv", venue.to_owned()));
    files.push(("suppliers.csv", "supplier,schedule\nVan,\n".to_owned()));
    let (mut stock, mut offers) = (
        "item,kind,size,abv,sugar\nSugar,food,1 kg,,100 %\n".to_owned(),
        "supplier,item,pack,price\nVan,Sugar,1,1.40\n".to_owned(),
    );
    for n in 0..BOUGHT {
        writeln!(stock, "Bottle {n},spirit,700 ml,{},", 20 + n % 40).expect("a line");
        writeln!(offers, "Van,Bottle {n},6,{}.40", 60 + n).expect("a line");
    }
    let mut house = "item,yields,ingredient,quantity,water\n".to_owned();
    for depth in 1..=3 {
        for n in 0..MADE {
            writeln!(stock, "Made {depth} {n},house-made,1 l,,").expect("a line");
            let inner = if depth == 1 { "Sugar,500 g".to_owned() } else { format!("Made {} {n},700 ml", depth - 1) };
            writeln!(house, "Made {depth} {n},,{inner},300 ml").expect("a line");
            writeln!(house, "Made {depth} {n},,Bottle {},100 ml,300 ml", (n * 3 + depth) % BOUGHT).expect("a line");
        }
    }
    let (mut menu, mut specs) = ("drink,price,tax,method\n".to_owned(), "drink,ingredient,quantity,waste\n".to_owned());
    for n in 0..DRINKS {
        writeln!(menu, "Drink {n},{}.50,20,shake", 9 + n % 6).expect("a line");
        writeln!(specs, "Drink {n},Made 3 {},20 ml,2", n % MADE).expect("a line");
        writeln!(specs, "Drink {n},Made 1 {},10 ml,", (n + 7) % MADE).expect("a line");
        for k in 0..3 {
            writeln!(specs, "Drink {n},Bottle {},20 ml,", (n * 7 + k * 31) % BOUGHT).expect("a line");
        }
    }
    files.extend([("stock.csv", stock), ("offers.csv", offers), ("house.csv", house)]);
    files.extend([("drinks.csv", menu), ("specs.csv", specs)]);
    for (name, text) in files {
        std::fs::write(folder.join(name), text).expect("a file");
    }
}

fn timed(times: usize, mut run: impl FnMut()) -> Vec<Duration> {
    let once = |_| {
        let begun = Instant::now();
        run();
        begun.elapsed()
    };
    (0..times).map(once).collect()
}

/// Median and 99th percentile in milliseconds.
fn told(what: &str, mut times: Vec<Duration>) {
    times.sort();
    let at = |share: f64| times[((times.len() - 1) as f64 * share).round() as usize].as_secs_f64() * 1_000.0;
    println!("  {what:<52} median {:6.3} ms   99th percentile {:6.3} ms", at(0.5), at(0.99));
}

fn computing(view: &DrinksView) {
    let (setup, larder) = (&view.setup, &view.larder);
    println!(
        "The computing alone, {DRINKS} drinks, {} items, {} of them made here three deep",
        setup.items.len(),
        3 * MADE
    );
    let sugar = setup.items.iter().find(|item| item.name == "Sugar").expect("sugar");
    let cost = larder.costs.of(sugar.id).expect("its cost").times(11, 10);
    let mut changed = 0;
    let again = timed(TIMES, || {
        let after = larder.costs.with(setup, [(sugar.id, cost)]);
        changed = touched(setup, &larder.costs, &after, larder.day).len();
    });
    assert_eq!(changed, DRINKS, "every drink has sugar in it");
    told("cost of all again, and what of each changes", again);
    let specs: Vec<_> = setup.drinks.iter().filter_map(|drink| drink.specs.at(larder.day)).collect();
    told(
        "cost of all, nothing made anew",
        timed(TIMES, || {
            let known = specs.iter().filter(|(_, spec)| ServeCost::of(&larder.costs, spec).whole().is_some()).count();
            assert_eq!(known, DRINKS);
        }),
    );
    told(
        "strength, sugar, allergens of every item",
        timed(50, || {
            let contents = Contents::new(setup, larder.day);
            assert!(contents.of(sugar.id).is_some());
            assert!(AllergenList::new(setup, larder.day).of(sugar.id).known.is_empty());
        }),
    );
    told(
        "all that is reckoned of all drinks",
        timed(50, || {
            assert_eq!(view.lines(Default::default()).len(), DRINKS);
        }),
    );
}

/// A key and the picture after it, in the program without a terminal.
fn screens(book: &Path, now: Moment) {
    println!("A key and the picture after it, 120 by 40, without a terminal");
    let store = tantalus::desk::book::open(book).expect("the book");
    let mut app = App::new(store, Options::default(), now).expect("the program");
    let mut terminal = Terminal::new(TestBackend::new(120, 40)).expect("a picture");
    let press = |app: &mut App, terminal: &mut Terminal<TestBackend>, code: KeyCode| {
        app.key(KeyEvent::new(code, KeyModifiers::NONE), now);
        terminal.draw(|frame| app.draw(frame, now)).expect("a picture");
    };
    let text = |app: &mut App, terminal: &mut Terminal<TestBackend>, keys: &str| {
        keys.chars().for_each(|c| press(app, terminal, KeyCode::Char(c)));
    };
    text(&mut app, &mut terminal, "Dwsugar");
    press(&mut app, &mut terminal, KeyCode::Enter);
    text(&mut app, &mut terminal, "1.");
    let mut on = false;
    told(
        "another price typed: all drinks change",
        timed(TIMES, || {
            on = !on;
            press(&mut app, &mut terminal, if on { KeyCode::Char('5') } else { KeyCode::Backspace });
        }),
    );
    press(&mut app, &mut terminal, KeyCode::Esc);
    text(&mut app, &mut terminal, "e");
    for _ in 0..3 {
        press(&mut app, &mut terminal, KeyCode::Down);
    }
    press(&mut app, &mut terminal, KeyCode::Tab);
    told(
        "a quantity typed: that drink changes",
        timed(TIMES, || {
            on = !on;
            press(&mut app, &mut terminal, if on { KeyCode::Left } else { KeyCode::Right });
        }),
    );
    press(&mut app, &mut terminal, KeyCode::Esc);
    text(&mut app, &mut terminal, "He");
    for _ in 0..2 {
        press(&mut app, &mut terminal, KeyCode::Down);
    }
    press(&mut app, &mut terminal, KeyCode::Tab);
    press(&mut app, &mut terminal, KeyCode::Home);
    told(
        "a recipe typed: the drinks with it change",
        timed(TIMES, || {
            on = !on;
            press(&mut app, &mut terminal, if on { KeyCode::Char('1') } else { KeyCode::Backspace });
        }),
    );
}

/// From the key written to the moment a terminal shows what it did.
fn terminal(book: &Path) {
    println!("From the key to the picture in a pseudo-terminal of 80 by 24");
    let mut cat = Session::start(CommandBuilder::new("cat"), 80, 24);
    told(
        "the pseudo-terminal's echo, to compare with",
        (0..TIMES)
            .map(|n| {
                cat.press("#");
                cat.until("#", |s| s.contents().matches('#').count() > n)
            })
            .collect(),
    );
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_tantalus"));
    command.args(["--book", book.to_str().expect("a path in UTF-8")]);
    command.env("TERM", "xterm-256color");
    let mut screen = Session::start(command, 80, 24);
    screen.until_text("help");
    screen.press_until("D", "500 drinks");
    screen.press_until("w", "Which item");
    screen.press_until("sugar", "Sugar");
    screen.press_until("\r", "instead:");
    screen.press_until("1.", "drinks change");
    let (mut on, mut times) = (false, Vec::new());
    for _ in 0..TIMES {
        on = !on;
        let before = screen.shown();
        screen.press(if on { "5" } else { "\x7f" });
        times.push(screen.until("another picture", |s| s.contents() != before));
    }
    told("another price typed: all drinks change", times);
    screen.press("\x03");
    screen.end();
}

fn main() {
    let home = tempfile::tempdir().expect("a folder");
    let plain = home.path().join("plain");
    std::fs::create_dir(&plain).expect("a folder");
    write(&plain);
    let book = home.path().join("book.tantalus");
    let now = tantalus::clock::now();
    let (store, _) = init::init_from(&book, &plain, now, &mut unwatched).unwrap_or_else(|refused| panic!("{refused}"));
    computing(&drinks::view(&store, now).unwrap_or_else(|refused| panic!("{refused}")));
    drop(store);
    screens(&book, now);
    terminal(&book);
}
