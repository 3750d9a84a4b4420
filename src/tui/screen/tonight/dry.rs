//! What is likely to run dry before more of it comes: first on the list, with what can be done today.

use super::draw::Said;
use super::{Due, Section, TonightScreen};
use crate::domain::measure::number_of;
use crate::domain::rows::{DryRow, DryVan, LowRow, Tonight};
use crate::domain::venue::{DayRule, DrinkId, Item};
use crate::tui::screen::{Scene, containers_with_u, when, with_u};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::words;
use chrono::NaiveDate;

/// So many are listed at first: on a bad evening the rest of what is due has to stay in view.
const FIRST: usize = 5;
/// Vans, and drinks that fall, that are named.
const VANS: usize = 2;
const DRINKS: usize = 3;

/// The lines, with one that shows or hides those that do not run dry first. One alone is not hidden behind a line.
pub(super) fn lines(rows: &[DryRow], all: bool) -> Vec<Due> {
    if rows.is_empty() {
        return Vec::new();
    }
    let first = if rows.len() <= FIRST + 1 { rows.len() } else { FIRST };
    let shown = if all { rows.len() } else { first };
    let mut out = vec![Due::Heading(Section::Dry)];
    out.extend(rows[..shown].iter().map(|row| Due::Dry(row.item)));
    if first < rows.len() {
        out.push(Due::MoreDry(rows.len() - first));
    }
    out
}

/// What runs low and is not among what is likely to run dry.
pub(super) fn low_besides(rows: &Tonight) -> impl Iterator<Item = &LowRow> {
    rows.low.iter().filter(|low| !rows.dry.iter().any(|dry| dry.item == low.item))
}

/// The line that stands for the rest.
pub(super) fn more_line(more: usize, all: bool, theme: &Theme) -> Said {
    let (name, tells) = match all {
        true => {
            (say!("only the first {FIRST}", FIRST), say!("Enter lists only the {FIRST} that run dry first.", FIRST))
        }
        false => {
            let likely = if more == 1 { word!("is") } else { word!("are") };
            (
                say!("and {more} more", more),
                say!("{more} more {likely} likely to run dry later. Enter lists them.", more, likely),
            )
        }
    };
    Said { name, facts: Vec::new(), style: theme.text, tells }
}

impl TonightScreen {
    /// An item: how much there is, when it runs dry, how surely, and the first thing that can be done.
    pub(super) fn dry_line(&self, row: &DryRow, scene: Scene) -> Said {
        let Some(item) = self.setup.item(row.item) else {
            return Said { name: String::new(), facts: Vec::new(), style: scene.theme.text, tells: String::new() };
        };
        let days = &self.setup.venue.days;
        let there = containers_with_u(self.setup.venue.show(), item.size, row.on_hand, scene.theme);
        let when = match (row.is_dry(), row.day, row.comes) {
            (true, ..) => word!("now").to_owned(),
            (false, Some(date), _) if date == days.day_of(scene.now) => word!("tonight").to_owned(),
            (false, Some(date), _) => weekday(date, scene, days),
            (false, None, Some(comes)) => say!("by {day}", day = weekday(comes, scene, days)),
            (false, None, None) => String::new(),
        };
        let does = match (row.made_here, row.vans.first(), row.ordered) {
            (true, ..) => word!("make it").to_owned(),
            (false, Some(van), _) => match van.by.and_then(|by| Some((by, days.date_of(by)?))) {
                Some((by, date)) => {
                    say!("order by {day} {by}", day = weekday(date, scene, days), by = days.clock(by))
                }
                None => word!("order any time").to_owned(),
            },
            (false, None, true) => word!("on its way").to_owned(),
            (false, None, false) => word!("nobody offers it").to_owned(),
        };
        let facts = vec![there, when, row.chance_words(), does];
        Said {
            name: text::safe(&item.name),
            facts,
            style: scene.theme.warning,
            tells: self.dry_tells(row, item, scene),
        }
    }

    fn dry_tells(&self, row: &DryRow, item: &Item, scene: Scene) -> String {
        let (show, days) = (self.setup.venue.show(), &self.setup.venue.days);
        let mut out = text::safe(&item.name);
        let before = match (row.made_here, row.comes, row.ordered) {
            (true, ..) => word!("tonight").to_owned(),
            (false, Some(comes), true) => {
                say!("before what is on its way comes {comes}", comes = when::day(scene.now, comes, days))
            }
            (false, Some(comes), false) => say!("before more comes {comes}", comes = when::day(scene.now, comes, days)),
            (false, None, _) => word!("within four weeks, and nobody offers it").to_owned(),
        };
        if row.is_dry() {
            out.push_str(&say!(": none is left, {before}", before));
        } else {
            let there = show.containers(row.on_hand.amount, item.size);
            out.push_str(&say!(
                ": {there} left ({day})",
                there,
                day = with_u(show, item.basis, row.on_hand, scene.theme)
            ));
            if let Some(date) = row.day {
                out.push_str(&say!(", most likely dry in the course of {day}", day = self.evening(date, scene)));
            }
            out.push_str(&say!(". Dry {before}: {chance_words}", before, chance_words = row.chance_words()));
        }
        let ways = self.ways_out(row, scene);
        if !ways.is_empty() {
            out.push_str(&say!(". Today: {ways}", ways = ways.join("; ")));
        }
        out.push('.');
        out
    }

    /// A business day; that which still runs is tonight.
    fn evening(&self, date: NaiveDate, scene: Scene) -> String {
        let days = &self.setup.venue.days;
        if date == days.day_of(scene.now) { word!("tonight").to_owned() } else { when::day(scene.now, date, days) }
    }

    fn order_words(&self, van: &DryVan, scene: Scene) -> String {
        match van.by {
            Some(by) => say!("order by {by}", by = when::day_and_clock(scene.now, by, &self.setup.venue.days)),
            None => word!("order any time").to_owned(),
        }
    }

    /// What can be done about it today.
    fn ways_out(&self, row: &DryRow, scene: Scene) -> Vec<String> {
        let (setup, days) = (&self.setup, &self.setup.venue.days);
        let mut out = Vec::new();
        if row.made_here {
            out.push(word!("make a batch (Enter)").to_owned());
        }
        for van in row.vans.iter().take(VANS) {
            let from = text::safe(setup.supplier(van.supplier).map_or("?", |s| &s.name));
            let comes = when::day(scene.now, van.comes, days);
            let about = if van.by.is_some() { "" } else { word!("about ") };
            out.push(say!(
                "{day} from {from}, comes {about}{comes}",
                day = self.order_words(van, scene),
                from,
                about,
                comes
            ));
        }
        let sizes: Vec<String> = row.sizes.iter().map(|other| text::safe(setup.item_name(*other))).collect();
        if !sizes.is_empty() {
            let there = if sizes.len() == 1 { word!("is there") } else { word!("are there") };
            out.push(format!("{} {there}", sizes.join(word!(" and "))));
        }
        if !row.drinks.is_empty() {
            out.push(say!("else off the menu: {drinks}", drinks = self.drink_names(&row.drinks)));
        }
        out
    }

    /// The names of the first drinks, and how many more there are.
    fn drink_names(&self, drinks: &[DrinkId]) -> String {
        let name = |drink: &DrinkId| self.setup.drink(*drink).map_or("?".to_owned(), |drink| text::safe(&drink.name));
        let named: Vec<String> = drinks.iter().take(DRINKS).map(name).collect();
        match drinks.len().saturating_sub(DRINKS) {
            0 => named.join(", "),
            more => say!(
                "{named} and {more}",
                named = named.join(", "),
                more = number_of(more, word!("more drink"), word!("more drinks"))
            ),
        }
    }
}

/// A day of the week to come by its weekday, which has the same width in every row; one further off in full.
fn weekday(date: NaiveDate, scene: Scene, days: &DayRule) -> String {
    let ahead = (date - days.day_of(scene.now)).num_days();
    if (0..7).contains(&ahead) { words::day(date, "%a") } else { words::day(date, "%a %-d %b") }
}
