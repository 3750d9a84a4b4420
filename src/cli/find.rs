//! Finding what was named on the command line.

use super::Refusal;
use crate::domain::venue::name_key;
use crate::tui::text::safe;

/// Names told in a hint.
const TOLD: usize = 12;

/// The one of that name, or the only one whose name begins so. Case does not matter, nor what a terminal never shows.
///
/// # Errors
/// [`Refusal`] with the names that come near.
pub(super) fn one<'a, T>(what: &str, all: &'a [T], name: impl Fn(&T) -> &str, typed: &str) -> Result<&'a T, Refusal> {
    if let Some(exact) = all.iter().find(|t| name_key(name(t)) == name_key(typed)) {
        return Ok(exact);
    }
    let seen = |text: &str| name_key(&safe(text));
    let key = seen(typed);
    let matching = |fits: &dyn Fn(&str) -> bool| all.iter().filter(|t| fits(&seen(name(t)))).collect::<Vec<_>>();
    for found in [matching(&|n| n == key), matching(&|n| !key.is_empty() && n.starts_with(&key))] {
        if let [only] = found[..] {
            return Ok(only);
        }
    }
    let mut near = matching(&|n| !key.is_empty() && n.contains(&key));
    let mut hint = "near it";
    if near.is_empty() && all.len() <= TOLD {
        (near, hint) = (all.iter().collect(), "there are");
    }
    let refusal = Refusal::new(format!("no {what} is called “{typed}”"));
    if near.is_empty() {
        return Err(refusal);
    }
    let names: Vec<&str> = near.iter().take(TOLD).map(|t| name(t)).collect();
    let more = if near.len() > TOLD { ", and more" } else { "" };
    Err(refusal.hint(format!("{hint}: {}{more}", names.join(", "))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn by_name_by_beginning_or_not_at_all() {
        let all = ["Harbour rum", "Harbour gin", "Gin\x1b[0m dry", "Gin"];
        let find = |typed| one("item", &all, |n| n, typed).copied().map_err(|r| r.to_string());
        assert_eq!(find("harbour RUM"), Ok("Harbour rum"));
        assert_eq!(find("gin"), Ok("Gin"), "a whole name wins over a beginning");
        assert_eq!(find("Gin[0m dry"), Ok("Gin\x1b[0m dry"), "as a terminal shows it");
        assert_eq!(find("harbour r"), Ok("Harbour rum"));
        assert!(find("harbour").is_err_and(|r| r.contains("near it: Harbour rum, Harbour gin")));
        assert!(find("x").is_err_and(|r| r.contains("there are: Harbour rum")));
        assert!(find("").is_err());
    }
}
