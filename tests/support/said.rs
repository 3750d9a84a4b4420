//! The texts that the screens say, as they stand in the source.

use proc_macro2::{Delimiter, Group, TokenStream, TokenTree};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// One text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Text {
    /// What it is said of, where the same words are said otherwise of something else; else empty.
    pub of: String,
    /// As it is written, with the names of what is filled in.
    pub text: String,
    /// The files that say it.
    pub files: BTreeSet<String>,
    /// The most cells that there is room for, where that is little.
    pub most: Option<usize>,
}

/// Tables whose every text is said, though none is marked.
const TABLES: &[&str] = &["src/tui/keymap/table.rs", "src/app/tour.rs"];

/// The names of what is filled in, in the order of the alphabet.
pub(crate) fn names(text: &str) -> BTreeSet<String> {
    text.split('{').skip(1).filter_map(|rest| rest.split_once('}')).map(|(name, _)| name.to_owned()).collect()
}

/// Every text of the project in a folder, by file and place.
pub(crate) fn texts(root: &Path) -> Vec<Text> {
    let mut files = Vec::new();
    sources(&root.join("src"), &mut files);
    files.sort();
    let mut out: Vec<Text> = Vec::new();
    for path in files {
        let name = path.strip_prefix(root).unwrap().to_string_lossy().replace('\\', "/");
        if name.starts_with("src/words") {
            continue;
        }
        let tokens: TokenStream = fs::read_to_string(&path).unwrap().parse().unwrap();
        let mut said = Vec::new();
        look(tokens, TABLES.contains(&name.as_str()), &mut said);
        for (of, text, most) in said {
            match out.iter_mut().find(|other| other.text == text && other.of == of) {
                Some(known) => {
                    known.files.insert(name.clone());
                    known.most = known.most.into_iter().chain(most).min();
                }
                None => out.push(Text { of, text, files: BTreeSet::from([name.clone()]), most }),
            }
        }
    }
    out
}

fn sources(under: &Path, out: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(under).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

/// Whether a text has anything to say: two letters beside what is filled in.
fn says(text: &str) -> bool {
    let mut outside = String::new();
    for part in text.split('{') {
        outside.push_str(part.split_once('}').map_or(part, |(_, rest)| rest));
        outside.push(' ');
    }
    outside.split(|c: char| !c.is_alphabetic()).any(|word| word.chars().count() > 1)
}

fn literal(token: &TokenTree) -> Option<String> {
    syn::parse2::<syn::LitStr>(token.clone().into()).ok().map(|literal| literal.value())
}

/// What it is said of, the text, the most cells.
type Said = (String, String, Option<usize>);

/// What a stretch of source says. `all` takes every literal, not only those that are marked.
fn look(tokens: TokenStream, all: bool, out: &mut Vec<Said>) {
    let tokens: Vec<TokenTree> = tokens.into_iter().collect();
    let is = |at: usize, c: char| matches!(tokens.get(at), Some(TokenTree::Punct(p)) if p.as_char() == c);
    let ident = |at: usize| match tokens.get(at) {
        Some(TokenTree::Ident(ident)) => Some(ident.to_string()),
        _ => None,
    };
    let mut at = 0;
    while at < tokens.len() {
        // `#![…]` too, as what a file says of itself.
        let bracket = at + 1 + usize::from(is(at + 1, '!'));
        if let (true, Some(TokenTree::Group(attribute))) = (is(at, '#'), tokens.get(bracket))
            && attribute.delimiter() == Delimiter::Bracket
        {
            at = bracket + 1;
            match is_of_tests(attribute) {
                true => at += item(&tokens[at..]),
                // The words of an error stand in its attribute.
                false => look(attribute.stream(), false, out),
            }
            continue;
        }
        match &tokens[at] {
            TokenTree::Ident(name) if is(at + 1, '!') => {
                if let Some(TokenTree::Group(group)) = tokens.get(at + 2) {
                    in_macro(&name.to_string(), group, all, out);
                    at += 3;
                    continue;
                }
            }
            TokenTree::Group(group) => {
                let called = at.checked_sub(1).and_then(ident).unwrap_or_default();
                in_call(&called, group, all, out);
            }
            token if all => {
                out.extend(literal(token).filter(|text| says(text)).map(|text| (String::new(), text, None)))
            }
            _ => {}
        }
        at += 1;
    }
}

/// Whether what follows an attribute is only there for tests.
fn is_of_tests(attribute: &Group) -> bool {
    attribute.stream().to_string().replace(' ', "") == "cfg(test)"
}

/// How many tokens the next item has.
fn item(tokens: &[TokenTree]) -> usize {
    let ends = |token: &TokenTree| match token {
        TokenTree::Group(g) => g.delimiter() == Delimiter::Brace,
        TokenTree::Punct(p) => p.as_char() == ';',
        _ => false,
    };
    tokens.iter().position(ends).map_or(tokens.len(), |end| end + 1)
}

/// The literals that stand in a group itself, not in groups within it.
fn literals(group: &Group) -> Vec<String> {
    group.stream().into_iter().filter_map(|token| literal(&token)).collect()
}

/// What a macro says.
fn in_macro(name: &str, group: &Group, all: bool, out: &mut Vec<Said>) {
    match name {
        "say" | "word" | "text" => {
            let inside: Vec<TokenTree> = group.stream().into_iter().collect();
            let [first, second] = [0, 3].map(|at| inside.get(at).and_then(literal));
            let of_something = matches!(inside.get(1), Some(TokenTree::Punct(p)) if p.as_char() == '=');
            let (of, text) = if of_something { (first, second) } else { (None, first) };
            out.extend(text.filter(|text| says(text)).map(|text| (of.unwrap_or_default(), text, None)));
            look(group.stream(), false, out);
        }
        "words" => table_of_words(group, out),
        "assert" | "assert_eq" | "macro_rules" => {}
        _ => look(group.stream(), all, out),
    }
}

/// What the arguments of a call say, and those within them.
fn in_call(called: &str, group: &Group, all: bool, out: &mut Vec<Said>) {
    let mut put = |text: &str, most| out.extend(says(text).then(|| (String::new(), text.to_owned(), most)));
    let literals = literals(group);
    match (called, literals.as_slice()) {
        // Scope, keys, action, the hint, and the sentence of the help.
        ("bind" | "typed", [.., hint, help]) if all => {
            put(hint, Some(16));
            put(help, Some(53));
            return;
        }
        ("bind" | "typed", _) if all => return,
        // The column, the title, what it asks; what is said above it.
        ("ask" | "begin", [_, title, about]) if says(title) => {
            put(title, Some(15));
            put(about, None);
        }
        ("begin", [heading]) => put(heading, None),
        // The pattern of a day.
        ("day", patterns) => {
            let names = |pattern: &&String| pattern.starts_with('%') && pattern.contains(['a', 'A', 'b', 'B']);
            out.extend(patterns.iter().filter(names).map(|pattern| (String::new(), pattern.clone(), None)));
        }
        _ => {}
    }
    look(group.stream(), all, out);
}

/// The spellings of a table of words.
fn table_of_words(group: &Group, out: &mut Vec<Said>) {
    for token in group.stream() {
        if let TokenTree::Group(inner) = token
            && inner.delimiter() == Delimiter::Brace
        {
            out.extend(literals(&inner).into_iter().filter(|t| says(t)).map(|t| (String::new(), t, None)));
        }
    }
}
