//! What another price of something bought would do to every drink.

use crate::domain::drink::change::{Touched, touched, tried_cost};
use crate::domain::measure::{UnitCost, number_of};
use crate::domain::rows::DrinksView;
use crate::domain::venue::{Item, ItemId};
use crate::tui::keymap::Action;
use crate::tui::screen::{Scene, serve};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::columns::{self, Column, Row, Width};
use crate::tui::widget::field::Field;
use crate::tui::widget::finder::Finder;
use crate::tui::widget::window::Window;
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};

const COLUMNS: &[Column] = &[
    Column::words(text!("drink"), Width::Flex(18), 0),
    Column::figures(text!("costs"), 7, 0),
    Column::figures(text!("would"), 7, 0),
    Column::figures(text!("more"), 7, 1),
    Column::figures(text!("pour cost"), 9, 2),
    Column::figures(text!("would"), 7, 0),
    Column::figures(text!("brings in"), 9, 3),
    Column::figures(text!("would"), 7, 3),
];

/// An item being chosen, or a price being typed for one.
pub(super) struct PriceChange {
    finder: Option<Finder<ItemId>>,
    item: Option<ItemId>,
    price: Field,
    window: Window,
}

impl PriceChange {
    pub(super) fn new(view: &DrinksView) -> PriceChange {
        PriceChange { finder: Some(bought(view)), item: None, price: Field::new(16), window: Window::default() }
    }

    /// Whether an item is being chosen.
    pub(super) fn is_choosing(&self) -> bool {
        self.finder.is_some()
    }

    /// Takes an action; true once it is over.
    pub(super) fn apply(&mut self, action: Action, view: &DrinksView) -> bool {
        if let Some(finder) = &mut self.finder {
            match action {
                Action::Cancel => {
                    self.finder = None;
                    return self.item.is_none();
                }
                Action::Accept => {
                    if let Some(item) = finder.picked().copied() {
                        self.item = Some(item);
                        self.price = Field::new(16);
                        self.window = Window::default();
                        self.finder = None;
                    }
                }
                _ => {
                    finder.apply(action);
                }
            }
            return false;
        }
        match action {
            Action::Cancel => return true,
            Action::Accept => self.finder = Some(bought(view)),
            _ => {
                let rows = self.rows(view).len();
                if !self.window.apply(action, rows) {
                    self.price.apply(action);
                }
            }
        }
        false
    }

    pub(super) fn paste(&mut self, text: &str) {
        match &mut self.finder {
            Some(finder) => finder.paste(text),
            None => self.price.paste(text),
        }
    }

    pub(super) fn refresh(&mut self, view: &DrinksView) {
        self.item = self.item.filter(|item| view.setup.item(*item).is_some());
        if self.item.is_none() && self.finder.is_none() {
            self.finder = Some(bought(view));
        }
    }

    /// What is typed as a new unit cost of the item; nothing while nothing is.
    fn typed(&self, view: &DrinksView, item: &Item) -> Option<Result<UnitCost, String>> {
        let typed = self.price.text();
        let now = view.larder.costs.of(item.id);
        (!typed.trim().is_empty()).then(|| tried_cost(typed, item, now, view.setup.venue.currency))
    }

    fn rows(&self, view: &DrinksView) -> Vec<Touched> {
        let item = self.item.and_then(|id| view.setup.item(id));
        let cost = item.and_then(|item| self.typed(view, item)?.ok().map(|cost| (item.id, cost)));
        let Some(cost) = cost else { return Vec::new() };
        let after = view.larder.costs.with(&view.setup, [cost]);
        touched(&view.setup, &view.larder.costs, &after, view.larder.day)
    }

    pub(super) fn draw(&mut self, view: &DrinksView, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let [head, line, said, body] = Layout::vertical([
            Constraint::Length(1),
            Constraint::Length(1),
            Constraint::Length(2),
            Constraint::Fill(1),
        ])
        .areas(area);
        let title = word!("What another price would do to every drink; nothing of this is kept");
        frame.render_widget(Span::styled(text::fit(title, head.width.into()), theme.title), head);
        if let Some(item) = self.item.and_then(|id| view.setup.item(id)) {
            self.draw_price(view, item, frame, [line, said, body], theme);
        }
        if let Some(finder) = &mut self.finder {
            finder.draw(frame, area, theme);
        }
    }

    fn draw_price(&mut self, view: &DrinksView, item: &Item, frame: &mut Frame, areas: [Rect; 3], theme: &Theme) {
        let [line, below, body] = areas;
        let show = view.setup.venue.show();
        let one = show.amount(item.basis, item.size);
        let now = view.larder.costs.of(item.id).map(|cost| show.money(cost.of(item.size, show.currency)));
        let now = now.map_or(word!("unknown").to_owned(), |now| format!("{now} {}", show.currency));
        let label = say!("{name} ({one}), now {now}; instead: ", name = text::safe(&item.name), one, now);
        let label = text::fit(&label, usize::from(line.width.saturating_sub(14)));
        let wide = u16::try_from(text::width(&label)).unwrap_or(line.width);
        frame.render_widget(Span::styled(label, theme.text), line);
        let field = Rect { x: line.x + wide, width: (line.width - wide).min(14), ..line };
        self.price.draw(frame, field, self.finder.is_none(), theme);
        let rows = self.rows(view);
        let (said, style) = match self.typed(view, item) {
            None => (hint(view, item), theme.muted),
            Some(Err(wrong)) => (wrong, theme.error),
            Some(Ok(_)) if rows.is_empty() => (word!("No drink of today changes by it").to_owned(), theme.text),
            Some(Ok(_)) => (summary(view, &rows), theme.text),
        };
        let lines: Vec<Line> = text::wrap(&said, below.width.into())
            .into_iter()
            .map(|line| Line::from(Span::styled(line, style)))
            .collect();
        frame.render_widget(ratatui::widgets::Paragraph::new(lines), below);
        let mut window = self.window;
        let row = |at: usize| rows.get(at).map_or(Row::Cells(Vec::new()), |row| cells(view, row));
        columns::draw(frame, body, COLUMNS, rows.len(), &mut window, row, theme);
        self.window = window;
    }
}

/// What can be typed, and the next price that a supplier has announced.
fn hint(view: &DrinksView, item: &Item) -> String {
    let setup = &view.setup;
    let today = view.larder.day;
    let to_come = setup.offers.iter().filter(|offer| offer.item == item.id);
    let next = to_come.filter_map(|offer| Some((offer.from.filter(|from| *from > today)?, offer))).min_by_key(|o| o.0);
    let announced = next.map_or(String::new(), |(from, offer)| {
        let one = offer.price.times(1, offer.pack.max(1));
        let supplier = setup.supplier(offer.supplier).map_or("?", |supplier| &supplier.name);
        let show = setup.venue.show();
        say!(
            "; {supplier} asks {one} from {from} on",
            supplier = text::safe(supplier),
            one = show.money(one),
            from = words::day(from, "%-d %b %Y")
        )
    });
    say!("A price of one container without tax, or a change such as +5 %{announced}", announced)
}

/// How many drinks change, and what the change costs in a week as they sold lately.
fn summary(view: &DrinksView, rows: &[Touched]) -> String {
    let currency = view.setup.venue.currency;
    let more = |row: &Touched| {
        let sold = view.sold.get(&row.drink).copied().unwrap_or_default() as f64 / 1_000.0;
        (row.after.known.minor(currency) - row.before.known.minor(currency)) * sold
    };
    let all: f64 = rows.iter().map(more).sum();
    let days = view.sold_over.as_ref().map_or(0, |days| (*days.end() - *days.start()).num_days() + 1);
    let drinks = number_of(rows.len(), word!("drink changes"), word!("drinks change"));
    if days == 0 {
        return format!("{drinks}.");
    }
    let week = crate::domain::measure::Money((all * 7.0 / days as f64).round() as i64);
    let word = if week.0 < 0 { word!("less") } else { word!("more") };
    let size = crate::domain::measure::Money(week.0.abs());
    say!("{drinks}; as they sold lately, {sum} {word} a week.", drinks, sum = serve::money(&view.setup, size), word)
}

fn cells(view: &DrinksView, row: &Touched) -> Row {
    let setup = &view.setup;
    let show = setup.venue.show();
    let cost = |cost: &crate::domain::drink::ServeCost| cost.known.round(show.currency);
    let more = cost(&row.after) - cost(&row.before);
    let share = |earning: Option<crate::domain::drink::Earning>| {
        earning.and_then(|e| e.pour_cost).map(serve::percent).unwrap_or_default()
    };
    let margin =
        |earning: Option<crate::domain::drink::Earning>| earning.map(|e| show.money(e.margin)).unwrap_or_default();
    let cells = [
        text::safe(setup.drink(row.drink).map_or("?", |drink| &drink.name)),
        serve::cost_words(setup, &row.before),
        serve::cost_words(setup, &row.after),
        crate::tui::screen::signed(&show.money(more), more.0),
        share(row.earns),
        share(row.would_earn),
        margin(row.earns),
        margin(row.would_earn),
    ];
    Row::Cells(cells.map(Line::from).to_vec())
}

/// What is bought and goes into drinks: what is made here has no price of its own.
fn bought(view: &DrinksView) -> Finder<ItemId> {
    let items = view.setup.items.iter().filter(|item| !view.setup.recipes.contains_key(&item.id));
    Finder::new(word!("Which item? Enter takes it"), items.map(|item| (item.id, item.name.clone())))
}
