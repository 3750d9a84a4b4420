//! One drink: a version of it, and all that is reckoned of that.

use crate::domain::drink::{DilutionFrom, Serve, dilution, part_cost};
use crate::domain::measure::{Basis, decimal};
use crate::domain::rows::DrinksView;
use crate::domain::venue::{Drink, DrinkId, DrinkMethod, Ingredient, Menu};
use crate::tui::keymap::Action;
use crate::tui::screen::{Effect, Scene, serve};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::facts::Facts;
use crate::tui::widget::plot::{self, Axis, Plot, Point};
use crate::tui::widget::scroll::Scroll;
use crate::words;
use chrono::NaiveDate;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};

/// From this width on the curve of water stands beside the facts.
const BESIDE: u16 = 110;

/// A drink's page.
pub(super) struct Page {
    drink: DrinkId,
    /// The version looked at; none is that of today.
    version: Option<usize>,
    scroll: Scroll,
}

impl Page {
    pub(super) fn of(drink: DrinkId) -> Page {
        Page { drink, version: None, scroll: Scroll::default() }
    }

    pub(super) fn drink(&self) -> DrinkId {
        self.drink
    }

    pub(super) fn version(&self) -> Option<usize> {
        self.version
    }

    /// Which version of so many is looked at, today's if none was chosen.
    fn at(&self, days: &[Option<NaiveDate>], today: NaiveDate) -> usize {
        let of_today = days.iter().rposition(|from| from.is_none_or(|from| from <= today)).unwrap_or(0);
        self.version.unwrap_or(of_today).min(days.len().saturating_sub(1))
    }

    pub(super) fn apply(&mut self, action: Action, view: &DrinksView) {
        match action {
            Action::OtherVersion => {
                let days = view.setup.drink(self.drink).map(Drink::version_days).unwrap_or_default();
                let here = self.at(&days, view.larder.day);
                self.version = (days.len() > 1).then(|| (here + 1) % days.len());
            }
            _ => {
                self.scroll.apply(action);
            }
        }
    }

    /// Takes the version looked at away, if nothing was sold by it; with the last one goes the drink.
    pub(super) fn drop_version(&mut self, view: &DrinksView) -> Effect {
        let Some(drink) = view.setup.drink(self.drink) else { return Effect::None };
        let days = drink.version_days();
        let from = days.get(self.at(&days, view.larder.day)).copied().flatten();
        let name = text::safe(&drink.name);
        let question = if days.len() < 2 {
            say!("Take {name} away altogether? It goes only if nothing was ever sold of it.", name)
        } else {
            let when = serve::since(from);
            say!("Take away the version of {name} {when}? It goes only if nothing was sold by it.", name, when)
        };
        Effect::ask(question, word!("takes it away"), word!("leaves it"), Effect::DropVersion(self.drink, from))
    }

    pub(super) fn draw(&mut self, view: &DrinksView, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let Some(drink) = view.setup.drink(self.drink) else { return };
        let days = drink.version_days();
        let here = self.at(&days, view.larder.day);
        let from = days.get(here).copied().flatten();
        let today = view.larder.day;
        // Today's version is looked at today, another one on its first day.
        let day = if self.version.is_none() { today } else { from.unwrap_or(NaiveDate::MIN) };
        let menu = drink.menu.at(day).map(|(_, menu)| menu);
        let spec = drink.specs.at(day).map_or(&[][..], |(_, spec)| spec);
        let reckoned = Serve::of(&view.larder, &view.setup, spec, menu);
        let [head, body] = Layout::vertical([Constraint::Length(2), Constraint::Fill(1)]).areas(area);
        let of = if days.len() > 1 {
            say!(" (version {here} of {n})", here = here + 1, n = days.len())
        } else {
            String::new()
        };
        let on = if menu.is_some_and(|menu| menu.on) { word!("on the menu") } else { word!("off the menu") };
        let begun = if from.is_some_and(|from| from > today) { word!(", not begun") } else { "" };
        let title = format!("{}: {}{of}{begun}, {on}", text::safe(&drink.name), serve::since(from));
        frame.render_widget(Span::styled(text::fit(&title, head.width.into()), theme.title), head);
        let beside = area.width >= BESIDE && reckoned.poured.before.volume() > 0.0;
        let (left, right) = if beside {
            let [left, _, right] =
                Layout::horizontal([Constraint::Fill(3), Constraint::Length(3), Constraint::Fill(2)]).areas(body);
            (left, Some(right))
        } else {
            (body, None)
        };
        let mut lines = facts(view, drink, (spec, menu, &reckoned), left.width.into(), theme);
        if right.is_none() {
            lines.extend(water_table(view, &reckoned, menu, left.width.into(), theme));
        }
        self.scroll.draw(frame, left, lines, theme);
        if let Some(right) = right {
            draw_curve(&reckoned, menu, frame, right, theme);
        }
    }
}

/// What it takes, and all that is reckoned of that.
fn facts(
    view: &DrinksView,
    drink: &Drink,
    (spec, menu, reckoned): (&[Ingredient], Option<&Menu>, &Serve),
    wide: usize,
    theme: &Theme,
) -> Vec<Line<'static>> {
    let mut lines = spec_lines(view, spec, wide, theme);
    let mut page = Facts::new(serve::LABEL + 2, wide, theme);
    if view.sees_costs() {
        serve::earns(&mut page, &view.setup, reckoned, menu, true);
    }
    page.fact(word!("Sold"), [sold_words(view, drink)]);
    // Of nothing there is nothing to say, least of all that it is harmless.
    if !spec.is_empty() {
        serve::glass(&mut page, &view.setup, reckoned, menu);
        serve::allergens(&mut page, &view.setup, &reckoned.allergens);
    }
    let days = drink.version_days();
    if days.len() > 1 {
        page.fact(word!("Versions"), version_words(view, drink, &days));
    }
    serve::caution(&mut page, reckoned.poured.glass.ethanol > 0.0);
    lines.push(Line::default());
    lines.extend(page.lines);
    lines
}

/// A drink of today as plain text: what its page shows.
pub fn page_text(view: &DrinksView, drink: &Drink) -> String {
    const WIDE: usize = 96;
    let theme = Theme::default();
    let day = view.larder.day;
    let menu = view.menu(drink);
    let spec = drink.specs.at(day).map_or(&[][..], |(_, spec)| spec);
    let reckoned = Serve::of(&view.larder, &view.setup, spec, menu);
    let mut lines = vec![Line::from(text::safe(&drink.name)), Line::default()];
    lines.extend(facts(view, drink, (spec, menu, &reckoned), WIDE, &theme));
    lines.extend(water_table(view, &reckoned, menu, WIDE, &theme));
    text::plain(&lines)
}

/// What it takes, each with its amount, its cost and its part of the cost.
fn spec_lines(view: &DrinksView, spec: &[Ingredient], wide: usize, theme: &Theme) -> Vec<Line<'static>> {
    let setup = &view.setup;
    let show = setup.venue.show();
    let name_cells = wide.saturating_sub(40).clamp(12, 34);
    let all: f64 =
        spec.iter().filter_map(|part| part_cost(&view.larder.costs, part)).map(|cost| cost.minor(show.currency)).sum();
    let line = |part: &Ingredient| {
        let cost = part_cost(&view.larder.costs, part);
        let money = serve::part_cost_words(setup, &view.larder.costs, part);
        let share = cost.filter(|_| all > 0.0).map(|cost| format!("{:.0} %", 100.0 * cost.minor(show.currency) / all));
        let name = text::pad_right(&text::safe(setup.item_name(part.item)), name_cells);
        let amount = text::pad_left(&text::safe(&part.written), 12);
        let figures = match view.sees_costs() {
            true => format!("{}{}", text::pad_left(&money, 8), text::pad_left(&share.unwrap_or_default(), 6)),
            false => String::new(),
        };
        let room = wide.saturating_sub(name_cells + 12 + text::width(&figures) + 3);
        let rest = text::fit(&serve::beside(setup, part), room);
        Line::from(vec![Span::raw(format!("{name} {amount}{figures}  ")), Span::styled(rest, theme.muted)])
    };
    let mut head = format!("{} {}", text::pad_right(word!("takes"), name_cells), text::pad_left(word!("how much"), 12));
    if view.sees_costs() {
        head.push_str(&format!("{}{}", text::pad_left(word!("cost"), 8), text::pad_left(word!("part"), 6)));
    }
    let mut lines = vec![Line::from(Span::styled(head, theme.title))];
    if spec.is_empty() {
        let how = if view.sees_costs() { word!("nothing yet: e writes what it takes") } else { word!("nothing yet") };
        lines.push(Line::from(how));
    }
    lines.extend(spec.iter().map(line));
    lines
}

fn sold_words(view: &DrinksView, drink: &Drink) -> String {
    let sold = view.sold.get(&drink.id).copied().unwrap_or_default();
    match &view.sold_over {
        Some(days) => say!(
            "{sold} from {start} to {end}",
            sold = decimal::shown(sold, 3),
            start = words::day(days.start(), "%-d %b"),
            end = words::day(days.end(), "%-d %b")
        ),
        None => word!("no sales are in the book yet").to_owned(),
    }
}

fn version_words(view: &DrinksView, drink: &Drink, days: &[Option<NaiveDate>]) -> Vec<String> {
    let word = |from: &Option<NaiveDate>| {
        let day = from.unwrap_or(NaiveDate::MIN);
        let price = drink.menu.at(day).filter(|_| view.sees_costs());
        let price = price.map_or(String::new(), |(_, menu)| format!("{}, ", serve::money(&view.setup, menu.price)));
        let changed = |menu: bool, spec: bool| match (menu, spec) {
            (true, true) => word!("price and spec"),
            (true, false) => word!("price, tax, method or glass"),
            _ => word!("spec"),
        };
        let menu = drink.menu.iter().any(|(first, _)| first == from);
        let spec = drink.specs.iter().any(|(first, _)| first == from);
        format!("{}: {price}{}", serve::since(*from), changed(menu, spec))
    };
    days.iter().map(word).collect()
}

/// The methods whose usual water is marked on the curve, with their marks.
const MARKS: [(DrinkMethod, char); 3] =
    [(DrinkMethod::Build, 'b'), (DrinkMethod::Stir, 's'), (DrinkMethod::Shake, 'k')];

/// What stands below the curve.
fn warning() -> &'static str {
    word!("The longer it is stirred or shaken, the more water; what is in cannot be taken out again.")
}

/// Strength against the water that ice adds, this drink on it.
fn draw_curve(reckoned: &Serve, menu: Option<&Menu>, frame: &mut Frame, area: Rect, theme: &Theme) {
    let poured = &reckoned.poured;
    let [head, body, foot] =
        Layout::vertical([Constraint::Length(1), Constraint::Length(15), Constraint::Min(4)]).areas(area);
    frame.render_widget(Span::styled(word!("What more water does"), theme.title), head);
    let usual = |method| dilution::usual(method, poured.before.strength());
    let most = MARKS.iter().filter_map(|(method, _)| usual(*method)).fold(poured.dilution, f64::max) * 1.3;
    let most = most.max(0.2);
    let strength = |share: f64| 100.0 * poured.with_water(share).strength();
    let steps = 60;
    let mut points: Vec<Point> = (0..=steps)
        .map(|n| f64::from(n) * most / f64::from(steps))
        .map(|share| Point { x: 100.0 * share, y: strength(share), mark: theme.glyphs.within.bar, stressed: false })
        .collect();
    // The curve itself is one line: cells that two of its points share show it once.
    points.dedup_by_key(|p| ((p.x * 2.0) as i64, (p.y * 4.0) as i64));
    let marks = MARKS.iter().filter_map(|(method, mark)| {
        let share = usual(*method)?;
        Some(Point { x: 100.0 * share, y: strength(share), mark: *mark, stressed: true })
    });
    let marks: Vec<Point> = marks.collect();
    let own = Point {
        x: 100.0 * poured.dilution,
        y: strength(poured.dilution),
        mark: theme.glyphs.real.point,
        stressed: true,
    };
    let plot = Plot {
        x: Axis::around([0.0, 100.0 * most], None, word!("water that ice adds, percent"), |x| {
            words::fixed(x.max(0.0), 0)
        }),
        y: Axis::around(points.iter().map(|p| p.y).collect::<Vec<_>>(), None, word!("percent by volume"), |y| {
            words::fixed(y.max(0.0), 1)
        }),
        points: points.into_iter().chain(marks).chain([own]).collect(),
        corners: ["", "", "", ""],
        counted: false,
    };
    plot::draw(frame, body, &plot, theme);
    let own = theme.glyphs.real.point;
    let name = menu
        .and_then(|menu| menu.method)
        .map_or(word!("this drink").to_owned(), |m| say!("this drink, {done}", done = m.done()));
    let words = say!(
        "{own} {name}; usually b built, s stirred, k shaken: planning figures, so measure your own. {warning}",
        own,
        name,
        warning = warning()
    );
    let lines: Vec<Line> = text::wrap(&words, foot.width.into())
        .into_iter()
        .map(|line| Line::from(Span::styled(line, theme.muted)))
        .collect();
    frame.render_widget(ratatui::widgets::Paragraph::new(lines), foot);
}

/// The same curve as a few figures, where there is no room beside the facts.
fn water_table(
    view: &DrinksView,
    reckoned: &Serve,
    menu: Option<&Menu>,
    wide: usize,
    theme: &Theme,
) -> Vec<Line<'static>> {
    let poured = &reckoned.poured;
    if poured.before.volume() <= 0.0 || poured.before.ethanol <= 0.0 {
        return Vec::new();
    }
    let show = view.setup.venue.show();
    let own_method = menu.and_then(|menu| menu.method);
    let as_usual = |method| own_method == Some(method) && poured.dilution_from == DilutionFrom::Method;
    let mut shares: Vec<(f64, String)> = vec![(0.0, word!("no ice").to_owned())];
    shares.extend(MARKS.iter().filter(|(method, _)| !as_usual(*method)).filter_map(|(method, _)| {
        dilution::usual(*method, poured.before.strength())
            .map(|share| (share, say!("as usually {done}", done = method.done())))
    }));
    let own = own_method.map_or(word!("this drink").to_owned(), |method| match as_usual(method) {
        true => say!("this drink, as usually {done}", done = method.done()),
        false => say!("this drink, {done}", done = method.done()),
    });
    if poured.dilution > 0.0 {
        shares.push((poured.dilution, own));
    }
    shares.sort_by(|a, b| a.0.total_cmp(&b.0));
    let row = |(share, word): (f64, String)| {
        let glass = poured.with_water(share);
        Line::from(format!(
            "{} {} {} {}",
            text::pad_left(&format!("{:.0} %", 100.0 * share), 8),
            text::pad_left(&show.amount(Basis::Volume, glass.amount()), 10),
            text::pad_left(&say!("{strength} % vol", strength = words::fixed(100.0 * glass.strength(), 1)), 12),
            format_args!("  {word}")
        ))
    };
    let mut lines =
        vec![Line::default(), Line::from(Span::styled(word!("   water     volume     strength"), theme.title))];
    lines.extend(shares.into_iter().map(row));
    lines.extend(
        text::wrap(&say!("{warning} Usual figures are for planning: measure your own.", warning = warning()), wide)
            .into_iter()
            .map(|line| Line::from(Span::styled(line, theme.muted))),
    );
    lines
}
