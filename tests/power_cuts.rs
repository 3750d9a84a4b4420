//! The reckoning of the bench `power`, on a few calls by hand: what was synced is never lost, what was not may be, in part
//! and in any order; a name is sure once its folder was synced; a call that is not understood is refused.

#[path = "support/power/mod.rs"]
mod power;

use power::{Disk, How, Trace};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeSet;
use std::path::Path;

/// A text as strace writes it with -xx.
fn hex(text: &[u8]) -> String {
    format!("\"{}\"", text.iter().map(|byte| format!("\\x{byte:02x}")).collect::<String>())
}

/// What a disk may hold after the calls: of each file its bytes, in many cuts.
fn after(folder: &Path, calls: &[String]) -> BTreeSet<Vec<(String, Vec<u8>)>> {
    let disk = played(folder, calls).unwrap_or_else(|refused| panic!("{refused}"));
    let mut random = ChaCha8Rng::seed_from_u64(4);
    let mut out = BTreeSet::new();
    for n in 0..400 {
        let cut = disk.cut(How::ALL[n % How::ALL.len()], &mut random);
        let name = |path: &Path| path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        out.insert(cut.files.iter().map(|(path, bytes)| (name(path), bytes.clone())).collect());
    }
    out
}

fn played(folder: &Path, calls: &[String]) -> Result<Disk, String> {
    let mut disk = Disk::of(folder).map_err(|error| error.to_string())?;
    let text: String = calls.iter().map(|call| format!("7 1795947093.759249 {call}\n")).collect();
    let deeds = Trace::of(folder).read(&text, |path| disk.has(path))?;
    deeds.iter().try_for_each(|deed| disk.take(deed))?;
    Ok(disk)
}

fn opens(folder: &Path, name: &str, fd: i32) -> String {
    let path = hex(folder.join(name).to_string_lossy().as_bytes());
    format!("openat(AT_FDCWD, {path}, O_RDWR|O_CREAT|O_CLOEXEC, 0600) = {fd}")
}

fn opens_folder(folder: &Path, fd: i32) -> String {
    format!("openat(AT_FDCWD, {}, O_RDONLY|O_CLOEXEC) = {fd}", hex(folder.to_string_lossy().as_bytes()))
}

fn writes(fd: i32, bytes: &[u8], at: usize) -> String {
    format!("pwrite64({fd}, {}, {}, {at}) = {}", hex(bytes), bytes.len(), bytes.len())
}

fn syncs(fd: i32) -> String {
    format!("fsync({fd}) = 0")
}

#[test]
fn what_was_synced_stays_and_what_was_not_may_be_lost_in_any_part() {
    let home = tempfile::tempdir().expect("a folder");
    let folder = home.path();
    std::fs::write(folder.join("book"), [1; 1_536]).expect("a file");
    let mut calls = vec![opens(folder, "book", 3), writes(3, &[2; 512], 0), syncs(3)];
    let only = vec![("book".to_owned(), [[2; 512], [1; 512], [1; 512]].concat())];
    assert_eq!(after(folder, &calls), BTreeSet::from([only]));
    calls.extend([writes(3, &[3; 1_024], 512), writes(3, &[4; 512], 1_536)]);
    let states = after(folder, &calls);
    let firsts: BTreeSet<Vec<u8>> =
        states.iter().map(|files| files[0].1.chunks(512).map(|sector| sector[0]).collect()).collect();
    assert!(firsts.iter().all(|sectors| sectors[0] == 2), "what was synced: {firsts:?}");
    for may in [vec![2, 1, 1], vec![2, 3, 3, 4], vec![2, 3, 1], vec![2, 1, 3], vec![2, 1, 1, 4], vec![2, 1, 1, 0]] {
        assert!(firsts.contains(&may), "{may:?} may be and was not met: {firsts:?}");
    }
}

#[test]
fn a_name_is_sure_once_its_folder_was_synced() {
    let home = tempfile::tempdir().expect("a folder");
    let folder = home.path();
    let path = |name: &str| hex(folder.join(name).to_string_lossy().as_bytes());
    let mut calls = vec![opens(folder, "book.part", 3), writes(3, b"all", 0), syncs(3), "close(3) = 0".to_owned()];
    calls.push(format!("rename({}, {}) = 0", path("book.part"), path("book")));
    let file = |name: &str| vec![(name.to_owned(), b"all".to_vec())];
    assert_eq!(after(folder, &calls), BTreeSet::from([Vec::new(), file("book.part"), file("book")]));
    calls.extend([opens_folder(folder, 4), syncs(4)]);
    assert_eq!(after(folder, &calls), BTreeSet::from([file("book")]));
    calls.push(format!("unlink({}) = 0", path("book")));
    assert_eq!(after(folder, &calls), BTreeSet::from([Vec::new(), file("book")]));
}

/// A sync means what was handed over before it began, whatever comes while it runs.
#[test]
fn what_comes_while_a_sync_runs_is_not_sure() {
    let home = tempfile::tempdir().expect("a folder");
    std::fs::write(home.path().join("book"), [1; 512]).expect("a file");
    let calls = [
        opens(home.path(), "book", 3),
        "fsync(3 <unfinished ...>".to_owned(),
        writes(3, &[2; 512], 0),
        "<... fsync resumed>) = 0".to_owned(),
    ];
    let text: Vec<String> = calls.to_vec();
    // The write is of another thread.
    let mut disk = Disk::of(home.path()).expect("a disk");
    let lines: String = text
        .iter()
        .enumerate()
        .map(|(n, call)| format!("{} 1795947093.759249 {call}\n", if n == 2 { 8 } else { 7 }))
        .collect();
    let deeds = Trace::of(home.path()).read(&lines, |path| disk.has(path)).expect("it is understood");
    deeds.iter().for_each(|deed| disk.take(deed).expect("it fits"));
    assert!(disk.unsure());
}

#[test]
fn what_is_not_understood_is_refused() {
    let home = tempfile::tempdir().expect("a folder");
    let folder = home.path();
    std::fs::write(folder.join("book"), [1; 512]).expect("a file");
    let open = opens(folder, "book", 3);
    for (call, says) in [
        ("io_uring_setup(8, {flags=0}) = 5", "not understood"),
        ("pwrite64(3, \"\\x01\\x01\", 2, 0) = 1", "wrote 1 of 2 bytes"),
        ("pwrite64(3, \"\\x01\"..., 4096, 0) = 4096", "cut short"),
        ("pwrite64(9, \"\\x01\", 1, 0) = 1", "nobody opened number 9"),
        ("mmap(NULL, 4096, PROT_READ|PROT_WRITE, MAP_SHARED, 3, 0) = 0x7fb163458000", "through memory"),
        ("fcntl(3, F_SETSIG, 5) = 0", "F_SETSIG"),
        ("dup(3) = 4", "second number"),
        ("fallocate(3, 0, 0, 4096) = 0", "not understood"),
        ("clone(child_stack=NULL, flags=SIGCHLD) = 99", "another process"),
        ("copy_file_range(5, NULL, 3, NULL, 100, 0) = 100", "copy_file_range into"),
        ("fsync(3 <unfinished ...>", "ends within"),
        ("nonsense", "no call"),
    ] {
        let refused = played(folder, &[open.clone(), call.to_owned()]).err();
        assert!(refused.as_ref().is_some_and(|said| said.contains(says)), "{call}: {refused:?}");
    }
}
