//! What is wrong with a cell: where it is, what was read, what was expected.

use super::Plain;
use std::fmt;

/// Faults that are shown to a person; the rest is counted.
pub const SHOWN: usize = 200;
/// Faults that are kept at all: a wrong million-line file must not fill the memory.
const KEPT: usize = 1_000;
/// Characters of a cell that are shown.
const LONGEST: usize = 60;

/// One thing wrong in a folder of plain files.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Fault {
    /// The file.
    pub file: String,
    /// Line of the file, from 1; none when it is about the file as a whole.
    pub line: Option<u64>,
    /// The column, where it is about one.
    pub column: Option<&'static str>,
    /// What was read, fit to be printed; none when nothing was looked at.
    pub read: Option<String>,
    /// What was expected, or what is wrong, in words.
    pub expected: String,
}

impl Fault {
    /// About a whole file.
    pub fn of_file(file: &str, expected: impl Into<String>) -> Fault {
        // What is expected may quote what was read.
        let expected = harmless(expected.into().chars());
        Fault { file: printable(file), line: None, column: None, read: None, expected }
    }

    /// About a line.
    pub fn of_line(file: Plain, line: u64, expected: impl Into<String>) -> Fault {
        Fault { line: Some(line), ..Fault::of_file(file.name(), expected) }
    }

    /// About a cell.
    pub fn of_cell(file: Plain, line: u64, column: &'static str, read: &str, expected: impl Into<String>) -> Fault {
        Fault { column: Some(column), read: Some(printable(read)), ..Fault::of_line(file, line, expected) }
    }
}

/// A text that cannot move the cursor, colour the screen or turn the writing round.
fn harmless(text: impl Iterator<Item = char>) -> String {
    let mut out = String::new();
    for c in text {
        if crate::domain::venue::is_hidden(c) { out.extend(c.escape_unicode()) } else { out.push(c) }
    }
    out
}

/// The same, and not too long.
fn printable(text: &str) -> String {
    let mut out = harmless(text.chars().take(LONGEST));
    if text.chars().nth(LONGEST).is_some() {
        out.push('…');
    }
    out
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(line) = self.line {
            f.write_str(&say!(" line {line}", line))?;
        }
        if let Some(column) = self.column {
            write!(f, ", {column}")?;
        }
        match self.read.as_deref() {
            Some("") => f.write_str(&say!(": nothing is written; {expected}", expected = self.expected)),
            Some(read) => write!(f, ": “{read}”: {}", self.expected),
            None => write!(f, ": {}", self.expected),
        }
    }
}

/// All that is wrong with a folder.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Faults {
    /// The first ones.
    pub list: Vec<Fault>,
    /// How many there are in all.
    pub count: usize,
}

impl Faults {
    /// Notes one.
    pub fn push(&mut self, fault: Fault) {
        self.count += 1;
        if self.list.len() < KEPT {
            self.list.push(fault);
        }
    }

    /// Notes those of another reader behind these.
    pub fn append(&mut self, others: Faults) {
        let unlisted = others.count - others.list.len();
        others.list.into_iter().for_each(|fault| self.push(fault));
        self.count += unlisted;
    }

    /// Nothing wrong.
    pub fn is_empty(&self) -> bool {
        self.count == 0
    }

    /// Puts them in the order of the files and their lines.
    pub fn sort(&mut self) {
        let place = |fault: &Fault| Plain::ALL.iter().position(|p| p.name() == fault.file);
        self.list.sort_by_key(|fault| (place(fault), fault.line));
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (n, fault) in self.list.iter().take(SHOWN).enumerate() {
            let gap = if n == 0 { "" } else { "\n" };
            write!(f, "{gap}{fault}")?;
        }
        if self.count > SHOWN {
            f.write_str(&say!("\n… and {list} more", list = self.count - SHOWN.min(self.list.len())))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_says_where_what_and_why_and_cannot_write_on_the_terminal() {
        let fault = Fault::of_cell(Plain::Stock, 12, "size", "700 mls", "unknown unit “mls”");
        assert_eq!(fault.to_string(), "stock.csv line 12, size: “700 mls”: unknown unit “mls”");
        let fault = Fault::of_cell(Plain::Stock, 12, "size", "", "expected a quantity");
        assert_eq!(fault.to_string(), "stock.csv line 12, size: nothing is written; expected a quantity");
        let fault = Fault::of_cell(Plain::Stock, 2, "item", "a\u{1b}[2Jb\u{202e}", "no");
        assert_eq!(fault.to_string(), "stock.csv line 2, item: “a\\u{1b}[2Jb\\u{202e}”: no");
        let quoted = Fault::of_cell(Plain::Stock, 2, "size", "7\u{1b}", "unknown unit “\u{1b}”");
        assert_eq!(quoted.to_string(), "stock.csv line 2, size: “7\\u{1b}”: unknown unit “\\u{1b}”");
        let long = Fault::of_cell(Plain::Stock, 2, "item", &"x".repeat(5_000), "no");
        assert!(long.to_string().len() < 200);
    }

    #[test]
    fn many_faults_are_counted_not_listed() {
        let mut faults = Faults::default();
        for line in 0..5_000 {
            faults.push(Fault::of_line(Plain::Sales, line, "no"));
        }
        let text = faults.to_string();
        assert_eq!(text.lines().count(), SHOWN + 1);
        assert!(text.ends_with("… and 4800 more"), "{text}");
        assert_eq!(faults.list.len(), KEPT);
    }
}
