//! Copies of the book by what an owner does: closing counts, backing up by hand, a stick that comes and goes, disks that are
//! full or cannot be written.

#![allow(clippy::unwrap_used)]

#[path = "support/demo.rs"]
mod demo;
#[path = "support/owner.rs"]
mod owner;
#[path = "support/pty.rs"]
mod pty;

use owner::{Bar, add_place, close_a_count, has, later, names};
use pty::{Session, on_book};
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use serde_json::Value;
use std::fs;
use std::path::Path;
use tantalus::app::{App, Options};
use tantalus::desk::{comparing, copying};
use tantalus::domain::copies::Why;
use tantalus::domain::venue::Moment;
use tantalus::store::{Store, copies, setup};

// What is made.

#[test]
fn a_backup_lies_beside_the_book_and_opens() {
    let bar = Bar::new();
    let said = bar.says(&["backup"]);
    assert!(said.contains("demo.tantalus.copies/2026-11-23T0130 by hand.tantalus"), "{said}");
    assert!(said.contains("gone through: count “2026-11-21 rail”, sales until Mon 23 Nov 01:02"), "{said}");
    assert_eq!(names(&bar.copies()), ["2026-11-23T0130 by hand.tantalus"]);
    let copy = bar.copies().join("2026-11-23T0130 by hand.tantalus");
    assert_eq!(
        bar.store().read(setup::load).unwrap().items,
        Store::open(&copy).unwrap().read(setup::load).unwrap().items
    );
    // A second one in the same minute has a name of its own.
    let form = bar.json(&["backup", "--json"]);
    let written = form["written"][0].as_str().unwrap();
    assert!(written.ends_with("2026-11-23T0130 by hand 2.tantalus"), "{written}");
    assert_eq!((&form["trouble"], &form["holds"]["bar"]), (&Value::Null, &Value::from("The Ninth Lantern")));
}

#[cfg(unix)]
#[test]
fn a_copy_is_its_owners_alone_and_one_file() {
    use std::os::unix::fs::PermissionsExt;
    let bar = Bar::new();
    bar.says(&["backup"]);
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    let copy = bar.copies().join("2026-11-23T0130 by hand.tantalus");
    assert_eq!((mode(&bar.copies()), mode(&copy)), (0o700, 0o600));
    // Not in the mode that wants a log beside it: bytes 18 and 19 of the header are 1 (SQLite's file format, 1.3.3).
    assert_eq!(fs::read(&copy).unwrap()[18..20], [1, 1]);
}

#[test]
fn a_copy_holds_what_another_terminal_has_just_written_and_not_what_it_writes_meanwhile() {
    let bar = Bar::new();
    let store = bar.store();
    let other = bar.store();
    add_place(&other, "Roof");
    std::thread::scope(|scope| {
        let writing = scope.spawn(move || {
            for n in 0..200 {
                add_place(&other, &format!("Place {n}"));
            }
        });
        while !writing.is_finished() {
            let state = copying::copy(&store, Why::Asked, demo::now()).unwrap();
            assert_eq!(state.failed, None, "nothing that is written meanwhile is in the way");
        }
    });
    let newest = copies::list(&bar.copies(), &comparing::setup(&store).unwrap().venue.days).unwrap();
    assert!(has(&newest[0].path, "Roof"));
}

#[test]
fn copies_made_at_the_same_time_take_no_name_from_each_other() {
    let bar = Bar::new();
    let making: Vec<_> =
        (0..4).map(|_| bar.command(&["backup"]).stdout(std::process::Stdio::null()).spawn().unwrap()).collect();
    for mut command in making {
        assert!(command.wait().unwrap().success());
    }
    assert_eq!(names(&bar.copies()).len(), 4, "{:?}", names(&bar.copies()));
}

#[test]
fn a_backup_somewhere_else_replaces_nothing() {
    let bar = Bar::new();
    let file = bar.path("for the fair.tantalus");
    let said = bar.says(&["backup", "--to", file.to_str().unwrap()]);
    assert!(said.contains("for the fair.tantalus"), "{said}");
    let before = fs::read(&file).unwrap();
    let said = bar.refused(&["backup", "--to", file.to_str().unwrap()]);
    assert!(said.contains("exists already"), "{said}");
    let said = bar.refused(&["backup", "--to", bar.book().to_str().unwrap()]);
    assert!(said.contains("exists already"), "{said}");
    assert_eq!(fs::read(&file).unwrap(), before);
    assert!(!bar.copies().exists());
    fs::create_dir(bar.path("box")).unwrap();
    bar.says(&["backup", "--to", bar.path("box").to_str().unwrap()]);
    assert_eq!(names(&bar.path("box")), ["2026-11-23T0130 by hand.tantalus"]);
    let said = bar.refused(&["backup", "--to", "/no such folder/copy.tantalus"]);
    assert!(said.contains("no copy of the book could be made in /no such folder: there is no such file"), "{said}");
}

#[test]
fn a_count_typed_in_by_command_is_copied_before_the_command_ends() {
    let bar = Bar::new();
    fs::write(bar.path("sheet.txt"), "1 2.4\n").unwrap();
    let sheet = bar.path("sheet.txt");
    let args = ["--by", "OM", "count", "--from-sheet", sheet.to_str().unwrap(), "--close", "--sure"];
    let said = bar.says(&args);
    assert!(said.contains("Copied beside the book."), "{said}");
    assert_eq!(names(&bar.copies()), ["2026-11-23T0130 after closing.tantalus"]);
    let rows = copying::list(&bar.book()).unwrap();
    let count = rows[0].holds.as_ref().unwrap().count.clone().unwrap();
    assert!(count.closed.is_some() && count.name.contains("2026-11-22"), "{count:?}");
}

#[test]
fn what_was_not_copied_when_a_count_was_closed_is_copied_at_the_next_start() {
    let bar = Bar::new();
    let store = bar.store();
    let state = copying::catch_up(&store, demo::now()).unwrap();
    assert!(state.last.is_some(), "a book of closed counts had no copy at all");
    copying::catch_up(&store, later(1)).unwrap();
    assert_eq!(names(&bar.copies()).len(), 1, "nothing was closed since");
    close_a_count(&store, later(2));
    copying::catch_up(&store, later(3)).unwrap();
    assert_eq!(names(&bar.copies()).len(), 2);
}

/// Closes a count with one line in it, on the screens.
fn close_on_screen(app: &mut App) {
    for key in ['C', '\n', 'm', '1', '\n', 'x', '\n'] {
        let code = if key == '\n' { KeyCode::Enter } else { KeyCode::Char(key) };
        app.key(KeyEvent::new(code, KeyModifiers::NONE), demo::now());
    }
}

fn settle(app: &mut App) {
    while app.is_copying() {
        app.idle(demo::now());
    }
}

/// The line above the footer.
fn notice(app: &mut App) -> String {
    let mut terminal = ratatui::Terminal::new(ratatui::backend::TestBackend::new(120, 30)).unwrap();
    terminal.draw(|frame| app.draw(frame, demo::now())).unwrap();
    let rows = terminal.backend().buffer().content.chunks(120);
    let rows: Vec<String> = rows.map(|row| row.iter().map(|cell| cell.symbol()).collect::<String>()).collect();
    rows[rows.len() - 3..].join("\n")
}

#[test]
fn a_count_closed_on_the_screens_is_copied_and_said_to_be() {
    let bar = Bar::new();
    let mut app = App::new(bar.store(), Options::default(), demo::now()).unwrap();
    settle(&mut app);
    assert_eq!(names(&bar.copies()), ["2026-11-23T0130 after closing.tantalus"], "it had none");
    close_on_screen(&mut app);
    assert!(notice(&mut app).contains("the count is closed and kept; this is what it says"), "at once");
    settle(&mut app);
    let said = notice(&mut app);
    assert!(said.contains("the count is closed and kept; copied beside the book"), "{said}");
    assert_eq!(names(&bar.copies()).len(), 2);
}

#[test]
fn what_went_wrong_with_a_copy_takes_the_place_of_no_other_word() {
    let bar = Bar::new();
    let mut app = App::new(bar.store(), Options::default(), demo::now()).unwrap();
    settle(&mut app);
    fs::remove_dir_all(bar.copies()).unwrap();
    fs::write(bar.copies(), "in the way").unwrap();
    close_on_screen(&mut app);
    settle(&mut app);
    let said = notice(&mut app);
    assert!(said.contains("! the count is closed and kept, but there is no copy of the book yet"), "{said}");
}

#[test]
fn what_went_wrong_with_a_copy_waits_until_something_else_is_read() {
    let bar = Bar::new();
    let options = Options { orders: bar.path("orders"), ..Options::default() };
    let mut app = App::new(bar.store(), options, demo::now()).unwrap();
    settle(&mut app);
    fs::remove_dir_all(bar.copies()).unwrap();
    fs::write(bar.copies(), "in the way").unwrap();
    close_on_screen(&mut app);
    let key = |app: &mut App, code| app.key(KeyEvent::new(KeyCode::Char(code), KeyModifiers::NONE), demo::now());
    key(&mut app, 'w');
    settle(&mut app);
    assert!(notice(&mut app).contains("written: "), "{}", notice(&mut app));
    key(&mut app, 'j');
    app.idle(demo::now());
    assert!(notice(&mut app).contains("! there is no copy of the book yet"), "{}", notice(&mut app));
}

#[test]
fn who_leaves_as_soon_as_the_count_is_closed_has_its_copy() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    let mut screens = Session::start(on_book(&bar.book(), demo::NOW), 80, 24);
    screens.until_text("Closing count");
    screens.press_until("C", "Choose what to walk");
    screens.press_until("\r", "0 of ");
    screens.press("m1\r");
    screens.press_until("x", "closes the count");
    screens.press("\r\x03");
    screens.end();
    let counts = bar.says(&["count"]);
    assert!(names(&bar.copies()).contains(&"2026-11-23T0130 after closing.tantalus".to_owned()), "{counts}");
    assert!(!names(bar.home.path()).contains(&"demo.tantalus.here".to_owned()));
}

#[test]
fn the_demo_begun_anew_leaves_no_copies_of_the_old_one() {
    let bar = Bar::new();
    tantalus::desk::demo::open(&bar.book(), true, demo::now()).unwrap();
    copying::copy(&bar.store(), Why::Asked, demo::now()).unwrap();
    fs::copy(bar.book(), bar.copies().join("my own.tantalus")).unwrap();
    tantalus::desk::demo::open(&bar.book(), true, demo::now()).unwrap();
    assert_eq!(names(&bar.copies()), ["my own.tantalus"]);
}

// Which are kept.

#[test]
fn needless_copies_go_and_nothing_else_does() {
    let bar = Bar::new();
    let store = bar.store();
    for evening in 0..12 {
        copying::copy(&store, Why::Closing, Moment(demo::now().0 + evening * Moment::DAY)).unwrap();
    }
    let there = names(&bar.copies());
    assert!(there.len() < 12 && there.last().unwrap().starts_with("2026-12-04"), "{there:?}");
    assert!(!there.iter().any(|name| name.starts_with("2026-11-24")), "{there:?}");
    // Of another book, of no book, and under a name of somebody's own: none of these is ours to take away.
    let other = Bar::other();
    let foreign = "2026-11-01T0300 after closing.tantalus";
    fs::copy(other.book(), bar.copies().join(foreign)).unwrap();
    let broken = "2026-11-02T0300 after closing.tantalus";
    fs::write(bar.copies().join(broken), "SQLite format 3\0 and no more").unwrap();
    fs::copy(bar.book(), bar.copies().join("my own.tantalus")).unwrap();
    for evening in 12..24 {
        copying::copy(&store, Why::Closing, Moment(demo::now().0 + evening * Moment::DAY)).unwrap();
    }
    let there = names(&bar.copies());
    for name in [foreign, broken, "my own.tantalus"] {
        assert!(there.contains(&name.to_owned()), "{name}: {there:?}");
    }
}

#[test]
fn what_a_killed_copy_left_behind_goes_with_the_next_one() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    let part = "2026-11-22T0300 after closing.tantalus.part-1-0";
    fs::write(bar.copies().join(part), "half").unwrap();
    fs::write(bar.copies().join("letter.part-1-0"), "mine").unwrap();
    bar.says(&["backup"]);
    let there = names(&bar.copies());
    assert!(!there.contains(&part.to_owned()) && there.contains(&"letter.part-1-0".to_owned()), "{there:?}");
}

/// Were they cleared away by a copy that was made only, nothing would ever clear a disk that is full of them.
#[test]
fn what_killed_copies_left_behind_goes_before_the_next_one_is_written() {
    let bar = Bar::new();
    bar.says(&["backup"]);
    let part = "2026-11-22T0300 after closing.tantalus.part-1-0";
    fs::write(bar.copies().join(part), "half").unwrap();
    let days = bar.store().read(copies::holds).unwrap().days;
    // A book of which the last pages are gone opens, and is not copied.
    let mut pages = fs::read(bar.book()).unwrap();
    let half = pages.len() / 2;
    pages[half..].fill(0);
    fs::write(bar.book(), pages).unwrap();
    assert!(copies::add(&bar.store(), &bar.copies(), Why::Asked, demo::now(), &days).is_err());
    assert!(!names(&bar.copies()).contains(&part.to_owned()), "{:?}", names(&bar.copies()));
}

// The second folder.

#[test]
fn a_stick_is_caught_up_when_it_comes_back() {
    let bar = Bar::new();
    let stick = bar.path("stick");
    bar.second(&stick);
    let store = bar.store();
    let gone = copying::copy(&store, Why::Closing, demo::now()).unwrap();
    let trouble = gone.trouble().unwrap();
    assert!(
        trouble.ends_with("stick is not there: the copy of Mon 23 Nov 01:30 stands only beside the book"),
        "{trouble}"
    );
    assert!(gone.waits_for_a_stick() && !stick.exists(), "no folder is made where a stick should be");
    copying::copy(&store, Why::Closing, later(5)).unwrap();
    fs::create_dir(&stick).unwrap();
    let back = copying::catch_up(&store, later(6)).unwrap();
    assert_eq!(back.trouble(), None);
    let there = names(&stick.join("demo.tantalus.copies"));
    assert_eq!(there, ["2026-11-23T0135 after closing.tantalus"], "the newest is put there");
    assert!(back.whereabouts().unwrap().contains("beside the book and in "));
    // Nothing more is done while it has the newest.
    copying::catch_up(&store, later(7)).unwrap();
    assert_eq!(names(&stick.join("demo.tantalus.copies")).len(), 1);
    let rows = copying::list(&bar.book()).unwrap();
    assert_eq!((rows[0].paths.len(), rows[0].place(&bar.copies())), (2, "both"));
}

#[test]
fn one_stick_serves_two_bars_whose_books_have_the_same_name() {
    let (one, two) = (Bar::new(), Bar::other());
    let stick = tempfile::tempdir().unwrap();
    for bar in [&one, &two] {
        bar.second(stick.path());
        bar.says(&["backup"]);
    }
    let within = stick.path().join("demo.tantalus.copies");
    let there = names(&within);
    assert!(there.len() >= 2, "{there:?}");
    let of = |bar: &Bar| copying::list(&bar.book()).unwrap().into_iter().flat_map(|row| row.paths).collect::<Vec<_>>();
    let both = of(&one).into_iter().filter(|path| of(&two).contains(path)).count();
    assert_eq!(both, 0, "each lists its own");
    // One of them goes on and on; the other's newest stays.
    let kept = of(&two).into_iter().find(|path| path.starts_with(&within)).unwrap();
    let store = one.store();
    for evening in 1..20 {
        copying::copy(&store, Why::Closing, Moment(demo::now().0 + evening * Moment::DAY)).unwrap();
    }
    assert!(kept.exists());
}

#[test]
fn a_file_in_the_place_of_a_folder_is_said_and_counting_goes_on() {
    let bar = Bar::new();
    let stick = bar.path("stick");
    fs::create_dir(&stick).unwrap();
    bar.second(&stick);
    fs::remove_dir_all(stick.join("demo.tantalus.copies")).ok();
    fs::write(stick.join("demo.tantalus.copies"), "in the way").unwrap();
    let said = bar.says(&["backup"]);
    assert!(said.contains("stick takes no copy ("), "{said}");
    // And beside the book.
    fs::remove_dir_all(bar.copies()).unwrap();
    fs::write(bar.copies(), "in the way").unwrap();
    let said = bar.refused(&["backup"]);
    assert!(said.contains("there is no copy of the book yet: "), "{said}");
    let store = bar.store();
    close_a_count(&store, later(1));
    let state = copying::copy(&store, Why::Closing, later(1));
    assert!(state.is_ok_and(|state| state.failed.is_some()));
}

// Disks that are full or cannot be written.

/// Runs a script as root of a room of its own, where it may put small disks anywhere. Where the system allows no such
/// room, nothing is tried, and that is said.
#[cfg(target_os = "linux")]
fn with_disks(bar: &Bar, script: &str) -> Option<(String, String)> {
    let allowed = std::process::Command::new("unshare").args(["-rm", "true"]).status();
    if !allowed.is_ok_and(|status| status.success()) {
        eprintln!("this system lets nobody mount small disks: not tried");
        return None;
    }
    let script = format!("set -e\ncd {}\n{script}", bar.path("").display());
    let mut command = std::process::Command::new("unshare");
    command.args(["-rm", "sh", "-c", &script]);
    command.env("T", env!("CARGO_BIN_EXE_tantalus")).env("TANTALUS_BOOK", bar.book()).env("TANTALUS_NOW", demo::NOW);
    let output = command.output().unwrap();
    let [out, err] = [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).unwrap());
    assert!(output.status.success(), "{out}\n{err}");
    Some((out, err))
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_stick_is_said_and_the_copy_beside_the_book_is_made() {
    let bar = Bar::new();
    fs::create_dir(bar.path("stick")).unwrap();
    bar.second(&bar.path("stick"));
    let script = "mount -t tmpfs -o size=1m tmpfs stick\n$T backup\nls -A stick/demo.tantalus.copies";
    let Some((said, _)) = with_disks(&bar, script) else { return };
    assert!(
        said.contains("stick takes no copy (the disk is full): the copy of Mon 23 Nov 01:30 stands only"),
        "{said}"
    );
    assert!(said.trim_end().ends_with("beside the book"), "nothing half-made is left on the stick: {said}");
}

#[cfg(target_os = "linux")]
#[test]
fn a_stick_that_cannot_be_written_is_said() {
    let bar = Bar::new();
    fs::create_dir(bar.path("stick")).unwrap();
    bar.second(&bar.path("stick"));
    let script = "mount -t tmpfs -o ro tmpfs stick\n$T backup";
    let Some((said, _)) = with_disks(&bar, script) else { return };
    assert!(said.contains("stick takes no copy (nothing can be written on this disk)"), "{said}");
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_beside_the_book_leaves_the_stick_and_the_counting() {
    let bar = Bar::new();
    let [stick, copies] = [bar.path("stick"), bar.copies()];
    fs::create_dir(&stick).unwrap();
    bar.second(&stick);
    fs::create_dir_all(&copies).unwrap();
    fs::write(bar.path("sheet.txt"), "1 2.4\n").unwrap();
    let script = "mount -t tmpfs -o size=1m tmpfs demo.tantalus.copies
        if $T backup 2>&1; then exit 1; fi
        ls -A demo.tantalus.copies
        TANTALUS_BY=OM $T count --from-sheet sheet.txt --close --sure
        ls stick/demo.tantalus.copies
        $T check";
    let Some((said, _)) = with_disks(&bar, script) else { return };
    let want = "there is no copy of the book yet: the disk is full; the newest stands only in";
    assert_eq!(said.matches(want).count(), 2, "{said}");
    assert!(said.contains("make room there, or name another place with --to"), "{said}");
    assert!(said.contains("The count is closed") && said.contains("The book is sound."), "{said}");
    assert!(said.contains("2026-11-23T0130 after closing.tantalus\n"), "{said}");
}
