//! A copy in the place of the book, by what an owner does: the book damaged, gone or open elsewhere; disks without room;
//! killed with -9 at every step.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/owner.rs"]
mod owner;
#[path = "support/pty.rs"]
mod pty;

use owner::{Bar, add_place, command, has, names};
use pty::{Session, on_book};
use rand::{Rng, SeedableRng};
use std::fs;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tantalus::app::{App, Options};
use tantalus::store::restore::{Before, Step, restore};
use tantalus::store::{Connection, Store, StoreError, present};

#[test]
fn a_copy_takes_the_place_of_the_book_and_the_book_is_a_copy_then() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    bar.mark("Roof");
    let said = bar.says(&["restore", "1"]);
    assert!(said.contains("It knows: count “2026-11-21 rail”, sales until Mon 23 Nov 01:02"), "{said}");
    assert!(said.contains("2026-11-23T0130 before restore.tantalus"), "{said}");
    assert!(!has(&bar.book(), "Roof"));
    // And back again.
    let back = bar.copies().join("2026-11-23T0130 before restore.tantalus");
    let form = bar.json(&["restore", back.to_str().unwrap(), "--json"]);
    assert_eq!((form["before"].as_str(), form["holds"]["version"].is_u64()), (Some("book"), true));
    assert!(has(&bar.book(), "Roof"));
}

#[test]
fn a_book_that_is_gone_comes_back_also_on_a_new_machine() {
    let bar = Bar::new();
    let stick = tempfile::tempdir().unwrap();
    bar.second(stick.path());
    bar.says(&["backup"]);
    fs::remove_file(bar.book()).unwrap();
    let list = bar.says(&["backup", "--list"]);
    assert!(list.contains("both") && list.contains("  1  2026-11-23 01:30  by hand"), "{list}");
    let said = bar.says(&["restore", "1"]);
    assert!(said.contains("No book stood there before."), "{said}");
    assert!(has(&bar.book(), "Speed rail"));
    let new = tempfile::tempdir().unwrap();
    let book = new.path().join("data/book.tantalus");
    let within = stick.path().join("demo.tantalus.copies");
    let folder = command(&book, &["restore", stick.path().to_str().unwrap()]).output().unwrap();
    assert!(String::from_utf8_lossy(&folder.stderr).contains("is a folder"));
    let copy = within.join(&names(&within)[0]);
    let done = command(&book, &["restore", copy.to_str().unwrap()]).output().unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    assert!(has(&book, "Speed rail"));
}

#[test]
fn a_damaged_book_is_kept_as_it_was() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    for (n, damage) in ["head", "page", "short", "empty"].into_iter().enumerate() {
        let place = format!("Roof {n}");
        // With a log of what was written last; applied to the new book, it would damage that.
        crashed(&bar, &place);
        let log = fs::read(bar.path("demo.tantalus-wal")).unwrap();
        let mut bytes = fs::read(bar.book()).unwrap();
        match damage {
            "head" => bytes[..100].fill(0xff),
            "page" => bytes[4_096..200_000].fill(0xff),
            "short" => bytes.truncate(10_000),
            _ => bytes.clear(),
        }
        fs::write(bar.book(), &bytes).unwrap();
        let list = bar.says(&["backup", "--list"]);
        assert!(list.contains("by hand"), "{damage}: {list}");
        let said = bar.says(&["restore", bar.copies().join("2026-11-23T0130 by hand.tantalus").to_str().unwrap()]);
        assert!(said.contains("could not be read; it is kept as it was"), "{damage}: {said}");
        let number = if n == 0 { String::new() } else { format!(" {}", n + 1) };
        let kept = bar.copies().join(format!("2026-11-23T0130 damaged book{number}.tantalus"));
        assert!(fs::read(&kept).unwrap() == bytes, "{damage}: its very bytes");
        assert!(fs::read(kept.with_extension("tantalus-wal")).unwrap() == log, "{damage}: and those of its log");
        assert!(has(&bar.book(), "Speed rail") && !has(&bar.book(), &place), "{damage}");
    }
}

#[test]
fn what_is_no_sound_copy_takes_nobodys_place() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    bar.mark("Roof");
    let copy = bar.copies().join("2026-11-23T0130 by hand.tantalus");
    let whole = fs::read(&copy).unwrap();
    let mut newer = whole.clone();
    newer[60..64].copy_from_slice(&999_u32.to_be_bytes()); // user version (SQLite's file format, 1.3)
    let mut page = whole.clone();
    page[300_000..400_000].fill(0xff);
    let cases: [(&[u8], &str); 5] = [
        (b"", "it is no book of this program"),
        (b"Dear Sir or Madam", "it is no book of this program"),
        (&whole[..50_000], "it is damaged"),
        (&page, "it is damaged"),
        (&newer, "version 999"),
    ];
    for (bytes, want) in cases {
        let path = bar.path("odd.tantalus");
        fs::write(&path, bytes).unwrap();
        let said = bar.refused(&["restore", path.to_str().unwrap()]);
        assert!(said.contains(want) && said.contains("nothing was changed"), "{want}: {said}");
        assert_eq!(fs::read(&path).unwrap(), bytes, "it is only looked at");
    }
    for (args, want) in [
        (["restore", "/nowhere/at all"], "there is no such file"),
        (["restore", "7"], "the list goes from 1 to"),
        (["restore", "0"], "the list goes from 1 to"),
    ] {
        let said = bar.refused(&args);
        assert!(said.contains(want), "{said}");
    }
    let own = bar.refused(&["restore", bar.book().to_str().unwrap()]);
    assert!(own.contains("is the book itself"), "{own}");
    assert!(has(&bar.book(), "Roof"));
}

#[test]
fn a_file_of_another_program_is_never_replaced() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    let foreign = bar.path("other.db");
    let conn = Connection::open(&foreign).unwrap();
    conn.execute_batch("CREATE TABLE t (x)").unwrap();
    drop(conn);
    let before = fs::read(&foreign).unwrap();
    let copy = bar.copies().join("2026-11-23T0130 by hand.tantalus");
    let done = command(&foreign, &["restore", copy.to_str().unwrap()]).output().unwrap();
    assert!(String::from_utf8_lossy(&done.stderr).contains("is no book of this program"));
    assert_eq!(fs::read(&foreign).unwrap(), before);
}

#[test]
fn a_copy_of_an_older_version_is_brought_up_to_date_and_kept_as_it_was() {
    let bar = Bar::new();
    let older = bar.path("older.tantalus");
    let steps = &tantalus::store::STEPS[..7];
    let store = Store::create_with(&older, steps).unwrap();
    drop(store);
    let conn = Connection::open(&older).unwrap();
    let settings = "INSERT INTO venue VALUES ('name', 'The Old Bar'), ('currency', 'EUR'), ('time_zone', 'UTC')";
    conn.execute(settings, []).unwrap();
    conn.execute("INSERT INTO place (name, name_key, walk) VALUES ('Roof', 'roof', 99)", []).unwrap();
    drop(conn);
    let form = bar.json(&["restore", older.to_str().unwrap(), "--json"]);
    assert_eq!((&form["holds"]["version"], &form["holds"]["bar"]), (&7.into(), &"The Old Bar".into()));
    assert!(has(&bar.book(), "Roof"));
    let list = bar.json(&["backup", "--list", "--json"]);
    let whys: Vec<&str> = list["copies"].as_array().unwrap().iter().map(|copy| copy["why"].as_str().unwrap()).collect();
    assert!(whys.contains(&"before version 8") && whys.contains(&"before restore"), "{whys:?}");
}

// While it is open elsewhere.

#[test]
fn a_book_that_is_open_on_a_screen_is_not_replaced() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    let mut screens = on_book(&bar.book(), demo::NOW);
    screens.args(["--by", "OM"]);
    let mut open = Session::start(screens, 80, 24);
    open.until_text("Closing count");
    let said = bar.refused(&["restore", "1"]);
    assert!(said.contains("is open elsewhere") && said.contains("open: OM on Tonight"), "{said}");
    open.slay();
    let said = bar.says(&["restore", "1"]);
    assert!(said.contains("is again as it was in"), "{said}");
    assert!(!present::folder_of(&bar.book()).exists(), "what the killed one left is cleared away");
}

/// Also one that says nothing of itself and does nothing, in a process that has opened the book twice and left it once.
#[test]
fn a_book_that_an_idle_process_has_open_is_not_replaced() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    let store = bar.store();
    drop(bar.store());
    let said = bar.refused(&["restore", "1"]);
    assert!(said.contains("is open elsewhere") && said.contains("nothing was changed"), "{said}");
    drop(store);
    bar.says(&["restore", "1"]);
}

#[test]
fn screens_whose_book_was_replaced_go_over_to_the_new_one() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    bar.mark("Roof");
    let store = bar.store();
    store.still_there().unwrap();
    let mut app = App::new(bar.store(), Options::default(), demo::now()).unwrap();
    while app.is_copying() {
        app.idle(demo::now());
    }
    assert!(shown(&mut app).contains("Roof"));
    // By hand, as no command does it.
    fs::copy(bar.copies().join("2026-11-23T0130 by hand.tantalus"), bar.path("new")).unwrap();
    fs::rename(bar.path("new"), bar.book()).unwrap();
    for log in ["demo.tantalus-wal", "demo.tantalus-shm"] {
        fs::remove_file(bar.path(log)).unwrap();
    }
    assert!(matches!(store.still_there(), Err(StoreError::Replaced { .. })));
    assert!(app.idle(demo::now()));
    let screen = shown(&mut app);
    assert!(screen.contains("another book was put in the place") && !screen.contains("Roof"), "{screen}");
    // And none at all: nothing is written any more, and that is said.
    fs::remove_file(bar.book()).unwrap();
    assert!(app.idle(demo::now()));
    assert!(shown(&mut app).contains("is not the file any more that was opened"));
    assert!(!bar.book().exists());
}

fn shown(app: &mut App) -> String {
    let mut terminal = ratatui::Terminal::new(ratatui::backend::TestBackend::new(100, 40)).unwrap();
    terminal.draw(|frame| app.draw(frame, demo::now())).unwrap();
    let cells = terminal.backend().buffer().content.chunks(100);
    cells.map(|row| row.iter().map(|cell| cell.symbol()).collect::<String>() + "\n").collect()
}

// Killed.

/// This very test as a process of its own: what it is to do stands in its environment.
fn child(role: &str, settings: &[(&str, &str)]) -> Child {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command.args(["--exact", "in_a_process_of_its_own", "--nocapture"]).env("TEST_ROLE", role);
    command.envs(settings.iter().copied()).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap()
}

/// Ends this process as a power cut would.
fn die() -> ! {
    let id = std::process::id().to_string();
    Command::new("kill").args(["-9", &id]).status().unwrap();
    loop {
        std::thread::sleep(Duration::from_secs(1));
    }
}

const STEPS: [Step; 5] = [Step::Verified, Step::Kept, Step::Written, Step::Cleared, Step::Renamed];

/// Does nothing unless it was started by one of the other tests.
#[test]
fn in_a_process_of_its_own() {
    let Ok(role) = std::env::var("TEST_ROLE") else { return };
    let path = |name: &str| PathBuf::from(std::env::var_os(name).unwrap());
    match role.as_str() {
        "restore" => {
            let last: usize = std::env::var("TEST_STEP").unwrap().parse().unwrap();
            let mut tell = |step: Step| {
                if step == STEPS[last] {
                    die();
                }
            };
            restore(&path("TEST_BOOK"), &path("TEST_COPY"), demo::now(), false, &mut tell).unwrap();
        }
        "enter" => {
            let _guard = present::enter(&path("TEST_BOOK"), "the other process").unwrap();
            std::thread::sleep(Duration::from_secs(60));
        }
        other => panic!("{other}"),
    }
}

/// The book as a crash leaves it: what was written last stands in its log alone.
fn crashed(bar: &Bar, place: &str) {
    let store = bar.store();
    add_place(&store, place);
    let [book, log] = ["demo.tantalus", "demo.tantalus-wal"].map(|name| fs::read(bar.path(name)).unwrap());
    drop(store);
    fs::write(bar.path("demo.tantalus"), book).unwrap();
    fs::write(bar.path("demo.tantalus-wal"), log).unwrap();
}

#[test]
fn killed_at_any_step_there_is_the_one_book_or_the_other() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    let copy = bar.copies().join("2026-11-23T0130 by hand.tantalus");
    for (n, step) in STEPS.into_iter().enumerate() {
        let place = format!("Roof {n}");
        crashed(&bar, &place);
        let number = n.to_string();
        let book = bar.book();
        let settings =
            [("TEST_BOOK", book.to_str().unwrap()), ("TEST_COPY", copy.to_str().unwrap()), ("TEST_STEP", &number)];
        let ended = child("restore", &settings).wait().unwrap();
        assert!(!ended.success(), "{step:?}: it was killed");
        assert_eq!(has(&bar.book(), &place), step != Step::Renamed, "{step:?}");
        // What was begun is in nobody's way, and is cleared away.
        bar.says(&["restore", copy.to_str().unwrap()]);
        assert!(!has(&bar.book(), &place), "{step:?}");
        let left = names(bar.home.path()).into_iter().filter(|name| name.contains(".part-")).count();
        assert_eq!(left, 0, "{step:?}");
        let kept = names(&bar.copies()).into_iter().filter(|name| name.contains("before restore"));
        let with = kept.filter(|name| has(&bar.copies().join(name), &place)).count();
        assert!(with >= 1, "{step:?}: the book that was replaced is kept");
    }
}

#[test]
fn killed_at_any_moment_there_is_the_one_book_or_the_other() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    let copy = bar.copies().join("2026-11-23T0130 by hand.tantalus");
    bar.mark("Roof");
    bar.says(&["backup", "--to", bar.path("with.tantalus").to_str().unwrap()]);
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(5);
    for round in 0..30 {
        let from = if round % 2 == 0 { copy.clone() } else { bar.path("with.tantalus") };
        let before = has(&bar.book(), "Roof");
        let mut going = bar.command(&["restore", from.to_str().unwrap()]);
        let mut going = going.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        std::thread::sleep(Duration::from_micros(random.random_range(0..150_000)));
        going.kill().unwrap();
        going.wait().unwrap();
        let after = has(&bar.book(), "Roof");
        assert!(after == before || after == (round % 2 == 1), "round {round}");
    }
}

#[test]
fn who_is_gone_is_told_from_who_is_here() {
    let bar = Bar::new();
    let book = bar.book();
    let own = present::enter(&book, "this one").unwrap();
    let mut other = child("enter", &[("TEST_BOOK", book.to_str().unwrap())]);
    while own.others().unwrap().says.is_empty() {
        std::thread::sleep(Duration::from_millis(5));
    }
    assert_eq!(present::others(&book).unwrap().says, ["the other process", "this one"]);
    other.kill().unwrap();
    other.wait().unwrap();
    let there = own.others().unwrap();
    assert_eq!((there.says.len(), there.left_behind), (0, 1));
    assert_eq!(own.others().unwrap().left_behind, 0, "cleared away");
    drop(own);
    assert!(!present::folder_of(&book).exists());
}

// Without room.

#[cfg(target_os = "linux")]
#[test]
fn without_room_for_a_copy_of_it_no_book_is_replaced() {
    let allowed = Command::new("unshare").args(["-rm", "true"]).status();
    if !allowed.is_ok_and(|status| status.success()) {
        eprintln!("this system lets nobody mount small disks: not tried");
        return;
    }
    let bar = Bar::new();
    bar.says(&["backup", "--to", bar.path("copy.tantalus").to_str().unwrap()]);
    bar.mark("Roof");
    fs::create_dir(bar.path("small")).unwrap();
    // Room for the book and next to nothing beside it, then for the book and most of a copy, then for all.
    let book = fs::metadata(bar.path("demo.tantalus")).unwrap().len() / 1_024;
    let (alone, most) = (book + 180, book * 17 / 10);
    let script = format!(
        "set -e
        cd {}
        T=\"$T --book small/book.tantalus\"
        mount -t tmpfs -o size={alone}k tmpfs small
        cp demo.tantalus small/book.tantalus
        if $T restore copy.tantalus --even-without-copy 2>&1; then exit 1; fi
        $T check
        $T dump dumped >/dev/null
        grep -c Roof dumped/places.csv
        mount -o remount,size={most}k small
        rm -rf small/book.tantalus.copies
        if $T restore copy.tantalus 2>&1; then exit 1; fi
        $T check
        $T dump again >/dev/null
        grep -c Roof again/places.csv
        ls -A small
        mount -o remount,size=20m small
        $T restore copy.tantalus
        $T check",
        bar.home.path().display()
    );
    let mut command = Command::new("unshare");
    command.args(["-rm", "sh", "-c", &script]);
    let output = command.env("T", env!("CARGO_BIN_EXE_tantalus")).env("TANTALUS_NOW", demo::NOW).output().unwrap();
    let [out, err] = [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).unwrap());
    assert!(output.status.success(), "{out}\n{err}");
    assert_eq!(out.matches("the disk is full").count(), 2, "{out}");
    assert_eq!(out.matches("nothing was changed: the book is as it was").count(), 2, "{out}");
    assert_eq!(out.matches("The book is sound.").count(), 3, "{out}");
    assert_eq!(out.matches("\n1\n").count(), 2, "the book is the old one: {out}");
    assert!(!out.contains(".part-"), "{out}");
}

#[test]
fn what_cannot_be_read_is_kept_without_room_of_its_own() {
    let bar = Bar::new();
    bar.says(&["backup", "--to", bar.path("copy.tantalus").to_str().unwrap()]);
    fs::write(bar.book(), "spilled over").unwrap();
    // Where nothing can be kept, somebody has to say so.
    fs::write(bar.copies(), "in the way").unwrap();
    let copy = bar.path("copy.tantalus");
    let said = bar.refused(&["restore", copy.to_str().unwrap()]);
    assert!(said.contains("never replaced without a copy") && said.contains("--even-without-copy"), "{said}");
    assert_eq!(fs::read(bar.book()).unwrap(), b"spilled over");
    let done = restore(&bar.book(), &copy, demo::now(), true, &mut |_| {}).unwrap();
    assert_eq!(done.before, Before::Lost);
    assert!(has(&bar.book(), "Speed rail"));
    // A book that can be read is kept all the same, or nothing is done.
    let said = bar.refused(&["restore", copy.to_str().unwrap(), "--even-without-copy"]);
    assert!(said.contains("nothing was changed"), "{said}");
}

/// Whoever opens the book just then waits, and has the one that stands there afterwards.
#[test]
fn who_opens_the_book_meanwhile_has_the_one_or_the_other() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    let copy = bar.copies().join("2026-11-23T0130 by hand.tantalus");
    let done = AtomicBool::new(false);
    std::thread::scope(|scope| {
        let open = || {
            let mut opened = 0;
            while !done.load(Ordering::Relaxed) {
                let output = command(&bar.book(), &["people"]).output().unwrap();
                let said = String::from_utf8_lossy(&output.stderr);
                assert!(output.status.success(), "{said}");
                opened += 1;
            }
            opened
        };
        let others = [scope.spawn(open), scope.spawn(open)];
        let mut restored = 0;
        while restored < 6 && !others.iter().any(|other| other.is_finished()) {
            // Refused as long as somebody has it open.
            let output = command(&bar.book(), &["restore", copy.to_str().unwrap()]).output().unwrap();
            let said = String::from_utf8_lossy(&output.stderr);
            assert!(output.status.success() || said.contains("open elsewhere") || said.contains("busy"), "{said}");
            restored += usize::from(output.status.success());
        }
        done.store(true, Ordering::Relaxed);
        let opened: Vec<i32> = others.into_iter().map(|other| other.join().unwrap()).collect();
        assert!(restored == 6 && opened.iter().all(|opened| *opened > 0), "{restored}, {opened:?}");
    });
}
