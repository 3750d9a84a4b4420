//! One item made here: how much to make, its recipe, its batches.

use super::HouseScreen;
use crate::domain::measure::{Amount, Basis, number_of};
use crate::domain::rows::{HouseLine, HouseView, MakeAdvice};
use crate::domain::venue::{Item, ItemId, Seq};
use crate::tui::keymap::Action;
use crate::tui::screen::{Scene, serve, with_u};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::facts::Facts;
use crate::tui::widget::scroll::Scroll;
use crate::words;
use chrono::NaiveDate;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};

/// An item's page.
pub(super) struct Page {
    pub(super) item: ItemId,
    /// The version of the recipe looked at; none is that of today.
    version: Option<usize>,
    /// Which batch the cursor is on, the newest first.
    picked: usize,
    scroll: Scroll,
    /// Whether the batch under the cursor is to be in view: it was just moved.
    follow: bool,
}

impl Page {
    pub(super) fn of(item: ItemId) -> Page {
        Page { item, version: None, picked: 0, scroll: Scroll::default(), follow: true }
    }

    pub(super) fn version(&self) -> Option<usize> {
        self.version
    }

    /// The batch under the cursor.
    pub(super) fn batch(&self, line: &HouseLine) -> Option<Seq> {
        line.batches.get(self.picked.min(line.batches.len().checked_sub(1)?)).map(|batch| batch.seq)
    }

    pub(super) fn apply(&mut self, action: Action, view: &HouseView) {
        let batches = view.line(self.item).map_or(0, |line| line.batches.len());
        match action {
            Action::Up | Action::Down => {
                let last = batches.saturating_sub(1);
                let here = self.picked.min(last);
                self.picked = if action == Action::Up { here.saturating_sub(1) } else { (here + 1).min(last) };
                self.follow = true;
            }
            Action::OtherVersion => {
                let versions = view.setup.recipes.get(&self.item).map_or(0, |all| all.iter().count());
                let today = view.setup.recipes.get(&self.item).and_then(|all| all.at(view.larder.day)).map(|(n, _)| n);
                let here = self.version.or(today).unwrap_or(0);
                self.version = (versions > 1).then(|| (here + 1) % versions);
            }
            _ => {
                self.scroll.apply(action);
            }
        }
    }
}

impl HouseScreen {
    pub(super) fn draw_page(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let [head, body] = Layout::vertical([Constraint::Length(2), Constraint::Fill(1)]).areas(area);
        let Some(item) = self.page.as_ref().map(|page| page.item) else { return };
        let Some(what) = self.view.setup.item(item) else { return };
        frame.render_widget(Span::styled(text::fit(&text::safe(&what.name), head.width.into()), theme.title), head);
        let (lines, at) = self.page_lines(what, body.width.into(), theme);
        if let Some(page) = &mut self.page {
            if std::mem::take(&mut page.follow) {
                page.scroll.show(at);
            }
            page.scroll.draw(frame, body, lines, theme);
        }
    }

    /// The lines, and which of them the cursor is on.
    fn page_lines(&self, item: &Item, wide: usize, theme: &Theme) -> (Vec<Line<'static>>, usize) {
        let setup = &self.view.setup;
        let show = setup.venue.show();
        let mut page = Facts::new(serve::LABEL + 2, wide, theme);
        let (Some(line), Some(at)) = (self.view.line(item.id), self.page.as_ref()) else { return (page.lines, 0) };
        let there = match line.on_hand {
            Some(level) => with_u(show, item.basis, level, theme),
            None => word!("never counted: count it once, and batches take what goes in from stock as they are made")
                .to_owned(),
        };
        page.fact(word!("On hand"), [there]);
        page.fact(word!("To make"), self.make_words(line, item));
        page.lines.push(Line::default());
        let picked = self.batch_lines(&mut page, line, item, at);
        page.lines.push(Line::default());
        self.recipe_lines(&mut page, item, at);
        (page.lines, picked)
    }

    fn make_words(&self, line: &HouseLine, item: &Item) -> Vec<String> {
        match self.advice(line) {
            Some(advice) => advice_words(&self.view, line, item, &advice),
            None => vec![word!("no sales are in the book that say what is asked of it").to_owned()],
        }
    }

    fn recipe_lines(&self, page: &mut Facts, item: &Item, at: &Page) {
        let setup = &self.view.setup;
        let show = setup.venue.show();
        let versions: Vec<_> = setup.recipes.get(&item.id).into_iter().flat_map(|all| all.iter()).collect();
        let today = setup.recipes.get(&item.id).and_then(|all| all.at(self.view.larder.day)).map_or(0, |(n, _)| n);
        let here = at.version.unwrap_or(today).min(versions.len().saturating_sub(1));
        let Some((from, recipe)) = versions.get(here).map(|(from, recipe)| (*from, recipe)) else { return };
        let of = if versions.len() > 1 {
            say!(", version {here} of {versions}", here = here + 1, versions = versions.len())
        } else {
            String::new()
        };
        let title = say!("One batch takes ({from}{of})", from = serve::since(from), of);
        page.lines.push(Line::from(Span::styled(title, page.theme.title)));
        for part in &recipe.takes {
            let cost = serve::part_cost_words(setup, &self.view.larder.costs, part);
            let mut row = format!(
                "  {} {} ",
                text::pad_right(&text::safe(setup.item_name(part.item)), 30),
                text::pad_left(&text::safe(&part.written), 10),
            );
            if self.view.sees_costs() {
                row.push_str(&format!("{} ", text::pad_left(&cost, 8)));
            }
            row.push(' ');
            let note = Span::styled(serve::beside(setup, part), page.theme.muted);
            page.lines.push(Line::from(vec![Span::raw(row), note]));
        }
        if let Some(water) = &recipe.water {
            let row = format!(
                "  {} {}",
                text::pad_right(word!("Water from the tap"), 30),
                text::pad_left(&water.written, 10)
            );
            page.lines.push(Line::from(row));
        }
        let all = self.view.larder.contents.of_batch(recipe);
        let computed = crate::domain::drink::computed_yield(item.basis, all.mix).ok();
        let mut makes = vec![show.amount(item.basis, recipe.yields)];
        match (recipe.written.is_some(), computed) {
            (true, Some(computed)) => makes.push(say!(
                "as measured; computed from what is known, {computed}",
                computed = show.amount(item.basis, computed)
            )),
            (true, None) => makes.push(word!("as measured").to_owned()),
            (false, _) => makes.push(word!("computed from what goes in, at 20 °C").to_owned()),
        }
        page.fact(word!("Makes"), makes);
        if item.basis == Basis::Volume
            && let Some(content) = self.view.larder.contents.of(item.id)
        {
            let mix = content.mix;
            let mut said = vec![say!(
                "{brix} brix, {grams_per_litre} g/l",
                brix = words::fixed(mix.brix(), 1),
                grams_per_litre = words::fixed(mix.grams_per_litre(), 0)
            )];
            if mix.ethanol > 0.0 {
                said.push(say!("{strength} % vol", strength = words::fixed(100.0 * mix.strength(), 1)));
            }
            said.extend(serve::unreckoned(setup, content));
            page.fact(word!("Sugar"), said);
        }
        if !self.view.sees_costs() {
            // Nothing of money.
        } else if let Some(unit) = self.view.larder.costs.of(item.id) {
            let (amount, word) = item.basis.usual_one();
            let batch = unit.of(recipe.yields, show.currency);
            let said = [
                format!("{} {word}", serve::money(setup, unit.of(amount, show.currency))),
                say!("{batch} a batch", batch = serve::money(setup, batch)),
            ];
            page.fact(word!("Costs"), said);
        } else {
            page.fact(word!("Costs"), [word!("not known: the price of something in it is missing")]);
        }
        serve::allergens(page, setup, &self.view.larder.allergens.of(item.id));
        let keeps = match item.keeps_days {
            Some(1) => word!("1 day by your setting: the day it is made").to_owned(),
            Some(days) => say!("{days} days by your setting, the day it is made being the first", days),
            None => word!("no keeping time is set").to_owned(),
        };
        page.fact(word!("Keeps"), [keeps]);
        let caution = word!(
            "Keeping time is your decision under your own food-safety plan, and a reminder here, not advice; \
                       sugar or alcohol does not prove that it keeps. Know what you infuse: some botanicals are harmful \
                       or not allowed. Local codes and licensed practice decide."
        );
        page.aside([caution]);
    }

    /// The batches, the newest first; gives the line the cursor is on.
    fn batch_lines(&self, page: &mut Facts, line: &HouseLine, item: &Item, at: &Page) -> usize {
        let setup = &self.view.setup;
        let show = setup.venue.show();
        let days = setup.venue.days;
        page.lines.push(Line::from(Span::styled(word!("Batches"), page.theme.title)));
        if line.batches.is_empty() {
            page.lines.push(Line::from(word!("  none is booked yet")));
            return 0;
        }
        let picked = at.batch(line);
        let mut selected = 0;
        for batch in &line.batches {
            let left = line.left.iter().find(|left| left.batch.seq == batch.seq);
            let mut said = vec![days.short(batch.at), show.amount(item.basis, batch.made)];
            said.extend(batch.by.as_deref().map(text::safe));
            match left {
                Some(left) => {
                    said.push(left.left.map_or(word!("perhaps some left").to_owned(), |left| {
                        say!("{left} left", left = show.amount(item.basis, left))
                    }));
                    said.extend(left.use_by.map(|use_by| until_words(setup, use_by, self.view.larder.day)));
                }
                None if line.on_hand.is_none() => said.push(word!("taken to be used up").to_owned()),
                None => said.push(word!("used up").to_owned()),
            }
            said.extend(batch.note.as_deref().map(text::safe));
            let here = picked == Some(batch.seq);
            if here {
                selected = page.lines.len();
            }
            let past = left.and_then(|left| left.use_by).is_some_and(|use_by| use_by.day < self.view.larder.day);
            let style = match (here, past) {
                (true, _) => page.theme.selected,
                (false, true) => page.theme.warning,
                (false, false) => page.theme.text,
            };
            page.lines.push(Line::from(Span::styled(format!("  {}", said.join("  ")), style)));
        }
        selected
    }
}

/// Until when a batch keeps, in words.
pub(super) fn until_words(
    setup: &crate::domain::venue::Setup,
    use_by: crate::domain::drink::UseBy,
    today: NaiveDate,
) -> String {
    let day = words::day(use_by.day, "%a %-d %b");
    let because =
        use_by.because_of.map_or(String::new(), |item| say!(" (by {item})", item = text::safe(setup.item_name(item))));
    if use_by.day < today {
        say!("PAST ITS DATE, {day}{because}", day, because)
    } else {
        say!("keeps until {day}{because}", day, because)
    }
}

/// How much to make, and why.
pub(super) fn advice_words(view: &HouseView, line: &HouseLine, item: &Item, advice: &MakeAdvice) -> Vec<String> {
    let setup = &view.setup;
    let show = setup.venue.show();
    let amount = |amount: Amount| show.amount(item.basis, amount);
    let days = number_of(advice.days, word!("day"), word!("days"));
    let mut said = vec![say!("{make} for {days}", make = amount(advice.make), days)];
    if let Some(recipe) = view.recipe(line.item).filter(|recipe| recipe.yields > Amount::ZERO) {
        said.push(say!("{yields} batches", yields = words::fixed(advice.make.per(recipe.yields), 1)));
    }
    said.push(say!(
        "{mean} asked, give or take {sd}",
        mean = amount(Amount::rounded(advice.demand.mean)),
        sd = amount(Amount::rounded(advice.demand.sd()))
    ));
    said.push(match advice.usable {
        Some(usable) => say!("{usable} there that will be used in time", usable = amount(usable)),
        None => word!("how much is there is not known, so none is taken off").to_owned(),
    });
    if !view.sees_costs() {
        // How sure it is to be follows from what it costs and earns.
        return said;
    }
    if advice.weighed {
        let dearer = if advice.ratio >= 0.5 {
            word!("running out costs more than throwing away")
        } else {
            word!("throwing away costs more than running out")
        };
        said.push(say!("enough {ratio} times of 100: {dearer}", ratio = words::fixed(100.0 * advice.ratio, 0), dearer));
        said.push(say!("{over} of it thrown away on average", over = amount(advice.over)));
    } else {
        said.push(say!("enough {ratio} times of 100", ratio = words::fixed(100.0 * advice.ratio, 0)));
    }
    said
}

/// An item made here as plain text: what its page shows.
pub fn page_text(view: HouseView, item: &Item, days: Option<u64>) -> String {
    const WIDE: usize = 96;
    let mut screen = HouseScreen::new(view, None);
    (screen.page, screen.days) = (Some(Page::of(item.id)), days);
    let (lines, _) = screen.page_lines(item, WIDE, &Theme::default());
    format!("{}\n\n{}", text::safe(&item.name), text::plain(&lines))
}
