//! How domain values stand in columns, once for all queries.

use crate::domain::gauge::{Entry, Reading, WeighedAs};
use crate::domain::measure::{Amount, Basis, Density, Money, Price, Strength};
use crate::domain::receive::{ClaimKind, DocumentKind};
use crate::domain::till::{Amounts, DateOrder, DecimalMark, Field, LinesForm, TakenAs};
use crate::domain::venue::{
    ActId, BillId, CauseWord, ClaimId, Containers, CountBy, CountId, CountMethod, Deed, DrinkId, DrinkMethod, FileId,
    ItemId, Kind, MixedCase, Moment, OrderId, OrderState, ParFrom, PlaceId, PouredBy, ProfileId, Reason, Rights, Role,
    SaleKind, Section, Seq, SpecialDayId, SupplierId, TillId, parse_day,
};
use chrono::NaiveDate;
use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSql, ToSqlOutput, Type, ValueRef};

/// Newtypes of one integer.
macro_rules! integers {
    ($($name:ident),+ $(,)?) => {$(
        impl ToSql for $name {
            fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
                Ok(self.0.into())
            }
        }
        impl FromSql for $name {
            fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
                i64::column_result(value).map($name)
            }
        }
    )+};
}
integers!(
    ActId,
    Amount,
    BillId,
    ClaimId,
    Containers,
    CountId,
    Density,
    DrinkId,
    FileId,
    ItemId,
    Moment,
    Money,
    OrderId,
    PlaceId,
    Price,
    ProfileId,
    Seq,
    SpecialDayId,
    Strength,
    SupplierId,
    TillId,
);

/// Enums of words, kept as the word.
macro_rules! words {
    ($($name:ident),+ $(,)?) => {$(
        impl ToSql for $name {
            fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
                Ok(self.word().into())
            }
        }
        impl FromSql for $name {
            fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
                $name::parse(value.as_str()?).map_err(FromSqlError::other)
            }
        }
    )+};
}
words!(
    Amounts,
    ClaimKind,
    CountBy,
    PouredBy,
    CauseWord,
    CountMethod,
    DateOrder,
    Deed,
    DecimalMark,
    DocumentKind,
    DrinkMethod,
    Field,
    Kind,
    OrderState,
    ParFrom,
    Reason,
    Rights,
    Role,
    Section,
    LinesForm,
    TakenAs,
    WeighedAs,
);

impl FromSql for MixedCase {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        MixedCase::parse(value.as_str()?).map_err(FromSqlError::other)
    }
}

/// The word of a basis in the book.
pub(super) fn basis_word(basis: Basis) -> &'static str {
    match basis {
        Basis::Volume => "volume",
        Basis::Mass => "mass",
        Basis::Each => "each",
    }
}

impl FromSql for Basis {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        match value.as_str()? {
            "volume" => Ok(Basis::Volume),
            "mass" => Ok(Basis::Mass),
            "each" => Ok(Basis::Each),
            _ => Err(FromSqlError::InvalidType),
        }
    }
}

/// A kind of sale by its place in [`SaleKind::ALL`]: a million lines keep one byte each.
pub(super) fn sale_kind_number(kind: SaleKind) -> i64 {
    SaleKind::ALL.iter().position(|k| *k == kind).map_or(0, |n| n as i64)
}

impl FromSql for SaleKind {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        let number = i64::column_result(value)?;
        let kind = usize::try_from(number).ok().and_then(|n| SaleKind::ALL.get(n));
        kind.copied().ok_or(FromSqlError::OutOfRange(number))
    }
}

/// A business day in a column; no day at all is the empty text, which sorts before every day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Day(pub(super) Option<NaiveDate>);

impl ToSql for Day {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(self.0.map_or_else(String::new, |day| day.to_string()).into())
    }
}

impl FromSql for Day {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        match value.as_str()? {
            "" => Ok(Day(None)),
            text => parse_day(text).map(|day| Day(Some(day))).map_err(FromSqlError::other),
        }
    }
}

/// An entry out of its two columns.
pub(super) fn entry(row: &rusqlite::Row<'_>, sealed: usize, open: usize) -> rusqlite::Result<Entry> {
    let full = row.get(sealed)?;
    let open = Reading::parse_all(row.get_ref(open)?.as_str()?).map_err(wrong)?;
    Ok(Entry { full, open })
}

/// A text in a column that is none of what stands there.
pub(super) fn wrong(error: impl std::error::Error + Send + Sync + 'static) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(0, Type::Text, Box::new(error))
}
