//! The cells of a line: sizes, strengths, prices and codes as people write them in spreadsheets.

use super::words;
use crate::domain::measure::{Basis, Currency, Decimal, Quantity, SmallMeasures, Strength, decimal};
use crate::domain::rows::{LineFault, ListColumn, PastedList, Taken};
use crate::domain::till::DecimalMark;
use crate::domain::venue::Kind;
use crate::exchange::till::table::number::{Of, Says, Wrong, number, says};

/// A line of the list as it is understood: what plain files say in the same way.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bottle {
    /// What it is called.
    pub name: String,
    /// What sort of thing it is.
    pub kind: Option<Kind>,
    /// What one holds.
    pub size: Option<Quantity>,
    /// Percent by volume, as it is written in files.
    pub abv: Option<String>,
    /// Where it stands.
    pub places: Vec<String>,
    /// Containers.
    pub par: Option<String>,
    /// Bar codes, blanks between.
    pub gtin: Option<String>,
    /// Who sells it.
    pub supplier: Option<String>,
    /// Containers in a pack.
    pub pack: Option<i64>,
    /// What the pack costs, as it is written in files.
    pub price: Option<String>,
    /// The supplier's number.
    pub code: Option<String>,
}

/// What a list is read with.
struct Reading<'a> {
    list: &'a PastedList,
    currency: Currency,
    faults: Vec<LineFault>,
}

/// What a line says, and what is wrong with it. `kind` is that of the heading above it.
pub fn bottle(list: &PastedList, at: usize, currency: Currency) -> (Bottle, Vec<LineFault>) {
    let mut reading = Reading { list, currency, faults: Vec::new() };
    let bottle = reading.bottle(at);
    (bottle, reading.faults)
}

/// The columns that hold figures.
const FIGURES: [ListColumn; 6] = [
    ListColumn::Size,
    ListColumn::Strength,
    ListColumn::Par,
    ListColumn::Pack,
    ListColumn::PackPrice,
    ListColumn::OnePrice,
];

/// The decimal mark of some columns: that of the first figure which can have only one.
fn mark(list: &PastedList, columns: &[ListColumn], currency: Currency) -> DecimalMark {
    let at: Vec<usize> = columns.iter().filter_map(|column| list.at(*column)).collect();
    let cells = list.lines.iter().flat_map(|line| at.iter().filter_map(|n| line.cells.get(*n)));
    let told = |cell: &String| match says(cell, Of::Anything, currency) {
        Says::Is(mark) => Some(mark),
        Says::Either | Says::Nothing => None,
    };
    cells.filter_map(told).next().unwrap_or(DecimalMark::Unknown)
}

impl<'a> Reading<'a> {
    fn cell(&self, at: usize, column: ListColumn) -> Option<(usize, &'a str)> {
        let n = self.list.at(column)?;
        let cell = self.list.lines.get(at)?.cells.get(n)?.trim();
        (!cell.is_empty()).then_some((n, cell))
    }

    fn wrong(&mut self, column: usize, said: impl Into<String>) {
        self.faults.push(LineFault { column: Some(column), said: said.into() });
    }

    fn bottle(&mut self, at: usize) -> Bottle {
        let name = self.cell(at, ListColumn::Name).map(|(_, name)| name.to_owned()).unwrap_or_default();
        let (name, packed) = match self.list.at(ListColumn::Size) {
            Some(_) => (name, self.size(at)),
            // `Harbour gin 70 cl`: the size stands in the name.
            None => cut_size(&name).map_or((name, None), |(name, packed)| (name, Some(packed))),
        };
        if name.is_empty() {
            let said = if self.list.at(ListColumn::Name).is_none() {
                word!("no column is the name: say which one is")
            } else {
                word!("expected a name")
            };
            self.faults.push(LineFault { column: self.list.at(ListColumn::Name), said: said.to_owned() });
        }
        let kind = self.kind(at);
        let abv = self.strength(at);
        let par = self.figure(at, ListColumn::Par, word!("a number of containers such as 6 or 2.5"));
        let par = par.map(|(_, figure, _)| figure.to_string());
        let supplier = self.cell(at, ListColumn::Supplier).map(|(_, name)| name.to_owned());
        let supplier = supplier.or_else(|| self.list.supplier.clone());
        let (size, in_size) = packed.map_or((None, None), |(size, pack)| (Some(size), pack));
        let pack = self.pack(at).or(in_size);
        Bottle {
            name,
            kind,
            size,
            abv,
            places: self.places(at),
            par,
            gtin: self.gtin(at),
            price: self.price(at, pack.unwrap_or(1)),
            pack,
            code: self.cell(at, ListColumn::TheirNumber).map(|(_, code)| code.to_owned()),
            supplier,
        }
    }

    fn kind(&mut self, at: usize) -> Option<Kind> {
        if let Some((n, cell)) = self.cell(at, ListColumn::Kind) {
            let kind = words::kind(cell);
            if kind.is_none() {
                let all: Vec<&str> = Kind::ALL.iter().map(|kind| kind.word()).collect();
                let said = say!("expected {all}", all = all.join(", "));
                self.wrong(n, said);
            }
            return kind;
        }
        let above = self.list.lines[..at].iter().rev().find_map(|line| match line.taken {
            Taken::Heading(kind) => Some(kind),
            _ => None,
        });
        above.flatten()
    }

    /// What one holds, and how many of them where a case is written: `6 x 70 cl`.
    fn size(&mut self, at: usize) -> Option<(Quantity, Option<i64>)> {
        let (n, cell) = self.cell(at, ListColumn::Size)?;
        let unit = self.list.heads.as_ref().and_then(|heads| words::head(heads.get(n)?)?.1);
        let read = self.packed(cell, unit);
        if read.is_none() {
            self.wrong(n, word!("expected what one holds: 700 ml, 70 cl, 0.7 l, 1 kg, 6 x 70 cl"));
        }
        read
    }

    fn packed(&self, cell: &str, unit: Option<&str>) -> Option<(Quantity, Option<i64>)> {
        let cell = cell.to_lowercase().replace('×', "x");
        if let Some((many, one)) = cell.split_once(['x', '/', '*']) {
            let many: i64 = many.trim().parse().ok().filter(|many| (1..=1_000).contains(many))?;
            return Some((quantity(one, unit)?, Some(many)));
        }
        Some((quantity(&cell, unit)?, None))
    }

    fn places(&self, at: usize) -> Vec<String> {
        match self.cell(at, ListColumn::Place) {
            Some((_, cell)) => cell
                .split([',', ';', '/', '+'])
                .map(str::trim)
                .filter(|place| !place.is_empty())
                .map(str::to_owned)
                .collect(),
            None => self.list.place.iter().cloned().collect(),
        }
    }

    fn gtin(&mut self, at: usize) -> Option<String> {
        let (n, cell) = self.cell(at, ListColumn::BarCode)?;
        if cell.contains(['E', 'e']) && cell.contains('+') {
            self.wrong(
                n,
                word!("the spreadsheet has rounded this bar code: make its column one of text, and copy it again"),
            );
            return None;
        }
        // Some are set apart in groups; a spreadsheet that took it for a number leaves zeros behind a point.
        let digits: String =
            cell.split(['.', ',']).next()?.chars().filter(|c| !c.is_whitespace() && *c != '-').collect();
        // Leading zeros are lost in a number.
        let long = match digits.len() {
            9..=11 if digits.bytes().all(|b| b.is_ascii_digit()) => format!("{digits:0>12}"),
            _ => digits,
        };
        match crate::domain::venue::Gtin::parse(&long) {
            Ok(code) => Some(code.to_string()),
            Err(error) => {
                self.wrong(n, error.to_string());
                None
            }
        }
    }

    fn pack(&mut self, at: usize) -> Option<i64> {
        let (n, cell) = self.cell(at, ListColumn::Pack)?;
        let digits: String =
            cell.chars().skip_while(|c| !c.is_ascii_digit()).take_while(char::is_ascii_digit).collect();
        let pack = digits.parse().ok().filter(|pack| (1..=10_000).contains(pack));
        if pack.is_none() {
            self.wrong(n, word!("expected how many containers are in a pack: 6"));
        }
        pack
    }

    fn price(&mut self, at: usize, pack: i64) -> Option<String> {
        let decimals = self.currency.decimals();
        let whole = self.figure(at, ListColumn::PackPrice, word!("a price")).map(|(n, figure, _)| (n, figure, 1));
        let (n, figure, times) = whole.or_else(|| {
            self.figure(at, ListColumn::OnePrice, word!("a price")).map(|(n, figure, _)| (n, figure, pack))
        })?;
        // Of a price for one, the pack's is what is kept, rounded once.
        let minor = figure.scaled(i128::from(times) * 10_i128.pow(decimals), 1).ok().filter(|minor| *minor >= 0);
        match minor {
            Some(minor) => Some(self.currency.plain(crate::domain::measure::Money(minor))),
            None => {
                self.wrong(n, word!("expected a price of zero or more"));
                None
            }
        }
    }

    /// A figure, and whether it is percent.
    fn figure(&mut self, at: usize, column: ListColumn, expected: &str) -> Option<(usize, Decimal, bool)> {
        let (n, cell) = self.cell(at, column)?;
        let figures = cell.trim_end_matches('.').trim_end_matches("vol").trim();
        // Most figures can be read in one way only; what the others of the column are written with tells of the rest.
        let read = match number(figures, DecimalMark::Unknown, self.currency) {
            Err(Wrong::Either(..)) => {
                let here = mark(self.list, &[column], self.currency);
                let told = if here == DecimalMark::Unknown { mark(self.list, &FIGURES, self.currency) } else { here };
                number(figures, told, self.currency)
            }
            read => read,
        };
        match read {
            Ok(read) => read.map(|(figure, dress)| (n, figure, dress.percent)),
            Err(Wrong::Either(point, comma)) => {
                self.wrong(
                    n,
                    say!(
                        "this may be {point} or {comma}: write one figure of the list with two decimals",
                        point,
                        comma
                    ),
                );
                None
            }
            Err(Wrong::Coin(coin)) => {
                self.wrong(
                    n,
                    say!(
                        "the book keeps its prices in {code}, and this is in {coin}",
                        code = self.currency.code(),
                        coin
                    ),
                );
                None
            }
            Err(Wrong::NotANumber | Wrong::Mark) => {
                self.wrong(n, say!("expected {expected}", expected));
                None
            }
        }
    }

    /// Percent by volume. A spreadsheet that shows 40 % may hold 0.4: so it is where no figure of the column is above one.
    fn strength(&mut self, at: usize) -> Option<String> {
        let (n, figure, percent) = self.figure(at, ListColumn::Strength, word!("a strength such as 40"))?;
        let above_one = |line: &crate::domain::rows::PastedLine| {
            let read = line.cells.get(n).map(|cell| number(cell, DecimalMark::Unknown, self.currency));
            matches!(read, Some(Ok(Some((figure, _)))) if figure > Decimal::ONE)
        };
        let share = !percent && !self.list.lines.iter().any(above_one);
        let hundredths = if share { figure.scaled(10_000, 1) } else { figure.scaled(100, 1) };
        let written = hundredths.map(|hundredths| decimal::plain(hundredths, 2)).unwrap_or_default();
        match Strength::parse(&written) {
            Ok(_) => Some(written),
            Err(error) => {
                self.wrong(n, error.to_string());
                None
            }
        }
    }
}

/// Whether a cell is a size: a figure with a unit, or one that bottles are made in.
pub(super) fn is_size(cell: &str) -> bool {
    let bare = cell.trim().parse::<f64>().ok().or_else(|| cell.trim().replace(',', ".").parse().ok());
    let made = [
        0.2, 0.35, 0.375, 0.5, 0.7, 0.75, 1.0, 1.5, 1.75, 50.0, 70.0, 75.0, 100.0, 350.0, 375.0, 500.0, 700.0, 750.0,
        1000.0,
    ];
    match bare {
        Some(figure) => made.contains(&figure),
        None => {
            let cell = cell.to_lowercase().replace('×', "x");
            let one = cell.split_once('x').map_or(cell.as_str(), |(_, one)| one);
            quantity(one, Some("")).is_some()
        }
    }
}

/// The size that a name ends with, cut off it: `Harbour gin 70 cl`, `Tonic 24x200ml`.
fn cut_size(name: &str) -> Option<(String, (Quantity, Option<i64>))> {
    let words: Vec<&str> = name.split(' ').collect();
    // The most words first: `24 x 200 ml` ends with a size, and is one.
    for tail in (1..=4.min(words.len().saturating_sub(1))).rev() {
        let (front, back) = words.split_at(words.len() - tail);
        let back = back.join(" ").trim_matches(['(', ')', ',']).to_lowercase().replace('×', "x");
        let (many, one) = match back.split_once('x') {
            Some((many, one)) => match many.trim().parse().ok().filter(|many| (1..=1_000).contains(many)) {
                Some(many) => (Some(many), one.to_owned()),
                None => continue,
            },
            None => (None, back.clone()),
        };
        let front = front.join(" ").trim_end_matches([',', '-', ' ', '(']).to_owned();
        // A figure alone at the end of a name is its age or its strength.
        if let Some(size) = quantity(&one, Some("")).filter(|_| !front.is_empty()) {
            return Some((front, (size, many)));
        }
    }
    None
}

/// A size with its unit, or in the unit that its column names. Without either, up to ten it is in litres, up to a hundred in
/// centilitres, above that in millilitres (common practice). An empty unit wants one written.
fn quantity(text: &str, unit: Option<&str>) -> Option<Quantity> {
    let text = text.trim().trim_end_matches('.');
    let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ','))).unwrap_or(text.len());
    let (figure, written) = text.split_at(end);
    // No container holds so much that a mark in its size would stand for thousands of anything but millilitres and grams.
    let thousands = |mark: char| figure.split_once(mark).is_some_and(|(_, rest)| rest.len() == 3);
    let written = written.trim();
    let small = matches!(unit.filter(|_| written.is_empty()).unwrap_or(written), "ml" | "g");
    let figure = match figure.contains(',') || figure.contains('.') {
        true if small && (thousands(',') || thousands('.')) => figure.replace([',', '.'], ""),
        _ => figure.replace(',', "."),
    };
    let number = Decimal::parse(&figure).ok()?;
    let written = match written {
        "" => match unit {
            Some("") => return None,
            Some(unit) => unit,
            None => {
                let thousandths = number.exact(3)?;
                match thousandths {
                    ..=10_000 => "l",
                    10_001..=99_999 => "cl",
                    _ => "ml",
                }
            }
        },
        "lt" | "ltr" | "litre" | "litres" | "liter" | "liters" | "litro" | "litros" => "l",
        "kilo" | "kilos" | "kgs" => "kg",
        "gr" | "grs" => "g",
        "pc" | "pcs" | "piece" | "pieces" | "st" | "stk" | "ea" => "each",
        other => other,
    };
    let read = Quantity::parse(&format!("{figure} {written}"), &SmallMeasures::default()).ok()?;
    (read.amount.0 > 0 && (read.basis != Basis::Volume || read.amount.0 >= 10_000)).then_some(read)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_as_people_write_them() {
        for (text, unit, want) in [
            ("700", None, "700 ml"),
            ("0.7", None, "700 ml"),
            ("0,7", None, "700 ml"),
            ("70", None, "700 ml"),
            ("1", None, "1000 ml"),
            ("75 CL", None, "750 ml"),
            ("0,75l", None, "750 ml"),
            ("1 Ltr", None, "1000 ml"),
            ("50", Some("ml"), "50 ml"),
            ("1.5", Some("l"), "1500 ml"),
            ("1 kg", None, "1000 g"),
            ("12 pcs", None, "12 each"),
            ("1,000 ml", None, "1000 ml"),
            ("1.000", Some("ml"), "1000 ml"),
            ("1.000", None, "1000 ml"),
        ] {
            let read = quantity(&text.to_lowercase(), unit).map(|size| size.to_string());
            assert_eq!(read.as_deref(), Some(want), "{text}");
        }
        for bad in ["", "big", "0", "-1", "7 ml", "0.7 x", "l"] {
            assert_eq!(quantity(bad, None), None, "{bad}");
        }
    }

    #[test]
    fn a_size_at_the_end_of_a_name_is_no_part_of_it() {
        let cut = |name: &str| cut_size(name).map(|(name, (size, many))| (name, size.to_string(), many));
        assert_eq!(cut("Harbour gin 70cl"), Some(("Harbour gin".to_owned(), "700 ml".to_owned(), None)));
        assert_eq!(cut("Harbour gin, 0,7 l"), Some(("Harbour gin".to_owned(), "700 ml".to_owned(), None)));
        assert_eq!(cut("Hedge tonic (24 x 200 ml)"), Some(("Hedge tonic".to_owned(), "200 ml".to_owned(), Some(24))));
        assert_eq!(cut("Hedge tonic 24x200ml"), Some(("Hedge tonic".to_owned(), "200 ml".to_owned(), Some(24))));
        for whole in ["Harbour gin", "Harbour gin 12", "Number 7", "70 cl", "Gin 40 %"] {
            assert_eq!(cut(whole), None, "{whole}");
        }
    }
}
