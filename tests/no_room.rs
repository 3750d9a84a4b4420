//! Files that cannot grow at some place of the work: the program says so in words, keeps what it had accepted and nothing
//! of what it refused, and does the same work once it can. A limit of the system on the size of files stands for a disk
//! that is full; `cargo bench --bench full_disk` fills a real one at every page.

#![cfg(unix)]

#[path = "support/kept.rs"]
mod kept;
#[path = "support/paper.rs"]
mod paper;
#[path = "support/work.rs"]
mod work;

use kept::{Kept, copied, with};
use std::path::Path;
use std::process::{Command, Output};
use work::{Deed, Sort, Work};

/// Blocks of 512 bytes that no file may grow beyond (POSIX, `ulimit -f`), and whoever tries is told so, not ended.
fn limited(deed: &Deed, book: &Path, blocks: usize) -> Output {
    let of = deed.on(book);
    let mut command = Command::new("sh");
    command.arg("-c").arg(format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$@\"")).arg("sh");
    command.arg(of.get_program()).args(of.get_args()).env("TANTALUS_NOW", &deed.now);
    command.output().expect("a shell")
}

#[test]
fn what_cannot_be_written_is_refused_whole_and_what_was_accepted_stays() {
    let home = tempfile::tempdir().expect("a folder");
    let (fresh, book, twin) =
        (home.path().join("fresh.tantalus"), home.path().join("bar.tantalus"), home.path().join("twin.tantalus"));
    let mut work = Work::new(home.path(), 8, "");
    work.make_book(&fresh).expect("a bar");
    let before = Kept::of(&fresh).expect("it is sound");
    let (mut refused, mut accepted) = (0, 0);
    for blocks in (0..420).step_by(14) {
        let sort = [Sort::Sheet, Sort::Till, Sort::Bill][blocks / 14 % 3];
        let deed = work.next(sort).expect("its files");
        copied(&fresh, &book).and_then(|()| copied(&fresh, &twin)).expect("copies");
        deed.run(&twin).expect("elsewhere it is accepted");
        let after = Kept::of(&twin).expect("it is sound");
        let output = limited(&deed, &book, blocks);
        let said = String::from_utf8_lossy(&output.stderr);
        // Looked at in a copy, so that nothing is mended by looking.
        copied(&book, &twin).expect("a copy");
        let now = Kept::of(&twin).unwrap_or_else(|lost| panic!("{blocks} blocks: {lost}"));
        match output.status.code() {
            Some(0) => {
                accepted += 1;
                assert!(now == after, "{blocks} blocks, {sort:?}: lost{}", after.beside(&now));
            }
            Some(1) => {
                refused += 1;
                assert!(said.contains("the book cannot be written"), "{blocks} blocks: {said}");
                assert!(!said.contains("os error") && !said.contains("database"), "{blocks} blocks: {said}");
                assert!(now == before, "{blocks} blocks, {sort:?}: refused and there{}", before.beside(&now));
                deed.run(&book).unwrap_or_else(|again| panic!("{blocks} blocks: {again}"));
                let now = Kept::of(&book).expect("it is sound");
                assert!(now == after, "{blocks} blocks, {sort:?}: {}", after.beside(&now));
            }
            code => panic!("{blocks} blocks: the program ended with {code:?}: {said}"),
        }
    }
    assert!(refused >= 5 && accepted >= 5, "{refused} refused, {accepted} accepted");
}

#[test]
fn a_new_book_without_room_is_not_there_at_all() {
    let home = tempfile::tempdir().expect("a folder");
    let plain = Work::new(home.path(), 8, "").plain().expect("its files");
    let book = home.path().join("bar.tantalus");
    let (mut refused, mut made) = (0, 0);
    for blocks in (0..2_000).step_by(100) {
        let mut command = Command::new("sh");
        command.arg("-c").arg(format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$@\"")).arg("sh");
        command.arg(env!("CARGO_BIN_EXE_tantalus")).arg("init").arg(&plain).arg("--book").arg(&book);
        let output = command.output().expect("a shell");
        if output.status.success() {
            made += 1;
            assert!(Kept::of(&book).expect("it is sound").rows("stock.csv").len() > work::ITEMS);
            std::fs::remove_file(&book).expect("it is there");
            continue;
        }
        refused += 1;
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(1), "{blocks} blocks: {said}");
        assert!(said.contains("cannot be written"), "{blocks} blocks: {said}");
        for end in ["", "-wal", ".part", ".part-wal", ".part-shm"] {
            assert!(!with(&book, end).exists(), "{blocks} blocks left {end}: {said}");
        }
    }
    assert!(refused > 2 && made > 2, "{refused} refused, {made} made");
}
