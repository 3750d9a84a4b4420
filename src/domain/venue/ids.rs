//! Handles of the nouns: opaque numbers that the book gives out.

/// Makes a handle type.
macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
        #[serde(transparent)]
        pub struct $name(pub i64);
    )+};
}

ids! {
    /// A place where stock stands.
    PlaceId,
    /// A supplier.
    SupplierId,
    /// A day that is not as usual.
    SpecialDayId,
    /// An item.
    ItemId,
    /// A container's shape.
    ProfileId,
    /// A drink.
    DrinkId,
    /// A name on the till.
    TillId,
    /// A count.
    CountId,
    /// An order.
    OrderId,
    /// A supplier's bill.
    BillId,
    /// A claim on a supplier.
    ClaimId,
    /// A file that was taken in.
    FileId,
    /// Something that was done to the book.
    ActId,
    /// A row of the journal.
    Seq,
}
