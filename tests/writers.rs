//! Several writers of one book at once, each with a connection of its own, some as commands of the real program: what was
//! accepted is there as it was accepted and nothing else is. `cargo bench --bench writers` does so for minutes, with
//! processes of their own.

#[path = "support/kept.rs"]
mod kept;
#[path = "support/paper.rs"]
mod paper;
#[path = "support/told.rs"]
mod told;
#[path = "support/work.rs"]
mod work;
#[path = "support/writer.rs"]
mod writer;

use std::time::Duration;
use writer::Writer;

const WRITERS: usize = 3;

#[test]
fn what_several_writers_were_told_is_in_the_book() {
    let home = tempfile::tempdir().expect("a folder");
    let book = writer::begin(home.path(), 2).expect("a bar");
    let folder = home.path().join("told");
    std::fs::create_dir(&folder).expect("a folder");
    std::thread::scope(|all| {
        let (book, folder) = (&book, &folder);
        let write = move |id| Writer::new(id, WRITERS, book, folder, 2)?.write(Duration::from_secs(4));
        let writers: Vec<_> = (0..WRITERS).map(|id| all.spawn(move || write(id))).collect();
        for writer in writers {
            if let Err(refused) = writer.join().expect("it ends") {
                panic!("{refused}");
            }
        }
    });
    let sum = told::compare(&book, &folder, WRITERS).unwrap_or_else(|lost| panic!("{lost}"));
    let accepted: u64 = sum.accepted.values().sum();
    assert!(accepted > 10, "they wrote something: {:?}", sum.accepted);
}
