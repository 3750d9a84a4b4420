//! What was observed of an opened container, kept as it was observed.

use crate::domain::measure::{Decimal, decimal};
use crate::domain::venue::{CountBy, CountMethod};
use crate::words;
use std::fmt;

/// How finely an eye reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Step {
    /// `.4`
    Tenth,
    /// `.45`
    HalfTenth,
    /// `.425`
    QuarterTenth,
}

impl Step {
    /// Half of the step, as a share of the container: the half-width of such a reading.
    pub fn half_width(self) -> f64 {
        match self {
            Step::Tenth => 0.05,
            Step::HalfTenth => 0.025,
            Step::QuarterTenth => 0.0125,
        }
    }

    fn decimals(self) -> u32 {
        match self {
            Step::Tenth => 1,
            Step::HalfTenth => 2,
            Step::QuarterTenth => 3,
        }
    }
}

/// How much of a container an eye sees in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Sight {
    /// Thousandths of the container, 0 to 975.
    pub thousandths: u16,
    /// How finely it was read.
    pub step: Step,
}

impl Sight {
    /// As a share of the container.
    pub fn share(self) -> f64 {
        f64::from(self.thousandths) / 1_000.0
    }

    /// Whether it is one tenth or nine of them: nobody writes an opened one down as empty or as full while there is
    /// something in it or gone from it, so these stand for everything down to nothing and up to full. −1 for the one, 1
    /// for the nine, nothing for all others.
    pub fn edge(self) -> f64 {
        match (self.step, self.thousandths) {
            (Step::Tenth, 100) => -1.0,
            (Step::Tenth, 900) => 1.0,
            _ => 0.0,
        }
    }

    /// Reads the digits behind the point.
    fn parse(digits: &str) -> Result<Sight, ReadingError> {
        let wrong = |why: Unread| why.of(&format!(".{digits}"));
        let number = digits.parse::<u16>().ok().filter(|_| digits.bytes().all(|b| b.is_ascii_digit()));
        let number = number.ok_or_else(|| wrong(Unread::Form))?;
        match digits.len() {
            1 => Ok(Sight { thousandths: number * 100, step: Step::Tenth }),
            // Of two digits, 10 could be one tenth or ten of them; 11 and 12 are nothing but a slip.
            2 if number == 10 => Err(wrong(Unread::TenTenths)),
            2 if (11..=12).contains(&number) => Err(wrong(Unread::OverFull(number))),
            2 if number.is_multiple_of(5) => Ok(Sight { thousandths: number * 10, step: Step::HalfTenth }),
            3 if number.is_multiple_of(25) => Ok(Sight { thousandths: number, step: Step::QuarterTenth }),
            _ => Err(wrong(Unread::TooFine)),
        }
    }
}

/// What a scale showed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Mass {
    /// Milligrams.
    pub mg: i64,
    /// What one step of the last digit is, in milligrams: a power of ten from 1 mg to 1 kg.
    pub step: i64,
}

impl Mass {
    /// Whole grams.
    pub fn grams(grams: i64) -> Mass {
        Mass { mg: grams * 1_000, step: 1_000 }
    }

    /// Reads `812g` or `21.5kg`.
    ///
    /// # Errors
    /// [`ReadingError`] for anything else, other readings included.
    pub fn parse(text: &str) -> Result<Mass, ReadingError> {
        match Reading::parse(text) {
            Ok(Reading::Mass(mass)) => Ok(mass),
            _ => Err(Unread::Weight.of(text)),
        }
    }

    /// Reads a weight as a person or a scale types it where nothing else is asked for: `812`, `812 g`, `812,5g`. A number
    /// alone is grams.
    ///
    /// # Errors
    /// [`ReadingError`].
    pub fn typed(text: &str) -> Result<Mass, ReadingError> {
        let text = closed_up(text);
        let bare = text.ends_with(|c: char| c.is_ascii_digit() || c == '.');
        Mass::parse(&if bare { format!("{text}g") } else { text })
    }

    fn number(number: &str, kilograms: bool) -> Option<Mass> {
        let places = if kilograms { 6 } else { 3 };
        let mg = Decimal::parse(number).ok()?.exact(places).filter(|mg| (0..=MOST).contains(mg))?;
        let written = number.split_once('.').map_or(0, |(_, fraction)| fraction.len());
        let step = 10_i64.checked_pow(places.checked_sub(u32::try_from(written).ok()?)?)?;
        Some(Mass { mg, step })
    }
}

impl fmt::Display for Mass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (per, places, unit) = if self.step >= 10_000 { (1_000_000, 6, "kg") } else { (1_000, 3, "g") };
        let digits = self.step.max(1).ilog10();
        let decimals = (places as u32).saturating_sub(digits) as usize;
        let whole = self.mg / per;
        let fraction = format!("{:0width$}", self.mg % per, width = places);
        match decimals {
            0 => write!(f, "{whole}{unit}"),
            n => write!(f, "{whole}.{}{unit}", &fraction[..n.min(places)]),
        }
    }
}

/// One observation of one opened container.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Reading {
    /// By eye.
    Sight(Sight),
    /// On the scale: gross mass.
    Mass(Mass),
    /// With a ruler: height of the liquid in micrometres.
    Height(i64),
}

/// The heaviest that is read, one tonne, and the highest, ten metres: more is a slip of the fingers.
const MOST: i64 = 1_000_000_000;
const HIGHEST: i64 = 10_000_000;

/// Why a reading was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("“{read}”: {why}")]
pub struct ReadingError {
    /// What was read.
    pub read: String,
    /// What is wrong with it.
    pub why: Unread,
}

/// What is wrong with a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unread {
    /// Not a form that anyone reads a container in.
    #[error("{}", word!("expected tenths such as .4, a weight such as 812g, or a height such as 143mm"))]
    Form,
    /// No weight, where only one will do.
    #[error("{}", word!("expected a weight such as 812g or 21.5kg"))]
    Weight,
    /// Finer than an eye reads.
    #[error("{}", word!("expected tenths (.4), half-tenths (.45) or quarter-tenths (.425); an eye does not read finer"))]
    TooFine,
    /// One tenth, or ten of them.
    #[error("{}", word!("one tenth is .1; ten tenths are a full one, 1"))]
    TenTenths,
    /// More than ten tenths.
    #[error("{}", say!("{what} tenths are more than the container holds; expected at most .975", what = .0))]
    OverFull(u16),
}

impl Unread {
    fn of(self, read: &str) -> ReadingError {
        ReadingError { read: read.to_owned(), why: self }
    }
}

impl Reading {
    /// So many tenths by eye, 0 to 9.
    pub fn tenths(tenths: u8) -> Reading {
        Reading::Sight(Sight { thousandths: u16::from(tenths.min(9)) * 100, step: Step::Tenth })
    }

    /// Reads `.4`, `0.45`, `812g`, `21.5kg`, `143mm` or `14.3cm`.
    ///
    /// # Errors
    /// [`ReadingError`].
    pub fn parse(text: &str) -> Result<Reading, ReadingError> {
        let bad = || Unread::Form.of(text);
        let lower = text.to_ascii_lowercase();
        let height = |digits: &str, places| {
            Decimal::parse(digits).ok().and_then(|d| d.exact(places)).filter(|v| (0..=HIGHEST).contains(v))
        };
        let mass = |number: &str, kilograms| {
            // Scales that type put a sign before the figure.
            let number = number.strip_prefix('+').unwrap_or(number);
            Mass::number(number, kilograms)
        };
        if let Some(digits) = lower.strip_suffix("mm") {
            return height(digits, 3).map(Reading::Height).ok_or_else(bad);
        }
        if let Some(digits) = lower.strip_suffix("cm") {
            return height(digits, 4).map(Reading::Height).ok_or_else(bad);
        }
        if let Some(number) = lower.strip_suffix("kg") {
            return mass(number, true).map(Reading::Mass).ok_or_else(bad);
        }
        if let Some(number) = lower.strip_suffix('g') {
            return mass(number, false).map(Reading::Mass).ok_or_else(bad);
        }
        let digits = lower.strip_prefix("0.").or_else(|| lower.strip_prefix('.')).ok_or_else(bad)?;
        Sight::parse(digits).map(Reading::Sight)
    }

    /// The same as a person or a scale types it: with blanks where a scale puts them, and a decimal comma.
    ///
    /// # Errors
    /// [`ReadingError`].
    pub fn typed(text: &str) -> Result<Reading, ReadingError> {
        Reading::parse(&closed_up(text))
    }

    /// Reads blank-separated readings, one for each opened container; an empty text is none.
    ///
    /// # Errors
    /// [`ReadingError`] of the first that is wrong.
    pub fn parse_all(text: &str) -> Result<Vec<Reading>, ReadingError> {
        text.split_whitespace().map(Reading::parse).collect()
    }

    /// The plain-file form of several: `.4 .7`.
    pub fn plain_all(readings: &[Reading]) -> String {
        readings.iter().map(Reading::to_string).collect::<Vec<_>>().join(" ")
    }
}

impl fmt::Display for Sight {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let decimals = self.step.decimals() as usize;
        let digits = format!("{:03}", self.thousandths);
        write!(f, ".{}", &digits[..decimals.min(digits.len())])
    }
}

impl fmt::Display for Reading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Reading::Sight(sight) => sight.fmt(f),
            Reading::Mass(mass) => mass.fmt(f),
            Reading::Height(um) => write!(f, "{}mm", decimal::plain(*um, 3)),
        }
    }
}

/// What a counter types for one line: sealed containers, then one reading for each opened one.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Entry {
    /// Sealed containers.
    pub full: i64,
    /// Opened ones.
    pub open: Vec<Reading>,
}

/// Why an entry was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EntryError {
    /// Nothing typed.
    #[error("{}", word!("expected 3 (three sealed), 3.4 (and one opened at four tenths), .4.7 (two opened) or 0 (none)"))]
    Empty,
    /// A sealed count that no shelf holds.
    #[error("{}", word!("expected fewer than 10 000 sealed containers"))]
    TooMany,
    /// A reading is wrong.
    #[error(transparent)]
    Reading(#[from] ReadingError),
}

/// From this many digits on, a number without a unit typed for what is counted on the scale is grams: nobody has a
/// hundred sealed ones and no scale that types shows less than a hundred grams for a container.
const GRAMS_FROM: usize = 3;

impl Entry {
    /// More sealed ones than this are hard to believe where nothing else is known of an item.
    pub const MANY: i64 = 60;

    /// Reads `3`, `3.4`, `.4.7`, `3 812g` or `0`: digits before the first point or blank are sealed containers, each
    /// point opens one at so many tenths, and readings with a unit stand apart by blanks. A unit may stand apart from its
    /// number, as scales that type like a keyboard write it: `+ 812.0 g`.
    ///
    /// # Errors
    /// [`EntryError`], which says what was expected.
    pub fn parse(typed: &str) -> Result<Entry, EntryError> {
        Entry::read(typed, false)
    }

    /// The same for an item that is read in a way of its own: on the scale, a number of three digits and more is grams,
    /// and so is every number after the first.
    ///
    /// # Errors
    /// [`EntryError`].
    pub fn parse_for(typed: &str, count_by: CountBy) -> Result<Entry, EntryError> {
        Entry::read(typed, count_by == CountBy::Weight)
    }

    fn read(typed: &str, on_scale: bool) -> Result<Entry, EntryError> {
        let words = words(typed);
        if words.is_empty() {
            return Err(EntryError::Empty);
        }
        let mut entry = Entry::default();
        for (n, word) in words.iter().enumerate() {
            let has_unit = word.bytes().any(|b| b.is_ascii_alphabetic());
            if has_unit {
                entry.open.push(Reading::parse(word)?);
                continue;
            }
            let bad = || Unread::Form.of(word);
            let (sealed, behind) = word.find('.').map_or((word.as_str(), ""), |at| word.split_at(at));
            let digits = sealed.bytes().all(|b| b.is_ascii_digit());
            if on_scale && digits && (n > 0 || sealed.len() >= GRAMS_FROM) && !sealed.is_empty() {
                entry.open.push(Reading::parse(&format!("{word}g"))?);
                continue;
            }
            if !sealed.is_empty() {
                if n > 0 || !digits {
                    return Err(bad().into());
                }
                let sealed = sealed.trim_start_matches('0');
                if sealed.len() > 4 {
                    return Err(EntryError::TooMany);
                }
                entry.full = sealed.parse().unwrap_or(0);
            }
            for part in behind.split('.').skip(1) {
                if part.is_empty() {
                    return Err(bad().into());
                }
                entry.open.push(Reading::Sight(Sight::parse(part)?));
            }
        }
        Ok(entry)
    }

    /// How such an entry came about: by the instrument of its opened readings, or whole where nothing is open.
    pub fn method(&self, count_by: CountBy) -> CountMethod {
        let open = |is: fn(&Reading) -> bool| self.open.iter().any(is);
        if open(|r| matches!(r, Reading::Mass(_))) {
            CountMethod::Weight
        } else if open(|r| matches!(r, Reading::Height(_))) {
            CountMethod::Height
        } else if count_by == CountBy::Whole {
            CountMethod::Whole
        } else {
            CountMethod::Tenths
        }
    }
}

/// One reading as it was typed, without the blanks that scales put into it and with a decimal point.
fn closed_up(typed: &str) -> String {
    typed.split_whitespace().collect::<String>().replace(',', ".")
}

/// The words of what was typed, with a sign or unit that stands alone put to its number.
fn words(typed: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut sign = false;
    for word in typed.split_whitespace() {
        let unit = matches!(word.to_ascii_lowercase().as_str(), "g" | "kg" | "mm" | "cm");
        match out.last_mut() {
            _ if word == "+" => sign = true,
            Some(number) if unit && number.ends_with(|c: char| c.is_ascii_digit() || c == '.') => number.push_str(word),
            _ => out.push(if std::mem::take(&mut sign) { format!("+{word}") } else { word.to_owned() }),
        }
    }
    out
}

impl Entry {
    /// As people read it here: with their own decimal mark.
    pub fn shown(&self) -> String {
        words::number(self.to_string())
    }
}

impl fmt::Display for Entry {
    /// As it could have been typed: `3.4`, `.4.7`, `0`, `3 812g`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sealed = self.full > 0 || self.open.is_empty();
        if sealed {
            write!(f, "{}", self.full)?;
        }
        for (n, reading) in self.open.iter().enumerate() {
            // Tenths close up to what is before them, unless that has a unit.
            let after_unit = n > 0 && !matches!(self.open[n - 1], Reading::Sight(_));
            let closes_up = matches!(reading, Reading::Sight(_)) && !after_unit;
            let apart = if closes_up || (n == 0 && !sealed) { "" } else { " " };
            write!(f, "{apart}{reading}")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn entry(full: i64, tenths: &[u8]) -> Entry {
        Entry { full, open: tenths.iter().map(|t| Reading::tenths(*t)).collect() }
    }

    fn seen(thousandths: u16, step: Step) -> Reading {
        Reading::Sight(Sight { thousandths, step })
    }

    fn opened(open: Vec<Reading>) -> Entry {
        Entry { full: 0, open }
    }

    #[test]
    fn what_a_counter_types() {
        for (typed, want) in [
            ("3", entry(3, &[])),
            ("3.4", entry(3, &[4])),
            (".4.7", entry(0, &[4, 7])),
            ("0.4", entry(0, &[4])),
            ("12.0", entry(12, &[0])),
            ("0", entry(0, &[])),
            ("3 .4 .7", entry(3, &[4, 7])),
            ("3.45", Entry { full: 3, open: vec![seen(450, Step::HalfTenth)] }),
            (".45.7", opened(vec![seen(450, Step::HalfTenth), Reading::tenths(7)])),
            (".425", opened(vec![seen(425, Step::QuarterTenth)])),
            (".40", opened(vec![seen(400, Step::HalfTenth)])),
            ("2 812g", Entry { full: 2, open: vec![Reading::Mass(Mass::grams(812))] }),
            (
                "812g 640.5g",
                opened(vec![Reading::Mass(Mass::grams(812)), Reading::Mass(Mass { mg: 640_500, step: 100 })]),
            ),
            ("21.5kg", opened(vec![Reading::Mass(Mass { mg: 21_500_000, step: 100_000 })])),
            ("143mm", opened(vec![Reading::Height(143_000)])),
            ("14.3 cm", opened(vec![Reading::Height(143_000)])),
            // What scales that type like a keyboard write.
            ("  812 g", opened(vec![Reading::Mass(Mass::grams(812))])),
            ("+  812.0 g ", opened(vec![Reading::Mass(Mass { mg: 812_000, step: 100 })])),
        ] {
            assert_eq!(Entry::parse(typed), Ok(want), "{typed}");
        }
        for bad in
            ["", " ", ".", "3.", "3.47", "-1", "3,4", "3 4", "x", ".4 3", "812lb", "3..4", "g", "+", ".4321", "-5g"]
        {
            assert!(Entry::parse(bad).is_err(), "{bad}");
        }
        assert_eq!(Entry::parse("12345"), Err(EntryError::TooMany));
        let says = |typed: &str| Entry::parse(typed).unwrap_err().to_string();
        assert!(says(".10").contains("one tenth is .1"));
        assert!(says("3.11").contains("more than the container holds"));
        assert!(says(".47").contains("half-tenths (.45)"));
    }

    #[test]
    fn for_what_is_counted_on_the_scale_a_long_number_is_grams() {
        let grams = |n| Reading::Mass(Mass::grams(n));
        for (typed, want) in [
            ("812", opened(vec![grams(812)])),
            ("812.5", opened(vec![Reading::Mass(Mass { mg: 812_500, step: 100 })])),
            ("2 812", Entry { full: 2, open: vec![grams(812)] }),
            ("812 640", opened(vec![grams(812), grams(640)])),
            ("12", entry(12, &[])),
            ("3.4", entry(3, &[4])),
            ("0", entry(0, &[])),
        ] {
            assert_eq!(Entry::parse_for(typed, CountBy::Weight), Ok(want), "{typed}");
        }
        assert_eq!(Entry::parse_for("812", CountBy::Tenths), Ok(entry(812, &[])));
    }

    #[test]
    fn a_weight_keeps_the_step_it_was_written_in() {
        for text in ["812g", "812.5g", "812.50g", "21.5kg", "21kg", "21.50kg", "0g", "0.05kg"] {
            assert_eq!(Reading::parse(text).unwrap().to_string(), text);
        }
        assert_eq!(Reading::parse("21.500kg").unwrap().to_string(), "21500g");
        assert!(Reading::parse("812.5000g").is_err());
        assert!(Reading::parse("5000kg").is_err());
        for (typed, mg) in [("812", 812_000), (" 812 g", 812_000), ("+812,5", 812_500), ("21.5 KG", 21_500_000)] {
            assert_eq!(Mass::typed(typed).map(|mass| mass.mg), Ok(mg), "{typed}");
        }
        for bad in ["", "g", "143mm", "8 1 2 x", "-5"] {
            assert!(Mass::typed(bad).is_err(), "{bad}");
        }
    }

    fn any_reading() -> impl Strategy<Value = Reading> {
        prop_oneof![
            (0_u8..10).prop_map(Reading::tenths),
            (3_u16..20).prop_map(|n| seen(n * 50, Step::HalfTenth)),
            (0_u16..40).prop_map(|n| seen(n * 25, Step::QuarterTenth)),
            (0_i64..90_000, 0_u32..7).prop_map(|(n, digits)| {
                let step = 10_i64.pow(digits);
                Reading::Mass(Mass { mg: (n * step).min(MOST), step })
            }),
            (0_i64..900_000).prop_map(Reading::Height),
        ]
    }

    proptest! {
        #[test]
        fn what_is_shown_reads_back(full in 0_i64..9_999, open in proptest::collection::vec(any_reading(), 0..4)) {
            let text = Reading::plain_all(&open);
            prop_assert_eq!(Reading::parse_all(&text), Ok(open.clone()));
            let entry = Entry { full, open };
            prop_assert_eq!(Entry::parse(&entry.to_string()), Ok(entry));
        }

        #[test]
        fn any_typing_is_read_or_refused(typed in "[0-9. +gkcm]{0,12}") {
            let _ = Entry::parse(&typed);
            let _ = Entry::parse_for(&typed, CountBy::Weight);
        }
    }
}
