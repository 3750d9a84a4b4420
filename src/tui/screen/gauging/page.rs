//! Drawing one item: what an empty one weighs, how heavy the content is, its shape with the level in it, its weighings.

use super::draw::{reading_words, share_words};
use super::{GaugingScreen, Page, Typing};
use crate::domain::gauge::{Entry, Reading, Vessel, WeighedAs, Weighing};
use crate::domain::measure::{Amount, Basis};
use crate::domain::venue::Item;
use crate::tui::screen::{Scene, with_u};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::container;
use crate::tui::widget::facts::Facts;
use crate::tui::widget::panel::panel;
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};

/// Cells of the words before the facts, and of the picture beside them.
const LABEL: usize = 10;
const PICTURE: u16 = 26;

impl GaugingScreen {
    pub(super) fn draw_page(&mut self, frame: &mut Frame, area: Rect, scene: Scene) {
        let Some(mut page) = self.page.take() else { return };
        if let Some(item) = self.view.setup.item(page.item).cloned() {
            let theme = scene.theme;
            let inner = panel(frame, area, &text::safe(&item.name), theme);
            let picture = if inner.width >= 60 { PICTURE.min(inner.width / 3) } else { 0 };
            let [left, right] =
                Layout::horizontal([Constraint::Fill(1), Constraint::Length(picture)]).spacing(1).areas::<2>(inner);
            let below = if page.entry.is_some() { 4 } else { 0 };
            let [facts, entry] = Layout::vertical([Constraint::Fill(1), Constraint::Length(below)]).areas::<2>(left);
            let (lines, picked) = self.facts(&item, page.picked, facts.width.into(), theme);
            if page.picked > 0 {
                page.scroll.show(picked);
            }
            page.scroll.draw(frame, facts, lines, theme);
            self.draw_entry(&page, &item, frame, entry, theme);
            let vessel = self.view.vessel(item.id);
            match vessel.and_then(|v| v.outline.as_ref()) {
                Some(outline) if picture > 0 => {
                    let level = self.shown(&page, &item).map(|share| outline.height_of(share));
                    container::draw(frame, right, outline, level, theme);
                }
                _ => {
                    let said = Span::styled(word!("No shape yet: s or m"), theme.muted);
                    frame.render_widget(Paragraph::new(Line::from(said)), right);
                }
            }
        }
        self.page = Some(page);
    }

    /// How full the picture is: by the reading that is being tried, else by what was last read.
    fn shown(&self, page: &Page, item: &Item) -> Option<f64> {
        let reading = match tried_on(page) {
            Some(reading) => Some((reading, self.by.clone())),
            None => self.view.last.get(&item.id).map(|last| (last.reading, last.by.clone())),
        };
        let (reading, by) = reading?;
        self.view.level(item.id, reading, by.as_deref()).map(|level| level.amount.per(item.size))
    }

    /// The lines, and which of them the weighing under the cursor is.
    fn facts(&self, item: &Item, picked: usize, wide: usize, theme: &Theme) -> (Vec<Line<'static>>, usize) {
        let (mut page, mut at) = (Facts::new(LABEL, wide, theme), 0);
        let show = self.view.setup.venue.show();
        let size = show.amount(item.basis, item.size);
        page.fact(word!("holds"), vec![size, item.kind.said().to_owned()]);
        if let Some(vessel) = self.view.vessel(item.id) {
            page.fact(word!("empty"), empty_words(vessel, theme));
            page.fact(word!("content"), content_words(vessel, theme));
            if let Some(gross) = vessel.gross_of(vessel.size.as_f64()) {
                page.fact(
                    word!("full"),
                    vec![say!("weighs about {gross} g", gross = words::fixed(gross / 1_000.0, 0))],
                );
            }
            page.fact(word!("shape"), self.shape_words(item, vessel));
        }
        let exact = self.view.rows.iter().find(|row| row.item == item.id).map(|row| {
            let u = |u: f64| show.amount(item.basis, Amount::rounded(u));
            let pm = theme.glyphs.plus_minus;
            let mut said = vec![say!("{pm} {by_eye} by eye", pm, by_eye = u(row.by_eye))];
            said.extend(row.on_scale.filter(|_| row.can_weigh).map(|v| say!("{pm} {v} on the scale", pm, v = u(v))));
            said.extend(row.by_ruler.map(|v| say!("{pm} {v} by ruler", pm, v = u(v))));
            (said, self.lacks(row))
        });
        if let Some((said, lacks)) = exact {
            page.fact(word!("half full"), said);
            page.fact("", vec![lacks]);
        }
        if let Some(last) = self.view.last.get(&item.id) {
            let level = self.view.level(item.id, last.reading, last.by.as_deref());
            let level = level.map(|level| format!("= {}", with_u(show, item.basis, level, theme)));
            let mut said = vec![reading_words(last.reading)];
            said.extend(level);
            said.push(self.view.setup.venue.days.short(last.at));
            said.extend(last.by.as_ref().map(|by| text::safe(by)));
            page.fact(word!("last read"), said);
        }
        for (n, weighing) in self.view.weighings_of(item.id).enumerate() {
            let mark = if n == picked { "> " } else { "- " };
            let mut said = self.weighing_words(weighing);
            if let Some(first) = said.first_mut() {
                first.insert_str(0, mark);
            }
            page.fact(if n == 0 { word!("weighed") } else { "" }, said);
            if n == picked {
                at = page.lines.len().saturating_sub(1);
            }
        }
        (page.lines, at)
    }

    fn shape_words(&self, item: &Item, vessel: &Vessel) -> Vec<String> {
        let Some(shape) = item.shape else {
            return vec![word!("not known: s takes one of every book, m measures").to_owned()];
        };
        let mut said = vec![text::safe(self.view.setup.shape_name(shape))];
        if let Some(outline) = &vessel.outline {
            let (_, fill, top) = outline.marks();
            said.push(say!("{top} mm high", top = words::fixed(top, 0)));
            said.push(say!("a full one stands at {fill} mm", fill = words::fixed(fill, 0)));
        }
        said
    }

    fn weighing_words(&self, weighing: &Weighing) -> Vec<String> {
        let days = self.view.setup.venue.days;
        let mut said = vec![days.short(weighing.at), format!("{} {}", weighing.state, weighing.weight)];
        if let (WeighedAs::Opened, Some(seen)) = (weighing.state, weighing.seen) {
            let found = self.view.seen_by_scale(weighing).map(share_words);
            said.push(say!("the eye read {seen}", seen));
            said.extend(found.map(|share| say!("the scale {share}", share)));
        }
        said.extend(weighing.mark.as_ref().map(|mark| say!("marked {mark}", mark = text::safe(mark))));
        said.extend(weighing.by.as_ref().map(|by| text::safe(by)));
        said
    }

    fn draw_entry(&self, page: &Page, item: &Item, frame: &mut Frame, area: Rect, theme: &Theme) {
        let Some((typing, field)) = &page.entry else { return };
        let (title, hint) = match typing {
            Typing::Sealed => (
                word!("A full one weighs"),
                word!("As it comes: 1180g or 40.1kg. To weigh the same one when it is empty, a mark behind: 1180g A"),
            ),
            Typing::Empty => (
                word!("An empty one weighs"),
                word!("With what is on it in use, a pourer or its cap: 512g; and the mark of the full one: 512g A"),
            ),
            Typing::Try => (word!("Reading"), word!(".4, .45, 812g or 143mm; nothing is kept. Esc ends it")),
        };
        let [line, below] = Layout::vertical([Constraint::Length(1), Constraint::Fill(1)]).areas::<2>(area);
        let cells = u16::try_from(text::width(title) + 2).unwrap_or(20).min(line.width);
        frame.render_widget(Span::styled(format!("{title}:"), theme.title), Rect { width: cells, ..line });
        field.draw(frame, Rect { x: line.x + cells, width: line.width - cells, ..line }, true, theme);
        let said = match tried_on(page) {
            Some(reading) => self.tried_words(item, reading, theme),
            None => Line::from(Span::styled(hint, theme.muted)),
        };
        frame.render_widget(Paragraph::new(said).wrap(Wrap { trim: true }), below);
    }

    /// What a tried reading is, with the interval that holds it in 95 of 100 cases.
    fn tried_words(&self, item: &Item, reading: Reading, theme: &Theme) -> Line<'static> {
        let entry = Entry { full: 0, open: vec![reading] };
        let doubt = match self.view.gauges.check(item, &entry) {
            Err(refused) => return Line::from(Span::styled(refused.to_string(), theme.error)),
            Ok(doubt) => doubt,
        };
        let show = self.view.setup.venue.show();
        let tally = self.view.gauges.level(item, &entry, self.by.as_deref());
        let half = Amount::rounded(tally.half_width());
        let low = show.bare(item.basis, (tally.amount - half).max(Amount::ZERO));
        let share = share_words(tally.amount.per(item.size));
        let said = say!(
            "= {level}, {share} of what it holds; 95 % between {low} and {half}",
            level = with_u(show, item.basis, tally.level(), theme),
            share,
            low,
            half = show.amount(item.basis, tally.amount + half)
        );
        match doubt {
            None => Line::from(said),
            Some(doubt) => Line::from(Span::styled(format!("{said}. {doubt}?"), theme.warning)),
        }
    }
}

/// The reading that is being tried on a page, as far as it can be read.
fn tried_on(page: &Page) -> Option<Reading> {
    let (Typing::Try, field) = page.entry.as_ref()? else { return None };
    Reading::typed(field.text()).ok()
}

fn empty_words(vessel: &Vessel, theme: &Theme) -> Vec<String> {
    let Some(empty) = vessel.empty else { return vec![word!("not known: e weighs an empty one").to_owned()] };
    let grams = |mg: f64| mg / 1_000.0;
    let pm = theme.glyphs.plus_minus;
    let from =
        if empty.number == 1 { word!("one known").to_owned() } else { say!("{number} weighed", number = empty.number) };
    vec![
        say!(
            "{weight} {pm} {u} g on average",
            weight = words::fixed(grams(empty.weight), 0),
            pm,
            u = words::fixed(grams(empty.u), 0)
        ),
        say!("one differs by {spread} g", spread = words::fixed(grams(empty.spread), 0)),
        from,
    ]
}

fn content_words(vessel: &Vessel, theme: &Theme) -> Vec<String> {
    match vessel.density {
        Some(known) => {
            let pm = theme.glyphs.plus_minus;
            let unit = match vessel.basis {
                Basis::Volume => "g/ml",
                Basis::Mass => word!("g a gram"),
                Basis::Each => word!("g a piece"),
            };
            vec![
                format!("{} {pm} {} {unit}", words::fixed(known.density, 4), words::fixed(known.u, 4)),
                known.from.word().to_owned(),
            ]
        }
        None if vessel.per_unit().is_some() => vec![word!("measured by its weight").to_owned()],
        None => vec![word!("not known: f weighs a full one; or strength and sugar in stock.csv").to_owned()],
    }
}
