//! The evidence of a line as an addition: every figure with the entries it is the sum of.

use crate::domain::ledger::{Delivery, Loss, Transfer};
use crate::domain::measure::{Amount, decimal};
use crate::domain::rows::{Evidence, Look, PeriodView};
use crate::domain::usage::{SoldPart, Told};
use crate::domain::venue::{CountMethod, Ingredient, Item, ItemId, Moment, PlaceId, Setup, TillMeaning};
use crate::tui::text;
use crate::words;

/// What becomes of a section's sum.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sign {
    /// The addition begins with it.
    First,
    Plus,
    Minus,
    /// The sections above make this.
    Makes,
}

impl Sign {
    pub(super) fn text(self) -> &'static str {
        match self {
            Sign::First => " ",
            Sign::Plus => "+",
            Sign::Minus => "-",
            Sign::Makes => "=",
        }
    }
}

/// A figure of the addition and what it is made of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Section {
    pub(super) sign: Sign,
    pub(super) title: String,
    pub(super) sum: Amount,
    pub(super) parts: Vec<Part>,
}

/// One entry of a book or a till.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Part {
    pub(super) said: Vec<String>,
    /// `None` for an entry that is shown and not added; what was said gives the reason.
    pub(super) amount: Option<Amount>,
}

/// Entries of a place are looked at between the two looks at that place, which is not quite when the item's period begins
/// and ends: those of these minutes are in the sum, and not among the entries that the evidence holds.
const BETWEEN_LOOKS: &str = text!("booked while the places were being counted");

struct Pen<'a> {
    setup: &'a Setup,
    view: &'a PeriodView,
    evidence: &'a Evidence,
    item: &'a Item,
    plus_minus: &'a str,
}

/// The whole addition, from the opening readings to the gap.
pub(super) fn addition(
    setup: &Setup,
    view: &PeriodView,
    evidence: &Evidence,
    item: &Item,
    plus_minus: &str,
) -> Vec<Section> {
    let pen = Pen { setup, view, evidence, item, plus_minus };
    let row = &evidence.row;
    let booked = |sign, title, sum, parts| pen.section(sign, title, sum, parts, words::find(BETWEEN_LOOKS));
    let mut out = vec![
        Section {
            sign: Sign::First,
            title: say!("Opening: {opening}", opening = text::safe(&view.opening.name)),
            sum: row.opening.amount,
            parts: evidence.opening.iter().map(|line| pen.reading(line)).collect(),
        },
        booked(Sign::Plus, word!("Delivered"), row.flow.delivered, pen.deliveries()),
    ];
    let made = pen.made();
    if row.flow.made != Amount::ZERO || !made.is_empty() {
        out.push(booked(Sign::Plus, word!("Made here"), row.flow.made, made));
    }
    if row.told != Told::Whole || row.flow.moved != Amount::ZERO {
        out.push(booked(Sign::Plus, word!("Carried in"), row.flow.moved, pen.carried()));
    }
    out.push(booked(Sign::Minus, word!("Losses written down"), row.flow.lost, pen.losses()));
    let batched = pen.batched();
    if row.flow.batched != Amount::ZERO || !batched.is_empty() {
        let rest = word!("through another house-made item");
        out.push(pen.section(Sign::Minus, word!("Taken by batches"), row.flow.batched, batched, rest));
    }
    out.push(Section {
        sign: Sign::Minus,
        title: say!("Closing: {closing}", closing = text::safe(&view.closing.name)),
        sum: row.closing.amount,
        parts: evidence.closing.iter().map(|line| pen.reading(line)).collect(),
    });
    out.push(Section { sign: Sign::Makes, title: word!("Used").to_owned(), sum: row.usage, parts: Vec::new() });
    let days = setup.venue.days;
    let sold = say!("Sold from {from} to {to}", from = days.short(row.from), to = days.short(row.to));
    let parts = evidence.sold.iter().map(|part| pen.sold(part)).collect();
    out.push(pen.section(Sign::Minus, &sold, row.sold, parts, word!("other sales")));
    out.push(Section { sign: Sign::Makes, title: word!("Gap").to_owned(), sum: row.gap, parts: Vec::new() });
    out
}

impl Pen<'_> {
    /// A section whose entries add up to its sum: a difference is an entry of its own, never silence.
    fn section(&self, sign: Sign, title: &str, sum: Amount, mut parts: Vec<Part>, rest: &str) -> Section {
        let added: Amount = parts.iter().filter_map(|part| part.amount).sum();
        if added != sum {
            parts.push(Part { said: vec![rest.to_owned()], amount: Some(sum - added) });
        }
        Section { sign, title: title.to_owned(), sum, parts }
    }

    fn is_left_out(&self, place: PlaceId) -> bool {
        matches!(&self.evidence.row.told, Told::StoresLeftOut(places) if places.contains(&place))
    }

    fn place(&self, place: PlaceId) -> String {
        text::safe(self.setup.place_name(place))
    }

    fn name(&self, item: ItemId) -> String {
        text::safe(self.setup.item_name(item))
    }

    fn when(&self, at: Moment) -> String {
        self.setup.venue.days.short(at)
    }

    fn reading(&self, Look { line, level }: &Look) -> Part {
        let show = self.setup.venue.show();
        let mut said = vec![self.place(line.place), line.entry.shown(), method(line.method).to_owned()];
        let u = Amount::rounded(level.u);
        if u.0 > 0 {
            said.push(format!("{} {}", self.plus_minus, show.amount(self.item.basis, u)));
        }
        said.push(self.when(line.at));
        said.push(line.by.as_deref().map(text::safe).unwrap_or_default());
        let left_out = self.is_left_out(line.place);
        if left_out {
            said.push(word!("not counted both times, so left out").to_owned());
        }
        Part { said, amount: Some(level.amount).filter(|_| !left_out) }
    }

    fn deliveries(&self) -> Vec<Part> {
        let venue = &self.setup.venue;
        let part = |delivery: &Delivery| {
            let supplier = self.setup.supplier(delivery.supplier).map_or("?", |s| &s.name);
            let price = delivery.unit_price.shown(venue.currency);
            let mut said = vec![
                say!("{document} line {delivery}", document = text::safe(&delivery.document), delivery = delivery.line),
                text::safe(supplier),
                format!("{} x {price} {}", delivery.containers, venue.currency),
                self.when(delivery.at),
            ];
            let place = delivery.place.or_else(|| self.setup.store_of(delivery.item));
            let left_out = place.filter(|place| self.is_left_out(*place));
            if let Some(place) = left_out {
                said.push(say!("into {place}, left out", place = self.place(place)));
            }
            let amount = self.item.size.times(delivery.containers, 1);
            Part { said, amount: Some(amount).filter(|_| left_out.is_none()) }
        };
        self.evidence.deliveries.iter().map(part).collect()
    }

    fn made(&self) -> Vec<Part> {
        let own = self.evidence.batches.iter().filter(|(_, item, _)| *item == self.item.id);
        own.map(|(at, _, made)| Part { said: vec![word!("batch").to_owned(), self.when(*at)], amount: Some(*made) })
            .collect()
    }

    /// What came from, or went to, a store that was left out. What was carried between counted places cancels.
    fn carried(&self) -> Vec<Part> {
        let part = |transfer: &Transfer| {
            let amount = transfer.containers.of(self.item.size);
            let amount = match (self.is_left_out(transfer.from), self.is_left_out(transfer.to)) {
                (true, false) => amount,
                (false, true) => -amount,
                _ => return None,
            };
            let show = self.setup.venue.show();
            let said = vec![
                say!("{from} to {to}", from = self.place(transfer.from), to = self.place(transfer.to)),
                say!(
                    "{containers} containers",
                    containers = show.containers(transfer.containers.of(self.item.size), self.item.size)
                ),
                self.when(transfer.at),
                transfer.by.as_deref().map(text::safe).unwrap_or_default(),
            ];
            Some(Part { said, amount: Some(amount) })
        };
        self.evidence.transfers.iter().filter_map(part).collect()
    }

    fn losses(&self) -> Vec<Part> {
        let part = |loss: &Loss| {
            let mut said = vec![loss.reason.said().to_owned(), self.when(loss.at)];
            said.push(loss.place.map(|place| self.place(place)).unwrap_or_default());
            said.push(loss.by.as_deref().map(text::safe).unwrap_or_default());
            said.push(loss.note.as_deref().map(|note| words::quoted(text::safe(note))).unwrap_or_default());
            let left_out = loss.place.is_some_and(|place| self.is_left_out(place));
            if left_out {
                said.push(word!("left out").to_owned());
            }
            Part { said, amount: Some(loss.amount).filter(|_| !left_out) }
        };
        self.evidence.losses.iter().map(part).collect()
    }

    /// What batches of other items took, by their recipes. A batch of an item that was not counted itself takes nothing
    /// here, because what was sold of it is taken from this item already.
    fn batched(&self) -> Vec<Part> {
        let part = |(at, made_item, made): &(Moment, ItemId, Amount)| {
            if *made_item == self.item.id {
                return None;
            }
            let show = self.setup.venue.show();
            let basis = self.setup.item(*made_item).map_or(self.item.basis, |item| item.basis);
            let mut said =
                vec![self.name(*made_item), say!("{made} made", made = show.amount(basis, *made)), self.when(*at)];
            let counted = self.view.variance.rows.iter().any(|row| row.item == *made_item);
            let day = self.setup.venue.days.day_of(*at);
            let recipe = self.setup.recipes.get(made_item).and_then(|versions| versions.at(day));
            let takes = recipe.into_iter().flat_map(|(_, recipe)| recipe.takes.iter().map(move |t| (t, recipe.yields)));
            let amount = |(part, yields): (&Ingredient, Amount)| {
                let wasted = i128::from(part.amount.0) * i128::from(10_000 + part.waste);
                let many = wasted.saturating_mul(made.0.into());
                let exact = decimal::round_half_even(many, i128::from(yields.0.max(1)) * 10_000);
                Amount(exact.clamp(i64::MIN.into(), i64::MAX.into()) as i64)
            };
            let amount = takes.filter(|(part, _)| part.item == self.item.id).map(amount).sum();
            if !counted {
                said.push(word!("not counted itself: its sales are below").to_owned());
            }
            Some(Part { said, amount: Some(amount).filter(|_| counted) })
        };
        self.evidence.batches.iter().filter_map(part).collect()
    }

    fn sold(&self, part: &SoldPart) -> Part {
        let show = self.setup.venue.show();
        let till = self.setup.till_name(part.till).map_or("?", |till| &till.name);
        let each = part.amount.times(1_000, part.quantity);
        let mut said = vec![
            words::quoted(text::safe(till)),
            text::safe(self.setup.drink(part.drink).map_or("?", |drink| &drink.name)),
            format!("{} x {}", decimal::shown(part.quantity, 3), show.amount(self.item.basis, each)),
        ];
        if let TillMeaning::Drink { portion, .. } = self.setup.meaning(part.till)
            && portion != 1_000
        {
            said.push(say!("portion {portion}", portion = decimal::shown(portion, 3)));
        }
        if let Some(through) = part.through {
            said.push(say!("through {through}", through = self.name(through)));
        }
        Part { said, amount: Some(part.amount) }
    }
}

fn method(method: CountMethod) -> &'static str {
    match method {
        CountMethod::Tenths => word!("by tenths"),
        CountMethod::Weight => word!("weighed"),
        CountMethod::Height => word!("by height"),
        CountMethod::Whole => word!("whole"),
        CountMethod::Expected => word!("AS EXPECTED, without a look"),
    }
}
