//! Several writers at once, for minutes: every entry that was accepted is in the book as it was accepted, nothing is there
//! that was not, nobody waits for ever, and the book is sound.
//!
//! `cargo bench --bench writers -- [MINUTES] [SEED]` (10 minutes and seed 1 unless said): a third of the time with two
//! writers, a third with four, a third with eight. Status 1 when anything does not hold.
//!
//! Each writer is a process of its own that keeps the book open and writes through the use cases (lines of one count that
//! all of them count, losses, pars), and in between runs the real program (days, reports of the till, bills, folders,
//! batches) and reads (stock, orders, counts, cost of goods, a look through the whole book). What was accepted it puts down
//! in a file of its own before it goes on; afterwards the book is compared with these files, both ways. A wait is the time
//! from the beginning of a write to its end, the program's start with it where it is run as a command.
//!
//! What this does not prove: that two who change the same thing at once do what either of them meant. Each line and par
//! has one writer here, so that a lost update shows; the count, the journal and the sums of sales are everybody's.

#[path = "../tests/support/kept.rs"]
mod kept;
#[path = "../tests/support/paper.rs"]
mod paper;
#[path = "../tests/support/proof.rs"]
mod proof;
#[path = "../tests/support/told.rs"]
mod told;
#[path = "../tests/support/work.rs"]
mod work;
#[path = "../tests/support/writer.rs"]
mod writer;

use std::process::{Child, Command, ExitCode, Stdio};
use std::time::{Duration, Instant};
use writer::Writer;

/// Nobody waits for longer than this after the end; the program itself gives up after five seconds.
const FOR_EVER: Duration = Duration::from_secs(120);

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().collect();
    if let [_, word, id, of, book, folder, seconds, seed] = arguments.as_slice()
        && word == "--writer"
    {
        let number = |text: &String| text.parse::<u64>().map_err(|error| error.to_string());
        return proof::proves(|| {
            let (id, of) = (number(id)? as usize, number(of)? as usize);
            let writer = Writer::new(id, of, book.as_ref(), folder.as_ref(), number(seed)?)?;
            writer.write(Duration::from_secs(number(seconds)?))
        });
    }
    let numbers = proof::numbers();
    let (minutes, seed) = (numbers.first().copied().unwrap_or(10), numbers.get(1).copied().unwrap_or(1));
    proof::proves(|| {
        println!("writers: {minutes} minutes, seed {seed}");
        println!("| writers | accepted | refused as busy | reads | median wait | 99th percentile | longest |");
        println!("| --- | --- | --- | --- | --- | --- | --- |");
        [2, 4, 8].iter().try_for_each(|of| together(*of, minutes * 20, seed))
    })
}

fn together(of: usize, seconds: u64, seed: u64) -> Result<(), String> {
    let home = tempfile::tempdir().map_err(|error| error.to_string())?;
    let book = writer::begin(home.path(), seed)?;
    let folder = home.path().join("told");
    std::fs::create_dir(&folder).map_err(|error| error.to_string())?;
    let program = std::env::current_exe().map_err(|error| error.to_string())?;
    let start = |id: usize| {
        let mut command = Command::new(&program);
        command.arg("--writer").args([id.to_string(), of.to_string()]).arg(&book).arg(&folder);
        command.args([seconds.to_string(), seed.to_string()]).stdin(Stdio::null());
        command.spawn().map_err(|error| error.to_string())
    };
    let mut children = (0..of).map(start).collect::<Result<Vec<Child>, String>>()?;
    let begun = Instant::now();
    let mut failed = None;
    for (id, child) in children.iter_mut().enumerate() {
        loop {
            match child.try_wait().map_err(|error| error.to_string())? {
                Some(status) if status.success() => break,
                Some(status) => {
                    failed = Some(format!("writer {id} of {of} failed: {status}"));
                    break;
                }
                None if begun.elapsed() > Duration::from_secs(seconds) + FOR_EVER => {
                    child.kill().map_err(|error| error.to_string())?;
                    failed = Some(format!("writer {id} of {of} waits for ever"));
                    break;
                }
                None => std::thread::sleep(Duration::from_millis(50)),
            }
        }
    }
    let found = match failed {
        Some(failed) => Err(failed),
        None => told::compare(&book, &folder, of),
    };
    match found {
        Ok(sum) => {
            let accepted: u64 = sum.accepted.values().sum();
            let [median, most, longest] = [0.5, 0.99, 1.0].map(|share| sum.wait(share).as_secs_f64() * 1_000.0);
            println!(
                "| {of} | {accepted} | {} | {} | {median:.1} ms | {most:.1} ms | {longest:.0} ms |",
                sum.refused, sum.reads
            );
            println!("  accepted by {of}: {:?}", sum.accepted);
            Ok(())
        }
        Err(lost) => Err(format!("{lost}\nthe files are in {}", home.keep().display())),
    }
}
