//! Holds the house to its plan: reads the `use` lines of every file and fails on an arrow that is not allowed.

#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::{Path, PathBuf};

/// A room, and the rooms it may import from. Everything else of the crate is out of bounds for it.
const HOUSE: &[(&str, &[&str])] = &[
    ("domain", &["domain"]),
    ("store", &["store", "domain", "system"]),
    ("exchange", &["exchange", "domain", "system"]),
    ("tui", &["tui", "domain"]),
    ("desk", &["desk", "store", "exchange", "domain"]),
    ("cli", &["cli", "desk", "exchange", "domain", "app", "clock", "tui", "system"]),
    ("app", &["app", "tui", "desk", "domain", "clock", "system"]),
    ("clock", &["domain"]),
    ("system", &[]),
    ("words", &[]),
];

/// What any room may import from: the words that all of them say.
const EVERYWHERE: &str = "words";

/// Inside the domain: a room and those it may import from, besides itself.
const DOMAIN: &[(&str, &[&str])] = &[
    ("measure", &[]),
    ("venue", &["measure"]),
    ("copies", &["venue"]),
    ("gauge", &["measure", "venue"]),
    ("statistics", &[]),
    ("many", &[]),
    ("ledger", &["measure", "venue", "gauge"]),
    ("drink", &["measure", "statistics", "venue", "gauge", "ledger"]),
    ("usage", &["measure", "statistics", "many", "venue", "gauge", "ledger", "drink"]),
    ("par", &["measure", "statistics", "venue", "gauge", "ledger", "drink", "usage"]),
    ("order", &["measure", "statistics", "venue", "gauge", "ledger", "drink", "usage", "par"]),
    ("till", &["measure", "statistics", "venue", "ledger"]),
    ("receive", &["measure", "venue", "ledger", "order"]),
    (
        "rows",
        &[
            "measure",
            "statistics",
            "venue",
            "copies",
            "gauge",
            "ledger",
            "drink",
            "usage",
            "par",
            "order",
            "till",
            "receive",
        ],
    ),
];

/// Words that must not stand in a room: each belongs to one other place.
const WORDS: &[(&str, &[&str])] = &[
    (
        "domain",
        &["rusqlite", "ratatui", "crossterm", "clap", "std::fs", "std::env", "Utc::now", "SystemTime", "Instant::now"],
    ),
    ("store", &["ratatui", "crossterm", "clap", "Utc::now", "SystemTime"]),
    ("exchange", &["rusqlite", "ratatui", "crossterm", "clap", "Utc::now", "SystemTime"]),
    ("tui", &["rusqlite", "clap", "std::fs", "Utc::now", "SystemTime"]),
    ("desk", &["ratatui", "crossterm", "clap", "Utc::now", "SystemTime", "std::fs"]),
    ("cli", &["rusqlite", "Utc::now", "SystemTime"]),
    ("app", &["rusqlite", "clap", "Utc::now", "SystemTime"]),
];

fn files(under: &Path, out: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(under).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

/// The room that a file belongs to: the first folder or the file's own stem under `base`.
fn room(path: &Path, base: &Path) -> String {
    let first = path.strip_prefix(base).unwrap().components().next().unwrap();
    first.as_os_str().to_string_lossy().trim_end_matches(".rs").to_owned()
}

/// Every `crate::…` path of a file with its line, groups written out, comments left out.
fn imports(text: &str) -> Vec<(usize, String)> {
    let code: Vec<&str> = text.lines().map(|line| line.split("//").next().unwrap_or_default()).collect();
    let code = code.join("\n");
    let starts = code.match_indices("crate::").filter(|(at, _)| !code[..*at].ends_with('$'));
    let found = starts.flat_map(|(at, word)| {
        let line = code[..at].matches('\n').count() + 1;
        written_out("", &code[at + word.len()..]).into_iter().map(move |path| (line, path))
    });
    found.collect()
}

/// Writes out `a::{b, c::{d, e}}` as `a::b`, `a::c::d`, `a::c::e`; stops where the path ends.
fn written_out(prefix: &str, rest: &str) -> Vec<String> {
    let rest = rest.trim_start();
    let end = rest.find(|c: char| !(c.is_alphanumeric() || c == '_' || c == ':')).unwrap_or(rest.len());
    let path = format!("{prefix}{}", &rest[..end]);
    let Some(group) = rest[end..].strip_prefix('{').filter(|_| path.is_empty() || path.ends_with("::")) else {
        return vec![path];
    };
    let (mut depth, mut from, mut out) = (0, 0, Vec::new());
    for (at, c) in group.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => {
                out.extend(written_out(&path, &group[from..at]));
                break;
            }
            '}' => depth -= 1,
            ',' if depth == 0 => {
                out.extend(written_out(&path, &group[from..at]));
                from = at + 1;
            }
            _ => {}
        }
    }
    out
}

fn head(path: &str) -> &str {
    path.split(|c: char| !(c.is_alphanumeric() || c == '_')).next().unwrap_or_default()
}

#[test]
fn nothing_points_back() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut all = Vec::new();
    files(&src, &mut all);
    assert!(all.len() > 20, "the house is somewhere else");
    let mut wrong = Vec::new();
    for path in &all {
        let text = fs::read_to_string(path).unwrap();
        let name = path.strip_prefix(&src).unwrap().display().to_string();
        let here = room(path, &src);
        let Some((_, allowed)) = HOUSE.iter().find(|(room, _)| *room == here) else { continue };
        for (line, import) in imports(&text) {
            let to = head(&import);
            let known = HOUSE.iter().any(|(room, _)| *room == to);
            if known && to != EVERYWHERE && !allowed.contains(&to) {
                wrong.push(format!("{name}:{line}: {here} may not import {to}"));
            }
            if here == "domain" && to == "domain" {
                let base = src.join("domain");
                let inner = room(path, &base);
                let target = head(import.strip_prefix("domain::").unwrap_or_default()).to_owned();
                let Some((_, lower)) = DOMAIN.iter().find(|(room, _)| *room == inner) else { continue };
                if DOMAIN.iter().any(|(room, _)| *room == target)
                    && target != inner
                    && !lower.contains(&target.as_str())
                {
                    wrong.push(format!("{name}:{line}: domain/{inner} may not import domain/{target}"));
                }
            }
        }
        let (_, words) = WORDS.iter().find(|(room, _)| *room == here).copied().unwrap_or(("", &[]));
        for (n, line) in text.lines().enumerate() {
            let code = line.split("//").next().unwrap_or_default();
            for word in words.iter().filter(|w| code.contains(**w)) {
                wrong.push(format!("{name}:{}: {here} may not use {word}", n + 1));
            }
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn a_planted_import_is_noticed() {
    let text = "use crate::{\n  domain::{venue::Item, usage},\n store};\nlet x = crate::desk::load(); // crate::tui\n";
    let found: Vec<(usize, String)> = imports(text);
    let want = [(1, "domain::venue::Item"), (1, "domain::usage"), (1, "store"), (4, "desk::load")];
    assert_eq!(found, want.map(|(line, path)| (line, path.to_owned())));
}

/// What opens a connection to another machine, or would bring in something that does.
const NETWORK: &[&str] =
    &["std::net", "TcpStream", "TcpListener", "UdpSocket", "ToSocketAddrs", "UnixStream", "socket("];
const NETWORK_CRATES: &[&str] = &[
    "async-std",
    "curl",
    "hyper",
    "isahc",
    "libssh2-sys",
    "native-tls",
    "openssl",
    "quinn",
    "reqwest",
    "rustls",
    "socket2",
    "tokio",
    "ureq",
    "websocket",
];

#[test]
fn nothing_speaks_to_a_network() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut all = Vec::new();
    files(&root.join("src"), &mut all);
    for path in &all {
        let text = fs::read_to_string(path).unwrap();
        let said = NETWORK.iter().find(|word| text.contains(**word));
        assert!(said.is_none(), "{} speaks of {}", path.display(), said.unwrap());
    }
    let lock = fs::read_to_string(root.join("Cargo.lock")).unwrap();
    let crates: Vec<&str> = lock.lines().filter_map(|line| line.strip_prefix("name = \"")?.strip_suffix('"')).collect();
    assert!(crates.len() > 50, "the list of crates is written otherwise");
    for name in NETWORK_CRATES {
        assert!(!crates.contains(name), "{name}");
    }
}
