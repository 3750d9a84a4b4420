//! How whoever sits at this machine wants the screens: kept in a small file of their own, not in the book.

use crate::system;
use crate::tui::theme::Look;
use serde::{Deserialize, Serialize};
use std::fs;
use std::io;
use std::path::Path;

/// What was chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Habits {
    /// The colours.
    pub look: Look,
    /// Whether the mouse is the program's; otherwise it is the terminal's, which marks text with it.
    pub mouse: bool,
}

impl Default for Habits {
    fn default() -> Habits {
        Habits { look: Look::Terminal, mouse: true }
    }
}

/// As it is written; what is not there, or not known, is as usual.
#[derive(Serialize, Deserialize)]
struct Written {
    #[serde(default)]
    look: Option<String>,
    #[serde(default)]
    mouse: Option<bool>,
}

impl Habits {
    /// What is kept in a file; as usual where there is none, or none that can be read.
    pub fn read(path: &Path) -> Habits {
        let text = fs::read_to_string(path).unwrap_or_default();
        let written: Option<Written> = serde_json::from_str(&text).ok();
        let usual = Habits::default();
        Habits {
            look: written.as_ref().and_then(|w| Look::parse(w.look.as_deref()?).ok()).unwrap_or(usual.look),
            mouse: written.and_then(|w| w.mouse).unwrap_or(usual.mouse),
        }
    }

    /// Keeps it, in the folder of the file, which is made where it is missing.
    ///
    /// # Errors
    /// In words, why it cannot be kept.
    pub fn write(&self, path: &Path) -> Result<(), String> {
        let written = Written { look: Some(self.look.word().to_owned()), mouse: Some(self.mouse) };
        let text = serde_json::to_string(&written).map_err(|error| error.to_string())?;
        let kept = || -> io::Result<()> {
            path.parent().map_or(Ok(()), fs::create_dir_all)?;
            fs::write(path, text)
        };
        kept().map_err(|error| system::words(&error))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_is_read_again_and_anything_else_is_as_usual() {
        let home = tempfile::tempdir().unwrap();
        let path = home.path().join("not there yet").join("screens.json");
        assert_eq!(Habits::read(&path), Habits::default());
        for look in Look::ALL {
            let habits = Habits { look: *look, mouse: *look == Look::Dark };
            habits.write(&path).unwrap();
            assert_eq!(Habits::read(&path), habits);
        }
        for odd in ["", "no json", "{\"look\":\"plaid\",\"mouse\":\"no\"}", "[1]", "{\"later\":1}"] {
            fs::write(&path, odd).unwrap();
            assert_eq!(Habits::read(&path), Habits::default(), "{odd}");
        }
        let file = home.path().join("file");
        fs::write(&file, "").unwrap();
        assert!(Habits::default().write(&file.join("below a file")).is_err());
    }
}
