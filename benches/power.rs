//! Power cuts: what the program had said it kept is on the disk, whatever the disk made of the rest.
//!
//! `cargo bench --bench power -- [CUTS] [SEED]` (3,000 cuts and seed 1 unless said). Needs strace. Status 1 when anything
//! does not hold.
//!
//! The real program is run under strace: evenings of work by command (counts typed in and closed, bills, tills, folders,
//! orders), a count on the screens, a copy of the book, an older book brought up to date, a new book. From the calls a
//! list is made of what was done to every file and name; that it is the whole is seen by the files made from it, which are
//! byte for byte those of the program. Then the power goes: around every sync, and anywhere between.
//!
//! What is modelled. What was handed over before a sync of a file that has returned is on the disk. Of what came since, any
//! part is: all, nothing, in order up to some moment and there torn at a sector of 512 bytes, any sectors, or any pages of
//! 4,096 bytes, where several writes to one may have come in part; and files need not fare alike, so that what was written
//! into one file later may be there when what was written into another earlier is not. A file may have the length of any
//! of these moments, with zeros or any bytes at all where nothing came. Names that were made, changed or taken away since
//! their folder was synced are old or new, mostly in their order, sometimes in any. The index of a log (-shm) is not
//! counted upon: it is missing, empty, or holds any bytes.
//!
//! That it would see a loss is shown with a disk that says it syncs and does not: some of its cuts must lose something.
//!
//! What is not modelled. A disk that says it has synced and has not; one that harms sectors besides those it is
//! writing, or a sector while it writes it (the database takes it that what stands beside what is written stays, its
//! “powersafe overwrite”); bytes that rot; a cut while the program recovers from another one; systems that are not asked
//! here, as the calls are those of Linux; several programs at once. A later write to a sector is never undone by an
//! earlier one.

#[path = "../tests/support/cuts.rs"]
mod cuts;
#[path = "../tests/support/kept.rs"]
mod kept;
#[path = "../tests/support/older.rs"]
mod older;
#[path = "../tests/support/paper.rs"]
mod paper;
#[path = "../tests/support/power/mod.rs"]
mod power;
#[path = "../tests/support/proof.rs"]
mod proof;
#[path = "../tests/support/pty.rs"]
mod pty;
#[path = "../tests/support/walk.rs"]
mod walk;
#[path = "../tests/support/work.rs"]
mod work;

use cuts::Scene;
use std::process::ExitCode;

/// So many cuts at least of a disk that says it syncs and does not: some must lose what was accepted, or this would see nothing.
const LIES: u64 = 240;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().collect();
    if let [_, word, from, to] = arguments.as_slice()
        && word == "--copy"
    {
        return proof::proves(|| cuts::copy(from.as_ref(), to.as_ref()));
    }
    let numbers = proof::numbers();
    let (cuts, seed) = (numbers.first().copied().unwrap_or(3_000), numbers.get(1).copied().unwrap_or(1));
    proof::proves(|| {
        println!("power: {cuts} cuts, seed {seed}");
        // So many parts of a hundred of the cuts.
        let scenes: [(u64, &str, cuts::Make); 5] = [
            (45, "work by command", Scene::work),
            (30, "a count on the screens", Scene::walk),
            (8, "a copy of the book", Scene::copy),
            (12, "an older book brought up to date", Scene::older),
            (5, "a new book", Scene::new_book),
        ];
        println!(
            "| what was cut | done to files | syncs | cuts | with something unsure | different states | lost by a disk that lies |"
        );
        println!("| --- | --- | --- | --- | --- | --- | --- |");
        let mut sum = 0;
        for (share, name, make) in scenes {
            let scene = make(seed)?;
            let found = scene.cut(cuts * share / 100, seed).map_err(|lost| format!("{name}: {lost}"))?;
            let (lost, of) = scene.lost_by_a_lying_disk(LIES, seed)?;
            if lost == 0 {
                return Err(format!(
                    "{name}: a disk that syncs nothing loses nothing here, so that this proves nothing"
                ));
            }
            println!(
                "| {name} | {} | {} | {} | {} | {} | {lost} of {of} |",
                found.done, found.syncs, found.cuts, found.unsure, found.different
            );
            sum += found.cuts;
        }
        println!("{sum} cuts; nothing accepted was missing, every book opened and was sound.");
        Ok(())
    })
}
