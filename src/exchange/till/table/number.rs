//! Numbers as tills write them: `1.234,50`, `1'234.50`, `(5)`, `5-`, `EUR 12.50`, `19 %`.

use crate::domain::measure::{Currency, Decimal};
use crate::domain::till::DecimalMark;

/// What a number was written with.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::exchange) struct Dress {
    /// A percent sign stood by it.
    pub(in crate::exchange) percent: bool,
    /// A sign or code of a currency stood by it.
    pub(in crate::exchange) coin: bool,
}

/// Why a text is no number here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::exchange) enum Wrong {
    /// No number at all.
    NotANumber,
    /// Marks where they cannot be with this decimal mark.
    Mark,
    /// Of another coin.
    Coin(String),
    /// The mark is not known, and with a point it is the first, with a comma the second of these.
    Either(Decimal, Decimal),
}

/// Signs of currencies and the codes that write them so (common practice; the codes are of ISO 4217).
const SIGNS: &[(&str, &[&str])] = &[
    ("€", &["EUR"]),
    ("£", &["GBP", "GIP", "FKP", "SHP", "EGP", "LBP", "SSP", "SDG"]),
    ("kr", &["DKK", "NOK", "SEK", "ISK", "CZK"]),
    ("zł", &["PLN"]),
    ("Kč", &["CZK"]),
    ("Fr", &["CHF", "XOF", "XAF", "XPF"]),
    ("Ft", &["HUF"]),
    ("lei", &["RON", "MDL"]),
    ("¥", &["JPY", "CNY"]),
    ("R$", &["BRL"]),
    ("₹", &["INR"]),
    ("₺", &["TRY"]),
    ("₩", &["KRW"]),
    ("₪", &["ILS"]),
    ("R", &["ZAR"]),
];

/// Whether a word says the book's coin; none when it is no word of a coin at all. A dollar sign stands for
/// the coins whose code ends so that it can: dollars, pesos and the like.
pub(in crate::exchange) fn is_coin(word: &str, currency: Currency) -> Option<bool> {
    let code = currency.code();
    let word = word.trim_end_matches('.');
    if word.len() == 3 && word.chars().all(|c| c.is_ascii_alphabetic()) && word.parse::<Currency>().is_err() {
        return word.to_uppercase().parse::<Currency>().ok().map(|other| other == currency);
    }
    if let Ok(other) = word.parse::<Currency>() {
        return Some(other == currency);
    }
    if let Some((_, codes)) = SIGNS.iter().find(|(sign, _)| sign.eq_ignore_ascii_case(word)) {
        return Some(codes.contains(&code));
    }
    let dollar =
        word.strip_suffix('$').filter(|front| front.len() <= 3 && front.chars().all(|c| c.is_ascii_alphabetic()))?;
    Some(
        code.starts_with(&dollar.to_uppercase()) && !SIGNS.iter().any(|(s, codes)| *s != "R$" && codes.contains(&code)),
    )
}

/// Words that stand after a quantity and say pieces (common practice).
const PIECES: &[&str] =
    &["x", "×", "pc", "pcs", "st", "stk", "stck", "stück", "ea", "ud", "uds", "un", "pz", "pza", "szt"];

/// Reads a number; `None` for a cell that says that there is none: empty, or a dash. Where the mark is not known, a number
/// that is the same with either is read, and one that is a number with one of them only.
pub(in crate::exchange) fn number(
    cell: &str,
    mark: DecimalMark,
    currency: Currency,
) -> Result<Option<(Decimal, Dress)>, Wrong> {
    let cell = cell.trim();
    if is_none(cell) {
        return Ok(None);
    }
    if mark == DecimalMark::Unknown {
        let read = |mark| number(cell, mark, currency);
        return match (read(DecimalMark::Point), read(DecimalMark::Comma)) {
            (Ok(Some((point, _))), Ok(Some((comma, _)))) if point != comma => Err(Wrong::Either(point, comma)),
            (Ok(read), _) | (Err(_), Ok(read)) => Ok(read),
            (Err(wrong), Err(_)) => Err(wrong),
        };
    }
    if let Some(quick) = plain(cell, mark) {
        return Ok(Some((quick, Dress::default())));
    }
    let (mut inner, mut negative) = (cell, false);
    if let Some(open) = inner.strip_prefix('(') {
        inner = open.strip_suffix(')').ok_or(Wrong::NotANumber)?.trim();
        negative = true;
    }
    let mut dress = Dress::default();
    let mut signs = 0;
    // Whatever stands before and after the digits, from outside in: a sign, a currency, a percent sign.
    loop {
        let front = inner.chars().next().ok_or(Wrong::NotANumber)?;
        if matches!(front, '-' | '−' | '–' | '+') {
            negative |= front != '+';
            signs += 1;
            inner = inner[front.len_utf8()..].trim_start();
            continue;
        }
        if front.is_ascii_digit() || (matches!(front, '.' | ',')) {
            break;
        }
        let end = inner.find(|c: char| c.is_ascii_digit() || matches!(c, '-' | '−' | '+') || c.is_whitespace());
        let (word, rest) = inner.split_at(end.ok_or(Wrong::NotANumber)?);
        match is_coin(word, currency) {
            Some(true) => dress.coin = true,
            Some(false) => return Err(Wrong::Coin(word.to_owned())),
            None => return Err(Wrong::NotANumber),
        }
        inner = rest.trim_start();
    }
    // A word by a number may be cut short: `2 Stk.`
    let short = |text: &str| text.strip_suffix('.').is_some_and(|front| front.ends_with(char::is_alphabetic));
    loop {
        if short(inner) {
            inner = &inner[..inner.len() - 1];
        }
        let last = inner.chars().next_back().ok_or(Wrong::NotANumber)?;
        if last.is_ascii_digit() || matches!(last, '.' | ',') {
            break;
        }
        if matches!(last, '-' | '−' | '–') {
            negative = true;
            signs += 1;
            // `12,-` is twelve and no cents, as prices are written.
            let rest = &inner[..inner.len() - last.len_utf8()];
            if rest.ends_with(',') || rest.ends_with('.') {
                (negative, signs) = (signs > 1, signs - 1);
                inner = &rest[..rest.len() - 1];
            } else {
                inner = rest.trim_end();
            }
            continue;
        }
        if last == '%' {
            dress.percent = true;
            inner = inner[..inner.len() - 1].trim_end();
            continue;
        }
        let from =
            inner.rfind(|c: char| c.is_ascii_digit() || c == '-' || c.is_whitespace()).ok_or(Wrong::NotANumber)?;
        let from = from + inner[from..].chars().next().map_or(1, char::len_utf8);
        let word = &inner[from..];
        if PIECES.iter().any(|p| p.eq_ignore_ascii_case(word.trim_end_matches('.'))) {
            inner = inner[..from].trim_end();
            continue;
        }
        match is_coin(word, currency) {
            Some(true) => dress.coin = true,
            Some(false) => return Err(Wrong::Coin(word.to_owned())),
            None => return Err(Wrong::NotANumber),
        }
        inner = inner[..from].trim_end();
    }
    if signs > 1 || (signs == 1 && cell.starts_with('(')) {
        return Err(Wrong::NotANumber);
    }
    let text = ungrouped(inner, mark)?;
    let text = if negative { format!("-{text}") } else { text };
    Decimal::parse(&text).map(|number| Some((number, dress))).map_err(|_| Wrong::NotANumber)
}

/// A cell that says that there is nothing.
pub(in crate::exchange) fn is_none(cell: &str) -> bool {
    matches!(cell.trim(), "" | "-" | "–" | "—" | "--" | "---")
}

/// The plainest form, which nearly every cell has: digits with at most one decimal mark.
fn plain(cell: &str, mark: DecimalMark) -> Option<Decimal> {
    let digits = cell.strip_prefix('-').unwrap_or(cell);
    match mark {
        DecimalMark::Point => {
            let plain = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit() || b == b'.');
            plain.then(|| Decimal::parse(cell).ok()).flatten()
        }
        DecimalMark::Unknown => None,
        DecimalMark::Comma => {
            if digits.is_empty() || cell.len() > 24 || !digits.bytes().all(|b| b.is_ascii_digit() || b == b',') {
                return None;
            }
            let mut buffer = [0; 24];
            for (to, from) in buffer.iter_mut().zip(cell.bytes()) {
                *to = if from == b',' { b'.' } else { from };
            }
            Decimal::parse(std::str::from_utf8(&buffer[..cell.len()]).ok()?).ok()
        }
    }
}

/// Digits and one point at most, what stands between thousands left out where it stands right.
fn ungrouped(text: &str, mark: DecimalMark) -> Result<String, Wrong> {
    let (mark, other) = if mark == DecimalMark::Comma { (',', '.') } else { ('.', ',') };
    let (whole, rest) = text.split_once(mark).map_or((text, None), |(whole, rest)| (whole, Some(rest)));
    let rest = rest.unwrap_or_default();
    if !rest.chars().all(|c| c.is_ascii_digit()) {
        return Err(if rest.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',')) {
            Wrong::Mark
        } else {
            Wrong::NotANumber
        });
    }
    let between = |c: char| c == other || matches!(c, '\'' | '’' | ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}' | '_');
    if let Some(separator) = whole.chars().find(|c| between(*c)) {
        let mut groups = whole.split(separator);
        let first = groups.next().unwrap_or_default();
        let digits = |group: &str| group.chars().all(|c| c.is_ascii_digit());
        let right = (1..=3).contains(&first.len()) && digits(first) && groups.all(|g| g.len() == 3 && digits(g));
        if !right {
            return Err(Wrong::Mark);
        }
    }
    let mut out: String = whole.chars().filter(|c| !between(*c)).collect();
    if !out.chars().all(|c| c.is_ascii_digit()) {
        return Err(Wrong::NotANumber);
    }
    out.push('.');
    out.push_str(rest);
    Ok(out)
}

/// What the numbers of a column are of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::exchange) enum Of {
    /// Amounts of the book's coin.
    Money,
    /// How many.
    Pieces,
    /// Percent.
    Percent,
    /// Not known.
    Anything,
}

/// What a cell says of the decimal mark of its table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::exchange) enum Says {
    /// It can only be this one.
    Is(DecimalMark),
    /// A mark before three digits: decimals or thousands.
    Either,
    /// No mark, or no number at all.
    Nothing,
}

/// What a cell says of the decimal mark; nothing when it is no number by either.
pub(in crate::exchange) fn says(cell: &str, of: Of, currency: Currency) -> Says {
    let read = |mark| number(cell, mark, currency).ok().flatten();
    let ((point, dress), (comma, _)) = match (read(DecimalMark::Point), read(DecimalMark::Comma)) {
        (Some(_), None) => return Says::Is(DecimalMark::Point),
        (None, Some(_)) => return Says::Is(DecimalMark::Comma),
        (None, None) => return Says::Nothing,
        (Some(point), Some(comma)) => (point, comma),
    };
    let of = if dress.coin { Of::Money } else { of };
    let Some(first) = cell.find(['.', ',']) else { return Says::Nothing };
    let (this, other) = if cell[first..].starts_with('.') {
        (DecimalMark::Point, DecimalMark::Comma)
    } else {
        (DecimalMark::Comma, DecimalMark::Point)
    };
    // 0.750 would be a number of thousands that begins with a zero.
    if cell[..first].trim_start_matches(|c: char| !c.is_ascii_digit()) == "0" {
        return Says::Is(this);
    }
    if point == comma {
        return Says::Nothing;
    }
    match of {
        // Three digits are no decimals of a coin that has none.
        Of::Money if currency.decimals() == 0 => Says::Is(other),
        // No rate is a thousand percent.
        Of::Percent => Says::Is(this),
        Of::Money | Of::Pieces | Of::Anything => Says::Either,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn euro() -> Currency {
        "EUR".parse().unwrap()
    }

    fn cents(cell: &str, mark: DecimalMark) -> Option<i64> {
        number(cell, mark, euro()).ok().flatten().and_then(|(n, _)| n.exact(2))
    }

    #[test]
    fn numbers_as_tills_write_them() {
        use DecimalMark::{Comma, Point};
        for (cell, mark, want) in [
            ("12,50", Comma, Some(1_250)),
            ("1.234,50", Comma, Some(123_450)),
            ("1,234.50", Point, Some(123_450)),
            ("1 234,50", Comma, Some(123_450)),
            ("1\u{202f}234,50 €", Comma, Some(123_450)),
            ("1'234.50", Point, Some(123_450)),
            ("CHF 1'234.50", Point, None),
            ("EUR 12.50", Point, Some(1_250)),
            ("€-12.50", Point, Some(-1_250)),
            ("-€12.50", Point, Some(-1_250)),
            ("12.50EUR", Point, Some(1_250)),
            ("(5)", Point, Some(-500)),
            ("(€5.20)", Point, Some(-520)),
            ("5-", Comma, Some(-500)),
            ("−5,00", Comma, Some(-500)),
            ("12,-", Comma, Some(1_200)),
            ("+3", Point, Some(300)),
            ("2 x", Point, Some(200)),
            ("2,00 Stk.", Comma, Some(200)),
            (",5", Comma, Some(50)),
            ("19 %", Comma, Some(1_900)),
            ("1.234.567", Comma, Some(123_456_700)),
            ("12.50", Comma, None),
            ("12,50", Point, None),
            ("1,23,4", Point, None),
            ("1.2.3", Point, None),
            ("(5", Point, None),
            ("(-5)", Point, None),
            ("-5-", Point, None),
            ("five", Point, None),
            ("12 34", Point, None),
            ("$5", Point, None),
            ("5 £", Point, None),
            ("1e3", Point, None),
        ] {
            assert_eq!(cents(cell, mark), want, "{cell}");
        }
        for none in ["", " ", "-", "–"] {
            assert_eq!(number(none, Point, euro()), Ok(None));
        }
        assert_eq!(number("5 £", Point, euro()), Err(Wrong::Coin("£".to_owned())));
        assert_eq!(number("USD 5", Point, euro()), Err(Wrong::Coin("USD".to_owned())));
        for (cell, code) in
            [("$5", "USD"), ("CA$5", "CAD"), ("5 kr", "NOK"), ("kr. 5", "DKK"), ("R5", "ZAR"), ("Fr. 5", "CHF")]
        {
            assert!(number(cell, Point, code.parse().unwrap()).unwrap().is_some(), "{cell}");
        }
    }

    #[test]
    fn a_cell_says_what_its_mark_is() {
        use DecimalMark::{Comma, Point};
        for (cell, want) in [
            ("12,50", Says::Is(Comma)),
            ("12.50", Says::Is(Point)),
            ("1.234,50", Says::Is(Comma)),
            ("1,234,567", Says::Is(Point)),
            ("1.234", Says::Either),
            ("0.750", Says::Is(Point)),
            ("1'234", Says::Nothing),
            ("12", Says::Nothing),
            ("gin", Says::Nothing),
        ] {
            assert_eq!(says(cell, Of::Anything, euro()), want, "{cell}");
        }
    }

    proptest! {
        #[test]
        fn any_cell_is_read_or_refused(cell in ".{0,30}") {
            let _ = number(&cell, DecimalMark::Comma, euro());
            let _ = says(&cell, Of::Money, euro());
            let _ = number(&cell, DecimalMark::Unknown, euro());
        }

        #[test]
        fn what_is_written_is_read(value in -1_000_000_000_i64..1_000_000_000, form in 0_usize..6) {
            let plain = crate::domain::measure::decimal::fixed(value.abs(), 2);
            let (whole, cents) = plain.split_once('.').unwrap();
            let grouped = |by: &str| {
                let digits: Vec<char> = whole.chars().collect();
                let parts: Vec<String> = digits.rchunks(3).rev().map(|g| g.iter().collect()).collect();
                parts.join(by)
            };
            let (text, mark) = match form {
                0 => (plain.clone(), DecimalMark::Point),
                1 => (format!("{whole},{cents}"), DecimalMark::Comma),
                2 => (format!("{}.{cents}", grouped(",")), DecimalMark::Point),
                3 => (format!("{},{cents}", grouped(".")), DecimalMark::Comma),
                4 => (format!("{},{cents} €", grouped("\u{a0}")), DecimalMark::Comma),
                _ => (format!("€{}.{cents}", grouped("'")), DecimalMark::Point),
            };
            let text = match (value < 0, form % 3) {
                (false, _) => text,
                (true, 0) => format!("-{text}"),
                (true, 1) => format!("({text})"),
                (true, _) => format!("{text}-"),
            };
            prop_assert_eq!(cents_of(&text, mark), Some(value), "{}", text);
        }
    }

    fn cents_of(text: &str, mark: DecimalMark) -> Option<i64> {
        cents(text, mark)
    }
}
