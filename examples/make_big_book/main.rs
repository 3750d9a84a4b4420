//! Writes a folder of plain files with years of trade, for measuring: 400 items, 300 000 sales lines and 365 counts a
//! year. It is simulated pour by pour, so that counts, sales and deliveries hang together but for the troubles that are
//! planted in it: a book in which every gap is a riddle would measure something that no bar has. The same years give the
//! same bytes.
//!
//! `cargo run --release --example make_big_book -- FOLDER [YEARS]`

mod bar;
mod trade;

use std::fs;
use std::path::PathBuf;

fn main() -> std::io::Result<()> {
    let mut args = std::env::args().skip(1);
    let (Some(folder), years) = (args.next().map(PathBuf::from), args.next()) else {
        eprintln!("say into which folder, and how many years: make_big_book FOLDER [YEARS]");
        std::process::exit(2);
    };
    let Ok(years) = years.as_deref().unwrap_or("5").parse() else {
        eprintln!("years are a whole number");
        std::process::exit(2);
    };
    fs::create_dir_all(&folder)?;
    bar::write(&folder)?;
    trade::write(&folder, years)
}
