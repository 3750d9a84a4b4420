//! What the program is measured beside: general-purpose programs that do a part of the same on the same figures.

use crate::books::{Book, run};
use std::fmt::Write as _;
use std::path::PathBuf;
use std::process::Command;
use std::time::Duration;
use tantalus::desk::comparing;
use tantalus::domain::usage::AskedSoFar;
use tantalus::store::{Store, day_totals};

/// The interpreter that has the libraries: `PYTHON`, or one in `target/bench-venv`, made the first time.
fn python() -> PathBuf {
    if let Some(python) = std::env::var_os("PYTHON") {
        return python.into();
    }
    let venv = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("target/bench-venv");
    let python = venv.join("bin/python");
    if !python.exists() {
        run(Command::new("python3").args(["-m", "venv"]).arg(&venv));
        run(Command::new(&python).args(["-m", "pip", "install", "--quiet", "duckdb==2.0.1", "statsforecast==2.1.1"]));
    }
    python
}

fn seconds(command: &mut Command) -> Duration {
    let said = run(command);
    let last = said.lines().last().and_then(|line| line.trim().parse().ok());
    Duration::from_secs_f64(last.unwrap_or_else(|| panic!("{command:?} said no time: {said}")))
}

fn script(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("benches").join(name)
}

/// What DuckDB takes for what was sold of every item in every week, from tables in its memory.
pub(crate) fn usage_table(book: &Book) -> Duration {
    seconds(Command::new(python()).arg(script("speed_usage.py")).arg(&book.files))
}

/// What statsforecast takes for the same ways of smoothing on the same series.
pub(crate) fn smoothing(book: &Book) -> Duration {
    let store = Store::open(&book.path).expect("the book opens");
    let setup = comparing::setup(&store).expect("the set-up");
    let rule = setup.venue.days;
    let (first, last) = store.read(day_totals::ends).expect("sales").expect("some");
    let (last, first) = (rule.day_of(last), rule.day_of(first));
    // As far back as the program looks.
    let first = first.max(last - chrono::Days::new(5 * 366));
    let mut asked = AskedSoFar::new(&setup, first..=last);
    store.read(|conn| day_totals::each_between(conn, &rule, first, last, |of| asked.add(&of))).expect("sums of sales");
    let mut text = String::new();
    for item in asked.done().items.values() {
        let values: Vec<String> = item.daily.iter().map(|amount| format!("{amount:.0}")).collect();
        // Writing to a String cannot fail.
        let _ = writeln!(text, "{}", values.join(","));
    }
    let file = book.path.with_extension("series");
    std::fs::write(&file, text).expect("the series are written");
    seconds(Command::new(python()).arg(script("par_statsforecast.py")).arg(&file))
}

/// What LibreOffice takes to reckon the last week's variance anew; nothing where it is not there.
pub(crate) fn spreadsheet(book: &Book) -> Option<Duration> {
    let there = Command::new("soffice").arg("--version").output().is_ok_and(|done| done.status.success());
    there.then(|| seconds(Command::new("/usr/bin/python3").arg(script("speed_calc.py")).arg(&book.files)))
}

/// How many instructions a command takes, by valgrind; nothing where it is not there.
pub(crate) fn instructions(command: &Command) -> Option<u64> {
    let mut counted = Command::new("valgrind");
    counted.args(["--tool=callgrind", "--callgrind-out-file=/dev/null"]).arg(command.get_program());
    counted.args(command.get_args()).envs(command.get_envs().filter_map(|(name, value)| Some((name, value?))));
    let done = counted.output().ok()?;
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    let line = said.lines().find_map(|line| line.split_once("Collected : "))?;
    line.1.trim().parse().ok()
}
