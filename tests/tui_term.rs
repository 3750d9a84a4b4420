//! The terminal is given back as it was found: after a normal end, a panic, a suspend and a signal.
//!
//! Each test runs this same file's `child` in a pseudo-terminal and reads its screen.

#[path = "support/pty.rs"]
mod pty;

use portable_pty::{CommandBuilder, PtySize};
use pty::Session;
use ratatui::crossterm::event::{self, Event, KeyCode};
use ratatui::text::{Line, Span};
use std::process::Command;
use std::time::Duration;
use tantalus::tui::term::Term;
use tantalus::tui::theme::Theme;

const CHILD: &str = "TANTALUS_TERM_CHILD";

/// The program under test: shows a count of keys; `p` panics, `w` panics in another thread, `z` suspends, `q` ends.
#[test]
fn child() {
    if std::env::var_os(CHILD).is_none() {
        return;
    }
    let mut term = Term::enter(true).expect("a terminal");
    let theme = Theme::from_env(std::env::var_os("NO_COLOR").is_some());
    let mut keys = 0;
    while !term.stop_requested() {
        let size = term.size();
        let text = format!("keys {keys} in {}x{} ready", size.width, size.height);
        let marked = Span::styled(" marked", theme.over.patch(theme.selected));
        let line = Line::from(vec![Span::raw(text), marked]);
        term.draw(|frame| frame.render_widget(line, frame.area())).expect("a frame");
        if !event::poll(Duration::from_millis(20)).expect("events") {
            continue;
        }
        let Event::Key(key) = event::read().expect("an event") else { continue };
        keys += 1;
        match key.code {
            KeyCode::Char('p') => panic!("planted"),
            KeyCode::Char('w') => assert!(std::thread::spawn(|| panic!("planted aside")).join().is_err()),
            KeyCode::Char('z') => term.suspend().expect("back again"),
            KeyCode::Char('q') => break,
            _ => {}
        }
    }
    drop(term);
    println!("left in order");
}

/// This same file's `child` in a window of this size.
fn start(cols: u16, rows: u16) -> Session {
    with_colour(cols, rows, true)
}

fn with_colour(cols: u16, rows: u16, colour: bool) -> Session {
    let mut command = CommandBuilder::new(std::env::current_exe().expect("this test"));
    command.args(["--exact", "child", "--nocapture", "--test-threads=1"]);
    command.env(CHILD, "1");
    command.env("RUST_BACKTRACE", "0");
    command.env_remove("NO_COLOR");
    if !colour {
        command.env("NO_COLOR", "1");
    }
    Session::start(command, cols, rows)
}

#[test]
fn a_normal_end() {
    let mut session = start(80, 24);
    session.until_text("keys 0 in 80x24 ready");
    let screen = session.screen.screen();
    assert!(screen.alternate_screen() && screen.bracketed_paste() && screen.hide_cursor());
    assert!(!session.lines_are_cooked());
    session.press("q");
    session.until_text("left in order");
    let raw = String::from_utf8_lossy(&session.end()).into_owned();
    for query in ["\x1b[6n", "\x1b[c", "\x1b[>c", "\x1b[?u", "]10;?", "]11;?", "\x1b[14t", "\x1b[18t"] {
        assert!(!raw.contains(query), "the terminal was asked {query:?}");
    }
    let frames = raw.matches("\x1b[?2026h").count();
    assert!((1..=3).contains(&frames), "{frames} frames for one picture");
}

#[test]
fn a_panic_gives_the_terminal_back_before_it_speaks() {
    let mut session = start(80, 24);
    session.until_text("ready");
    session.press("p");
    session.until("the message on the shell's screen", |screen| {
        !screen.alternate_screen() && screen.contents().contains("planted")
    });
    session.end();
}

#[test]
fn a_panic_elsewhere_does_not_end_the_picture() {
    let mut session = start(80, 24);
    session.until_text("ready");
    session.press("w");
    session.until("the picture again", |screen| {
        screen.alternate_screen() && screen.contents().contains("keys 1 in 80x24 ready")
    });
    assert!(!session.lines_are_cooked());
    session.press("q");
    session.until("both messages", |screen| {
        !screen.alternate_screen()
            && screen.contents().contains("planted aside")
            && screen.contents().contains("left in")
    });
    session.end();
}

#[test]
fn a_suspend_and_back_in_another_size() {
    let mut session = start(80, 24);
    session.until_text("ready");
    session.press("z");
    session.until("the shell's screen", |screen| !screen.alternate_screen() && !screen.hide_cursor());
    wait_for(|| session.lines_are_cooked());
    session.is_given_back();
    session.master.resize(PtySize { rows: 30, cols: 100, pixel_width: 0, pixel_height: 0 }).expect("a new size");
    session.signal("-CONT");
    session.until("the picture again", |screen| {
        screen.alternate_screen() && screen.contents().contains("keys 1 in 100x30 ready")
    });
    session.press("q");
    session.until_text("left in order");
    session.end();
}

const OPENER: &str = "TANTALUS_TERM_OPENER";

/// A window that is closed with the program still in it: starts the program in a terminal, says its number, and is gone.
#[test]
fn opener() {
    if std::env::var_os(OPENER).is_none() {
        return;
    }
    let mut session = start(80, 24);
    session.until_text("ready");
    println!("program {}", session.child.process_id().expect("it runs"));
    std::process::exit(0);
}

#[test]
fn a_closed_window_ends_the_program() {
    let opened = Command::new(std::env::current_exe().expect("this test"))
        .args(["--exact", "opener", "--nocapture", "--test-threads=1"])
        .env(OPENER, "1")
        .output()
        .expect("the opener");
    let said = String::from_utf8_lossy(&opened.stdout).into_owned();
    let id = said.lines().find_map(|line| line.rsplit_once("program ")).expect("a number").1.to_owned();
    wait_for(|| !Command::new("kill").args(["-0", &id]).output().expect("kill").status.success());
}

#[test]
fn signals_end_it_in_order() {
    for name in ["-TERM", "-HUP", "-INT"] {
        let mut session = start(80, 24);
        session.until_text("ready");
        session.signal(name);
        session.until_text("left in order");
        session.end();
    }
}

#[test]
fn a_window_without_a_size_is_taken_for_the_classic_one() {
    let mut session = start(0, 0);
    session.until_text("keys 0 in 80x24 ready");
    session.press("q");
    session.until_text("left in order");
    session.end();
}

#[test]
fn the_mark_is_seen_with_and_without_colour() {
    for colour in [true, false] {
        let mut session = with_colour(80, 24, colour);
        session.until_text("marked");
        let cell = session.screen.screen().cell(0, 22).expect("a cell");
        assert_eq!((cell.contents(), cell.inverse(), cell.bold()), ("m", true, true));
        assert_eq!(cell.fgcolor() == vt100::Color::Default, !colour);
        session.press("q");
        session.until_text("left in order");
        session.end();
    }
}

fn wait_for(done: impl Fn() -> bool) {
    for _ in 0..1_000 {
        if done() {
            return;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    panic!("it did not come about");
}
