//! Lines of ingredients being written: what a drink or a batch takes. The last line is always empty, for one more.

use crate::domain::drink::{amount_of, joins_after_ice};
use crate::domain::measure::{Amount, Basis, Decimal, decimal};
use crate::domain::venue::{Gtin, Ingredient, Item, ItemId, Setup};
use crate::tui::keymap::Action;
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::tui::widget::field::Field;
use crate::tui::widget::finder::Finder;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use std::cmp::Reverse;
use std::collections::HashMap;

/// More ingredients than any drink has.
const MOST: usize = 60;

/// A field of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Cell {
    Item,
    Quantity,
    Waste,
    After,
    Note,
}

/// The fields that a line of a drink has, and those of a recipe.
pub(crate) const OF_DRINK: &[Cell] = &[Cell::Item, Cell::Quantity, Cell::Waste, Cell::After, Cell::Note];
pub(crate) const OF_RECIPE: &[Cell] = &[Cell::Item, Cell::Quantity, Cell::Note];

/// One ingredient as far as it is written.
#[derive(Debug)]
struct Part {
    item: Option<ItemId>,
    quantity: Field,
    waste: Field,
    /// Whether it is added after the ice; none is as its kind has it.
    after: Option<bool>,
    note: Field,
}

impl Part {
    fn new() -> Part {
        Part { item: None, quantity: Field::new(20), waste: Field::new(6), after: None, note: Field::new(60) }
    }

    fn of(part: &Ingredient) -> Part {
        let waste = decimal::shown(part.waste, 2);
        Part {
            item: Some(part.item),
            quantity: Field::with(20, &part.written),
            waste: if part.waste == 0 { Field::new(6) } else { Field::with(6, &waste) },
            after: part.after_ice,
            note: Field::with(60, part.note.as_deref().unwrap_or_default()),
        }
    }

    fn read(&self, setup: &Setup) -> Result<Ingredient, (Cell, String)> {
        let item = self.item.and_then(|id| setup.item(id));
        let item = item.ok_or((Cell::Item, word!("type a few letters of the ingredient").to_owned()))?;
        let mut written = decimal::pointed(self.quantity.text());
        // Of what is counted singly, a number alone can only be so many.
        if item.basis == Basis::Each && Decimal::parse(&written).is_ok() {
            written.push_str(" each");
        }
        if written.is_empty() {
            return Err((Cell::Quantity, say!("how much of it: {example}", example = example(item))));
        }
        let amount = amount_of(item, &written, &setup.venue.small).map_err(|e| (Cell::Quantity, e.to_string()))?;
        let most = Ingredient::MOST_WASTE;
        let waste = percent(self.waste.text()).filter(|waste| *waste <= most * 100);
        let waste =
            waste.ok_or_else(|| (Cell::Waste, say!("expected percent from 0 to {most}, such as 3 or 2.5", most)))?;
        let note = Some(self.note.text().trim().to_owned()).filter(|note| !note.is_empty());
        Ok(Ingredient { waste, note, after_ice: self.after, ..Ingredient::new(item.id, &written, amount) })
    }

    fn is_blank(&self) -> bool {
        self.item.is_none() && self.quantity.is_empty()
    }
}

/// Percent in hundredths; nothing typed is none.
pub(crate) fn percent(typed: &str) -> Option<i64> {
    let typed = typed.trim().trim_end_matches('%').trim().replace(',', ".");
    if typed.is_empty() {
        return Some(0);
    }
    Decimal::parse(&typed).ok().and_then(|d| d.exact(2)).filter(|p| *p >= 0)
}

/// How a quantity of an item may be written.
fn example(item: &Item) -> String {
    match (item.basis, item.yields) {
        (Basis::Volume, _) => word!("60 ml, 2 cl, 2 oz, 1 dash or 1 barspoon").to_owned(),
        (Basis::Mass, _) => word!("50 g or 0.2 kg").to_owned(),
        (Basis::Each, Some(one)) => say!("15 ml (one gives {one}), or 1", one),
        (Basis::Each, None) => word!("1 or 0.5").to_owned(),
    }
}

/// What leaving a field did.
pub(crate) enum Left {
    /// The field is not sound; it stays.
    Stays,
    /// To another field of the lines.
    Within,
    /// Before the first field.
    Before,
    /// Forwards out of the empty last line.
    Done,
}

/// The lines, and where the cursor is in them.
pub(crate) struct Parts {
    cells: &'static [Cell],
    parts: Vec<Part>,
    row: usize,
    cell: usize,
    finder: Finder<ItemId>,
    /// Whether the cursor was moved in the list of items, so that the one it is on is meant though nothing is typed.
    moved: bool,
    error: Option<String>,
    top: usize,
    /// The line of the ingredient that is looked for, as it was drawn last.
    under: Option<Rect>,
}

impl Parts {
    /// Lines that hold some ingredients, and an empty one.
    pub(crate) fn new(setup: &Setup, cells: &'static [Cell], parts: &[Ingredient]) -> Parts {
        let mut parts: Vec<Part> = parts.iter().map(Part::of).collect();
        parts.push(Part::new());
        let finder = items(setup, cells);
        Parts { cells, parts, row: 0, cell: 0, finder, moved: false, error: None, top: 0, under: None }
    }

    fn at(&self) -> Cell {
        self.cells[self.cell]
    }

    /// The cursor comes in from above.
    pub(crate) fn enter(&mut self, setup: &Setup) {
        self.enter_row(0, setup);
    }

    fn fresh(&mut self, setup: &Setup) {
        self.finder = items(setup, self.cells);
        self.moved = false;
        self.error = None;
        // An amount is rather written anew than changed by a digit.
        let at = self.at();
        if let Some(part) = self.parts.get_mut(self.row) {
            match at {
                Cell::Quantity => part.quantity.mark(),
                Cell::Waste => part.waste.mark(),
                Cell::Item | Cell::After | Cell::Note => {}
            }
        }
    }

    /// Takes typing, choosing and moving in the list of items; false for an action that is none of these.
    pub(crate) fn edit(&mut self, action: Action) -> bool {
        self.error = None;
        let Some(part) = self.parts.get_mut(self.row) else { return false };
        match self.cells[self.cell] {
            Cell::Item => {
                if matches!(action, Action::Up | Action::Down) {
                    self.moved = true;
                }
                self.finder.apply(action)
            }
            Cell::Quantity => part.quantity.apply(action),
            Cell::Waste => part.waste.apply(action),
            Cell::Note => part.note.apply(action),
            Cell::After => {
                part.after = match (action, part.after) {
                    (Action::CursorRight | Action::Type(' '), None) => Some(true),
                    (Action::CursorRight | Action::Type(' '), Some(true)) => Some(false),
                    (Action::CursorRight | Action::Type(' '), Some(false)) => None,
                    (Action::CursorLeft, None) => Some(false),
                    (Action::CursorLeft, Some(false)) => Some(true),
                    (Action::CursorLeft, Some(true)) => None,
                    (Action::Type('y' | 'Y'), _) => Some(true),
                    (Action::Type('n' | 'N'), _) => Some(false),
                    (Action::EraseBack | Action::EraseForward | Action::ClearField, _) => None,
                    _ => return false,
                };
                true
            }
        }
    }

    pub(crate) fn paste(&mut self, pasted: &str) {
        self.error = None;
        let Some(part) = self.parts.get_mut(self.row) else { return };
        match self.cells[self.cell] {
            Cell::Item => self.finder.paste(pasted),
            Cell::Quantity => part.quantity.paste(pasted),
            Cell::Waste => part.waste.paste(pasted),
            Cell::Note => part.note.paste(pasted),
            Cell::After => {}
        }
    }

    /// Whether Up and Down move in the list of items.
    pub(crate) fn is_choosing(&self) -> bool {
        self.at() == Cell::Item && (self.moved || !self.finder.query().is_empty())
    }

    /// Settles the ingredient that is typed. Nothing typed leaves what was there.
    fn settle(&mut self, setup: &Setup) -> Result<(), String> {
        let typed = self.finder.query().trim();
        let scanned = Gtin::parse(typed).ok().and_then(|gtin| setup.item_by_gtin(&gtin)).map(|item| item.id);
        let had = self.parts[self.row].item;
        let found = match typed {
            "" if !self.moved => had,
            _ => scanned.or_else(|| self.finder.picked().copied()),
        };
        let found = found.ok_or_else(|| match typed {
            "" => word!("type a few letters of the ingredient").to_owned(),
            _ => word!("no item is called that; try fewer letters").to_owned(),
        })?;
        let twice = self.parts.iter().enumerate().any(|(n, part)| n != self.row && part.item == Some(found));
        if twice {
            let name = text::safe(setup.item_name(found));
            return Err(say!("{name} is there already: put both amounts into one line", name));
        }
        self.parts[self.row].item = Some(found);
        Ok(())
    }

    /// Leaves the field forwards, if it is sound. Past the last field of a line comes the next line.
    pub(crate) fn next(&mut self, setup: &Setup) -> Left {
        if self.at() == Cell::Item
            && self.parts[self.row].is_blank()
            && self.finder.query().trim().is_empty()
            && !self.moved
        {
            // The last line stays empty; an emptied one in between is left out.
            return if self.row + 1 == self.parts.len() { Left::Done } else { self.enter_row(self.row + 1, setup) };
        }
        if let Err(wrong) = self.check(setup) {
            self.error = Some(wrong);
            return Left::Stays;
        }
        self.grow();
        if self.cell + 1 < self.cells.len() {
            self.cell += 1;
            self.fresh(setup);
            Left::Within
        } else {
            self.enter_row(self.row + 1, setup)
        }
    }

    /// The last line is an empty one, for one more.
    fn grow(&mut self) {
        if self.row + 1 == self.parts.len() && self.parts.len() < MOST {
            self.parts.push(Part::new());
        }
    }

    /// As [`Parts::next`] by Enter, which passes over what is seldom written: after the quantity comes the next line.
    pub(crate) fn accept(&mut self, setup: &Setup) -> Left {
        if self.at() == Cell::Item || self.parts[self.row].is_blank() {
            return self.next(setup);
        }
        if let Err(wrong) = self.check(setup) {
            self.error = Some(wrong);
            return Left::Stays;
        }
        self.enter_row(self.row + 1, setup)
    }

    fn enter_row(&mut self, row: usize, setup: &Setup) -> Left {
        self.row = row.min(self.parts.len() - 1);
        self.cell = 0;
        self.fresh(setup);
        Left::Within
    }

    /// Whether the field can be left as it is; the ingredient is settled here.
    fn check(&mut self, setup: &Setup) -> Result<(), String> {
        let at = self.at();
        if at == Cell::Item {
            return self.settle(setup);
        }
        match self.parts[self.row].read(setup) {
            Err((cell, wrong)) if cell == at => Err(wrong),
            _ => Ok(()),
        }
    }

    /// Leaves the field backwards, sound or not; but what is typed of an ingredient is not dropped.
    pub(crate) fn previous(&mut self, setup: &Setup) -> Left {
        if !self.settle_typed(setup) {
            return Left::Stays;
        }
        match (self.cell.checked_sub(1), self.row.checked_sub(1)) {
            (Some(cell), _) => self.cell = cell,
            (None, Some(row)) => {
                self.row = row;
                self.cell = self.cells.len() - 1;
            }
            (None, None) => return Left::Before,
        }
        self.fresh(setup);
        Left::Within
    }

    /// To the line above or below, in the same field.
    pub(crate) fn line(&mut self, by: isize, setup: &Setup) -> Left {
        if by > 0
            && !self.parts[self.row].is_blank()
            && let Err(wrong) = self.check(setup)
        {
            self.error = Some(wrong);
            return Left::Stays;
        }
        let Some(row) = self.row.checked_add_signed(by) else { return Left::Before };
        if row < self.parts.len() {
            self.row = row;
            if self.parts[row].is_blank() {
                self.cell = 0;
            }
            self.fresh(setup);
        }
        Left::Within
    }

    /// Takes the line of the cursor out.
    pub(crate) fn remove(&mut self, setup: &Setup) {
        if self.row + 1 < self.parts.len() {
            self.parts.remove(self.row);
        } else {
            self.parts[self.row] = Part::new();
        }
        self.cell = 0;
        self.fresh(setup);
    }

    /// Takes what is typed of an ingredient though its field was not left, so that it is never dropped unseen; false where
    /// it is none, and stays.
    pub(crate) fn settle_typed(&mut self, setup: &Setup) -> bool {
        if !self.is_choosing() {
            return true;
        }
        match self.settle(setup) {
            Ok(()) => {
                self.grow();
                self.fresh(setup);
                true
            }
            Err(wrong) => {
                self.error = Some(wrong);
                false
            }
        }
    }

    /// All ingredients; or what is wrong, with the cursor put there.
    pub(crate) fn all(&mut self, setup: &Setup) -> Result<Vec<Ingredient>, String> {
        let mut out = Vec::new();
        for row in 0..self.parts.len() {
            if self.parts[row].is_blank() {
                continue;
            }
            match self.parts[row].read(setup) {
                Ok(part) => out.push(part),
                Err((cell, wrong)) => {
                    self.row = row;
                    self.cell = self.cells.iter().position(|c| *c == cell).unwrap_or(0);
                    self.fresh(setup);
                    self.error = Some(wrong.clone());
                    return Err(wrong);
                }
            }
        }
        Ok(out)
    }

    /// All that is chosen so far, of whatever amount: what some must avoid does not wait for one.
    pub(crate) fn chosen(&self) -> Vec<Ingredient> {
        let items = self.parts.iter().filter_map(|part| part.item);
        items.map(|item| Ingredient::new(item, "", Amount::ZERO)).collect()
    }

    /// The ingredients that can be read so far.
    pub(crate) fn so_far(&self, setup: &Setup) -> Vec<Ingredient> {
        self.parts.iter().filter_map(|part| part.read(setup).ok()).collect()
    }

    /// What is wrong, or what the field takes.
    pub(crate) fn message(&self, setup: &Setup) -> Result<String, String> {
        if let Some(wrong) = &self.error {
            return Err(wrong.clone());
        }
        let part = &self.parts[self.row];
        let item = part.item.and_then(|id| setup.item(id));
        Ok(match (self.at(), item) {
            (Cell::Item, Some(item)) => {
                say!(
                    "Enter keeps {name}; type to take another; Ctrl-D takes the line out",
                    name = text::safe(&item.name)
                )
            }
            (Cell::Item, None) if self.row + 1 == self.parts.len() => {
                word!("A few letters of one more ingredient; or Ctrl-S keeps it as it stands").to_owned()
            }
            (Cell::Item, None) => word!("A few letters of the ingredient, or scan it").to_owned(),
            (Cell::Quantity, Some(item)) => {
                let tab = if self.cells.len() > 3 { word!(". Tab goes on to waste, ice and note") } else { "" };
                say!(
                    "How much of {name}: {example}{tab}; Enter to the next line",
                    name = text::safe(&item.name),
                    example = example(item),
                    tab
                )
            }
            (Cell::Waste, _) => {
                word!("Percent lost on top: what sticks to the jigger or is strained out; may stay empty").to_owned()
            }
            (Cell::After, _) => {
                word!("Whether it is added once the ice has done its work; Left and Right choose").to_owned()
            }
            (Cell::Note, _) => word!("Anything to remember; may stay empty").to_owned(),
            (Cell::Quantity, None) => word!("How much").to_owned(),
        })
    }

    /// Lines that all of it takes to draw: the titles, the ingredients, the empty one.
    pub(crate) fn height(&self) -> u16 {
        u16::try_from(self.parts.len() + 1).unwrap_or(u16::MAX)
    }

    /// Draws the titles of the columns and the lines under them; `cost` says what an ingredient costs.
    pub(crate) fn draw(
        &mut self,
        frame: &mut Frame,
        area: Rect,
        setup: &Setup,
        has_focus: bool,
        cost: impl Fn(&Ingredient) -> String,
        theme: &Theme,
    ) {
        self.under = None;
        if area.height < 2 {
            return;
        }
        let columns = Columns::of(self.cells, area);
        let title = |frame: &mut Frame, (x, width): (u16, u16), word: &str| {
            let word = text::fit(word, width.into());
            frame.render_widget(Span::styled(word, theme.title), Rect { x, y: area.y, width, height: 1 });
        };
        for (cell, word) in [
            (Cell::Item, word!("takes")),
            (Cell::Quantity, word!("how much")),
            (Cell::Waste, word!("waste %")),
            (Cell::After, word!("after ice")),
            (Cell::Note, word!("note")),
        ] {
            if let Some(place) = columns.place(cell) {
                title(frame, place, word);
            }
        }
        title(frame, columns.cost, word!("cost"));
        let rows = usize::from(area.height - 1);
        self.top = self.top.min(self.row).max((self.row + 1).saturating_sub(rows));
        let below = self.parts.len().saturating_sub(self.top + rows);
        if self.top > 0 || below > 0 {
            let [up, down] = theme.glyphs.more;
            let mark = |many: usize, glyph: char| if many > 0 { format!(" {glyph}{many}") } else { String::new() };
            let words = mark(self.top, up) + &mark(below, down);
            let line = Line::from(Span::styled(words, theme.muted)).right_aligned();
            frame.render_widget(line, Rect { height: 1, ..area });
        }
        for (row, y) in (self.top..self.parts.len()).zip(area.y + 1..area.bottom()) {
            let here = has_focus && row == self.row;
            self.draw_line(frame, &columns, row, y, setup, here, &cost, theme);
            if here && self.is_choosing() {
                let (x, width) = columns.place(Cell::Item).unwrap_or((area.x, area.width));
                self.under = Some(Rect { x, y, width: width.max(44).min(area.right() - x), height: 1 });
            }
        }
    }

    /// Draws the matches of the ingredient that is looked for over whatever is there, below its line or, where there is
    /// no room, above it; to be called last.
    pub(crate) fn draw_matches(&mut self, frame: &mut Frame, area: Rect, theme: &Theme) {
        let Some(line) = self.under else { return };
        let wanted = u16::try_from(self.finder.matches()).unwrap_or(MATCHES).clamp(1, MATCHES);
        let below = area.bottom().saturating_sub(line.bottom()).min(wanted);
        let list = if below >= wanted.min(3) || line.y < area.y + MATCHES {
            Rect { height: 1 + below, ..line }
        } else {
            Rect { y: line.y - MATCHES, height: MATCHES, ..line }
        };
        // Nothing shows beside the matches, which would read as one text with them.
        let matches = Rect { x: area.x, y: list.y + 1, width: area.width, height: list.height - 1 };
        frame.render_widget(ratatui::widgets::Clear, matches);
        frame.render_widget(ratatui::widgets::Clear, list);
        self.finder.draw_inside(frame, list, theme);
    }

    #[expect(clippy::too_many_arguments, reason = "one line is drawn from one place only")]
    fn draw_line(
        &self,
        frame: &mut Frame,
        columns: &Columns,
        row: usize,
        y: u16,
        setup: &Setup,
        here: bool,
        cost: &impl Fn(&Ingredient) -> String,
        theme: &Theme,
    ) {
        let part = &self.parts[row];
        let at = |(x, width): (u16, u16)| Rect { x, y, width, height: 1 };
        for cell in self.cells {
            let Some(place) = columns.place(*cell) else { continue };
            let typing = here && self.at() == *cell;
            let field = match cell {
                Cell::Quantity => Some(&part.quantity),
                Cell::Waste => Some(&part.waste),
                Cell::Note => Some(&part.note),
                Cell::Item | Cell::After => None,
            };
            if let Some(field) = field {
                if typing {
                    field.draw(frame, at(place), true, theme);
                } else {
                    let shown = text::fit(&text::safe(field.text()), place.1.into());
                    frame.render_widget(Span::styled(shown, theme.text), at(place));
                }
                continue;
            }
            let (words, style) = match cell {
                Cell::After => {
                    let usual = || part.read(setup).is_ok_and(|part| joins_after_ice(setup, &part));
                    let words = match part.after {
                        Some(true) => word!("yes"),
                        Some(false) => word!("no"),
                        None if part.item.is_some() && usual() => word!("(yes)"),
                        None => "",
                    };
                    (words.to_owned(), if typing { theme.selected } else { theme.text })
                }
                _ => match part.item {
                    Some(id) if typing => (text::safe(setup.item_name(id)), theme.selected),
                    Some(id) => (text::safe(setup.item_name(id)), if here { theme.title } else { theme.text }),
                    None => ("…".to_owned(), theme.muted),
                },
            };
            let words = text::pad_right(&words, place.1.into());
            frame.render_widget(Span::styled(words, style), at(place));
        }
        if let Ok(read) = part.read(setup) {
            let money = Line::from(Span::styled(cost(&read), theme.text)).right_aligned();
            frame.render_widget(money, at(columns.cost));
        }
    }
}

/// Matches shown at once.
const MATCHES: u16 = 6;

/// The items, those first that most drinks or recipes take: of two that match equally well, the one that is meant is
/// mostly the one in use.
fn items(setup: &Setup, cells: &[Cell]) -> Finder<ItemId> {
    let of_drink = cells.contains(&Cell::Waste);
    let mut uses: HashMap<ItemId, usize> = HashMap::new();
    let specs = setup.drinks.iter().filter(|_| of_drink).flat_map(|drink| drink.specs.iter()).map(|(_, spec)| spec);
    let recipes = setup.recipes.values().filter(|_| !of_drink).flat_map(|all| all.iter());
    for part in specs.chain(recipes.map(|(_, recipe)| &recipe.takes)).flatten() {
        *uses.entry(part.item).or_default() += 1;
    }
    let mut items: Vec<&Item> = setup.items.iter().collect();
    items.sort_by_key(|item| Reverse(uses.get(&item.id).copied().unwrap_or_default()));
    Finder::new("", items.into_iter().map(|item| (item.id, item.name.clone())))
}

/// Where the columns are: the left edge and width of each.
struct Columns {
    places: Vec<(Cell, (u16, u16))>,
    cost: (u16, u16),
}

impl Columns {
    fn of(cells: &[Cell], area: Rect) -> Columns {
        const COST: u16 = 7;
        let fixed = |cell: Cell| match cell {
            Cell::Item | Cell::Note => 0,
            Cell::Quantity => 13,
            Cell::Waste => 7,
            Cell::After => 9,
        };
        let gaps = u16::try_from(cells.len()).unwrap_or(0);
        let taken: u16 = cells.iter().map(|cell| fixed(*cell)).sum::<u16>() + COST + gaps;
        let free = area.width.saturating_sub(taken);
        // The note gets what a long name leaves.
        let name = free.saturating_sub(8).min(free * 2 / 3).max(10);
        let mut x = area.x;
        let mut places = Vec::new();
        for cell in cells {
            let width = match cell {
                Cell::Item => name,
                Cell::Note => free.saturating_sub(name),
                other => fixed(*other),
            };
            let width = width.min(area.right().saturating_sub(x));
            if width > 0 {
                places.push((*cell, (x, width)));
            }
            x = x.saturating_add(width + 1);
            if *cell == Cell::Quantity {
                // What it costs stands beside how much it is.
                x = x.saturating_add(COST + 1);
            }
        }
        let quantity = places.iter().find(|(cell, _)| *cell == Cell::Quantity).map_or((area.x, 0), |(_, place)| *place);
        let cost = quantity.0.saturating_add(quantity.1).saturating_add(1);
        Columns { places, cost: (cost.min(area.right()), COST.min(area.right().saturating_sub(cost))) }
    }

    fn place(&self, cell: Cell) -> Option<(u16, u16)> {
        self.places.iter().find(|(of, _)| *of == cell).map(|(_, place)| *place)
    }
}
