//! A drink for many serves at once: a bowl or bottles, with the water that ice would have added.

use crate::domain::drink::{BatchLine, BatchPlan, MOST_SERVES};
use crate::domain::measure::{Amount, Basis, Quantity, decimal};
use crate::domain::rows::DrinksView;
use crate::domain::venue::{DrinkId, Setup};
use crate::tui::keymap::Action;
use crate::tui::screen::{Effect, Scene, serve};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::facts::Facts;
use crate::tui::widget::field::Field;
use crate::words;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

/// What came of an action.
pub(super) enum Done {
    NotYet,
    Back,
    Write(Effect),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Asked {
    Serves,
    Water,
    Vessel,
}

impl Asked {
    const ALL: [Asked; 3] = [Asked::Serves, Asked::Water, Asked::Vessel];
}

/// For how many, with how much water, into what.
pub(super) struct ForMany {
    focus: Asked,
    serves: Field,
    water: Field,
    vessel: Field,
}

impl ForMany {
    pub(super) fn new() -> ForMany {
        let (serves, water, vessel) = (Field::with(5, "20"), Field::new(6), Field::with(8, "700 ml"));
        let mut many = ForMany { focus: Asked::Serves, serves, water, vessel };
        many.go(Asked::Serves);
        many
    }

    pub(super) fn apply(&mut self, action: Action, drink: DrinkId, view: &DrinksView) -> Done {
        match action {
            Action::Cancel => return Done::Back,
            Action::Accept => match (self.serves(), self.water(), self.vessel(view)) {
                (Ok(serves), Ok(water), Ok(vessel)) => {
                    return Done::Write(Effect::WriteSheet { drink, serves, water, vessel });
                }
                (serves, water, _) => {
                    self.go(match (serves.is_err(), water.is_err()) {
                        (true, _) => Asked::Serves,
                        (_, true) => Asked::Water,
                        _ => Asked::Vessel,
                    });
                }
            },
            Action::NextField | Action::PreviousField => {
                let all = Asked::ALL;
                let at = all.iter().position(|asked| *asked == self.focus).unwrap_or(0);
                let by = if action == Action::NextField { 1 } else { all.len() - 1 };
                self.go(all[(at + by) % all.len()]);
            }
            _ => {
                self.field().apply(action);
            }
        }
        Done::NotYet
    }

    fn go(&mut self, to: Asked) {
        self.focus = to;
        self.field().mark();
    }

    fn field(&mut self) -> &mut Field {
        match self.focus {
            Asked::Serves => &mut self.serves,
            Asked::Water => &mut self.water,
            Asked::Vessel => &mut self.vessel,
        }
    }

    pub(super) fn paste(&mut self, text: &str) {
        self.field().paste(text);
    }

    fn serves(&self) -> Result<i64, String> {
        // Whole ones: a mark within would be of thousands, or of a part of a serve.
        let typed = self.serves.text().trim().replace(' ', "");
        let read = typed.parse::<i64>().ok();
        read.filter(|n| (1..=MOST_SERVES).contains(n))
            .ok_or_else(|| say!("expected how many serves, 1 to {MOST_SERVES}", MOST_SERVES))
    }

    /// The share of water, as typed; none is as the method has it.
    fn water(&self) -> Result<Option<f64>, String> {
        let typed = self.water.text().trim();
        if typed.is_empty() {
            return Ok(None);
        }
        let read = crate::tui::screen::parts::percent(typed).filter(|p| *p <= 30_000);
        read.map(|p| Some(p as f64 / 10_000.0)).ok_or_else(|| word!("expected percent from 0 to 300").to_owned())
    }

    fn vessel(&self, view: &DrinksView) -> Result<Amount, String> {
        let typed = decimal::pointed(self.vessel.text());
        Quantity::parse_as(&typed, Basis::Volume, &view.setup.venue.small).map_err(|e| e.to_string())
    }

    pub(super) fn draw(&self, drink: DrinkId, view: &DrinksView, frame: &mut Frame, area: Rect, scene: Scene) {
        let theme = scene.theme;
        let [head, asked, said, body] = Layout::vertical([
            Constraint::Length(1),
            Constraint::Length(1),
            Constraint::Length(2),
            Constraint::Fill(1),
        ])
        .areas(area);
        let Some(drink) = view.setup.drink(drink) else { return };
        let title = say!("{drink} for many", drink = text::safe(&drink.name));
        frame.render_widget(Span::styled(text::fit(&title, head.width.into()), theme.title), head);
        let mut x = asked.x;
        for (which, label, field, cells) in [
            (Asked::Serves, word!("Serves "), &self.serves, 6),
            (Asked::Water, word!("water % "), &self.water, 7),
            (Asked::Vessel, word!("in bottles of "), &self.vessel, 9),
        ] {
            let has_focus = self.focus == which;
            let wide = u16::try_from(text::width(label)).unwrap_or(0);
            let style = if has_focus { theme.title } else { theme.text };
            let at = |x: u16, width: u16| Rect { x, width: width.min(asked.right().saturating_sub(x)), ..asked };
            frame.render_widget(Span::styled(label, style), at(x, wide));
            field.draw(frame, at(x + wide, cells), has_focus, theme);
            x += wide + cells + 2;
        }
        let wrong = [self.serves().err(), self.water().err(), self.vessel(view).err()].into_iter().flatten().next();
        let said_words = match (wrong, self.focus) {
            (Some(wrong), _) => Err(wrong),
            (None, Asked::Serves) => Ok(word!("How many serves. Enter writes the sheet to print").to_owned()),
            (None, Asked::Water) => {
                Ok(word!("Water in place of ice, in percent of the rest; empty is as the method has it, 0 is none")
                    .to_owned())
            }
            (None, Asked::Vessel) => Ok(word!("What it is filled into").to_owned()),
        };
        frame.render_widget(Paragraph::new(crate::tui::screen::told(said_words, said.width.into(), theme)), said);
        let (Ok(serves), Ok(water)) = (self.serves(), self.water()) else { return };
        let Some((_, spec)) = drink.specs.at(view.larder.day) else { return };
        let plan = BatchPlan::new(&view.larder, &view.setup, spec, view.menu(drink), serves, water);
        let lines = self.plan(&plan, view, body.width.into(), theme);
        frame.render_widget(Paragraph::new(lines), body);
    }

    fn plan(&self, plan: &BatchPlan, view: &DrinksView, wide: usize, theme: &Theme) -> Vec<Line<'static>> {
        let setup = &view.setup;
        let show = setup.venue.show();
        let name_cells = wide.saturating_sub(44).clamp(12, 40);
        let line = |line: &BatchLine| {
            let name = text::pad_right(&text::safe(setup.item_name(line.item)), name_cells);
            let amount = text::pad_left(&line.in_units(setup), 12);
            Line::from(format!("  {name} {amount}   {}", line.in_containers(setup)))
        };
        let title = |word: &str| Line::from(Span::styled(word.to_owned(), theme.title));
        let mut out = vec![title(word!("Goes in"))];
        out.extend(plan.lines.iter().map(line));
        if plan.water > Amount::ZERO {
            let name = text::pad_right(word!("Water"), name_cells);
            let amount = text::pad_left(&show.amount(Basis::Volume, plan.water), 12);
            let share = serve::percent(plan.dilution);
            out.push(Line::from(say!("  {name} {amount}   {share} in place of ice", name, amount, share)));
        }
        if !plan.later.is_empty() {
            out.push(title(word!("Added to each serve as it is poured")));
            out.extend(plan.later.iter().map(line));
        }
        let mut page = Facts::new(serve::LABEL + 2, wide, theme);
        let mut made = vec![
            show.amount(Basis::Volume, plan.volume()),
            say!("{a_serve} a serve", a_serve = show.amount(Basis::Volume, plan.a_serve())),
        ];
        if let Some((full, rest)) = self.vessel(view).ok().and_then(|size| plan.vessels(size)) {
            made.push(say!("{full} full bottles and {rest}", full, rest = show.amount(Basis::Volume, rest)));
        }
        page.fact(word!("Makes"), made);
        page.fact(word!("Strength"), batch_strength(setup, plan));
        if view.sees_costs() {
            page.fact(word!("Costs"), batch_cost(view, plan));
        }
        let short = batch_short(view, plan);
        if !short.is_empty() {
            page.fact(word!("SHORT"), short);
        }
        serve::allergens(&mut page, setup, &plan.allergens);
        let caution = words::find(BATCH_CAUTION);
        page.fact("", text::wrap(caution, wide.saturating_sub(serve::LABEL + 2)));
        out.push(Line::default());
        out.extend(page.lines);
        out
    }
}

/// What is said with every drink for many.
pub(crate) const BATCH_CAUTION: &str = text!(
    "Water that is in cannot be taken out again: begin with less, taste it cold, \
     then add. Raw egg, cream and juice go off first, and what is mixed with them keeps no longer than they do: your own \
     food-safety plan and local rules decide."
);

/// How strong the batch and a serve of it are.
pub(crate) fn batch_strength(setup: &Setup, plan: &BatchPlan) -> Vec<String> {
    plan.strength_words(setup).iter().map(|words| text::safe(words)).collect()
}

/// What all of it costs, and a serve.
pub(crate) fn batch_cost(view: &DrinksView, plan: &BatchPlan) -> Vec<String> {
    let setup = &view.setup;
    let all = plan.cost.known.times(plan.serves).round(setup.venue.currency);
    let mut said = vec![serve::money(setup, all), say!("{cost} a serve", cost = serve::cost_words(setup, &plan.cost))];
    if !plan.cost.missing.is_empty() {
        said.push(say!("no price is known of {missing}", missing = serve::names(setup, &plan.cost.missing)));
    }
    said
}

/// What there is too little of.
pub(crate) fn batch_short(view: &DrinksView, plan: &BatchPlan) -> Vec<String> {
    let setup = &view.setup;
    let short = |line: &BatchLine| {
        let there = view.on_hand.get(&line.item)?;
        let lacks = line.amount - *there;
        let basis = setup.item(line.item)?.basis;
        let name = text::safe(setup.item_name(line.item));
        (lacks > Amount::ZERO).then(|| say!("{lacks} of {name}", lacks = setup.venue.show().amount(basis, lacks), name))
    };
    plan.lines.iter().chain(&plan.later).filter_map(short).collect()
}
