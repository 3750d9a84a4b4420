//! The strip of the days ahead: how surely an item lasts, and which vans can bring more of it; a cell a day.

use crate::domain::rows::{Lasts, StripDay, Van};
use crate::tui::theme::Theme;
use chrono::{Datelike, NaiveDate};
use ratatui::text::{Line, Span};

/// The days that a strip shows at the most.
pub const MOST: u16 = 28;
/// The letters of so many days from one on, for the head of a column.
pub fn weekdays(first: NaiveDate, days: u16) -> &'static str {
    // Of five weeks, so that from any weekday on there are MOST.
    let letters = word!("MTWTFSSMTWTFSSMTWTFSSMTWTFSSMTWTFSS");
    let from = first.weekday().num_days_from_monday() as usize;
    let at = |n: usize| letters.char_indices().nth(n).map_or(letters.len(), |(at, _)| at);
    &letters[at(from)..at(from + usize::from(days.min(MOST)))]
}

/// The sign of a day. A day with a van has the van's: how surely it lasts is told by the days around it.
pub fn sign(day: &StripDay, theme: &Theme) -> Span<'static> {
    let (glyph, style) = match (day.van, day.lasts) {
        (Some(van), _) => (of_van(van, theme), theme.title),
        (None, Lasts::Dry) => (of_lasts(Lasts::Dry, theme), theme.warning),
        (None, lasts) => (of_lasts(lasts, theme), theme.text),
    };
    Span::styled(glyph.to_string(), style)
}

/// The first so many days.
pub fn strip(days: &[StripDay], cells: u16, theme: &Theme) -> Line<'static> {
    Line::from(days.iter().take(cells.into()).map(|day| sign(day, theme)).collect::<Vec<_>>())
}

/// What the signs mean, a part each.
pub fn legend(theme: &Theme) -> Vec<String> {
    let lasts = Lasts::ALL.iter().map(|lasts| format!("{} {}", of_lasts(*lasts, theme), lasts.word()));
    let vans = Van::ALL.iter().map(|van| format!("{} {}", of_van(*van, theme), van.words()));
    lasts.chain(vans).collect()
}

fn of_lasts(lasts: Lasts, theme: &Theme) -> char {
    let [certain, likely, uncertain, dry] = theme.glyphs.lasts;
    match lasts {
        Lasts::Certain => certain,
        Lasts::Likely => likely,
        Lasts::Uncertain => uncertain,
        Lasts::Dry => dry,
    }
}

fn of_van(van: Van, theme: &Theme) -> char {
    let [ordered, possible] = theme.glyphs.vans;
    match van {
        Van::Ordered => ordered,
        Van::Possible => possible,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::venue::parse_day;

    #[test]
    fn a_cell_a_day() {
        let monday = parse_day("2026-11-16").unwrap();
        let chances = [1.0, 0.95, 0.94, 0.75, 0.5, 0.25, 0.24, 0.0];
        let days: Vec<StripDay> = monday
            .iter_days()
            .zip(chances)
            .enumerate()
            .map(|(n, (day, chance))| {
                let van = [(1, Van::Possible), (4, Van::Ordered)].into_iter().find(|(at, _)| *at == n);
                StripDay { day, lasts: Lasts::of(chance), van: van.map(|(_, van)| van) }
            })
            .collect();
        let theme = Theme::default();
        assert_eq!(strip(&days, 28, &theme).to_string(), "▇◇▅▅◆▂××");
        assert_eq!(strip(&days, 3, &theme.ascii()).to_string(), "#v+");
        assert_eq!(
            legend(&theme.ascii()).join("  "),
            "# certain  + likely  - uncertain  x likely dry  V ordered, comes  v next vans"
        );
        assert_eq!(weekdays(monday, 9), "MTWTFSSMT");
        assert_eq!(weekdays(monday.pred_opt().unwrap(), 60).len(), 28);
    }
}
