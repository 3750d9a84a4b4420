//! The commands: arguments in, the desk called, its rows rendered for people or as JSON.
//!
//! A command returns the whole text it wants printed, or why it was refused; this file prints it and sets the exit
//! status. Text from the book reaches the terminal only through `page::Page`, `json::text` and [`Refusal`], each
//! of which makes it harmless.

mod backup;
mod between;
mod carry;
mod check;
mod completions;
mod count;
mod days;
mod demo;
mod drinks;
mod dump;
mod figures;
mod find;
mod gauge;
mod goods;
mod history;
mod house;
mod init;
mod json;
mod keys;
mod load;
mod man;
mod order;
mod page;
mod par;
mod people;
mod pin;
mod receive;
mod refusal;
mod report;
mod restore;
mod sales;
mod screens;
mod shared;
mod stock;
mod suppliers;
mod table;
mod variance;

pub use refusal::Refusal;
pub use shared::Shared;

use crate::system;
use clap::{CommandFactory, Parser, Subcommand};
use std::io::{ErrorKind, Write};
use std::process::ExitCode;

/// What the long help and the manual say besides the options.
const MORE: &str = "\
The book: --book, else TANTALUS_BOOK, else the file book.tantalus in the folder where the platform keeps data of \
programs. Who signs: --by, else TANTALUS_BY.

Exit status: 0 done; 1 refused, with the reason on standard error; 2 wrong usage.";

/// Know the stock of a bar: what was used, what was sold, what to order.
///
/// Without a command the screens open.
#[derive(Debug, Parser)]
#[command(name = "tantalus", version, after_long_help = MORE)]
struct Arguments {
    #[command(flatten)]
    shared: Shared,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    Demo(demo::Args),
    Init(init::Args),
    Count(count::Args),
    Variance(variance::Args),
    Goods(goods::Args),
    Report(report::Args),
    Par(par::Args),
    Order(order::Args),
    Carry(carry::Args),
    Suppliers(suppliers::Args),
    Receive(Box<receive::Args>),
    Sales(Box<sales::Args>),
    Stock(stock::Args),
    Drinks(drinks::Args),
    House(house::Args),
    Gauge(Box<gauge::Args>),
    Days(days::Args),
    History(history::Args),
    People(people::Args),
    Load(load::Args),
    Dump(dump::Args),
    Check(check::Args),
    Backup(backup::Args),
    Restore(restore::Args),
    Keys(keys::Args),
    Completions(completions::Args),
    Man(man::Args),
}

/// Every command and option, for what is written from them: completions, manual pages, tests.
pub fn command() -> clap::Command {
    Arguments::command()
}

/// Reads the arguments of the process, runs the command, and says how it ended.
pub fn main() -> ExitCode {
    let Arguments { shared, command } = Arguments::parse();
    match run(&shared, command).and_then(|text| print(&text)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(refusal) => {
            // Nobody is left to tell when standard error is closed.
            let _ = write!(std::io::stderr().lock(), "{refusal}");
            ExitCode::from(1)
        }
    }
}

fn run(shared: &Shared, command: Option<Command>) -> Result<String, Refusal> {
    match command {
        None => screens::screens(shared),
        Some(Command::Demo(args)) => demo::run(shared, &args),
        Some(Command::Init(args)) => init::run(shared, &args),
        Some(Command::Count(args)) => count::run(shared, &args),
        Some(Command::Variance(args)) => variance::run(shared, &args),
        Some(Command::Goods(args)) => goods::run(shared, &args),
        Some(Command::Report(args)) => report::run(shared, &args),
        Some(Command::Par(args)) => par::run(shared, &args),
        Some(Command::Order(args)) => order::run(shared, &args),
        Some(Command::Carry(args)) => carry::run(shared, &args),
        Some(Command::Suppliers(args)) => suppliers::run(shared, &args),
        Some(Command::Receive(args)) => receive::run(shared, &args),
        Some(Command::Sales(args)) => sales::run(shared, &args),
        Some(Command::Stock(args)) => stock::run(shared, &args),
        Some(Command::Drinks(args)) => drinks::run(shared, &args),
        Some(Command::House(args)) => house::run(shared, &args),
        Some(Command::Gauge(args)) => gauge::run(shared, &args),
        Some(Command::Days(args)) => days::run(shared, &args),
        Some(Command::History(args)) => history::run(shared, &args),
        Some(Command::People(args)) => people::run(shared, &args),
        Some(Command::Load(args)) => load::run(shared, &args),
        Some(Command::Dump(args)) => dump::run(shared, &args),
        Some(Command::Check(args)) => check::run(shared, &args),
        Some(Command::Backup(args)) => backup::run(shared, &args),
        Some(Command::Restore(args)) => restore::run(shared, &args),
        Some(Command::Keys(args)) => keys::run(&args),
        Some(Command::Completions(args)) => completions::run(&args),
        Some(Command::Man(args)) => man::run(&args),
    }
}

/// Writes the answer. A reader that has seen enough (`| head`) is no failure.
fn print(text: &str) -> Result<(), Refusal> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(Refusal::new(format!("the answer could not be written: {}", system::words(&error))))
        }
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_arguments_make_sense() {
        super::command().debug_assert();
    }
}
