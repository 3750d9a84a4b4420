//! Specs and recipes: the lines of one name and one first day are one version, kept or replaced as a whole.

use super::{FileReport, Loader, Met};
use crate::desk::DeskError;
use crate::domain::drink::{amount_of, circle_from, circle_words, settle_yields, too_deep, too_deep_words};
use crate::domain::measure::Amount;
use crate::domain::venue::{DrinkId, Ingredient, ItemId, Recipe, Setup, Water, name_key};
use crate::exchange::plain::{Fault, HouseRow, Plain, PlainRow, SpecRow, key_of};
use crate::store::setup as book;
use chrono::NaiveDate;
use std::collections::{HashMap, HashSet};

/// The lines of one version, in the order of the file.
struct Version<Id, R> {
    owner: Id,
    from: Option<NaiveDate>,
    /// Line of the file, what it says, and the ingredient.
    lines: Vec<(u64, R, Ingredient)>,
    /// Whether a line of it is wrong: then it is not kept.
    wrong: bool,
}

/// A line of a version.
trait Part: PlainRow {
    fn owner(&self) -> &str;
    fn from(&self) -> Option<NaiveDate>;
    fn ingredient(&self) -> (&str, &str);
    /// The columns that every line of a version says alike.
    const SHARED: &'static [&'static str];
    /// The ingredient itself, once its item and amount are known.
    fn part(&self, item: ItemId, amount: Amount) -> Ingredient;
}

impl Part for SpecRow {
    const SHARED: &'static [&'static str] = &[];
    fn owner(&self) -> &str {
        &self.drink
    }
    fn from(&self) -> Option<NaiveDate> {
        self.from
    }
    fn ingredient(&self) -> (&str, &str) {
        (&self.ingredient, &self.quantity)
    }
    fn part(&self, item: ItemId, amount: Amount) -> Ingredient {
        let (waste, note, after_ice) = (self.waste, self.note.clone(), self.after_ice);
        Ingredient { waste, note, after_ice, ..Ingredient::new(item, &self.quantity, amount) }
    }
}

impl Part for HouseRow {
    const SHARED: &'static [&'static str] = &["yields", "water"];
    fn owner(&self) -> &str {
        &self.item
    }
    fn from(&self) -> Option<NaiveDate> {
        self.from
    }
    fn ingredient(&self) -> (&str, &str) {
        (&self.ingredient, &self.quantity)
    }
    fn part(&self, item: ItemId, amount: Amount) -> Ingredient {
        Ingredient { note: self.note.clone(), ..Ingredient::new(item, &self.quantity, amount) }
    }
}

impl Loader<'_> {
    pub(super) fn specs(&mut self) -> Result<(), DeskError> {
        let find = |l: &Self, name: &str| l.names.drinks.get(name);
        self.versions::<DrinkId, SpecRow>(find, |loader, version| {
            let (most, before) = (Ingredient::MOST, loader.faults.count);
            for (line, row, _) in version.lines.iter().filter(|(.., part)| part.amount > most) {
                let expected = word!("expected what one serve takes: no more than 10 l, 10 kg or 10000 pieces");
                loader.fault(Fault::of_cell(Plain::Specs, *line, "quantity", &row.quantity, expected));
            }
            if loader.faults.count > before {
                return Ok(false);
            }
            let parts: Vec<Ingredient> = version.lines.into_iter().map(|(_, _, part)| part).collect();
            book::put_spec(loader.conn, version.owner, version.from, &parts)?;
            Ok(true)
        })
    }

    pub(super) fn house(&mut self) -> Result<(), DeskError> {
        let mut first_lines: HashMap<ItemId, u64> = HashMap::new();
        let find = |l: &Self, name: &str| l.names.items.get(name);
        self.versions::<ItemId, HouseRow>(find, |loader, version| {
            let Some((first, row, _)) = version.lines.first() else { return Ok(false) };
            let (first, written, tap) = (*first, row.yields.clone(), row.water.clone());
            first_lines.entry(version.owner).or_insert(first);
            let yields = match &written {
                Some(written) => loader.amount(version.owner, written),
                // Filled in from what goes in whenever the book is read.
                None => Some(Amount::ZERO),
            };
            let Some(yields) = yields else { return Ok(false) };
            let before = loader.faults.count;
            for (line, other, _) in &version.lines {
                for (column, is, was, why) in [
                    ("yields", &other.yields, &written, word!("one batch makes one amount")),
                    ("water", &other.water, &tap, word!("one batch takes one amount of water")),
                ] {
                    if is != was {
                        let expected = was.as_deref().unwrap_or(word!("nothing"));
                        let expected = say!("expected {expected} as on line {first}: {why}", expected, first, why);
                        let is = is.as_deref().unwrap_or_default();
                        loader.fault(Fault::of_cell(Plain::House, *line, column, is, expected));
                    }
                }
            }
            if loader.faults.count > before {
                return Ok(false);
            }
            let takes = version.lines.into_iter().map(|(_, _, part)| part).collect();
            // The cell was read as water before.
            let water = tap.and_then(|tap| Water::parse(&tap, &loader.form.small).ok());
            book::put_recipe(loader.conn, version.owner, version.from, &Recipe { written, yields, water, takes })?;
            Ok(true)
        })?;
        let Ok((setup, _)) = book::load_any(self.conn) else { return Ok(()) };
        self.circles(&setup, &first_lines);
        self.yields(setup, &first_lines);
        Ok(())
    }

    /// Refuses recipes whose yield is to be computed and cannot be.
    fn yields(&mut self, mut setup: Setup, first_lines: &HashMap<ItemId, u64>) {
        if !self.faults.is_empty() {
            return;
        }
        for (item, why) in settle_yields(&mut setup) {
            if let Some(line) = first_lines.get(&item) {
                self.fault(Fault::of_cell(Plain::House, *line, "yields", "", why.to_string()));
            }
        }
    }

    /// Reads a file of versions and gives each whole one to `put`, unless the book has the same.
    fn versions<Id: Copy + Eq + std::hash::Hash, R: Part>(
        &mut self,
        find: impl Fn(&Self, &str) -> Option<Id>,
        mut put: impl FnMut(&mut Self, Version<Id, R>) -> Result<bool, DeskError>,
    ) -> Result<(), DeskError> {
        let Some(mut table) = self.open(R::FILE)? else { return Ok(()) };
        let known = self.known(R::FILE);
        let had = self.known_versions(R::FILE);
        let (mut report, mut met, before) = (FileReport::of(R::FILE), Met::default(), self.faults.count);
        let mut versions: Vec<Version<Id, R>> = Vec::new();
        let mut places: HashMap<(Id, Option<NaiveDate>), usize> = HashMap::new();
        while let Some(cells) = table.next(&mut self.faults)? {
            report.read += 1;
            let of_version = || version_key(R::FILE, cells.values());
            match known.get(&cells.key()) {
                Some(had) => cells.fill(had, &[], R::UNSAID),
                // A line that is new in a version which the book has: what all its lines share is as there.
                None => {
                    if let Some(first) = had.get(&of_version()).and_then(|lines| lines.first()) {
                        cells.fill_only(first, R::SHARED);
                    }
                }
            }
            let line = cells.line();
            let Some(row) = cells.read::<R>(&self.form, &self.names, &mut self.faults) else { continue };
            if let Some(fault) = met.again(R::FILE, line, key_of(R::FILE, &row.cells(&self.form))) {
                self.fault(fault);
                continue;
            }
            let owner = find(self, row.owner());
            let (ingredient, written) = row.ingredient();
            let item = self.names.items.get(ingredient);
            let amount = item.and_then(|item| self.amount(item, written));
            let Some(owner) = owner else { continue };
            let from = row.from();
            let at = *places.entry((owner, from)).or_insert_with(|| {
                versions.push(Version { owner, from, lines: Vec::new(), wrong: false });
                versions.len() - 1
            });
            match (item, amount) {
                (Some(item), Some(amount)) => {
                    let part = row.part(item, amount);
                    versions[at].lines.push((line, row, part));
                }
                _ => versions[at].wrong = true,
            }
        }
        for version in versions.into_iter().filter(|v| !v.wrong) {
            let text: Vec<Vec<String>> = version.lines.iter().map(|(_, row, _)| row.cells(&self.form)).collect();
            let lines = text.len() as u64;
            let had = text.first().and_then(|cells| had.get(&version_key(R::FILE, cells)));
            match had {
                Some(had) if *had == text => report.already += lines,
                _ => match (put(self, version)?, had) {
                    (true, Some(_)) => report.changed += lines,
                    (true, None) => report.added += lines,
                    (false, _) => {}
                },
            }
        }
        if self.faults.count > before {
            self.doubtful.insert(R::FILE);
        }
        self.close(report)
    }

    /// The versions that the book has, as lines.
    fn known_versions(&self, file: Plain) -> HashMap<String, Vec<Vec<String>>> {
        let mut versions: HashMap<String, Vec<Vec<String>>> = HashMap::new();
        let rows = self.had.as_ref().map(|had| crate::desk::rows::setup_rows(had, file, &self.form));
        for cells in rows.unwrap_or_default() {
            versions.entry(version_key(file, &cells)).or_default().push(cells);
        }
        versions
    }

    /// What a written quantity amounts to; one that its item does not allow was refused with its line.
    pub(super) fn amount(&self, item: ItemId, written: &str) -> Option<Amount> {
        amount_of(self.item(item)?, written, &self.form.small).ok()
    }

    /// Refuses recipes that need what they make, over however many others.
    fn circles(&mut self, setup: &Setup, first_lines: &HashMap<ItemId, u64>) {
        if self.doubtful.contains(&Plain::House) {
            return;
        }
        let mut starts: Vec<(ItemId, u64)> = first_lines.iter().map(|(item, line)| (*item, *line)).collect();
        starts.sort_by_key(|(_, line)| *line);
        let mut told: HashSet<ItemId> = HashSet::new();
        for (start, line) in starts {
            if told.contains(&start) {
                continue;
            }
            let Some(circle) = circle_from(setup, start, None) else { continue };
            told.extend(&circle);
            let expected = circle_words(setup, &circle);
            self.fault(Fault::of_cell(Plain::House, line, "item", setup.item_name(start), expected));
        }
        if told.is_empty() {
            for deep in too_deep(setup) {
                let Some(line) = first_lines.get(&deep).or(first_lines.values().min()).copied() else { continue };
                let expected = too_deep_words(setup, deep);
                self.fault(Fault::of_cell(Plain::House, line, "item", setup.item_name(deep), expected));
            }
        }
    }
}

/// What tells a version apart from others: its owner and its first day, the first two parts of the key of its lines.
fn version_key(file: Plain, cells: &[String]) -> String {
    let spec = file.spec();
    let parts = spec.key.iter().take(2).filter_map(|name| cells.get(spec.column(name)?));
    parts.map(|cell| name_key(cell)).collect::<Vec<_>>().join("\u{1f}")
}
