//! Opening the screens.

use super::{Refusal, Shared, demo};
use crate::app::{self, Habits, Options, Outcome};
use crate::clock;
use crate::desk::book::{self, Store};
use crate::desk::people;
use crate::desk::signing::signer;
use crate::system;
use crate::tui::theme::{Depth, Look};
use crate::words::{self, Speech};
use std::env;
use std::io::{self, IsTerminal};
use std::path::PathBuf;

/// Where orders and pages to print are written unless it is said otherwise: beside the book, so that the files of one bar
/// stand in one place, wherever the program was started from.
pub(super) fn papers(store: &Store) -> PathBuf {
    store.path().parent().map(|folder| folder.join("orders")).unwrap_or_default()
}

/// Opens the screens on the book, or asks what a new one needs where there is none; returns what is left to print when
/// they are closed.
pub(super) fn screens(shared: &Shared) -> Result<String, Refusal> {
    let path = shared.path()?;
    let in_terminal = io::stdin().is_terminal() && io::stdout().is_terminal();
    if !in_terminal || shared.as_known.is_some() || book::is_there(&path) {
        return open(shared.open()?, shared, None, false);
    }
    match app::begin(&path, &seen())? {
        Outcome::Book(store, by) => {
            let signs = Shared { by: shared.by.clone().or(by), ..shared.clone() };
            open(*store, &signs, Some(FIRST_EVENING), false)
        }
        Outcome::LookAround => demo::run(shared, &demo::Args { fresh: false, tour: false }),
        Outcome::Nothing => Ok(String::new()),
    }
}

/// What is said on the first screen of a new book.
const FIRST_EVENING: &str =
    text!("the book is made. C counts: press a at each bottle and type its name; what else is known can come later");

/// How the screens look, and whose the mouse is: as the environment says it, else as it was chosen at the screen.
fn seen() -> Options {
    let said = |name: &str| env::var(name).unwrap_or_default();
    let path = directories::ProjectDirs::from("", "", "tantalus").map(|f| f.config_dir().join("screens.json"));
    let habits = path.as_deref().map(Habits::read).unwrap_or_default();
    let look = match Look::parse(&said("TANTALUS_LOOK")) {
        _ if set("NO_COLOR") => Look::Plain,
        Ok(look) => look,
        Err(_) => habits.look,
    };
    Options {
        look,
        depth: Depth::told(&said("COLORTERM"), &said("TERM")),
        ascii: set("TANTALUS_ASCII") || system::shows_ascii_only(),
        mouse: match said("TANTALUS_MOUSE").as_str() {
            "" => habits.mouse,
            said => said != "0" && !said.eq_ignore_ascii_case("off"),
        },
        habits: path,
        ..Options::default()
    }
}

fn set(name: &str) -> bool {
    env::var_os(name).is_some_and(|value| !value.is_empty())
}

/// Opens the screens with something said on the first of them.
pub(super) fn open(
    store: Store,
    shared: &Shared,
    greeting: Option<&'static str>,
    tour: bool,
) -> Result<String, Refusal> {
    let orders = papers(&store);
    // A book that is shown as it was known takes nobody in.
    let by = match store.known_then() {
        Some(_) => shared.signer(),
        None => match shared.signer() {
            Some(said) => signer(&store, Some(&said), clock::started())?,
            None => people::alone(&store)?,
        },
    };
    // In a book that knew nobody, whoever signs first is taken in only now.
    if book::who(&store)?.is_none() {
        Shared { by: by.clone(), ..shared.clone() }.sign_in(&store)?;
    }
    let speech = Speech::of_tag(&book::language(&store)?);
    let greeting = greeting.map(|said| speech.while_in(|| words::find(said)).to_owned());
    app::run(store, Options { by, orders, greeting, tour, ..seen() })?;
    Ok(String::new())
}
