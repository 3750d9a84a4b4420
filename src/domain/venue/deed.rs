//! What is done to a book, by name: the history says it, and some of it is a manager's alone.

use super::words::words;

words! {
    /// What somebody did, in the words of the history.
    Deed {
        /// The book was made, or what it held when its history began.
        Begun = "book begun",
        /// The book was saved out of a damaged one.
        Salvaged = "saved from damage",
        /// A copy was put in the place of the book.
        Restored = "restored from a copy",
        /// A later version of the program changed how things are kept.
        BroughtUp = "brought up to date",
        /// Another program changed rows of the book.
        Foreign = "changed by another program",
        /// A folder of plain files was loaded.
        Loaded = "files loaded",
        /// A walk was begun.
        CountBegun = "count begun",
        /// A line of a count was entered.
        Counted = "line counted",
        /// A line of a count was taken back.
        LineBack = "line taken back",
        /// A whole sheet of paper was typed in.
        SheetTyped = "sheet typed in",
        /// A place of a count was closed.
        PlaceClosed = "place closed",
        /// A count was closed.
        CountClosed = "count closed",
        /// An item got a spot in a place.
        SpotGiven = "spot given",
        /// An item was taken in that nobody had met before.
        ItemAdded = "item added",
        /// How a place is entered was chosen.
        EntryChosen = "way of entry chosen",
        /// Something was spilled, broken, given away.
        Loss = "loss",
        /// A loss was taken back.
        LossBack = "loss taken back",
        /// Stock was carried from place to place.
        Carried = "carried",
        /// That was taken back.
        CarriedBack = "carrying taken back",
        /// Something was made here.
        Batch = "batch",
        /// That was taken back.
        BatchBack = "batch taken back",
        /// A container was weighed.
        Weighed = "weighed",
        /// That was taken back.
        WeighedBack = "weighing taken back",
        /// The shape of a container was set.
        Shape = "shape set",
        /// What came of a line of an order was said, before its delivery was taken in.
        Checked = "delivery checked",
        /// What came was booked against an order.
        Delivery = "delivery",
        /// A supplier's bill was booked.
        Bill = "bill",
        /// That was taken back.
        BillBack = "bill taken back",
        /// What a bill says was explained.
        BillExplained = "bill explained",
        /// A claim was settled.
        Claim = "claim settled",
        /// A file of sales was taken in.
        Sales = "sales taken in",
        /// A file was set aside.
        FileAside = "file set aside",
        /// A file was taken back, or is offered again.
        FileBack = "file taken back",
        /// What a name of the till means was said.
        TillName = "till name",
        /// A draft of an order was changed.
        Draft = "draft changed",
        /// An order was sent.
        OrderSent = "order sent",
        /// An order was given up.
        OrderGivenUp = "order given up",
        /// The bar, an item, a place or a supplier was changed.
        SetUp = "set-up changed",
        /// A par was set.
        Par = "par set",
        /// A drink was changed.
        Drink = "drink changed",
        /// A recipe was changed.
        Recipe = "recipe changed",
        /// A day that is not as usual was changed.
        Day = "day changed",
        /// The cause of a gap was accepted.
        Cause = "cause accepted",
        /// That was taken back.
        CauseBack = "cause taken back",
        /// Somebody who counts here was taken in or changed.
        Person = "person",
        /// A PIN was set or taken away.
        Pin = "PIN",
        /// A PIN was taken away that somebody had forgotten.
        PinForgotten = "PIN forgotten",
        /// A wrong PIN was typed.
        PinMissed = "wrong PIN",
        /// Something was taken back in the history.
        Undone = "undone",
        /// What was taken back in the history was done again.
        Redone = "done again",
    }
}

impl Deed {
    /// Whether it is a manager's alone, where there are managers: what changes the set-up, spends money or says what a gap
    /// was. A shift counts, records, makes and carries.
    pub fn is_a_managers(self) -> bool {
        match self {
            Deed::Begun
            | Deed::Salvaged
            | Deed::Restored
            | Deed::BroughtUp
            | Deed::CountBegun
            | Deed::Counted
            | Deed::LineBack
            | Deed::SheetTyped
            | Deed::PlaceClosed
            | Deed::CountClosed
            | Deed::SpotGiven
            | Deed::ItemAdded
            | Deed::EntryChosen
            | Deed::Loss
            | Deed::LossBack
            | Deed::Carried
            | Deed::CarriedBack
            | Deed::Batch
            | Deed::BatchBack
            | Deed::Weighed
            | Deed::WeighedBack
            | Deed::Checked
            | Deed::Delivery
            | Deed::PinForgotten
            | Deed::PinMissed
            // What is taken back is judged by what it was.
            | Deed::Undone
            | Deed::Redone => false,
            Deed::Foreign
            | Deed::Loaded
            | Deed::Shape
            | Deed::Bill
            | Deed::BillBack
            | Deed::BillExplained
            | Deed::Claim
            | Deed::Sales
            | Deed::FileAside
            | Deed::FileBack
            | Deed::TillName
            | Deed::Draft
            | Deed::OrderSent
            | Deed::OrderGivenUp
            | Deed::SetUp
            | Deed::Par
            | Deed::Drink
            | Deed::Recipe
            | Deed::Day
            | Deed::Cause
            | Deed::CauseBack
            | Deed::Person
            | Deed::Pin => true,
        }
    }

    /// Whether with it a book began: there is nothing before it to go back to.
    pub fn is_a_beginning(self) -> bool {
        matches!(self, Deed::Begun | Deed::Salvaged)
    }

    /// Whether it is written down though it changed nothing.
    pub fn is_always_kept(self) -> bool {
        matches!(self, Deed::PinMissed | Deed::Restored)
    }
}
