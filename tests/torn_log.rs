//! The write-ahead log of a book, torn in every way that a crash may tear it: cut anywhere, its end zeros or anything at
//! all, pieces of it missing. The book opens, is sound, and holds the beginning of what was accepted, entry by entry and
//! none in part; and all of what lies before the damage. `cargo bench --bench power` does so with whole evenings under
//! strace, and with the file as well as its log.

#[path = "support/kept.rs"]
mod kept;
#[path = "support/paper.rs"]
mod paper;
#[path = "support/work.rs"]
mod work;

use kept::{Kept, copied, with};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::fs;
use std::path::{Path, PathBuf};
use tantalus::store::Store;
use tempfile::TempDir;
use work::{Sort, Work};

const SEED: u64 = 5;
/// The file of a log is a head and then frames: a head of their own and a page (SQLite file format, section 4.1).
const HEAD: usize = 32;
const FRAME: usize = 24 + 4_096;

/// A book whose log holds several accepted entries, and what it held after each, with the length of its log then.
struct Logged {
    home: TempDir,
    book: PathBuf,
    log: Vec<u8>,
    states: Vec<(usize, Kept)>,
}

fn logged() -> Logged {
    let home = tempfile::tempdir().expect("a folder");
    let book = home.path().join("bar.tantalus");
    let mut work = Work::new(home.path(), SEED, "");
    work.make_book(&book).expect("a bar");
    let log = with(&book, "-wal");
    let aside = home.path().join("aside.tantalus");
    // As long as somebody has the book open, its log is not brought into it.
    let open = Store::open(&book).expect("the book");
    let mut states = vec![(0, Kept::of_copy(&book, &aside))];
    for sort in [Sort::Par, Sort::Sheet, Sort::Batch, Sort::Par, Sort::Bill, Sort::Counts, Sort::Par] {
        work.next(sort).and_then(|deed| deed.run(&book)).expect("it is accepted");
        let length = fs::metadata(&log).expect("the log").len() as usize;
        states.push((length, Kept::of_copy(&book, &aside)));
    }
    let (file, log) = (fs::read(&book).expect("the file"), fs::read(&log).expect("the log"));
    drop(open);
    // The file as it was before its log was brought in.
    fs::write(&book, file).expect("the file");
    assert!(states.windows(2).all(|two| two[0].0 < two[1].0 && two[0].1 != two[1].1), "each entry made the log longer");
    Logged { home, book, log, states }
}

trait OfCopy {
    fn of_copy(book: &Path, aside: &Path) -> Kept;
}

impl OfCopy for Kept {
    fn of_copy(book: &Path, aside: &Path) -> Kept {
        copied(book, aside).expect("a copy");
        Kept::of(aside).unwrap_or_else(|lost| panic!("{lost}"))
    }
}

impl Logged {
    /// Which of the states the book has with another log; it must have all entries that end before `sound`.
    fn with_log(&self, log: &[u8], sound: usize, what: &str) -> usize {
        let book = self.home.path().join("torn.tantalus");
        fs::copy(&self.book, &book).expect("the file");
        fs::write(with(&book, "-wal"), log).expect("the log");
        // What a crash leaves of the index is worth nothing.
        fs::write(with(&book, "-shm"), [0xa5; 32_768]).expect("the index");
        let kept = Kept::of(&book).unwrap_or_else(|lost| panic!("{what}: {lost}"));
        let is = self.states.iter().position(|(_, state)| *state == kept);
        let is = is.unwrap_or_else(|| panic!("{what}: an entry is there in part:{}", self.states[0].1.beside(&kept)));
        let want = self.states.iter().rposition(|(length, _)| *length <= sound).unwrap_or(0);
        assert!(is >= want, "{what}: {want} entries lie before the damage, and {is} are there");
        is
    }
}

#[test]
fn a_log_that_was_cut_anywhere_holds_what_lies_before() {
    let logged = logged();
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let frames = (logged.log.len() - HEAD) / FRAME;
    // At every border of a frame and beside it, and at random places.
    let borders = (0..=frames).flat_map(|n| [0, 1, 24, FRAME - 1].map(|more| HEAD + n * FRAME + more));
    let borders: Vec<usize> = borders.filter(|at| *at <= logged.log.len()).collect();
    let any = (0..20).map(|_| random.random_range(0..=logged.log.len()));
    let mut seen = vec![0; logged.states.len()];
    let places: Vec<usize> = [0, 1, 31].into_iter().chain(borders.into_iter().step_by(3)).chain(any).collect();
    for at in places.iter().copied().chain([logged.log.len()]) {
        seen[logged.with_log(&logged.log[..at], at, &format!("cut at {at}"))] += 1;
    }
    assert!(seen.iter().all(|times| *times > 0), "every state was met: {seen:?}");
}

#[test]
fn a_log_whose_end_is_zeros_or_anything_holds_what_lies_before() {
    let logged = logged();
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    for n in 0..60 {
        let at = random.random_range(0..logged.log.len());
        let mut log = logged.log.clone();
        if n % 2 == 0 {
            log[at..].fill(0);
        } else {
            random.fill(&mut log[at..]);
        }
        logged.with_log(&log, at, &format!("from {at} on it is not what was written"));
    }
}

#[test]
fn a_log_of_which_sectors_are_missing_holds_what_lies_before() {
    let logged = logged();
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    for _ in 0..60 {
        let mut log = logged.log.clone();
        let sectors = log.len() / 512;
        let lost: Vec<usize> = (0..random.random_range(1..6)).map(|_| random.random_range(0..sectors)).collect();
        for sector in &lost {
            log[sector * 512..(sector + 1) * 512].fill(0);
        }
        let first = lost.iter().min().map_or(0, |sector| sector * 512);
        logged.with_log(&log, first, &format!("the sectors {lost:?} are missing"));
    }
}
