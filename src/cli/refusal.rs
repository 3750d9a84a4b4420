//! Why a command was refused, as people read it.

use crate::desk::DeskError;
use crate::tui::text::safe;
use std::fmt;

/// Why a command did nothing: what is wrong, and where it can be said, what to do about it.
#[derive(Debug)]
pub struct Refusal {
    sentence: String,
    details: Vec<String>,
    hint: Option<String>,
}

impl Refusal {
    /// A refusal without a hint.
    pub fn new(sentence: impl Into<String>) -> Refusal {
        Refusal { sentence: sentence.into(), details: Vec::new(), hint: None }
    }

    /// The same with a line for each thing that is wrong.
    #[must_use]
    pub fn details(mut self, details: Vec<String>) -> Refusal {
        self.details = details;
        self
    }

    /// The same with one line more.
    #[must_use]
    pub fn and(mut self, line: impl Into<String>) -> Refusal {
        self.details.push(line.into());
        self
    }

    /// The same with what to do.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Refusal {
        self.hint = Some(hint.into());
        self
    }
}

impl From<DeskError> for Refusal {
    /// Refusals of the desk read “what is wrong; what to do”; further lines are details.
    fn from(error: DeskError) -> Refusal {
        if let DeskError::Faults(faults) = &error {
            return Refusal {
                sentence: "the files are not right, and nothing was loaded".to_owned(),
                details: faults.to_string().lines().map(str::to_owned).collect(),
                hint: Some("mend these and load again".to_owned()),
            };
        }
        let said = error.to_string();
        let mut lines = said.lines();
        let first = lines.next().unwrap_or_default();
        let details = lines.map(str::to_owned).collect();
        match first.rsplit_once("; ") {
            Some((sentence, hint)) => Refusal { sentence: sentence.to_owned(), details, hint: Some(hint.to_owned()) },
            None => Refusal { sentence: first.to_owned(), details, hint: None },
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "tantalus: {}", safe(&self.sentence))?;
        for line in self.details.iter().chain(&self.hint) {
            writeln!(f, "  {}", safe(line))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_wrong_and_what_to_do_stand_apart() {
        let said = DeskError::Refused("two lines are wrong; mend the file\nline 3: no item \x1b[2J".to_owned());
        let want = "tantalus: two lines are wrong\n  line 3: no item [2J\n  mend the file\n";
        assert_eq!(Refusal::from(said).to_string(), want);
        assert_eq!(Refusal::new("no").to_string(), "tantalus: no\n");
    }
}
