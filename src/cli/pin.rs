//! Asking for a PIN, unseen.

use super::Refusal;
use crate::system;
use std::env;
use std::io::IsTerminal;

/// Where a script says a PIN.
const SAID: &str = "TANTALUS_PIN";

/// The PIN of somebody who signs: out of the environment, or asked for where somebody sits at a terminal; none otherwise.
///
/// # Errors
/// [`Refusal`] when the terminal cannot be read.
pub(super) fn of(initials: &str) -> Result<Option<String>, Refusal> {
    match env::var(SAID) {
        Ok(pin) if !pin.trim().is_empty() => Ok(Some(pin)),
        _ if std::io::stdin().is_terminal() && std::io::stderr().is_terminal() => {
            asked(&format!("PIN of {initials}: ")).map(Some)
        }
        _ => Ok(None),
    }
}

/// A new PIN, asked for twice; in a script, the first line of standard input.
///
/// # Errors
/// [`Refusal`]: the two are not alike, or nothing can be read.
pub(super) fn new(initials: &str) -> Result<String, Refusal> {
    if !std::io::stdin().is_terminal() {
        let mut line = String::new();
        std::io::stdin().read_line(&mut line).map_err(|why| unread(&why))?;
        return Ok(line.trim().to_owned());
    }
    let first = asked(&format!("new PIN of {initials}: "))?;
    let again = asked("the same once more: ")?;
    if first == again { Ok(first) } else { Err(Refusal::new("the two are not alike; nothing was changed")) }
}

fn asked(prompt: &str) -> Result<String, Refusal> {
    rpassword::prompt_password(prompt).map_err(|why| unread(&why))
}

fn unread(why: &std::io::Error) -> Refusal {
    Refusal::new(format!("the PIN could not be read: {}", system::words(why)))
}
