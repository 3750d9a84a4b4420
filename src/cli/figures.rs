//! Figures as all tables of the command line write them.

use crate::domain::measure::{Amount, Basis, Money, decimal, number_of};
use crate::domain::usage::Unmapped;
use crate::domain::venue::{Item, ItemId, Moment, PlaceId, Setup};

/// Stands for what is not known.
pub(super) const UNKNOWN: &str = "–";

/// Writes the figures of one book.
#[derive(Clone, Copy, Debug)]
pub(super) struct Figures<'a> {
    pub(super) setup: &'a Setup,
}

impl<'a> Figures<'a> {
    /// What an item is measured by; an item that is gone counts as a volume.
    pub(super) fn basis(self, item: ItemId) -> Basis {
        self.setup.item(item).map_or(Basis::Volume, |i| i.basis)
    }

    /// The unit of an item's figures.
    pub(super) fn symbol(self, item: ItemId) -> String {
        self.setup.venue.show().symbol(self.basis(item)).to_owned()
    }

    /// An amount of an item, without its unit.
    pub(super) fn bare(self, item: ItemId, amount: Amount) -> String {
        self.setup.venue.show().bare(self.basis(item), amount)
    }

    /// An amount of an item with its unit.
    pub(super) fn amount(self, item: ItemId, amount: Amount) -> String {
        self.setup.venue.show().amount(self.basis(item), amount)
    }

    /// A standard uncertainty of an item, without its unit.
    pub(super) fn u(self, item: ItemId, u: f64) -> String {
        self.bare(item, Amount(super::json::whole(u)))
    }

    /// Containers of an item, to one decimal.
    pub(super) fn containers(self, item: ItemId, amount: Amount) -> String {
        let size = self.setup.item(item).map_or(Amount::ZERO, |i| i.size);
        self.setup.venue.show().containers(amount, size)
    }

    /// Money, without the coin's name.
    pub(super) fn money(self, money: Money) -> String {
        self.setup.venue.show().money(money)
    }

    /// Money that may not be known.
    pub(super) fn known(self, money: Option<Money>) -> String {
        money.map_or_else(|| UNKNOWN.to_owned(), |m| self.money(m))
    }

    /// Sales under till names without a meaning: `3 rung in 1 line, 30.00 EUR net`.
    pub(super) fn unmapped(self, sum: &Unmapped) -> String {
        let (rung, lines) = (decimal::plain(sum.quantity, 3), number_of(sum.lines, "line", "lines"));
        format!("{rung} rung in {lines}, {} net", self.coin(sum.net))
    }

    /// Money with its coin.
    pub(super) fn coin(self, money: Money) -> String {
        self.setup.venue.show().coin(money)
    }

    /// A time on the bar's wall clock.
    pub(super) fn time(self, at: Moment) -> String {
        self.setup.venue.days.minute(at)
    }

    /// Names of items, in one line.
    pub(super) fn items(self, items: impl IntoIterator<Item = ItemId>) -> String {
        items.into_iter().map(|i| self.setup.item_name(i)).collect::<Vec<_>>().join(", ")
    }

    /// Names of places, in one line.
    pub(super) fn places(self, places: &[PlaceId]) -> String {
        places.iter().map(|p| self.setup.place_name(*p)).collect::<Vec<_>>().join(", ")
    }

    /// The base unit of an item in JSON.
    pub(super) fn unit(self, item: ItemId) -> &'static str {
        super::json::unit(self.basis(item))
    }

    /// An item that is still in the book.
    pub(super) fn item(self, item: ItemId) -> Option<&'a Item> {
        self.setup.item(item)
    }

    /// The name of an item, for JSON.
    pub(super) fn name(self, item: ItemId) -> String {
        self.setup.item_name(item).to_owned()
    }
}
