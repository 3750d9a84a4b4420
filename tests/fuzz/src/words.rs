//! Text alone: figures, times, names, and text that is made harmless.

use super::held::{again, days, said};
use tantalus::domain::gauge::{Entry, Mass, Reading};
use tantalus::domain::measure::{Basis, Currency, Decimal, Density, Quantity, SmallMeasures, Strength, Sugar};
use tantalus::domain::receive::{CodeKey, KnownAs};
use tantalus::domain::rows::parse_mark;
use tantalus::domain::venue::{
    Allergen, CauseWord, Containers, CostRule, CountBy, CountMethod, Country, DrinkMethod, EAddress, Factor, Gln, Gtin,
    Kind, MixedCase, NamedDay, OrderBy, OrderCalendar, OrderState, ParFrom, Party, Phone, PouredBy, Reason, Role,
    SaleKind, ServiceLevels, StandardDrink, TenthsOf, VatId, Water, is_hidden, one_line, parse_day, parse_millimetres,
    said_day,
};
use tantalus::exchange::plain::{checked, legible, tamed};
use tantalus::tui::text::{safe, width};

/// Decimals, money, prices, quantities, strengths, lengths, weights, readings and entries.
pub fn figures(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let small = SmallMeasures::default();
    again(text, Decimal::parse, Decimal::to_string);
    for coin in ["EUR", "JPY", "TND", "CLF"] {
        let coin: Currency = coin.parse().expect("a coin");
        again(text, |t| coin.parse(t), |money| coin.plain(*money));
        again(text, |t| coin.parse_price(t), |price| price.plain(coin));
    }
    again(text, |t| Quantity::parse(t, &small), Quantity::to_string);
    for basis in [Basis::Volume, Basis::Mass, Basis::Each] {
        let shown = |amount: &_| Quantity { basis, amount: *amount }.to_string();
        again(text, |t| Quantity::parse_as(t, basis, &small), shown);
    }
    again(text, Sugar::parse, |sugar| sugar.plain());
    again(text, Strength::parse, |strength| strength.plain());
    again(text, Density::parse, |density| density.plain());
    again(text, Mass::parse, Mass::to_string);
    again(text, Mass::typed, Mass::to_string);
    again(text, Reading::parse, Reading::to_string);
    again(text, Reading::typed, Reading::to_string);
    again(text, Reading::parse_all, |all| Reading::plain_all(all));
    again(text, Entry::parse, Entry::to_string);
    for count_by in CountBy::ALL {
        // What is shown says its units, so that any way of reading finds the same.
        if let Ok(entry) = Entry::parse_for(text, *count_by) {
            assert_eq!(Entry::parse(&entry.to_string()).as_ref(), Ok(&entry), "{text:?} by {count_by}");
        }
    }
    again(text, parse_millimetres, |um| tantalus::domain::measure::decimal::plain(*um, 3));
    again(text, Containers::parse, |n| tantalus::domain::measure::decimal::plain(n.0, 3));
    again(text, |t| Water::parse(t, &small), |water| water.written.clone());
    again(text, ServiceLevels::parse, ServiceLevels::to_string);
    again(text, Factor::parse, Factor::to_string);
}

/// Moments, days, deadlines, and days that are not as usual.
pub fn times(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let days = days();
    again(text, |t| days.parse(t), |at| days.plain(*at));
    again(text, parse_day, chrono::NaiveDate::to_string);
    let today = chrono::NaiveDate::from_ymd_opt(2026, 11, 29).expect("a day");
    again(text, |t| said_day(t, today), chrono::NaiveDate::to_string);
    again(text, OrderCalendar::parse, OrderCalendar::to_string);
    again(text, OrderBy::parse, OrderBy::to_string);
    again(text, NamedDay::parse, NamedDay::to_string);
}

macro_rules! word_by_word {
    ($text:expr, $($sort:ident)+) => {
        $(again($text, $sort::parse, |word| word.word().to_owned());)+
    };
}

/// Codes, numbers and words that a table or a person may say.
pub fn names(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    again(text, Gtin::parse, Gtin::to_string);
    again(text, Gln::parse, Gln::to_string);
    again(text, Country::parse, Country::to_string);
    again(text, VatId::parse, VatId::to_string);
    again(text, EAddress::parse, EAddress::to_string);
    again(text, Phone::parse, Phone::to_string);
    let address = |lines: &Vec<String>| Party { address: lines.clone(), ..Party::default() }.plain_address();
    again(text, Party::parse_address, address);
    again(text, MixedCase::parse, MixedCase::to_string);
    again(text, CodeKey::parse, |key| key.as_str().to_owned());
    again(text, KnownAs::parse, |known| known.as_str().to_owned());
    again(text, StandardDrink::parse, |drink| drink.plain());
    again(text, |t| parse_mark(t).ok_or("no mark"), String::clone);
    word_by_word!(text, Allergen CauseWord CostRule CountBy CountMethod DrinkMethod Kind OrderState ParFrom PouredBy
        Reason Role SaleKind TenthsOf);
}

/// Whatever a stranger wrote is harmless once it passed: on a terminal, in a spreadsheet, in a document.
pub fn text(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let hidden = |c: char| is_hidden(c) || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let shown = safe(&text);
    assert!(!shown.chars().any(hidden), "{shown:?}");
    assert_eq!(safe(&shown), shown);
    assert!(width(&shown) <= 2 * shown.chars().count(), "{shown:?}");
    let tame = tamed(&text);
    assert!(!tame.chars().any(hidden), "{tame:?}");
    assert_eq!(checked(&tame), Ok(tame.clone()));
    assert_eq!(tamed(&tame), tame);
    let plain = legible(&text);
    assert!(!plain.chars().any(hidden), "{plain:?}");
    assert_eq!(legible(&plain), plain);
    let line = one_line(&text);
    assert!(!line.chars().any(hidden), "{line:?}");
    assert_eq!(one_line(&line), line);
    match checked(&text) {
        Ok(kept) => assert_eq!(checked(&kept), Ok(kept)),
        Err(refused) => said(&refused.to_string()),
    }
}
